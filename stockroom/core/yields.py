"""What a shop knows of its losses: print defects by area, mounts good and lost."""

import math
from dataclasses import dataclass

from stockroom.core.constants import (
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
        return math.exp(-self.shape * math.log1p(counted(area_m2) / self.area_m2))


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
