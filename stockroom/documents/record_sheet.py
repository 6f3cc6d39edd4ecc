"""A one-page record of a finished piece: its materials by batch, its tries, its condition."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from stockroom.documents.labels import (
    PAGE_PT,
    PT_PER_MM,
    cut_to_width,
    draw_qr,
    has_qr,
    printable,
)
from stockroom.documents.lists import wrapped_to_width

MOST_LAYERS, MOST_TRIES, MOST_FACTS = 12, 10, 8
"""Lines of each kind that one page holds; further ones are counted (our choice)."""
HAND_OVER = ("Surface", "Edges and corners", "Frame and fixings", "Packing")
"""What is looked over by hand when a piece leaves (common practice)."""
NOTE = (
    "This lists what the workshop's books hold of this piece on the day of printing. It promises "
    "nothing about permanence."
)

_MARGIN_PT = 18 * PT_PER_MM
_TITLE_PT, _HEADING_PT, _TEXT_PT, _SMALL_PT = 17.0, 11.0, 9.5, 8.0
_LINE_PT, _GAP_PT, _BOX_PT = 13.0, 8.0, 10.0
_QR_PT = 26 * PT_PER_MM
_REGULAR, _BOLD = "Helvetica", "Helvetica-Bold"


@dataclass(frozen=True, slots=True)
class LayerRecord:
    """One material in the piece: which part, of what, of which batch and unit, used when."""

    part: str
    material: str
    batch: str
    unit: str
    used_on: str


@dataclass(frozen=True, slots=True)
class TryRecord:
    """One try: when, at which stage, how it came out."""

    day: str
    stage: str
    outcome: str


@dataclass(frozen=True, slots=True)
class PieceRecord:
    """All that a record says of one piece, as text.

    Attributes
    ----------
    code : str
        The piece's code, drawn as a QR code too.
    name, work, size, edition, build, stands : str
        What it is, and where it stands; "" for what is not known.
    layers : tuple of LayerRecord
        Front to back.
    tries : tuple of TryRecord
        In order of time.
    facts : tuple of (str, str)
        What was known of its materials, such as the freshness of the paper.
    """

    code: str
    name: str
    work: str = ""
    size: str = ""
    edition: str = ""
    build: str = ""
    stands: str = ""
    layers: tuple[LayerRecord, ...] = ()
    tries: tuple[TryRecord, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()


def record_sheet(record: PieceRecord) -> bytes:
    """Return a record as a PDF of one page, A4, the same bytes for the same input.

    Long lists are shortened and the rest counted; text that is too long is cut; characters
    outside Latin-1 become "?".
    """
    from reportlab.pdfgen.canvas import Canvas

    width, height = PAGE_PT["A4"]
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(width, height), invariant=1, pageCompression=1)
    canvas.setTitle(printable(f"Record of {record.name}"))
    page = _Page(canvas, height - _MARGIN_PT)
    _head(page, record)
    _table(
        page,
        "Materials, front to back",
        (70.0, 170.0, 95.0, 60.0, 90.0),
        ("Part", "Material", "Batch", "Unit", "Used"),
        [(x.part, x.material, x.batch, x.unit, x.used_on) for x in record.layers],
        MOST_LAYERS,
    )
    _table(
        page,
        "What was done",
        (130.0, 70.0, 285.0),
        ("When", "Stage", "How it came out"),
        [(x.day, x.stage, x.outcome) for x in record.tries],
        MOST_TRIES,
    )
    _table(page, "What was known of it", (130.0, 355.0), (), list(record.facts), MOST_FACTS)
    _hand_over(page)
    _foot(page)
    canvas.showPage()
    canvas.save()
    return buffer.getvalue()


class _Page:
    """A page filled from the top down."""

    def __init__(self, canvas: Any, top: float) -> None:
        self.canvas = canvas
        self.y = top
        self.left = _MARGIN_PT
        self.width = PAGE_PT["A4"][0] - 2 * _MARGIN_PT

    def line(self, text: str, font: str, size: float, width: float | None = None) -> None:
        """Write one line and go below it."""
        self.y -= size * 1.3
        self.canvas.setFont(font, size)
        shown = cut_to_width(printable(text), font, size, width or self.width)
        self.canvas.drawString(self.left, self.y, shown)


def _head(page: _Page, record: PieceRecord) -> None:
    top = page.y
    room = page.width
    if has_qr(record.code):
        room -= _QR_PT
        draw_qr(page.canvas, record.code, page.left + room, top - _QR_PT, _QR_PT)
    page.line(record.name, _BOLD, _TITLE_PT, room)
    for text in (
        f"Piece {record.code}",
        record.work,
        ", ".join(part for part in (record.size, record.edition) if part),
        record.build,
        record.stands,
    ):
        if text:
            page.line(text, _REGULAR, _TEXT_PT, room)
    page.y = min(page.y, top - _QR_PT) - _GAP_PT


def _table(
    page: _Page,
    title: str,
    widths: Sequence[float],
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    most: int,
) -> None:
    """A table of a few rows; those beyond are counted."""
    if not rows:
        return
    page.line(title, _BOLD, _HEADING_PT)
    page.y -= 3
    if heads:
        _row(page, widths, heads, _BOLD, _SMALL_PT)
    for row in rows[:most]:
        _row(page, widths, row, _REGULAR, _TEXT_PT)
    if len(rows) > most:
        page.line(f"and {len(rows) - most} more, in the books", _REGULAR, _SMALL_PT)
    page.y -= _GAP_PT


def _row(
    page: _Page, widths: Sequence[float], cells: Sequence[str], font: str, size: float
) -> None:
    page.y -= _LINE_PT
    x = page.left
    page.canvas.setFont(font, size)
    for cell, wide in zip(cells, widths, strict=True):
        page.canvas.drawString(x, page.y, cut_to_width(printable(cell), font, size, wide - 6))
        x += wide


def _hand_over(page: _Page) -> None:
    """Boxes to tick by hand, with room for a remark, a name and a day."""
    page.line("Condition when it is handed over, by hand", _BOLD, _HEADING_PT)
    page.y -= 4
    for what in HAND_OVER:
        page.y -= _LINE_PT + 4
        page.canvas.setFont(_REGULAR, _TEXT_PT)
        page.canvas.drawString(page.left, page.y, what)
        x = page.left + 110
        for word in ("good", "remark:"):
            page.canvas.setLineWidth(0.9)
            page.canvas.rect(x, page.y - 1.5, _BOX_PT, _BOX_PT, stroke=1, fill=0)
            page.canvas.drawString(x + _BOX_PT + 4, page.y, word)
            x += 55
        page.canvas.setLineWidth(0.4)
        page.canvas.line(x + 12, page.y - 2, page.left + page.width, page.y - 2)
    page.y -= 2 * _LINE_PT + 6
    page.canvas.setLineWidth(0.4)
    for x, word in ((0.0, "Name"), (page.width / 2, "Day")):
        page.canvas.drawString(page.left + x, page.y, word)
        page.canvas.line(
            page.left + x + 34, page.y - 2, page.left + x + page.width / 2 - 12, page.y - 2
        )


def _foot(page: _Page) -> None:
    page.canvas.setFont(_REGULAR, _SMALL_PT)
    y = _MARGIN_PT
    for text in reversed(wrapped_to_width(NOTE, page.width * _SMALL_PT / 8.0 * 1.2)):
        page.canvas.drawString(page.left, y, text)
        y += _SMALL_PT * 1.3
