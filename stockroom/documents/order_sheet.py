"""Orders to send: one supplier a page, what is wanted, how many, at what price, and the sum."""

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.documents.page import BOLD, GAP_PT, LINE_PT, REGULAR, Page

MOST_LINES = 40
"""Things that one page holds; further ones go on the next (our choice)."""
_WIDTHS = (-50.0, 300.0, -62.0, -80.0)


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
    page = Page("Orders")
    for sheet in sheets:
        for first in range(0, max(1, len(sheet.lines)), MOST_LINES):
            _fill(page, sheet, first)
            page.turn()
    return page.pdf()


def _fill(page: Page, sheet: OrderSheet, first: int) -> None:
    page.head(sheet.supplier, f"Order, {sheet.day}")
    _row(page, SheetLine("Count", "What", "Each", "Together"), BOLD)
    page.rule(page.left, page.right, below=4)
    page.y -= 3
    for line in sheet.lines[first : first + MOST_LINES]:
        _row(page, line)
    if first + MOST_LINES < len(sheet.lines):
        return
    if sheet.total:
        page.y -= GAP_PT
        _row(page, SheetLine("", "All together", "", sheet.total), BOLD)
        page.rule(page.right + _WIDTHS[-1], page.right, below=3 - LINE_PT)
    page.y -= LINE_PT
    for note in sheet.notes:
        page.wrapped(note)


def _row(page: Page, line: SheetLine, font: str = REGULAR) -> None:
    page.row((line.count, line.what, line.each, line.together), _WIDTHS, font=font)
