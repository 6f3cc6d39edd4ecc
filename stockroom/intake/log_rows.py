"""The rows of a logger's file as arrays, each bad cell noted with its line."""

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import some_rows, stacked
from stockroom.errors import ImportProblem, Problem
from stockroom.intake.files import chunks, split_lines
from stockroom.intake.layout import Layout
from stockroom.intake.numbers import NUMBER, read_numbers
from stockroom.intake.shapes import Cells, grid
from stockroom.intake.stamps import NO_OFFSET, Stamps, read_epochs, read_stamps
from stockroom.intake.tidy import cut_after
from stockroom.plain_files import shown_name
from stockroom.text import safe

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

MAX_ROWS = 6_000_000
"""Most readings in one file (our choice: eleven years of readings each minute)."""
BLANKS = " \t;,|"
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
class LogRows:
    """The rows of a file as arrays, in its order; temperature as written."""

    line: Ints
    stamps: Stamps
    temp: Floats
    rh_pct: Floats

    def turned(self, turn: slice) -> "LogRows":
        """Return the rows in another order."""
        return LogRows(
            self.line[turn], some_rows(self.stamps, turn), self.temp[turn], self.rh_pct[turn]
        )

    @staticmethod
    def join(parts: "list[LogRows]") -> "LogRows":
        """Return several runs of rows as one."""
        return LogRows(
            np.concatenate([part.line for part in parts]),
            stacked([part.stamps for part in parts]),
            np.concatenate([part.temp for part in parts]),
            np.concatenate([part.rh_pct for part in parts]),
        )


def read_rows(text: str, layout: Layout, notes: Notes, name: str) -> LogRows:
    """Return the rows of a file, its blank lines and repeated headers left out.

    Raises
    ------
    ImportProblem
        Where a time cannot be read, a quote is not closed, or the last line is cut.
    """
    text, remark = cut_after(text, layout.delimiter, layout.time_columns[0])
    if remark:
        notes.add(remark)
    last_line = text.count("\n") + (not text.endswith("\n"))
    parts: list[LogRows] = []
    widths: Counter[int] = Counter()
    total, last_row = 0, [""]
    for number, chunk in chunks(text):
        above = max(0, layout.first_line - number)
        if above:
            if chunk.count("\n") < above:
                continue
            chunk = chunk.split("\n", above)[above]
        block = _Block(chunk, number + above, last_line, layout, name)
        part = block.by_shape(notes) or block.by_row(notes)
        if part is None:
            continue
        total += len(part.line)
        if total > MAX_ROWS:
            raise ImportProblem(
                f"{shown_name(name)} has more than {MAX_ROWS} readings.",
                "So many are not read at once.",
                "Export it in shorter stretches, for example by year.",
            )
        parts.append(part)
        widths.update(block.widths)
        last_row = block.last_row
    table = LogRows.join(parts)
    last_reading = int(table.line[-1])
    if not remark:
        _refuse_cut(last_row, last_reading, widths, name)
    _refuse_mixed(table, name)
    if not text.endswith("\n") and len(last_row) - 1 == layout.temp_column:
        _doubt_last(last_row[-1].strip(), table.temp, last_reading, text, notes)
    return table


class _Block:
    """A stretch of lines, read all at once if it is regular, else row by row."""

    def __init__(
        self, text: str, first_line: int, last_line: int, layout: Layout, name: str
    ) -> None:
        self.text = text
        self.first_line = first_line
        self.last_line = last_line
        self.layout = layout
        self.name = name
        self.widths: Counter[int] = Counter()
        self.last_row: list[str] = []

    def by_shape(self, notes: Notes) -> LogRows | None:
        """Return the rows, or None where lines differ or a time is not understood."""
        layout = self.layout
        cells = grid(self.text, layout.delimiter, layout.width)
        times = [cells.column(at) for at in layout.time_columns] if cells else [None]
        temp = cells.column(layout.temp_column) if cells else None
        rh_at = layout.rh_column if layout.rh_column is not None else layout.temp_column
        rh = cells.column(rh_at) if cells else None
        known = [column for column in times if column is not None]
        if len(known) < len(times) or temp is None or rh is None:
            return None
        stamps = self._stamps(Cells.beside(known))
        if isinstance(stamps, int):
            return None
        line = np.arange(len(temp)) + self.first_line
        self.widths = Counter({layout.width: len(temp)})
        last = self.text.rsplit("\n", 1)[-1]
        self.last_row = split_lines([last], layout.delimiter, int(line[-1]), name=self.name)[0]
        return self._table(line, stamps, temp, rh, notes)

    def by_row(self, notes: Notes) -> LogRows | None:
        """Return the rows, or None where there is not one; raise where a time is none."""
        layout = self.layout
        lines = self.text.split("\n")
        rows = split_lines(lines, layout.delimiter, self.first_line, name=self.name)
        kept = [
            i
            for i, line in enumerate(lines)
            if line.strip(BLANKS) and line.lstrip("\ufeff") != layout.header_text
        ]
        if not kept:
            return None
        rows = [rows[i] for i in kept]
        line = np.array(kept, np.int64) + self.first_line
        self.widths = Counter(map(len, rows))
        self.last_row = rows[-1]
        times = [" ".join(_cell(row, at) for at in layout.time_columns) for row in rows]
        stamps = self._stamps(Cells.of(times))
        if isinstance(stamps, int):
            at = int(line[stamps])
            if at == self.last_line and len(rows[-1]) < layout.width:
                raise _cut(at, self.name)
            what = f"{safe(times[stamps], length=40)!r} is no date and time."
            raise bad_time(at, what, self.name)
        temp = Cells.of([_cell(row, layout.temp_column) for row in rows])
        rh_at = layout.rh_column if layout.rh_column is not None else layout.temp_column
        rh = Cells.of([_cell(row, rh_at) for row in rows])
        return self._table(line, stamps, temp, rh, notes)

    def _stamps(self, cells: Cells) -> Stamps | int:
        return read_epochs(cells) if self.layout.epoch else read_stamps(cells)

    def _table(self, line: Ints, stamps: Stamps, temp: Cells, rh: Cells, notes: Notes) -> LogRows:
        letter = self.layout.unit[1]
        temp_written = read_numbers(temp, letter)
        self._note_missing(line, temp, temp_written, notes)
        if self.layout.rh_column is None:
            rh_pct = np.full(len(line), np.nan)
        else:
            rh_pct = read_numbers(rh, "")
        return LogRows(line, stamps, temp_written, rh_pct)

    def _note_missing(self, line: Ints, cells: Cells, written: Floats, notes: Notes) -> None:
        unit = self.layout.unit
        column = self.layout.headers[self.layout.temp_column]
        missing = np.flatnonzero(np.isnan(written))
        room = max(0, MAX_PROBLEMS - len(notes.listed))
        for row in missing[:room].tolist():
            cell = cells.text(row)
            found = NUMBER.fullmatch(cell)
            what = "the temperature is not a number" if cell else "the temperature is missing"
            if found and (found[2] or unit[1]).upper() != unit[1]:
                what = f"the temperature is not in {unit} like the others"
            notes.add(Problem(int(line[row]), what, column, safe(cell, length=40)))
        notes.more += len(missing[room:])


def _cell(row: list[str], column: int) -> str:
    return row[column].strip() if column < len(row) else ""


def _refuse_mixed(table: LogRows, name: str) -> None:
    """Refuse a file in which some times carry an offset, or AM and PM, and some do not."""
    stamps = table.stamps
    for some, what in (
        (stamps.offset_s != NO_OFFSET, "have an offset from UTC"),
        (stamps.half, "have AM or PM"),
    ):
        if some.any() and not some.all():
            few = some if 2 * np.count_nonzero(some) < len(some) else ~some
            why = f"Some times {what} and some have none."
            raise bad_time(int(table.line[np.argmax(few)]), why, name)


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
