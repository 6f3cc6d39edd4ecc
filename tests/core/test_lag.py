"""The lag of a roll is the exact first-order answer; conduction bears out its time constant."""

import math
import random

import numpy as np
import pytest

from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.lag import inside, time_constant_s
from stockroom.core.climate.readings import EMPTY, Readings

NAN = float("nan")

PAPER_MM, CORE_MM, CONDUCTIVITY, HEAT_CAPACITY = 0.24, 89.0, 0.14, 1.54e6


def hours_by_finite_volumes(length_m, h, rings=60, step_s=60.0):
    """Return the hours until the innermost wrap has come from 17 K to 2 K of its air.

    Rings of a hollow cylinder, closed inside, heat passing in and out through the outer face;
    fully implicit in time.
    """
    rc = CORE_MM / 2000
    r = math.sqrt(rc**2 + length_m * PAPER_MM / 1000 / math.pi)
    edge = np.linspace(rc, r, rings + 1)
    middle = (edge[1:] + edge[:-1]) / 2
    width = (r - rc) / rings
    volume = np.pi * (edge[1:] ** 2 - edge[:-1] ** 2)
    between = 2 * np.pi * edge[1:-1] * CONDUCTIVITY / width
    outer = 2 * np.pi * r / (1 / h + (r - middle[-1]) / CONDUCTIVITY)
    flow = np.zeros((rings, rings))
    for i, conductance in enumerate(between):
        flow[i, i] += conductance
        flow[i + 1, i + 1] += conductance
        flow[i, i + 1] -= conductance
        flow[i + 1, i] -= conductance
    flow[-1, -1] += outer
    stored = HEAT_CAPACITY * volume / step_s
    onward = np.linalg.inv(np.diag(stored) + flow) * stored
    difference, t = np.full(rings, 17.0), 0.0
    while difference[0] > 2.0:
        difference, t = onward @ difference, t + step_s
    return t / 3600


@pytest.mark.parametrize("length_m", [15, 30, 50, 84])
@pytest.mark.parametrize("h", [3.0, 5.0, 8.0])
def test_time_constant_agrees_with_conduction_in_a_wound_roll(length_m, h):
    """tau ln(1.2 x 17/2) is the time to come from 17 K to 2 K, within 15 % of finite volumes."""
    tau = time_constant_s(length_m * 10_000, 12_700, h=h)
    told_h = tau * math.log(17 * 1.2 / 2) / 3600
    assert told_h == pytest.approx(hours_by_finite_volumes(length_m, h), rel=0.15)


@pytest.mark.parametrize(("length_m", "series_h"), [(15, 2.2), (30, 4.3), (50, 6.9), (84, 11.2)])
def test_finite_volumes_and_time_constant_agree_with_an_eigen_series(length_m, series_h):
    """The same hours from a third method, an eigen-function series worked out separately."""
    assert hours_by_finite_volumes(length_m, 5.0) == pytest.approx(series_h, abs=0.1)
    tau = time_constant_s(length_m * 10_000, 12_700)
    assert tau * math.log(17 * 1.2 / 2) / 3600 == pytest.approx(series_h, rel=0.15)


def test_a_wide_roll_has_the_side_formula_and_a_narrow_one_is_faster():
    """Without ends: rho_c (r2 - rc2) / 2r (1/h + (r - rc)/3k); ends count only on narrow rolls."""
    rc = CORE_MM / 2000
    r = math.sqrt(rc**2 + 50 * PAPER_MM / 1000 / math.pi)
    side = HEAT_CAPACITY * (r**2 - rc**2) / (2 * r) * (1 / 5 + (r - rc) / (3 * CONDUCTIVITY))
    assert time_constant_s(500_000, 1e9) == pytest.approx(side, rel=1e-4)
    assert time_constant_s(500_000, 12_700) == pytest.approx(side, rel=0.02)
    assert time_constant_s(500_000, 2_000) < 0.9 * side
    assert time_constant_s(0, 12_700) == 0.0


def slow_core(t, air, tau, start):
    core = [start]
    for i in range(1, len(t)):
        b = (air[i] - air[i - 1]) / (t[i] - t[i - 1])
        fall = math.exp(-(t[i] - t[i - 1]) / tau)
        core.append(air[i] - b * tau + (core[-1] - air[i - 1] + b * tau) * fall)
    return core


@pytest.mark.parametrize("tau", [0.01, 30.0, 900.0, 10_000.0, 3e6])
@pytest.mark.parametrize("start", [None, -18.0])
def test_inside_is_the_exact_step_at_every_reading(tau, start):
    """Uneven steps, time constants far below and far above them, one step at a time."""
    rng = random.Random(4)
    t = np.cumsum([rng.choice([60, 600, 600, 601]) for _ in range(1500)])
    air = np.array([4 + rng.gauss(0, 2) for _ in t])
    course = believed(Readings.of(t, air), int(t[0]), int(t[-1]), PlaceClimate(4.0))
    core, _ = inside(course, tau, start)
    expected = slow_core(t.tolist(), air.tolist(), tau, air[0] if start is None else start)
    # the slow form subtracts b tau from itself, which costs it digits where tau is long
    assert np.allclose(core.to_c, expected[1:], rtol=0, atol=max(1e-11, 1e-14 * tau))


def test_inside_a_filled_place_is_the_exponential_and_ends_in_its_air():
    """A cold roll in an unlogged room for a month: the curve while it bends, the room after."""
    air = believed(EMPTY, 0, 30 * 86_400, PlaceClimate(21.0))
    body, end_c = inside(air, 7200.0, 4.0)
    stamp = body.start_s + body.length_s
    assert body.to_c == pytest.approx(21 - 17 * np.exp(-stamp / 7200), abs=1e-12)
    assert body.length_s.sum() == 30 * 86_400
    assert np.all(body.length_s[:-1] == 900)
    assert 21 - body.from_c[-1] < 1.1e-4
    assert end_c == pytest.approx(21.0, abs=1e-12)


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: time_constant_s(-1, 12_700),
        lambda: time_constant_s(NAN, 12_700),
        lambda: time_constant_s(500_000, 0),
        lambda: time_constant_s(500_000, 12_700, h=0.0),
        lambda: time_constant_s(500_000, 12_700, caliper_mm=NAN),
        lambda: inside(believed(EMPTY, 0, 60, PlaceClimate(21.0)), -1.0),
        lambda: inside(believed(EMPTY, 0, 60, PlaceClimate(21.0)), math.inf),
        lambda: inside(believed(EMPTY, 0, 60, PlaceClimate(21.0)), 60.0, NAN),
        lambda: inside(believed(EMPTY, 0, 0, PlaceClimate(21.0)), 60.0),
    ],
)
def test_sizes_that_cannot_be_are_refused(impossible):
    """Each slip ends in a ValueError that can be read."""
    with pytest.raises(ValueError) as caught:
        impossible()
    assert len(str(caught.value).split()) > 4
