"""A person's list, read by the table that describes it: rows, problems and questions."""

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from stockroom.errors import BadValueError, ImportProblem, Problem
from stockroom.intake.dates import Order
from stockroom.intake.files import sha256_hex
from stockroom.intake.list_columns import UNITS, Columns, headings_of
from stockroom.intake.list_files import body_of, capped, header_at, order_of, read_list_file
from stockroom.intake.list_rows import ListRow, Setting, cell_text
from stockroom.plain_files import shown_name
from stockroom.text import safe

R = TypeVar("R")


@dataclass(frozen=True, slots=True)
class Kind:
    """What a kind of list is made of.

    Attributes
    ----------
    name : str
        Such as "stock list".
    columns : mapping of str to Column
        By field.
    needed : tuple of str
        The fields that its header has at least, one more beside a single one.
    unheaded : (str, str)
        Why a file is no such list, and what to try; "{missing}" stands for columns it lacks.
    empty : (str, str)
        What a list without rows has none of, and what to try.
    """

    name: str
    columns: Columns
    needed: tuple[str, ...]
    unheaded: tuple[str, str]
    empty: tuple[str, str]


@dataclass(frozen=True, slots=True)
class Listed(Generic[R]):
    """A list as it was understood.

    Attributes
    ----------
    name, sha256 : str
        The file; the digest is of its bytes.
    sheet, other_sheets : str, tuple of str
        The sheet read and those left aside; empty for text.
    columns : tuple of (str, str)
        Headers understood, and what they were taken for.
    ignored_columns : tuple of str
        Headers not understood, or whose meaning came before.
    date_order : str or None
        Order of day and month: given, or proven by a day over 12; None where nothing says.
    rows : tuple of row
        Rows without a problem, and without a size that is asked for.
    rows_read : int
        Rows that are not blank, below the header.
    problems : tuple of Problem
        By line, with column and value; a list with any is not to be stored.
    warnings : tuple of Problem
        What is odd, and taken all the same.
    asks : tuple of str
        What must be said first: the unit of plain numbers. A list with any is not to be stored.
    """

    name: str
    sha256: str
    sheet: str
    other_sheets: tuple[str, ...]
    header_line: int
    columns: tuple[tuple[str, str], ...]
    ignored_columns: tuple[str, ...]
    date_order: Order | None
    rows: tuple[R, ...]
    rows_read: int
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    asks: tuple[str, ...]


def read_list(
    data: bytes,
    name: str,
    kind: Kind,
    rules: Callable[[ListRow], R | None],
    *,
    today: date = date.max,
    day_first: bool | None = None,
    unit: str | None = None,
    asks: Callable[[Sequence[ListRow]], tuple[str, ...]] = lambda rows: (),
) -> Listed[R]:
    """Return the rows of a list and what is wrong with them, from CSV text or a workbook (.xlsx).

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name, for the words of an error.
    rules : callable
        Looks at what the cells of a row say together, and returns the row as it is kept; None
        where it has a problem.
    today : date
        Days that must be past are problems after it.
    day_first : bool, optional
        Whether the day stands before the month, where the list does not prove it.
    unit : str, optional
        Unit of sizes that name none.
    asks : callable
        Returns what must be said of sizes that name no unit.

    Raises
    ------
    BadValueError
        Where the unit is none of a size.
    ImportProblem
        Where it cannot be read at all: no text and no workbook, too large, no header, no rows.
    """
    if unit is not None and unit not in UNITS:
        raise BadValueError(
            f"{safe(unit, length=20)!r} is no unit of a size.",
            f"A {kind.name} holds lengths.",
            f"Say one of: {', '.join(UNITS)}.",
        )
    source = read_list_file(data, name, kind.columns, kind.needed)
    at = header_at(source.rows, kind.columns, kind.needed)
    header_line, cells = source.rows[at or 0] if source.rows else (0, [])
    headers = [cell_text(value) for value in cells]
    headings, doubled, unknown = headings_of(headers, kind.columns)
    if at is None:
        raise _no_header(name, kind, headings)
    body = body_of(source.rows, at)
    if not body:
        raise ImportProblem(
            f"{shown_name(name)} has no rows{kind.empty[0]}.",
            f"Nothing stands below its header on line {header_line}.",
            kind.empty[1],
        )
    dates = (one.index for one in headings.values() if kind.columns[one.field].dates)
    order = order_of(body, dates, day_first)
    setting = Setting(kind.columns, headings, len(headers), order, today, unit)
    rows = [ListRow(setting, line, cells) for line, cells in body]
    kept = [rules(row) for row in rows]
    asked = asks(rows) if unit is None else ()
    problems = [*source.problems]
    for one in doubled:
        what = f"a second column for {kind.columns[one.field].name}; the first is read"
        problems.append(Problem(header_line, what, one.header))
    problems += [problem for row in rows for problem in row.problems]
    pairs = zip(rows, kept, strict=True)
    return Listed(
        name=safe(name),
        sha256=sha256_hex(data),
        sheet=source.sheet,
        other_sheets=source.other_sheets,
        header_line=header_line,
        columns=tuple((one.header, kind.columns[one.field].name) for one in headings.values()),
        ignored_columns=(*unknown, *(one.header for one in doubled)),
        date_order=order,
        rows=tuple(one for row, one in pairs if one is not None and not (asked and row.plain)),
        rows_read=len(body),
        problems=capped(problems, "problems"),
        warnings=tuple(warning for row in rows for warning in row.warnings),
        asks=asked,
    )


def _no_header(name: str, kind: Kind, found: Collection[str]) -> ImportProblem:
    missing = [kind.columns[field].name for field in kind.needed if field not in found]
    why, try_ = kind.unheaded
    return ImportProblem(
        f"{shown_name(name)} has no header of a {kind.name}.",
        why.format(missing=", ".join(missing)),
        try_,
    )
