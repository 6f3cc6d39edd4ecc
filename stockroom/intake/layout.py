"""Which delimiter and columns a logger's file has, found by their shape and headers."""

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from stockroom.errors import ImportProblem, Problem
from stockroom.intake.dates import CLOCK, DAY, STAMP
from stockroom.intake.files import blocks, quote_problem, shown_name
from stockroom.text import safe

Unit = Literal["°C", "°F"]

SAMPLE_LINES = 400
"""Lines looked at to find the table (our choice: no header is longer)."""
SAMPLE_COLUMNS = 64
"""Columns looked at (our choice)."""
DELIMITERS = (";", "\t", ",")
"""Tried in this order; the comma last, as it may be a decimal comma."""

NUMBER = re.compile(
    r"([+\-\u2212]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:e[+-]?[0-9]{1,3})?)"
    r" ?(?:(?:°|º|deg ?)?([cf])|%? ?(?:rh)?)?",
    re.ASCII | re.IGNORECASE,
)
_TEMPERATURE = re.compile(r"temp|[°º] ?[cf]\b|celsius|fahrenheit|deg\.? ?[cf]\b", re.IGNORECASE)
_NOT_THE_AIR = re.compile(
    r"dew|frost|wet.?bulb|heat.?index|alarm|limit|set.?point|\bmin\b|\bmax\b|\bavg\b|\bmkt\b",
    re.IGNORECASE,
)
_HUMIDITY = re.compile(r"humid|(?:^|[^a-z])r\.?h(?:$|[^a-z])|%|feucht", re.IGNORECASE)
_SOMETHING_ELSE = re.compile(
    r"press|hpa|mbar|volt|batt|lux|light|co2|index|\bno\b|\bnr\b|#|count|signal|rssi|serial|door",
    re.IGNORECASE,
)
_F = re.compile(r"[°º] ?f|fahrenheit|deg\.? ?f\b", re.IGNORECASE)
_C = re.compile(r"[°º] ?c|celsius|deg\.? ?c\b", re.IGNORECASE)
_LONE_LETTER = re.compile(r"[(\[] ?([cf]) ?[)\]]|(?:temp|[,_/ ])([cf])$", re.IGNORECASE)
_ONLY_UNIT = re.compile(r"\W?([°º] ?)?[cf%]?( ?rh)?\W?|[dmyhs:./ -]{1,24}", re.IGNORECASE)
_UTC = re.compile(
    r"\b(?:UTC|GMT)(?: ?([+-]) ?([0-9]{1,2})(?::?([0-9]{2}))?)?(?![0-9A-Z])", re.IGNORECASE
)
_ZONE_WORD = re.compile(r"time ?zone|utc|gmt", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand in a logger's file.

    Attributes
    ----------
    delimiter : str
    header_line, first_line : int
        Line of the header (0: none) and of the first reading.
    header_text : str
        The header as it stands, to know it again further down.
    headers : tuple of str
        A name for each column.
    time_columns : tuple of int
        One column with date and time, or a date column and a time column.
    temp_column, rh_column : int, int or None
    temp_by_values : bool
        No header names the temperature; the column was taken by its values.
    unit : str
        °C or °F.
    unit_known_by : str
        "header", "cells", or "assumed".
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
    temp_column: int
    rh_column: int | None
    temp_by_values: bool
    unit: Unit
    unit_known_by: str
    offset_s: int | None
    width: int
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    text: str
    cells: list[str]


def is_number(cell: str) -> bool:
    """Return whether a cell is one number, with a unit sign or without.

    >>> is_number("-4,5 °C"), is_number("55 %"), is_number("1.234,5")
    (True, True, False)
    """
    return NUMBER.fullmatch(cell) is not None


def find_layout(text: str, *, name: str = "") -> Layout:
    """Return where time, temperature and humidity stand in a logger's file.

    Raises
    ------
    ImportProblem
        Where there is no table of times and numbers, or no temperature in it.
    """
    lines = _sample(text)
    best: tuple[str, list[_Row], list[int]] | None = None
    for delimiter in DELIMITERS:
        rows = [_Row(n, line, _cells(line, delimiter)) for n, line in lines]
        hits = [i for i, row in enumerate(rows) if _is_reading(row.cells)]
        if hits and (best is None or len(hits) > len(best[2])):
            best = delimiter, rows, hits
    if best is None:
        raise _no_table(lines, name)
    delimiter, rows, hits = best
    found = [columns for i in hits if (columns := _time_columns(rows[i].cells)) is not None]
    columns = Counter(found).most_common(1)[0][0]
    first = next(i for i in hits if _time_columns(rows[i].cells) == columns)
    while first > 0 and _time_columns(rows[first - 1].cells) == columns:
        first -= 1
    body = [row for row in rows[first:] if _time_columns(row.cells) is not None]
    width = Counter(len(row.cells) for row in body).most_common(1)[0][0]
    _refuse_lost_rows(rows[:first], rows[first], columns, name)
    header_line, header_text, headers = _header(rows[:first], width)
    if header_line and delimiter == ",":
        _refuse_extra_cells(body, headers, name)
    columns, offset_s = _utc_column(columns, body, headers)
    problems = list(_zone_remarks(rows[:first], offset_s))
    temp, by_values, remarks = _temperature(body, headers, columns, bool(header_line), name)
    problems += remarks
    rh = next(
        (
            i
            for i, header in enumerate(headers)
            if i != temp
            and i not in columns
            and _HUMIDITY.search(header)
            and not _SOMETHING_ELSE.search(header)
        ),
        None,
    )
    unit, known_by = _unit(headers[temp], [row.cells[temp : temp + 1] for row in body])
    return Layout(
        delimiter=delimiter,
        header_line=header_line,
        first_line=rows[first].line,
        header_text=header_text,
        headers=tuple(safe(h, length=60) or f"column {i + 1}" for i, h in enumerate(headers)),
        time_columns=columns,
        temp_column=temp,
        rh_column=rh,
        temp_by_values=by_values,
        unit=unit,
        unit_known_by=known_by,
        offset_s=offset_s,
        width=width,
        problems=tuple(problems),
    )


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


def _is_reading(cells: Sequence[str]) -> bool:
    columns = _time_columns(cells)
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
        "parted by ; , or tabs.",
        "Export it as CSV with dates like 2026-05-01 10:00.",
    )


def _header(above: list[_Row], width: int) -> tuple[int, str, list[str]]:
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


def _refuse_lost_rows(above: list[_Row], first: _Row, times: tuple[int, ...], name: str) -> None:
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


def _refuse_extra_cells(body: list[_Row], headers: Sequence[str], name: str) -> None:
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
    columns: tuple[int, ...], body: list[_Row], headers: Sequence[str]
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


def _zone_remarks(above: list[_Row], offset_s: int | None) -> list[Problem]:
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


def _temperature(
    body: list[_Row], headers: Sequence[str], times: tuple[int, ...], headed: bool, name: str
) -> tuple[int, bool, list[Problem]]:
    free = [i for i in range(len(headers)) if i not in times]
    named = [
        i for i in free if _TEMPERATURE.search(headers[i]) and not _HUMIDITY.search(headers[i])
    ]
    air = [i for i in named if not _NOT_THE_AIR.search(headers[i])]
    if air:
        others = [safe(headers[i], length=60) for i in air[1:]]
        return (
            air[0],
            False,
            [Problem(0, "another temperature was left aside", column=other) for other in others],
        )
    for i in free:
        if named or _HUMIDITY.search(headers[i]) or _SOMETHING_ELSE.search(headers[i]):
            continue
        if _NOT_THE_AIR.search(headers[i]):
            continue
        if _plausible([row.cells[i] if i < len(row.cells) else "" for row in body[:200]]):
            shown = safe(headers[i], length=60) or f"column {i + 1}"
            remark = Problem(0, "taken for the temperature by its values alone", column=shown)
            return i, True, [remark]
    seen = ", ".join(safe(header, length=30) for header in headers if header)[:200]
    raise ImportProblem(
        f"{shown_name(name)} has no temperature column.",
        f"Its columns are: {seen}." if headed and seen else "No column looks like temperatures.",
        "Name the column Temperature °C (or °F) in the line above the readings.",
    )


def _plausible(cells: list[str]) -> bool:
    found = [NUMBER.fullmatch(cell) for cell in cells]
    values = [float(m[1].replace(",", ".").replace("\u2212", "-")) for m in found if m]
    if not values or len(values) * 2 < len(cells):
        return False
    steps = {b - a for a, b in pairwise(values)}
    if len(values) > 2 and steps == {1.0}:
        return False  # a running index
    return sum(1 for value in values if -60 <= value <= 160) * 2 > len(values)


def _unit(header: str, cells: list[list[str]]) -> tuple[Unit, str]:
    signs = bool(_F.search(header)), bool(_C.search(header))
    if signs[0] != signs[1]:
        return ("°F" if signs[0] else "°C"), "header"
    letter = _LONE_LETTER.search(header)
    if letter:
        return ("°F" if (letter[1] or letter[2]).lower() == "f" else "°C"), "header"
    letters = Counter(
        found[2].lower()
        for cell in cells
        if cell and (found := NUMBER.fullmatch(cell[0])) and found[2]
    )
    if letters:
        return ("°F" if letters.most_common(1)[0][0] == "f" else "°C"), "cells"
    return "°C", "assumed"
