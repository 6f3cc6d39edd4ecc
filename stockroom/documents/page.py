"""The page that all papers share: size, margins, fonts, text that is cut or wrapped, codes."""

import io
from collections.abc import Sequence
from typing import Any

from stockroom.text import NAME_LENGTH, safe

PAGE_PT: dict[str, tuple[float, float]] = {"A4": (595.276, 841.890), "letter": (612.0, 792.0)}
"""Page sizes, points of 1/72 inch (ISO 216 A4 is 210 x 297 mm; letter is 8.5 x 11 in)."""
PT_PER_MM = 72 / 25.4
MARGIN_PT = 15 * PT_PER_MM
TITLE_PT, HEADING_PT, TEXT_PT, SMALL_PT = 16.0, 11.0, 10.0, 8.0
LEADING = 1.3
"""From line to line, in sizes of the text."""
LINE_PT = TEXT_PT * LEADING
GAP_PT, CELL_GAP_PT, BOX_PT = 8.0, 6.0, 11.0
QR_PT = 25 * PT_PER_MM
REGULAR, BOLD = "Helvetica", "Helvetica-Bold"
QUIET_MODULES = 4
"""Free modules round a QR code (ISO/IEC 18004)."""
LEAST_TEXT_PT = 6.0
"""Smallest text that is still read at arm's length (our choice)."""
LONGEST_CODE = 24
"""Digits of the longest code that is drawn; a unit's code has far fewer (our choice)."""
LONGEST_TEXT = 500
"""Longest text that is wrapped, in characters: a sentence or three (our choice)."""
_PLAIN = str.maketrans({"…": "...", "–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"'})


class Page:
    """The pages of one PDF, each filled from the top down; the same bytes for the same input.

    Text that is too long is cut; characters outside Latin-1 become "?".

    Attributes
    ----------
    canvas : Canvas
        For what one paper alone draws.
    left, right, top, bottom : float
        The margins, points from the lower left corner.
    y : float
        The line written last.
    """

    def __init__(self, title: str, size_pt: tuple[float, float] = PAGE_PT["A4"]) -> None:
        from reportlab.pdfgen.canvas import Canvas

        self._buffer = io.BytesIO()
        self.canvas = Canvas(self._buffer, pagesize=size_pt, invariant=1, pageCompression=1)
        self.canvas.setTitle(printable(title))
        self.left, self.right = MARGIN_PT, size_pt[0] - MARGIN_PT
        self.bottom, self.top = MARGIN_PT, size_pt[1] - MARGIN_PT
        self.y = self.top

    @property
    def width(self) -> float:
        """From margin to margin, points."""
        return self.right - self.left

    def turn(self) -> None:
        """End the page; what is written next stands on another."""
        self.canvas.showPage()
        self.y = self.top

    def pdf(self) -> bytes:
        """Return all pages that were ended."""
        self.canvas.save()
        return self._buffer.getvalue()

    def text(
        self,
        x: float,
        text: str,
        size: float = TEXT_PT,
        font: str = REGULAR,
        room: float | None = None,
        *,
        to_right: bool = False,
        whole: bool = False,
    ) -> None:
        """Write on the line, from a place on or up to it.

        Parameters
        ----------
        x : float
            Where it begins, or where it ends.
        room : float or None
            What it is cut to; None for all up to the right margin.
        to_right : bool
            Whether it ends at `x`.
        whole : bool
            Whether it shrinks before it is cut: a code that lacks a digit would be another unit's.
        """
        text = printable(text)
        room = self.right - x if room is None else room
        if whole:
            size = size_to_width(text, font, size, room)
        self.canvas.setFont(font, size)
        draw = self.canvas.drawRightString if to_right else self.canvas.drawString
        draw(x, self.y, cut_to_width(text, font, size, room))

    def line(
        self,
        text: str,
        size: float = TEXT_PT,
        font: str = REGULAR,
        room: float | None = None,
        indent: float = 0.0,
    ) -> None:
        """Go down by a line and write it, from the left margin or so far from it."""
        self.y -= size * LEADING
        self.text(self.left + indent, text, size, font, room)

    def wrapped(self, text: str, size: float = SMALL_PT) -> None:
        """Go down and write a text on as many lines as it takes."""
        for line in wrapped(text, self.width, size):
            self.line(line, size)

    def row(
        self,
        cells: Sequence[str],
        widths: Sequence[float],
        size: float = TEXT_PT,
        font: str = REGULAR,
    ) -> None:
        """Go down by a line and write cells side by side; a width below zero: set right, whole."""
        self.y -= LINE_PT
        x = self.left
        for cell, width in zip(cells, widths, strict=True):
            if width < 0:
                self.text(x - width, cell, size, font, -width, to_right=True, whole=True)
            else:
                self.text(x, cell, size, font, width)
            x += abs(width) + CELL_GAP_PT

    def head(self, title: str, *texts: str, code: str = "") -> None:
        """Write a title, what stands under it, and a code to scan beside them."""
        room, foot = self.width, self.top
        if has_qr(code):
            room, foot = room - QR_PT, foot - QR_PT
            draw_qr(self.canvas, code, self.left + room, foot, QR_PT)
        self.line(title, TITLE_PT, BOLD, room)
        for text in filter(None, texts):
            self.line(text, room=room)
        self.y = min(self.y, foot) - GAP_PT

    def foot(self, note: str, number: str = "") -> None:
        """Write a note at the foot, and which page it is."""
        self.y = self.bottom - 6
        self.text(self.left, note, SMALL_PT)
        self.text(self.right, number, SMALL_PT, room=self.width, to_right=True)

    def rule(self, x: float, to_x: float, *, below: float = 2.0, width: float = 0.5) -> None:
        """Draw a level line below the line written last."""
        self.canvas.setLineWidth(width)
        self.canvas.line(x, self.y - below, to_x, self.y - below)

    def box(self, x: float) -> None:
        """Draw a box to tick on the line."""
        self.canvas.setLineWidth(0.9)
        self.canvas.rect(x, self.y - 2, BOX_PT, BOX_PT, stroke=1, fill=0)


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

    >>> size_to_width("10012", "Helvetica", 10, 100)
    10
    """
    from reportlab.pdfbase.pdfmetrics import stringWidth

    wide_pt: float = stringWidth(text, font, size_pt)
    if wide_pt <= width_pt:
        return size_pt
    return min(size_pt, max(LEAST_TEXT_PT, size_pt * width_pt / wide_pt * 0.999))


def wrapped(text: str, width_pt: float, size_pt: float = TEXT_PT) -> tuple[str, ...]:
    """Return text in lines no wider than a width, broken inside a word only if it must be."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    lines = [""]
    for word in printable(text, length=LONGEST_TEXT).split():
        longer = f"{lines[-1]} {word}".strip()
        if stringWidth(longer, REGULAR, size_pt) <= width_pt:
            lines[-1] = longer
            continue
        if lines[-1]:
            lines.append("")
        for char in word:
            if lines[-1] and stringWidth(lines[-1] + char, REGULAR, size_pt) > width_pt:
                lines.append("")
            lines[-1] += char
    return tuple(lines)


def has_qr(code: str) -> bool:
    """Return whether a code is drawn as a QR code: plain digits, not too many.

    >>> has_qr("10012"), has_qr("10012a"), has_qr("")
    (True, False, False)
    """
    return code.isascii() and code.isdigit() and len(code) <= LONGEST_CODE


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
