"""Wall-clock times of a file to UTC, summer time settled by the order of the rows."""

from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray

from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY

Ints = NDArray[np.int64]

REGULAR_SHARE = 0.25
"""A step within this share of the median step is regular (our choice)."""
MOST_RUNS = 2_000
"""Runs of rows in a doubled hour that are looked at; beyond it all stay ambiguous (our choice)."""
MOST_BACK_SHARE = 0.01
"""Share of backward steps elsewhere from which a file's order settles nothing (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class WallTimes:
    """Instants of rows, and what had to be done about summer time.

    Attributes
    ----------
    t_s : int64 array (n,)
        Seconds UTC, in the order of the rows given.
    ambiguous : bool array (n,)
        Rows in an hour that comes twice whose place the order of the file does not prove.
    settled : int
        Rows in such an hour that it does settle.
    skipped : bool array (n,)
        Rows with a time that does not exist (the clocks went forward); shifted forward.
    """

    t_s: Ints
    ambiguous: NDArray[np.bool_]
    settled: int
    skipped: NDArray[np.bool_]


def zone_of(zone: str) -> ZoneInfo:
    """Return a time zone by its name, or raise `BadValueError`."""
    try:
        return ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise BadValueError(
            f"{safe(zone, length=60)!r} is not a time zone.",
            "A name of the public time zone list is wanted.",
            "Type it like Europe/Berlin or UTC.",
        ) from error


def changes(zone: ZoneInfo, from_s: int, to_s: int) -> tuple[Ints, Ints]:
    """Return the instants at which a zone's offset changes, and the offsets around them.

    Found by comparing days and halving; two changes within one day would be missed.

    Returns
    -------
    at_s : int64 array (k,)
        Instants, s UTC, between about `from_s` and `to_s`.
    offset_s : int64 array (k + 1,)
        Offset before the first, between them, and after the last, s.
    """
    low = (from_s // SECONDS_PER_DAY - 2) * SECONDS_PER_DAY
    high = (to_s // SECONDS_PER_DAY + 3) * SECONDS_PER_DAY
    at: list[int] = []
    offsets = [_offset_s(zone, low)]
    for day in range(low + SECONDS_PER_DAY, high + 1, SECONDS_PER_DAY):
        after = _offset_s(zone, day)
        if after == offsets[-1]:
            continue
        left, right = day - SECONDS_PER_DAY, day
        while right - left > 1:
            middle = (left + right) // 2
            if _offset_s(zone, middle) == offsets[-1]:
                left = middle
            else:
                right = middle
        at.append(right)
        offsets.append(after)
    return np.array(at, np.int64), np.array(offsets, np.int64)


def _offset_s(zone: ZoneInfo, instant_s: int) -> int:
    offset = datetime.fromtimestamp(instant_s, UTC).astimezone(zone).utcoffset()
    return int(offset.total_seconds()) if offset is not None else 0


def to_utc(wall_s: Ints, zone: ZoneInfo) -> WallTimes:
    """Return instants of wall-clock times.

    Where clocks go back, an hour comes twice. In a file as it was recorded the written time falls
    once in that hour, where the second pass begins. Rows are moved to it only on such proof:

    - the time falls once among them, by a step that is usual for the log, or by any step where
      nothing else in the file is out of order and readings stand before and after that hour;
    - the time does not fall, but readings stand before and after, and there is just one way in
      which every step from the one to the other is usual (a log that is read each hour, or less
      often). Two rows with the same time are placed so, but stay marked: a file that was sorted
      may have swapped them.

    All other rows of such an hour are marked ambiguous and read as the first pass.
    Where clocks go forward, a time that does not exist is shifted forward by the change.

    Parameters
    ----------
    wall_s : int64 array (n,)
        Wall-clock seconds since 1970-01-01 00:00 local, in the order of the file, oldest first.
    zone : ZoneInfo
        Where the clock hung.

    >>> wall_s = 18_196 * 86_400 + np.array([1, 2, 2, 3]) * 3_600  # 27 October 2019
    >>> (to_utc(wall_s, ZoneInfo("Europe/Berlin")).t_s // 3_600 % 24).tolist()
    [23, 0, 1, 2]
    """
    n = len(wall_s)
    none = np.zeros(n, np.bool_)
    if not n:
        return WallTimes(wall_s, none, 0, none)
    at_s, offset_s = changes(zone, int(wall_s.min()), int(wall_s.max()))
    by_old = np.searchsorted(at_s + offset_s[:-1], wall_s, side="right")
    by_new = np.searchsorted(at_s + offset_s[1:], wall_s, side="right")
    skipped = by_old > by_new
    doubled = by_new > by_old
    first_pass = np.minimum(by_old, by_new)
    t_s = wall_s - offset_s[first_pass]
    if not doubled.any():
        return WallTimes(t_s, none, 0, skipped)
    shift_s = offset_s[first_pass] - offset_s[np.maximum(by_old, by_new)]
    steps = np.diff(wall_s)
    step_s = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    ambiguous = _settle(t_s, doubled, first_pass, shift_s, step_s)
    return WallTimes(t_s, ambiguous, int(np.count_nonzero(doubled & ~ambiguous)), skipped)


def _settle(
    t_s: Ints,
    doubled: NDArray[np.bool_],
    change: NDArray[np.intp],
    shift_s: Ints,
    step_s: float,
) -> NDArray[np.bool_]:
    """Move rows of a second pass to their instants in place; return the rows left open."""
    ambiguous = doubled.copy()
    steps = np.diff(t_s)
    if 2 * np.count_nonzero(steps < 0) >= np.count_nonzero(steps):
        return ambiguous  # which way the file runs is not clear
    near = doubled[1:] | doubled[:-1]
    backward = np.count_nonzero((steps < 0) & ~near)
    if not step_s or backward > MOST_BACK_SHARE * len(t_s):
        return ambiguous
    edge = np.flatnonzero(np.diff(doubled) | (near & (np.diff(change) != 0))) + 1
    bounds = [0, *edge.tolist(), len(t_s)]
    runs = [(a, b) for a, b in pairwise(bounds) if doubled[a]]
    if len(runs) > MOST_RUNS:
        return ambiguous
    for start, end in runs:
        run = _Run(t_s[max(0, start - 1) : end + 1], start > 0, end < len(t_s), step_s)
        found = run.second_pass(int(shift_s[start]), orderly=not backward)
        if found:
            split, proven = found
            t_s[start + split : end] += shift_s[start]
            ambiguous[start:end] = not proven
    return ambiguous


@dataclass(frozen=True, slots=True, eq=False)
class _Run:
    """Rows in a doubled hour read as its first pass, with a neighbour before and after if any."""

    t_s: Ints
    has_before: bool
    has_after: bool
    step_s: float

    def second_pass(self, shift_s: int, *, orderly: bool) -> tuple[int, bool] | None:
        """Return after how many rows the second pass begins and whether the rows are sure in it."""
        steps = np.diff(self.t_s)
        whole = self.has_before and self.has_after
        inside = steps[int(self.has_before) : len(steps) - int(self.has_after)]
        fallen = np.flatnonzero(inside < 0)
        if len(fallen) == 0 and whole:
            return self._only_usual(steps, shift_s)
        if len(fallen) != 1:
            return None
        crossing = inside[fallen] + shift_s
        if crossing[0] <= 0 or not (self._usual(crossing)[0] or (whole and orderly)):
            return None
        if (self.has_before and steps[0] < 0) or (self.has_after and steps[-1] < shift_s):
            return None
        return int(fallen[0]) + 1, True

    def _only_usual(self, steps: Ints, shift_s: int) -> tuple[int, bool] | None:
        """Return the one place for the second pass with which every step is usual, if there is."""
        within, last = steps[:-1], steps[-1:]  # a second pass before row i makes within[i] longer
        odd = ~self._usual(within)
        moved = odd.sum() - odd + ~self._usual(within + shift_s) + ~self._usual(last - shift_s)
        stayed = odd.sum() + ~self._usual(last)
        fitting = np.flatnonzero(np.concatenate([moved, stayed]) == 0)
        if len(fitting) != 1:
            return None
        at = int(fitting[0])
        return at, not (0 < at < len(within) and within[at] == 0)

    def _usual(self, steps: Ints) -> NDArray[np.bool_]:
        usual: NDArray[np.bool_] = np.abs(steps - self.step_s) <= REGULAR_SHARE * self.step_s
        return usual
