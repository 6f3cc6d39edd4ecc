"""How a roll or a pack lags behind the air around it."""

import math

import numpy as np

from stockroom.core.climate.course import GRID_S, Course, Floats
from stockroom.core.constants import (
    CORE_OUTER_DIAMETER,
    PAPER_CALIPER,
    ROLL_CONDUCTIVITY,
    ROLL_HEAT_CAPACITY,
    SURFACE_COEFFICIENT,
)
from stockroom.units import DMM_PER_M, DMM_PER_MM

SETTLED = 12.0
"""Time constants after which a body has the temperature of its air (our choice: 6e-6 is left)."""

LONGEST_LAG_S = 86_400.0
"""No roll lags by more than a day, s (our choice: a full 100 m roll lags by some six hours)."""

FORGOTTEN = 1e-18
"""A share of an earlier difference too small to change a float64 temperature."""


def time_constant_s(
    length_dmm: float,
    width_dmm: float,
    caliper_mm: float = PAPER_CALIPER.value,
    core_mm: float = CORE_OUTER_DIAMETER.value,
    h: float = SURFACE_COEFFICIENT.value,
) -> float:
    """Return the time constant of a roll standing in air, s.

    Lumped heat capacity of the paper over the conductance of its outer face and its two end
    faces, each with a third of the conduction resistance behind it: ``C / sum(A / (1/h + d/3k))``,
    ``d`` the thickness of the wound paper, or half the width. For a roll much wider than thick
    this is ``rho_c (r^2 - rc^2) / (2 r) (1/h + (r - rc) / (3 k))``. The radius follows from
    ``length = pi (D^2 - d^2) / (4 caliper)``. The core of such a roll is then at
    ``1.2 exp(-t/tau)`` of its first difference to the air, within 15 % in time.

    Parameters
    ----------
    length_dmm, width_dmm : float
        Paper left on the roll and its width, tenths of a millimetre.
    caliper_mm, core_mm : float
        Thickness of the paper and outer diameter of the core tube, mm.
    h : float
        Surface coefficient, W/(m2 K).

    Returns
    -------
    float
        s; 0 for a bare core.

    Raises
    ------
    ValueError
        Where a size cannot be.

    >>> round(time_constant_s(500_000, 12_700) / 3600, 1)
    2.9
    """
    if not (0 <= length_dmm < math.inf and 0 < width_dmm < math.inf):
        raise ValueError("a roll needs a length of zero or more and a width above zero")
    if not all(0 < value < math.inf for value in (caliper_mm, core_mm, h)):
        raise ValueError("caliper, core and surface coefficient must be above zero")
    rc_m, width_m = core_mm / 2_000, width_dmm / DMM_PER_M
    face_m2 = length_dmm / DMM_PER_MM * caliper_mm / 1e6  # of paper, in each end face
    r_m = math.sqrt(rc_m**2 + face_m2 / math.pi)
    k3 = 3 * ROLL_CONDUCTIVITY.value
    outside = 2 * math.pi * r_m * width_m / (1 / h + (r_m - rc_m) / k3)
    ends = 2 * face_m2 / (1 / h + width_m / 2 / k3)
    return ROLL_HEAT_CAPACITY.value * face_m2 * width_m / (outside + ends)


def inside(course: Course, tau_s: float, start_c: float | None = None) -> tuple[Course, float]:
    """Return the temperature inside a body over a course of its air, and where it ends, °C.

    The body follows what is believed just as it follows readings. Filled pieces longer than
    `GRID_S` are cut to that length for the first `SETTLED` time constants, because the
    temperature inside bends there; after that it is that of the air, so in long filled stretches
    the lag no longer matters.

    Parameters
    ----------
    course : Course
        Of the air; at least one piece.
    tau_s : float
        Time constant, s; 0 gives the course itself.
    start_c : float or None
        Temperature inside at the start, °C; None: that of the air.

    Raises
    ------
    ValueError
        Where the course is empty, the time constant is below zero or a number is not finite.
    """
    _check(tau_s, start_c)
    if not len(course):
        raise ValueError("a course without any piece has no temperature")
    if tau_s == 0:
        return course, float(course.to_c[-1])
    fine = _cut(course, tau_s)
    begin_c = float(fine.from_c[0]) if start_c is None else start_c
    end_c = _follow(fine.length_s / tau_s, fine.from_c, fine.to_c, begin_c - fine.from_c[0])
    from_c = np.concatenate(([begin_c], end_c[:-1]))
    body = Course(fine.start_s, fine.length_s, from_c, end_c, fine.bridged, fine.filled)
    return body, float(end_c[-1])


def _follow(x: Floats, from_c: Floats, to_c: Floats, difference_k: float) -> Floats:
    """Return the temperature inside at the end of each piece.

    `x` is the length of each piece in time constants. The difference D to the air obeys
    ``D1 = e (D0 + jump) - (to - from) (1 - e) / x``, ``e = exp(-x)``: a chain of straight maps,
    composed in pairs, fours, eights, until what lies further back is forgotten.
    """
    e = np.exp(-x)
    jump = np.concatenate(([difference_k], to_c[:-1] - from_c[1:]))
    d = e * jump + (to_c - from_c) * np.expm1(-x) / x
    e[:1] = 0.0  # nothing lies before the start: the products there need not fade first
    reach = 1
    while reach < len(d) and e.max() > FORGOTTEN:
        d[reach:] += e[reach:] * d[:-reach]
        e[reach:] *= e[:-reach]
        reach *= 2
    return to_c + d


def _cut(course: Course, tau_s: float) -> Course:
    long = course.filled & (course.length_s > GRID_S)
    if not long.any():
        return course
    most = math.ceil(SETTLED * tau_s / GRID_S) + 1
    count = np.where(long, np.minimum(np.ceil(course.length_s / GRID_S), most), 1).astype(np.int64)
    piece = np.repeat(np.arange(len(course)), count)
    number = np.arange(len(piece)) - np.repeat(np.cumsum(count) - count, count)
    begin_s = number * float(GRID_S)
    whole_s = course.length_s[piece]
    end_s = np.where(number == count[piece] - 1, whole_s, begin_s + GRID_S)
    from_c = course.from_c[piece]
    rise_k = course.to_c[piece] - from_c
    return Course(
        course.start_s[piece] + begin_s,
        end_s - begin_s,
        from_c + rise_k * begin_s / whole_s,
        from_c + rise_k * end_s / whole_s,
        course.bridged[piece],
        course.filled[piece],
    )


def _check(tau_s: float, start_c: float | None) -> None:
    if not 0 <= tau_s < math.inf:
        raise ValueError("a time constant must be zero or more seconds")
    if start_c is not None and not math.isfinite(start_c):
        raise ValueError("the temperature inside must be a plain number")
