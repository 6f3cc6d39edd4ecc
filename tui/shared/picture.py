"""Pictures of block and braille characters: used life over time, a length left."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from tui.words import Line, Span

_DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Braille dot of (row, column) inside a cell, by Unicode's own order."""
_EIGHTHS = " ▏▎▍▌▋▊▉█"


def bar(share: float, width: int) -> str:
    """Return a share of one as a bar of cells, to an eighth of a cell.

    >>> bar(0.5, 4), bar(1.0, 4), bar(0.001, 4)
    ('██  ', '████', '▏   ')
    """
    eighths = round(min(1.0, max(0.0, share)) * width * 8)
    if share > 0:
        eighths = max(1, eighths)
    full, rest = divmod(eighths, 8)
    return (("█" * full) + (_EIGHTHS[rest] if rest else "")).ljust(width)


@dataclass(slots=True)
class Canvas:
    """A field of cells, each of 2 x 4 dots, over which lines and letters are laid.

    Parameters
    ----------
    width, height : int
        Cells.
    """

    width: int
    height: int
    _dots: dict[tuple[int, int], int] = field(default_factory=dict)
    _shade: set[tuple[int, int]] = field(default_factory=set)
    _over: dict[tuple[int, int], Span] = field(default_factory=dict)

    def dot(self, x: int, y: int) -> None:
        """Set a dot; x to the right, y downwards, in dots."""
        cell = (x // 2, y // 4)
        if 0 <= cell[0] < self.width and 0 <= cell[1] < self.height:
            self._dots[cell] = self._dots.get(cell, 0) | _DOTS[y % 4][x % 2]

    def line(self, x0: int, y0: int, x1: int, y1: int) -> None:
        """Set the dots of a straight line."""
        steps = max(abs(x1 - x0), abs(y1 - y0), 1)
        for step in range(steps + 1):
            self.dot(round(x0 + (x1 - x0) * step / steps), round(y0 + (y1 - y0) * step / steps))

    def shade(self, x: int, top: int, bottom: int) -> None:
        """Shade a column of cells between two rows of dots."""
        for row in range(max(0, top // 4), min(self.height - 1, bottom // 4) + 1):
            if 0 <= x < self.width:
                self._shade.add((x, row))

    def over(self, x: int, y: int, text: str, role: str = "") -> None:
        """Lay letters over the dots, from a cell on."""
        for index, char in enumerate(text):
            if 0 <= x + index < self.width and 0 <= y < self.height:
                self._over[(x + index, y)] = (char, role)

    def under(self, x: int, y: int, char: str, role: str = "") -> None:
        """Lay a letter where nothing else is."""
        if (x, y) not in self._dots and (x, y) not in self._over and 0 <= x < self.width:
            self._over[(x, y)] = (char, role)

    def lines(self) -> list[Line]:
        """Return the picture as lines."""
        return [joined(self._cell(x, y) for x in range(self.width)) for y in range(self.height)]

    def _cell(self, x: int, y: int) -> Span:
        if (x, y) in self._over:
            return self._over[(x, y)]
        if (x, y) in self._dots:
            return (chr(0x2800 + self._dots[(x, y)]), "key")
        return ("░", "dim") if (x, y) in self._shade else (" ", "")


def joined(spans: Iterable[Span]) -> Line:
    """Return cells as a line, neighbours of one role as one span."""
    made: list[Span] = []
    for text, role in spans:
        if made and made[-1][1] == role:
            made[-1] = (made[-1][0] + text, role)
        else:
            made.append((text, role))
    return tuple(made)


@dataclass(frozen=True, slots=True)
class Curve:
    """Used life up to now and on to its end.

    Attributes
    ----------
    t_s, used, low, high : sequence of float
        The past: instants (s) and days of life used, likely, least and most.
    ends_s : (float, float, float)
        When the life runs out: likely, earliest, latest.
    limit_days : float
        The life it came with.
    prints : sequence of (float, str)
        Days of booked prints and what they are called.
    """

    t_s: Sequence[float]
    used: Sequence[float]
    low: Sequence[float]
    high: Sequence[float]
    now_s: float
    ends_s: tuple[float, float, float]
    limit_days: float
    prints: Sequence[tuple[float, str]] = ()


def life_picture(curve: Curve, width: int, height: int) -> list[Line]:
    """Return used life over time: the past, the likely way on, the shaded range, the limit.

    The top row is the limit; `▾` marks where the likely line meets it, `┊` the next print.
    """
    canvas = Canvas(width, height)
    from_s, to_s = curve_span(curve)
    span_s = to_s - from_s
    top = 4
    tall = height * 4 - 1 - top

    def x_of(at_s: float) -> int:
        return round((at_s - from_s) / span_s * (width * 2 - 1))

    def y_of(days: float) -> int:
        return round(top + (1 - min(1.05, days / max(curve.limit_days, 1e-9))) * tall)

    def ahead(at_s: float, start: float, end_s: float) -> float:
        if end_s <= curve.now_s:
            return curve.limit_days
        share = (at_s - curve.now_s) / (end_s - curve.now_s)
        return min(curve.limit_days, start + (curve.limit_days - start) * max(0.0, share))

    for column in range(width):
        at_s = from_s + (column + 0.5) / width * span_s
        if at_s <= curve.now_s:
            low = interpolated(at_s, curve.t_s, curve.low)
            high = interpolated(at_s, curve.t_s, curve.high)
        else:
            low = ahead(at_s, curve.low[-1], curve.ends_s[2])
            high = ahead(at_s, curve.high[-1], curve.ends_s[1])
        if y_of(low) - y_of(high) >= 2:
            canvas.shade(column, y_of(high), y_of(low))
    points = [(x_of(at), y_of(days)) for at, days in zip(curve.t_s, curve.used, strict=True)]
    points.append((x_of(curve.now_s), y_of(curve.used[-1])))
    if curve.ends_s[0] > curve.now_s:
        points.append((x_of(curve.ends_s[0]), y_of(curve.limit_days)))
    for (x0, y0), (x1, y1) in pairwise(points):
        canvas.line(x0, y0, x1, y1)
    for column in range(width):
        canvas.over(column, 0, "─", "dim")
    label = f" limit: the {curve.limit_days:.0f} days of life it came with "
    canvas.over(1, 0, label, "strong")
    end_x = min(width - 1, x_of(curve.ends_s[0]) // 2)
    if end_x > len(label) + 1:
        canvas.over(end_x, 0, "▾", "ask")
    for at_s, _ in curve.prints[:1]:
        for row in range(1, height):
            canvas.under(x_of(at_s) // 2, row, "┊", "good")
    now_x = x_of(curve.now_s) // 2
    for row in range(1, height):
        canvas.under(now_x, row, "│", "dim")
    return canvas.lines()


def axis(marks: Sequence[tuple[float, str]], from_s: float, to_s: float, width: int) -> str:
    """Return labels under a picture, each at its instant, none over another.

    >>> axis([(0, "start"), (10, "end")], 0, 10, 12)
    'start    end'
    """
    line = [" "] * width
    taken = 0
    for at_s, text in sorted(marks):
        at = round((at_s - from_s) / max(1e-9, to_s - from_s) * (width - 1))
        at = min(max(at, taken), max(taken, width - len(text)))
        if at + len(text) <= width:
            line[at : at + len(text)] = text
            taken = at + len(text) + 1
    return "".join(line).rstrip()


def curve_span(curve: Curve) -> tuple[float, float]:
    """Return the instants at the left and right edge of a life's picture."""
    from_s = curve.t_s[0]
    last_s = max(curve.now_s, curve.ends_s[0], *(at for at, _ in curve.prints), from_s + 1)
    right = max(last_s, min(curve.ends_s[2], last_s + (last_s - from_s) * 0.25))
    return from_s, from_s + (right - from_s) * 1.04


def interpolated(at: float, known: Sequence[float], value: Sequence[float]) -> float:
    """Return a value between known ones, along straight lines; the ends go on level.

    >>> interpolated(5, [0, 10], [0.0, 4.0])
    2.0
    """
    from bisect import bisect_right

    index = bisect_right(known, at)
    if index == 0:
        return value[0]
    if index == len(known):
        return value[-1]
    x0, x1 = known[index - 1], known[index]
    share = (at - x0) / (x1 - x0) if x1 > x0 else 0.0
    return value[index - 1] + (value[index] - value[index - 1]) * share
