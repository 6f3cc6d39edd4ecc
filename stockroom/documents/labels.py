"""Labels for units and offcuts: a QR code of the digits, the code in large, and plain text."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from stockroom.errors import BadValueError
from stockroom.text import NAME_LENGTH, safe

Page = Literal["A4", "letter"]
PAGE_PT: dict[str, tuple[float, float]] = {"A4": (595.276, 841.890), "letter": (612.0, 792.0)}
"""Page sizes, points of 1/72 inch (ISO 216 A4 is 210 x 297 mm; letter is 8.5 x 11 in)."""
PT_PER_MM = 72 / 25.4
PADDING_PT = 5 * PT_PER_MM
"""Kept free inside each label's edge: many printers cannot reach the last 5 mm (our choice)."""
LEAST_HEIGHT_PT = 15 * PT_PER_MM
LEAST_WIDTH_PT = 35 * PT_PER_MM
TEXT_LINES = 4
"""Lines of text under the title; further ones are left out, on a small label earlier ones too."""
QUIET_MODULES = 4
"""Free modules round a QR code (ISO/IEC 18004)."""
LEAST_TEXT_PT = 6.0
"""Smallest text that is still read at arm's length (our choice)."""
LONGEST_CODE = 24
"""Digits of the longest code that is drawn; a unit's code has far fewer (our choice)."""

_DESIGN_HEIGHT_PT = 27 * PT_PER_MM
_QR_SIDE_PT = 25 * PT_PER_MM
_CODE_PT, _TITLE_PT, _LINE_PT, _LEADING = 18.0, 9.0, 7.5, 1.2
_REGULAR, _BOLD = "Helvetica", "Helvetica-Bold"
_PLAIN = str.maketrans({"…": "...", "–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"'})


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
    page: Page = "A4",
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

    from reportlab.pdfgen.canvas import Canvas

    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=page_pt, invariant=1, pageCompression=1)
    canvas.setTitle("Labels")
    for index, label in enumerate(labels, start=start):
        on_page = index % per_page
        if on_page == 0 and index > start:
            canvas.showPage()
        row, column = divmod(on_page, columns)
        corner = (column * size_pt[0], page_pt[1] - (row + 1) * size_pt[1])
        _draw(canvas, label, corner, size_pt)
    canvas.save()
    return buffer.getvalue()


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


def has_qr(code: str) -> bool:
    """Return whether a code is drawn as a QR code: plain digits, not too many.

    >>> has_qr("10012"), has_qr("10012a"), has_qr("")
    (True, False, False)
    """
    return code.isascii() and code.isdigit() and len(code) <= LONGEST_CODE


def printable(text: str, *, length: int = NAME_LENGTH) -> str:
    """Return one clean line that the PDF's own fonts can show; "?" for what they cannot.

    >>> printable("Pearl 127 – matt ½ 光")
    'Pearl 127 - matt ½ ?'
    """
    plain = safe(text, length=length).translate(_PLAIN)
    return plain.encode("latin-1", "replace").decode("latin-1")


def cut_to_width(text: str, font: str, size_pt: float, width_pt: float) -> str:
    """Return text cut so that it is no wider than a width, with "..." where it was cut.

    >>> cut_to_width("a very long name of a paper", "Helvetica", 10, 60)
    'a very lon...'
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    if stringWidth(text, font, size_pt) <= width_pt:
        return text
    for end in range(len(text) - 1, 0, -1):
        shorter = text[:end].rstrip() + "..."
        if stringWidth(shorter, font, size_pt) <= width_pt:
            return shorter
    return ""


def size_to_width(text: str, font: str, size_pt: float, width_pt: float) -> float:
    """Return the font size at which a text is no wider than a width, 6 points at the least.

    Text shrinks before it is cut: a code that lacks a digit would be another unit's.

    >>> size_to_width("10012", "Helvetica", 10, 100)
    10
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide_pt: float = stringWidth(text, font, size_pt)
    if wide_pt <= width_pt:
        return size_pt
    return min(size_pt, max(LEAST_TEXT_PT, size_pt * width_pt / wide_pt * 0.999))


def _draw(
    canvas: Any, label: Label, corner: tuple[float, float], size_pt: tuple[float, float]
) -> None:
    left, bottom = corner[0] + PADDING_PT, corner[1] + PADDING_PT / 2
    width, height = size_pt[0] - 2 * PADDING_PT, size_pt[1] - PADDING_PT
    scale = min(1.0, height / _DESIGN_HEIGHT_PT)
    if has_qr(label.code):
        side = min(height, width * 0.45, _QR_SIDE_PT)
        # The free modules on the left lie in the label's own padding, which is wider.
        quiet = draw_qr(canvas, label.code, left, bottom + (height - side) / 2, side)
        left, width = left + side - quiet, width - side + quiet
    entries = [(label.code, _BOLD, _CODE_PT), (label.title, _BOLD, _TITLE_PT)]
    entries += [(line, _REGULAR, _LINE_PT) for line in label.lines[:TEXT_LINES]]
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


def draw_qr(canvas: Any, code: str, left: float, bottom: float, side: float) -> float:
    """Draw the dark modules as one filled path, each run of a row as one rectangle.

    The dark part starts at `left`; the width of the free modules, counted in `side`, is returned.
    """
    import segno

    matrix = segno.make(code, error="m", micro=False).matrix
    module = side / (len(matrix) + 2 * QUIET_MODULES)
    path = canvas.beginPath()
    for row, values in enumerate(matrix):
        y = bottom + side - (QUIET_MODULES + row + 1) * module
        column = 0
        while column < len(values):
            run = 0
            while column + run < len(values) and values[column + run]:
                run += 1
            if run:
                x = left + column * module
                path.rect(x, y, run * module, module)
            column += run + 1
    canvas.drawPath(path, stroke=0, fill=1)
    return QUIET_MODULES * module
