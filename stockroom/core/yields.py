"""What a shop knows of its losses: print defects by area, mounts good and lost."""

import math
from dataclasses import dataclass

from stockroom.core.facts import (
    MOUNT_PRIOR_GOOD,
    MOUNT_PRIOR_LOST,
    PRINT_PRIOR_AREA,
    PRINT_PRIOR_SHAPE,
)
from stockroom.errors import BadValueError


@dataclass(frozen=True, slots=True)
class PrintYield:
    """What is known of print spoilage: spoiling defects a square metre, gamma distributed.

    Attributes
    ----------
    shape : float
        Shape: the defects counted, on top of the prior's.
    area_m2 : float
        Rate, m2: the area printed, on top of the prior's.

    Raises
    ------
    BadValueError
        Where one is not above zero.
    """

    shape: float = PRINT_PRIOR_SHAPE.value
    area_m2: float = PRINT_PRIOR_AREA.value

    def __post_init__(self) -> None:
        above_zero(self.shape, "number of defects")
        above_zero(self.area_m2, "printed area")

    @property
    def mean_per_m2(self) -> float:
        """Expected defects a square metre."""
        return self.shape / self.area_m2

    def updated(self, defects: float, area_m2: float) -> "PrintYield":
        """Return what is known after so many more defects on so much more printed area.

        >>> round(PrintYield(2, 15).updated(6, 40).mean_per_m2, 6)
        0.145455
        """
        return PrintYield(self.shape + counted(defects), self.area_m2 + counted(area_m2))

    def pass_probability(self, area_m2: float) -> float:
        """Return the chance that the next print of an area comes out without a spoiling defect.

        Formula: (beta / (beta + A))^alpha, the Poisson chance exp(-rate A) averaged over the
        gamma; its tail is fatter than exp(-mean A).

        >>> round(PrintYield(8, 55).pass_probability(4.5), 6)
        0.533047
        """
        return self.defect_probability(0, area_m2)

    def defect_probability(self, defects: int, area_m2: float) -> float:
        """Return the chance of exactly so many defects on an area (negative binomial).

        >>> round(PrintYield(8, 55).defect_probability(1, 0.48), 4)
        0.0646
        """
        area_m2, count = counted(area_m2), counted(defects)
        log_missing = -math.log1p(area_m2 / self.area_m2)
        if area_m2 == 0:
            return float(count == 0)
        ways = math.lgamma(self.shape + count) - math.lgamma(self.shape) - math.lgamma(count + 1)
        log_hit = math.log(area_m2) - math.log(self.area_m2 + area_m2)
        return math.exp(ways + self.shape * log_missing + count * log_hit)


@dataclass(frozen=True, slots=True)
class MountYield:
    """What is known of mounting: pieces that came out good and pieces lost, beta distributed.

    Attributes
    ----------
    good, lost : float
        Counted pieces, on top of the prior's.

    Raises
    ------
    BadValueError
        Where one is not above zero.
    """

    good: float = MOUNT_PRIOR_GOOD.value
    lost: float = MOUNT_PRIOR_LOST.value

    def __post_init__(self) -> None:
        above_zero(self.good, "number of good pieces")
        above_zero(self.lost, "number of lost pieces")

    @property
    def mean(self) -> float:
        """Expected share of pieces that come out good."""
        return self.good / (self.good + self.lost)

    def updated(self, good: float, lost: float) -> "MountYield":
        """Return what is known after so many more good and lost pieces.

        >>> MountYield(9, 1).updated(17, 3)
        MountYield(good=26, lost=4)
        """
        return MountYield(self.good + counted(good), self.lost + counted(lost))

    def quantile(self, level: float) -> float:
        """Return the share of good pieces that the true one lies below with this chance.

        >>> round(MountYield(26, 4).quantile(0.05), 6)
        0.753861
        """
        from scipy.special import betaincinv

        return float(betaincinv(self.good, self.lost, share(level)))

    def good_probability(self, good: int, pieces: int) -> float:
        """Return the chance that exactly so many of the next pieces come out good.

        Formula: beta-binomial, C(n, k) B(a + k, b + n - k) / B(a, b).

        >>> round(MountYield(26, 4).good_probability(4, 4), 6)
        0.580425
        """
        if not 0 <= good <= pieces:
            return 0.0
        lost = pieces - good
        ways = math.lgamma(pieces + 1) - math.lgamma(good + 1) - math.lgamma(lost + 1)
        change = log_beta(self.good + good, self.lost + lost) - log_beta(self.good, self.lost)
        return math.exp(ways + change)


def exact_interval(good: int, tried: int, level: float = 0.95) -> tuple[float, float]:
    """Return the exact interval of the share behind a count such as "18 of 20 good".

    Source: Clopper and Pearson 1934, by quantiles of the beta distribution.

    >>> tuple(round(end, 3) for end in exact_interval(18, 20))
    (0.683, 0.988)
    """
    from scipy.special import betaincinv

    if not 0 <= good <= tried or tried < 1:
        raise BadValueError(f"{good} good of {tried} cannot be.", "Count the pieces again.")
    half = (1 - share(level)) / 2
    low = float(betaincinv(good, tried - good + 1, half)) if good else 0.0
    high = float(betaincinv(good + 1, tried - good, 1 - half)) if good < tried else 1.0
    return low, high


def log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)


def above_zero(value: float, what: str) -> None:
    if not 0 < value < math.inf:
        raise BadValueError(f"The {what} cannot be {value}.", "It must be above zero.")


def counted(value: float) -> float:
    if not 0 <= value < math.inf:
        raise BadValueError(f"{value} cannot have been counted.", "It must be zero or more.")
    return value


def share(level: float) -> float:
    if not 0 <= level < 1:
        raise BadValueError(f"{level} is not an assurance.", "It must be from 0 up to below 1.")
    return level
