"""A sheet is a face only with both masks on, a face's grade, whole corners and a gloss side."""

from datetime import date, timedelta
from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.records import CORNERS, Grade, Surface
from stockroom.core.surfaces import (
    SHORT_CORNERS,
    barred,
    corner_text,
    corners,
    corners_held,
    good_for,
    of_offcut,
)
from stockroom.core.verdict import Reason
from stockroom.core.wording import _OF_FACES, sentence
from stockroom.errors import BadValueError

TODAY = date(2026, 3, 10)
SINCE = date(2026, 1, 1)
GRADES: tuple[Grade, ...] = ("face", "back", "jig")
MASKS = ("on", "lifted", "off", "none")
CORNER_SETS = st.sets(st.sampled_from(CORNERS)).map(corner_text)
SAID: set[str] = set()


def seen(**more: Any) -> Surface:
    return Surface(unit="7", seen_s=0, act=1, **more)


def face(
    surface: Surface | None, today: date = TODAY, since: date | None = SINCE, **more: Any
) -> list[Reason]:
    return said(good_for("face", surface, today, since, **more))


def said(reasons: list[Reason]) -> list[Reason]:
    """The same reasons, each of which was told as a sentence."""
    for reason in reasons:
        text = sentence(reason, TODAY)
        assert text[-1] == "."
        assert "None" not in text
    SAID.update(reason.kind for reason in reasons)
    return reasons


def kinds(surface: Surface | None, **more: Any) -> dict[str, str]:
    return {r.kind: r.weight for r in face(surface, **more)}


def test_a_sheet_fresh_from_its_pack_is_good_and_nothing_is_said() -> None:
    assert face(seen()) == []


@pytest.mark.parametrize(("front", "back"), list(product(MASKS, MASKS)))
def test_a_face_wants_both_masks_on(front: Any, back: Any) -> None:
    surface = seen(mask_front=front, mask_back=back)
    reasons = face(surface, seen_on=SINCE)
    assert barred(reasons) == ((front, back) != ("on", "on"))
    sides = [r.figures["side"] for r in reasons if r.kind == "mask not on"]
    assert sides == [s for s, mask in (("front", front), ("back", back)) if mask != "on"]
    assert all(r.figures["seen_on"] == SINCE for r in reasons if r.kind == "mask not on")
    as_back = good_for("back", surface, TODAY, SINCE)
    assert not barred(as_back)
    assert [r.weight for r in as_back] == ["warns"] * len(sides)


def test_a_grade_must_do_for_the_use() -> None:
    allowed = {
        (grade, use): not barred(said(good_for(use, seen(grade=grade), TODAY, SINCE)))
        for grade, use in product(GRADES, repeat=2)
    }
    assert [pair for pair, good in allowed.items() if not good] == [
        ("back", "face"),
        ("jig", "face"),
        ("jig", "back"),
    ]


def test_a_chipped_corner_bars_a_face_unless_it_is_cut_away() -> None:
    surface = seen(chipped="top left, bottom right")
    assert kinds(surface) == {"chipped corner": "bars"}
    assert kinds(surface, keeps_corners="tr bl") == {"chip cut away": "notes"}
    half = face(surface, keeps_corners="tl tr")
    named = {r.kind: r.figures["corners"] for r in half}
    assert named == {"chipped corner": ("top left",), "chip cut away": ("bottom right",)}
    assert [r.weight for r in good_for("back", surface, TODAY, SINCE)] == ["warns"]


def test_masking_older_than_its_limit_is_a_caution_and_no_bar() -> None:
    last = SINCE + timedelta(days=365)
    assert face(seen(), last) == []
    old = face(seen(), last + timedelta(days=1))
    assert [(r.kind, r.weight, r.figures["age_days"]) for r in old] == [
        ("old masking", "warns", 366)
    ]
    assert kinds(seen(), limit_days=10) == {"old masking": "warns"}


def test_masking_of_unknown_age_is_said_and_no_masking_has_none() -> None:
    assert [r.kind for r in face(seen(), since=None)] == ["masking age unknown"]
    bare = good_for("back", seen(mask_front="off", mask_back="none"), TODAY, None)
    assert [r.kind for r in bare] == ["mask not on", "mask not on"]
    one = good_for("back", seen(mask_front="off", mask_back="lifted"), TODAY, None)
    assert "masking age unknown" in [r.kind for r in one]


@pytest.mark.parametrize(("matte", "gloss"), [("front", "back"), ("back", "front")])
def test_the_print_goes_behind_the_gloss_side(matte: Any, gloss: str) -> None:
    (reason,) = face(seen(matte=matte))
    assert (reason.kind, reason.weight) == ("matte side", "notes")
    assert dict(reason.figures) == {"matte": matte, "print_behind": gloss}
    assert good_for("back", seen(matte=matte), TODAY, SINCE) == []


def test_a_sheet_matte_on_both_sides_takes_no_print() -> None:
    assert kinds(seen(matte="both")) == {"no gloss side": "bars"}


def test_a_jig_takes_anything() -> None:
    worst = seen(
        mask_front="none", mask_back="off", grade="jig", chipped=corner_text(CORNERS), matte="both"
    )
    assert good_for("jig", worst, TODAY, None) == []
    assert set(kinds(worst)) == {"grade too low", "mask not on", "chipped corner", "no gloss side"}


@given(CORNER_SETS, CORNER_SETS, st.sampled_from(MASKS), st.sampled_from(("face", "back", "jig")))
def test_an_offcut_keeps_all_but_the_corners_it_has_lost(
    chipped: str, keeps: str, mask: Any, grade: Any
) -> None:
    parent = seen(mask_front=mask, grade=grade, chipped=chipped, matte="front")
    offcut = of_offcut(parent, keeps)
    assert set(corners(offcut.chipped)) == set(corners(chipped)) & set(corners(keeps))
    assert (offcut.mask_front, offcut.mask_back) == (mask, "on")
    assert (offcut.grade, offcut.matte, offcut.unit) == (grade, "front", parent.unit)
    assert of_offcut(parent) == parent
    assert of_offcut(offcut, keeps) == offcut


def test_corners_are_read_short_or_in_full() -> None:
    two = ("top left", "bottom right")
    assert corners("BR, tl") == corners("bottom right,  Top   Left") == two
    assert corners("") == ()
    for short, full in SHORT_CORNERS.items():
        assert corners(short) == corners(corner_text((full,))) == (full,)
    for text in ("top", "xx", "tl;br"):
        with pytest.raises(BadValueError):
            corners(text)


def test_what_nobody_looked_at_is_taken_as_it_comes_and_that_is_said() -> None:
    assert kinds(None) == {"not looked over": "warns"}
    assert good_for("back", None, TODAY, SINCE) == []
    assert good_for("jig", None, TODAY, None) == []
    old = face(None, TODAY + timedelta(days=400))
    assert [r.kind for r in old] == ["not looked over", "old masking"]


def test_a_chip_of_the_sheet_is_only_perhaps_on_its_offcut() -> None:
    chipped = seen(chipped="top left", mask_back="lifted")
    reasons = face(chipped, keeps_corners="top right", own=False, seen_on=SINCE)
    weights = {r.kind: r.weight for r in reasons}
    assert weights == {
        "mask not on": "bars", "chipped corner": "warns", "look inherited": "warns",
    }  # fmt: skip
    told = " ".join(sentence(reason, TODAY) for reason in reasons)
    assert "Perhaps chipped" in told
    assert "taken to be as 7 was seen on Thu 1 Jan 2026" in told


@given(CORNER_SETS, st.booleans(), st.booleans())
def test_a_piece_lies_where_it_holds_the_fewest_chips(chipped: str, wide: bool, high: bool) -> None:
    piece = (100 if wide else 60, 80 if high else 40)
    held = corners(corners_held(piece, (100, 80), chipped))
    assert len(held) == (2 if wide else 1) * (2 if high else 1)
    bad = set(corners(chipped))
    every = [
        {c for c in CORNERS if (high or row in c) and (wide or side in c)}
        for row, side in product(("top", "bottom"), ("left", "right"))
    ]
    assert len(bad & set(held)) == min(len(bad & way) for way in every)


def test_every_sentence_of_faces_was_said_in_these_tests() -> None:
    assert set(_OF_FACES) - SAID == set()
