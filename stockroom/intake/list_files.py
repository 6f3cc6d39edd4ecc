"""Rows of a person's list, from delimited text or a workbook: where its header stands."""

import csv
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockroom.errors import ImportProblem, Problem
from stockroom.intake.dates import Order, own_order, read_day
from stockroom.intake.files import quote_problem, to_text
from stockroom.intake.layout import DELIMITERS
from stockroom.intake.list_columns import Columns, headings_of
from stockroom.intake.list_rows import cell_text
from stockroom.intake.workbook import MAX_ROWS, Row, is_workbook, read_workbook
from stockroom.plain_files import MAX_LIST_BYTES, shown_name
from stockroom.text import safe, unguard_cell

HEADER_WITHIN = 30
"""The header stands within so many rows (our choice)."""
MAX_PROBLEMS = 500
"""Problems listed one by one; the rest are counted (our choice)."""


@dataclass(frozen=True, slots=True)
class ListFile:
    """The rows of a list, each with its line; of a workbook the sheet read and those left aside."""

    rows: list[Row]
    sheet: str = ""
    other_sheets: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def read_list_file(data: bytes, name: str, columns: Columns, needed: Sequence[str]) -> ListFile:
    """Return the rows of a list, from CSV text or a workbook (.xlsx).

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name, for the words of an error.
    columns : mapping of str to Column
        Those it may have, by field.
    needed : sequence of str
        The fields without which a row is no header.

    Raises
    ------
    ImportProblem
        Where it is no text and no workbook, too large, or empty.
    """
    if not is_workbook(data):
        return _text_rows(to_text(data, name=name, most_bytes=MAX_LIST_BYTES).text, name, columns)
    sheets = [sheet for sheet in read_workbook(data, name=name) if sheet.rows]
    if not sheets:
        raise ImportProblem(
            f"{shown_name(name)} is empty.", "None of its sheets holds a value.", "Save it again."
        )
    chosen = next(
        (sheet for sheet in sheets if header_at(sheet.rows, columns, needed) is not None), sheets[0]
    )
    if len(chosen.rows) > MAX_ROWS:
        raise _too_many(name)
    others = tuple(safe(sheet.name) for sheet in sheets if sheet is not chosen)
    return ListFile(chosen.rows, safe(chosen.name), others)


def _too_many(name: str) -> ImportProblem:
    return ImportProblem(
        f"{shown_name(name)} has more than {MAX_ROWS} rows.",
        "So long a list is not read at once.",
        "Part it, and take the parts in one after the other.",
    )


def _text_rows(text: str, name: str, columns: Columns) -> ListFile:
    """Return the rows of delimited text, by the delimiter that makes most headers known."""
    top = text[:100_000].split("\n")[:HEADER_WITHIN]
    delimiter = max(
        DELIMITERS,
        key=lambda mark: max(len(headings_of(_unquoted(line, mark), columns)[0]) for line in top),
    )
    reader = csv.reader(io.StringIO(text), delimiter=delimiter, strict=True, skipinitialspace=True)
    rows: list[Row] = []
    widths: Counter[int] = Counter()
    line, width = 1, 0
    try:
        for row in reader:
            width = len(row)
            widths[width] += 1
            while row and not row[-1].strip():
                row.pop()
            if row:
                rows.append((line, list(row)))
            if len(rows) > MAX_ROWS:
                raise _too_many(name)
            line = reader.line_num + 1
    except csv.Error as error:
        raise quote_problem(line, name) from error
    cut: tuple[Problem, ...] = ()
    if not text.endswith("\n") and widths[width] == 1 and width < widths.most_common(1)[0][0]:
        what = "the last line may be cut: it has fewer cells than the others"
        cut = (Problem(rows[-1][0], what),)
    return ListFile(rows, problems=cut)


def _unquoted(line: str, delimiter: str) -> list[str]:
    return [unguard_cell(cell.strip().strip('"')) for cell in line.split(delimiter)[:200]]


def header_at(rows: list[Row], columns: Columns, needed: Sequence[str]) -> int | None:
    """Return where the header stands: a row with the needed columns and at least two known."""
    for at, (_, cells) in enumerate(rows[:HEADER_WITHIN]):
        found = headings_of([cell_text(cell) for cell in cells[:200]], columns)[0]
        if len(found) > 1 and found.keys() >= set(needed):
            return at
    return None


def body_of(rows: list[Row], at: int) -> list[Row]:
    """Return the rows below a header that are not blank."""
    return [
        row for row in rows[at + 1 :] if any(value != "" and cell_text(value) for value in row[1])
    ]


def order_of(body: list[Row], columns: Iterable[int], day_first: bool | None) -> Order | None:
    """Return the order of day and month: as given, or proven by a day over 12.

    Parameters
    ----------
    body : list of Row
        The rows.
    columns : iterable of int
        Where days stand.
    day_first : bool or None
        As a person says.
    """
    if day_first is not None:
        return "day first" if day_first else "month first"
    proven: set[Order] = set()
    for index in columns:
        for _, cells in body:
            value = cells[index] if index < len(cells) else ""
            found = read_day(cell_text(value)) if isinstance(value, str) else None
            if isinstance(found, tuple) and (order := own_order(found)):
                proven.add(order)
    return proven.pop() if len(proven) == 1 else None


def capped(found: Sequence[Problem], what: str) -> tuple[Problem, ...]:
    """Return the first problems, and how many more there are.

    >>> capped([Problem(2, "no size")] * 501, "problems")[-1].what
    '1 more problems'
    """
    if len(found) <= MAX_PROBLEMS:
        return tuple(found)
    return (*found[:MAX_PROBLEMS], Problem(0, f"{len(found) - MAX_PROBLEMS} more {what}"))
