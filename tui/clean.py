"""The gate before the terminal: whatever a screen paints holds nothing that a terminal obeys."""

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.filter import LineFilter

from stockroom.text import printable


class Clean(LineFilter):
    """Cleans each piece of a painted line, its width in cells kept."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:
        """Return the pieces of a line, cleaned."""
        if all(text.isprintable() for text, _, _ in segments):
            return segments
        return [
            piece if piece.control else Segment(_cleaned(piece.text), piece.style)
            for piece in segments
        ]


def _cleaned(text: str) -> str:
    """Text of the same width: what takes no cell goes, what takes one is replaced.

    >>> _cleaned("Ac\\x1bme")
    'Acme'
    """
    if text.isprintable():
        return text
    return "".join(
        char if char.isprintable() else (printable(char) or " ") * cell_len(char) for char in text
    )


CLEAN = Clean()
"""Goes last over all that is painted."""
