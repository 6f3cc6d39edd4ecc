"""A state of stock, orders and work read from plain data, `stockroom.supply/1`, for orders."""

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import pairwise
from math import inf, isfinite
from typing import Any

from stockroom.core.supply.state import (
    HOLDING_RATE,
    LATE_FIXED,
    LATE_PER_DAY,
    REVIEW_DAYS,
    Amounts,
    Held,
    Losses,
    OnOrder,
    PriceBreak,
    State,
    Ware,
    Work,
)
from stockroom.errors import BadValueError
from stockroom.times import FIRST_YEAR, LAST_YEAR, in_trade
from stockroom.units import LONGEST_LEAD_DAYS, LONGEST_LIFE_DAYS

FORMAT = "stockroom.supply/1"
MOST = 1e12
"""No figure of a state may be larger (our choice)."""
MOST_UNITS = 10**6


class _Fields:
    """One object of the data, and where it stands, for errors that name the place."""

    def __init__(self, value: Any, where: str) -> None:
        if not isinstance(value, dict):
            raise BadValueError(f"{where} is no object.", try_="See the README for the format.")
        self.value: Mapping[str, Any] = value
        self.where = where

    def error(self, name: str, why: str) -> BadValueError:
        """What is wrong with a field, with its place."""
        return BadValueError(f"{name} of {self.where} cannot be read.", why, "Correct the file.")

    def number(
        self, name: str, default: float | None = None, *, least: float = 0.0, most: float = MOST
    ) -> float:
        """Read a number within bounds; the default where it is left out."""
        value = self.value.get(name, default)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self.error(name, "It is no number.")
        if not isfinite(value) or not least <= value <= most:
            raise self.error(name, f"{value:g} lies outside {least:g} to {most:g}.")
        return float(value)

    def whole(self, name: str, default: int | None = None, *, least: int = 0) -> int:
        """Read a whole number."""
        value = self.number(name, default, least=least, most=MOST_UNITS)
        if value != int(value):
            raise self.error(name, f"{value:g} is no whole number.")
        return int(value)

    def text(self, name: str, default: str | None = None) -> str:
        """Read a text."""
        value = self.value.get(name, default)
        if not isinstance(value, str) or (default is None and not value.strip()):
            raise self.error(name, "It is no text.")
        return value

    def flag(self, name: str) -> bool:
        """Read true or false; false where it is left out."""
        value = self.value.get(name, False)
        if not isinstance(value, bool):
            raise self.error(name, "It is neither true nor false.")
        return value

    def day(self, name: str, default: date | None = None) -> int:
        """Read a day, written like 2026-03-14."""
        value = self.value.get(name, default.isoformat() if default else None)
        return self._day(name, value)

    def _day(self, name: str, value: Any) -> int:
        try:
            day = date.fromisoformat(value)
        except (TypeError, ValueError):
            raise self.error(name, f"{value!r} is no day like 2026-03-14.") from None
        if not in_trade(day):
            raise self.error(name, f"{value} lies outside {FIRST_YEAR} to {LAST_YEAR}.")
        return day.toordinal()

    def each(self, name: str) -> "Iterator[_Fields]":
        """Read a list of objects; empty where it is left out."""
        for at, one in enumerate(self._list(name), 1):
            yield _Fields(one, f"{name} {at} of {self.where}")

    def numbers(self, name: str, most: float) -> tuple[float, ...]:
        """Read a list of numbers from 0 to some most."""
        found = []
        for value in self._list(name):
            wrong = isinstance(value, bool) or not isinstance(value, int | float)
            if wrong or not 0 <= value <= most:
                raise self.error(name, f"{value!r} is no number from 0 to {most}.")
            found.append(float(value))
        return tuple(found)

    def spans(self, name: str) -> tuple[tuple[int, int], ...]:
        """Read a list of pairs of days, first and last."""
        found = []
        for pair in self._list(name):
            if not isinstance(pair, list) or len(pair) != 2:
                raise self.error(name, "Each is a first and a last day.")
            first, last = (self._day(name, one) for one in pair)
            if last < first:
                raise self.error(name, f"{pair[1]} comes before {pair[0]}.")
            found.append((first, last))
        return tuple(found)

    def amounts(self, name: str, wares: Mapping[str, Ware]) -> Amounts:
        """Read amounts by material."""
        value = _Fields(self.value.get(name, {}), f"{name} of {self.where}")
        for code in value.value:
            if code not in wares:
                raise value.error(str(code), "No material has this code.")
        return {code: value.number(code) for code in value.value if value.number(code) > 0}

    def _list(self, name: str) -> list[Any]:
        value = self.value.get(name, [])
        if not isinstance(value, list):
            raise self.error(name, "It is no list.")
        return value


def state_of(value: Any) -> State:
    """Return the state that plain data tell.

    Parameters
    ----------
    value : Any
        As `json.loads` gives it; the README tells the fields.

    Returns
    -------
    State
        Days are ordinals of the calendar (`date.toordinal`).

    Raises
    ------
    BadValueError
        Where a field is missing, of the wrong kind or outside what can be; it names the place.
    """
    top = _Fields(value, "the state")
    if top.text("format", FORMAT) != FORMAT:
        raise top.error("format", f"Only {FORMAT} can be read.")
    wares: dict[str, Ware] = {}
    for one in top.each("materials"):
        ware = _ware(one)
        if ware.code in wares:
            raise one.error("code", f"{ware.code} is there twice.")
        wares[ware.code] = ware
    if not wares:
        raise top.error("materials", "There is none.")
    losses = _Fields(top.value.get("losses", {}), "losses of the state")
    late = _Fields(top.value.get("late_cost", {}), "late_cost of the state")
    return State(
        day=top.day("day"),
        wares=tuple(wares.values()),
        stock=tuple(_held(one, wares) for one in top.each("stock")),
        on_order=tuple(_on_order(one, wares) for one in top.each("on_order")),
        work=tuple(_work(one, wares) for one in top.each("jobs")),
        losses=Losses(
            losses.number("printed_m2", 0.0),
            losses.whole("prints_lost", 0),
            losses.whole("mounts_good", 0),
            losses.whole("mounts_lost", 0),
        ),
        history=tuple(_work(one, wares) for one in top.each("history")),
        history_days=top.number("history_days", 0.0),
        holding_rate=top.number("holding_rate", HOLDING_RATE, most=10),
        late_fixed=late.number("fixed", LATE_FIXED),
        late_per_day=late.number("per_day", LATE_PER_DAY),
        review_days=top.number("review_days", REVIEW_DAYS, least=0.5, most=90),
    )


def _ware(one: _Fields) -> Ware:
    breaks = tuple(
        PriceBreak(step.whole("from", least=1), step.number("cost"))
        for step in one.each("price_breaks")
    )
    for before, after in pairwise(breaks):
        if after.least <= before.least:
            raise one.error(
                "price_breaks",
                f"From {after.least} comes after from {before.least}; fewest come first.",
            )
    return Ware(
        code=one.text("code"),
        capacity=one.number("capacity", 1.0, least=1e-6),
        cost=one.number("cost"),
        order_cost=one.number("order_cost", 0.0),
        minimum=one.whole("minimum", 1, least=1),
        multiple=one.whole("multiple", 1, least=1),
        lead_days=one.numbers("lead_days", LONGEST_LEAD_DAYS),
        life_days=one.numbers("life_days", LONGEST_LIFE_DAYS),
        remnant=one.number("remnant", 0.0),
        contiguous=one.flag("contiguous"),
        price_breaks=breaks,
        closed=one.spans("closed"),
        warm_loss=one.number("warm_loss", 0.0, most=100),
        unit=one.text("unit", "unit"),
        measure=one.text("measure", ""),
        name=one.text("name", ""),
    )


def _code(one: _Fields, wares: Mapping[str, Ware]) -> str:
    code = one.text("material")
    if code not in wares:
        raise one.error("material", f"No material has the code {code}.")
    return code


def _held(one: _Fields, wares: Mapping[str, Ware]) -> Held:
    off_on = float(one.day("usable_by") + 1) if one.value.get("usable_by") is not None else inf
    return Held(_code(one, wares), one.number("left"), off_on, one.text("lot", ""))


def _on_order(one: _Fields, wares: Mapping[str, Ware]) -> OnOrder:
    units, placed = one.whole("units", least=1), one.day("ordered_on")
    expected = one.day("expected_on") if one.value.get("expected_on") is not None else None
    return OnOrder(_code(one, wares), units, placed, expected)


def _work(one: _Fields, wares: Mapping[str, Ware]) -> Work:
    start, due = one.day("start"), one.day("due")
    return Work(
        code=one.text("code"),
        due=due,
        start=start,
        to_print=one.whole("to_print", 0),
        to_mount=one.whole("to_mount", 0),
        area_m2=one.number("area_m2", 0.0, most=1e4),
        per_print=one.amounts("per_print", wares),
        per_mount=one.amounts("per_mount", wares),
        known=one.day("known_on", date.fromordinal(start)),
        one_lot=one.flag("series"),
        mounted=bool(one.value.get("per_mount")),
    )
