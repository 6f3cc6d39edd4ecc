"""Orders planned on a state from a file, without a store: read, plan, told as plain data."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from stockroom.core.order_wording import note_texts, order_line_text
from stockroom.core.supply.lines import HIGH, OrderLine, discards, order_lines
from stockroom.core.supply.state import Held, State
from stockroom.errors import BadValueError, InputError
from stockroom.intake.supply_state import FORMAT, state_of
from stockroom.picking import picked
from stockroom.plain_files import bounded_json, refuse_large, shown_name
from stockroom.text import safe

MOST_BYTES = 16_000_000
"""No larger state is read, bytes (our choice)."""
NEED = "known repeats not_known_yet=unknown mean=need high"
USE = """
    reorder_point use_per_day=per_day use_variance_per_day=variance_per_day
    stock_lasts_days=stock_days
"""


@dataclass(frozen=True, slots=True)
class SupplyTried:
    """A state, the lines planned on it, and what is to be thrown away."""

    state: State
    lines: tuple[OrderLine, ...]
    discards: tuple[Held, ...]
    seed: int

    def value(self) -> dict[str, Any]:
        """Return all of it as plain data, of the shape `stockroom.supply/1`."""
        today = date.fromordinal(self.state.day)
        return {
            "day": today.isoformat(),
            "seed": self.seed,
            "lines": [line_value(line, today) for line in self.lines],
            "discards": [
                {"material": held.ware, "left": held.left, "off_on": _day(held.off_on)}
                for held in self.discards
            ],
        }

    def texts(self) -> Iterator[str]:
        """Return all of it as sentences."""
        today = date.fromordinal(self.state.day)
        for line in self.lines:
            yield order_line_text(line, today)
            yield from (f"  {text}" for text in note_texts(line))
        for held in self.discards:
            yield f"Throw away: {held.ware}, {held.left:g} left."


def try_orders(data: bytes, name: str, seed: int) -> SupplyTried:
    """Return the order lines for a state given as JSON.

    Parameters
    ----------
    data : bytes
    name : str
        Of the file, for errors.
    seed : int
        Another seed draws other scenarios.

    Raises
    ------
    BadValueError
        Where it is no such state.
    """
    shown = shown_name(name)
    refuse_large(len(data), shown, MOST_BYTES)
    try:
        value = bounded_json(data)
    except ValueError as problem:
        raise BadValueError(
            f"{shown} is no JSON that can be read.", f"{safe(problem)}.", "Look at the file."
        ) from None
    state = state_of(value)
    return SupplyTried(state, tuple(order_lines(state, seed)), tuple(discards(state)), seed)


def answer_line(line: bytes, seed: int) -> dict[str, Any]:
    """Return the answer to one state on one line, or what is wrong with it."""
    try:
        return {"format": FORMAT, **try_orders(line, "The line", seed).value()}
    except InputError as problem:
        return {"format": FORMAT, "error": str(problem)}


def _day(ordinal: float) -> str | None:
    return None if ordinal == float("inf") else date.fromordinal(int(ordinal)).isoformat()


def line_value(line: OrderLine, today: date) -> dict[str, Any]:
    """Return an order line as plain data."""
    first = line.first and {"job": line.first[0], "day": _day(line.first[1])}
    return {
        "material": line.ware.code,
        "units": line.units,
        "order_by": None if line.order_by is None else _day(line.order_by),
        "order_today": line.order_by is not None and line.order_by <= today.toordinal(),
        **picked(line, "risk_today=risk_now risk_in_a_week=risk_later"),
        "lacking_first": first,
        "need": {"until": _day(line.until), **picked(line, NEED)},
        **picked(line, "stock goes_off on_the_way=coming"),
        "lead_days": {
            **picked(line.lead, "mean spread"),
            "high": line.lead.quantile(HIGH),
            "deliveries": line.lead.count,
        },
        **picked(line, USE),
        "order_lasts_days": line.size.covers_days if line.per_day else None,
        "order_goes_off": line.size.wasted,
        "cost_per_day": line.size.rate if line.per_day else None,
        "price": line.ware.price(line.units),
        "notes": list(line.notes),
        "reason": order_line_text(line, today),
    }
