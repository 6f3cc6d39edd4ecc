"""Life used by temperature: days of label life, mean kinetic temperature, the day it runs out."""

import math
from dataclasses import dataclass
from typing import NamedTuple, get_args, overload

import numpy as np
from numpy.typing import ArrayLike

from stockroom.core.climate.course import Bools, Course, Floats, Gaps, PlaceClimate, believed
from stockroom.core.climate.lag import inside
from stockroom.core.climate.readings import Readings, Usual
from stockroom.core.constants import FLOOR_RATE, GAS_CONSTANT, MKT_ENERGY, ZERO_CELSIUS
from stockroom.units import SECONDS_PER_DAY

LEAST_ENERGY_J_MOL, MOST_ENERGY_J_MOL = 20_000.0, 250_000.0
"""Activation energies outside this span are typing slips (our choice)."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """One way things may have been.

    Attributes
    ----------
    energy_j_mol : float
        Activation energy of ageing, J/mol.
    offset_k : float
        What the sensor may be off, added to readings, K.
    gaps : {"likely", "best", "worst"}
        What is believed where nothing was logged.
    """

    energy_j_mol: float
    offset_k: float = 0.0
    gaps: Gaps = "likely"

    def __post_init__(self) -> None:
        _check_energy(self.energy_j_mol)
        if not math.isfinite(self.offset_k):
            raise ValueError("a sensor offset must be a plain number")
        if self.gaps not in get_args(Gaps):
            raise ValueError("gaps are filled as likely, best or worst")


class Lag(NamedTuple):
    """A body that lags behind its air: time constant (s), temperature inside at the start (°C)."""

    tau_s: float
    start_c: float | None = None


class Used(NamedTuple):
    """Life used over a stay.

    Attributes
    ----------
    days : float
        Days of label life, filled stretches included.
    filled_days_of_life : float
        Of those, what rests on filled stretches.
    filled_share : float
        Share of the stay's time that is filled, 0 to 1.
    """

    days: float
    filled_days_of_life: float
    filled_share: float


@overload
def rate(temp_c: float, label_temp_c: float, energy_j_mol: float, floor: float = ...) -> float: ...
@overload
def rate(
    temp_c: Floats, label_temp_c: float, energy_j_mol: float, floor: float = ...
) -> Floats: ...
def rate(
    temp_c: float | Floats,
    label_temp_c: float,
    energy_j_mol: float,
    floor: float = FLOOR_RATE.value,
) -> float | Floats:
    """Return the days of label life used up in a day at a temperature.

    ``max(floor, exp(-Ea/R (1/T - 1/T_label)))``, T in kelvin (Arrhenius); exactly 1 at the
    label's temperature.

    Parameters
    ----------
    temp_c : float or float64 array
        Temperature, °C.
    label_temp_c : float
        Temperature for which the label's life is stated, °C.
    energy_j_mol : float
        Activation energy, J/mol, 20 000 to 250 000.
    floor : float
        Least rate; cold does not stop the clock.

    Raises
    ------
    ValueError
        Where a temperature or the energy cannot be.

    >>> rate(10.0, 10.0, 85_000), round(rate(21.0, 10.0, 85_000), 2)
    (1.0, 3.86)
    """
    _check_energy(energy_j_mol)
    temp_k = _kelvin(temp_c)
    label_k = _kelvin(label_temp_c)
    if not floor >= 0:
        raise ValueError("the least rate must be zero or more")
    k = np.maximum(floor, np.exp(energy_j_mol / GAS_CONSTANT.value * (1 / label_k - 1 / temp_k)))
    return k if isinstance(temp_c, np.ndarray) else float(k)


def used_life(
    readings: Readings,
    from_s: float,
    to_s: float,
    place: PlaceClimate,
    label_temp_c: float,
    scenario: Scenario,
    *,
    lag: Lag | None = None,
    usual: Usual = None,
) -> Used:
    """Return the life used over one stay.

    The rules for gaps and ends are those of `believed`; those for a body that lags, of `inside`.
    Over each piece of the course the rate is the mean of the rates at its two ends; over a
    bridged piece their logarithmic mean ``(k1 - k0) / ln(k1 / k0)``. The floor is applied to each
    of these rates.

    Parameters
    ----------
    readings : Readings
        Of the place; they should reach beyond the stay by at least one reading.
    from_s, to_s : float
        The stay, s UTC.
    place : PlaceClimate
        What is believed where there is no reading.
    label_temp_c : float
        Temperature for which the label's life is stated, °C.
    lag : Lag or None
        The body's lag behind its air; None: it follows the air.
    usual : float, Steps or None
        As in `believed`.

    Raises
    ------
    ValueError
        Where the stay ends before it starts or a number cannot be.

    >>> day = Readings.of([0, 43_200, 86_400], [10.0, 10.0, 10.0])
    >>> used_life(day, 0, 86_400, PlaceClimate(4.0), 10.0, Scenario(85_000))
    Used(days=1.0, filled_days_of_life=0.0, filled_share=0.0)
    """
    course = believed(readings, from_s, to_s, place, scenario.gaps, scenario.offset_k, usual)
    if lag is not None and len(course):
        course, _ = inside(course, lag.tau_s, lag.start_c)
    return use(course, label_temp_c, scenario.energy_j_mol)


def use(course: Course, label_temp_c: float, energy_j_mol: float) -> Used:
    """Return the life used over a course; parameters and errors as in `rate`."""
    days = life_by_piece(course, label_temp_c, energy_j_mol)
    total_s = float(course.length_s.sum())
    filled_s = float(course.length_s[course.filled].sum())
    share = filled_s / total_s if total_s else 0.0
    return Used(float(days.sum()), float(days[course.filled].sum()), share)


def life_by_piece(course: Course, label_temp_c: float, energy_j_mol: float) -> Floats:
    """Return the days of label life used in each piece of a course, in order of time.

    Their running sum is the picture of used life over time. Parameters and errors as in `rate`.
    """
    k0 = rate(course.from_c, label_temp_c, energy_j_mol)
    k1 = rate(course.to_c, label_temp_c, energy_j_mol)
    days: Floats = mean_rate(k0, k1, course.bridged) * course.length_s / SECONDS_PER_DAY
    return days


def mean_rate(k0: Floats, k1: Floats, bridged: Bools) -> Floats:
    """Return the mean rate over pieces from the rates at their two ends.

    Half the sum (trapezoid); over a bridged piece the logarithmic mean ``(k1 - k0) / ln(k1/k0)``.

    >>> mean_rate(np.array([1.0, 1.0]), np.array([2.0, 2.0]), np.array([False, True])).round(3)
    array([1.5  , 1.443])
    """
    mean = (k0 + k1) / 2
    if bridged.any():
        growth = np.log(k1[bridged] / k0[bridged])
        flat = growth == 0
        growth[flat] = 1.0  # any number: expm1(x) / x is 1 in the limit
        mean[bridged] = k0[bridged] * np.where(flat, 1.0, np.expm1(growth) / growth)
    return mean


def mean_kinetic_temp_c(
    temp_c: ArrayLike,
    weights_s: ArrayLike | None = None,
    energy_j_mol: float = MKT_ENERGY.value,
    gas_constant: float = GAS_CONSTANT.value,
) -> float:
    """Return the one temperature that would have aged as much as these did, °C.

    ``T = (Ea/R) / -ln(sum(w exp(-Ea/(R Ti))) / sum(w))``, in kelvin (USP <1160>, ICH Q1A(R2)).

    Parameters
    ----------
    temp_c : array (n,)
        Temperatures, °C.
    weights_s : array (n,) or None
        How long each held, s; None: all alike.
    energy_j_mol : float
        Activation energy, J/mol; the default is that of the pharmacopoeia.
    gas_constant : float
        J/(mol K).

    Raises
    ------
    ValueError
        Where there is no temperature, weights do not fit, or a number cannot be.

    >>> round(mean_kinetic_temp_c([4, 4, 4, 4, 16]), 2)
    8.11
    """
    _check_energy(energy_j_mol)
    temp_k = _kelvin(np.atleast_1d(np.asarray(temp_c, dtype=np.float64)))
    weight = np.ones(len(temp_k)) if weights_s is None else np.asarray(weights_s, dtype=np.float64)
    if weight.shape != temp_k.shape:
        raise ValueError("each temperature needs its own weight")
    if not np.all(weight >= 0) or not 0 < weight.sum() < math.inf:
        raise ValueError("a mean needs at least one weight above zero, and none below")
    if not 0 < gas_constant < math.inf:
        raise ValueError("the gas constant must be above zero")
    temp_k, weight = temp_k[weight > 0], weight[weight > 0]
    slope = energy_j_mol / gas_constant
    warmest_k = temp_k.max()  # the exponents count from here, so that none is too small to hold
    relative = np.exp(slope * (1 / warmest_k - 1 / temp_k))
    share = float((weight * relative).sum() / weight.sum())
    return float(1 / (1 / warmest_k - math.log(share) / slope) - ZERO_CELSIUS.value)


def _kelvin(temp_c: ArrayLike) -> Floats:
    temp_k: Floats = np.asarray(temp_c, dtype=np.float64) + ZERO_CELSIUS.value
    if not np.all((temp_k > 0) & (temp_k < math.inf)):
        raise ValueError("a temperature must be a plain number above absolute zero")
    return temp_k


def _check_energy(energy_j_mol: float) -> None:
    if not LEAST_ENERGY_J_MOL <= energy_j_mol <= MOST_ENERGY_J_MOL:
        raise ValueError("an activation energy must lie between 20 and 250 kJ/mol")
