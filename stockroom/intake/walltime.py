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

_BACKWARD, _IRREGULAR = 1000.0, 1.0


@dataclass(frozen=True, slots=True, eq=False)
class WallTimes:
    """Instants of rows, and what had to be done about summer time.

    Attributes
    ----------
    t_s : int64 array (n,)
        Seconds UTC, in the order of the rows given.
    ambiguous : bool array (n,)
        Rows in an hour that comes twice whose place the order of the file does not settle.
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

    Where clocks go back, an hour comes twice. For each run of rows in it, every place at which the
    second pass may begin is tried; the one that leaves the fewest irregular steps (none backward)
    is taken if it is the only such. Else the rows are marked ambiguous and read as the first pass.
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
        split = _second_pass_from(t_s, start, end, int(shift_s[start]), step_s)
        if split is not None:
            t_s[start + split : end] += shift_s[start]
            ambiguous[start:end] = False
    return ambiguous


def _second_pass_from(t_s: Ints, start: int, end: int, shift_s: int, step_s: float) -> int | None:
    """Return after how many rows of a run the second pass begins, or None where it is open."""
    inside = np.diff(t_s[start:end])
    crossing = _cost(inside + shift_s, step_s) - _cost(inside, step_s)
    total = np.concatenate([[0.0], crossing, [0.0]]) + _cost(inside, step_s).sum()
    if start > 0:
        before = t_s[start] - t_s[start - 1 : start]
        total[0] += _cost(before + shift_s, step_s)[0]
        total[1:] += _cost(before, step_s)[0]
    if end < len(t_s):
        after = t_s[end : end + 1] - t_s[end - 1]
        total[-1] += _cost(after, step_s)[0]
        total[:-1] += _cost(after - shift_s, step_s)[0]
    best = np.flatnonzero(total == total.min())
    return int(best[0]) if len(best) == 1 and total.min() < _BACKWARD else None


def _cost(steps: Ints, step_s: float) -> NDArray[np.float64]:
    irregular = np.abs(steps - step_s) > REGULAR_SHARE * step_s
    return np.where(steps < 0, _BACKWARD, np.where(irregular, _IRREGULAR, 0.0))
