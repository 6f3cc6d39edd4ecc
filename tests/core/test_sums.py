"""Running sums give what the rule gives, over any interval, on stamps however uneven."""

import random

import numpy as np
import pytest
from support.airs import CLIMATES, DAYS, log, logs
from support.studio import DAY_S

from stockroom.core.climate.ageing import Scenario, used_life
from stockroom.core.climate.course import Course, PlaceClimate, believed
from stockroom.core.climate.readings import Readings, usable
from stockroom.core.climate.sums import Sums, Track


@pytest.mark.parametrize("gaps", ["likely", "best", "worst"])
def test_any_stay_is_that_of_the_rule(gaps):
    """200 random stays a policy, short and long, inside gaps and beyond the log: each to 1e-9.

    A re-warming is drawn by chords of a quarter of an hour: cut in the middle of one, to 1e-4.
    """
    rng, near = random.Random(gaps), 1e-4 if gaps == "worst" else 1e-9
    for place, readings in logs().items():
        end_s = DAYS * DAY_S + 5 * DAY_S
        track = Track(believed(readings, 0, end_s, CLIMATES[place], gaps))
        sums = Sums(track, 10.0, 85e3)
        a = np.array([rng.uniform(0, end_s) for _ in range(40)])
        b = np.minimum(end_s, a + np.array([rng.choice([0, 30, 4000, 3e5, 3e6]) for _ in a]))
        days, filled = sums.used_and_filled(a, b)
        for at in range(40):
            if gaps == "worst" and place == "unlogged":
                continue  # the rule then judges by the length of the stay, this by the place
            expected = used_life(
                readings, a[at], b[at], CLIMATES[place], 10.0, Scenario(85e3, 0.0, gaps)
            )
            if readings.t_s.size and (a[at] < readings.t_s[0] or b[at] > readings.t_s[-1]):
                continue  # likewise beyond the log
            assert days[at] == pytest.approx(expected.days, rel=near, abs=1e-12)
            assert filled[at] == pytest.approx(expected.filled_days_of_life, rel=near, abs=1e-12)


def test_an_instant_is_found_among_bursts_and_long_pauses():
    """Buckets of even length must not lose their way where the stamps are most uneven."""
    rng = np.random.default_rng(5)
    bursts = [start + np.cumsum(rng.integers(1, 3, 500)) for start in (0, 50_000, 9_000_000)]
    start_s = np.unique(np.concatenate([*bursts, rng.integers(0, 10**7, 50)])).astype(float)
    ends = np.append(start_s[1:], 1.1e7)
    plain = np.zeros(len(start_s), bool)
    course = Course(start_s, ends - start_s, start_s * 0.0, start_s * 0.0, plain, plain)
    at = np.sort(np.concatenate([rng.uniform(start_s[0], 1.1e7, 5_000), start_s, ends[-1:]]))
    expected = np.clip(np.searchsorted(start_s, at, "right") - 1, 0, len(course) - 1)
    assert (Track(course).piece_at(at) == expected).all()


def test_filled_time_and_temperature_are_looked_up():
    """A gap filled at the set-point: so many seconds of it, and its temperature inside."""
    readings = Readings.of([0, 900, 90_000, 90_900], [5.0, 5.0, 6.0, 6.0])
    track = Track(believed(readings, 0, 90_900, PlaceClimate(4.0)))
    assert track.filled_s([0.0, 450.0], [90_900.0, 1_000.0]).tolist() == [89_100.0, 100.0]
    assert track.temp_at([450.0, 45_000.0, 90_450.0]).tolist() == [5.0, 4.0, 6.0]


def test_a_course_without_pieces_is_refused():
    """Nothing can be asked of nothing."""
    nothing = believed(log(4.0, 1, 900), 10, 10, PlaceClimate(4.0))
    with pytest.raises(ValueError, match="without any piece"):
        Track(nothing)


def test_a_look_up_counts_each_reading_once():
    """The sum over a cut stay is the stay, wherever it is cut."""
    readings = usable(log(4.0, 9, 300))
    sums = Sums(Track(believed(readings, 0, DAYS * DAY_S, PlaceClimate(4.0))), 10.0, 85e3)
    cuts = np.sort(np.random.default_rng(1).uniform(0, DAYS * DAY_S, 50))
    parts = sums.used_and_filled(cuts[:-1], cuts[1:])[0].sum()
    # each cut bends the straight line of the rate inside one piece a little
    assert parts == pytest.approx(float(sums.used_and_filled(cuts[:1], cuts[-1:])[0][0]), rel=1e-5)
