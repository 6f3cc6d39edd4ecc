"""Dates and times as files write them, and proof of which number is the day."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stockroom.intake.stamps import DAY, Stamps
from stockroom.times import FIRST_YEAR, LAST_YEAR
from stockroom.units import SECONDS_PER_DAY

Order = Literal["year first", "day first", "month first"]
Ints = NDArray[np.int64]

ORDINARY_STEP = 2.5
"""A step up to this many median steps is ordinary, a longer one is a gap (our choice)."""

MONTH = (
    r"(jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
"""The pattern of a month by its name, in English."""

_NAMED = re.compile(
    rf"(?:([0-9]{{1,2}})[ .-]+{MONTH}\.?[ ,.-]+([0-9]{{4}})"
    rf"|{MONTH}\.? +([0-9]{{1,2}}),? +([0-9]{{4}}))",
    re.ASCII | re.IGNORECASE,
)


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


def with_short_years(stamps: Stamps, order: Order) -> Stamps:
    """Return dates whose year has two digits with the century, 2000, under an order."""
    if order == "year first":
        return replace(stamps, first=stamps.first + 2000)
    return replace(stamps, third=stamps.third + 2000)


def prove_short_years(stamps: Stamps, among: Sequence[Order]) -> Order | None:
    """Return the order of dates whose year has two digits, if the steps over midnight prove one.

    As with `prove_order`, but the year too may stand first: 25/05/26 to 26/05/26 is a step of a
    day only where the day stands first; else it is a year, or there is no such month.

    Parameters
    ----------
    stamps : Stamps
        In the order of the file, as written.
    among : sequence of str
        Orders that can be.
    """
    proven = []
    for order in among:
        whole = with_short_years(stamps, order)
        if is_real(whole, order) and _ordinary_midnights(whole, order):
            proven.append(order)
    return proven[0] if len(proven) == 1 else None


def is_real(stamps: Stamps, order: Order) -> bool:
    """Return whether every date exists under an order."""
    _, real = days_of(*split_by_order(stamps, order))
    return bool(real.all())


def _ordinary_midnights(stamps: Stamps, order: Order) -> int:
    days, _ = days_of(*split_by_order(stamps, order))
    steps = np.abs(np.diff(days * SECONDS_PER_DAY + stamps.clock_s))
    if not np.any(steps):
        return 0
    some = steps[steps > 0]
    middle = (len(some) - 1) // 2
    limit = ORDINARY_STEP * float(np.partition(some, middle)[middle])  # of two middles, the lower
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
    return _real_day(int(year), month_number(word), int(day))


def month_number(word: str) -> int:
    """Return the number of a month that `MONTH` fits, from 1.

    >>> month_number("Sept"), month_number("may")
    (9, 5)
    """
    return "janfebmaraprmayjunjulaugsepoctnovdec".index(word[:3].lower()) // 3 + 1


def day_under(numbers: tuple[int, int, int], order: Order) -> date | None:
    """Return the day that three numbers mean under an order, or None where there is none.

    >>> day_under((3, 4, 2026), "day first"), day_under((3, 14, 2026), "day first")
    (datetime.date(2026, 4, 3), None)
    """
    first, second, year = numbers
    if order == "month first":
        first, second = second, first
    return _real_day(year, second, first)


def own_order(numbers: tuple[int, int, int]) -> Order | None:
    """Return the only order in which three numbers are a day, or None where both or none are."""
    possible: list[Order] = [
        order for order in ("day first", "month first") if day_under(numbers, order)
    ]
    return possible[0] if len(possible) == 1 else None


def _real_day(year: int, month: int, day: int) -> date | None:
    try:
        found = date(year, month, day)
    except ValueError:
        return None
    return found if FIRST_YEAR <= year <= LAST_YEAR else None
