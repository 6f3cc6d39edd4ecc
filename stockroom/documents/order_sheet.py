"""Orders to send: one supplier a page, what is wanted, how many, at what price, and the sum."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from stockroom.documents.labels import PAGE_PT, PT_PER_MM, cut_to_width, printable
from stockroom.documents.lists import wrapped_to_width

MOST_LINES = 40
"""Things that one page holds; further ones go on the next (our choice)."""

_MARGIN_PT = 20 * PT_PER_MM
_TITLE_PT, _TEXT_PT, _SMALL_PT, _LINE_PT = 16.0, 10.0, 8.0, 15.0
_COUNT_PT, _EACH_PT, _SUM_PT, _GAP_PT = 40.0, 70.0, 80.0, 8.0
_REGULAR, _BOLD = "Helvetica", "Helvetica-Bold"


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One thing that is ordered: how many of what, at what price; "" where it is not known."""

    count: str
    what: str
    each: str = ""
    together: str = ""


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """One supplier's order.

    Attributes
    ----------
    supplier : str
    day : str
        When it is written, as text.
    lines : tuple of SheetLine
    total : str
        "" where no price is known.
    notes : tuple of str
        What else is said below.
    """

    supplier: str
    day: str
    lines: tuple[SheetLine, ...]
    total: str = ""
    notes: tuple[str, ...] = ()


def order_sheets(sheets: Sequence[OrderSheet]) -> bytes:
    """Return orders as a PDF, a supplier a page of A4, the same bytes for the same input."""
    from reportlab.pdfgen.canvas import Canvas

    width, height = PAGE_PT["A4"]
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(width, height), invariant=1, pageCompression=1)
    canvas.setTitle(printable("Orders"))
    for sheet in sheets:
        for first in range(0, max(1, len(sheet.lines)), MOST_LINES):
            _page(canvas, sheet, first, width, height)
            canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _page(canvas: Any, sheet: OrderSheet, first: int, width: float, height: float) -> None:
    left, right = _MARGIN_PT, width - _MARGIN_PT
    y = height - _MARGIN_PT - _TITLE_PT
    _text(canvas, left, y, sheet.supplier, _BOLD, _TITLE_PT, right - left)
    y -= _LINE_PT * 1.5
    _text(canvas, left, y, f"Order, {sheet.day}", _REGULAR, _TEXT_PT, right - left)
    y -= _LINE_PT * 1.5
    _row(canvas, SheetLine("Count", "What", "Each", "Together"), left, right, y, _BOLD)
    canvas.line(left, y - 4, right, y - 4)
    for line in sheet.lines[first : first + MOST_LINES]:
        y -= _LINE_PT
        _row(canvas, line, left, right, y, _REGULAR)
    if first + MOST_LINES < len(sheet.lines):
        return
    if sheet.total:
        y -= _LINE_PT * 1.4
        canvas.line(right - _SUM_PT, y + _LINE_PT - 3, right, y + _LINE_PT - 3)
        _row(canvas, SheetLine("", "All together", "", sheet.total), left, right, y, _BOLD)
    y -= _LINE_PT
    for note in sheet.notes:
        for text in wrapped_to_width(printable(note), right - left):
            y -= _LINE_PT
            _text(canvas, left, y, text, _REGULAR, _SMALL_PT, right - left)


def _row(canvas: Any, line: SheetLine, left: float, right: float, y: float, font: str) -> None:
    what_room = right - left - _COUNT_PT - _EACH_PT - _SUM_PT - 2 * _GAP_PT
    _right(canvas, left + _COUNT_PT - _GAP_PT, y, line.count, font)
    _text(canvas, left + _COUNT_PT, y, line.what, font, _TEXT_PT, what_room)
    _right(canvas, right - _SUM_PT - _GAP_PT, y, line.each, font)
    _right(canvas, right, y, line.together, font)


def _text(
    canvas: Any, x: float, y: float, text: str, font: str, size: float, room: float
) -> None:  # fmt: skip
    canvas.setFont(font, size)
    canvas.drawString(x, y, cut_to_width(printable(text), font, size, room))


def _right(canvas: Any, x: float, y: float, text: str, font: str) -> None:
    canvas.setFont(font, _TEXT_PT)
    canvas.drawRightString(x, y, printable(text))
