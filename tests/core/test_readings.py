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
    beneath,
    merge,
    step_s,
    usable,
    window,
)

NAN = float("nan")


def test_merge_keeps_the_warmer_and_counts():
    """Logs at one stamp count once; equal values do not; between stamps a line is read."""
    one = Readings.of([0, 60, 120], [4.0, 4.0, 4.0])
    two = Readings.of([60, 120, 180], [5.0, 4.0, 6.0])
    three = Readings.of([60, 240], [3.0, 7.0])
    both, differing = merge([two, one, three])
    assert list(both.t_s) == [0, 60, 120, 180, 240]
    assert list(both.temp_c) == pytest.approx([4.0, 5.0, 3 + 4 * 60 / 180, 6.0, 7.0])
    assert list(both.flag) == [0, DUPLICATE, DUPLICATE, 0, 0]
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

    def read(run: dict[int, float], t: int) -> list[float]:
        before, after = [s for s in run if s <= t], [s for s in run if s >= t]
        if not before or not after:
            return []
        a, b = max(before), min(after)
        return [run[a] if a == b else run[a] + (run[b] - run[a]) * (t - a) / (b - a)]

    rng = random.Random(1)
    for _ in range(60):
        many, runs = [], []
        for _ in range(rng.randrange(5)):
            stamps = sorted(rng.sample(range(30), rng.randrange(20)))
            temps = [NAN if rng.random() < 0.2 else float(rng.randrange(4, 7)) for _ in stamps]
            many.append(Readings.of(stamps, temps))
            runs.append(dict(zip(stamps, temps, strict=True)))
        good = [{t: temp for t, temp in run.items() if temp == temp} for run in runs]
        both, differing = merge(many)
        assert both.t_s.tolist() == sorted({t for run in runs for t in run})
        counted = 0
        for t, temp in zip(both.t_s.tolist(), both.temp_c.tolist(), strict=True):
            exact = [run[t] for run in good if t in run]
            if not exact:
                assert temp != temp
                continue
            values = [value for run in good for value in read(run, t)]
            assert temp == pytest.approx(max(values))
            counted += len(set(exact)) > 1 or max(values) - min(values) > 0.5
        if len([run for run in runs if run]) > 1:
            assert differing == counted


def test_two_loggers_out_of_step_do_not_halve_a_warm_day():
    """Fifteen-minute loggers at 20 and 4 °C, half a step apart: the warmer counts throughout."""
    warm = Readings.of(range(0, 86_400, 900), [20.0] * 96)
    cold = Readings.of(range(450, 86_400, 900), [4.0] * 96)
    both, differing = merge([cold, warm])
    assert both.temp_c[:-1].min() == 20.0
    assert differing > 180


def test_a_guess_shows_only_where_the_log_is_silent():
    """A spell logged by hand never zigzags with readings, and fills what they leave open."""
    log = Readings.of([*range(0, 9000, 900), 90_000], [4.0] * 11)
    guess = Readings.of(range(450, 30_000, 900), [20.0] * 33)
    laid = beneath(log, guess)
    assert laid.temp_c[laid.t_s <= 8100].max() == 4.0
    assert set(laid.temp_c[(laid.t_s > 8100) & (laid.t_s < 30_000)]) == {20.0}


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
