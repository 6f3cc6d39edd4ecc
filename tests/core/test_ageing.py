"""Used life agrees with a slow loop written from the rules, and keeps to its bounds."""

import math
import random
from itertools import pairwise

import numpy as np
import pytest
from support.history import StayClimate, history_courses, history_used

from stockroom.core.climate.ageing import (
    Lag,
    Scenario,
    Used,
    life_by_piece,
    mean_kinetic_temp_c,
    rate,
    used_life,
)
from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.readings import EMPTY, FAULT_CODE, JUMP, OUT_OF_RANGE, Readings

DAY = 86_400
NAN = float("nan")

# ---- the slow loop: one reading at a time, its own constants, no code of the package ----


def slow_rate(temp_c, label_c, energy):
    exponent = -energy / 8.314462618 * (1 / (temp_c + 273.15) - 1 / (label_c + 273.15))
    return max(0.05, math.exp(exponent))


def slow_pieces(rows, a, b, set_c, high_c, gaps, offset):
    """Return pieces (start, end, from, to, bridged, filled); rows are (stamp, temp, absent)."""
    good = [(t, temp + offset) for t, temp, absent in rows if temp == temp and not absent]
    if a == b:
        return []
    if not good:
        return slow_fill(a, b, a, b, None, None, set_c, high_c, gaps)
    steps = sorted(later[0] - one[0] for one, later in pairwise(good))
    half = len(steps) // 2
    median = 0 if not steps else (steps[half] + steps[-half - 1]) / 2
    longest = max(2.5 * median, 1800)
    pieces = []
    if a < good[0][0]:
        end = min(b, good[0][0])
        pieces += slow_fill(a, end, a, end, None, good[0][1], set_c, high_c, gaps)
    for (t0, c0), (t1, c1) in pairwise(good):
        lo, hi = max(a, t0), min(b, t1)
        if lo >= hi:
            continue
        is_gap = t1 - t0 > longest
        if is_gap and not (t1 - t0 <= 7200 and abs(c1 - c0) <= 2.0):
            pieces += slow_fill(lo, hi, t0, t1, c0, c1, set_c, high_c, gaps)
            continue
        from_c = c0 + (c1 - c0) * (lo - t0) / (t1 - t0)
        to_c = c0 + (c1 - c0) * (hi - t0) / (t1 - t0)
        pieces.append((lo, hi, from_c, to_c, is_gap, False))
    if b > good[-1][0]:
        t, c = good[-1]
        pieces += slow_fill(max(a, t), b, t, b, c, None, set_c, high_c, gaps)
    return pieces


def slow_fill(lo, hi, g0, g1, before, after, set_c, high_c, gaps):
    known = [value for value in (before, after) if value is not None]

    def likely(t):
        if set_c is not None:
            return set_c
        if len(known) == 2:
            return before + (after - before) * (t - g0) / (g1 - g0)
        return known[0] if known else 21.0

    if gaps == "likely":
        return [(lo, hi, likely(lo), likely(hi), True, True)]
    if gaps == "best":
        held = set_c if set_c is not None else min(known) if known else 21.0
        return [(lo, hi, held, held, True, True)]
    usual = set_c if set_c is not None else max(known) if known else 21.0
    if len(known) < 2 and g1 - g0 > 259_200:
        held = usual + 2.0 if high_c is None else max(high_c, usual)
        return [(lo, hi, held, held, True, True)]
    pieces = []
    start = before if before is not None else likely(g0)
    end = 28.0 if set_c is None else max(28.0, set_c)

    def warming(t):
        return max(end + (start - end) * math.exp(-(t - g0) / 36_000), likely(t))

    stop = min(hi, g0 + 259_200)
    t = lo
    while t < stop:
        following = min(stop, g0 + 900 * (math.floor((t - g0) / 900) + 1))
        pieces.append((t, following, warming(t), warming(following), False, True))
        t = following
    if t < hi:
        held = usual if high_c is None else max(high_c, usual)
        pieces.append((t, hi, held, held, True, True))
    return pieces


def slow_inside(pieces, tau, core):
    """Return the pieces of a body of time constant tau in that air."""
    fine = []
    for t0, t1, c0, c1, bridged, filled in pieces:
        if not filled or t1 - t0 <= 900:
            fine.append((t0, t1, c0, c1, bridged, filled))
            continue
        t, cuts = t0, 0
        while t < t1:
            following = min(t1, t + 900) if cuts < math.ceil(12 * tau / 900) else t1
            low, high = (
                c0 + (c1 - c0) * (t - t0) / (t1 - t0),
                c0 + (c1 - c0) * (following - t0) / (t1 - t0),
            )
            fine.append((t, following, low, high, bridged, filled))
            t, cuts = following, cuts + 1
    inside = []
    for t0, t1, c0, c1, bridged, filled in fine:
        if core is None:
            core = c0
        b = (c1 - c0) / (t1 - t0)
        new = c1 - b * tau + (core - c0 + b * tau) * math.exp(-(t1 - t0) / tau)
        inside.append((t0, t1, core, new, bridged, filled))
        core = new
    return inside, core


def slow_life(pieces, label_c, energy):
    days = filled_days = filled_s = total_s = 0.0
    for t0, t1, c0, c1, bridged, filled in pieces:
        k0, k1 = slow_rate(c0, label_c, energy), slow_rate(c1, label_c, energy)
        if not bridged or abs(k1 - k0) < 1e-6 * k0:
            mean = (k0 + k1) / 2
        else:
            mean = (k1 - k0) / math.log(k1 / k0)
        days += mean * (t1 - t0) / DAY
        total_s += t1 - t0
        if filled:
            filled_days += mean * (t1 - t0) / DAY
            filled_s += t1 - t0
    return days, filled_days, filled_s / total_s if total_s else 0.0


# ---- random traces ----


def random_rows(rng):
    step = rng.choice([60, 300, 900, 900, 3600])
    level = rng.choice([-18.0, 4.0, 8.0, 16.0, 21.0])
    t, rows = rng.randrange(10**9), []
    for i in range(rng.choice([0, 1, 2, 3, 40, 150, 150, 300, 300, 400])):
        temp = round(level + 2 * math.sin(i / 9) + rng.gauss(0, 0.3), 1)
        if rng.random() < 0.03:
            temp = round(temp + rng.uniform(2, 15), 1)
        flag = JUMP if rng.random() < 0.02 else 0
        roll = rng.random()
        if roll < 0.03:
            temp = NAN
        elif roll < 0.05:
            temp, flag = rng.choice([85.0, -127.0]), rng.choice([FAULT_CODE, OUT_OF_RANGE])
        rows.append((t, temp, flag))
        t += step
        chance = rng.random()
        if chance < 0.02:
            t += rng.randrange(1800, 7200)
        elif chance < 0.025:
            t += rng.randrange(5 * DAY)
        elif chance < 0.1:
            t += rng.randrange(step)
    return rows


def random_stay(rng, rows):
    if not rows:
        start = rng.randrange(10**9)
        return start, start + rng.randrange(8 * DAY)
    first, last = rows[0][0], rows[-1][0]
    before = rng.choice([0, 0, 0, 3600, 2 * DAY, 9 * DAY])
    after = rng.choice([0, 0, 0, 3600, 9 * DAY])
    low, high = first - before, last + after + 1
    if rng.random() < 0.05:
        low, high = last + 1, last + 6 * DAY
    a = rng.randrange(low, high)
    return a, rng.randrange(a, high)


def random_place(rng):
    set_c = rng.choice([None, -18.0, 4.0, 21.0, 30.0])
    high_c = rng.choice([None, 8.0, 25.0])
    return set_c, high_c


def as_readings(rows):
    return Readings.of(
        [t for t, _, _ in rows], [c for _, c, _ in rows], flag=[bits for _, _, bits in rows]
    )


def as_slow(rows):
    return [(t, c, bool(bits & (FAULT_CODE | OUT_OF_RANGE))) for t, c, bits in rows]


def close(used, expected):
    return np.allclose(used, expected, rtol=1e-9, atol=1e-15)


@pytest.mark.parametrize("gaps", ["likely", "best", "worst"])
@pytest.mark.parametrize("lags", [False, True])
def test_used_life_is_that_of_the_slow_loop_on_random_stays(gaps, lags):
    """100 random stays a policy, with and without lag: 600 in all, each to 1e-9."""
    rng = random.Random(f"{gaps} {lags}")
    kinds = {"filled": 0, "measured": 0, "bridged": 0}
    for _ in range(100):
        rows = random_rows(rng)
        a, b = random_stay(rng, rows)
        set_c, high_c = random_place(rng)
        label_c, energy = rng.choice([4.0, 10.0, 21.0]), rng.choice([60e3, 85e3, 120e3])
        offset = rng.choice([-0.5, 0.0, 0.5])
        lag = Lag(rng.choice([600.0, 3600.0, 25_000.0]), rng.choice([None, 4.0, 21.0]))

        pieces = slow_pieces(as_slow(rows), a, b, set_c, high_c, gaps, offset)
        if lags:
            pieces, _ = slow_inside(pieces, lag.tau_s, lag.start_c)
        expected = slow_life(pieces, label_c, energy)
        used = used_life(
            as_readings(rows),
            a,
            b,
            PlaceClimate(set_c, high_c),
            label_c,
            Scenario(energy, offset, gaps),
            lag=lag if lags else None,
        )
        assert close(used, expected), (used, expected)
        kinds["filled"] += used.filled_share > 0
        kinds["measured"] += used.filled_share < 1 and b > a
        kinds["bridged"] += any(piece[4] and not piece[5] for piece in pieces)
    assert min(kinds.values()) >= 10, kinds


@pytest.mark.parametrize("gaps", ["likely", "worst"])
def test_a_history_carries_the_inside_temperature_like_the_slow_loop(gaps):
    """Stays in several places, logged and not, in one chain: the core goes from one to the next."""
    rng = random.Random(gaps)
    for _ in range(25):
        tau, offset = rng.choice([900.0, 10_000.0]), rng.choice([0.0, 0.5])
        stays, expected, core, t = [], [], None, None
        for _ in range(4):
            rows = random_rows(rng)
            a, b = random_stay(rng, rows)
            shift = 0 if t is None else t - a
            rows = [(stamp + shift, c, bits) for stamp, c, bits in rows]
            a, b = a + shift, b + shift
            t = b
            set_c, high_c = random_place(rng)
            stays.append(StayClimate(a, b, as_readings(rows), PlaceClimate(set_c, high_c)))
            pieces = slow_pieces(as_slow(rows), a, b, set_c, high_c, gaps, offset)
            pieces, core = slow_inside(pieces, tau, core)
            expected.append(slow_life(pieces, 10.0, 85e3))
        assert close(history_used(stays, 10.0, Scenario(85e3, offset, gaps), tau), expected)


def test_without_lag_a_history_is_its_stays_exactly():
    """With a time constant of zero each stay gives what it gives alone, to the last bit."""
    rng = random.Random(8)
    rows = random_rows(random.Random(3))
    scenario = Scenario(85e3, 0.5, "worst")
    stays, t = [], 0
    for _ in range(5):
        length = rng.randrange(1, 5 * DAY)
        place = PlaceClimate(rng.choice([4.0, 21.0]), 25.0)
        stays.append(StayClimate(t, t + length, rng.choice([EMPTY, as_readings(rows)]), place))
        t += length
    alone = [used_life(s.readings, s.from_s, s.to_s, s.place, 10.0, scenario) for s in stays]
    assert history_used(stays, 10.0, scenario) == alone


def test_a_cold_roll_carried_out_ages_less_and_put_back_ages_more():
    """Lag moves life from the two hours outside to the hours after, as a thick roll does."""
    room, cold = PlaceClimate(21.0), PlaceClimate(4.0)
    stays = [
        StayClimate(0, DAY, EMPTY, cold),
        StayClimate(DAY, DAY + 7200, EMPTY, room),
        StayClimate(DAY + 7200, 3 * DAY, EMPTY, cold),
    ]
    air = [used.days for used in history_used(stays, 10.0, Scenario(85e3))]
    roll = [used.days for used in history_used(stays, 10.0, Scenario(85e3), tau_s=10_000)]
    warmest = 21 - 17 * math.exp(-0.72)

    def days(hours, curve):
        """Sum the rate along a curve at the middle of every ten seconds."""
        middles = range(5, hours * 3600, 10)
        return sum(slow_rate(curve(t), 10.0, 85e3) * 10 / DAY for t in middles)

    out = days(2, lambda t: 21 - 17 * math.exp(-t / 10_000))
    back = days(46, lambda t: 4 + (warmest - 4) * math.exp(-t / 10_000))
    assert roll == pytest.approx([air[0], out, back], rel=2e-3)
    assert out < 0.6 * air[1]
    assert back > air[2] + 0.08
    courses = history_courses(stays, tau_s=10_000)
    assert courses[1].to_c[-1] == courses[2].from_c[0] == pytest.approx(warmest)
    assert courses[2].to_c[-1] == pytest.approx(4.0, abs=1e-4)


def test_the_policies_are_in_order_and_part_stays_add_up():
    """Best is never above likely nor likely above worst; life measured adds over a split stay."""
    rng = random.Random(5)
    for _ in range(150):
        rows = random_rows(rng)
        a, b = random_stay(rng, rows)
        place = PlaceClimate(*random_place(rng))
        readings = as_readings(rows)
        best, likely, worst = (
            used_life(readings, a, b, place, 10.0, Scenario(85e3, 0.0, gaps))
            for gaps in ("best", "likely", "worst")
        )
        assert best.days <= likely.days * (1 + 1e-12)
        assert likely.days <= worst.days * (1 + 1e-4)  # a straight gap: logarithm or fine grid
        assert best.filled_share == likely.filled_share == worst.filled_share
        measured = [used.days - used.filled_days_of_life for used in (best, likely, worst)]
        assert max(measured) - min(measured) <= 1e-9 * max(1.0, worst.days)


def test_what_was_filled_is_told_apart():
    """A day logged and a day not: half the time, and only its own life, counts as filled."""
    readings = Readings.of(range(0, DAY + 1, 900), [10.0] * 97)
    used = used_life(readings, 0, 2 * DAY, PlaceClimate(10.0), 10.0, Scenario(85e3))
    assert used == Used(pytest.approx(2.0), pytest.approx(1.0), 0.5)


def test_a_short_gap_is_bridged_and_a_long_one_re_warms():
    """Two hours are bridged; three are a power cut in the worst case only."""
    place = PlaceClimate(4.0, 8.0)
    short = Readings.of([*range(0, 9001, 900), *range(16_200, 30_000, 900)], [5.0] * 27)
    long = Readings.of([*range(0, 9001, 900), *range(19_801, 33_000, 900)], [5.0] * 26)
    for gaps in ("likely", "best", "worst"):
        scenario = Scenario(85e3, 0.0, gaps)
        assert used_life(short, 0, 27_000, place, 5.0, scenario).days == pytest.approx(27 / 86.4)
    likely = used_life(long, 0, 19_801, place, 5.0, Scenario(85e3))
    worst = used_life(long, 0, 19_801, place, 5.0, Scenario(85e3, 0.0, "worst"))
    assert likely.filled_share == worst.filled_share == pytest.approx(10_801 / 19_801)
    assert worst.days > 1.2 * likely.days
    warmest = believed(long, 0, 19_801, place, "worst").to_c.max()
    assert warmest == pytest.approx(28 - 23 * math.exp(-10_801 / 36_000))


def test_a_power_cut_lasts_three_days_and_an_unlogged_place_has_none():
    """After three days the upper limit holds; a place never logged is at its limit throughout."""
    place = PlaceClimate(4.0, 8.0)
    readings = Readings.of([0, 900, 1800, 10 * DAY, 10 * DAY + 900], [4.0] * 5)
    course = believed(readings, 1800, 10 * DAY, place, "worst")
    curve = course.length_s <= 900
    assert course.length_s[curve].sum() == 3 * DAY
    assert 27.9 < course.to_c[curve].max() < 28
    assert list(course.to_c[~curve]) == [8.0]
    for log, stay in ((EMPTY, (0, 4 * DAY)), (readings, (12 * DAY, 14 * DAY))):
        assert set(believed(log, *stay, place, "worst").to_c) == {8.0}
        assert set(believed(log, *stay, PlaceClimate(4.0), "worst").to_c) == {6.0}
    assert believed(EMPTY, 0, DAY, place, "worst").to_c[-1] > 20


def test_a_warm_place_does_not_cool_in_a_power_cut():
    """Where the set-point is above the re-warming temperature, the set-point counts."""
    course = believed(EMPTY, 0, DAY, PlaceClimate(32.0), "worst")
    assert set(course.to_c) == {32.0}


def test_a_sensor_offset_moves_readings_and_no_set_point():
    """Half a degree more on the readings; a filled day stays as it is."""
    readings = Readings.of(range(0, DAY + 1, 900), [4.0] * 97)
    warm = Scenario(85e3, 0.5)
    measured = used_life(readings, 0, DAY, PlaceClimate(4.0), 10.0, warm)
    filled = used_life(EMPTY, 0, DAY, PlaceClimate(4.0), 10.0, warm)
    assert measured.days == pytest.approx(rate(4.5, 10.0, 85e3))
    assert filled.days == pytest.approx(rate(4.0, 10.0, 85e3))


def test_the_rate_is_one_at_the_label_and_never_below_the_floor():
    """Exactly 1 at the label's temperature, 0.05 deep in the cold, arrays and numbers alike."""
    for energy in (20e3, 85e3, 250e3):
        assert rate(10.0, 10.0, energy) == 1.0
    assert rate(-40.0, 10.0, 85e3) == 0.05
    assert 0 < rate(-40.0, 10.0, 85e3, 0.0) < 0.01
    both = rate(np.array([10.0, 21.0]), 10.0, 85e3)
    assert list(both) == [1.0, rate(21.0, 10.0, 85e3)]


def test_life_by_piece_runs_up_to_the_whole():
    """The picture of used life over time ends at the figure that is told."""
    readings = Readings.of(range(0, DAY, 900), np.linspace(4, 21, 96))
    course = believed(readings, -DAY, 2 * DAY, PlaceClimate(4.0), "worst")
    used = used_life(readings, -DAY, 2 * DAY, PlaceClimate(4.0), 10.0, Scenario(85e3, 0.0, "worst"))
    days = life_by_piece(course, 10.0, 85e3)
    assert np.cumsum(days)[-1] == pytest.approx(used.days, rel=1e-12)
    assert np.all(days > 0)
    assert np.all(course.start_s[1:] == course.start_s[:-1] + course.length_s[:-1])


def test_mean_kinetic_temperature_ignores_what_weighs_nothing():
    """A temperature that held for no time changes nothing, however warm."""
    assert mean_kinetic_temp_c([4.0, 90.0], [1.0, 0.0]) == pytest.approx(4.0, abs=1e-12)
    assert mean_kinetic_temp_c([-200.0, 60.0], [1e9, 1e-9], 250e3) < 60


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: rate(10.0, 10.0, 19e3),
        lambda: rate(10.0, 10.0, 251e3),
        lambda: rate(NAN, 10.0, 85e3),
        lambda: rate(np.array([4.0, NAN]), 10.0, 85e3),
        lambda: rate(10.0, NAN, 85e3),
        lambda: rate(-300.0, 10.0, 85e3),
        lambda: rate(10.0, 10.0, NAN),
        lambda: rate(10.0, 10.0, 85e3, -1.0),
        lambda: Scenario(10e3),
        lambda: Scenario(85e3, NAN),
        lambda: Scenario(85e3, 0.0, "hope"),  # type: ignore[arg-type]
        lambda: PlaceClimate(NAN),
        lambda: PlaceClimate(4.0, math.inf),
        lambda: used_life(EMPTY, 10, 9, PlaceClimate(4.0), 10.0, Scenario(85e3)),
        lambda: used_life(EMPTY, NAN, 9, PlaceClimate(4.0), 10.0, Scenario(85e3)),
        lambda: used_life(EMPTY, 0, 9, PlaceClimate(4.0), 10.0, Scenario(85e3), lag=Lag(-1.0)),
        lambda: used_life(EMPTY, 0, 9, PlaceClimate(4.0), NAN, Scenario(85e3)),
        lambda: mean_kinetic_temp_c([]),
        lambda: mean_kinetic_temp_c([4.0, NAN]),
        lambda: mean_kinetic_temp_c([4.0, 5.0], [1.0]),
        lambda: mean_kinetic_temp_c([4.0, 5.0], [0.0, 0.0]),
        lambda: mean_kinetic_temp_c([4.0, 5.0], [2.0, -1.0]),
        lambda: mean_kinetic_temp_c([4.0], None, 83_144.0, 0.0),
        lambda: history_used(
            [StayClimate(0, 10, EMPTY, PlaceClimate()), StayClimate(9, 20, EMPTY, PlaceClimate())],
            10.0,
            Scenario(85e3),
        ),
    ],
)
def test_impossible_input_is_refused_in_a_plain_sentence(impossible):
    """Each slip ends in a ValueError that can be read."""
    with pytest.raises(ValueError) as caught:
        impossible()
    assert len(str(caught.value).split()) > 4


def test_a_stay_of_no_length_uses_nothing():
    """Start and end at one instant: no life, nothing filled."""
    for lag in (None, Lag(3600.0)):
        used = used_life(EMPTY, 5, 5, PlaceClimate(4.0), 10.0, Scenario(85e3), lag=lag)
        assert used == Used(0.0, 0.0, 0.0)
