"""A sheet is a face only with both masks on, a face's grade, whole corners and a gloss side."""

from datetime import date, timedelta
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.surfaces import (
    CORNERS,
    Grade,
    Surface,
    barred,
    corner_names,
    corners,
    good_for,
    good_for_face,
    of_offcut,
)
from stockroom.errors import BadValueError

TODAY = date(2026, 3, 10)
SINCE = date(2026, 1, 1)
GRADES: tuple[Grade, ...] = ("face", "back", "jig")
MASKS = ("on", "lifted", "off", "none")
CORNER_SETS = st.sets(st.sampled_from(sorted(CORNERS))).map(" ".join)


def kinds(surface: Surface, **more: Any) -> dict[str, str]:
    return {r.kind: r.weight for r in good_for_face(surface, TODAY, SINCE, **more)}


def test_a_sheet_fresh_from_its_pack_is_good_and_nothing_is_said() -> None:
    assert good_for_face(Surface(), TODAY, SINCE) == []


@pytest.mark.parametrize(("front", "back"), list(product(MASKS, MASKS)))
def test_a_face_wants_both_masks_on(front: Any, back: Any) -> None:
    surface = Surface(front, back, seen_on=SINCE)
    face = good_for_face(surface, TODAY, SINCE)
    assert barred(face) == ((front, back) != ("on", "on"))
    sides = [r.figures["side"] for r in face if r.kind == "mask not on"]
    assert sides == [s for s, mask in (("front", front), ("back", back)) if mask != "on"]
    assert all(r.figures["seen_on"] == SINCE for r in face if r.kind == "mask not on")
    as_back = good_for("back", surface, TODAY, SINCE)
    assert not barred(as_back)
    assert [r.weight for r in as_back] == ["warns"] * len(sides)


def test_a_grade_must_do_for_the_use() -> None:
    allowed = {
        (grade, use): not barred(good_for(use, Surface(grade=grade), TODAY, SINCE))
        for grade, use in product(GRADES, repeat=2)
    }
    assert [pair for pair, good in allowed.items() if not good] == [
        ("back", "face"),
        ("jig", "face"),
        ("jig", "back"),
    ]


def test_a_chipped_corner_bars_a_face_unless_it_is_cut_away() -> None:
    surface = Surface(chipped="br tl")
    assert kinds(surface) == {"chipped corner": "bars"}
    assert kinds(surface, keeps_corners="tr bl") == {"chip cut away": "notes"}
    half = good_for_face(surface, TODAY, SINCE, keeps_corners="tl tr")
    named = {r.kind: r.figures["corners"] for r in half}
    assert named == {"chipped corner": ("tl",), "chip cut away": ("br",)}
    assert [r.weight for r in good_for("back", surface, TODAY, SINCE)] == ["warns"]


def test_masking_older_than_its_limit_is_a_caution_and_no_bar() -> None:
    last = SINCE + timedelta(days=365)
    assert good_for_face(Surface(), last, SINCE) == []
    old = good_for_face(Surface(), last + timedelta(days=1), SINCE)
    assert [(r.kind, r.weight, r.figures["age_days"]) for r in old] == [
        ("old masking", "warns", 366)
    ]
    assert kinds(Surface(), limit_days=10) == {"old masking": "warns"}


def test_masking_of_unknown_age_is_said_and_no_masking_has_none() -> None:
    assert [r.kind for r in good_for_face(Surface(), TODAY, None)] == ["masking age unknown"]
    bare = good_for("back", Surface("off", "none"), TODAY, None)
    assert [r.kind for r in bare] == ["mask not on", "mask not on"]
    one = good_for("back", Surface("off", "lifted"), TODAY, None)
    assert "masking age unknown" in [r.kind for r in one]


@pytest.mark.parametrize(("matte", "gloss"), [("front", "back"), ("back", "front")])
def test_the_print_goes_behind_the_gloss_side(matte: Any, gloss: str) -> None:
    (reason,) = good_for_face(Surface(matte=matte), TODAY, SINCE)
    assert (reason.kind, reason.weight) == ("matte side", "notes")
    assert dict(reason.figures) == {"matte": matte, "print_behind": gloss}
    assert good_for("back", Surface(matte=matte), TODAY, SINCE) == []


def test_a_sheet_matte_on_both_sides_takes_no_print() -> None:
    assert kinds(Surface(matte="both")) == {"no gloss side": "bars"}


def test_a_jig_takes_anything() -> None:
    worst = Surface("none", "off", "jig", "tl tr bl br", "both")
    assert good_for("jig", worst, TODAY, None) == []
    assert set(kinds(worst)) == {"grade too low", "mask not on", "chipped corner", "no gloss side"}


@given(CORNER_SETS, CORNER_SETS, st.sampled_from(MASKS), st.sampled_from(("face", "back", "jig")))
def test_an_offcut_keeps_all_but_the_corners_it_has_lost(
    chipped: str, keeps: str, mask: Any, grade: Any
) -> None:
    parent = Surface(mask, "on", grade, chipped, "front", SINCE)
    offcut = of_offcut(parent, keeps)
    assert set(corners(offcut.chipped)) == set(corners(chipped)) & set(corners(keeps))
    assert (offcut.mask_front, offcut.mask_back) == (mask, "on")
    assert (offcut.grade, offcut.matte, offcut.seen_on) == (grade, "front", SINCE)
    assert of_offcut(offcut, keeps) == offcut


def test_corners_are_read_short_or_in_full() -> None:
    assert corners("BR, tl") == corners("bottom right,  Top   Left") == ("tl", "br")
    assert corners("") == ()
    for short in CORNERS:
        assert corners(corner_names((short,))) == (short,)
    for text in ("top", "xx", "tl;br"):
        with pytest.raises(BadValueError):
            corners(text)


@pytest.mark.parametrize(
    "wrong",
    [
        {"mask_front": "half"},
        {"mask_back": ""},
        {"grade": "good"},
        {"matte": "left"},
        {"chipped": "middle"},
    ],
)
def test_a_surface_of_words_unknown_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(BadValueError):
        Surface(**wrong)
