"""Warm-up agrees with published hours, textbook roots and a heat balance written out in cells."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray
from support.warmth import temperature_at

from stockroom.core.climate.moisture import dew_point
from stockroom.core.climate.probe import fit_surface_coefficient
from stockroom.core.climate.warmup import Pack, Package, modes, warm_up
from stockroom.core.constants import (
    READY_WITHIN,
    ROLL_CONDUCTIVITY,
    ROLL_CONDUCTIVITY_ALONG,
    ROLL_HEAT_CAPACITY,
    STACKED_TIME,
    WARM_UP_COEFFICIENT,
)

Floats = NDArray[np.float64]

ROOM_C = 21.0
DRY = dew_point(ROOM_C, 30.0)
FAST, SLOW = 8.0, 3.0
"""Still air with radiation and a carton, W/(m2 K)."""


def ready_h(package: Package | Pack, from_c: float, h: float) -> float:
    """Hours until the core is within 2 K of 21 °C."""
    return warm_up(package, from_c, ROOM_C, DRY, h=h).ready_s / 3_600


def hours_to(package: Package | Pack, share_left: float, h: float) -> float:
    """Hours until so much of the first difference is left at the core, from the course itself."""
    t_s = np.arange(0, 12 * 3_600, 60.0)
    core_c, _ = temperature_at(package, 0.0, 1.0, h, t_s)
    return float(np.interp(1 - share_left, core_c, t_s)) / 3_600


# Data sheet of a Kodak display material on a 0.18 mm polyester base for process RA-4 (secondary,
# one copy): "Warm-Up Times (Hours) to Reach Room Temperature of 70 °F (21 °C)", in whole hours,
# from 0, 35 and 55 °F. Ours: wound at 0.2 mm on a 3 inch core; "reached" is within 2 K, which is
# when this program calls a roll ready; half an hour for the rounding of the sheet.
FROM_C = (-18.0, 2.0, 13.0)
ROUNDING_H = 0.5


@pytest.mark.parametrize(
    ("width_in", "hours"),
    [(40, (9, 7, 5)), (30, (8, 6, 4))],
)
def test_hundred_foot_rolls_lie_between_slow_and_fast_air(
    width_in: int, hours: tuple[int, ...]
) -> None:
    roll = Package(100 * 3_048, width_in * 254, 0.2)
    for from_c, published_h in zip(FROM_C, hours, strict=True):
        assert ready_h(roll, from_c, FAST) - ROUNDING_H <= published_h
        assert published_h <= ready_h(roll, from_c, SLOW) + ROUNDING_H


@pytest.mark.parametrize(
    "wrong", [Package(304_800, 10_160, 0.2, wall_mm=0), Package(304_800, 10_160, 0.2, wall_mm=44.5)]
)
def test_neither_without_its_tube_nor_full_of_paper_would_a_roll_fit(wrong: Package) -> None:
    # The same sheet, 40 in roll, 9 hours from 0 °F: why the tube counts as paper and its bore as
    # closed.
    slow_h, fast_h = ready_h(wrong, -18.0, SLOW), ready_h(wrong, -18.0, FAST)
    assert not fast_h - ROUNDING_H <= 9 <= slow_h + ROUNDING_H


@pytest.mark.parametrize("size_in", [(8, 10), (16, 20)])
def test_boxes_of_fifty_sheets_lie_between_slow_and_fast_air(size_in: tuple[int, int]) -> None:
    # The same sheet: 3, 2 and 2 hours for a box of 50 sheets of either size. Needs a slab, 10 mm
    # thick, on a bench that closes its lower face.
    pack = Pack(50 * 0.2, size_in[0] * 25.4, size_in[1] * 25.4)
    for from_c, published_h in zip(FROM_C, (3, 2, 2), strict=True):
        assert ready_h(pack, from_c, FAST) - ROUNDING_H <= published_h
        assert published_h <= ready_h(pack, from_c, SLOW) + ROUNDING_H


def test_a_long_narrow_roll_is_on_the_safe_side() -> None:
    # The same sheet: 7, 5 and 3 hours for a roll of 3 1/2 in by 500 ft. Ours is slower, even in
    # fast air, by up to an hour.
    roll = Package(500 * 3_048, 889, 0.2)
    for from_c, published_h in zip(FROM_C, (7, 5, 3), strict=True):
        assert published_h < ready_h(roll, from_c, FAST) < published_h + 1
        assert published_h < ready_h(roll, from_c, WARM_UP_COEFFICIENT.value)


def test_film_cans_agree_with_one_fitted_coefficient() -> None:
    # Kodak motion-picture storage guide (secondary): 16 mm film 1 and 1.5 h, 35 mm film 3 and 5 h
    # for a rise of 14 and 55 K; room 70 ± 5 °F, so reached within 2.8 K. Sizes are common
    # practice: 122 m (400 ft) and 305 m (1000 ft) of 0.15 mm film on a 50 mm core. The hours are
    # rounded to halves. Nearly all the heat comes through the end faces.
    published = [(122, 16, 14, 1.0), (122, 16, 55, 1.5), (305, 35, 14, 3.0), (305, 35, 55, 5.0)]

    def misses(h: float) -> list[float]:
        return [
            hours_to(Package(10_000 * length_m, 10 * width_mm, 0.15, 50), 2.8 / rise_k, h) - hours
            for length_m, width_mm, rise_k, hours in published
        ]

    fitted = min(np.arange(3.0, 8.0, 0.5), key=lambda h: float(np.square(misses(h)).sum()))
    assert 4.5 <= fitted <= 5.5
    assert max(map(abs, misses(float(fitted)))) <= 0.6


def test_a_film_makers_rule_is_the_default_coefficient() -> None:
    # Kodak's rule for film, t = C V/A with C 100, 130, 180, 230 and 330 h a metre to 50, 60, 70,
    # 80 and 90 % of the way (quoted on the Conservation DistList, August 1993; secondary; rounded
    # to tens). A thin pack has no resistance inside; only its upper face is open to the air.
    thin = Pack(1.0, 2_000, 2_000)
    for share, hours_per_m in ((0.5, 100), (0.6, 130), (0.7, 180), (0.8, 230), (0.9, 330)):
        ours_h = hours_to(thin, 1 - share, WARM_UP_COEFFICIENT.value)
        assert ours_h == pytest.approx(0.001 * hours_per_m, rel=0.1)


def test_paper_from_a_refrigerator_is_not_hurried() -> None:
    # US Navy training manual NAVEDTRA 14262, p. 7-43 (secondary): 10 hours to overnight. A roll
    # of 50 m, 1.27 m wide, at the default coefficient asks for no less and still fits a night.
    for from_c in (2.0, 4.0):
        assert 10 <= ready_h(Package(500_000, 12_700), from_c, WARM_UP_COEFFICIENT.value) <= 16
    # Shorter rolls are ready sooner by day, and the manual's night covers them.
    assert ready_h(Package(150_000, 12_700), 4.0, WARM_UP_COEFFICIENT.value) <= 10


def test_stacked_boxes_take_half_as_long_again() -> None:
    # A paper supplier's page (secondary): 15 h alone and 23 h stacked, from 5 to 20 °C, both in
    # whole hours.
    assert 22.5 / 15.5 < STACKED_TIME.value < 23.5 / 14.5
    alone = warm_up(Package(500_000, 12_700), 5.0, 20.0, dew_point(20.0, 50.0))
    stack = warm_up(Package(500_000, 12_700), 5.0, 20.0, dew_point(20.0, 50.0), stacked=True)
    assert 22.5 / 15.5 < stack.ready_s / alone.ready_s < 23.5 / 14.5


@pytest.mark.parametrize(
    ("biot", "root", "constant"),
    [(0.1, 0.4417, 1.0246), (1.0, 1.2558, 1.2071), (10.0, 2.1795, 1.5677), (100.0, 2.3809, 1.6015)],
)
def test_first_root_and_constant_of_a_cylinder(biot: float, root: float, constant: float) -> None:
    # One-term solution of a long solid cylinder: Incropera, Fundamentals of Heat and Mass
    # Transfer, table 5.1 (from memory, four places); checked with SciPy's Bessel functions.
    from scipy.special import j0, j1

    zeta, at_axis, at_surface = modes(biot, 0.0)
    assert zeta[0] == pytest.approx(root, abs=6e-5)
    assert at_axis[0] == pytest.approx(constant, abs=6e-5)
    assert zeta * j1(zeta) == pytest.approx(biot * j0(zeta), abs=1e-9)
    assert at_surface == pytest.approx(at_axis * j0(zeta), rel=1e-9)
    assert np.all(np.diff(zeta) > 0)
    assert zeta[-1] < len(zeta) * math.pi  # one root between each two zeros of J1: none is missed


@pytest.mark.parametrize(
    ("biot", "root", "constant"),
    [(0.1, 0.3111, 1.0161), (1.0, 0.8603, 1.1191), (10.0, 1.4289, 1.2620), (100.0, 1.5552, 1.2731)],
)
def test_first_root_and_constant_of_a_slab(biot: float, root: float, constant: float) -> None:
    # The same table (from memory), plane wall.
    zeta, at_middle, _ = modes(biot, None)
    assert zeta[0] == pytest.approx(root, abs=6e-5)
    assert at_middle[0] == pytest.approx(constant, abs=6e-5)


def cells(
    radii_m: Floats | None,
    depth_m: float,
    half_width_m: float,
    h: float,
    air_c: Callable[[float], float],
    from_c: float,
    step_s: float,
    end_s: float,
    counts: tuple[int, int],
) -> tuple[Floats, Floats, Floats]:
    """A heat balance of cells, implicit in time: stamps, core and mid-surface temperature.

    `radii_m` holds the inner and outer radius of a roll; None is a flat pack of `depth_m`, closed
    below. The other direction runs from the middle to a face in the air at `half_width_m`.
    """
    from scipy.sparse import lil_matrix
    from scipy.sparse.linalg import splu

    n, m = counts
    first_m, last_m = (0.0, depth_m) if radii_m is None else radii_m.tolist()
    edge = np.linspace(first_m, last_m, n + 1)
    face = 2 * np.pi * edge if radii_m is not None else np.ones(n + 1)
    area = np.pi * np.diff(edge**2) if radii_m is not None else np.diff(edge)
    d, w = edge[1] - edge[0], half_width_m / m
    k, along = ROLL_CONDUCTIVITY.value, ROLL_CONDUCTIVITY_ALONG.value
    flow = lil_matrix((n * m, n * m))
    feed = np.zeros(n * m)

    def link(i: int, j: int, conductance: float) -> None:
        flow[i, i] += conductance
        flow[j, j] += conductance
        flow[i, j] -= conductance
        flow[j, i] -= conductance

    for r in range(n):
        for z in range(m):
            here = r * m + z
            if r + 1 < n:
                link(here, here + m, k * face[r + 1] * w / d)
            else:
                feed[here] += face[n] * w / (1 / h + d / 2 / k)
            if z + 1 < m:
                link(here, here + 1, along * area[r] / w)
            else:
                feed[here] += area[r] / (1 / h + w / 2 / along)
    stored = ROLL_HEAT_CAPACITY.value * np.repeat(area, m) * w
    for i, conductance in enumerate(feed):
        flow[i, i] += conductance
    flow = flow.tocsc()
    diagonal = lil_matrix((n * m, n * m))
    diagonal.setdiag(stored)
    diagonal = diagonal.tocsc()

    temp_c, t = np.full(n * m, from_c), 0.0
    stamps, core_c, surface_c = [], [], []
    # the first steps are fully implicit and short, so that the jump at the start dies out; the
    # rest is centred in time
    whole, start = splu(diagonal / step_s + flow / 2), splu(diagonal / (step_s / 16) + flow)
    while t < end_s - 1e-6:
        if t < 2 * step_s - 1e-6:
            t += step_s / 16
            temp_c = start.solve(stored * temp_c / (step_s / 16) + feed * air_c(t))
        else:
            drive = feed * (air_c(t) + air_c(t + step_s)) / 2
            temp_c = whole.solve(stored * temp_c / step_s - flow @ temp_c / 2 + drive)
            t += step_s
        outer_c = temp_c[(n - 1) * m]
        into = (air_c(t) - outer_c) / (1 / h + d / 2 / k)
        stamps.append(t)
        core_c.append(temp_c[0])
        surface_c.append(air_c(t) - into / h)
    return np.array(stamps), np.array(core_c), np.array(surface_c)


def radii(package: Package) -> Floats:
    paper_m2 = package.length_dmm / 1e4 * package.caliper_mm / 1e3
    outer_m = math.sqrt((package.core_mm / 2_000) ** 2 + paper_m2 / math.pi)
    return np.array([max(0.0, package.core_mm / 2 - package.wall_mm) / 1_000, outer_m])


@pytest.mark.parametrize("h", [3.0, 8.0, 30.0])
@pytest.mark.parametrize(
    ("package", "counts", "hours"),
    [
        (Package(500_000, 12_700), (100, 12), 16),  # a usual roll, cold in the middle
        (Package(3_050_000, 350, 0.15, 50), (150, 30), 6),  # a film can, warmed through its ends
        (Package(500_000, 3_000, core_mm=0), (100, 20), 10),  # without a core
    ],
)
def test_the_series_is_the_heat_balance_of_a_roll(
    package: Package, counts: tuple[int, int], hours: int, h: float
) -> None:
    # Mathematics: the same body cut into cells, with its ends, within 0.02 K at core and surface.
    t_s, core_c, surface_c = cells(
        radii(package), 0, package.width_dmm / 2e4, h, lambda _: 21.0, -18.0, 30.0, hours * 3_600,
        counts,
    )  # fmt: skip
    ours_core_c, ours_surface_c = temperature_at(package, -18.0, 21.0, h, t_s)
    later = t_s >= 300
    assert np.abs(ours_core_c - core_c).max() < 0.02
    assert np.abs(ours_surface_c - surface_c)[later].max() < 0.02


@pytest.mark.parametrize("h", [3.0, 8.0])
def test_the_series_is_the_heat_balance_of_a_pack(h: float) -> None:
    # Mathematics: a pack so tall that its third direction does not matter.
    pack = Pack(25.0, 200.0, 1e6)
    t_s, core_c, surface_c = cells(
        None, 0.025, 0.1, h, lambda _: 21.0, -18.0, 60.0, 4 * 3_600, (50, 30)
    )
    ours_core_c, ours_surface_c = temperature_at(pack, -18.0, 21.0, h, t_s)
    assert np.abs(ours_core_c - core_c).max() < 0.02
    assert np.abs(ours_surface_c - surface_c)[t_s >= 300].max() < 0.02


@pytest.mark.parametrize("h", [2.0, 5.0, 12.0])
def test_a_probe_run_in_a_room_that_cools_overnight_gives_its_coefficient_back(h: float) -> None:
    # Mathematics: the run is the heat balance in cells, read every quarter of an hour.
    package = Package(400_000, 12_700)

    def room_c(t_s: float) -> float:
        return 20.0 + 2.5 * math.cos(2 * math.pi * t_s / 86_400) - 0.5 * (t_s > 5 * 3_600)

    t_s, core_c, _ = cells(radii(package), 0, 0.635, h, room_c, 4.0, 100.0, 14 * 3_600, (60, 10))
    logged = np.flatnonzero(np.isclose(t_s % 900, 0) | np.isclose(t_s % 900, 900))
    read_s = np.append(0.0, t_s[logged])
    fit = fit_surface_coefficient(
        read_s, np.append(4.0, core_c[logged]), [room_c(t) for t in read_s.tolist()], package
    )
    assert fit.h == pytest.approx(h, rel=0.01)
    assert fit.low < h < fit.high
    assert fit.rms_k < 0.02


def test_ready_is_what_the_checks_above_take_it_for() -> None:
    assert READY_WITHIN.value == 2.0
    assert WARM_UP_COEFFICIENT.value == SLOW
