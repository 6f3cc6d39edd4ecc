"""Cells of a workbook (.xlsx) as text and dates, read with limits on size and on what it holds."""

import io
import re
import warnings
import zipfile
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from stockroom.errors import ImportProblem
from stockroom.plain_files import MAX_LIST_BYTES, shown_name

MAX_UNPACKED_BYTES = 60_000_000
"""Largest sum of its parts unpacked, by the zip directory, bytes (our choice)."""
MAX_PARTS = 2_000
"""Most parts in it (our choice; a workbook has some dozens)."""
MAX_ELEMENTS = 1_000_000
"""Most elements and attributes in its parts (our choice: a cell has five; each held by a reader
takes up to 200 bytes, whether or not it says anything)."""
MAX_STRETCH_BYTES = 200_000
"""Longest stretch of XML without an element, bytes (our choice: a cell holds 32 767 characters)."""
MAX_SHARED_CHARS = 5_000_000
"""Most cells that share formulas, times the longest formula (our choice: each is written out)."""
MAX_ROW_MARKS = 200_000
"""Most of them in one row (our choice: a row has at most 16 384 cells, all held at once)."""
MAX_CELLS = 500_000
"""Most cells looked at in all sheets together (our choice)."""
MAX_ROWS = 20_000
"""Most rows of one sheet that are not blank (our choice); reading stops at the next one."""
MAX_SHEETS = 20
"""Most sheets looked at (our choice)."""
BLANK_ROWS_END = 1_000
"""So many blank rows in a row end a sheet (our choice: formatted rows may follow for ever)."""
EXACT_BELOW = 10**15
"""Numbers from here on are not kept to the last digit in a workbook (IEEE 754: 2^53)."""


_ROW = re.compile(rb"<(?:\w+:)?row\b")
_FORMULA = re.compile(rb"<(?:\w+:)?f\b[^>]*>([^<]+)")


@dataclass(frozen=True, slots=True)
class CellFault:
    """A cell that holds no value that can be used, and why."""

    what: str


Value = str | date | CellFault
Row = tuple[int, list[Value]]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet's name and its rows that are not blank, each with its number from 1.

    There are at most `MAX_ROWS` and one more, which says that the sheet is longer.
    """

    name: str
    rows: list[Row]


def is_workbook(data: bytes) -> bool:
    """Return whether bytes are a zip archive that holds a workbook."""
    if not data.startswith(b"PK"):
        return False
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            return "xl/workbook.xml" in archive.namelist()
    except Exception:
        return False


def read_workbook(data: bytes, *, name: str = "") -> list[Sheet]:
    """Return the sheets of a workbook; formulas by the values kept with them.

    Raises
    ------
    ImportProblem
        Where it is damaged, too large packed or unpacked, or holds entity declarations.
    """
    has_formulas = _look_inside(data, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            sheets = _read_sheets(data, name, has_formulas)
    except ImportProblem:
        raise
    except Exception as error:
        # A hostile workbook can make the reader fail in any way; to a person it is one.
        raise _damaged(name) from error
    return sheets


def _damaged(name: str) -> ImportProblem:
    return ImportProblem(
        f"{shown_name(name)} cannot be read as a workbook.",
        "It is damaged or not quite what its name says.",
        "Open it in its own program and save it again, or save it as CSV.",
    )


def _too_large(name: str, why: str) -> ImportProblem:
    return ImportProblem(
        f"{shown_name(name)} is too large.", why, "Save the stock list alone, or save it as CSV."
    )


def _look_inside(data: bytes, name: str) -> bool:
    """Refuse bombs before anything is unpacked; return whether any part holds a formula."""
    if len(data) > MAX_LIST_BYTES:
        raise _too_large(name, f"At most {MAX_LIST_BYTES // 10**6} MB are read.")
    has_formulas, marks = False, 0
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
            size = sum(part.file_size for part in parts)
            if len(parts) > MAX_PARTS or size > MAX_UNPACKED_BYTES:
                raise _too_large(
                    name,
                    f"Unpacked it has {len(parts)} parts of {size // 10**6} MB together; at most "
                    f"{MAX_PARTS} and {MAX_UNPACKED_BYTES // 10**6} MB are read.",
                )
            for part in parts:
                content = archive.read(part).replace(b"\0", b"")
                marks += _marks(content)
                rows = content.split(b"row>") if _ROW.search(content) else ()
                if marks > MAX_ELEMENTS or any(_marks(row) > MAX_ROW_MARKS for row in rows):
                    raise _too_large(
                        name, "It holds more elements, or more in a row, than any list."
                    )
                if not part.filename.lower().endswith((".xml", ".rels")):
                    continue
                if b"<!DOCTYPE" in content:
                    raise _damaged(name)  # entities that multiply need one; no workbook has any
                if _has_endless(content) or _shared_chars(content) > MAX_SHARED_CHARS:
                    raise _too_large(name, "A text or a formula in it is longer than any cell's.")
                has_formulas |= b"<f" in content and part.filename.startswith("xl/worksheets/")
    except ImportProblem:
        raise
    except Exception as error:
        raise _damaged(name) from error
    return has_formulas


def _marks(content: bytes) -> int:
    """Return how many elements and attributes there are, about."""
    return content.count(b"<") - content.count(b"</") + content.count(b"=")


def _has_endless(content: bytes) -> bool:
    """Whether a stretch without an element is longer than any can be that is of use."""
    ends = range(MAX_STRETCH_BYTES, len(content) + 1, MAX_STRETCH_BYTES)
    return any(content.find(b"<", end - MAX_STRETCH_BYTES, end) < 0 for end in ends)


def _shared_chars(content: bytes) -> int:
    """Return how many cells share a formula, times the length of the longest formula."""
    count = content.count(b"shared")
    return count * max(map(len, _FORMULA.findall(content)), default=0) if count else 0


def _read_sheets(data: bytes, name: str, has_formulas: bool) -> list[Sheet]:
    import openpyxl

    def opened(*, data_only: bool) -> Any:
        return openpyxl.load_workbook(
            io.BytesIO(data), read_only=True, data_only=data_only, keep_links=False
        )

    book = opened(data_only=True)
    formulas = opened(data_only=False) if has_formulas else None
    budget = MAX_CELLS
    sheets: list[Sheet] = []
    for at, sheet in enumerate(book.worksheets[:MAX_SHEETS]):
        empty: dict[tuple[int, int], CellFault] = {}
        if formulas is not None:
            cells, budget = _cells(formulas.worksheets[at], budget, name)
            empty = {
                (row, column): CellFault("a formula without a value; save the file once more")
                for row, found in cells
                for column, cell in enumerate(found)
                if getattr(cell, "data_type", "") == "f"
            }
        cells, budget = _cells(sheet, budget, name)
        rows = {number: [_value(cell) for cell in found] for number, found in cells}
        for (number, column), fault in empty.items():
            values = rows.setdefault(number, [])
            values.extend([""] * (column + 1 - len(values)))
            if values[column] == "":
                values[column] = fault
        sheets.append(Sheet(str(sheet.title), sorted(rows.items())))
    return sheets


def _cells(sheet: Any, budget: int, name: str) -> tuple[list[tuple[int, list[Any]]], int]:
    """Return the rows of a sheet that hold anything, cut after their last value."""
    sheet.reset_dimensions()
    found: list[tuple[int, list[Any]]] = []
    blank = 0
    for number, row in enumerate(sheet.iter_rows(), start=1):
        budget -= 1 + len(row)
        if budget < 0:
            raise _too_large(name, f"At most {MAX_CELLS} cells are read.")
        filled = len(row)
        while filled and row[filled - 1].value in (None, ""):
            filled -= 1
        if not filled:
            blank += 1
            if blank >= BLANK_ROWS_END:
                break
            continue
        blank = 0
        found.append((number, list(row[:filled])))
        if len(found) > MAX_ROWS:
            break
    return found, budget


def _value(cell: Any) -> Value:
    value = cell.value
    if value is None:
        return ""
    if getattr(cell, "data_type", "") == "e":
        return CellFault(f"the workbook shows an error here: {str(value)[:20]}")
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        if not abs(value) < EXACT_BELOW:
            return CellFault("a number too long to be kept exactly; format the cell as text")
        return str(int(value)) if value == int(value) else repr(value)
    return str(value)
