"""Bench cards to cut by: one sheet a page, drawn to scale, its cuts in order, what comes off it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from stockroom.documents.page import (
    BOLD,
    GAP_PT,
    HEADING_PT,
    PT_PER_MM,
    REGULAR,
    SMALL_PT,
    Page,
    wrapped,
)

MOST_CUTS, MOST_PARTS = 22, 20
"""Lines of each kind that one page holds; further ones are counted (our choice)."""

_DRAWING_PT = 92 * PT_PER_MM
"""Height kept for the drawing: a full sheet is then about 1 : 33."""
_LEAST_MARK_PT = 9.0
_NUMBER_PT, _COLUMN_GAP_PT, _CUTS_SHARE = 18.0, 10.0, 0.56
_OFFCUT_GREY, _WASTE_GREY = 0.90, 0.72


@dataclass(frozen=True, slots=True)
class DrawnPart:
    """A rectangle of the drawing, in tenths of a millimetre: a piece, an offcut or waste.

    Attributes
    ----------
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
    page = Page("Bench cards")
    for card in cards:
        page.head(card.title, f"Card {card.code}: {card.blank}", card.stands, code=card.code)
        _drawing(page, card)
        _below(page, card)
        page.turn()
    return page.pdf()


def _drawing(page: Page, card: BenchCard) -> None:
    """The blank to scale; its long side lies level where that makes it larger."""
    canvas, left = page.canvas, page.left
    scale = min(page.width / card.width_dmm, _DRAWING_PT / card.height_dmm)
    page.y -= card.height_dmm * scale
    canvas.setLineWidth(1.2)
    canvas.rect(left, page.y, card.width_dmm * scale, card.height_dmm * scale, stroke=1, fill=0)
    canvas.setLineWidth(0.7)
    for part in card.parts:
        x, y = left + part.x_dmm * scale, page.y + part.y_dmm * scale
        w, h = part.width_dmm * scale, part.height_dmm * scale
        grey = {"piece": 1.0, "offcut": _OFFCUT_GREY, "waste": _WASTE_GREY}[part.what]
        canvas.setFillGray(grey)
        canvas.rect(x, y, w, h, stroke=1, fill=1)
        canvas.setFillGray(0)
        if part.number and min(w, h) >= _LEAST_MARK_PT:
            canvas.setFont(BOLD, 10)
            canvas.drawCentredString(x + w / 2, y + h / 2 - 1, str(part.number))
            size = f"{part.width_dmm / 10:g} x {part.height_dmm / 10:g}"
            if h >= 24 and w >= canvas.stringWidth(size, REGULAR, 7) + 4:
                canvas.setFont(REGULAR, 7)
                canvas.drawCentredString(x + w / 2, y + h / 2 - 10, size)
    page.line("White: pieces. Light: offcuts to keep. Dark: waste. Sizes in mm.", SMALL_PT)
    page.y -= GAP_PT


def _below(page: Page, card: BenchCard) -> None:
    """The cuts, beside them what comes off, and below both what to mind."""
    top, left, right = page.y, page.left, page.right
    page.right = left + page.width * _CUTS_SHARE
    page.line("Cuts, in this order", HEADING_PT, BOLD)
    if card.trims:
        page.line(card.trims)
    _numbered(page, list(enumerate(card.cuts, 1)), MOST_CUTS, f": stockroom cuts show {card.code}")
    if not card.cuts and not card.trims:
        page.line("None: it has that very size.")
    cuts_end, page.y = page.y, top
    page.left, page.right = page.right + _COLUMN_GAP_PT, right
    page.line("What comes off it", HEADING_PT, BOLD)
    _numbered(page, [(n, f"{size} {what}") for n, size, what in card.listed], MOST_PARTS)
    page.left, page.y = left, min(cuts_end, page.y) - GAP_PT
    for caution in card.cautions:
        page.wrapped(caution)


def _numbered(page: Page, listed: Sequence[tuple[object, str]], most: int, more: str = "") -> None:
    """Write numbered texts, each whole on as many lines as it takes; those beyond are counted."""
    used = 0
    for told, (number, text) in enumerate(listed):
        lines = wrapped(text, page.width - _NUMBER_PT)
        used += len(lines)
        if used > most:
            page.line(f"and {len(listed) - told} more{more}", SMALL_PT)
            return
        page.line(str(number), font=BOLD)
        page.text(page.left + _NUMBER_PT, lines[0])
        for line in lines[1:]:
            page.line(line, indent=_NUMBER_PT)
