"""Which delimiter and columns a logger's file has, found by their shape and headers."""

import csv
import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stockroom.errors import ImportProblem, Problem
from stockroom.intake.files import blocks, quote_problem
from stockroom.intake.log_columns import (
    LogRow,
    Unit,
    humidity_column,
    temperature_column,
    unit_of,
)
from stockroom.intake.numbers import is_number
from stockroom.intake.stamps import (
    CLOCK,
    CLOCK_AT_END,
    DAY,
    EPOCH,
    FIRST_EPOCH_S,
    HALF_DAY,
    LAST_EPOCH_S,
    OFFSET,
    STAMP,
)
from stockroom.plain_files import shown_name
from stockroom.text import safe

SAMPLE_LINES = 400
"""Lines looked at to find the table (our choice: no header is longer)."""
SAMPLE_COLUMNS = 64
"""Columns looked at (our choice)."""
DELIMITERS = (";", "\t", "|", ",")
"""Tried in this order; the comma last, as it may be a decimal comma."""

_ONLY_UNIT = re.compile(r"\W?([°º] ?)?[cf%]?( ?rh)?\W?|[dmyhs:./ -]{1,24}", re.IGNORECASE)
_UTC = re.compile(
    r"\b(?:UTC|GMT)(?: ?([+-]) ?([0-9]{1,2})(?::?([0-9]{2}))?)?(?![0-9A-Z])", re.IGNORECASE
)
_ZONE_WORD = re.compile(r"time ?zone|utc|gmt", re.IGNORECASE)
_EPOCH_WORD = re.compile(r"unix|epoch|posix|time ?stamp", re.IGNORECASE)
_MIDNIGHT = re.compile(r"[ T,]0{1,2}:00(?::00(?:[.,]0+)?)?$")
_Found = tuple[str, list[LogRow], list[int]]
_TimesOf = Callable[[Sequence[str]], tuple[int, ...] | None]


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand in a logger's file.

    Attributes
    ----------
    header_line, first_line : int
        Line of the header (0: none) and of the first reading.
    header_text : str
        The header as it stands, to know it again further down.
    headers : tuple of str
        A name for each column.
    time_columns : tuple of int
        One column with date and time, or a date column and a time column; after them columns
        with AM and PM or an offset from UTC, where these stand apart.
    epoch : bool
        The time is written in Unix seconds.
    temp_column, rh_column : int, int or None
    temp_by_values : bool
        No header names the temperature; the column was taken by its values.
    unit : str
        °C or °F.
    unit_known_by : str
        "header" (its own, or a line above the table), "cells", or "assumed".
    offset_s : int or None
        Offset of all times from UTC, s, if the header of the time column names one.
    width : int
        Cells of an ordinary row.
    problems : tuple of Problem
        What a person should know, none of it fatal.
    """

    delimiter: str
    header_line: int
    first_line: int
    header_text: str
    headers: tuple[str, ...]
    time_columns: tuple[int, ...]
    epoch: bool
    temp_column: int
    rh_column: int | None
    temp_by_values: bool
    unit: Unit
    unit_known_by: str
    offset_s: int | None
    width: int
    problems: tuple[Problem, ...]


def find_layout(text: str, *, name: str = "") -> Layout:
    """Return where time, temperature and humidity stand in a logger's file.

    Raises
    ------
    ImportProblem
        Where there is no table of times and numbers, or no temperature in it, or several columns
        could be the temperature or the time and nothing tells which is.
    """
    lines = _sample(text)
    times_of: _TimesOf = _time_columns
    tables = [
        (delimiter, [LogRow(n, line, _cells(line, delimiter)) for n, line in lines])
        for delimiter in DELIMITERS
        if any(delimiter in line for _, line in lines)
    ]
    best, other = _best(tables, _time_columns), _best(tables, _epoch_column)
    if other and (best is None or len(other[2]) > len(best[2])):
        times_of, best = _epoch_column, other
    if best is None:
        raise _no_table(lines, name)
    delimiter, rows, hits = best
    found = [columns for i in hits if (columns := times_of(rows[i].cells)) is not None]
    columns = Counter(found).most_common(1)[0][0]
    first = next(i for i in hits if times_of(rows[i].cells) == columns)
    while first > 0 and times_of(rows[first - 1].cells) == columns:
        first -= 1
    above, body = rows[:first], [row for row in rows[first:] if times_of(row.cells) is not None]
    width = Counter(len(row.cells) for row in body).most_common(1)[0][0]
    epoch = times_of is _epoch_column
    if not epoch:
        _refuse_lost_rows(above, rows[first], columns, name)
    header_line, header_text, headers = _header(above, width)
    if header_line and delimiter == ",":
        _refuse_extra_cells(body, headers, name)
    if epoch:
        _refuse_unnamed_epoch(headers[columns[0]], body[0], name)
        offset_s: int | None = 0
    else:
        columns, offset_s = _utc_column(columns, body, headers)
        _refuse_midnights(columns, body, name)
        columns += _beside_the_clock(columns, body)
    problems = list(_zone_remarks(above, offset_s))
    temp, by_values, remarks = temperature_column(body, headers, columns, name)
    unit, known_by = unit_of(headers[temp], above, body, temp, name)
    return Layout(
        delimiter=delimiter,
        header_line=header_line,
        first_line=rows[first].line,
        header_text=header_text,
        headers=tuple(safe(h, length=60) or f"column {i + 1}" for i, h in enumerate(headers)),
        time_columns=columns,
        epoch=epoch,
        temp_column=temp,
        rh_column=humidity_column(headers, [temp, *columns]),
        temp_by_values=by_values,
        unit=unit,
        unit_known_by=known_by,
        offset_s=offset_s,
        width=width,
        problems=(*problems, *remarks),
    )


def _best(tables: list[tuple[str, list[LogRow]]], times_of: _TimesOf) -> _Found | None:
    """Return the delimiter under which most lines are readings, the rows, and which they are."""
    best: _Found | None = None
    for delimiter, rows in tables:
        hits = [i for i, row in enumerate(rows) if _is_reading(row.cells, times_of)]
        if hits and (best is None or len(hits) > len(best[2])):
            best = delimiter, rows, hits
    return best


def _sample(text: str) -> list[tuple[int, str]]:
    found: list[tuple[int, str]] = []
    for first_line, lines in blocks(text, size=100_000):
        for i, line in enumerate(lines):
            if line and not line.isspace():
                found.append((first_line + i, line))
                if len(found) == SAMPLE_LINES:
                    return found
    return found


def _cells(line: str, delimiter: str) -> list[str]:
    if '"' in line:
        try:
            row = next(csv.reader([line], delimiter=delimiter, skipinitialspace=True))
        except csv.Error:
            row = []
    else:
        row = line.split(delimiter)
    return [cell.strip() for cell in row[:SAMPLE_COLUMNS]]


def _time_columns(cells: Sequence[str]) -> tuple[int, ...] | None:
    day: int | None = None
    for i, cell in enumerate(cells):
        if STAMP.fullmatch(cell):
            return (i,)
        if day is None and DAY.fullmatch(cell):
            day = i
    if day is None:
        return None
    clock = next((i for i, cell in enumerate(cells) if CLOCK.fullmatch(cell)), None)
    return None if clock is None else (day, clock)


def _epoch_column(cells: Sequence[str]) -> tuple[int, ...] | None:
    for i, cell in enumerate(cells):
        found = EPOCH.fullmatch(cell)
        if found and FIRST_EPOCH_S <= int(found[1]) <= LAST_EPOCH_S:
            return (i,)
    return None


def _beside_the_clock(columns: tuple[int, ...], body: list[LogRow]) -> tuple[int, ...]:
    """Return the columns that hold nothing but AM and PM, or offsets from UTC, for the clocks."""
    found = []
    clock = CLOCK_AT_END.search(body[0].cell(columns[-1]))
    for group, pattern in ((1, HALF_DAY), (2, OFFSET)):
        if clock and not clock[group]:
            found += [
                at
                for at in range(len(body[0].cells))
                if at not in columns and all(pattern.fullmatch(row.cell(at)) for row in body)
            ][:1]
    return tuple(found)


def _refuse_midnights(columns: tuple[int, ...], body: list[LogRow], name: str) -> None:
    """Refuse a date column that carries midnight throughout beside a column of clocks."""
    if len(columns) > 1 or not all(_MIDNIGHT.search(row.cell(columns[0])) for row in body):
        return
    for at in range(len(body[0].cells)):
        clocks = {row.cell(at) for row in body} if at != columns[0] else set()
        if len(clocks) > 1 and all(CLOCK.fullmatch(clock) for clock in clocks):
            raise ImportProblem(
                f"{shown_name(name)} has its times in two columns: line {body[0].line}.",
                "The date carries midnight in each row, and the time stands beside it.",
                "Export date and time in one column, or the date without a time.",
                problems=[Problem(body[0].line, "midnight beside a column of times")],
            )


def _refuse_unnamed_epoch(header: str, first: LogRow, name: str) -> None:
    if not _EPOCH_WORD.search(header):
        raise ImportProblem(
            f"{shown_name(name)} has no date and time on line {first.line}.",
            "Its numbers of ten digits may be Unix times, but no header says so.",
            "Name that column Unix time in the line above the readings.",
            problems=[Problem(first.line, "no date and time")],
        )


def _is_reading(cells: Sequence[str], times_of: _TimesOf) -> bool:
    columns = times_of(cells)
    return columns is not None and any(
        is_number(cell) for i, cell in enumerate(cells) if i not in columns
    )


def _no_table(lines: list[tuple[int, str]], name: str) -> ImportProblem:
    shown = shown_name(name)
    timed = next(
        (
            n
            for n, line in lines
            for delimiter in DELIMITERS
            if _time_columns(_cells(line, delimiter)) is not None
        ),
        0,
    )
    if timed:
        return ImportProblem(
            f"{shown} has no temperature column.",
            f"Line {timed} has a date and a time, but no number beside it.",
            "Export the readings with date, time and temperature in columns.",
            problems=[Problem(timed, "no number beside the time")],
        )
    return ImportProblem(
        f"{shown} has no rows of readings.",
        f"None of its first {len(lines)} lines holds a date with a time and a number, "
        "parted by ; , | or tabs.",
        "Export it as CSV with dates like 2026-05-01 10:00.",
    )


def _header(above: list[LogRow], width: int) -> tuple[int, str, list[str]]:
    """Return line, text and names of the header: the row above the readings, if it is words."""
    blank = [""] * width
    if not above:
        return 0, "", blank
    row = above[-1]
    words = [cell for cell in row.cells if cell and not is_number(cell)]
    if not words or (len([cell for cell in row.cells if cell]) < 2 <= width):
        return 0, "", blank
    names = row.cells
    if len(above) > 1 and all(_ONLY_UNIT.fullmatch(cell) for cell in row.cells):
        upper = above[-2].cells
        names = [
            f"{upper[i] if i < len(upper) else ''} {cell}".strip()
            for i, cell in enumerate(row.cells)
        ]
    return row.line, row.text, (names + blank)[: max(width, len(names))]


def _refuse_lost_rows(
    above: list[LogRow], first: LogRow, times: tuple[int, ...], name: str
) -> None:
    """Refuse a file where a row above the first reading is a reading that cannot be read."""
    for row in above:
        if row.text.count('"') % 2 and STAMP.search(row.text):
            raise quote_problem(row.line, name)
    if not above:
        return
    cells = above[-1].cells
    for i, cell in enumerate(cells[: len(first.cells)]):
        if i in times or not is_number(cell) or not is_number(first.cells[i]):
            continue
        clock = "".join(cells[column] for column in times if column < len(cells))
        if re.search(r"[0-9]", clock) or re.search(r"[.,]", cell):
            raise ImportProblem(
                f"{shown_name(name)} cannot be read: the time on line {above[-1].line}.",
                "That line has a number like the readings below it, but no date and time.",
                "Mend or delete that line; dates like 2026-05-01 10:00 are safest.",
                problems=[Problem(above[-1].line, "the time cannot be read")],
            )


def _refuse_extra_cells(body: list[LogRow], headers: Sequence[str], name: str) -> None:
    named = max((i + 1 for i, header in enumerate(headers) if header), default=0)
    extra = [row for row in body if any(row.cells[named:])]
    if named and len(extra) * 2 > len(body):
        line = extra[0].line
        raise ImportProblem(
            f"{shown_name(name)} has more cells in its rows than in its header: line {line}.",
            "Numbers with a decimal comma in a file parted by commas cannot be told apart.",
            "Export it with ; between the columns, or with decimal points.",
            problems=[Problem(line, "more cells than the header")],
        )


def _utc_column(
    columns: tuple[int, ...], body: list[LogRow], headers: Sequence[str]
) -> tuple[tuple[int, ...], int | None]:
    """Prefer a time column that names UTC over one in local time, and return its offset."""
    few = body[:5]
    for i, header in enumerate(headers):
        if _UTC.search(header) and all(
            i < len(row.cells) and STAMP.fullmatch(row.cells[i]) for row in few
        ):
            columns = (i,)
            break
    for i in reversed(columns):
        found = _UTC.search(headers[i]) if i < len(headers) else None
        if found:
            size = int(found[2] or 0) * 3600 + int(found[3] or 0) * 60
            if size <= 14 * 3600:
                return columns, -size if found[1] == "-" else size
    return columns, None


def _zone_remarks(above: list[LogRow], offset_s: int | None) -> list[Problem]:
    if offset_s is not None:
        return []
    return [
        Problem(
            row.line,
            "the file speaks of a time zone here; it was not used, look at the zone shown",
            value=safe(row.text, length=80),
        )
        for row in above
        if _ZONE_WORD.search(row.text)
    ][:1]
