"""A measured white is written down as it was measured, and held only against its like."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from support.studio import DAY_S, Clock, Studio

from stockroom.core.act_wording import NO_CONTROL, UNKNOWN_CONDITION
from stockroom.core.condition import Patch, WhiteWord
from stockroom.core.patches import apart, held_against
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.condition import whites
from stockroom.desk.lookup import everything
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Desk, Done
from stockroom.errors import BadValueError, RefusedError, UnknownCodeError

DAILY: dict[str, Any] = {
    "instrument": "Bench spectro",
    "measuring": "M1",
    "backing": "white",
    "control": "strip A",
    "control_b": Decimal("-2.40"),
}
"""How a patch is measured here on most days."""


def note(desk: Desk, unit: str, **more: Any) -> Done:
    return whites.note_patch(desk, unit, **{**DAILY, **more})


def patches(desk: Desk) -> list[Patch]:
    with desk.reading() as view:
        return everything(view, Patch)


def usual(studio: Studio, code: str) -> whites.Usual:
    with reckoned(studio.desk) as reckoning:
        unit = reckoning.unit(code)
        assert unit is not None
        return whites.usual_patch(reckoning, unit)


def test_a_patch_stands_in_thousandths_with_its_control(any_studio: Studio) -> None:
    desk = any_studio.desk
    at_s = desk.now_s() + 3_600
    done = note(
        desk, any_studio.roll, l=Decimal("94.1"), a=-0.3, b=Decimal("-2.15"),
        density=0.0874, control_density=0.09, spots=4, happened_s=at_s,
    )  # fmt: skip
    (patch,) = patches(desk)
    assert (patch.unit, patch.at_s, patch.act, patch.code) == (
        any_studio.roll, at_s, done.seq, done.born[0],
    )  # fmt: skip
    assert (patch.l_milli, patch.a_milli, patch.b_milli) == (94_100, -300, -2_150)
    assert (patch.density_milli, patch.control_density_milli) == (87, 90)
    assert (patch.control, patch.control_b_milli, patch.control_l_milli) == (
        "strip A",
        -2_400,
        None,
    )
    assert (patch.measuring, patch.backing, patch.spots) == ("M1", "white", 4)
    assert done.notes == ()
    assert "b* -2.15 density 0.087 (M1, white backing), control strip A" in done.said[1]
    counting.undo(desk, done.seq)
    assert patches(desk) == []


def test_what_a_patch_cannot_tell_is_said_at_once(studio: Studio) -> None:
    desk = studio.desk
    alone = note(desk, studio.roll, b=-2.2, control=None, control_b=None, measuring="unknown")
    assert alone.notes == (NO_CONTROL, UNKNOWN_CONDITION)
    assert alone.said[-2:] == [NO_CONTROL, UNKNOWN_CONDITION]
    (lacking,) = note(desk, studio.roll, b=-2.2, density=0.09).notes
    assert lacking == "The control has no density: by density nobody can tell paper from chemistry."


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "Nothing was measured that tells a white"),
        ({"l": 94, "a": 0}, "Nothing was measured that tells a white"),
        ({"b": -61}, r"patch cannot have b\* -61"),
        ({"b": 60.5}, "lies between -60 and 60"),
        ({"b": -2, "a": 61}, r"a\* 61"),
        ({"b": -2, "l": 105.1}, "between 0 and 105"),
        ({"b": -2, "l": -0.1}, "between 0 and 105"),
        ({"b": -2, "density": 4.1}, "between -0.2 and 4"),
        ({"b": -2, "density": -0.3}, "between -0.2 and 4"),
        ({"b": float("nan")}, r"cannot have b\* nan"),
        ({"b": Decimal("inf")}, r"cannot have b\* Infinity"),
        ({"b": -2, "control_b": 87}, r"control cannot have b\* 87"),
        ({"density": 0.09}, "cannot be compared"),
        ({"b": -2, "control_b": None, "control_density": 0.09}, "cannot be compared"),
        ({"b": -2, "control_b": None, "control_l": 94}, "cannot be compared"),
        ({"b": -2, "control": " "}, "needs a name"),
        ({"b": -2, "control_b": None}, "Nothing was measured of the control strip A"),
        ({"b": -2, "instrument": " "}, "What was it measured with"),
        ({"b": -2, "measuring": "M4"}, "M0, M1, M2, M3, unknown"),
        ({"b": -2, "backing": "grey"}, "white, black, own"),
        ({"b": -2, "spots": 0}, "Between 1 and 100 spots"),
        ({"b": -2, "spots": 101}, "Between 1 and 100 spots"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    studio: Studio, more: dict[str, Any], said: str
) -> None:
    with pytest.raises(BadValueError) as error:
        note(studio.desk, studio.roll, **more)
    error.match(said)
    assert patches(studio.desk) == []


def test_the_limits_themselves_can_be(studio: Studio) -> None:
    note(studio.desk, studio.roll, l=105, a=-60, b=60, density=4, control_b=-60, spots=100)
    (patch,) = patches(studio.desk)
    assert (patch.l_milli, patch.a_milli, patch.b_milli) == (105_000, -60_000, 60_000)
    assert (patch.density_milli, patch.control_b_milli) == (4_000, -60_000)


def test_only_rolls_of_paper_have_a_white(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(RefusedError, match="no roll of paper"):
        note(desk, studio.pack, b=-2)
    with pytest.raises(RefusedError, match="no roll of paper"):
        whites.trust_white(desk, studio.pack, "clean", most_days=800)
    with pytest.raises(UnknownCodeError):
        note(desk, "99999", b=-2)


def test_a_control_is_another_roll_or_a_strip(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(RefusedError, match="cannot be its own control"):
        note(desk, studio.roll, b=-2, control=f" {studio.roll} ")
    with pytest.raises(RefusedError, match="no roll of paper"):
        note(desk, studio.roll, b=-2, control=studio.pack)
    with pytest.raises(UnknownCodeError, match="check digit"):
        note(desk, studio.roll, b=-2, control="12345")
    note(desk, studio.roll, b=-2, control=f" {studio.second_roll}\n")
    note(desk, studio.roll, b=-2, control="17")
    assert [patch.control for patch in patches(desk)] == [studio.second_roll, "17"]


def test_a_control_was_not_measured_before_it_came(studio: Studio, now: Clock) -> None:
    now.on(10)
    came = receiving.receive(
        studio.desk,
        Delivery(material="Satin colour paper 127", place="Cold store", number="E-8000",
                 label_date=date(2028, 1, 1)),
    )  # fmt: skip
    (later,) = (touch.key for touch in came.changes.touches if touch.kind == "unit")
    before_s = now.now_s - 5 * DAY_S
    with pytest.raises(RefusedError, match=f"{later} came on"):
        note(studio.desk, studio.roll, b=-2, control=later, happened_s=before_s)
    note(studio.desk, studio.roll, b=-2, control=later)


def test_names_are_spelled_as_they_were_first(any_studio: Studio) -> None:
    """Patches of two spellings of one instrument would never be compared."""
    desk = any_studio.desk
    note(desk, any_studio.roll, b=-2)
    note(desk, any_studio.second_roll, b=-2, instrument=" BENCH  spectro", control="Strip a")
    note(desk, any_studio.roll, b=-2, instrument="Bench spectro 2", control="strip B")
    found = [(patch.instrument, patch.control) for patch in patches(desk)]
    assert found == [("Bench spectro", "strip A")] * 2 + [("Bench spectro 2", "strip B")]


def test_the_same_key_writes_one_patch(studio: Studio) -> None:
    first = note(studio.desk, studio.roll, b=-2, key="daily 1")
    again = note(studio.desk, studio.roll, b=-2, key="daily 1")
    assert (again.repeated, again.seq) == (True, first.seq)
    assert len(patches(studio.desk)) == 1


def test_a_form_begins_as_the_last_patch_was_measured(studio: Studio, now: Clock) -> None:
    desk = studio.desk
    assert usual(studio, studio.roll) == whites.Usual()
    other = receiving.receive(
        desk,
        Delivery(material="Satin colour paper 127", place="Cold store", number="E-9000",
                 label_date=date(2028, 1, 1)),
    )  # fmt: skip
    (stranger,) = (touch.key for touch in other.changes.touches if touch.kind == "unit")
    note(desk, stranger, density=0.09, control_b=None, control_density=0.1, instrument="Meter")
    assert usual(studio, studio.roll) == whites.Usual(
        "Meter", "M1", "white", 1, "strip A", "density"
    )
    now.on(1)
    note(desk, studio.second_roll, b=-2, control=studio.roll, spots=4, backing="own")
    now.on(1)
    note(desk, stranger, b=-2, instrument="Hand spectro", measuring="M0")
    assert usual(studio, studio.roll) == whites.Usual("Bench spectro", "M1", "own", 4, "", "b")
    assert usual(studio, studio.second_roll).control == studio.roll
    assert usual(studio, stranger).instrument == "Hand spectro"
    handling.discard(desk, studio.roll)
    assert usual(studio, studio.second_roll).control == ""


def test_patches_stand_in_order_of_time_and_meet_only_their_like(
    studio: Studio, now: Clock
) -> None:
    desk = studio.desk
    start_s = now.now_s
    now.on(30)
    whole = {"l": 95, "a": 0, "control_l": 95, "control_a": 0}
    note(desk, studio.roll, b=2, **whole, happened_s=start_s + 10 * DAY_S)
    note(desk, studio.roll, b=0, **whole, happened_s=start_s + DAY_S)
    for days, more in (
        (11, {"measuring": "M0"}),
        (12, {"instrument": "Meter", "backing": "black"}),
        (13, {"density": 0.1, "b": None, "control_b": None, "control_density": 0.1}),
        (14, {"b": 0.5}),
    ):
        values = {"b": 2, **more}
        note(desk, studio.roll, **values, happened_s=start_s + days * DAY_S)
    with reckoned(desk) as reckoning:
        unit = reckoning.unit(studio.roll)
        assert unit is not None
        found = apart(whites.patches_of(reckoning, unit))
    assert [round((item.patch.at_s - start_s) / DAY_S) for item in found] == [1, 10, 11, 12, 13, 14]
    first, second, *others, last = found
    assert (first.why_not, first.delta_b, first.delta_e_2000) == ("", None, None)
    # Lab 95,0,0 to 95,0,2: 1.9139 by the formula of 2000, as in core/colour.py
    assert (second.delta_b, round(second.delta_e_2000 or 0, 4)) == (2.0, 1.9139)
    assert [item.why_not for item in others] == [
        "another measuring condition", "another instrument, another backing", "another quantity",
    ]  # fmt: skip
    assert {(item.delta_b, item.delta_e_2000, item.delta_density) for item in others} == {
        (None, None, None)
    }
    assert (last.delta_b, last.delta_e_2000) == (0.5, None)


def test_a_patch_is_held_against_the_first_of_its_emulsion_with_a_control(studio: Studio) -> None:
    desk = studio.desk
    note(desk, studio.roll, b=-2, control=None, control_b=None)
    note(desk, studio.roll, b=-2, measuring="M0")
    note(desk, studio.second_roll, b=-1.9)
    note(desk, studio.roll, b=-1.8)
    with reckoned(desk) as reckoning:
        unit = reckoning.unit(studio.roll)
        assert unit is not None
        before = whites.patches_of_emulsion(reckoning, unit)
    assert len(before) == 4
    first = held_against(before, "b", "bench SPECTRO", "M1", "white")
    assert first is not None
    assert (first.unit, first.b_milli) == (studio.second_roll, -1_900)
    assert held_against(before, "density", "Bench spectro", "M1", "white") is None
    assert held_against(before, "b", "Bench spectro", "M2", "white") is None


def test_a_word_on_a_white_needs_a_reason_and_a_life(studio: Studio) -> None:
    desk = studio.desk
    for why, days in ((" ", 800), ("clean", 0), ("clean", -5), ("clean", 36_526)):
        with pytest.raises(BadValueError):
            whites.trust_white(desk, studio.roll, why, most_days=days)
    with pytest.raises(RefusedError, match="Too little of the white"):
        whites.trust_white(desk, studio.roll, "clean", most_days=900)
    with desk.reading() as view:
        assert everything(view, WhiteWord) == []
