"""A maker's own table of warm-up hours, rounded up to the next row in every direction."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.errors import BadValueError


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row of a maker's own table: a package this large and this cold waits so many hours."""

    width_dmm: float
    length_dmm: float
    from_c: float
    hours: float

    def __post_init__(self) -> None:
        above_zero(self.width_dmm, "width in a table")
        above_zero(self.length_dmm, "length in a table")
        above_zero(self.hours, "number of hours in a table")
        plausible_c(self.from_c)

    def covers(self, width_dmm: float, length_dmm: float, from_c: float) -> bool:
        """Return whether a package is no larger and no colder than this row."""
        return (
            width_dmm <= self.width_dmm and length_dmm <= self.length_dmm and from_c >= self.from_c
        )


@dataclass(frozen=True, slots=True)
class TableHours:
    """What a table says; `beyond` where the package is larger or colder than any row."""

    hours: float
    beyond: bool


def by_table(
    rows: Sequence[TableRow], width_dmm: float, length_dmm: float, from_c: float
) -> TableHours:
    """Return the hours of a maker's table, rounded up to the next row in every direction.

    A row that says less than a smaller or warmer one (a misprint) counts as much as that one, so
    more paper and more cold never make it shorter.

    Parameters
    ----------
    rows : sequence of TableRow
        In any order.
    width_dmm, length_dmm, from_c : float
        The package and the place it comes from, °C.

    Raises
    ------
    BadValueError
        Where the table is empty.

    >>> rows = [TableRow(10_160, 304_800, -18, 9), TableRow(10_160, 304_800, 2, 7)]
    >>> by_table(rows, 9_000, 200_000, -5)
    TableHours(hours=9, beyond=False)
    """
    if not rows:
        raise BadValueError("The maker's table is empty.", "It has no row.", "Enter its rows.")
    level = [
        (row, max(o.hours for o in rows if row.covers(o.width_dmm, o.length_dmm, o.from_c)))
        for row in rows
    ]
    told = [hours for row, hours in level if row.covers(width_dmm, length_dmm, from_c)]
    if told:
        return TableHours(min(told), False)
    return TableHours(max(row.hours for row in rows), True)


def above_zero(value: float, what: str) -> None:
    """Refuse a size, a time or a coefficient that is not a number above zero.

    Raises
    ------
    BadValueError
    """
    if not 0 < value < math.inf:
        raise BadValueError(f"The {what} cannot be {value:g}.", "It must be above zero.")


def plausible_c(*values_c: float) -> None:
    """Refuse temperatures that no package and no room has, °C.

    Raises
    ------
    BadValueError
    """
    if not all(-100 < value_c < 100 for value_c in values_c):
        raise BadValueError(
            "A temperature for warming up cannot be.",
            "Plain numbers between -100 and 100 °C are wanted.",
            "Look whether it is in °C, and at the sensor.",
        )
