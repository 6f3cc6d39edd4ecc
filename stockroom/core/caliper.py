"""Rolls by the tape: the length left from the outer diameter, and how sure that is."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from stockroom.core.constants import COVERAGE, WOUND_SCATTER
from stockroom.core.geometry import roll_length_mm
from stockroom.errors import BadValueError


@dataclass(frozen=True, slots=True)
class Winding:
    """How a material lies on its core: the effective caliper and the core, with uncertainties.

    The caliper is the one as wound, with the air between the wraps in it; a loose roll has more.

    Attributes
    ----------
    caliper_mm : float
        Thickness that one wrap takes up.
    core_mm : float
        Outer diameter of the core.
    caliper_sd_mm, core_sd_mm : float
        Standard uncertainties; the caliper's with the core taken as it is.
    caliper_per_core : float
        How the caliper would move with the core, mm per mm. A caliper solved from a roll leans
        on the core measured for it: a core read too large makes it too small, and the length
        too, so that most of the error cancels. 0 where they were found apart.

    Raises
    ------
    BadValueError
        Where the caliper is not above zero, or the core or an uncertainty is below it.
    """

    caliper_mm: float
    core_mm: float
    caliper_sd_mm: float = 0.0
    core_sd_mm: float = 0.0
    caliper_per_core: float = 0.0

    def __post_init__(self) -> None:
        if not (0 < self.caliper_mm < math.inf and 0 <= self.core_mm < math.inf):
            raise BadValueError(
                "That is no roll.", "A core of zero or more and a caliper above zero are wanted."
            )
        _uncertain(self.caliper_sd_mm, "caliper")
        _uncertain(self.core_sd_mm, "core")

    @property
    def whole_caliper_sd_mm(self) -> float:
        """Standard uncertainty of the caliper, mm, with what the core adds to it."""
        return math.hypot(self.caliper_sd_mm, self.caliper_per_core * self.core_sd_mm)


@dataclass(frozen=True, slots=True)
class Pooled:
    """Several calibrations of one material made one, for the next roll of it.

    Attributes
    ----------
    winding : Winding
        Its caliper's uncertainty holds the scatter from roll to roll.
    rolls : int
        How many were pooled.
    """

    winding: Winding
    rolls: int


@dataclass(frozen=True, slots=True)
class LengthLeft:
    """The length on a roll, and within what it lies with the usual coverage of 90 %."""

    length_mm: float
    plus_minus_mm: float


def sd_of(plus_minus: float, coverage: float = COVERAGE.value) -> float:
    """Return the standard uncertainty of what is stated as plus or minus so much.

    Normal distribution: ± is 1.645 standard deviations at the coverage of 90 %.

    >>> round(sd_of(0.5), 3)
    0.304
    """
    return plus_minus / _factor(coverage)


def plus_minus_of(sd: float, coverage: float = COVERAGE.value) -> float:
    """Return plus or minus how much a standard uncertainty comes to; the inverse of `sd_of`.

    >>> round(plus_minus_of(1.0), 3)
    1.645
    """
    return sd * _factor(coverage)


def calibrated(
    length_mm: float,
    outer_mm: float,
    core_mm: float,
    outer_sd_mm: float = 0.0,
    core_sd_mm: float = 0.0,
    length_sd_mm: float = 0.0,
) -> Winding:
    """Return the winding of a roll whose length is known, such as one just delivered.

    Formula: t = pi (D² - d²) / (4 L); its uncertainty to first order from D and L, and with d
    kept as a slope, dt/dd = -pi d / (2 L).

    Parameters
    ----------
    length_mm, outer_mm, core_mm : float
        Length wound on, outer diameter, diameter of the core.
    outer_sd_mm, core_sd_mm, length_sd_mm : float
        Their standard uncertainties.

    Raises
    ------
    BadValueError
        Where the roll is no thicker than its core, or the length is not above zero.

    >>> round(calibrated(30_000, 130.7, 89).caliper_mm, 3)
    0.24
    """
    for value, what in ((outer_sd_mm, "outer diameter"), (core_sd_mm, "core")):
        _uncertain(value, what)
    _uncertain(length_sd_mm, "length")
    if not 0 < length_mm < math.inf:
        raise BadValueError(
            f"{length_mm:g} mm is not the length of a roll.", "It must be above zero."
        )
    if not 0 <= core_mm < outer_mm < math.inf:
        raise BadValueError(
            f"A roll of {outer_mm:g} mm across on a core of {core_mm:g} mm holds nothing.",
            "To find the caliper there must be something wound on.",
            "Measure both across, not around.",
        )
    squares_mm2 = outer_mm**2 - core_mm**2
    caliper_mm = math.pi * squares_mm2 / (4 * length_mm)
    share = math.hypot(2 * outer_mm * outer_sd_mm / squares_mm2, length_sd_mm / length_mm)
    slope = -math.pi * core_mm / (2 * length_mm)
    return Winding(caliper_mm, core_mm, caliper_mm * share, core_sd_mm, slope)


def pooled(
    calibrations: Sequence[Winding],
    core_mm: float,
    core_sd_mm: float = 0.0,
    *,
    shared_core: bool = False,
) -> Pooled:
    """Return one winding from several calibrations of a material, for other rolls of it.

    Each is weighed by the inverse of its variance and of the scatter between rolls together. The
    scatter is that of DerSimonian and Laird (1986, from memory), drawn towards a guess of 1 % of
    the caliper that counts as one comparison (our choice): two rolls that agree by luck do not
    promise that a third will. The uncertainty is that of the next roll, not of the mean, and is
    widened while rolls are few, as Student's t is at 90 % (first term of its expansion).

    Where one figure stands for the core of them all, its error is one: it neither averages out nor
    tells rolls apart, and most of it cancels in the length. So it is left out of the weights and
    kept as a slope, the weighted mean of those of the calibrations.

    Parameters
    ----------
    calibrations : sequence of Winding
        Of rolls of one material, each with an uncertainty of its own.
    core_mm, core_sd_mm : float
        The core of the rolls to be measured, and its standard uncertainty.
    shared_core : bool
        Whether a calibration with just this core took the same figure, and its error with it;
        else each core was measured for itself.

    Raises
    ------
    BadValueError
        Where there is none, or one comes without an uncertainty.

    >>> both = pooled([Winding(0.240, 89, 0.001), Winding(0.250, 89, 0.001)], 89)
    >>> round(both.winding.caliper_mm, 3), both.rolls
    (0.245, 2)
    """
    if not calibrations:
        raise BadValueError("There is no calibration to go by.", "One roll at least is wanted.")
    calipers = [winding.caliper_mm for winding in calibrations]
    shares = [shared_core and winding.core_mm == core_mm for winding in calibrations]
    variances = [
        (winding.caliper_sd_mm if shared else winding.whole_caliper_sd_mm) ** 2
        for winding, shared in zip(calibrations, shares, strict=True)
    ]
    if min(variances) <= 0:
        raise BadValueError(
            "A calibration without an uncertainty cannot be weighed.",
            "Nothing is measured exactly.",
            "Say how far its diameter or its length may be off.",
        )
    rolls = len(calipers)
    guess_mm = WOUND_SCATTER.value * sum(calipers) / rolls
    between = (guess_mm**2 + (rolls - 1) * _between(calipers, variances)) / rolls
    spread = [variance + between for variance in variances]
    caliper_mm, total = _weighed(calipers, spread)
    slope, _ = _weighed(
        [
            winding.caliper_per_core if shared else 0.0
            for winding, shared in zip(calibrations, shares, strict=True)
        ],
        spread,
    )
    factor = _factor(COVERAGE.value)
    widened = 1 + (factor**2 + 1) / (4 * rolls)
    sd_mm = math.sqrt(1 / total + between) * widened
    winding = Winding(caliper_mm, core_mm, sd_mm, core_sd_mm, slope)
    return Pooled(winding, rolls)


def length_left(outer_mm: float, winding: Winding, outer_sd_mm: float = 0.0) -> LengthLeft:
    """Return the length left on a roll from its outer diameter, with its uncertainty.

    First-order propagation of independent errors of the outer diameter, the core and the
    caliper, and a normal distribution: with the coverage of 90 % the half width is 1.645
    standard deviations. First order holds while the caliper is known to about a tenth of itself.
    A roll that measures below its core by no more than the measuring allows is empty.

    Parameters
    ----------
    outer_mm, outer_sd_mm : float
        Diameter across the roll as measured, and its standard uncertainty.
    winding : Winding
        Caliper and core.

    Raises
    ------
    BadValueError
        Where the roll is thinner than its core.

    >>> left = length_left(130.7, Winding(0.24, 89, 0.002, 0.2), 0.3)
    >>> round(left.length_mm), round(left.plus_minus_mm)
    (29981, 620)
    """
    _uncertain(outer_sd_mm, "outer diameter")
    factor = _factor(COVERAGE.value)
    core_mm, caliper_mm = winding.core_mm, winding.caliper_mm
    slack_mm = factor * math.hypot(outer_sd_mm, winding.core_sd_mm)
    if core_mm - slack_mm <= outer_mm < core_mm:
        outer_mm = core_mm
    length_mm = roll_length_mm(outer_mm, core_mm, caliper_mm)
    per_caliper = -length_mm / caliper_mm
    per_core = -math.pi * core_mm / (2 * caliper_mm) + per_caliper * winding.caliper_per_core
    sd_mm = math.hypot(
        math.pi * outer_mm / (2 * caliper_mm) * outer_sd_mm,
        per_core * winding.core_sd_mm,
        per_caliper * winding.caliper_sd_mm,
    )
    return LengthLeft(length_mm, factor * sd_mm)


def _factor(coverage: float) -> float:
    """How many standard deviations of a normal distribution hold so much of it."""
    if not 0 < coverage < 1:
        raise BadValueError(
            f"A coverage of {coverage:g} cannot be.", "It must lie between 0 and 1, such as 0.9."
        )
    return NormalDist().inv_cdf((1 + coverage) / 2)


def _weighed(values: Sequence[float], variances: Sequence[float]) -> tuple[float, float]:
    """The mean by inverse variance, and the sum of the weights."""
    weights = [1 / variance for variance in variances]
    total = sum(weights)
    return sum(w * value for w, value in zip(weights, values, strict=True)) / total, total


def _between(values: Sequence[float], variances: Sequence[float]) -> float:
    """The variance between values beyond their own: (Q - (n-1)) / (S1 - S2/S1), not below 0."""
    if len(values) < 2:
        return 0.0
    mean, total = _weighed(values, variances)
    spread = sum((x - mean) ** 2 / v for x, v in zip(values, variances, strict=True))
    squares = sum(1 / variance**2 for variance in variances)
    return max(0.0, (spread - (len(values) - 1)) / (total - squares / total))


def _uncertain(sd_mm: float, what: str) -> None:
    if not 0 <= sd_mm < math.inf:
        raise BadValueError(
            f"The uncertainty of the {what} cannot be {sd_mm:g} mm.", "It must be zero or more."
        )
