"""Dew point, damp hours and the air in a bag follow from each other and invent nothing."""

import random

import numpy as np
import pytest

from stockroom.core.climate.moisture import (
    Damp,
    DewPoint,
    condenses_in_bag,
    dew_point,
    dew_point_c,
    frost_point_c,
    rh_at,
    time_above,
)
from stockroom.core.climate.readings import FAULT_CODE, JUMP, Readings
from stockroom.errors import BadValueError

NAN = float("nan")
QUARTER_S = 900


def test_saturated_air_is_at_its_dew_point():
    """At 100 % the dew point over water is the air's own temperature."""
    air_c = np.arange(-50.0, 70.0, 3.0)
    assert dew_point_c(air_c, 100.0) == pytest.approx(air_c, abs=1e-9)


def test_scalars_and_arrays_say_the_same():
    air_c, rh_pct = np.meshgrid([1.0, 4.0, 21.0, 35.0], [5.0, 30.0, 60.0, 99.0])
    over_water, over_ice = dew_point_c(air_c, rh_pct), frost_point_c(air_c, rh_pct)
    assert over_water.shape == air_c.shape
    kinds = set()
    for at in np.ndindex(air_c.shape):
        dew = dew_point(float(air_c[at]), float(rh_pct[at]))
        kinds.add(dew.kind)
        expected = over_ice[at] if dew.kind == "frost point" else over_water[at]
        assert dew.temp_c == pytest.approx(expected, abs=1e-12)
        assert (dew.kind == "frost point") == (over_water[at] < 0)
    assert kinds == {"dew point", "frost point"}


def test_below_zero_it_is_a_frost_point_and_the_warmer_of_the_two():
    """Ice forms before water would: up to 0.57 K earlier down to a dew point of -5 °C."""
    apart = []
    for rh_pct in np.linspace(53, 75, 23):
        dew = dew_point(4.0, float(rh_pct))
        over_water_c = float(dew_point_c(4.0, rh_pct))
        assert dew.kind == "frost point"
        assert over_water_c < dew.temp_c <= 0.0
        apart.append(dew.temp_c - over_water_c)
    assert 0.5 < max(apart) < 0.57


def test_more_water_means_a_higher_dew_point():
    rh_pct = np.linspace(1, 100, 400)
    for air_c in (-20.0, 4.0, 21.0):
        assert np.all(np.diff(dew_point_c(air_c, rh_pct)) > 0)
    told = [dew_point(4.0, float(rh)).temp_c for rh in rh_pct]
    assert np.all(np.diff(told) > -0.002)  # no step where frost turns into dew


@pytest.mark.parametrize(("air_c", "rh_pct"), [(21.0, 50.0), (4.0, 60.0), (-18.0, 70.0)])
def test_humidity_comes_back_at_the_same_temperature(air_c, rh_pct):
    """Also through a frost point, whose water is told over ice."""
    assert float(rh_at(dew_point(air_c, rh_pct), air_c)) == pytest.approx(rh_pct, rel=1e-9)


def test_air_carried_into_the_cold_gets_damper_and_over_full():
    room = dew_point(21.0, 50.0)
    at = rh_at(room, np.array([30.0, 21.0, room.temp_c, 4.0]))
    assert np.all(np.diff(at) > 0)
    assert at[2] == pytest.approx(100.0)
    assert at[3] > 150


@pytest.mark.parametrize(
    ("air_c", "rh_pct"),
    [(21, 0), (21, -1), (21, 100.1), (-60.1, 50), (70.1, 50), (NAN, 50), (21, NAN)],
)
def test_air_that_cannot_be_is_refused(air_c, rh_pct):
    with pytest.raises(BadValueError) as caught:
        dew_point(air_c, rh_pct)
    assert len(str(caught.value).split()) > 6


def test_missing_values_stay_missing_in_an_array():
    dew_c = dew_point_c([21.0, NAN, 21.0], [50.0, 50.0, NAN])
    assert np.isnan(dew_c).tolist() == [False, True, True]


def log_of(rh_pct, step_s=QUARTER_S, flag=None):
    return Readings.of(np.arange(len(rh_pct)) * step_s, [21.0] * len(rh_pct), rh_pct, flag)


def slow_above(log, limit_pct, from_s, to_s, longest_s):
    """Second by second: a step is known where it is short, its humidity a straight line."""
    middle = np.arange(from_s, to_s) + 0.5
    after = np.searchsorted(log.t_s, middle)
    between = (after > 0) & (after < len(log))
    middle, after = middle[between], after[between]
    logged = log.t_s[after] - log.t_s[after - 1] <= longest_s
    above = np.interp(middle, log.t_s, log.rh_pct) > limit_pct
    return np.count_nonzero(above & logged), np.count_nonzero(logged)


def test_time_above_agrees_with_counting_seconds():
    """Random humidity with gaps, any window; a gap is longer than 2.5 usual steps."""
    rng = random.Random(11)
    for _ in range(12):
        step_s = np.array([rng.choice([900, 900, 900, 900, 1_800, 9_000]) for _ in range(30)])
        t_s = np.concatenate(([0], np.cumsum(step_s)))
        log = Readings.of(t_s, [21.0] * 31, [rng.uniform(40, 80) for _ in t_s])
        from_s = rng.randrange(-2_000, 10_000)
        to_s = from_s + rng.randrange(0, 25_000)
        damp = time_above(log, 60.0, from_s, to_s)
        above, logged = slow_above(log, 60.0, from_s, to_s, 2.5 * 900)
        assert damp.logged_s == pytest.approx(logged, abs=1)
        assert damp.above_s == pytest.approx(above, abs=31)  # half a second at each crossing
        assert 0 <= damp.above_s <= damp.logged_s <= to_s - from_s


def test_humidity_at_the_limit_is_not_above_it():
    assert time_above(log_of([60.0] * 5), 60.0, 0, 3_600) == Damp(0.0, 3_600.0, 60.0)
    assert time_above(log_of([60.1] * 5), 60.0, 0, 3_600) == Damp(3_600.0, 3_600.0, 60.1)


def test_a_gap_gets_no_credit_either_way():
    """A day without readings is not logged, however damp its ends."""
    t_s = [0, 900, 1_800, 88_200, 89_100, 90_000]
    damp = time_above(Readings.of(t_s, [21.0] * 6, [70.0] * 6), 60.0, 0, 90_000)
    assert damp == Damp(3_600.0, 3_600.0, 70.0)


def test_missing_and_faulty_humidity_is_not_logged():
    rh_pct = [70.0] * 4 + [NAN] * 8 + [70.0] * 4
    assert time_above(log_of(rh_pct), 60.0, 0, 15 * QUARTER_S).logged_s == 6 * QUARTER_S
    flag = [0] * 4 + [FAULT_CODE] * 8 + [JUMP] * 4
    damp = time_above(log_of([70.0] * 4 + [99.0] * 8 + [70.0] * 4, flag=flag), 60.0, 0, 20_000)
    assert (damp.logged_s, damp.highest_pct) == (6 * QUARTER_S, 70.0)


def test_one_logger_without_humidity_does_not_hide_the_other():
    """Merged logs alternate; those that know humidity are taken by themselves."""
    rh_pct = [70.0, NAN] * 10
    assert time_above(log_of(rh_pct), 60.0, 0, 18 * QUARTER_S).logged_s == 18 * QUARTER_S


def test_a_window_without_any_humidity_says_so():
    nothing = Damp(0.0, 0.0, None)
    assert time_above(Readings.of([], []), 60.0, 0, 3_600) == nothing
    assert time_above(Readings.of([0, 900], [21.0, 21.0]), 60.0, 0, 3_600) == nothing
    assert time_above(log_of([70.0] * 5), 60.0, 10_000, 20_000) == nothing
    assert time_above(log_of([70.0]), 60.0, 0, 900) == Damp(0.0, 0.0, 70.0)


def test_the_ends_of_a_window_are_read_between_readings():
    damp = time_above(log_of([50.0, 70.0]), 60.0, 225, 675)
    assert damp == Damp(225.0, 450.0, 65.0)


@pytest.mark.parametrize("window", [(60.0, 900, 0), (NAN, 0, 900), (60.0, 0, NAN)])
def test_a_window_that_cannot_be_is_refused(window):
    with pytest.raises(ValueError) as caught:
        time_above(log_of([50.0, 70.0]), *window)
    assert len(str(caught.value).split()) > 4


def test_a_bag_condenses_where_its_own_air_is_damper_than_the_cold_allows():
    """The dew point is that of the air shut in, not of the store's."""
    assert condenses_in_bag(21.0, 50.0, 10.3).condenses is False
    assert condenses_in_bag(21.0, 50.0, 10.1).condenses is True
    dry = condenses_in_bag(21.0, 50.0, 16.0)
    assert (dry.water_g_per_l, dry.small) == (0.0, True)
    assert dry.dew == dew_point(21.0, 50.0)


def test_a_freezer_takes_frost_out_of_dry_air():
    """At a dew point of -20 °C over water there is ice already at -18 °C."""
    over_water_c = -20.0
    rh_pct = float(rh_at(DewPoint(over_water_c, "dew point"), 4.0))
    bag = condenses_in_bag(4.0, rh_pct, -18.0)
    assert bag.condenses is True
    assert bag.dew.kind == "frost point"
    assert bag.dew.temp_c == pytest.approx(-17.94, abs=0.03)
    assert condenses_in_bag(4.0, rh_pct, -17.5).condenses is False


def test_the_water_begins_at_nothing_and_grows_with_the_cold():
    dew_c = dew_point(21.0, 50.0).temp_c
    water = [condenses_in_bag(21.0, 50.0, dew_c - k).water_g_per_l for k in (1e-6, 2, 6, 12, 28)]
    assert water[0] == pytest.approx(0.0, abs=1e-9)
    assert np.all(np.diff(water) > 0)
    assert water[-1] < 0.0093  # no more than there was: 9.2 g in a cubic metre


def test_room_air_is_little_and_summer_air_is_not():
    assert condenses_in_bag(21.0, 50.0, -18.0).small
    assert not condenses_in_bag(28.0, 70.0, 4.0).small


@pytest.mark.parametrize("store_c", [NAN, 400.0])
def test_a_store_that_cannot_be_is_refused(store_c):
    with pytest.raises(BadValueError) as caught:
        condenses_in_bag(21.0, 50.0, store_c)
    assert len(str(caught.value).split()) > 6
