"""A gap of many years costs no more than one of a season, and says the same as step by step."""

import math

import numpy as np
import pytest

from stockroom.core.climate import bodies
from stockroom.core.climate.bodies import followed, step_of
from stockroom.core.climate.course import Course, Gaps, PlaceClimate, believed
from stockroom.core.climate.readings import Readings
from stockroom.core.climate.sums import Sums, Track

YEAR_S = 365 * 86_400


def air(years: float, set_point_c: float | None, gaps: Gaps) -> Course:
    """A place that was logged for ten days at the start and at the end of the time."""
    last_s = round(years * YEAR_S)
    at_s = np.concatenate([np.arange(0, 864_000, 900), np.arange(last_s - 864_000, last_s, 900)])
    temp_c = 4 + 3 * np.sin(at_s / 7_000) + 8 * (at_s > last_s / 2)
    log = Readings.of(at_s.tolist(), temp_c.tolist())
    return believed(log, -0.5 * YEAR_S, last_s + 0.5 * YEAR_S, PlaceClimate(set_point_c, 8.0), gaps)


@pytest.mark.parametrize("set_point_c", [4.0, None])
@pytest.mark.parametrize("gaps", ["likely", "worst"])
def test_a_long_gap_says_the_same_as_step_by_step(
    set_point_c: float | None, gaps: Gaps, monkeypatch: pytest.MonkeyPatch
) -> None:
    course, tau_s = air(2.0, set_point_c, gaps), 20_000.0
    quick = followed(course, tau_s, step_of(tau_s, 900))
    monkeypatch.setattr(bodies, "LONG_S", math.inf)
    whole = followed(course, tau_s, step_of(tau_s, 900))
    assert len(quick) < len(whole) / 5
    at_s = np.linspace(course.start_s[0], whole.start_s[-1], 50_001)
    apart_k = Track(quick).temp_at(at_s) - Track(whole).temp_at(at_s)
    assert np.abs(apart_k).max() < 2e-4
    ends_s = ([course.start_s[0]], [whole.start_s[-1]])
    days = [Sums(Track(one), 10.0, 85_000).used_and_filled(*ends_s) for one in (quick, whole)]
    assert np.abs(np.subtract(*days)).max() < 1e-3


@pytest.mark.parametrize("set_point_c", [4.0, None])
def test_a_gap_of_a_century_is_not_followed_step_by_step(set_point_c: float | None) -> None:
    assert len(followed(air(120.0, set_point_c, "worst"), 20_000.0, 900.0)) < 12_000
