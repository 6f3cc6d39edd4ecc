"""Dates and times as files write them, and proof of which number is the day."""

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Order = Literal["year first", "day first", "month first"]
Ints = NDArray[np.int64]

FIRST_YEAR, LAST_YEAR = 1980, 2100
"""Years taken; outside them a clock was not set (our choice: loggers reset to 1970 or 2000)."""
ORDINARY_STEP = 2.5
"""A step up to this many median steps is ordinary, a longer one is a gap (our choice)."""
NO_OFFSET = 10**6
"""Stands for "no offset written" in an array of offsets, s."""

_DATE = r"([0-9]{1,4})[-/.]([0-9]{1,2})[-/.]([0-9]{1,4})"
_CLOCK = r"([0-9]{1,2}):([0-9]{2})(?::([0-9]{2})(?:[.,][0-9]{1,9})?)?(?: ?([AP])\.?M\.?)?"
_OFFSET = r" ?(Z|(?:UTC|GMT)?[+-][0-9]{1,2}(?::?[0-9]{2})?|UTC|GMT)"
_ANY = re.ASCII | re.IGNORECASE
STAMP = re.compile(rf"{_DATE}[ T,]{{1,3}}{_CLOCK}(?:{_OFFSET})?", _ANY)
"""A date with a time of day: ISO 8601, or numbers with points, strokes or hyphens."""
DAY = re.compile(_DATE, _ANY)
CLOCK = re.compile(rf"{_CLOCK}(?:{_OFFSET})?", _ANY)
_STAMP_LINES = re.compile(rf"^{STAMP.pattern}$", _ANY | re.MULTILINE)
_OFFSET_PARTS = re.compile(r"([+-])([0-9]{1,2}):?([0-9]{2})?$")

_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_NAMED = re.compile(
    r"(?:([0-9]{1,2})[ .-]+([a-z]{3,9})\.?[ ,.-]+([0-9]{4})"
    r"|([a-z]{3,9})\.? +([0-9]{1,2}),? +([0-9]{4}))",
    _ANY,
)


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
    """

    first: Ints
    second: Ints
    third: Ints
    clock_s: Ints
    offset_s: Ints

    def turned(self, turn: slice) -> "Stamps":
        """Return the rows in another order."""
        return Stamps(*(getattr(self, name)[turn] for name in Stamps.__slots__))

    @staticmethod
    def join(parts: "list[Stamps]") -> "Stamps":
        """Return several runs as one."""
        return Stamps(
            *(np.concatenate([getattr(part, name) for part in parts]) for name in Stamps.__slots__)
        )


def read_stamps(cells: list[str]) -> Stamps | int:
    """Return the times in cells, or the index of the first cell that is no time.

    >>> read_stamps(["2026-05-01 10:00", "x"])
    1
    """
    if not cells:
        none = np.zeros(0, np.int64)
        return Stamps(none, none, none, none, none)
    numbers = _read_fixed_width(cells)
    offset_s = np.full(len(cells), NO_OFFSET, np.int64)
    if numbers is None:
        found = _STAMP_LINES.findall("\n".join(cells))
        if len(found) != len(cells):
            return next(i for i, cell in enumerate(cells) if not STAMP.fullmatch(cell))
        columns = list(zip(*found, strict=True))
        numbers = [
            np.array([int(cell) if cell else 0 for cell in column], np.int64)
            for column in columns[:6]
        ]
        if any(columns[6]):
            half = np.array([cell.lower() for cell in columns[6]])
            hour = numbers[3]
            odd = (half == "") if 2 * np.count_nonzero(half == "") < len(half) else (half != "")
            wrong = odd | (hour < 1) | (hour > 12)
            if wrong.any():
                return int(np.argmax(wrong))
            numbers[3] = hour % 12 + np.where(half == "p", 12, 0)
        if any(columns[7]):
            offset_s = np.array([_offset_s(cell) for cell in columns[7]], np.int64)
    first, second, third, hour, minute, seconds = numbers
    clock_s = hour * 3600 + minute * 60 + seconds
    wrong = (minute > 59) | (seconds > 60) | (clock_s > 86_400)
    wrong |= (offset_s != NO_OFFSET) & (np.abs(offset_s) > 14 * 3600)
    if wrong.any():
        return int(np.argmax(wrong))
    return Stamps(first, second, third, clock_s, offset_s)


def _read_fixed_width(cells: list[str]) -> list[Ints] | None:
    """Return the six numbers of equally shaped cells by their places, many rows at once.

    None where shapes differ or hold more than the six numbers; those take the slower way.
    """
    pattern = STAMP.fullmatch(cells[0])
    width = len(cells[0])
    if pattern is None or pattern[7] or pattern[8]:
        return None
    letters = np.array(cells)
    if letters.dtype.itemsize != 4 * width:
        return None
    codes = np.ascontiguousarray(letters.view(np.uint32).reshape(len(cells), width).T)
    spans = [pattern.span(group) for group in range(1, 7)]
    places = {place for start, end in spans for place in range(start, end)}
    for place in range(width):
        row = codes[place]
        if place in places:
            if np.any(row - np.uint32(48) > 9):
                return None
        elif np.any(row != row[0]):
            return None
    numbers = []
    for start, end in spans:
        value = np.zeros(len(cells), np.int64)
        for place in range(start, end):
            value = value * 10 + (codes[place].astype(np.int64) - 48)
        numbers.append(value)
    return numbers


def _offset_s(text: str) -> int:
    if not text:
        return NO_OFFSET
    found = _OFFSET_PARTS.search(text)
    if not found:
        return 0
    size = int(found[2]) * 3600 + int(found[3] or 0) * 60
    return -size if found[1] == "-" else size


def split_by_order(stamps: Stamps, order: Order) -> tuple[Ints, Ints, Ints]:
    """Return year, month and day of each row under an order."""
    if order == "year first":
        return stamps.first, stamps.second, stamps.third
    if order == "day first":
        return stamps.third, stamps.second, stamps.first
    return stamps.third, stamps.first, stamps.second


def days_of(year: Ints, month: Ints, day: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    """Return days since 1970 and whether each date exists; years must be sane.

    >>> days, real = days_of(np.array([2026, 2026]), np.array([2, 2]), np.array([28, 29]))
    >>> days.tolist()[0], real.tolist()
    (20512, [True, False])
    """
    real = (month >= 1) & (month <= 12) & (day >= 1)
    months = (year - 1970) * 12 + np.where(real, month, 1) - 1
    start = months.astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    end = (months + 1).astype("datetime64[M]").astype("datetime64[D]").astype(np.int64)
    return start + day - 1, real & (day <= end - start)


@dataclass(frozen=True, slots=True)
class Proof:
    """What a run of dates says about the order of day and month.

    `order` is None where it proves nothing. `row` is the row that proves it, or, with `clash`, a
    row that no order can read together with the others; -1 where no single row does.
    """

    order: Order | None
    how: str
    row: int = -1
    clash: bool = False


def prove_order(stamps: Stamps) -> Proof:
    """Return the order of the date, if the rows prove one.

    A number over 12 is a day. Failing that, the steps over midnight are looked at under both
    orders: where some are ordinary under one order and none is under the other, that is proof
    (read the wrong way round, 1 May to 2 May is a step of a month).

    Parameters
    ----------
    stamps : Stamps
        In the order of the file.
    """
    if not len(stamps.first):
        return Proof(None, "no rows")
    if np.all(stamps.first > 31):
        return Proof("year first", "the year stands first")
    large = stamps.first > 12, stamps.second > 12
    seen = large[0].any(), large[1].any()
    if seen[0] and seen[1]:
        row = max(int(np.argmax(large[0])), int(np.argmax(large[1])))
        return Proof(None, "one row has no month under either order", row, clash=True)
    if seen[0] or seen[1]:
        row = int(np.argmax(large[0] if seen[0] else large[1]))
        return Proof("day first" if seen[0] else "month first", "a day over 12", row)
    ordinary = {order: _ordinary_midnights(stamps, order) for order in _BOTH}
    day_first, month_first = ordinary["day first"], ordinary["month first"]
    if day_first and not month_first:
        return Proof("day first", "steps are regular only so")
    if month_first and not day_first:
        return Proof("month first", "steps are regular only so")
    return Proof(None, "every day and month is 12 or less, and steps fit both orders")


_BOTH: tuple[Order, Order] = ("day first", "month first")


def _ordinary_midnights(stamps: Stamps, order: Order) -> int:
    days, _ = days_of(*split_by_order(stamps, order))
    steps = np.abs(np.diff(days * 86_400 + stamps.clock_s))
    if not np.any(steps):
        return 0
    limit = ORDINARY_STEP * float(np.median(steps[steps > 0]))
    return int(np.count_nonzero((np.diff(days) != 0) & (steps > 0) & (steps <= limit)))


def read_day(text: str) -> date | tuple[int, int, int] | None:
    """Return a written day; three numbers where the order of day and month is open; else None.

    >>> read_day("2026-05-01"), read_day("1 May 2026"), read_day("03/04/2026"), read_day("05/26")
    (datetime.date(2026, 5, 1), datetime.date(2026, 5, 1), (3, 4, 2026), None)
    """
    found = DAY.fullmatch(text)
    if found:
        first, second, third = (int(part) for part in found.groups())
        if len(found[1]) == 4 and len(found[3]) <= 2:
            return _real_day(first, second, third)
        if len(found[3]) == 4 and len(found[1]) <= 2:
            return first, second, third
        return None
    named = _NAMED.fullmatch(text)
    if not named:
        return None
    day, word, year = named.group(1, 2, 3) if named[1] else named.group(5, 4, 6)
    month = _month_number(word)
    return _real_day(int(year), month, int(day)) if month else None


def _month_number(word: str) -> int:
    full = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ]
    word = word.lower()
    if word in full:
        return full.index(word) + 1
    short = "sep" if word == "sept" else word
    return _MONTHS.index(short) + 1 if short in _MONTHS else 0


def day_under(numbers: tuple[int, int, int], order: Order) -> date | None:
    """Return the day that three numbers mean under an order, or None where there is none.

    >>> day_under((3, 4, 2026), "day first"), day_under((3, 14, 2026), "day first")
    (datetime.date(2026, 4, 3), None)
    """
    first, second, year = numbers
    if order == "month first":
        first, second = second, first
    return _real_day(year, second, first)


def _real_day(year: int, month: int, day: int) -> date | None:
    try:
        found = date(year, month, day)
    except ValueError:
        return None
    return found if FIRST_YEAR <= year <= LAST_YEAR else None
