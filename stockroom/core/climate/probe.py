"""How fast rolls warm up here, told by a probe in the core of one while it warms."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from stockroom.core.climate.course import Floats
from stockroom.core.climate.warm_table import plausible_c
from stockroom.core.climate.warmup import Body, share_left
from stockroom.core.constants import (
    COEFFICIENT_LEAST,
    COEFFICIENT_MOST,
    PROBE_READINGS,
    PROBE_RISE,
    SENSOR_SPREAD,
)
from stockroom.errors import BadValueError

MOST_STAMPS = 300
"""Stamps of a probe run that are used; a longer run is thinned evenly."""


@dataclass(frozen=True, slots=True)
class ProbeFit:
    """A surface coefficient from one probe run.

    Attributes
    ----------
    h : float
        The best, W/(m2 K).
    low, high : float
        Where the curve is off by the spread of a usual sensor more than at its best; the low one
        is the safe one.
    rms_k : float
        How far the readings lie from the best curve, K.
    """

    h: float
    low: float
    high: float
    rms_k: float


def fit_surface_coefficient(
    t_s: ArrayLike,
    inside_c: ArrayLike,
    room_c: ArrayLike,
    package: Body,
    from_c: float | None = None,
) -> ProbeFit:
    """Return the surface coefficient that a probe in the core of one package tells.

    Least squares of the core's temperature, the room straight between its readings (Duhamel).

    Parameters
    ----------
    t_s : array (n,)
        Instants, s, rising; the first is that of taking it out.
    inside_c : array (n,)
        Of the probe in the core, °C; NaN is left out.
    room_c : scalar or array (n,)
        Of the room, °C.
    package : Package or Pack
    from_c : float or None
        Of the package when taken out, °C; None: the probe's first reading, at its instant.

    Returns
    -------
    ProbeFit

    Raises
    ------
    BadValueError
        Where the run cannot tell: too few readings, too little rise, or a coefficient that is
        not between `COEFFICIENT_LEAST` and `COEFFICIENT_MOST`.
    """
    from scipy.optimize import brentq, minimize_scalar

    t, inside, room = _run(t_s, inside_c, room_c, from_first_given=from_c is not None)
    begin_c = float(inside[0]) if from_c is None else from_c
    plausible_c(begin_c)
    rise_k = float(inside.max()) - begin_c
    if rise_k < PROBE_RISE.value:
        raise BadValueError(
            f"The probe rose by {rise_k:.1f} K only.",
            f"Below {PROBE_RISE.value:g} K the run is too short or too flat to tell how fast.",
            "Leave a cold package with the probe in its core overnight.",
        )

    def misses(log_h: float) -> float:
        course = _core_course(package, math.exp(log_h), t, begin_c, room)
        return float(np.mean((course - inside) ** 2))

    least, most = math.log(COEFFICIENT_LEAST.value), math.log(COEFFICIENT_MOST.value)
    found = minimize_scalar(misses, bounds=(least, most), method="bounded", options={"xatol": 1e-5})
    best, level = float(found.x), float(found.fun) + SENSOR_SPREAD.value**2
    ends = [end for end in (least, most) if misses(end) > level]
    if not ends or min(best - least, most - best) < 0.01:
        raise BadValueError(
            "The probe run fits no surface coefficient.",
            f"It must lie between {COEFFICIENT_LEAST.value:g} and {COEFFICIENT_MOST.value:g} "
            "W/(m2 K).",
            "Look at the size of the package, and whether the probe sat in its core.",
        )
    low, high = (
        math.exp(brentq(lambda x: misses(x) - level, end, best) if end in ends else end)
        for end in (least, most)
    )
    return ProbeFit(math.exp(best), low, high, math.sqrt(float(found.fun)))


def _run(
    t_s: ArrayLike, inside_c: ArrayLike, room_c: ArrayLike, *, from_first_given: bool
) -> tuple[Floats, Floats, Floats]:
    """The readings of a probe run that count, in s since the first one given, or that counts."""
    t = np.asarray(t_s, dtype=np.float64)
    inside = np.asarray(inside_c, dtype=np.float64)
    room = np.asarray(room_c, dtype=np.float64)
    if t.ndim != 1 or inside.shape != t.shape or room.shape not in ((), t.shape):
        raise BadValueError(
            "The readings of the probe run do not go together.",
            "Times, probe and room must be equally many.",
        )
    room = np.broadcast_to(room, t.shape)
    kept = np.flatnonzero(np.isfinite(inside) & np.isfinite(room))
    if len(kept) < PROBE_READINGS.value:
        raise BadValueError(
            f"A probe run of {len(kept)} readings is too short.",
            f"At least {PROBE_READINGS.value:g} are needed.",
            "Log every quarter of an hour, overnight.",
        )
    if not (np.all(np.isfinite(t)) and np.all(np.diff(t) > 0)):
        raise BadValueError("The times of the probe run do not rise.", "", "Look at their order.")
    if len(kept) > MOST_STAMPS:
        kept = kept[np.linspace(0, len(kept) - 1, MOST_STAMPS).astype(np.int64)]
    start_s = t[0] if from_first_given else t[kept[0]]
    return t[kept] - start_s, inside[kept], room[kept]


def _core_course(package: Body, h: float, t: Floats, from_c: float, room_c: Floats) -> Floats:
    """The core's temperature while the room runs straight between its readings.

    Each ramp of the room adds its slope times the integral of the step response.
    """
    fine = np.linspace(0.0, t[-1], 1_001)
    step = 1 - share_left(package, h, fine)
    area = np.append(0.0, np.cumsum((step[1:] + step[:-1]) / 2 * np.diff(fine)))
    course = from_c + (room_c[0] - from_c) * np.interp(t, fine, step)
    slope = np.diff(room_c) / np.diff(t)
    if slope.any():
        reached = np.interp(t[:, None] - t, fine, area, left=0.0)
        course += (reached[:, :-1] - reached[:, 1:]) @ slope
    return np.asarray(course)
