"""A cut plan to scale in character cells: pieces by number, offcuts to keep, waste hatched."""

from collections.abc import Sequence

from rich.cells import cell_len

from stockroom.desk.cutting.card_text import drawn
from stockroom.desk.cutting.cards import Layout
from stockroom.documents.bench_card import DrawnPart
from stockroom.units import size_text
from tui.shared.picture import joined
from tui.words import Line

CELL_ASPECT = 2.0
"""How much taller than wide a character cell is, about (most terminal fonts: 1.8 to 2.2)."""
_UP, _DOWN, _LEFT, _RIGHT = 1, 2, 4, 8
_BOX = {
    _UP | _DOWN: "│", _LEFT | _RIGHT: "─", _DOWN | _RIGHT: "┌", _DOWN | _LEFT: "┐",
    _UP | _RIGHT: "└", _UP | _LEFT: "┘", _UP | _DOWN | _RIGHT: "├", _UP | _DOWN | _LEFT: "┤",
    _DOWN | _LEFT | _RIGHT: "┬", _UP | _LEFT | _RIGHT: "┴", _UP | _DOWN | _LEFT | _RIGHT: "┼",
    _UP: "│", _DOWN: "│", _LEFT: "─", _RIGHT: "─",
}  # fmt: skip
_WASTE = "╱"
_ROLES = {"piece": "strong", "offcut": "", "waste": "dim"}


def cut_picture(layout: Layout, columns: int, rows: int) -> list[Line]:
    """Return a blank with its parts to scale, as lines of text.

    Pieces and offcuts carry their numbers, and their sizes where there is room; what is kept says
    so; waste is hatched. Kerfs are too thin to be drawn.

    Parameters
    ----------
    columns, rows : int
        Most cells that it may take; at least 8 by 4.
    """
    wide, high = _cells(layout, columns, rows)
    sheet = _Sheet(wide, high)
    for part in drawn(layout):
        sheet.draw(part, _box(part, layout, wide, high))
    sheet.frame()
    return sheet.lines()


def _cells(layout: Layout, columns: int, rows: int) -> tuple[int, int]:
    """Cells across and down, the proportions kept, and at least three each way."""
    scale = min(
        (columns - 1) / layout.width_dmm, (rows - 1) * CELL_ASPECT / layout.height_dmm
    )  # fmt: skip
    return (
        max(4, round(layout.width_dmm * scale)),
        max(3, round(layout.height_dmm * scale / CELL_ASPECT)),
    )


def _box(part: DrawnPart, layout: Layout, wide: int, high: int) -> tuple[int, int, int, int]:
    """First and last column, first and last row; neighbours share a line in the kerf's middle."""
    half = layout.kerf_dmm / 2

    def at(dmm: float, whole: int, cells: int) -> int:
        return round(min(max(dmm / whole, 0.0), 1.0) * cells)

    left = at(part.x_dmm - half, layout.width_dmm, wide)
    right = at(part.x_dmm + part.width_dmm + half, layout.width_dmm, wide)
    low = at(part.y_dmm - half, layout.height_dmm, high)
    top = at(part.y_dmm + part.height_dmm + half, layout.height_dmm, high)
    return left, right, high - top, high - low


class _Sheet:
    """The cells of a picture: which ways lines leave each, and the text in them."""

    def __init__(self, wide: int, high: int) -> None:
        self.wide, self.high = wide, high
        self._ways = [[0] * (wide + 1) for _ in range(high + 1)]
        self._text: list[list[tuple[str, str] | None]] = [
            [None] * (wide + 1) for _ in range(high + 1)
        ]

    def frame(self) -> None:
        """Draw the edge of the blank."""
        self._edge((0, self.wide, 0, self.high))

    def draw(self, part: DrawnPart, box: tuple[int, int, int, int]) -> None:
        """Draw a part; one too thin for a cell leaves a line."""
        self._edge(box)
        left, right, top, bottom = box
        if part.what == "waste":
            for y in range(top + 1, bottom):
                for x in range(left + 1, right):
                    self._text[y][x] = (_WASTE, "dim")
            return
        role = _ROLES[part.what]
        room, lines = right - left - 1, bottom - top - 1
        said = [str(part.number)]
        if part.what == "offcut":
            said = [f"{part.number} keep"] if room >= len(str(part.number)) + 5 else said
        size = size_text(part.width_dmm, part.height_dmm).removesuffix(" mm")
        if lines >= 2:
            said += [size] if cell_len(size) <= room else size.split(" x ")
        self._say([text for text in said if cell_len(text) <= room][:lines], box, role)

    def _say(self, said: Sequence[str], box: tuple[int, int, int, int], role: str) -> None:
        left, right, top, bottom = box
        y = top + 1 + (bottom - top - 1 - len(said)) // 2
        for text in said:
            x = left + 1 + (right - left - 1 - len(text)) // 2
            for char in text:
                self._text[y][x] = (char, role)
                x += 1
            y += 1

    def _edge(self, box: tuple[int, int, int, int]) -> None:
        left, right, top, bottom = box
        for y in (top, bottom):
            for x in range(left, right):
                self._ways[y][x] |= _RIGHT
                self._ways[y][x + 1] |= _LEFT
        for x in (left, right):
            for y in range(top, bottom):
                self._ways[y][x] |= _DOWN
                self._ways[y + 1][x] |= _UP

    def lines(self) -> list[Line]:
        """Return the picture."""
        return [
            joined(
                (_BOX[ways], "dim") if ways else text or (" ", "")
                for ways, text in zip(row, texts, strict=True)
            )
            for row, texts in zip(self._ways, self._text, strict=True)
        ]
