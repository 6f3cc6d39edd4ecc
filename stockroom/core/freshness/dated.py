"""The last day of what does not age by temperature here: dated goods, opened packs and bottles."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from stockroom.core.records import Lot, Material
from stockroom.errors import BadValueError

Why = Literal["label date", "made on", "shop rule", "opened", "none"]


@dataclass(frozen=True, slots=True)
class Dated:
    """The last day on which a thing is good, and what says so.

    Attributes
    ----------
    ends : date or None
        Good on this day still; None where nothing sets a day.
    why : str
        What it was read from.
    estimated : bool
        Whether only the shop's own rule stands behind it.
    """

    ends: date | None
    why: Why
    estimated: bool


@dataclass(frozen=True, slots=True)
class OpenedClock:
    """How long a thing has been open, a term of its own: it multiplies no ageing.

    Attributes
    ----------
    days_open : int
        Days since it was opened; 0 on that day.
    limit_days : int or None
        How many it may be open, where that is known.
    over : bool
        Whether that is past.
    """

    days_open: int
    limit_days: int | None
    over: bool


def dated(
    material: Material,
    lot: Lot,
    received_on: date,
    opened_on: date | None = None,
    opened_life_days: int | None = None,
) -> Dated:
    """Return the last day of a thing that goes by its date.

    The label's date; else the day it was made and the label's life; else the day it came and the
    shop's own rule, marked estimated; else none. Once opened, with an opened life known, the
    earlier of that and the days from the opening.

    Parameters
    ----------
    material, lot : Material, Lot
        What the label says.
    received_on : date
        The day it came.
    opened_on : date, optional
        The day it was opened.
    opened_life_days : int, optional
        How long it keeps once opened, by its label.

    Raises
    ------
    BadValueError
        Where the opened life is below zero.

    >>> tape = Material(code="1", name="Edge tape", family="goods", form="counted",
    ...                 label_life_days=730)
    >>> lot = Lot(code="2", material="1", made_on=date(2025, 6, 1))
    >>> dated(tape, lot, date(2026, 1, 10))
    Dated(ends=datetime.date(2027, 6, 1), why='made on', estimated=False)
    >>> dated(tape, lot, date(2026, 1, 10), date(2026, 2, 1), 90).why
    'opened'
    """
    sealed = _sealed(material, lot, received_on)
    _opened_life(opened_life_days)
    if opened_on is None or opened_life_days is None:
        return sealed
    ends = _later(opened_on, opened_life_days)
    if sealed.ends is not None and sealed.ends <= ends:
        return sealed
    return Dated(ends, "opened", False)


def opened_clock(opened_on: date, opened_life_days: int | None, day: date) -> OpenedClock:
    """Return how long a thing opened on a day has been open by another, and whether too long.

    Raises
    ------
    BadValueError
        Where the opened life is below zero.

    >>> opened_clock(date(2026, 2, 1), 90, date(2026, 5, 2)).over
    False
    >>> opened_clock(date(2026, 2, 1), 90, date(2026, 5, 3)).over
    True
    """
    _opened_life(opened_life_days)
    days_open = max(0, (day - opened_on).days)
    over = opened_life_days is not None and days_open > opened_life_days
    return OpenedClock(days_open, opened_life_days, over)


def _sealed(material: Material, lot: Lot, received_on: date) -> Dated:
    if lot.label_date is not None:
        return Dated(lot.label_date, "label date", False)
    if lot.made_on is not None and material.label_life_days is not None:
        return Dated(_later(lot.made_on, material.label_life_days), "made on", False)
    if material.shop_life_days is not None:
        return Dated(_later(received_on, material.shop_life_days), "shop rule", True)
    return Dated(None, "none", False)


def _later(day: date, days: int) -> date:
    """So many days later, or the last day that the calendar knows."""
    return day + timedelta(days=min(days, (date.max - day).days))


def _opened_life(days: int | None) -> None:
    if days is not None and days < 0:
        raise BadValueError(f"An opened life of {days} days cannot be.", "It must be zero or more.")
