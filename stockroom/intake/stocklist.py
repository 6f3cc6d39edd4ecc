"""A list of what is in stock, for the opening day: checked rows and problems, nothing stored."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from stockroom.core.model import Material
from stockroom.errors import ImportProblem, Problem
from stockroom.intake.dates import Order
from stockroom.intake.files import sha256_hex
from stockroom.intake.list_cells import cell_text
from stockroom.intake.stock_headers import Field, columns_of
from stockroom.intake.stock_rows import RowReader, StockRow
from stockroom.intake.tables import body_of, capped, header_at, order_of, read_table
from stockroom.plain_files import shown_name
from stockroom.text import safe


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
        length_dmm=row.height_dmm if row.shape.flat else None,
        thickness_um=row.thickness_um,
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
    source = read_table(data, name, _known, "material")
    rows = source.rows
    at = header_at(rows, _known, "material")
    if at is None:
        raise ImportProblem(
            f"{shown_name(name)} has no header of a stock list.",
            "None of its first rows has a column called material together with another one known.",
            "Write a first row like: material, family, form, width_mm, length_m, batch, expiry.",
        )
    header_line, headers = rows[at][0], [cell_text(value) for value in rows[at][1]]
    columns, doubled, unknown = columns_of(headers)
    body = body_of(rows, at)
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
    dates = (column.index for column in columns if column.field in _DATES)
    order = order_of(body, dates, day_first)
    read: list[StockRow] = []
    described = {material.name.casefold(): material for material in known}
    for line, cells in body:
        row = RowReader(line, cells, columns, len(headers), order, today, described)
        found = row.read()
        problems += row.problems
        if found is not None:
            read.append(found)
            described.setdefault(found.material.casefold(), material_of(found))
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
        problems=capped(problems, "problems"),
    )


_DATES: tuple[Field, ...] = ("made_on", "label_date", "received")


def _known(headers: list[str]) -> set[str]:
    return {column.field for column in columns_of(headers)[0]}
