"""A logger's file to readings in UTC, with a look at what was understood before it is kept."""

from collections.abc import Mapping
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import AMBIGUOUS, FLAG_WORDS, OUT_OF_ORDER, Readings
from stockroom.errors import ImportProblem, Problem
from stockroom.intake import dates
from stockroom.intake.files import sha256_hex, shown_name, to_text
from stockroom.intake.judge import (
    HIGHEST_C,
    LOWEST_C,
    flag_jumps,
    gaps,
    humidity_pct,
    judge,
    keep_warmest,
)
from stockroom.intake.layout import Layout, Unit, find_layout
from stockroom.intake.log_rows import Notes, Table, bad_time, read_table
from stockroom.intake.walltime import to_utc, zone_of
from stockroom.text import safe

Ints = NDArray[np.int64]

LONGEST_SPAN_DAYS = 40 * 365.25
"""Longest time in one file, days (our choice: a longer one has a wrong year in it)."""
LIKELY_F_FROM_C = 30.0
"""Median from which a file without a unit is suspected to be in °F, °C (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class LogFile:
    """Readings of a logger's file and how they were understood.

    Attributes
    ----------
    name, sha256, encoding, delimiter : str
        The file; the digest is of its bytes.
    readings : Readings
        UTC, strictly rising; where a time came twice, the warmer.
    time_columns, ignored_columns : tuple of str
        Headers of the columns the time was read from, and of those left aside.
    temp_column : str
    rh_column : str or None
    unit, unit_known_by : str
        °C or °F; "header", "cells" or "assumed".
    zone, zone_known_by : str
        "given", "the header" or "the times"; with the latter two the file's own offset was used.
    date_order, order_known_by : str
        "year first", "day first" or "month first", and what proves it.
    newest_first : bool
        The file runs backwards in time.
    median_step_s : float
        Median step between usable readings, s; 0 with fewer than two.
    gap_count, longest_gap_s : int
        Steps between usable readings over 2.5 median steps; the longest, s.
    rows_read : int
        Rows with a time.
    rows_refused : int
        Rows whose temperature could not be used.
    duplicate_rows, duplicates_differing : int
        Rows dropped because their time came before; times that came with different values.
    shifted_rows : int
        Rows with a time that summer time skips, shifted forward.
    settled_rows : int
        Rows in an hour that comes twice, settled by their order.
    flag_counts : mapping of int to int
        Readings by flag, only those that occur.
    problems : tuple of Problem
        What a person should know, by line.
    """

    name: str
    sha256: str
    encoding: str
    delimiter: str
    readings: Readings
    time_columns: tuple[str, ...]
    temp_column: str
    rh_column: str | None
    ignored_columns: tuple[str, ...]
    unit: Unit
    unit_known_by: str
    zone: str
    zone_known_by: str
    date_order: dates.Order
    order_known_by: str
    newest_first: bool
    median_step_s: float
    gap_count: int
    longest_gap_s: int
    rows_read: int
    rows_refused: int
    duplicate_rows: int
    duplicates_differing: int
    shifted_rows: int
    settled_rows: int
    flag_counts: Mapping[int, int]
    problems: tuple[Problem, ...]

    @property
    def first_s(self) -> int:
        """The first reading's instant, s UTC."""
        return int(self.readings.t_s[0])

    @property
    def last_s(self) -> int:
        """The last reading's instant, s UTC."""
        return int(self.readings.t_s[-1])

    @property
    def flag_words(self) -> dict[str, int]:
        """Readings by the words of their flags."""
        return {FLAG_WORDS[flag]: count for flag, count in self.flag_counts.items()}


def read_log(data: bytes, *, zone: str, day_first: bool | None = None, name: str = "") -> LogFile:
    """Return the readings of a logger's file, with a look at what was understood.

    Parameters
    ----------
    data : bytes
        The whole file: text parted by ``;`` ``,`` or tabs.
    zone : str
        Name of the time zone in which the logger's clock runs; an offset in the file goes before.
    day_first : bool, optional
        Whether the day stands before the month, where the file does not prove it.
    name : str
        The file's name, for the words of an error.

    Raises
    ------
    ImportProblem
        Where the file cannot be taken in; it says why and names the line.
    BadValueError
        Where `zone` is no time zone.

    >>> log = read_log(b"time,temp\\n2026-05-01 10:00,4.0\\n2026-05-01 10:10,4.5\\n", zone="UTC")
    >>> log.readings.temp_c.tolist(), log.median_step_s, log.unit_known_by
    ([4.0, 4.5], 600.0, 'assumed')
    """
    place_zone = zone_of(zone)
    content = to_text(data, name=name)
    layout = find_layout(content.text, name=name)
    notes = Notes(list(layout.problems))
    table = read_table(content.text, layout, notes, name)
    _refuse_years(table, name)
    order, order_known_by = _order(table, day_first, notes, name)
    wall_s = _wall_s(table, order, name)

    wall_steps = np.diff(wall_s)
    newest_first = bool(2 * np.count_nonzero(wall_steps < 0) > np.count_nonzero(wall_steps))
    turn = slice(None, None, -1 if newest_first else 1)
    table = table.turned(turn)
    instants = _instants(table, wall_s[turn], layout, zone, place_zone, notes)
    t_s = instants.t_s
    flag = np.where(instants.ambiguous, AMBIGUOUS, 0).astype(np.uint8)
    flag[1:][t_s[1:] < np.maximum.accumulate(t_s)[:-1]] |= OUT_OF_ORDER

    by_time = np.argsort(t_s, kind="stable")
    t_s, flag, rh_pct = t_s[by_time], flag[by_time], table.rh_pct[by_time]
    temp_c = judge(table.temp[by_time], layout.unit, flag)
    refused = int(np.count_nonzero(np.isnan(temp_c)))
    if refused == len(temp_c):
        raise ImportProblem(
            f"{shown_name(name)} has no temperature that can be used.",
            f"None of its {refused} values in column {layout.headers[layout.temp_column]!r} is a "
            f"number from {LOWEST_C:.0f} to {HIGHEST_C:.0f} °C.",
            "Look at the column and at the sensor.",
            problems=notes.all(),
        )
    keep, differing = keep_warmest(t_s, temp_c, flag)
    readings = Readings.of(t_s[keep], temp_c[keep], humidity_pct(rh_pct[keep]), flag[keep])
    flag_jumps(readings)
    step_s, gap_count, longest_gap_s = gaps(readings)
    if layout.unit_known_by == "assumed" and np.nanmedian(readings.temp_c) > LIKELY_F_FROM_C:
        notes.add(Problem(0, "no unit stands in the file; it was read as °C, but it looks like °F"))
    used = {*layout.time_columns, layout.temp_column, layout.rh_column}
    headers = layout.headers
    return LogFile(
        name=safe(name),
        sha256=sha256_hex(data),
        encoding=content.encoding,
        delimiter=layout.delimiter,
        readings=readings,
        time_columns=tuple(headers[i] for i in layout.time_columns),
        temp_column=headers[layout.temp_column],
        rh_column=None if layout.rh_column is None else headers[layout.rh_column],
        ignored_columns=tuple(header for i, header in enumerate(headers) if i not in used),
        unit=layout.unit,
        unit_known_by=layout.unit_known_by,
        zone=instants.zone,
        zone_known_by=instants.known_by,
        date_order=order,
        order_known_by=order_known_by,
        newest_first=newest_first,
        median_step_s=step_s,
        gap_count=gap_count,
        longest_gap_s=longest_gap_s,
        rows_read=len(by_time),
        rows_refused=refused,
        duplicate_rows=len(by_time) - len(readings),
        duplicates_differing=differing,
        shifted_rows=instants.shifted,
        settled_rows=instants.settled,
        flag_counts={
            bit: count
            for bit in FLAG_WORDS
            if (count := int(np.count_nonzero(readings.flag & bit)))
        },
        problems=notes.all(),
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Instants:
    t_s: Ints
    ambiguous: NDArray[np.bool_]
    zone: str
    known_by: str
    shifted: int = 0
    settled: int = 0


def _instants(
    table: Table, wall_s: Ints, layout: Layout, zone: str, place_zone: ZoneInfo, notes: Notes
) -> _Instants:
    """Return instants by the file's own offsets if it has any, else by the zone given."""
    sure = np.zeros(len(wall_s), np.bool_)
    offset_s = table.stamps.offset_s
    if offset_s[0] != dates.NO_OFFSET:
        one = bool(np.all(offset_s == offset_s[0]))
        shown = _offset_text(int(offset_s[0])) if one else "several offsets"
        return _Instants(wall_s - offset_s, sure, shown, "the times")
    if layout.offset_s is not None:
        shown = _offset_text(layout.offset_s)
        return _Instants(wall_s - layout.offset_s, sure, shown, "the header")
    times = to_utc(wall_s, place_zone)
    shifted = int(np.count_nonzero(times.skipped))
    if shifted:
        notes.add(
            Problem(
                int(table.line[np.argmax(times.skipped)]),
                f"{shifted} times stand in an hour that summer time skips in {zone}; if the logger "
                "does not follow summer time, give a zone without it, such as UTC",
            )
        )
    return _Instants(times.t_s, times.ambiguous, zone, "given", shifted, times.settled)


def _order(
    table: Table, day_first: bool | None, notes: Notes, name: str
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


def _refuse_years(table: Table, name: str) -> None:
    stamps = table.stamps
    year_first = 2 * np.count_nonzero(stamps.first > 31) > len(stamps.first)
    year = stamps.first if year_first else stamps.third
    odd = (year < dates.FIRST_YEAR) | (year > dates.LAST_YEAR)
    if not odd.any():
        return
    at = int(np.argmax(odd))
    line = int(table.line[at])
    why = f"Years from {dates.FIRST_YEAR} to {dates.LAST_YEAR} are read."
    try_ = "Set the logger's clock; mend or delete such lines."
    if np.count_nonzero(year < 100) * 2 > len(year):
        why = "With two digits, year, month and day cannot be told apart for sure."
        try_ = "Export it with years of four digits."
    raise ImportProblem(
        f"{shown_name(name)} has a year that cannot be: {int(year[at])} on line {line}.",
        why,
        try_,
        problems=[Problem(line, "a year that cannot be")],
    )


def _wall_s(table: Table, order: dates.Order, name: str) -> Ints:
    year, month, day = dates.split_by_order(table.stamps, order)
    days, real = dates.days_of(year, month, day)
    if not real.all():
        line = int(table.line[np.argmin(real)])
        raise bad_time(line, f"There is no such day with the {order}.", name)
    wall_s: Ints = days * 86_400 + table.stamps.clock_s
    if (wall_s.max() - wall_s.min()) > LONGEST_SPAN_DAYS * 86_400:
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
