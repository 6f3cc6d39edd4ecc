"""The rows of a logger's file as arrays, each bad cell noted with its line."""

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stockroom.errors import ImportProblem, Problem
from stockroom.intake.dates import NO_OFFSET, Stamps, read_stamps
from stockroom.intake.files import blocks, shown_name, split_lines
from stockroom.intake.layout import NUMBER, Layout
from stockroom.text import safe

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

MAX_ROWS = 6_000_000
"""Most readings in one file (our choice: eleven years of readings each minute)."""
BLANKS = " \t;,"
"""A line of nothing but these is blank."""
MAX_PROBLEMS = 100
"""Problems of rows that are listed one by one; the rest are counted."""


@dataclass(slots=True)
class Notes:
    """Problems as they are found, the first hundred in full."""

    listed: list[Problem] = field(default_factory=list)
    more: int = 0

    def add(self, problem: Problem) -> None:
        """Note a problem."""
        if len(self.listed) < MAX_PROBLEMS:
            self.listed.append(problem)
        else:
            self.more += 1

    def all(self) -> tuple[Problem, ...]:
        """Return the problems listed, and how many more there are."""
        rest = [Problem(0, f"{self.more} more rows have problems")] if self.more else []
        return (*self.listed, *rest)


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """The rows of a file as arrays, in its order; temperature as written."""

    line: Ints
    stamps: Stamps
    temp: Floats
    rh_pct: Floats

    def turned(self, turn: slice) -> "Table":
        """Return the rows in another order."""
        return Table(self.line[turn], self.stamps.turned(turn), self.temp[turn], self.rh_pct[turn])


def read_table(text: str, layout: Layout, notes: Notes, name: str) -> Table:
    """Return the rows of a file, its blank lines and repeated headers left out.

    Raises
    ------
    ImportProblem
        Where a time cannot be read, a quote is not closed, or the last line is cut.
    """
    line_parts: list[Ints] = []
    stamp_parts: list[Stamps] = []
    temp_parts: list[Floats] = []
    rh_parts: list[Floats] = []
    widths: Counter[int] = Counter()
    total, last_row, last_line = 0, [""], text.count("\n") + 1
    for number, lines in blocks(text):
        start = max(0, layout.first_line - number)
        rows = split_lines(lines[start:], layout.delimiter, number + start, name=name)
        kept = [
            i
            for i, line in enumerate(lines[start:])
            if line.strip(BLANKS) and line != layout.header_text
        ]
        if not kept:
            continue
        rows = [rows[i] for i in kept]
        total += len(rows)
        if total > MAX_ROWS:
            raise ImportProblem(
                f"{shown_name(name)} has more than {MAX_ROWS} readings.",
                "So many are not read at once.",
                "Export it in shorter stretches, for example by year.",
            )
        line_numbers = np.array(kept, np.int64) + number + start
        ends_here = number + len(lines) >= last_line
        stamp_parts.append(_read_times(rows, line_numbers, layout, ends_here, name))
        temp_parts.append(_numbers(rows, line_numbers, layout, layout.temp_column, notes))
        rh_parts.append(
            np.full(len(rows), np.nan)
            if layout.rh_column is None
            else _numbers(rows, line_numbers, layout, layout.rh_column, None)
        )
        line_parts.append(line_numbers)
        widths.update(map(len, rows))
        last_row = rows[-1]
    lines_read = np.concatenate(line_parts)
    _refuse_cut(last_row, int(lines_read[-1]), widths, name)
    temp = np.concatenate(temp_parts)
    stamps = Stamps.join(stamp_parts)
    mixed = (stamps.offset_s == NO_OFFSET) != (stamps.offset_s[0] == NO_OFFSET)
    if mixed.any():
        raise bad_time(
            int(lines_read[np.argmax(mixed)]),
            "Some times have an offset from UTC and some have none.",
            name,
        )
    if not text.endswith("\n") and len(last_row) - 1 == layout.temp_column:
        _doubt_last(last_row[-1].strip(), temp, int(lines_read[-1]), text, notes)
    return Table(lines_read, stamps, temp, np.concatenate(rh_parts))


def _read_times(
    rows: list[list[str]], line: Ints, layout: Layout, ends_here: bool, name: str
) -> Stamps:
    columns = layout.time_columns
    try:
        cells = [row[columns[0]].strip() for row in rows]
        if len(columns) == 2:
            clocks = [row[columns[1]].strip() for row in rows]
            cells = [f"{day} {clock}" for day, clock in zip(cells, clocks, strict=True)]
    except IndexError:
        cells = [" ".join(_cell(row, column) for column in columns) for row in rows]
    found = read_stamps(cells)
    if not isinstance(found, int):
        return found
    what = f"{safe(cells[found], length=40)!r} is no date and time."
    if ends_here and found == len(rows) - 1 and len(rows[found]) < layout.width:
        raise _cut(int(line[found]), name)
    raise bad_time(int(line[found]), what, name)


def _cell(row: list[str], column: int) -> str:
    return row[column].strip() if column < len(row) else ""


def _numbers(
    rows: list[list[str]], line: Ints, layout: Layout, column: int, notes: Notes | None
) -> Floats:
    """Return a column's numbers, NaN where a cell holds none; those are noted."""
    try:
        cells = [row[column] for row in rows]
        joined = "\n".join(cells)
        if "_" not in joined:
            plain = joined.replace(",", ".") if "," in joined else joined
            values = np.array([float(cell) for cell in plain.split("\n")])
            if len(values) == len(rows) and np.all(np.isfinite(values)):
                return values
    except (IndexError, ValueError):
        pass
    values = np.full(len(rows), np.nan)
    for i, row in enumerate(rows):
        cell = _cell(row, column)
        found = NUMBER.fullmatch(cell)
        if found and (found[2] or layout.unit[1]).upper() == layout.unit[1]:
            value = float(found[1].replace(",", ".").replace("\u2212", "-"))
            values[i] = value if np.isfinite(value) else np.nan
        if np.isnan(values[i]) and notes is not None:
            what = "the temperature is not a number" if cell else "the temperature is missing"
            if found and found[2] and not np.isfinite(values[i]):
                what = f"the temperature is not in {layout.unit} like the others"
            notes.add(Problem(int(line[i]), what, layout.headers[column], safe(cell, length=40)))
    return values


def _refuse_cut(last: list[str], line: int, widths: Counter[int], name: str) -> None:
    ordinary = widths.most_common(1)[0][0]
    as_short = sum(count for width, count in widths.items() if width <= len(last)) - 1
    if len(last) < ordinary and as_short * 20 < sum(widths.values()):
        raise _cut(line, name)


def _cut(line: int, name: str) -> ImportProblem:
    return ImportProblem(
        f"{shown_name(name)} is not whole: the last line is cut (line {line}).",
        "It has fewer cells than the others; the copy may have been broken off.",
        "Copy or export the file again; or delete that line.",
        problems=[Problem(line, "the last line is cut")],
    )


def _doubt_last(cell: str, temp: Floats, line: int, text: str, notes: Notes) -> None:
    """Drop the last temperature where it has fewer decimals than all the rows before it.

    A file broken off within its last number ends without a line end: -18.4 would read as -1.
    """
    tail = text[-4_000:].split("\n")[1:-1][-20:]
    decimals = [_decimals(row) for row in tail if row.strip()]
    if len(decimals) >= 5 and _decimals(cell) < min(decimals):
        temp[-1] = np.nan
        notes.add(
            Problem(line, "the last temperature may be cut, so it was not taken", value=cell[:40])
        )


def _decimals(row: str) -> int:
    digits = len(row) - len(row.rstrip("0123456789"))
    return digits if row[: len(row) - digits].endswith((".", ",")) else 0


def bad_time(line: int, why: str, name: str) -> ImportProblem:
    """Return the error for a row whose time cannot be read."""
    return ImportProblem(
        f"{shown_name(name)} cannot be read: the time on line {line}.",
        why,
        "Mend or delete that line; dates like 2026-05-01 10:00 are safest.",
        problems=[Problem(line, "the time cannot be read")],
    )
