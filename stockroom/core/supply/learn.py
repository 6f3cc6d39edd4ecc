"""What deliveries and the job history teach: how long orders take and last, what work will come."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, sqrt

import numpy as np
from numpy.typing import NDArray

from stockroom.core.supply.state import Losses, State, Ware, Work
from stockroom.core.yields import MountYield, PrintYield

Floats = NDArray[np.float64]

LEAD_PRIOR_DAYS, LEAD_PRIOR_SPREAD, LEAD_PRIOR_COUNT = 21.0, 0.3, 3.0
"""A delivery before any was seen: mean, standard deviation as a part of it, and how many
deliveries that is worth (our choice; the spread is common practice)."""
LIFE_PRIOR_SHARE = 0.8
"""Where only one life on arrival is known, others are thought to lie between this part of it and
it (our choice)."""
FORGETTING_DAYS = 540.0
"""Jobs of the past count less with age: to 1/e after so many days (our choice), so that the rate of
a dying material decays."""


@dataclass(frozen=True, slots=True)
class Lead:
    """How long an order takes: gamma distributed.

    Attributes
    ----------
    mean, spread : float
        Days, and the standard deviation as a part of the mean.
    count : int
        Deliveries it was learned from; none, and it is the prior of this file.
    """

    mean: float
    spread: float
    count: int

    @property
    def shape(self) -> float:
        """The gamma distribution's shape."""
        return self.spread**-2

    def quantile(self, level: float) -> float:
        """Return the days within which an order comes with this chance.

        >>> round(Lead(20, 0.5, 9).quantile(0.95), 1)
        38.8
        """
        from scipy.special import gammaincinv

        return float(gammaincinv(self.shape, level)) * self.mean / self.shape

    def within(self, days: float) -> float:
        """Return the chance that an order comes within so many days."""
        from scipy.special import gammainc

        return float(gammainc(self.shape, max(0.0, days) * self.shape / self.mean))

    def draws(self, levels: Floats, waited: float = 0.0) -> Floats:
        """Return days from the order, one for each level between 0 and 1.

        Parameters
        ----------
        levels : float64 array
        waited : float
            Days since the order in which it did not come: what is known of those still open.
        """
        from scipy.special import gammaincinv

        passed = self.within(waited) if waited > 0 else 0.0
        levels = passed + np.minimum(levels, 1 - 1e-9) * (1 - passed)
        levels = np.minimum(levels, 1 - 1e-9)
        found: Floats = gammaincinv(self.shape, levels) * self.mean / self.shape
        return np.maximum(found, waited)


def lead_of(days: Sequence[float]) -> Lead:
    """Return what past deliveries teach of the next: mean and spread, each shrunk to the prior.

    >>> lead_of([]).mean
    21.0
    """
    if not days:
        return Lead(LEAD_PRIOR_DAYS, LEAD_PRIOR_SPREAD, 0)
    mean = sum(days) / len(days)
    if mean <= 0:
        return Lead(0.01, LEAD_PRIOR_SPREAD, len(days))
    squares = sum((day / mean - 1) ** 2 for day in days)
    squares += LEAD_PRIOR_COUNT * LEAD_PRIOR_SPREAD**2
    spread = sqrt(squares / (max(0, len(days) - 1) + LEAD_PRIOR_COUNT))
    return Lead(mean, max(spread, 0.02), len(days))


def lives_of(ware: Ware) -> Floats | None:
    """Return lives on arrival that are thought equally likely, days; None where it keeps.

    Those seen, and between them: each of nineteen levels of their distribution, a step beyond the
    least and the most at both ends.
    """
    if not ware.life_days:
        return None
    seen = np.sort(np.array(ware.life_days, float))
    if len(seen) == 1:
        return np.linspace(LIFE_PRIOR_SHARE * seen[0], seen[0], 19)
    step = (seen[-1] - seen[0]) / (len(seen) + 1)
    seen[0], seen[-1] = max(1.0, seen[0] - step), seen[-1] + step
    levels: Floats = np.quantile(seen, np.linspace(0.025, 0.975, 19))
    return levels


@dataclass(frozen=True, slots=True, eq=False)
class Coming:
    """Work that may come: how many jobs a day, and jobs of the past that it may be like.

    Attributes
    ----------
    shape, days : float
        Jobs a day are gamma distributed: shape, and rate in days.
    notice : float64 array (n,)
        Of each past job, days from when it was known to when it could begin.
    due : float64 array (n,)
        Days from when it could begin to when it was due.
    pieces : int64 array (n,)
    area_m2 : float64 array (n,)
    per_print, per_mount : float64 array (n,)
        What a print, and a mount, took of the ware.
    weight : float64 array (n,)
        How much each counts, in all 1.
    mounted : bool array (n,)
        Whether its pieces are mounted, and may be lost there.
    """

    shape: float
    days: float
    notice: Floats
    due: Floats
    pieces: NDArray[np.int64]
    area_m2: Floats
    per_print: Floats
    per_mount: Floats
    weight: Floats
    mounted: NDArray[np.bool_]

    def use(self, prints: PrintYield, mounts: MountYield) -> tuple[float, float]:
        """Return mean use a day over the long run with its losses, and its variance a day.

        Compound Poisson: the rate times the mean, and times the mean square, of one job's use.
        """
        passes = np.array([prints.pass_probability(float(area)) for area in self.area_m2])
        good = np.where(self.mounted, mounts.mean, 1.0)
        used = self.pieces / good * (self.per_print / passes + self.per_mount)
        rate = self.shape / self.days
        return (
            rate * float((self.weight * used).sum()),
            rate * float((self.weight * used**2).sum()),
        )

    @property
    def per_try(self) -> float:
        """Mean amount of one try."""
        pieces = self.weight * self.pieces
        return float((pieces * (self.per_print + self.per_mount)).sum() / pieces.sum())


def yields_of(losses: Losses) -> tuple[PrintYield, MountYield]:
    """Return what the counted losses teach of prints and mounts."""
    return (
        PrintYield().updated(losses.prints_lost, losses.printed_m2),
        MountYield().updated(losses.mounts_good, losses.mounts_lost),
    )


def coming_of(state: State, code: str, history: Iterable[Work] | None = None) -> Coming | None:
    """Return what work may come for a ware, from the history; None where none ever needed it."""
    jobs = [
        job
        for job in (state.history if history is None else history)
        if code in job.per_print or code in job.per_mount
    ]
    if not jobs or state.history_days <= 0:
        return None
    ages = np.array([max(0, state.day - job.known) for job in jobs], float)
    weight = np.exp(-ages / FORGETTING_DAYS)
    days = FORGETTING_DAYS * (1 - exp(-state.history_days / FORGETTING_DAYS))
    return Coming(
        shape=float(weight.sum()) + 0.5,
        days=days,
        notice=np.array([job.start - job.known for job in jobs], float),
        due=np.array([job.due - job.start for job in jobs], float),
        pieces=np.array([job.to_print + job.to_mount for job in jobs], np.int64),
        area_m2=np.array([job.area_m2 for job in jobs], float),
        per_print=np.array([job.per_print.get(code, 0.0) for job in jobs]),
        per_mount=np.array([job.per_mount.get(code, 0.0) for job in jobs]),
        weight=weight / weight.sum(),
        mounted=np.array([job.mounted for job in jobs], bool),
    )
