"""Lists to take along: what to order from whom, and a day sheet to tick at the bench."""

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from stockroom.documents.labels import PAGE_PT, PT_PER_MM, cut_to_width, printable, size_to_width
from stockroom.errors import BadValueError
from stockroom.text import guard_cell, safe

REASON_LENGTH = 500
"""Longest reason kept on a list, in characters: a sentence or three (our choice)."""
NO_SUPPLIER = "No supplier named"
ORDER_COLUMNS = ("supplier", "code", "material", "quantity", "reason")

Group = tuple[str, Sequence[tuple[str, str]]]
"""A heading, and the rows under it: a code (or none) and what is to be done."""

_MARGIN_PT = 15 * PT_PER_MM
_TITLE_PT, _HEADING_PT, _TEXT_PT, _SMALL_PT = 16.0, 11.5, 10.0, 8.0
_LINE_PT = 13.0
_ROW_GAP_PT = 7.0
_HEADING_SPACE_PT = 26.0
_BOX_PT = 11.0
_TIME_PT, _CODE_PT = 62.0, 52.0
_REGULAR, _BOLD = "Helvetica", "Helvetica-Bold"


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
            if reason := safe(line.reason, length=REASON_LENGTH):
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
            reason = safe(line.reason, length=REASON_LENGTH)
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
class _Row:
    """One printed block of the day sheet: a heading, or a row with its wrapped text."""

    code: str
    lines: tuple[str, ...]
    is_heading: bool

    @property
    def height_pt(self) -> float:
        if self.is_heading:
            return _HEADING_SPACE_PT
        return len(self.lines) * _LINE_PT + _ROW_GAP_PT


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

    from reportlab.pdfgen.canvas import Canvas

    width, height = PAGE_PT["A4"]
    text_left = _MARGIN_PT + _BOX_PT + 8 + _TIME_PT + _CODE_PT
    pages = _paginate(_rows(groups, width - _MARGIN_PT - text_left), height)
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(width, height), invariant=1, pageCompression=1)
    canvas.setTitle(printable(title) or "Day sheet")
    for number, rows in enumerate(pages, start=1):
        _draw_frame(canvas, title, number, len(pages), text_left)
        y = height - _top_pt()
        for row in rows:
            _draw_row(canvas, row, y, text_left)
            y -= row.height_pt
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _top_pt() -> float:
    """What the title and the column heads take from the top."""
    return _MARGIN_PT + _TITLE_PT + 26


def _rows(groups: Sequence[Group], width_pt: float) -> list[list[_Row]]:
    """Each group as its heading and its wrapped rows; groups without rows are left out."""
    out = []
    for heading, entries in groups:
        if not entries:
            continue
        rows = [_Row("", (printable(heading),), is_heading=True)]
        for code, text in entries:
            lines = wrapped_to_width(printable(text, length=REASON_LENGTH), width_pt)
            rows.append(_Row(printable(code), lines, is_heading=False))
        out.append(rows)
    return out


def wrapped_to_width(text: str, width_pt: float) -> tuple[str, ...]:
    """Text in lines no wider than a width, broken at blanks, and inside a word only if it must."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if stringWidth(longer, _REGULAR, _TEXT_PT) <= width_pt:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for char in word:
            if lines[-1] and stringWidth(lines[-1] + char, _REGULAR, _TEXT_PT) > width_pt:
                lines.append("")
            lines[-1] += char
    return tuple(lines)


def _paginate(groups: list[list[_Row]], height_pt: float) -> list[list[_Row]]:
    """Rows by page; a heading stays with its first row and is repeated on the next page."""
    room = height_pt - _top_pt() - _MARGIN_PT - 12
    pages: list[list[_Row]] = [[]]
    used = 0.0
    for heading, *rows in groups:
        for index, row in enumerate(rows):
            block = [heading, row] if index == 0 else [row]
            if used + sum(part.height_pt for part in block) > room and pages[-1]:
                pages.append([])
                used = 0.0
                if index:
                    block = [_Row("", (f"{heading.lines[0]} (continued)",), True), row]
            pages[-1].extend(block)
            used += sum(part.height_pt for part in block)
    return pages


def _draw_frame(canvas: Any, title: str, number: int, count: int, text_left: float) -> None:
    width, height = PAGE_PT["A4"]
    right = width - _MARGIN_PT
    canvas.setFont(_BOLD, _TITLE_PT)
    shown = cut_to_width(printable(title), _BOLD, _TITLE_PT, right - _MARGIN_PT)
    canvas.drawString(_MARGIN_PT, height - _MARGIN_PT - _TITLE_PT, shown)
    y = height - _top_pt()
    canvas.setFont(_REGULAR, _SMALL_PT)
    canvas.drawString(_MARGIN_PT, y, "Done")
    canvas.drawString(_MARGIN_PT + _BOX_PT + 14, y, "Time")
    canvas.drawString(text_left - _CODE_PT, y, "Code")
    canvas.drawString(text_left, y, "What")
    canvas.setLineWidth(0.6)
    canvas.line(_MARGIN_PT, y - 4, right, y - 4)
    canvas.drawRightString(right, _MARGIN_PT - 6, f"Page {number} of {count}")
    note = "Tick what was done and write the time it happened; enter both later."
    canvas.drawString(_MARGIN_PT, _MARGIN_PT - 6, note)


def _draw_row(canvas: Any, row: _Row, top: float, text_left: float) -> None:
    width = PAGE_PT["A4"][0]
    if row.is_heading:
        canvas.setFont(_BOLD, _HEADING_PT)
        heading = cut_to_width(row.lines[0], _BOLD, _HEADING_PT, width - 2 * _MARGIN_PT)
        canvas.drawString(_MARGIN_PT, top - _HEADING_SPACE_PT + 4, heading)
        return
    base = top - _LINE_PT - 3
    canvas.setLineWidth(0.9)
    canvas.rect(_MARGIN_PT, base - 2, _BOX_PT, _BOX_PT, stroke=1, fill=0)
    canvas.setLineWidth(0.5)
    time_left = _MARGIN_PT + _BOX_PT + 14
    canvas.line(time_left, base - 2, time_left + 20, base - 2)
    canvas.setFont(_REGULAR, _TEXT_PT)
    canvas.drawString(time_left + 21.5, base, ":")
    canvas.line(time_left + 26, base - 2, time_left + 46, base - 2)
    code_pt = size_to_width(row.code, _BOLD, _TEXT_PT, _CODE_PT - 6)
    canvas.setFont(_BOLD, code_pt)
    code = cut_to_width(row.code, _BOLD, code_pt, _CODE_PT - 6)
    canvas.drawString(text_left - _CODE_PT, base, code)
    canvas.setFont(_REGULAR, _TEXT_PT)
    for line in row.lines:
        canvas.drawString(text_left, base, line)
        base -= _LINE_PT
