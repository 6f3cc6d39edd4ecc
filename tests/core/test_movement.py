"""Sheets move with the air they stand in, by no more than is known, and say when they rest."""

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.expansion import (
    MOISTURE_WORDS,
    Air,
    Movement,
    Settling,
    large,
    moisture_growth_mm_per_m,
    movement,
    settles_on,
    settling,
    thermal_growth_mm,
)
from stockroom.errors import BadValueError

TEMPS = st.floats(-20, 50)
HUMID = st.floats(0, 100)


def moved(family: str, before: Air, after: Air) -> Movement:
    found = movement(family, 20_000, 10_000, before, after)
    assert found is not None
    return found


def test_a_sheet_moves_by_its_longer_side_whichever_way_it_is_named() -> None:
    before, after = Air(10, 60), Air(30, 80)
    assert movement("sheet", 20_000, 10_000, before, after) == movement(
        "sheet", 10_000, 20_000, before, after
    )
    found = moved("sheet", before, after)
    assert found.thermal_mm == pytest.approx(2.8)
    assert (found.thermal_low_mm, found.thermal_high_mm) == pytest.approx((2.4, 3.2))
    assert found.moisture_mm == pytest.approx(2.0)


@given(TEMPS, TEMPS, HUMID, HUMID)
def test_the_way_back_is_the_way_there(from_c: float, to_c: float, dry: float, wet: float) -> None:
    there = moved("sheet", Air(from_c, dry), Air(to_c, wet))
    back = moved("sheet", Air(to_c, wet), Air(from_c, dry))
    assert there.thermal_low_mm <= there.thermal_mm <= there.thermal_high_mm
    assert back.thermal_mm == pytest.approx(-there.thermal_mm, abs=1e-12)
    assert back.thermal_low_mm == pytest.approx(-there.thermal_high_mm, abs=1e-12)
    assert there.moisture_mm is not None
    assert back.moisture_mm == pytest.approx(-there.moisture_mm, abs=1e-12)


@given(HUMID, HUMID)
def test_more_moisture_never_makes_acrylic_shorter(one: float, other: float) -> None:
    dry, wet = sorted((one, other))
    assert 0 <= moisture_growth_mm_per_m(dry) <= moisture_growth_mm_per_m(wet) <= 6


def test_moisture_runs_straight_between_the_figures_known() -> None:
    found = [moisture_growth_mm_per_m(pct) for pct in (0, 30, 60, 70, 80, 90, 100)]
    assert found == pytest.approx([0, 1, 2, 2.5, 3, 4.5, 6])


def test_an_unknown_humidity_leaves_the_moisture_untold() -> None:
    for before, after in ((Air(10), Air(20, 50)), (Air(10, 50), Air(20))):
        found = moved("sheet", before, after)
        assert found.moisture_mm is None
        assert found.thermal_mm == pytest.approx(1.4)


def test_board_moves_with_the_temperature_alone_and_less() -> None:
    found = moved("board", Air(10), Air(60))
    assert found.thermal_mm == found.thermal_low_mm == found.thermal_high_mm
    assert found.thermal_mm == pytest.approx(2.4)
    assert found.moisture_mm == 0
    assert movement("paper", 20_000, 10_000, Air(10), Air(60)) is None


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [
        (Air(16, 50), Air(21, 50), ("temperature",)),
        (Air(21, 50), Air(16, 50), ("temperature",)),
        (Air(16.1, 50), Air(21, 50), None),
        (Air(20), Air(21, 50), ("humidity unknown",)),
        (Air(4, 50), Air(21), ("temperature", "humidity unknown")),
        (Air(21, 40), Air(21, 70), ("humidity",)),
        (Air(21, 40), Air(21, 60), None),
        (Air(21, 60), Air(21, 30), ("humidity",)),
    ],
)
def test_what_wants_settling(before: Air, after: Air, why: tuple[str, ...] | None) -> None:
    found = settling("sheet", before, after)
    assert (found and found.why) == why
    assert found is None or found.days == 2


def test_board_settles_for_the_temperature_alone_and_the_rest_never() -> None:
    assert settling("board", Air(4), Air(21), 3) == Settling(("temperature",), 3)
    assert settling("board", Air(20), Air(21)) is None
    assert settling("film", Air(4), Air(21)) is None


def test_the_day_on_which_it_has_settled() -> None:
    assert settles_on(date(2026, 2, 27)) == date(2026, 3, 1)
    assert settles_on(date(2026, 2, 27), 0) == date(2026, 2, 27)
    assert settles_on(date.max, 2) == date.max
    for days in (-1, 10_000):
        with pytest.raises(BadValueError):
            settles_on(date(2026, 2, 27), days)
        with pytest.raises(BadValueError):
            settling("film", Air(4), Air(21), days)


def test_from_a_metre_on_it_is_worth_a_word() -> None:
    assert large(10_000, 500)
    assert large(500, 10_000)
    assert not large(9_999, 9_999)


def test_an_air_that_cannot_be_is_refused() -> None:
    for humidity_pct in (-0.1, 100.1, math.nan):
        with pytest.raises(BadValueError):
            Air(20, humidity_pct)
        with pytest.raises(BadValueError):
            moisture_growth_mm_per_m(humidity_pct)
    for temp_c in (math.nan, math.inf):
        with pytest.raises(BadValueError):
            Air(temp_c)
    with pytest.raises(BadValueError):
        movement("sheet", 0, 10_000, Air(20), Air(20))


def test_growth_is_proportional_to_length_and_rise() -> None:
    one = thermal_growth_mm(1_000, 10, 7e-5)
    assert thermal_growth_mm(2_500, 10, 7e-5) == pytest.approx(2.5 * one)
    assert thermal_growth_mm(1_000, -10, 7e-5) == -one


def test_how_slow_moisture_is_said_with_its_figures() -> None:
    assert "15 to 30 days" in MOISTURE_WORDS
    assert "70 days" in MOISTURE_WORDS
