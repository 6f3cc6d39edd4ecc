"""Labels for units and offcuts: a QR code of the digits, the code in large, and plain text."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from stockroom.documents.page import (
    BOLD,
    LEAST_TEXT_PT,
    PAGE_PT,
    PT_PER_MM,
    QR_PT,
    REGULAR,
    Page,
    cut_to_width,
    draw_qr,
    has_qr,
    printable,
    size_to_width,
)
from stockroom.errors import BadValueError
from stockroom.text import safe

Paper = Literal["A4", "letter"]
PADDING_PT = 5 * PT_PER_MM
"""Kept free inside each label's edge: many printers cannot reach the last 5 mm (our choice)."""
LEAST_HEIGHT_PT = 15 * PT_PER_MM
LEAST_WIDTH_PT = 35 * PT_PER_MM
TEXT_LINES = 4
"""Lines of text under the title; further ones are left out, on a small label earlier ones too."""

_DESIGN_HEIGHT_PT = 27 * PT_PER_MM
_CODE_PT, _TITLE_PT, _LINE_PT, _LEADING = 18.0, 9.0, 7.5, 1.2


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says.

    Attributes
    ----------
    code : str
        The unit's code; its QR code is drawn where it is plain digits.
    title : str
        What it is, such as the material.
    lines : tuple of str
        Up to four lines of text, such as size, batch and place.
    """

    code: str
    title: str
    lines: tuple[str, ...] = ()


def labels_pdf(
    labels: Sequence[Label],
    *,
    columns: int = 3,
    rows: int = 8,
    page: Paper = "A4",
    start: int = 0,
    each_dmm: tuple[int, int] | None = None,
) -> bytes:
    """Return label sheets as a PDF that repeats byte for byte.

    Parameters
    ----------
    labels : sequence of Label
        In the order of printing: left to right, then down.
    columns, rows : int
        How the sheet is divided, without margins.
    page : str
        ``A4`` or ``letter``.
    start : int
        How many positions of the first sheet are used up already.
    each_dmm : (int, int), optional
        Width and height of one label, for a printer that takes labels from a roll: each is a page
        of its own, and the sheet's division is left aside.

    Returns
    -------
    bytes
        The PDF. Text that is too long is cut; characters outside Latin-1 become "?".

    Raises
    ------
    BadValueError
        Where there are no labels, the labels would be too small, or no position is free.
    """
    if not labels:
        raise BadValueError("There are no labels to print.", "Nothing was chosen.")
    if page not in PAGE_PT:
        raise BadValueError(f"{safe(page)!r} is not a page size.", "A4 and letter are known.")
    if not (1 <= columns <= 100 and 1 <= rows <= 100):
        raise BadValueError("A sheet cannot be divided like that.", "Columns and rows: 1 to 100.")
    page_pt = PAGE_PT[page]
    if each_dmm is not None:
        page_pt = (each_dmm[0] * PT_PER_MM / 10, each_dmm[1] * PT_PER_MM / 10)
        columns, rows, start = 1, 1, 0
    size_pt = (page_pt[0] / columns, page_pt[1] / rows)
    if size_pt[0] < LEAST_WIDTH_PT or size_pt[1] < LEAST_HEIGHT_PT:
        raise BadValueError(
            "A label of that size is too small to read.",
            "A label needs 35 x 15 mm at least.",
            "Take fewer columns or rows, or larger labels.",
        )
    per_page = columns * rows
    if not 0 <= start < per_page:
        raise BadValueError(
            f"{start} positions cannot be used up already.",
            f"A sheet has {per_page}; at least one must be free.",
        )

    sheet = Page("Labels", page_pt)
    for index, label in enumerate(labels, start=start):
        on_page = index % per_page
        if on_page == 0 and index > start:
            sheet.turn()
        row, column = divmod(on_page, columns)
        corner = (column * size_pt[0], page_pt[1] - (row + 1) * size_pt[1])
        _draw(sheet.canvas, label, corner, size_pt)
    return sheet.pdf()


def labels_text(labels: Sequence[Label]) -> str:
    """Return labels as plain text, one under the other.

    >>> print(labels_text([Label("10012", "Pearl 127", ("9.4 m", "batch 7A"))]), end="")
    10012
      Pearl 127
      9.4 m
      batch 7A
    """
    blocks = []
    for label in labels:
        texts = [safe(text) for text in (label.title, *label.lines[:TEXT_LINES])]
        blocks.append("\n".join([safe(label.code), *(f"  {text}" for text in texts if text)]))
    return "\n\n".join(blocks) + "\n" if blocks else ""


def _draw(
    canvas: Any, label: Label, corner: tuple[float, float], size_pt: tuple[float, float]
) -> None:
    left, bottom = corner[0] + PADDING_PT, corner[1] + PADDING_PT / 2
    width, height = size_pt[0] - 2 * PADDING_PT, size_pt[1] - PADDING_PT
    scale = min(1.0, height / _DESIGN_HEIGHT_PT)
    if has_qr(label.code):
        side = min(height, width * 0.45, QR_PT)
        # The free modules on the left lie in the label's own padding, which is wider.
        quiet = draw_qr(canvas, label.code, left, bottom + (height - side) / 2, side)
        left, width = left + side - quiet, width - side + quiet
    entries = [(label.code, BOLD, _CODE_PT), (label.title, BOLD, _TITLE_PT)]
    entries += [(line, REGULAR, _LINE_PT) for line in label.lines[:TEXT_LINES]]
    texts: list[tuple[str, str, float]] = []
    tall = 0.0
    for entry, font, full_pt in entries:
        text = printable(entry)
        size = size_to_width(text, font, max(LEAST_TEXT_PT, full_pt * scale), width)
        if text and tall + size * _LEADING <= height:  # on a small label the last lines go
            texts.append((text, font, size))
            tall += size * _LEADING
    y = bottom + (height + tall) / 2
    for text, font, size in texts:
        y -= size
        canvas.setFont(font, size)
        canvas.drawString(left, y, cut_to_width(text, font, size, width))
        y -= size * (_LEADING - 1)
