"""Warm spells are found as a plain loop finds them, and cost what the body in them went through."""

import math
import random

import numpy as np
import pytest

from stockroom.core.climate.ageing import Lag, Scenario, rate, used_life
from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.excursions import Excursion, days_lost, find, guessed
from stockroom.core.climate.readings import EMPTY, FAULT_CODE, FILLED, Readings

NAN = float("nan")
HOUR = 3600
COLD = PlaceClimate(4.0, 8.0)


def slow_find(t, temp, high, hysteresis, least, merge):
    """Return (start, end, peak, ongoing) by walking the readings once."""
    spells, running = [], None
    for stamp, value in zip(t, temp, strict=True):
        if running is None and value > high:
            running = [stamp, None, value, True]
        elif running is not None and value <= high - hysteresis:
            running[1], running[3] = stamp, False
            spells.append(running)
            running = None
        if running is not None:
            running[2] = max(running[2], value)
    if running is not None:
        running[1] = t[-1]
        spells.append(running)
    spells = [spell for spell in spells if spell[1] - spell[0] >= least]
    joined = []
    for spell in spells:
        if joined and spell[0] - joined[-1][1] < merge:
            # what lies between two joined spells belongs to the one spell they make
            inner = [v for s, v in zip(t, temp, strict=True) if joined[-1][0] <= s < spell[0]]
            joined[-1] = [joined[-1][0], spell[1], max(*inner, spell[2]), spell[3]]
        else:
            joined.append(spell)
    return [tuple(spell) for spell in joined]


def test_find_agrees_with_a_plain_loop_both_sides():
    """Random saw-teeth, uneven steps, every combination of hysteresis, least and merge."""
    rng = random.Random(2)
    found = 0
    for _ in range(200):
        n = rng.randrange(0, 120)
        t, stamp = [], 0
        for _ in range(n):
            t.append(stamp)
            stamp += rng.choice([60, 300, 900, 5000])
        temp = [
            round(5 + 4 * math.sin(i / rng.choice([2, 5])) + rng.gauss(0, 1), 1) for i in range(n)
        ]
        limits = (
            rng.choice([0.0, 1.0, 2.5]),
            rng.choice([0, 600, 2000]),
            rng.choice([0, 1800, 6000]),
        )
        spells = find(Readings.of(t, temp), 7.0, 2.0, *limits)
        warm = [(s.from_s, s.to_s, s.peak_c, s.ongoing) for s in spells if s.side == "warm"]
        cold = [(s.from_s, s.to_s, -s.peak_c, s.ongoing) for s in spells if s.side == "cold"]
        assert warm == slow_find(t, temp, 7.0, *limits)
        assert cold == slow_find(t, [-value for value in temp], -2.0, *limits)
        assert [s.from_s for s in spells] == sorted(s.from_s for s in spells)
        found += len(spells)
    assert found > 500


def test_a_spell_still_running_says_so():
    """The last reading is warm: the spell ends there for now, and is marked as going on."""
    log = Readings.of([0, 900, 1800], [4.0, 9.0, 11.0])
    assert find(log, 8.0) == [Excursion(900, 1800, 11.0, "warm", ongoing=True)]
    assert find(log, 8.0, least_s=901) == []


def test_between_the_levels_nothing_starts_and_nothing_ends():
    """7.5 °C under a limit of 8 with 1 K of hysteresis neither opens nor closes a spell."""
    stamps = range(0, 7 * 900, 900)
    log = Readings.of(stamps, [7.5, 7.5, 8.1, 7.5, 7.1, 7.0, 7.5])
    assert find(log, 8.0) == [Excursion(1800, 4500, 8.1, "warm")]


def test_faulty_values_make_no_spell():
    """NaN and fault codes are no readings; no readings, no spells."""
    log = Readings.of([0, 900, 1800, 2700], [4.0, 85.0, NAN, 4.0], flag=[0, FAULT_CODE, 0, 0])
    assert find(log, 8.0, least_s=0) == []
    assert find(EMPTY, 8.0) == []


def logged_spell(hours_warm, warm_c=21.0):
    """Return ten cold hours, some warm ones, and four cold days, each 15 minutes."""
    n = hours_warm * 4
    temp = [4.0] * 40 + [warm_c] * n + [4.0] * 400
    return Readings.of(range(0, len(temp) * 900, 900), temp)


def test_days_lost_without_lag_is_the_life_in_the_spell_beyond_the_set_point():
    """Warm hours at the warm rate, and half of the last step down, less the set-point's rate."""
    log = logged_spell(24)
    [spell] = find(log, 8.0)
    warm, cold = rate(21.0, 10.0, 85e3), rate(4.0, 10.0, 85e3)
    expected = (23.75 * (warm - cold) + 0.25 * (warm - cold) / 2) / 24
    assert days_lost(spell, log, COLD, 10.0, 85e3) == pytest.approx(expected, rel=1e-9)


def test_a_thick_roll_sleeps_through_a_defrost_and_pays_after_a_long_spell():
    """An hour costs a roll little of what it costs the air; a long spell is paid late."""
    short, long = logged_spell(1), logged_spell(72)
    for log, low, high in ((short, 0.0, 0.6), (long, 0.9, 1.1)):
        [spell] = find(log, 8.0)
        share = days_lost(spell, log, COLD, 10.0, 85e3, 10_000.0) / days_lost(
            spell, log, COLD, 10.0, 85e3
        )
        assert low < share < high
    [spell] = find(long, 8.0)
    before_the_end = Excursion(spell.from_s, spell.to_s, spell.peak_c, "warm", ongoing=True)
    running = days_lost(before_the_end, long, COLD, 10.0, 85e3, 10_000.0)
    assert running < days_lost(spell, long, COLD, 10.0, 85e3, 10_000.0)


def test_days_lost_needs_something_to_compare_with_and_is_never_a_gain():
    """No set-point: the limit; neither: refused. A cold spell costs nothing."""
    log = logged_spell(24)
    [spell] = find(log, 8.0)
    by_limit = days_lost(spell, log, PlaceClimate(None, 8.0), 10.0, 85e3)
    assert 0 < by_limit < days_lost(spell, log, COLD, 10.0, 85e3)
    with pytest.raises(ValueError, match="set-point"):
        days_lost(spell, log, PlaceClimate(), 10.0, 85e3)
    frozen = logged_spell(24, -10.0)
    [spell] = find(frozen, 8.0, 2.0)
    assert (spell.side, spell.peak_c) == ("cold", -10.0)
    assert days_lost(spell, frozen, COLD, 10.0, 85e3) == 0.0


def test_a_guessed_spell_has_its_worst_shape_and_no_gap():
    """Straight up, held until found; what was assumed is flagged, and life counts it as filled."""
    spell = guessed(0, 4.0, 60 * HOUR, 16.0, 19.0, 5.0)
    assert spell.temp_c[[0, 1, -3, -2, -1]].tolist() == [4.0, 19.0, 19.0, 16.0, 5.0]
    assert max(b - a for a, b in zip(spell.t_s, spell.t_s[1:], strict=False)) <= 900
    assert [bool(bits & FILLED) for bits in spell.flag[[0, 1, -3, -2, -1]]] == [
        False,
        True,
        True,
        False,
        False,
    ]
    used = used_life(spell, 0, 60 * HOUR, COLD, 10.0, Scenario(85e3))
    assert used.days == pytest.approx(2.5 * rate(19.0, 10.0, 85e3), rel=1e-4)
    assert used.filled_share == 1.0
    assert find(spell, 8.0) == [Excursion(1, 60 * HOUR + 1, 19.0, "warm")]


@pytest.mark.parametrize("length_s", [2, 3, 900, 901, 902, 903, 1801, 1802, 1803, 100_000])
def test_a_guessed_spell_of_any_length_rises_in_time(length_s):
    """From two seconds on, stamps rise, steps stay small and no stamp lies outside the spell."""
    spell = guessed(100, 4.0, 100 + length_s, 12.0)
    steps = [b - a for a, b in zip(spell.t_s, spell.t_s[1:], strict=False)]
    assert 0 < min(steps) <= max(steps) <= 900
    assert (spell.t_s[0], spell.t_s[-1]) == (100, 100 + length_s)
    assert spell.temp_c.max() == 12.0


def test_a_guess_never_takes_less_than_was_seen():
    """A maximum typed below what was seen does not cool the guess."""
    assert guessed(0, 4.0, 900, 15.0, 9.0).temp_c[1] == 15.0


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: find(EMPTY, NAN),
        lambda: find(EMPTY, 8.0, 9.0),
        lambda: find(EMPTY, 8.0, NAN),
        lambda: find(EMPTY, 8.0, hysteresis_k=-1.0),
        lambda: find(EMPTY, 8.0, least_s=NAN),
        lambda: guessed(10, 4.0, 11, 12.0),
        lambda: guessed(10, 4.0, 5, 12.0),
        lambda: guessed(0, 4.0, 900, NAN),
        lambda: guessed(0, 4.0, 900, 12.0, math.inf),
    ],
)
def test_what_cannot_be_is_refused(impossible):
    """Each slip ends in a ValueError that can be read."""
    with pytest.raises(ValueError) as caught:
        impossible()
    assert len(str(caught.value).split()) > 4


def test_two_spells_close_together_cost_no_more_than_the_time_they_took():
    """A thick roll is still warm when the next spell starts: that warmth counts once."""
    quarter = np.arange(0, 4 * 86_400, 900)
    temp_c = np.full(len(quarter), 4.0)
    for begin in (10, 18):
        temp_c[(quarter >= begin * 3600) & (quarter < (begin + 6) * 3600)] = 21.0
    log = Readings.of(quarter, temp_c)
    place, tau_s = PlaceClimate(4.0, 8.0), 9_600.0
    first, second = find(log, 8.0, merge_s=0.0)
    alone = [
        days_lost(spell, log, place, 10.0, 85e3, tau_s, until_s=until_s)
        for spell, until_s in ((first, second.from_s), (second, math.inf))
    ]
    lag = Lag(tau_s, 4.0)
    end_s = second.to_s + 6 * tau_s
    both = used_life(log, first.from_s, end_s, place, 10.0, Scenario(85e3), lag=lag).days
    both -= rate(4.0, 10.0, 85e3) * (end_s - first.from_s) / 86_400
    assert 0.8 * both < sum(alone) <= both
    assert days_lost(first, log, place, 10.0, 85e3, tau_s) > alone[0]
