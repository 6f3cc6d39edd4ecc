"""Times of a logger's rows to instants in UTC: order of the date, years, offsets, summer time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.errors import ImportProblem, Problem
from stockroom.intake import dates
from stockroom.intake.layout import Layout
from stockroom.intake.log_rows import LogRows, Notes, bad_time
from stockroom.intake.stamps import NO_OFFSET, Stamps
from stockroom.intake.walltime import REGULAR_SHARE, to_utc, zone_of
from stockroom.plain_files import shown_name
from stockroom.times import FIRST_YEAR, LAST_YEAR
from stockroom.units import SECONDS_PER_DAY

Ints = NDArray[np.int64]

LONGEST_SPAN_DAYS = 40 * 365.25
"""Longest time in one file, days (our choice: a longer one has a wrong year in it)."""
HALF_DAY_S = 12 * 3600
HALF_DAY_LONGEST_STEP_S = 2 * 3600
"""Longest usual step with which a fall from 12 to 1 is looked for, s (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Times:
    """Instants of the rows, oldest first, and how they were understood.

    Attributes
    ----------
    t_s : int64 array (n,)
        Seconds UTC, in the order of the file, turned where it runs backwards.
    ambiguous : bool array (n,)
        Rows in an hour that comes twice whose place is not proven.
    shifted, settled : int
        Rows in an hour that summer time skips; rows in one that comes twice, settled.
    """

    t_s: Ints
    ambiguous: NDArray[np.bool_]
    order: dates.Order
    order_known_by: str
    zone: str
    zone_known_by: str
    newest_first: bool
    shifted: int = 0
    settled: int = 0


def read_times(
    table: LogRows, layout: Layout, zone: str, day_first: bool | None, notes: Notes, name: str
) -> Times:
    """Return the instants of a file's rows.

    Raises
    ------
    ImportProblem
        Where the order of day and month is not proven and not given, a date or year cannot be, or
        a clock of twelve hours does not say which half of the day it means.
    """
    stamps, order, order_known_by = _ordered(table, day_first, notes, name)
    wall_s = _wall_s(table, stamps, order, name)
    written = table.stamps.offset_s != NO_OFFSET
    steps = np.diff(wall_s - np.where(written, table.stamps.offset_s, 0))
    newest_first = bool(2 * np.count_nonzero(steps < 0) > np.count_nonzero(steps))
    if newest_first:
        table, wall_s = table.turned(slice(None, None, -1)), wall_s[::-1]
    _refuse_half_days(table, wall_s, name)
    how = order, order_known_by
    sure = np.zeros(len(wall_s), np.bool_)
    offset_s = table.stamps.offset_s
    if offset_s[0] != NO_OFFSET:
        one = bool(np.all(offset_s == offset_s[0]))
        shown = _offset_text(int(offset_s[0])) if one else "several offsets"
        return Times(wall_s - offset_s, sure, *how, shown, "the times", newest_first)
    if layout.offset_s is not None:
        shown = _offset_text(layout.offset_s)
        return Times(wall_s - layout.offset_s, sure, *how, shown, "the header", newest_first)
    found = to_utc(wall_s, zone_of(zone))
    shifted = int(np.count_nonzero(found.skipped))
    if shifted:
        notes.add(
            Problem(
                int(table.line[np.argmax(found.skipped)]),
                f"{shifted} times stand in an hour that summer time skips in {zone}; if the logger "
                "does not follow summer time, give a zone without it, such as UTC",
            )
        )
    return Times(
        found.t_s, found.ambiguous, *how, zone, "given", newest_first, shifted, found.settled
    )


def _ordered(
    table: LogRows, day_first: bool | None, notes: Notes, name: str
) -> tuple[Stamps, dates.Order, str]:
    """Return the dates with whole years, their order, and what it is known by."""
    stamps = table.stamps
    if np.all((stamps.first < 100) & (stamps.third < 100)):
        order, how = _short_years(table, day_first, name)
        return dates.with_short_years(stamps, order), order, how
    _refuse_years(table, name)
    order, how = _order(table, day_first, notes, name)
    return stamps, order, how


def _short_years(table: LogRows, day_first: bool | None, name: str) -> tuple[dates.Order, str]:
    """Return the order of dates whose year has two digits."""
    among: list[dates.Order] = ["day first", "month first", "year first"]
    if day_first is not None:
        among = ["day first"] if day_first else ["month first", "year first"]
    proven = dates.prove_short_years(table.stamps, among)
    if proven:
        return proven, "steps are regular only so"
    whole = dates.with_short_years(table.stamps, "day first")
    if day_first and dates.is_real(whole, "day first"):
        return "day first", "given"
    line = int(table.line[0])
    raise ImportProblem(
        f"{shown_name(name)} writes years with two digits: line {line}.",
        "Which number is the year, the month and the day is not proven by its steps.",
        "Export it with years of four digits, or a stretch that runs over several midnights.",
        problems=[Problem(line, "a year of two digits")],
    )


def _refuse_half_days(table: LogRows, wall_s: Ints, name: str) -> None:
    """Refuse clocks that fall from twelve to one and never say which half of the day it is."""
    clock_s = table.stamps.clock_s
    if table.stamps.half[0] or clock_s.min() < 3600 or clock_s.max() >= HALF_DAY_S + 3600:
        return
    steps = np.diff(wall_s)
    usual_s = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    fallen = np.abs(steps + HALF_DAY_S - usual_s) <= REGULAR_SHARE * usual_s
    if usual_s <= HALF_DAY_LONGEST_STEP_S and fallen.any():
        line = int(table.line[1:][np.argmax(fallen)])
        raise bad_time(line, "Clocks go from 12 back to 1 without AM or PM.", name)


def _order(
    table: LogRows, day_first: bool | None, notes: Notes, name: str
) -> tuple[dates.Order, str]:
    proof = dates.prove_order(table.stamps)
    at = f" (line {int(table.line[proof.row])})" if proof.row >= 0 else ""
    if proof.clash:
        raise bad_time(int(table.line[proof.row]), f"Beside the others, {proof.how}.", name)
    if proof.order == "year first":
        return "year first", proof.how
    if day_first is None:
        if proof.order is None:
            raise ImportProblem(
                f"{shown_name(name)} does not say which number is the day.",
                f"In its dates {proof.how}.",
                "Say it with --day-first or --month-first.",
            )
        return proof.order, proof.how + at
    wanted: dates.Order = "day first" if day_first else "month first"
    if proof.order is not None and proof.order != wanted:
        other = "--month-first" if day_first else "--day-first"
        if proof.row >= 0:
            raise ImportProblem(
                f"{shown_name(name)} cannot be read with the {wanted}: line "
                f"{int(table.line[proof.row])}.",
                "A number over 12 stands where the month would be.",
                f"Try {other}, or leave it out.",
                problems=[Problem(int(table.line[proof.row]), "no such month")],
            )
        notes.add(Problem(0, f"steps are regular only with the {proof.order}: try {other}"))
    return wanted, "given"


def _refuse_years(table: LogRows, name: str) -> None:
    stamps = table.stamps
    year_first = 2 * np.count_nonzero(stamps.first > 31) > len(stamps.first)
    year = stamps.first if year_first else stamps.third
    odd = (year < FIRST_YEAR) | (year > LAST_YEAR)
    if not odd.any():
        return
    at = int(np.argmax(odd))
    line = int(table.line[at])
    raise ImportProblem(
        f"{shown_name(name)} has a year that cannot be: {int(year[at])} on line {line}.",
        f"Years from {FIRST_YEAR} to {LAST_YEAR} are read.",
        "Set the logger's clock; mend or delete such lines.",
        problems=[Problem(line, "a year that cannot be")],
    )


def _wall_s(table: LogRows, stamps: Stamps, order: dates.Order, name: str) -> Ints:
    year, month, day = dates.split_by_order(stamps, order)
    days, real = dates.days_of(year, month, day)
    if not real.all():
        line = int(table.line[np.argmin(real)])
        raise bad_time(line, f"There is no such day with the {order}.", name)
    wall_s: Ints = days * SECONDS_PER_DAY + stamps.clock_s
    if (wall_s.max() - wall_s.min()) > LONGEST_SPAN_DAYS * SECONDS_PER_DAY:
        middle = np.median(wall_s)
        line = int(table.line[np.argmax(np.abs(wall_s - middle))])
        raise ImportProblem(
            f"{shown_name(name)} spans more than 40 years: look at line {line}.",
            "A clock that was not set leaves such dates.",
            "Mend or delete the lines with the wrong year.",
            problems=[Problem(line, "far from the other dates")],
        )
    return wall_s


def _offset_text(offset_s: int) -> str:
    hours, rest = divmod(abs(offset_s) // 60, 60)
    return f"UTC{'-' if offset_s < 0 else '+'}{hours:02d}:{rest:02d}"
