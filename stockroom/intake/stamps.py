"""Dates with times of day, and Unix times, of many rows at once as the numbers that stand there."""

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.intake.shapes import Cells, number
from stockroom.units import SECONDS_PER_DAY

Ints = NDArray[np.int64]

NO_OFFSET = 10**6
"""Stands for "no offset written" in an array of offsets, s."""
FIRST_EPOCH_S, LAST_EPOCH_S = 1_000_000_000, 4_102_444_800
"""Unix times taken, s: ten digits, September 2001 to the end of 2099 (our choice)."""

_DATE = r"([0-9]{1,4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,4})"
_HALF = r"([AP])\.?M\.?"
_CLOCK = rf"([0-9]{{1,2}}):([0-9]{{2}})(?::([0-9]{{2}})(?:[.,][0-9]{{1,9}})?)?(?: ?{_HALF})?"
_OFFSET = r"(Z|(?:UTC|GMT)?[+-][0-9]{1,2}(?::?[0-9]{2})?|UTC|GMT)"
_ANY = re.ASCII | re.IGNORECASE
STAMP = re.compile(rf"{_DATE}[ T,]{{1,3}}{_CLOCK}(?: ?{_OFFSET})?", _ANY)
"""A date with a time of day: ISO 8601, or numbers with points, strokes or hyphens."""
DAY = re.compile(_DATE, _ANY)
CLOCK = re.compile(rf"{_CLOCK}(?: ?{_OFFSET})?", _ANY)
CLOCK_AT_END = re.compile(rf"[0-9]:[0-9.,:]*(?: ?{_HALF})?(?: ?{_OFFSET})?$", _ANY)
"""The end of a cell with a time of day; what it says of the half of the day, and of an offset."""
HALF_DAY = re.compile(_HALF, _ANY)
"""AM or PM in a cell of its own."""
OFFSET = re.compile(r"Z|(?:UTC|GMT)(?:[+-][0-9]{1,2}(?::?[0-9]{2})?)?|[+-][0-9]{2}:[0-9]{2}", _ANY)
"""An offset from UTC in a cell of its own; a bare +2 is not taken for one."""
EPOCH = re.compile(r"([0-9]{10})(?:[0-9]{3}|\.[0-9]{1,9})?", re.ASCII)
"""A Unix time: seconds, with a fraction or without, or milliseconds."""
_OFFSET_PARTS = re.compile(r"([+-])([0-9]{1,2}):?([0-9]{2})?$")


@dataclass(frozen=True, slots=True, eq=False)
class Stamps:
    """Times of rows as the numbers that stand in them, before the order of the date is known.

    Attributes
    ----------
    first, second, third : int64 arrays (n,)
        The three numbers of the date as written.
    clock_s : int64 array (n,)
        Seconds since midnight.
    offset_s : int64 array (n,)
        Offset from UTC, s, east positive; `NO_OFFSET` where none is written.
    half : bool array (n,)
        Written with AM or PM.
    """

    first: Ints
    second: Ints
    third: Ints
    clock_s: Ints
    offset_s: Ints
    half: NDArray[np.bool_]


def read_stamps(cells: Cells) -> Stamps | int:
    """Return the times in cells, or the index of the first cell that is no time.

    >>> read_stamps(Cells.of(["2026-05-01 10:00", "x"]))
    1
    """
    # first, second, third, hour, minute, second, half of the day, offset; -1 in `half`: no time
    table = np.zeros((8, len(cells)), np.int64)
    table[6] = -1
    for text, rows, letters in cells.shapes():
        found = STAMP.fullmatch(text)
        if found and len(rows) == len(cells):
            table = _of_shape(found, letters)
        elif found:
            table[:, rows] = _of_shape(found, letters)
    for row in np.flatnonzero(table[6] < 0).tolist():
        found = STAMP.fullmatch(cells.text(row))
        if not found:
            return row
        table[:, row] = _of_one(found)
    first, second, third, hour, minute, seconds, half, offset_s = table
    halved = half > 0
    wrong = (minute > 59) | (seconds > 60) | (halved & ((hour < 1) | (hour > 12)))
    clock_s = np.where(halved, hour % 12 + 12 * (half > 1), hour) * 3600 + minute * 60 + seconds
    wrong |= clock_s > SECONDS_PER_DAY
    wrong |= (offset_s != NO_OFFSET) & (np.abs(offset_s) > 14 * 3600)
    if wrong.any():
        return int(np.argmax(wrong))
    return Stamps(first, second, third, clock_s, offset_s, halved)


def _of_shape(found: re.Match[str], letters: NDArray[np.uint8]) -> Ints:
    """Return the eight numbers of cells that a pattern fits alike."""
    table = np.zeros((8, letters.shape[1]), np.int64)
    for group in range(1, 7):
        start, end = found.span(group)
        table[group - 1] = number(letters[start:end]) if end > start else 0
    if found[7]:
        table[6] = np.where(letters[found.start(7)] | 32 == ord("p"), 2, 1)
    table[7] = NO_OFFSET
    if found[8]:
        table[7] = 0
        parts = _OFFSET_PARTS.search(found[8])
        if parts:
            at = found.start(8)
            hours = number(letters[at + parts.start(2) : at + parts.end(2)])
            minutes = number(letters[at + parts.start(3) : at + parts.end(3)]) if parts[3] else 0
            table[7] = (hours * 3600 + minutes * 60) * (-1 if parts[1] == "-" else 1)
    return table


def _of_one(found: re.Match[str]) -> list[int]:
    """Return the eight numbers of one cell."""
    half = {"": 0, "a": 1, "p": 2}[(found[7] or "").lower()]
    offset_s = NO_OFFSET
    if found[8]:
        parts = _OFFSET_PARTS.search(found[8])
        size_s = int(parts[2]) * 3600 + int(parts[3] or 0) * 60 if parts else 0
        offset_s = -size_s if parts and parts[1] == "-" else size_s
    return [*(int(found[group] or 0) for group in range(1, 7)), half, offset_s]


def read_epochs(cells: Cells) -> Stamps | int:
    """Return Unix times in cells as dates in UTC, or the index of the first cell that is none.

    >>> read_epochs(Cells.of(["1777651200"])).clock_s.tolist()
    [57600]
    """
    at_s = np.full(len(cells), -1, np.int64)
    for text, rows, letters in cells.shapes():
        if EPOCH.fullmatch(text):
            at_s[rows] = number(letters[:10])
    for row in np.flatnonzero(at_s < 0):
        found = EPOCH.fullmatch(cells.text(int(row)))
        if not found:
            return int(row)
        at_s[row] = int(found[1])
    wrong = (at_s < FIRST_EPOCH_S) | (at_s > LAST_EPOCH_S)
    if wrong.any():
        return int(np.argmax(wrong))
    day, clock_s = np.divmod(at_s, SECONDS_PER_DAY)
    days = day.astype("datetime64[D]")
    months = days.astype("datetime64[M]")
    return Stamps(
        months.astype(np.int64) // 12 + 1970,
        months.astype(np.int64) % 12 + 1,
        (days - months).astype(np.int64) + 1,
        clock_s,
        np.zeros(len(at_s), np.int64),
        np.zeros(len(at_s), np.bool_),
    )
