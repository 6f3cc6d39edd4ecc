"""A roll's length by the tape: a calibrated caliper tells it with its plus or minus."""

import math

import pytest
from support.studio import Clock, Studio

from stockroom.core.geometry import roll_outer_mm
from stockroom.core.model import Unit
from stockroom.desk import counting, diameter
from stockroom.desk.figures import unit_figures
from stockroom.desk.lookup import find
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
