"""Lists to take along: what to order from whom, and a day sheet to tick at the bench."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from stockroom.documents.page import (
    BOLD,
    HEADING_PT,
    LINE_PT,
    LONGEST_TEXT,
    SMALL_PT,
    TEXT_PT,
    Page,
    printable,
    wrapped,
)
from stockroom.errors import BadValueError
from stockroom.text import guard_cell, safe

NO_SUPPLIER = "No supplier named"
ORDER_COLUMNS = ("supplier", "code", "material", "quantity", "reason")

Group = tuple[str, Sequence[tuple[str, str]]]
"""A heading, and the rows under it: a code (or none) and what is to be done."""

_ROW_GAP_PT = 7.0
_HEADING_SPACE_PT = 26.0
_TOP_PT = 42.0
"""What the title and the column heads take from the top."""
_TIME_LEFT_PT, _CODE_LEFT_PT, _TEXT_LEFT_PT = 25.0, 81.0, 133.0
"""Where the columns begin, from the left margin."""


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One thing to order: of what, from whom, how much, and why."""

    material: str
    supplier: str
    quantity_text: str
    reason: str
    code: str = ""


def order_list_text(lines: Sequence[OrderLine]) -> str:
    """Return an order list as plain text, by supplier.

    >>> line = OrderLine("Pearl 127", "Northern Papers", "2 rolls", "Short by 12 m on 3 May.")
    >>> print(order_list_text([line]), end="")
    Northern Papers
      2 rolls  Pearl 127
        Short by 12 m on 3 May.
    """
    blocks = []
    for supplier, group in _by_supplier(lines):
        block = [supplier]
        for line in group:
            code = f" ({safe(line.code)})" if safe(line.code) else ""
            block.append(f"  {safe(line.quantity_text)}  {safe(line.material)}{code}")
            if reason := safe(line.reason, length=LONGEST_TEXT):
                block.append(f"    {reason}")
        blocks.append("\n".join(block))
    return "\n\n".join(blocks) + "\n" if blocks else "Nothing to order.\n"


def order_list_csv(lines: Sequence[OrderLine]) -> str:
    """Return an order list as CSV (RFC 4180), by supplier; no cell can start a formula.

    >>> order_list_csv([OrderLine("=Pearl", "N", "2 rolls", "", "10012")]).splitlines()[1]
    "N,10012,'=Pearl,2 rolls,"
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(ORDER_COLUMNS)
    for supplier, group in _by_supplier(lines):
        named = "" if supplier == NO_SUPPLIER else supplier
        for line in group:
            cells = (named, safe(line.code), safe(line.material), safe(line.quantity_text))
            reason = safe(line.reason, length=LONGEST_TEXT)
            writer.writerow([guard_cell(cell) for cell in (*cells, reason)])
    return out.getvalue()


def _by_supplier(lines: Sequence[OrderLine]) -> list[tuple[str, list[OrderLine]]]:
    """Lines under their suppliers by name, those without one last, else in the order given."""

    def place(line: OrderLine) -> tuple[bool, str, str]:
        name = safe(line.supplier)
        return not name, name.casefold(), name

    grouped = groupby(sorted(lines, key=place), key=lambda line: safe(line.supplier))
    return [(name or NO_SUPPLIER, list(group)) for name, group in grouped]


@dataclass(frozen=True, slots=True)
class _DayRow:
    """One printed block of the day sheet: a heading, or a row with its wrapped text."""

    code: str
    lines: tuple[str, ...]
    is_heading: bool

    @property
    def height_pt(self) -> float:
        if self.is_heading:
            return _HEADING_SPACE_PT
        return len(self.lines) * LINE_PT + _ROW_GAP_PT


def day_sheet_pdf(title: str, groups: Sequence[Group]) -> bytes:
    """Return a day sheet: each row with a box to tick and room for the time it happened.

    Parameters
    ----------
    title : str
        Printed on every page, such as the day.
    groups : sequence of (heading, rows)
        Each row is a code and what is to be done; the text is wrapped, and cut only beyond
        500 characters.

    Returns
    -------
    bytes
        The PDF, A4, the same bytes for the same input; characters outside Latin-1 become "?".

    Raises
    ------
    BadValueError
        Where there is no row at all.
    """
    if not any(rows for _, rows in groups):
        raise BadValueError("There is nothing to put on a day sheet.", "No rows were given.")

    page = Page(title or "Day sheet")
    pages = _paginate(_rows(groups, page.width - _TEXT_LEFT_PT), page.top - page.bottom)
    for number, rows in enumerate(pages, start=1):
        _frame(page, title, f"Page {number} of {len(pages)}")
        page.y = page.top - _TOP_PT
        for row in rows:
            _draw(page, row)
        page.turn()
    return page.pdf()


def _rows(groups: Sequence[Group], width_pt: float) -> list[list[_DayRow]]:
    """Each group as its heading and its wrapped rows; groups without rows are left out."""
    return [
        [
            _DayRow("", (printable(heading),), is_heading=True),
            *(_DayRow(code, wrapped(text, width_pt), is_heading=False) for code, text in entries),
        ]
        for heading, entries in groups
        if entries
    ]


def _paginate(groups: list[list[_DayRow]], height_pt: float) -> list[list[_DayRow]]:
    """Rows by page; a heading stays with its first row and is repeated on the next page."""
    room = height_pt - _TOP_PT - 12
    pages: list[list[_DayRow]] = [[]]
    used = 0.0
    for heading, *rows in groups:
        for index, row in enumerate(rows):
            block = [heading, row] if index == 0 else [row]
            if used + sum(part.height_pt for part in block) > room and pages[-1]:
                pages.append([])
                used = 0.0
                if index:
                    block = [_DayRow("", (f"{heading.lines[0]} (continued)",), True), row]
            pages[-1].extend(block)
            used += sum(part.height_pt for part in block)
    return pages


def _frame(page: Page, title: str, number: str) -> None:
    page.head(title)
    page.y = page.top - _TOP_PT
    for x, head in (
        (0.0, "Done"), (_TIME_LEFT_PT, "Time"), (_CODE_LEFT_PT, "Code"), (_TEXT_LEFT_PT, "What")
    ):  # fmt: skip
        page.text(page.left + x, head, SMALL_PT)
    page.rule(page.left, page.right, below=4)
    page.foot("Tick what was done and write the time it happened; enter both later.", number)


def _draw(page: Page, row: _DayRow) -> None:
    below = page.y - row.height_pt
    if row.is_heading:
        page.y = below + 4
        page.text(page.left, row.lines[0], HEADING_PT, BOLD)
    else:
        page.y -= LINE_PT + 3
        page.box(page.left)
        time_left = page.left + _TIME_LEFT_PT
        page.rule(time_left, time_left + 20)
        page.text(time_left + 21.5, ":")
        page.rule(time_left + 26, time_left + 46)
        code_room = _TEXT_LEFT_PT - _CODE_LEFT_PT - 6
        page.text(page.left + _CODE_LEFT_PT, row.code, TEXT_PT, BOLD, code_room, whole=True)
        for line in row.lines:
            page.text(page.left + _TEXT_LEFT_PT, line)
            page.y -= LINE_PT
    page.y = below
