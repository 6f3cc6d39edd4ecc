"""A new log is compared with those that stand by the rules by which they are merged."""

import random

import numpy as np

from stockroom.core.climate.overlap import Overlap, overlap
from stockroom.core.climate.readings import EMPTY, OUT_OF_RANGE, Readings, merge, too_coarse
from stockroom.core.constants import LOG_STEP_COARSE, LOG_STEP_ENOUGH, SENSOR_SPREAD

NAN = float("nan")
DAY = [4.0, 4.2, 4.1, 4.4, 4.3]
STAMPS = [0, 900, 1800, 2700, 3600]


def test_the_same_readings_are_known_and_nothing_differs() -> None:
    log = Readings.of(STAMPS, DAY, [40.0] * 5)
    found = overlap([log], log)
    assert found == Overlap(5, 5, 0, 0.0)
    assert found.nothing_new
    assert not overlap([], log).nothing_new
    assert overlap([], log) == overlap([EMPTY], log) == Overlap(5, 0, 0, 0.0)
    assert overlap([log], EMPTY) == Overlap(0, 0, 0, 0.0)
    assert not overlap([log], EMPTY).nothing_new


def test_an_export_that_goes_on_is_known_as_far_as_it_stands() -> None:
    longer = Readings.of([*STAMPS, 4500, 5400], [*DAY, 9.0, 4.0])
    assert overlap([Readings.of(STAMPS, DAY)], longer) == Overlap(7, 5, 0, 0.0)


def test_a_cooler_and_a_warmer_value_both_differ_and_the_larger_is_told() -> None:
    new = Readings.of(STAMPS, [4.0, 2.7, 4.1, 4.5, 4.3])
    found = overlap([Readings.of(STAMPS, DAY)], new)
    assert (found.known, found.differing) == (3, 2)
    assert round(found.largest_difference_k, 9) == 1.5


def test_between_stamps_only_more_than_the_sensors_spread_differs() -> None:
    stands = Readings.of(range(0, 9000, 900), [4.0] * 10)
    off = SENSOR_SPREAD.value
    between = list(range(450, 8000, 900))
    near = overlap([stands], Readings.of(between, [4.0 + off] * len(between)))
    far = overlap([stands], Readings.of(between, [4.01 + off] * len(between)))
    assert near == Overlap(len(between), 0, 0, 0.0)
    assert far.known == 0
    assert far.differing == len(between) * 2 - 1  # the stamps of both, where both tell
    assert round(far.largest_difference_k, 9) == round(0.01 + off, 9)


def test_what_has_no_value_or_no_other_humidity_adds_nothing() -> None:
    stands = Readings.of(STAMPS, DAY, [40.0, 41.0, 42.0, NAN, 44.0])
    same = Readings.of(
        STAMPS, [*DAY[:4], 85.0], [NAN, 41.0, 42.0, NAN, NAN], [0] * 4 + [OUT_OF_RANGE]
    )
    assert overlap([stands], same) == Overlap(5, 5, 0, 0.0)
    damp = Readings.of(STAMPS, DAY, [40.0, 41.5, 42.0, 50.0, 44.0])
    assert overlap([stands], damp).known == 3
    empty = Readings.of(STAMPS, [NAN] * 5)
    assert overlap([empty], Readings.of(STAMPS, DAY)).known == 0


def test_a_longer_export_of_the_cooler_of_two_loggers_differs_only_where_it_is_new() -> None:
    """Its readings stand already, although the warmer logger's count in their place."""
    stamps = list(range(0, 90_000, 900))
    warm = Readings.of(stamps, [5.0] * 100)
    cool = Readings.of([t + 300 for t in stamps], [4.0] * 100)
    first = Readings.of(cool.t_s[:60], cool.temp_c[:60])
    found = overlap([warm, first], cool)
    assert found.known == 60
    assert found.differing == merge([warm, cool])[1] - merge([warm, first])[1]
    assert found.largest_difference_k == 1.0


def test_a_thinned_export_still_differs_where_the_line_between_is_warmer() -> None:
    stands = Readings.of(range(0, 6300, 900), [4.0, 4.0, 4.0, 2.0, 4.0, 4.0, 4.0])
    thinned = Readings.of(range(0, 6300, 1800), [4.0, 4.0, 4.0, 4.0])
    assert overlap([stands], thinned) == Overlap(4, 4, 1, 2.0)
    assert not overlap([stands], thinned).nothing_new
    assert merge([stands, thinned])[1] == 1


def test_it_counts_what_merging_counts_on_random_logs() -> None:
    rng = random.Random(5)
    most = 0
    for _ in range(200):
        runs = []
        for _ in range(2):
            stamps = sorted(rng.sample(range(0, 27_000, 300), rng.randrange(1, 40)))
            temps = [NAN if rng.random() < 0.15 else rng.randrange(30, 60) / 10 for _ in stamps]
            runs.append(Readings.of(stamps, temps))
        stands, new = runs
        found = overlap([stands], new)
        assert found.differing == merge([stands, new])[1]
        most = max(most, found.differing)
        held = dict(zip(stands.t_s.tolist(), stands.temp_c.tolist(), strict=True))
        known = sum(
            t in held and (np.isnan(temp) or held[t] == temp)
            for t, temp in zip(new.t_s.tolist(), new.temp_c.tolist(), strict=True)
        )
        assert found.known == known
        assert (found.largest_difference_k > 0) == (found.differing > 0)
    assert most > 20


def test_steps_over_half_an_hour_are_too_coarse() -> None:
    assert [too_coarse(step) for step in (60, 900, 1800, 1801, 3600)] == [False] * 3 + [True] * 2
    assert LOG_STEP_ENOUGH.value < LOG_STEP_COARSE.value
