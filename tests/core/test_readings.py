"""Readings are merged, cut and thinned without losing or inventing a value."""

import random

import numpy as np
import pytest

from stockroom.core.climate.readings import (
    AMBIGUOUS,
    DUPLICATE,
    EMPTY,
    FAULT_CODE,
    Readings,
    merge,
    step_s,
    usable,
    window,
)

NAN = float("nan")


def test_merge_keeps_the_warmer_and_counts():
    """Three logs at one stamp count once; equal values do not count."""
    one = Readings.of([0, 60, 120], [4.0, 4.0, 4.0])
    two = Readings.of([60, 120, 180], [5.0, 4.0, 6.0])
    three = Readings.of([60, 240], [3.0, 7.0])
    both, differing = merge([two, one, three])
    assert list(both.t_s) == [0, 60, 120, 180, 240]
    assert list(both.temp_c) == [4.0, 5.0, 4.0, 6.0, 7.0]
    assert list(both.flag) == [0, DUPLICATE, 0, 0, 0]
    assert differing == 1


def test_merge_lets_missing_and_faulty_values_lose():
    """NaN and a fault code of 85 °C lose to a number; alone they stay, and are not counted."""
    one = Readings.of([0, 60, 120], [NAN, 85.0, NAN], flag=[0, FAULT_CODE, AMBIGUOUS])
    two = Readings.of([0, 60, 120], [4.0, 4.5, NAN])
    for many in ([one, two], [two, one]):
        both, differing = merge(many)
        assert both.temp_c[:2].tolist() == [4.0, 4.5]
        assert np.isnan(both.temp_c[2])
        assert differing == 0
        assert both.flag[:2].tolist() == [0, 0]


def test_merge_fills_humidity_from_the_other():
    """The kept reading's own humidity counts; without one, the highest given there."""
    one = Readings.of([0, 60], [5.0, 5.0], [NAN, 40.0])
    two = Readings.of([0, 60], [4.0, 4.0], [55.0, 60.0])
    assert merge([one, two])[0].rh_pct.tolist() == [55.0, 40.0]


def test_merge_agrees_with_a_dictionary_on_random_logs():
    """Any number of overlapping logs in any order, against one stamp at a time."""
    rng = random.Random(1)
    for _ in range(60):
        many, told = [], {}
        for _ in range(rng.randrange(5)):
            stamps = sorted(rng.sample(range(30), rng.randrange(20)))
            temps = [NAN if rng.random() < 0.2 else float(rng.randrange(4, 7)) for _ in stamps]
            many.append(Readings.of(stamps, temps))
            for t, temp in zip(stamps, temps, strict=True):
                told.setdefault(t, set()).update([] if temp != temp else [temp])
        both, differing = merge(many)
        assert both.t_s.tolist() == sorted(told)
        assert differing == sum(len(values) > 1 for values in told.values())
        for t, temp in zip(both.t_s.tolist(), both.temp_c.tolist(), strict=True):
            assert temp == max(told[t]) if told[t] else temp != temp


def test_merge_of_nothing_is_nothing():
    """No logs, empty logs, and one log alone."""
    one = Readings.of([0, 60], [4.0, 5.0])
    assert merge([]) == merge([EMPTY, EMPTY]) == (EMPTY, 0)
    assert merge([EMPTY, one]) == (one, 0)


def test_window_takes_both_ends_and_neighbours_when_asked():
    """Ends are included; `beyond` adds readings outside, as many as there are."""
    log = Readings.of([0, 60, 120, 180], [1.0, 2.0, 3.0, 4.0])
    assert window(log, 60, 120).t_s.tolist() == [60, 120]
    assert window(log, 61, 119).t_s.tolist() == []
    assert window(log, 61, 119, beyond=1).t_s.tolist() == [60, 120]
    assert window(log, -500, 500, beyond=3).t_s.tolist() == [0, 60, 120, 180]
    assert window(EMPTY, 0, 1, beyond=1).t_s.tolist() == []
    for from_s, to_s in ((1, 0), (NAN, 0)):
        with pytest.raises(ValueError, match="window"):
            window(log, from_s, to_s)


def test_step_and_usable():
    """The median step does not mind a gap; a log without doubts is passed on as it is."""
    log = Readings.of([0, 60, 120, 9000], [1.0, NAN, 3.0, 4.0])
    assert step_s(log) == 60.0
    assert step_s(EMPTY) == step_s(window(log, 0, 0)) == 0.0
    assert usable(log).t_s.tolist() == [0, 120, 9000]
    assert usable(usable(log)).t_s.tolist() == [0, 120, 9000]
    clean = Readings.of([0], [4.0])
    assert usable(clean) is clean
