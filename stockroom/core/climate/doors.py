"""Short rises of temperature, as an opened door or a defrost makes them, found in a log."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import Readings, step_s
from stockroom.core.climate.windows import logged
from stockroom.core.constants import (
    DOOR_BEFORE,
    DOOR_COARSEST,
    DOOR_LONGEST,
    DOOR_QUICK,
    DOOR_RISE,
    DOOR_UNREST,
)

Unseen = Literal["too coarse", "too few readings"]
"""Why no short rise can be seen in a log at all."""

LEAST_READINGS = 8
"""A log shorter than this tells nothing of what is usual (our choice)."""
LEVEL = 0.5
"""Down to so much of the least rise counts as back (our choice)."""
AT_ONCE = 20_000
"""So many places in the log are looked at together, to bound the memory used (our choice)."""

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Door:
    """A short rise: a door was open, or the cooler defrosted; the log cannot tell which.

    Attributes
    ----------
    from_s, to_s : int
        First raised reading, and first one back again, s UTC.
    peak_c : float
        Highest reading, °C.
    rise_k : float
        How far that is above what it was just before, K.
    """

    from_s: int
    to_s: int
    peak_c: float
    rise_k: float


def unseen(readings: Readings) -> Unseen | None:
    """Return why `doors` can find nothing in this log whatever happened, or None where it can.

    >>> unseen(Readings.of(range(0, 36_000, 3_600), [4.0] * 10))
    'too coarse'
    """
    log = logged(readings)
    return _unseen(len(log), step_s(log))


def doors(
    readings: Readings,
    rise_k: float = DOOR_RISE.value,
    longest_s: float = DOOR_LONGEST.value,
    besides: Sequence[tuple[int, int]] = (),
) -> list[Door]:
    """Return the short rises of a log, in order of time: a door, or a defrost.

    What it was just before is the median of the readings in the hour before a reading (at most as
    many as the log's usual step puts into an hour, and at least half as many). The least rise is
    `rise_k`, or five times the median deviation of that hour where this is more. A rise starts at
    a reading further above than that, where going back one meets a reading at most half as far
    above within a quarter of an hour (or one and a half usual steps), and before any other one
    that is raised. It ends at the first later reading at most half as far above. It counts where
    that comes within `longest_s` of its start; what goes on longer, and what a log stops short
    of, does not.

    A compressor's swing of ±1 K never counts by itself: it rises by 2 K at most.

    Parameters
    ----------
    readings : Readings
        Of one place; unusable ones and those filled in are dropped.
    rise_k : float
        Least rise, K.
    longest_s : float
        Longest time from the first raised reading to the first one back, s; above half an hour a
        step of the log could be mistaken for it.
    besides : sequence of (from_s, to_s)
        Stretches that count as excursions: a rise that touches one is no short rise.

    Returns
    -------
    list of Door
        Empty as well where the log is too coarse or too short to tell: see `unseen`.

    Raises
    ------
    ValueError
        Where a number cannot be.

    >>> minutes = np.arange(0, 180 * 60, 60)
    >>> temp = np.full(180, 4.0)
    >>> temp[90:96] = [6.0, 8.5, 8.0, 7.0, 6.0, 5.0]
    >>> doors(Readings.of(minutes, temp))
    [Door(from_s=5460, to_s=5700, peak_c=8.5, rise_k=4.5)]
    """
    if not 0 < rise_k < math.inf:
        raise ValueError("the least rise must be above zero")
    if not 0 < longest_s <= DOOR_LONGEST.value:
        raise ValueError("a short rise lasts up to half an hour")
    log = logged(readings)
    usual_s = step_s(log)
    if _unseen(len(log), usual_s) is not None:
        return []
    hour = max(2, round(DOOR_BEFORE.value / usual_s))
    likely = _likely(log.temp_c, hour, rise_k)
    quick_s = max(DOOR_QUICK.value, 1.5 * usual_s)
    found: list[Door] = []
    for first in range(0, len(likely), AT_ONCE):
        part = likely[first : first + AT_ONCE]
        found += _found(log, part, hour, rise_k, quick_s, longest_s)
    found = [door for door, last in zip(found, [None, *found], strict=False) if _after(door, last)]
    return [
        door
        for door in found
        if not any(door.from_s <= to_s and from_s <= door.to_s for from_s, to_s in besides)
    ]


def _unseen(count: int, usual_s: float) -> Unseen | None:
    if count < LEAST_READINGS:
        return "too few readings"
    return "too coarse" if usual_s > DOOR_COARSEST.value else None


def _after(door: Door, last: Door | None) -> bool:
    return last is None or door.from_s >= last.to_s


def _likely(temp_c: Floats, hour: int, rise_k: float) -> Ints:
    """Return where a rise may start: higher than the reading before, and than the hour's lowest."""
    low = _lowest_before(temp_c, hour)
    rising = np.diff(temp_c, prepend=np.inf) > 0
    return np.flatnonzero(rising & (temp_c - low > rise_k))


def _lowest_before(temp_c: Floats, count: int) -> Floats:
    """Return the lowest of so many readings before each one, the reading itself left out.

    Windows of twice the length are made from two of the length before, so that the work grows
    with the logarithm of the count; the last one is made of two that overlap.
    """
    low = np.concatenate(([np.inf], temp_c[:-1]))
    wide = 1
    while wide < count:
        by = min(wide, count - wide)
        low[by:] = np.minimum(low[by:], low[:-by])
        wide += by
    return low


def _found(
    log: Readings, at: Ints, hour: int, rise_k: float, quick_s: float, longest_s: float
) -> list[Door]:
    t, temp = log.t_s, log.temp_c
    base, unrest = _before(log, at, hour)
    least_k = np.maximum(rise_k, DOOR_UNREST.value * unrest)
    level, raised = base + LEVEL * least_k, base + least_k

    back = int((at - np.searchsorted(t, t[at] - quick_s, "left")).max(initial=0))
    before = at[:, None] - np.arange(1, back + 1)
    near = (before >= 0) & (t[at][:, None] - t[before] <= quick_s)
    was = np.where(near, temp[before], np.nan)
    low = was <= level[:, None]  # nothing that is not there is low
    calm = _first(low) < _first(was > raised[:, None])
    starts = (temp[at] > raised) & low.any(axis=1) & calm
    at, base, level = at[starts], base[starts], level[starts]
    if not len(at):
        return []

    ahead = int((np.searchsorted(t, t[at] + longest_s, "right") - at).max())
    after = at[:, None] + np.arange(ahead)
    there = after < len(t)
    after = np.minimum(after, len(t) - 1)
    there &= t[after] - t[at][:, None] <= longest_s
    value = np.where(there, temp[after], np.nan)
    right = value <= level[:, None]
    end = _first(right)
    ends = right.any(axis=1)
    during = np.arange(ahead) < end[:, None]
    peak = np.where(during & there, value, -np.inf).max(axis=1)
    return [
        Door(int(t[start]), int(t[start + length]), float(high), float(high - usual))
        for start, length, high, usual in zip(
            at[ends], end[ends], peak[ends], base[ends], strict=True
        )
    ]


def _before(log: Readings, at: Ints, hour: int) -> tuple[Floats, Floats]:
    """Return median, and median deviation from it, of the hour before some readings.

    Both are NaN where less than half of it is known.
    """
    rows = at[:, None] - np.arange(1, hour + 1)
    known = (rows >= 0) & (log.t_s[at][:, None] - log.t_s[rows] <= DOOR_BEFORE.value)
    known &= (2 * known.sum(axis=1) >= hour)[:, None]
    value = log.temp_c[rows]
    median = _median(value, known)
    return median, _median(np.abs(value - median[:, None]), known)


def _median(value: Floats, known: NDArray[np.bool_]) -> Floats:
    """Return the median of each row's known values; NaN where there is none."""
    count = known.sum(axis=1)
    rising = np.sort(np.where(known, value, np.inf), axis=1)
    each = np.arange(len(value))
    lower = rising[each, np.maximum(0, count - 1) // 2]
    upper = rising[each, np.minimum(count // 2, value.shape[1] - 1)]
    median = np.full(len(value), np.nan)
    median[count > 0] = (lower[count > 0] + upper[count > 0]) / 2
    return median


def _first(where: NDArray[np.bool_]) -> Ints:
    """Return the first true column of each row; the number of columns where there is none."""
    if not where.shape[1]:
        return np.zeros(len(where), np.int64)
    first: Ints = np.where(where.any(axis=1), where.argmax(axis=1), where.shape[1])
    return first
