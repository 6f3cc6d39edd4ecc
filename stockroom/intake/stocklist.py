"""A list of what is in stock, for the opening day: checked rows and problems, nothing stored."""

import csv
import io
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from stockroom.core.model import Material
from stockroom.errors import ImportProblem, Problem
from stockroom.intake import stock_values as values
from stockroom.intake.dates import Order, read_day
from stockroom.intake.files import quote_problem, sha256_hex, shown_name, to_text
from stockroom.intake.layout import DELIMITERS
from stockroom.intake.stock_headers import Column, Field, columns_of
from stockroom.intake.stock_rows import RowReader, StockRow, cell_text
from stockroom.intake.workbook import MAX_PACKED_BYTES, MAX_ROWS, Row, is_workbook, read_workbook
from stockroom.text import safe, unguard_cell

MAX_PROBLEMS = 500
"""Problems listed one by one; the rest are counted."""
HEADER_WITHIN = 30
"""The header stands within so many rows (our choice)."""


@dataclass(frozen=True, slots=True)
class StockList:
    """A stock list as it was understood.

    Attributes
    ----------
    name, sha256 : str
        The file; the digest is of its bytes.
    sheet, other_sheets : str, tuple of str
        The sheet read and those left aside; empty for text.
    header_line : int
    columns : tuple of (str, str)
        Headers understood and what they were taken for.
    ignored_columns : tuple of str
        Headers not understood, or whose meaning came before.
    date_order : str or None
        Order of day and month: given, or proven by a day over 12; None where nothing says.
    rows : tuple of StockRow
        Rows without a problem.
    rows_read : int
        Rows that are not blank, below the header.
    problems : tuple of Problem
        By line, with column and value; a list with any is not to be stored.
    """

    name: str
    sha256: str
    sheet: str
    other_sheets: tuple[str, ...]
    header_line: int
    columns: tuple[tuple[str, str], ...]
    ignored_columns: tuple[str, ...]
    date_order: Order | None
    rows: tuple[StockRow, ...]
    rows_read: int
    problems: tuple[Problem, ...]


def material_of(row: StockRow, code: str = "") -> Material:
    """Return the material that a row describes, as far as it does."""
    return Material(
        code=code,
        name=row.material,
        family=row.family,
        form=row.form,
        width_dmm=row.width_dmm,
        length_dmm=row.height_dmm if row.form == "sheet" else None,
        thickness_um=row.thickness_um,
    )


def template() -> str:
    """Return a small list to write over, with two invented rows, as CSV text.

    >>> read_stock_list(template().encode(), name="", today=date(2026, 3, 1)).problems
    ()
    """
    return (
        "material,family,form,width_mm,length_m,height_mm,thickness_mm,count,batch,made_on,"
        "label_date,place,price,owner,received,note\n"
        "Example pearl paper,paper,roll,1270,about 9 m,,0.26,1,E-0417,2025-01-13,2027-01-31,"
        "cold store,412.50,mine,2025-02-03,opened; length guessed from the roll\n"
        "Example clear acrylic,sheet,sheet,2050,,1525,3,4,unknown,,,sheet rack,96.00,mine,,"
        "masks on both faces\n"
    )


def read_stock_list(
    data: bytes,
    *,
    name: str,
    today: date,
    day_first: bool | None = None,
    known: Iterable[Material] = (),
) -> StockList:
    """Return the rows of a stock list and its problems, from CSV text or a workbook (.xlsx).

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name, for the words of an error.
    today : date
        Days of making and receiving after it are problems.
    day_first : bool, optional
        Whether the day stands before the month, where the list does not prove it.
    known : iterable of Material
        Those in the books already: their rows need no family, form or usual size. The same goes
        for a material that an earlier row of the list has described.

    Raises
    ------
    ImportProblem
        Where it cannot be read at all: no text and no workbook, too large, no column of materials,
        no rows.
    """
    source = _rows(data, name)
    rows = source.rows
    at = _header_at(rows)
    if at is None:
        raise ImportProblem(
            f"{shown_name(name)} has no header of a stock list.",
            "None of its first rows has a column called material together with another one known.",
            "Write a first row like: material, family, form, width_mm, length_m, batch, expiry.",
        )
    header_line, headers = rows[at][0], [cell_text(value) for value in rows[at][1]]
    columns, doubled, unknown = columns_of(headers)
    body = [
        row for row in rows[at + 1 :] if any(value != "" and cell_text(value) for value in row[1])
    ]
    if not body:
        raise ImportProblem(
            f"{shown_name(name)} has no rows of stock.",
            f"Nothing stands below its header on line {header_line}.",
            "Write one row for each roll, sheet or pack.",
        )
    problems = [*source.problems]
    problems += [
        Problem(
            header_line, f"a second column for {column.field}; the first is read", column.header
        )
        for column in doubled
    ]
    order = _order(body, columns, day_first)
    read: list[StockRow] = []
    described = {material.name.casefold(): material for material in known}
    for line, cells in body:
        row = RowReader(line, cells, columns, len(headers), order, today, described)
        found = row.read()
        problems += row.problems
        if found is not None:
            read.append(found)
            described.setdefault(found.material.casefold(), material_of(found))
    if len(problems) > MAX_PROBLEMS:
        more = len(problems) - MAX_PROBLEMS
        problems = [*problems[:MAX_PROBLEMS], Problem(0, f"{more} more problems")]
    return StockList(
        name=safe(name),
        sha256=sha256_hex(data),
        sheet=source.sheet,
        other_sheets=source.other_sheets,
        header_line=header_line,
        columns=tuple((column.header, column.field) for column in columns),
        ignored_columns=(*unknown, *(column.header for column in doubled)),
        date_order=order,
        rows=tuple(read),
        rows_read=len(body),
        problems=tuple(problems),
    )


@dataclass(frozen=True, slots=True)
class _Source:
    rows: list[Row]
    sheet: str = ""
    other_sheets: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()


def _rows(data: bytes, name: str) -> _Source:
    if not is_workbook(data):
        return _text_rows(to_text(data, name=name, most_bytes=MAX_PACKED_BYTES).text, name)
    sheets = [sheet for sheet in read_workbook(data, name=name) if sheet.rows]
    if not sheets:
        raise ImportProblem(
            f"{shown_name(name)} is empty.", "None of its sheets holds a value.", "Save it again."
        )
    chosen = next((sheet for sheet in sheets if _header_at(sheet.rows) is not None), sheets[0])
    if len(chosen.rows) > MAX_ROWS:
        raise _too_many(name)
    others = tuple(safe(sheet.name) for sheet in sheets if sheet is not chosen)
    return _Source(chosen.rows, safe(chosen.name), others)


def _too_many(name: str) -> ImportProblem:
    return ImportProblem(
        f"{shown_name(name)} has more than {MAX_ROWS} rows.",
        "So long a stock list is not read at once.",
        "Part it, and take the parts in one after the other.",
    )


def _text_rows(text: str, name: str) -> _Source:
    """Return the rows of delimited text, by the delimiter that makes most headers known."""
    top = text[:100_000].split("\n")[:HEADER_WITHIN]
    delimiter = max(
        DELIMITERS,
        key=lambda mark: max(len(columns_of(_unquoted(line, mark))[0]) for line in top),
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
    return _Source(rows, problems=cut)


def _unquoted(line: str, delimiter: str) -> list[str]:
    return [unguard_cell(cell.strip().strip('"')) for cell in line.split(delimiter)[:200]]


def _header_at(rows: list[Row]) -> int | None:
    for at, (_, cells) in enumerate(rows[:HEADER_WITHIN]):
        columns, _, _ = columns_of([cell_text(cell) for cell in cells[:200]])
        if len(columns) > 1 and any(column.field == "material" for column in columns):
            return at
    return None


_DATES: tuple[Field, ...] = ("made_on", "label_date", "received")


def _order(body: list[Row], columns: list[Column], day_first: bool | None) -> Order | None:
    if day_first is not None:
        return "day first" if day_first else "month first"
    proven: set[Order] = set()
    for column in columns:
        if column.field not in _DATES:
            continue
        for _, cells in body:
            value = cells[column.index] if column.index < len(cells) else ""
            found = read_day(cell_text(value)) if isinstance(value, str) else None
            if isinstance(found, tuple) and (order := values.own_order(found)):
                proven.add(order)
    return proven.pop() if len(proven) == 1 else None
