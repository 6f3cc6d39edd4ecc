"""When a life runs out: at one temperature, through the seasons, with days out of the cold."""

import math

import numpy as np
import pytest
from support.studio import DAY_S, MONDAY_S

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.bodies import LIKELY, Kind
from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.readings import Readings
from stockroom.core.climate.spectrum import Spectrum
from stockroom.core.climate.sums import Track
from stockroom.core.climate.visits import Rule
from stockroom.core.constants import ROOM_TEMP
from stockroom.core.freshness.ahead import YEAR_S, seasonal, steady, with_outings

RULE = Rule(LIKELY, 10.0, 85e3)


def solved(left_days, plan):
    """The instant at which a life is used up, by hand, stretch by stretch of (from s, °C)."""
    ends = [from_s for from_s, _ in plan[1:]] + [math.inf]
    for (from_s, temp_c), end_s in zip(plan, ends, strict=True):
        k = rate(temp_c, 10.0, 85e3)
        if left_days <= k * (end_s - from_s) / DAY_S:
            return from_s + left_days / k * DAY_S
        left_days -= k * (end_s - from_s) / DAY_S
    return math.inf


@pytest.mark.parametrize("left_days", [0.0, 0.5, 40.0, 400.0])
@pytest.mark.parametrize("offset_k", [-0.5, 0.0, 0.5])
def test_one_temperature_is_the_closed_form(left_days, offset_k):
    """The same instant as solved by hand."""
    rule = Rule(Kind("likely", offset_k), 10.0, 85e3)
    expected = solved(left_days, [(MONDAY_S, 4.0 + offset_k)])
    assert steady(4.0).runs_out_s(left_days, rule, MONDAY_S) == pytest.approx(expected, abs=1e-3)


def test_days_out_are_counted_at_the_room():
    """Two days out of the cold in a week: solved stretch by stretch it is the same."""
    out_s, back_s = MONDAY_S + 7 * DAY_S, MONDAY_S + 9 * DAY_S
    ahead = with_outings(steady(4.0), [(out_s, back_s)])
    plan = [(MONDAY_S, 4.0), (out_s, ROOM_TEMP.value), (back_s, 4.0)]
    for left_days in (1.0, 4.0, 9.0, 200.0):
        expected = solved(left_days, plan)
        assert ahead.runs_out_s(left_days, RULE, MONDAY_S) == pytest.approx(expected, abs=1e-3)
    # one that is out already
    begun = with_outings(steady(4.0), [(MONDAY_S - DAY_S, back_s)])
    plan = [(MONDAY_S, ROOM_TEMP.value), (back_s, 4.0)]
    assert begun.runs_out_s(50.0, RULE, MONDAY_S) == pytest.approx(solved(50.0, plan), abs=1e-3)


def year(mean_c, swing_k):
    """A year up to now of an unset place that is warm in one half of it and cool in the other."""
    t = np.arange(MONDAY_S - int(YEAR_S) - 7200, MONDAY_S + 1, 3600)
    temp_c = mean_c + swing_k * np.sin(2 * np.pi * (t - MONDAY_S) / YEAR_S)
    air = believed(Readings.of(t, temp_c), MONDAY_S - YEAR_S, MONDAY_S, PlaceClimate())
    return seasonal(Spectrum(Track(air)), MONDAY_S, "a year")


def test_a_year_without_seasons_is_one_temperature():
    """A constant year says what the constant says."""
    for left_days in (20.0, 300.0, 3_000.0):
        assert year(16.0, 0.0).runs_out_s(left_days, RULE, MONDAY_S) == pytest.approx(
            steady(16.0).runs_out_s(left_days, RULE, MONDAY_S), rel=1e-6
        )


def test_a_warm_half_year_ahead_brings_the_day_nearer():
    """+-3 K about 16 °C: against a slow sum over the days of the years to come."""
    ahead, left_days = year(16.0, 3.0), 250.0
    at_s, used = float(MONDAY_S), 0.0
    while used < left_days:
        temp_c = 16.0 + 3.0 * math.sin(2 * math.pi * (at_s + 1800 - MONDAY_S) / YEAR_S)
        used += rate(temp_c, 10.0, 85e3) / 24
        at_s += 3600
    found_s = ahead.runs_out_s(left_days, RULE, MONDAY_S)
    assert abs(found_s - at_s) < 1.5 * DAY_S
    assert steady(16.0).runs_out_s(left_days, RULE, MONDAY_S) - found_s > 8 * DAY_S


def test_life_that_lasts_beyond_the_years_told_apart_still_ends():
    """The last stretch is without end."""
    found_s = year(-18.0, 1.0).runs_out_s(900.0, RULE, MONDAY_S)
    assert 20 * YEAR_S < found_s - MONDAY_S < math.inf
