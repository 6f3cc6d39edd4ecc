"""How a new log agrees with those that stand: what was known, where it differs, by how much."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import Readings, covers, merge, usable, window
from stockroom.core.constants import SENSOR_SPREAD

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Overlap:
    """What a new log has in common with the logs that stand.

    Attributes
    ----------
    readings : int
        Readings of the new log.
    known : int
        Of these, how many stand already in one of the others: at the same stamp, with the same
        temperature and no other humidity.
    differing : int
        Stamps at which what was not known differs from what stands: at all at one stamp, by more
        than the sensors' spread where one of the two was read between stamps. The warmer counts.
    largest_difference_k : float
        The largest of these differences, K; 0 where there is none.
    """

    readings: int
    known: int
    differing: int
    largest_difference_k: float

    @property
    def nothing_new(self) -> bool:
        """Whether every reading was known already, and lines between them raise nothing."""
        return self.readings > 0 and self.known == self.readings and not self.differing


def overlap(standing: Sequence[Readings], new: Readings) -> Overlap:
    """Return what a new log has in common with logs that stand, by the rules of `merge`.

    Parameters
    ----------
    standing : sequence of Readings
        The logs that stand, each as it was taken in; of a long one, the stretch beside the new
        log and a little more is enough.
    new : Readings
        The log to compare, rounded as it will be kept.

    >>> stands = Readings.of([0, 900, 1800], [4.0, 4.0, 4.0])
    >>> overlap([stands], Readings.of([900, 1800, 2700], [4.0, 6.5, 4.0]))
    Overlap(readings=3, known=1, differing=1, largest_difference_k=2.5)
    """
    log = usable(new)
    known = np.zeros(len(new), np.bool_)
    seen = np.zeros(len(log), np.bool_)
    seen_to_next = np.zeros(max(0, len(log) - 1), np.bool_)
    for run in standing:
        known |= _stands_in(run, new)
        held = usable(run)
        at, hit = _found(held, log.t_s)
        same = hit & (_at(held.temp_c, at) == log.temp_c)
        seen |= same
        seen_to_next |= same[1:] & same[:-1] & (np.diff(at) == 1)
    stands = usable(merge(standing)[0])
    if not len(stands) or not len(log):
        return Overlap(len(new), int(np.count_nonzero(known)), 0, 0.0)

    beside = window(stands, int(log.t_s[0]), int(log.t_s[-1]))
    t = np.union1d(beside.t_s, log.t_s)
    told = covers(stands, t) & covers(log, t)
    apart = np.abs(np.interp(t, stands.t_s, stands.temp_c) - np.interp(t, log.t_s, log.temp_c))
    at, own = _found(log, t)
    known_there = np.where(own, _at(seen, at), _at(seen_to_next, at - 1))
    at_one_stamp = own & _found(stands, t)[1]
    differs = told & ~known_there & (apart > np.where(at_one_stamp, 0.0, SENSOR_SPREAD.value))
    return Overlap(
        len(new),
        int(np.count_nonzero(known)),
        int(np.count_nonzero(differs)),
        float(apart[differs].max()) if differs.any() else 0.0,
    )


def _stands_in(run: Readings, new: Readings) -> Bools:
    """Which readings of a new log one that stands holds already; one without a value adds none."""
    at, hit = _found(run, new.t_s)
    held = usable(run)
    warm_at, warm_hit = _found(held, new.t_s)
    none = ~np.isin(new.t_s, usable(new).t_s)
    same = none | (warm_hit & (_at(held.temp_c, warm_at) == new.temp_c))
    dry = np.isnan(new.rh_pct) | (_at(run.rh_pct, at) == new.rh_pct)
    known: Bools = hit & same & dry
    return known


def _found(log: Readings, at_s: NDArray[np.int64]) -> tuple[NDArray[np.intp], Bools]:
    """Where instants stand among a log's stamps, and whether one stands just there."""
    at = np.searchsorted(log.t_s, at_s, "left")
    return at, np.isin(at_s, log.t_s)


def _at(values: NDArray[np.generic], at: NDArray[np.intp]) -> NDArray[np.generic]:
    """Values by position; a position beyond them gives some value, which `_found` tells apart."""
    if not len(values):
        return np.zeros(len(at), values.dtype)
    return values[np.clip(at, 0, len(values) - 1)]
