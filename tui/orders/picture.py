"""The picture of one material by day: what is there, falling, with its range and what comes."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from stockroom.core.supply.levels import Level
from tui.shared.picture import Canvas, axis
from tui.words import Line, say


@dataclass(frozen=True, slots=True)
class StockCourse:
    """What a picture of stock shows.

    Attributes
    ----------
    levels : sequence of Level
        A day each, from today on.
    order_by : int or None
        The order-by day, as an ordinal.
    needs : sequence of int
        Days on which known work begins, as ordinals.
    arrivals : sequence of int
        Days on which orders are expected, as ordinals.
    """

    levels: Sequence[Level]
    order_by: int | None = None
    needs: Sequence[int] = ()
    arrivals: Sequence[int] = ()


def stock_picture(course: StockCourse, width: int, height: int) -> list[Line]:
    """Return the level over the days: its middle a line, its range shaded; `▾` the order-by day.

    `+` at the top marks a delivery expected, `┊` known work that begins.

    Parameters
    ----------
    width, height : int
        Cells; one more line carries the days.
    """
    levels = course.levels
    first, last = levels[0].day, max(levels[-1].day, levels[0].day + 1)
    most = max([level.high for level in levels] + [1e-9])
    canvas = Canvas(width, height)
    tall = height * 4 - 5

    def x_of(day: int) -> int:
        return round((day - first) / (last - first) * (width * 2 - 1))

    def y_of(amount: float) -> int:
        return 4 + round((1 - min(1.0, amount / most)) * tall)

    for before, after in pairwise(levels):
        for column in range(x_of(before.day) // 2, x_of(after.day) // 2 + 1):
            top, bottom = y_of(before.high), y_of(before.low)
            if bottom - top >= 2:
                canvas.shade(column, top, bottom)
        canvas.line(x_of(before.day), y_of(before.middle), x_of(after.day), y_of(after.middle))
    for day in course.needs:
        if first <= day <= last:
            for row in range(1, height):
                canvas.under(min(width - 1, x_of(day) // 2), row, "┊", "dim")
    for day in course.arrivals:
        if first <= day <= last:
            canvas.over(min(width - 1, x_of(day) // 2), 0, "+", "good")
    if course.order_by is not None and first <= course.order_by <= last:
        canvas.over(min(width - 1, x_of(course.order_by) // 2), 0, "▾", "ask")
    return canvas.lines()


def day_axis(course: StockCourse, labels: Sequence[tuple[int, str]], width: int) -> Line:
    """Return the days under a picture of stock.

    Parameters
    ----------
    labels : sequence of (int, str)
        Ordinals of days, and how they are told.
    """
    first, last = course.levels[0].day, course.levels[-1].day
    marks = [(float(day), text) for day, text in labels if first <= day <= last]
    return say(axis(marks, float(first), float(last), width), "dim")
