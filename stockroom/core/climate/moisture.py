"""Water in the air: dew and frost point, damp hours in a log, and air shut into a cold bag."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stockroom.core.climate.readings import ABSENT, Readings, long_steps, usual_steps
from stockroom.core.constants import BAG_WATER_SMALL, GAS_CONSTANT, ZERO_CELSIUS
from stockroom.errors import BadValueError

Floats = NDArray[np.float64]

_Curve = tuple[float, float, float, float, float]

_WATER: _Curve = (-6096.9385, 21.2409642, -2.711193e-2, 1.673952e-5, 2.433502)
_ICE: _Curve = (-6024.5282, 29.32707, 1.0613868e-2, -1.3198825e-5, -0.49382577)
"""ln of the saturation pressure in Pa is a/T + b + c T + d T² + e ln T, T in K.

Source: Sonntag, Z. Meteorol. 70 (1990) 340, water and ice; published. Within 0.01 K of Hyland and
Wexler between -40 and 70 °C.
"""

_MAGNUS = {_WATER: (611.2, 17.62, 243.12), _ICE: (611.2, 22.46, 272.62)}
"""A first guess of the temperature: WMO-No. 8, annex 4.B, Pa and °C; published."""

WATER_KG_MOL = 0.018015
"""Molar mass of water, kg/mol; published."""

AIR_PA = 101_325.0
"""Pressure of the air, Pa (standard atmosphere; published). A bag is not tight."""

COLDEST_C, HOTTEST_C = -60.0, 70.0
"""Air outside these is a fault of the sensor, °C (our choice, as in the readings)."""


@dataclass(frozen=True, slots=True)
class DewPoint:
    """The temperature at which air begins to give up its water.

    Attributes
    ----------
    temp_c : float
        °C.
    kind : str
        ``dew point`` where water forms; ``frost point`` where that is below 0 °C and ice forms,
        about a tenth nearer to 0 °C than the dew point over water.
    """

    temp_c: float
    kind: Literal["dew point", "frost point"]

    @property
    def vapour_pa(self) -> float:
        """Pressure of the water vapour in such air, Pa."""
        return float(_saturation(self.temp_c, _ICE if self.kind == "frost point" else _WATER))


def dew_point(temp_c: float, rh_pct: float) -> DewPoint:
    """Return the dew point of air, or its frost point where that lies below 0 °C.

    Parameters
    ----------
    temp_c : float
        Of the air, °C.
    rh_pct : float
        Relative humidity, %, over water as loggers give it also below 0 °C (WMO-No. 8).

    Raises
    ------
    BadValueError
        Where the humidity is not above 0 and up to 100 %, or the air not from -60 to 70 °C.

    >>> dew = dew_point(21.0, 50.0)
    >>> round(dew.temp_c, 2), dew.kind
    (10.19, 'dew point')
    >>> dew_point(4.0, 60.0).kind
    'frost point'
    """
    if not math.isfinite(rh_pct) or not math.isfinite(temp_c):
        raise BadValueError("Without temperature and humidity there is no dew point.")
    over_water_c = float(dew_point_c(temp_c, rh_pct))
    if over_water_c >= 0:
        return DewPoint(over_water_c, "dew point")
    return DewPoint(min(0.0, float(frost_point_c(temp_c, rh_pct))), "frost point")


def dew_point_c(temp_c: ArrayLike, rh_pct: ArrayLike) -> Floats:
    """Return the dew point over water, °C, also where it lies below 0 °C.

    Parameters
    ----------
    temp_c, rh_pct : scalars or arrays that go together
        Of the air, °C and % over water; NaN gives NaN.

    Raises
    ------
    BadValueError
        As in `dew_point`.

    >>> dew_point_c([20.0, 10.0], [50.0, 80.0]).round(1)
    array([9.3, 6.7])
    """
    return _condensing(_vapour(temp_c, rh_pct), _WATER)


def frost_point_c(temp_c: ArrayLike, rh_pct: ArrayLike) -> Floats:
    """Return the frost point, over ice, °C; it has a meaning below 0 °C only.

    Parameters and errors are those of `dew_point_c`.

    >>> float(frost_point_c(4.0, 60.0).round(2)), float(dew_point_c(4.0, 60.0).round(2))
    (-2.7, -3.06)
    """
    return _condensing(_vapour(temp_c, rh_pct), _ICE)


def rh_at(dew: DewPoint, temp_c: ArrayLike) -> Floats:
    """Return the relative humidity (%) that air of a dew point has at another temperature.

    Above 100 % means that the air cannot hold its water at that temperature.

    Parameters
    ----------
    temp_c : scalar or array
        °C.

    >>> float(rh_at(dew_point(21.0, 50.0), 4.0).round())
    153.0
    """
    return np.asarray(100 * dew.vapour_pa / _saturation(_air(temp_c), _WATER))


@dataclass(frozen=True, slots=True)
class Damp:
    """How long logged air was damper than a limit.

    Attributes
    ----------
    above_s : float
        Above the limit, s.
    logged_s : float
        Of how long the humidity is known, s.
    highest_pct : float or None
        The highest humidity known; None where there is none.
    """

    above_s: float
    logged_s: float
    highest_pct: float | None


def time_above(readings: Readings, limit_pct: float, from_s: float, to_s: float) -> Damp:
    """Return how long the logged humidity lay above a limit.

    Straight between readings; a step longer than the log's usual ones counts as not logged, and
    so do readings without humidity or with a faulty sensor.

    Parameters
    ----------
    limit_pct : float
        %; humidity at the limit is not above it.
    from_s, to_s : float
        Instants, s UTC.

    Raises
    ------
    ValueError
        Where the end lies before the start or the limit is no number.

    >>> time_above(Readings.of([0, 900, 1800], [21] * 3, [50, 70, 70]), 60, 0, 1800)
    Damp(above_s=1350.0, logged_s=1800.0, highest_pct=70.0)
    """
    if not to_s >= from_s:
        raise ValueError("the end of a window must not lie before its start")
    if not math.isfinite(limit_pct):
        raise ValueError("a limit of humidity must be a plain number")
    known = np.isfinite(readings.rh_pct) & ((readings.flag & ABSENT) == 0)
    log = Readings(
        readings.t_s[known], readings.temp_c[known], readings.rh_pct[known], readings.flag[known]
    )
    inside = log.rh_pct[(log.t_s >= from_s) & (log.t_s <= to_s)]
    start_s, end_s = np.maximum(log.t_s[:-1], from_s), np.minimum(log.t_s[1:], to_s)
    step = (end_s > start_s) & ~long_steps(log, usual_steps(log))
    start_s, end_s = start_s[step], end_s[step]
    first = np.interp(start_s, log.t_s, log.rh_pct) if len(log) else start_s
    last = np.interp(end_s, log.t_s, log.rh_pct) if len(log) else end_s
    high, low = np.maximum(first, last), np.minimum(first, last)
    rise = np.where(high > low, high - low, 1.0)
    share = np.where(low > limit_pct, 1.0, np.clip((high - limit_pct) / rise, 0.0, 1.0))
    values = np.concatenate((inside, high))
    return Damp(
        above_s=float(((end_s - start_s) * share).sum()),
        logged_s=float((end_s - start_s).sum()),
        highest_pct=float(values.max()) if len(values) else None,
    )


@dataclass(frozen=True, slots=True)
class BagAir:
    """What becomes of room air shut into a bag that goes back into the cold.

    Attributes
    ----------
    condenses : bool
        Whether the cold takes water out of it.
    dew : DewPoint
        Of the air in the bag.
    water_g_per_l : float
        Water that comes out, g for each litre of air shut in.
    """

    condenses: bool
    dew: DewPoint
    water_g_per_l: float

    @property
    def small(self) -> bool:
        """Whether the paper takes so little up without a trace: at most `BAG_WATER_SMALL`.

        Room air at 21 °C and 50 % gives 0.003 g a litre at 4 °C and 0.008 at -18 °C: small where
        the air was pressed out. Summer air at 28 °C and 70 % gives 0.013 and 0.018: not small.
        """
        return self.water_g_per_l <= BAG_WATER_SMALL.value


def condenses_in_bag(bag_temp_c: float, bag_rh_pct: float, store_temp_c: float) -> BagAir:
    """Return whether room air shut in with a roll gives up water in the cold, and how much.

    The bag gives way, so its pressure stays: water before less water that the same dry air holds
    in the cold, ``(e1 - e2 (p - e1) / (p - e2)) M / (R T1)``, ``e2`` over ice below 0 °C.

    Parameters
    ----------
    bag_temp_c, bag_rh_pct : float
        The air shut in, °C and %.
    store_temp_c : float
        Of the place it goes to, °C.

    Raises
    ------
    BadValueError
        As in `dew_point`.

    >>> bag = condenses_in_bag(21.0, 50.0, 4.0)
    >>> bag.condenses, round(bag.water_g_per_l, 4), bag.small
    (True, 0.0032, True)
    """
    dew = dew_point(bag_temp_c, bag_rh_pct)
    cold_c = float(_air(store_temp_c))
    if not math.isfinite(cold_c):
        raise BadValueError("Without the store's temperature nothing can be told of the bag.")
    if dew.temp_c <= cold_c:
        return BagAir(False, dew, 0.0)
    held_pa = float(_saturation(cold_c, _ICE if cold_c < 0 else _WATER))
    lost_pa = dew.vapour_pa - held_pa * (AIR_PA - dew.vapour_pa) / (AIR_PA - held_pa)
    kelvin = bag_temp_c + ZERO_CELSIUS.value
    return BagAir(True, dew, max(0.0, lost_pa * WATER_KG_MOL / (GAS_CONSTANT.value * kelvin)))


def _saturation(temp_c: ArrayLike, over: _Curve) -> Floats:
    """Pressure of saturated vapour over water or ice, Pa."""
    t = np.asarray(temp_c, dtype=np.float64) + ZERO_CELSIUS.value
    a, b, c, d, e = over
    return np.asarray(np.exp(a / t + b + c * t + d * t * t + e * np.log(t)))


def _condensing(vapour_pa: Floats, over: _Curve) -> Floats:
    """The temperature (°C) at which vapour is saturated: three Newton steps on the logarithm."""
    p0, slope, offset = _MAGNUS[over]
    log = np.log(vapour_pa / p0)
    temp_c = offset * log / (slope - log)
    a, _, c, d, e = over
    for _ in range(3):
        t = temp_c + ZERO_CELSIUS.value
        excess = np.log(_saturation(temp_c, over) / vapour_pa)
        temp_c = temp_c - excess / (-a / t**2 + c + 2 * d * t + e / t)
    return np.asarray(temp_c)


def _vapour(temp_c: ArrayLike, rh_pct: ArrayLike) -> Floats:
    rh = np.asarray(rh_pct, dtype=np.float64)
    if np.any((rh <= 0) | (rh > 100)):
        raise BadValueError(
            "That relative humidity cannot be.",
            "It must be above 0 and at most 100 %.",
            "Look at the sensor.",
        )
    return np.asarray(_saturation(_air(temp_c), _WATER) * rh / 100)


def _air(temp_c: ArrayLike) -> Floats:
    air = np.asarray(temp_c, dtype=np.float64)
    if np.any((air < COLDEST_C) | (air > HOTTEST_C)):
        raise BadValueError(
            "That temperature of the air cannot be.",
            f"It must be from {COLDEST_C:g} to {HOTTEST_C:g} °C.",
            "Look whether it is in °C, and at the sensor.",
        )
    return air
