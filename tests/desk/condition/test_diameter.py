"""A roll's length by the tape: a calibrated caliper tells it with its plus or minus."""

import math

import pytest
from support.studio import Clock, Studio

from stockroom.core.caliper import sd_of
from stockroom.core.condition import Winding
from stockroom.core.constants import CORE_UNSURE
from stockroom.core.geometry import roll_outer_mm
from stockroom.core.model import Unit
from stockroom.desk.stock import counting, defining
from stockroom.desk.condition import diameter
from stockroom.desk.figures import unit_figures
from stockroom.desk.lookup import everything, find
from stockroom.desk.reckoning import reckoned
from stockroom.errors import BadValueError, RefusedError


def outer_dmm(length_m: float, caliper_mm: float) -> int:
    return round(10 * roll_outer_mm(length_m * 1_000, 89.0, caliper_mm))


def measured(studio: Studio, outer: int) -> diameter.Measured:
    with reckoned(studio.desk) as reckoning:
        unit = find(reckoning.view, Unit, studio.roll)
        return diameter.length_from(reckoning, unit, outer)


def calibrate(studio: Studio, caliper_mm: float = 0.252) -> None:
    diameter.note_winding(
        studio.desk, studio.paper, length_dmm=500_000, outer_dmm=outer_dmm(50, caliper_mm)
    )


def test_a_calibrated_caliper_tells_the_length_and_narrows_its_plus_or_minus(
    studio: Studio,
) -> None:
    """Wound with air a wrap takes 0.252 mm where the label says 0.24."""
    across = outer_dmm(20, 0.252)
    before = measured(studio, across)
    calibrate(studio)
    after = measured(studio, across)
    assert (before.rolls, after.rolls) == (0, 1)
    assert before.length_dmm > 205_000
    assert after.length_dmm == pytest.approx(200_000, rel=0.005)
    assert after.plus_minus_dmm < before.plus_minus_dmm
    assert abs(before.length_dmm - 200_000) <= before.plus_minus_dmm * 1.2
    assert "one roll of known length" in after.source
    assert "not calibrated" in before.source


def test_a_calibration_is_undone_by_name(studio: Studio) -> None:
    calibrate(studio)
    counting.undo(studio.desk, None)
    assert measured(studio, 1_300).rolls == 0


def winding(studio: Studio) -> diameter.Wound:
    with reckoned(studio.desk) as reckoning:
        return diameter.winding_of(reckoning, reckoning.materials[studio.paper])[0]


def noted(studio: Studio) -> list[Winding]:
    with studio.desk.reading() as view:
        return everything(view, Winding)


def test_a_core_that_nobody_measured_is_unsure_with_a_calibration_and_without(
    studio: Studio,
) -> None:
    """One standard deviation of 1 mm; its own figure, or a core measured, is known to 0.5 mm."""
    across = outer_dmm(20, 0.252)
    assert winding(studio).core_sd_mm == CORE_UNSURE.value
    calibrate(studio)
    assert winding(studio).core_sd_mm == CORE_UNSURE.value
    assert [(item.core_dmm, item.core_plus_minus_dmm) for item in noted(studio)] == [(890, 16)]
    unsure = measured(studio, across)
    defining.change_material(studio.desk, studio.paper, core_dmm=890)
    assert winding(studio).core_sd_mm == pytest.approx(sd_of(0.5))
    assert measured(studio, across).plus_minus_dmm < unsure.plus_minus_dmm
    diameter.note_winding(
        studio.desk, studio.paper, length_dmm=500_000, outer_dmm=1_530, core_dmm=905
    )
    assert {(item.core_dmm, item.core_plus_minus_dmm) for item in noted(studio)} == {
        (890, 16), (905, 5),
    }  # fmt: skip


def test_a_core_shared_by_all_rolls_is_one_error(studio: Studio) -> None:
    """The caliper leans on the core it was worked out with, and takes most of the error back."""
    calibrate(studio)
    slope = winding(studio).caliper_per_core
    assert slope == pytest.approx(-math.pi * 89 / (2 * 50_000))
    diameter.note_winding(
        studio.desk, studio.paper, length_dmm=500_000, outer_dmm=outer_dmm(50, 0.252), core_dmm=891
    )
    assert slope < winding(studio).caliper_per_core < 0


def test_a_roll_measured_twice_is_one_roll(studio: Studio, now: Clock) -> None:
    """The last time counts; rolls without a code count each."""
    whole, half = outer_dmm(50, 0.252), outer_dmm(25, 0.246)
    for length_dmm, across in ((500_000, whole), (250_000, half)):
        diameter.note_winding(
            studio.desk, studio.paper, length_dmm=length_dmm, outer_dmm=across, unit=studio.roll
        )
        now.on(1)
    once = measured(studio, 1_300)
    assert once.rolls == 1
    assert once.caliper_mm == pytest.approx(0.246, rel=0.005)
    diameter.note_winding(
        studio.desk, studio.paper, length_dmm=500_000, outer_dmm=whole, unit=studio.second_roll
    )
    for _ in range(2):
        calibrate(studio)
        now.on(1)
    assert measured(studio, 1_300).rolls == 4
    _, figures = unit_figures(studio.desk, studio.roll)
    length = next(figure for figure in figures if figure.name == "Length left")
    assert sum(item.name == "Measured roll" for item in length.inputs) == 4
    assert [item.source for item in length.inputs if item.name == "Caliper as wound"] == [
        "from 4 rolls of known length"
    ]


def test_a_count_by_the_tape_keeps_its_plus_or_minus(studio: Studio, now: Clock) -> None:
    calibrate(studio)
    found = measured(studio, outer_dmm(11.4, 0.252))
    now.on(1)
    counting.count(studio.desk, studio.roll, found.length_dmm, plus_minus_dmm=found.plus_minus_dmm)
    with studio.desk.reading() as view:
        unit = find(view, Unit, studio.roll)
    assert unit.plus_minus_dmm == found.plus_minus_dmm > 500
    _, figures = unit_figures(studio.desk, studio.roll)
    length = next(figure for figure in figures if figure.name == "Length left")
    assert "±" in length.value
    assert length.form == "count"
    assert any(item.name == "Measured roll" for item in length.inputs)


@pytest.mark.parametrize(
    ("length_dmm", "across_dmm", "error"),
    [
        (500_000, 0, BadValueError),
        (0, 1_500, BadValueError),
        (500_000, 800, BadValueError),  # thinner than its core
        (5_000_000, 900, BadValueError),  # metres and millimetres mixed up
    ],
)
def test_what_no_roll_can_be_is_refused(
    studio: Studio, length_dmm: int, across_dmm: int, error: type[Exception]
) -> None:
    with pytest.raises(error):
        diameter.note_winding(
            studio.desk, studio.paper, length_dmm=length_dmm, outer_dmm=across_dmm
        )


def test_sheets_are_not_measured_across(studio: Studio) -> None:
    with pytest.raises(RefusedError, match="comes in no rolls"):
        diameter.note_winding(studio.desk, studio.sheet, length_dmm=1_000, outer_dmm=1_500)
    with reckoned(studio.desk) as reckoning, pytest.raises(RefusedError, match="not wound"):
        diameter.length_from(reckoning, find(reckoning.view, Unit, studio.pack), 1_500)
    assert math.isfinite(measured(studio, 1_300).caliper_mm)
