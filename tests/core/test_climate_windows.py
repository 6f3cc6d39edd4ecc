"""Mean kinetic temperature over windows is what the readings' weights make it, gaps left out."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.core.climate.ageing import mean_kinetic_temp_c
from stockroom.core.climate.readings import EMPTY, FAULT_CODE, FILLED, Readings, gap_s, step_s
from stockroom.core.climate.windows import (
    DAY_S,
    MONTH_S,
    WINDOWS,
    gaps,
    logged_share,
    window_of,
    window_table,
)

ENERGIES = (83_144.0, 85_000.0)
STEPS = st.sampled_from([60, 300, 900, 901, 1_800, 9_000, 200_000])
LOGS = st.lists(st.tuples(STEPS, st.floats(-30, 45)), min_size=2, max_size=80)


def log_of(rows: list[tuple[int, float]]) -> Readings:
    return Readings.of(np.cumsum([step for step, _ in rows]), [temp for _, temp in rows])


def slow_cells(log: Readings) -> list[tuple[float, float]]:
    """From half a step before each reading to half a step after it, gaps not counted."""
    t = log.t_s.tolist()
    longest = gap_s(step_s(log))
    made = []
    for i, at in enumerate(t):
        begin = end = float(at)
        if i and at - t[i - 1] <= longest:
            begin = (t[i - 1] + at) / 2
        if i + 1 < len(t) and t[i + 1] - at <= longest:
            end = (at + t[i + 1]) / 2
        made.append((begin, end))
    return made


def slow_weights(log: Readings, from_s: float, to_s: float) -> list[float]:
    """How much of each reading's own time lies in a window."""
    cells = slow_cells(log)
    return [max(0.0, min(end, to_s) - max(begin, from_s)) for begin, end in cells]


def slow_worst(log: Readings, from_s: int, to_s: int, length_s: int) -> float | None:
    """Every stretch that starts or ends where a reading's own time does, one after the other."""
    edges = {edge for cell in slow_cells(log) for edge in cell}
    starts = edges | {edge - length_s for edge in edges} | {from_s, to_s - length_s}
    found = []
    for start in starts:
        if not from_s <= start <= to_s - length_s:
            continue
        weight = slow_weights(log, start, start + length_s)
        if sum(weight) >= length_s / 2:
            found.append(mean_kinetic_temp_c(log.temp_c, weight, ENERGIES[0]))
    return max(found, default=None)


@given(rows=LOGS, energy=st.floats(20_000, 250_000))
@settings(max_examples=150, deadline=None)
def test_never_below_the_mean_nor_outside_what_was_logged(rows, energy) -> None:
    """For any log, any steps and gaps, any energy, in each of the stated windows."""
    log = log_of(rows)
    for window in window_table(log, int(log.t_s[-1]) + 100, [energy]):
        if not window.mkt_c:
            assert window.logged_share == 0
            continue
        assert 0 < window.logged_share <= 1 + 1e-12
        assert window.low_c - 1e-9 <= window.mean_c <= window.mkt_c[0] + 1e-9
        assert window.mkt_c[0] <= window.high_c + 1e-9
        for worst in (window.worst_day, window.worst_month):
            if worst is not None:
                assert window.from_s <= worst.from_s
                assert worst.to_s <= window.to_s
                assert worst.mkt_c[0] <= window.high_c + 1e-9


@given(temp_c=st.floats(-30, 45), step=st.sampled_from([60, 900]))
@settings(max_examples=25, deadline=None)
def test_a_constant_is_its_own_mean(temp_c, step) -> None:
    log = Readings.of(range(0, 3 * DAY_S, step), [temp_c] * len(range(0, 3 * DAY_S, step)))
    for window in window_table(log, 3 * DAY_S, ENERGIES):
        assert window.mean_c == pytest.approx(temp_c, abs=1e-9)
        assert window.mkt_c == pytest.approx((temp_c, temp_c), abs=1e-9)
        assert window.worst_day.mkt_c == pytest.approx((temp_c, temp_c), abs=1e-9)
        assert window.worst_month is None or window.to_s - window.from_s >= MONTH_S


@given(rows=LOGS, begin=st.floats(-0.2, 1.0), long=st.floats(0.01, 1.2))
@settings(max_examples=100, deadline=None)
def test_each_reading_counts_for_half_the_steps_beside_it(rows, begin, long) -> None:
    """Weights, mean, kinetic mean and share of any window, against a plain loop."""
    log = log_of(rows)
    whole = int(log.t_s[-1]) - int(log.t_s[0])
    from_s = int(log.t_s[0] + begin * whole)
    to_s = from_s + max(1, int(long * whole))
    weight = slow_weights(log, from_s, to_s)
    window = window_of(log, from_s, to_s, ENERGIES)
    assert window.logged_share == pytest.approx(sum(weight) / (to_s - from_s), abs=1e-12)
    assert logged_share(log, from_s, to_s) == pytest.approx(window.logged_share, abs=1e-12)
    if sum(weight) == 0:
        assert window.mkt_c == ()
        return
    assert window.mean_c == pytest.approx(np.average(log.temp_c, weights=weight), abs=1e-9)
    for told, energy in zip(window.mkt_c, ENERGIES, strict=True):
        assert told == pytest.approx(mean_kinetic_temp_c(log.temp_c, weight, energy), abs=1e-9)


def test_the_worst_stretches_are_those_of_a_slow_loop() -> None:
    """Eight logs of seven weeks with warm spells and gaps; the worst day and month of each."""
    rng = np.random.default_rng(3)
    days = months = 0
    for _ in range(8):
        steps = rng.choice([7_200, 10_800, 14_400, 90_000, 300_000], 300,
                           p=[0.4, 0.3, 0.27, 0.02, 0.01])  # fmt: skip
        t = np.cumsum(steps)
        temp = 4 + rng.normal(0, 0.5, 300)
        for at in rng.choice(290, 4, replace=False):
            temp[at : at + 8] += rng.uniform(3, 14)
        log = Readings.of(t, temp)
        window = window_of(log, int(t[0]) + 5_000, int(t[-1]) - 3_000, ENERGIES)
        for worst, length_s in ((window.worst_day, DAY_S), (window.worst_month, MONTH_S)):
            slow = slow_worst(log, window.from_s, window.to_s, length_s)
            assert (worst is None) == (slow is None)
            if worst is not None:
                assert worst.mkt_c[0] == pytest.approx(slow, abs=1e-6)
                assert worst.to_s - worst.from_s == length_s
        days += window.worst_day is not None
        months += window.worst_month is not None
    assert days == 8
    assert months > 3


def test_the_windows_are_those_stated_and_end_now() -> None:
    log = Readings.of(range(0, 400 * DAY_S, 3_600), [4.0] * (400 * 24))
    now_s = 400 * DAY_S
    table = window_table(log, now_s, ENERGIES)
    assert [window.name for window in table] == [name for name, _ in WINDOWS]
    lengths = [(window.to_s - window.from_s) / DAY_S for window in table]
    assert lengths == [1, 7, 30, 90, 365, 400]
    assert {window.to_s for window in table} == {now_s}


def test_a_long_window_hides_what_its_worst_day_shows() -> None:
    """One day at 16 °C in a year at 4 °C, found to the hour."""
    t = np.arange(0, 365 * DAY_S, 900)
    temp = np.where((t >= 200 * DAY_S) & (t < 201 * DAY_S), 16.0, 4.0)
    year = window_table(Readings.of(t, temp), 365 * DAY_S, ENERGIES)[4]
    assert year.mkt_c[0] < 4.1
    assert year.worst_day.mkt_c[0] == pytest.approx(16.0, abs=0.05)
    assert abs(year.worst_day.from_s - 200 * DAY_S) <= 900
    assert 4.3 < year.worst_month.mkt_c[0] < 5.0


def test_a_gap_counts_for_nothing_and_hardly_logged_stretches_are_never_the_worst() -> None:
    """Ten warm minutes beside a gap of two days do not make a worst day."""
    t = np.concatenate([np.arange(0, 5 * DAY_S, 900), 7 * DAY_S + np.arange(0, 5 * DAY_S, 900)])
    temp = np.full(len(t), 4.0)
    temp[480] = 30.0  # the first reading after the gap
    log = Readings.of(t, temp)
    window = window_of(log, 0, 12 * DAY_S, ENERGIES)
    assert window.logged_share == pytest.approx((10 * DAY_S - 1_800) / (12 * DAY_S))
    assert window.mean_c == pytest.approx(4.0 + 26 * 450 / (10 * DAY_S - 1800), abs=1e-6)
    assert window.worst_day.mkt_c[0] < 6.0
    assert gaps(log, 0, 12 * DAY_S) == [(5 * DAY_S - 900, 7 * DAY_S)]
    assert gaps(log, 6 * DAY_S, 12 * DAY_S) == [(6 * DAY_S, 7 * DAY_S)]
    assert gaps(log, 8 * DAY_S, 12 * DAY_S) == []
    assert window_of(log, 5 * DAY_S, 7 * DAY_S, ENERGIES).mkt_c == ()


def test_what_was_not_logged_is_left_out() -> None:
    """Faulty values, and a warm spell that a person guessed at, weigh nothing."""
    flag = [0] * 96
    temp = [4.0] * 96
    for at, bit in ((10, FAULT_CODE), (50, FILLED), (51, FILLED)):
        temp[at], flag[at] = 60.0, bit
    window = window_of(Readings.of(range(0, DAY_S, 900), temp, flag=flag), 0, DAY_S, ENERGIES)
    assert window.high_c == 4.0
    assert window.mkt_c == pytest.approx((4.0, 4.0))


def test_nothing_logged_gives_nothing_and_what_cannot_be_is_refused() -> None:
    for window in window_table(EMPTY, 1_000_000, ENERGIES):
        assert (window.mean_c, window.mkt_c, window.logged_share) == (None, (), 0.0)
        assert window.worst_day is None
    one = window_table(Readings.of([0], [4.0]), 100, ENERGIES)
    assert all(window.mkt_c == () for window in one)
    assert logged_share(EMPTY, 5, 5) == 0.0
    for energies in ((), (float("nan"),), (10.0,)):
        with pytest.raises(ValueError):
            window_table(EMPTY, 0, energies)
    with pytest.raises(ValueError):
        window_of(EMPTY, 10, 5, ENERGIES)
