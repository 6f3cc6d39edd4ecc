"""Lines of a screen as plain text."""

from collections.abc import Iterable

from tui.words import Line, Row


def plain(line: Line) -> str:
    """Return a line's text."""
    return "".join(text for text, _ in line)


def as_text(rows: Iterable[Row]) -> str:
    """Return rows as plain text, a line for each line."""
    return "\n".join(plain(line).rstrip() for row in rows for line in row.lines)
