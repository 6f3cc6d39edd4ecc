"""Lines of plain text with roles, laid out by their width in cells; no markup anywhere."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from rich.cells import cell_len, chop_cells

from stockroom.units import distance_text

_UNIT = re.compile(r"(\d) (%|°C|mm|m|h|days?\b)")
"""A number stays on one line with its unit."""

Span = tuple[str, str]
"""Text and its role: "", dim, strong, head, good, ask, bad, key."""
Line = tuple[Span, ...]
BLANK: Line = (("", ""),)
WHEN = 24
"""Width of the column that says when, cells."""


@dataclass(frozen=True, slots=True)
class Target:
    """Where Enter on a line leads: which screen, and about what."""

    screen: str
    about: str = ""
    more: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One entry of a list: its lines, and what it stands for.

    Attributes
    ----------
    lines : tuple of Line
        What is shown, one or more lines of text.
    key : str
        What it is, so that the cursor stays on it when the list is made anew; "" for a heading
        or a line of text, on which the cursor never rests.
    target : Target or None
        Where Enter leads.
    detail : tuple of Line
        What is shown beside the list while the cursor rests on it.
    unit, job, material, order : str
        The codes that letters act on.
    """

    lines: tuple[Line, ...]
    key: str = ""
    target: Target | None = None
    detail: tuple[Line, ...] = ()
    unit: str = ""
    job: str = ""
    material: str = ""
    order: str = ""

    @property
    def text(self) -> str:
        """All of its text, in which the filter looks."""
        return " ".join(text for line in self.lines for text, _ in line)


def say(text: str, role: str = "") -> Line:
    """Return a line of one role."""
    return ((text, role),)


def head(text: str) -> Row:
    """Return a heading."""
    return Row((say(text, "head"),))


def note(*lines: Line) -> Row:
    """Return text on which the cursor never rests."""
    return Row(lines)


def cut(text: str, width: int) -> str:
    """Return text cut to a width in cells, with an ellipsis.

    >>> cut("Quarry wall", 8), cut("short", 8)
    ('Quarry …', 'short')
    """
    if width <= 0:
        return ""
    if cell_len(text) <= width:
        return text
    kept = chop_cells(text, width - 1)[0] if width > 1 else ""
    return kept + "…"


def pad(text: str, width: int, *, right: bool = False) -> str:
    """Return text cut or filled to exactly a width in cells.

    >>> pad("9 m", 5), pad("9 m", 5, right=True)
    ('9 m  ', '  9 m')
    """
    shown = cut(text, width)
    room = " " * max(0, width - cell_len(shown))
    return room + shown if right else shown + room


def shorten(text: str, width: int) -> str:
    """Return a sentence that fits a width, cut where it can best be cut.

    >>> shorten("Fresh on the day. Usable until Thu 10 Feb 2028, in 709 days (3 Feb 2027).", 64)
    'Fresh on the day. Usable until Thu 10 Feb 2028, in 709 days …'
    >>> shorten("Short.", 60)
    'Short.'
    """
    if cell_len(text) <= width + 1:
        return text
    for mark, least in (
        (" (", 0.6),
        (". ", 0.3),
        ("; ", 0.5),
        (": ", 0.4),
        (", ", 0.6),
        (" ", 0.3),
    ):
        at = text.rfind(mark, 0, width)
        if at >= width * least:
            return text[:at].rstrip(".;,") + " …"
    return cut(text, width)


def wrap(text: str, width: int) -> list[str]:
    """Return text in lines no wider than a width in cells, broken between words.

    >>> wrap("one two three", 8), wrap("needs 91 % of it", 9)
    (['one two', 'three'], ['needs', '91 % of', 'it'])
    """
    width = max(1, width)
    lines: list[str] = []
    current = ""
    for word in _UNIT.sub("\\1\u00a0\\2", " ".join(text.split())).split(" "):
        joined = f"{current} {word}" if current else word
        if cell_len(joined) <= width:
            current = joined
            continue
        if current:
            lines.append(current)
        *whole, current = chop_cells(word, width) or [""]
        lines += whole
    if current or not lines:
        lines.append(current)
    return [line.replace("\u00a0", " ") for line in lines]


def wrapped(
    text: str, width: int, role: str = "", *, first: str = "", rest: str = ""
) -> list[Line]:
    """Return wrapped lines, the first with one prefix and the others with another."""
    room = width - max(cell_len(first), cell_len(rest))
    parts = wrap(text, room)
    return [say((rest if index else first) + part, role) for index, part in enumerate(parts)]


def columns(cells: Sequence[tuple[str, int, str]], gap: str = "  ") -> Line:
    """Return cells side by side: text, width (below zero: set right), role.

    >>> columns([("10143", 6, ""), ("9.4 m", -7, "")])
    (('10143 ', ''), ('  ', ''), ('  9.4 m', ''))
    """
    spans: list[Span] = []
    for index, (text, width, role) in enumerate(cells):
        if index:
            spans.append((gap, ""))
        spans.append((pad(text, abs(width), right=width < 0), role))
    return tuple(spans)


def two_lines(
    day: str,
    first: str,
    second: str,
    width: int,
    wide: int = WHEN,
    roles: tuple[str, str] = ("", "dim"),
) -> tuple[Line, Line]:
    """Return what happens on a day, and a line below it, a quieter one unless `roles` tell."""
    room = width - wide - 2
    return (
        columns([(day, wide, ""), (first, room, roles[0])]),
        columns([("", wide, ""), (second, room, roles[1])]),
    )


def below(text: str, width: int, role: str = "dim") -> list[Line]:
    """Return a text below what happens on a day, in as many lines as it takes."""
    room = width - WHEN - 2
    return [columns([("", WHEN, ""), (line, room, role)]) for line in wrap(text, room)]


def sections(*groups: tuple[str, Sequence[Row]]) -> list[Row]:
    """Return groups of rows under their headings, a blank line between; an empty one is left out.

    >>> one, two = [note(say("1"))], [note(say("2"))]
    >>> [row.text for row in sections(("One", one), ("None", ()), ("Two", two))]
    ['One', '1', '', 'Two', '2']
    """
    rows: list[Row] = []
    for title, made in groups:
        if made:
            rows += [*([note(BLANK)] if rows else []), head(title), *made]
    return rows


def cut_line(line: Line, width: int) -> Line:
    """Return a line cut to a width in cells."""
    left = width
    spans: list[Span] = []
    for text, role in line:
        wide = cell_len(text)
        if wide > left:
            spans.append((cut(text, left), role))
            break
        spans.append((text, role))
        left -= wide
    return tuple(spans)


def when(day: date, today: date) -> str:
    """Return a day with its weekday and how far off it is; the year only where it is another.

    >>> when(date(2026, 3, 5), date(2026, 3, 3)), when(date(2028, 2, 10), date(2026, 3, 3))
    ('Thu 5 Mar, in 2 days', 'Thu 10 Feb 2028, in 709 days')
    """
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.strftime('%a')} {day.day} {day.strftime('%b')}{year}, {distance_text(day, today)}"
