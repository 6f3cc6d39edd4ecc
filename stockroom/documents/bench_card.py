"""Bench cards to cut by: one sheet a page, drawn to scale, its cuts in order, what comes off it."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from stockroom.documents.labels import (
    PAGE_PT,
    PT_PER_MM,
    cut_to_width,
    draw_qr,
    has_qr,
    printable,
)
from stockroom.documents.lists import wrapped_to_width

MOST_CUTS, MOST_PARTS = 22, 20
"""Lines of each kind that one page holds; further ones are counted (our choice)."""

_MARGIN_PT = 15 * PT_PER_MM
_TITLE_PT, _HEADING_PT, _TEXT_PT, _SMALL_PT = 16.0, 10.5, 9.0, 7.5
_LINE_PT, _GAP_PT = 11.5, 7.0
_QR_PT = 24 * PT_PER_MM
_DRAWING_PT = 92 * PT_PER_MM
"""Height kept for the drawing: a full sheet is then about 1 : 33."""
_LEAST_MARK_PT = 9.0
_REGULAR, _BOLD = "Helvetica", "Helvetica-Bold"
_OFFCUT_GREY, _WASTE_GREY = 0.90, 0.72


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """A rectangle of the drawing, in tenths of a millimetre: a piece, an offcut or waste.

    Attributes
    ----------
    what : str
    number : int
        As in the list of parts; 0 for waste.
    x_dmm, y_dmm, width_dmm, height_dmm : int
        From the lower left corner of the whole blank.
    """

    what: Literal["piece", "offcut", "waste"]
    number: int
    x_dmm: int
    y_dmm: int
    width_dmm: int
    height_dmm: int


@dataclass(frozen=True, slots=True)
class BenchCard:
    """All that one card says, as text and rectangles.

    Attributes
    ----------
    code : str
        The card's code, drawn as a QR code too.
    title, blank, stands : str
        The material; the sheet with its size; where it stands.
    width_dmm, height_dmm : int
        The whole blank as it is drawn.
    parts : tuple of DrawnPart
    listed : tuple of (str, str, str)
        Of each part that is kept: its number, its size, what it is.
    cuts : tuple of str
        The cuts in order; they are numbered here.
    trims : str
        Which edges are trimmed first, and by how much; "" for none.
    cautions : tuple of str
        What to mind when it is lifted and sawn.
    """

    code: str
    title: str
    blank: str
    stands: str
    width_dmm: int
    height_dmm: int
    parts: tuple[DrawnPart, ...]
    listed: tuple[tuple[str, str, str], ...]
    cuts: tuple[str, ...]
    trims: str = ""
    cautions: tuple[str, ...] = ()


def bench_cards(cards: Sequence[BenchCard]) -> bytes:
    """Return cards as a PDF, a page of A4 each, the same bytes for the same input.

    Cuts and parts are told whole, on two lines where they must; long lists are shortened and the
    rest counted; a title that is too long is cut; characters outside Latin-1 become "?".
    """
    from reportlab.pdfgen.canvas import Canvas

    width, height = PAGE_PT["A4"]
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(width, height), invariant=1, pageCompression=1)
    canvas.setTitle(printable("Bench cards"))
    for card in cards:
        _page(canvas, card, width, height)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _page(canvas: Any, card: BenchCard, width: float, height: float) -> None:
    left, right = _MARGIN_PT, width - _MARGIN_PT
    top = height - _MARGIN_PT
    room = right - left
    text_room = room
    if has_qr(card.code):
        draw_qr(canvas, card.code, right - _QR_PT, top - _QR_PT, _QR_PT)
        text_room -= _QR_PT + 6
    y = top
    for text, font, size in (
        (card.title, _BOLD, _TITLE_PT),
        (f"Card {card.code}: {card.blank}", _BOLD, _HEADING_PT),
        (card.stands, _REGULAR, _TEXT_PT),
    ):
        y -= size * 1.3
        _text(canvas, left, y, text, font, size, text_room)
    y = min(y, top - _QR_PT) - _GAP_PT
    y = _drawing(canvas, card, left, y, room)
    half = room * 0.56
    parts_end = _parts(canvas, card, left + half + 10, y, room - half - 10)
    cuts_end = _cuts(canvas, card, left, y, half)
    _cautions(canvas, card, left, min(parts_end, cuts_end) - _GAP_PT, room)


def _text(
    canvas: Any, x: float, y: float, text: str, font: str, size: float, room: float
) -> None:  # fmt: skip
    canvas.setFont(font, size)
    canvas.drawString(x, y, cut_to_width(printable(text), font, size, room))


def _drawing(canvas: Any, card: BenchCard, left: float, top: float, room: float) -> float:
    """The blank to scale; its long side lies level where that makes it larger."""
    scale = min(room / card.width_dmm, _DRAWING_PT / card.height_dmm)
    base = top - card.height_dmm * scale
    canvas.setLineWidth(1.2)
    canvas.rect(left, base, card.width_dmm * scale, card.height_dmm * scale, stroke=1, fill=0)
    canvas.setLineWidth(0.7)
    for part in card.parts:
        x, y = left + part.x_dmm * scale, base + part.y_dmm * scale
        w, h = part.width_dmm * scale, part.height_dmm * scale
        grey = {"piece": 1.0, "offcut": _OFFCUT_GREY, "waste": _WASTE_GREY}[part.what]
        canvas.setFillGray(grey)
        canvas.rect(x, y, w, h, stroke=1, fill=1)
        canvas.setFillGray(0)
        if part.number and min(w, h) >= _LEAST_MARK_PT:
            canvas.setFont(_BOLD, 10)
            canvas.drawCentredString(x + w / 2, y + h / 2 - 1, str(part.number))
            size = f"{part.width_dmm / 10:g} x {part.height_dmm / 10:g}"
            if h >= 24 and w >= canvas.stringWidth(size, _REGULAR, 7) + 4:
                canvas.setFont(_REGULAR, 7)
                canvas.drawCentredString(x + w / 2, y + h / 2 - 10, size)
    canvas.setFont(_REGULAR, _SMALL_PT)
    below = base - _SMALL_PT * 1.3
    canvas.drawString(
        left, below, "White: pieces. Light: offcuts to keep. Dark: waste. Sizes in mm."
    )
    return below - _GAP_PT


def _cuts(canvas: Any, card: BenchCard, left: float, y: float, room: float) -> float:
    y -= _HEADING_PT * 1.3
    _text(canvas, left, y, "Cuts, in this order", _BOLD, _HEADING_PT, room)
    if card.trims:
        y -= _LINE_PT
        _text(canvas, left, y, card.trims, _REGULAR, _TEXT_PT, room)
    y, told = _numbered(canvas, list(enumerate(card.cuts, 1)), left, y, room, MOST_CUTS)
    if told < len(card.cuts):
        y -= _LINE_PT
        more = f"and {len(card.cuts) - told} more: stockroom cuts show {card.code}"
        _text(canvas, left, y, more, _REGULAR, _SMALL_PT, room)
    if not card.cuts and not card.trims:
        y -= _LINE_PT
        _text(canvas, left, y, "None: it has that very size.", _REGULAR, _TEXT_PT, room)
    return y


def _numbered(
    canvas: Any,
    listed: Sequence[tuple[object, str]],
    left: float,
    y: float,
    room: float,
    most: int,
) -> tuple[float, int]:
    """Draw numbered texts, each whole on as many lines as it takes; return where, and how many."""
    begin = y
    for told, (number, text) in enumerate(listed):
        lines = wrapped_to_width(printable(text), room - 18)
        if begin - y + len(lines) * _LINE_PT > most * _LINE_PT:
            return y, told
        _text(canvas, left, y - _LINE_PT, f"{number}", _BOLD, _TEXT_PT, 16)
        for line in lines:
            y -= _LINE_PT
            _text(canvas, left + 18, y, line, _REGULAR, _TEXT_PT, room - 18)
    return y, len(listed)


def _parts(canvas: Any, card: BenchCard, left: float, y: float, room: float) -> float:
    y -= _HEADING_PT * 1.3
    _text(canvas, left, y, "What comes off it", _BOLD, _HEADING_PT, room)
    listed = [(number, f"{size} {what}") for number, size, what in card.listed]
    y, told = _numbered(canvas, listed, left, y, room, MOST_PARTS)
    if told < len(listed):
        y -= _LINE_PT
        more = f"and {len(listed) - told} more"
        _text(canvas, left, y, more, _REGULAR, _SMALL_PT, room)
    return y


def _cautions(canvas: Any, card: BenchCard, left: float, y: float, room: float) -> None:
    for caution in card.cautions:
        for line in wrapped_to_width(caution, room):
            y -= _SMALL_PT * 1.35
            canvas.setFont(_REGULAR, _SMALL_PT)
            canvas.drawString(left, y, printable(line))
