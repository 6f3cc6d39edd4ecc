"""A place's climate drawn: thinned without losing a peak, with limits, gaps and short rises."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tui.shared.picture import Canvas
from tui.words import Line

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

_HEIGHTS = " ▁▂▃▄▅▆▇█"


def thin(
    t_s: "ArrayLike", value: "ArrayLike", from_s: float, to_s: float, count: int
) -> list[tuple[float, float] | None]:
    """Return the least and the most value in each of so many equal stretches of time.

    A stretch without a value is None, so that a gap stays a gap. However long the series is, no
    peak of it is lost.

    Parameters
    ----------
    t_s, value : array (n,)
        Instants (s), rising, and a value at each.
    from_s, to_s : float
        Start, and end left out, of what is thinned, s.
    count : int
        How many stretches.

    >>> thin([0, 1, 5], [4.0, 9.0, 3.0], 0, 6, 3)
    [(4.0, 9.0), None, (3.0, 3.0)]
    """
    import numpy as np

    at = np.asarray(t_s, dtype=np.float64)
    inside = slice(*np.searchsorted(at, (from_s, to_s), "left"))
    at, values = at[inside], np.asarray(value, dtype=np.float64)[inside]
    if not len(at):
        return [None] * count
    column = np.minimum(count - 1, ((at - from_s) / (to_s - from_s) * count).astype(np.int64))
    first = np.flatnonzero(np.diff(column, prepend=-1))
    least, most = np.minimum.reduceat(values, first), np.maximum.reduceat(values, first)
    found: list[tuple[float, float] | None] = [None] * count
    for index, low, high in zip(column[first], least, most, strict=True):
        found[int(index)] = (float(low), float(high))
    return found


@dataclass(frozen=True, slots=True)
class Trace:
    """A place's temperature over a span, thinned to the cells it is drawn in.

    Attributes
    ----------
    columns : sequence
        Least and most of each stretch, °C, two stretches to a cell; None where there is none.
    low_c, high_c, set_point_c : float or None
        Limits and set-point, °C.
    silent : sequence of bool
        By cell: whether some of it was not logged.
    rises : sequence of int
        By cell: how many short rises begin in it.
    """

    columns: Sequence[tuple[float, float] | None]
    low_c: float | None = None
    high_c: float | None = None
    set_point_c: float | None = None
    silent: Sequence[bool] = ()
    rises: Sequence[int] = ()


SCALE = 9
"""Cells at the left of a climate's picture, for its scale."""


def climate_picture(trace: Trace, width: int, height: int) -> list[Line]:
    """Return a span of temperatures with limits and set-point, or nothing where there are none.

    What lies outside the limits is marked `!` at their side, what was not logged is shaded `░`;
    where there were short rises a row below tells how many, by the height of a block.

    Parameters
    ----------
    width, height : int
        Cells, the scale at the left included; the row of short rises comes on top of the height.
    """
    canvas = Canvas(width - SCALE, height)
    values = [value for pair in trace.columns if pair for value in pair]
    if not values:
        return []
    low_c, high_c, set_c = trace.low_c, trace.high_c, trace.set_point_c
    limits = [limit for limit in (low_c, high_c) if limit is not None]
    every = [*values, *limits, *([] if set_c is None else [set_c])]
    bottom, ceiling = min(every) - 1.0, max(every) + 1.0
    tall = height * 4 - 1

    def y_of(temp_c: float) -> int:
        return round((ceiling - temp_c) / (ceiling - bottom) * tall)

    last: tuple[int, tuple[float, float]] | None = None
    for x, pair in enumerate(trace.columns):
        if pair is None:
            continue
        canvas.line(x, y_of(pair[1]), x, y_of(pair[0]))
        if last is not None and not any(trace.silent[last[0] // 2 : x // 2 + 1]):
            from_c, to_c = _nearest(last[1], pair)
            canvas.line(last[0], y_of(from_c), x, y_of(to_c))
        last = (x, pair)
    for x, silent in enumerate(trace.silent):
        for row in range(height if silent else 0):
            canvas.under(x, row, "░", "dim")
    marks = [(limit, "╌", 1) for limit in limits] + ([] if set_c is None else [(set_c, "·", 2)])
    for level, char, every_x in marks:
        for x in range(0, canvas.width, every_x):
            canvas.under(x, y_of(level) // 4, char, "dim")
    for x in range(canvas.width):
        pairs = [pair for pair in trace.columns[2 * x : 2 * x + 2] if pair]
        if high_c is not None and any(pair[1] > high_c for pair in pairs):
            canvas.over(x, 0, "!", "bad")
        if low_c is not None and any(pair[0] < low_c for pair in pairs):
            canvas.over(x, height - 1, "!", "bad")
    labels = {
        min(height - 1, y_of(level) // 4): level
        for level in [max(values), min(values), *([] if set_c is None else [set_c]), *limits]
    }
    made: list[Line] = []
    for row, line in enumerate(canvas.lines()):
        text = f"{labels[row]:.1f} °C" if row in labels else ""
        role = "strong" if row in labels and labels[row] in limits else "dim"
        made.append(((text.rjust(SCALE - 1) + " ", role), *line))
    if any(trace.rises):
        made.append((("rises".rjust(SCALE - 1) + " ", "dim"), (blocks(trace.rises), "key")))
    return made


def _nearest(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """Return where two ranges come nearest to each other; a value of both where they overlap."""
    if one[0] > other[1]:
        return one[0], other[1]
    if one[1] < other[0]:
        return one[1], other[0]
    both = max(one[0], other[0])
    return both, both


def blocks(counts: Sequence[int]) -> str:
    """Return counts as blocks, the tallest for the most; a blank for none.

    >>> blocks([0, 1, 4, 8])
    ' ▁▄█'
    """
    most = max([*counts, 1])
    return "".join(_HEIGHTS[-(-8 * count // max(8, most))] for count in counts)
