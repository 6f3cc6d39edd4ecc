"""Order lines to sentences: what, how much, by which day, why."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.supply.lines import HIGH, LATER_DAYS, LOOK_AHEAD_DAYS, Note, OrderLine
from stockroom.core.wording import dated, percent

_NOTES: dict[Note, str] = {
    "lead unknown": "No delivery was seen yet: three weeks and a third more or less are taken.",
    "lead zero": "Deliveries came within the day; an order is taken to come at once.",
    "closed": "The supplier is closed on the day itself: this is the last one before.",
    "shut now": "The supplier is closed now: this is the first day it takes orders again.",
    "much goes off": "Much of it is expected to go off unused: order less and more often, or for "
    "each job when it comes.",
    "series apart": "No one emulsion there may hold a whole series with its repeats: it is counted "
    "as waiting for a new one, which wants a test print and its own calibration first.",
    "minimum goes off": "The least that can be ordered is more than is used before it goes off: "
    "share it with another workshop, order only for a sure job, or ask for a shorter roll.",
}


def amount_text(amount: float, measure: str) -> str:
    """Return an amount in its measure.

    >>> amount_text(12.34, "m"), amount_text(9, ""), amount_text(0.26, "")
    ('12.3 m', '9', '0.3')
    """
    return f"{amount:.1f} {measure}" if measure else f"{amount:.1f}".removesuffix(".0")


def units_text(line: OrderLine) -> str:
    """Return how many of what: 3 rolls of paper."""
    one = line.ware.unit
    return f"{line.units} {one if line.units == 1 else one + 's'} of {line.ware.called}"


def order_line_text(line: OrderLine, today: date) -> str:
    """Return the one sentence that says what to order, by when and why."""
    said = line.ware.measure
    if line.order_by is None:
        begin = f"{line.ware.called}: nothing to order within {LOOK_AHEAD_DAYS} days"
    else:
        day = date.fromordinal(line.order_by)
        by = "today" if day == today else f"by {dated(day)}"
        begin = f"Order {units_text(line)} {by}"
    risk = (
        f"a late job: {percent(line.risk_now)} if ordered today, {percent(line.risk_later)} if "
        f"{LATER_DAYS} days later"
    )
    need = (
        f"need to {dated(date.fromordinal(line.until))} {amount_text(line.need, said)} "
        f"({percent(HIGH)}: {amount_text(line.high, said)}; known {amount_text(line.known, said)}, "
        f"repeats {amount_text(line.repeats, said)}, not known yet "
        f"{amount_text(line.unknown, said)})"
    )
    there = f"there {amount_text(line.stock, said)}"
    if line.coming:
        there += f", on the way {amount_text(line.coming, said)}"
    if line.goes_off >= 0.05:
        there += f", of which {amount_text(line.goes_off, said)} goes off unused"
    lead = f"takes {line.lead.mean:.0f} days ({percent(HIGH)}: {line.lead.quantile(HIGH):.0f})"
    covers = f"lasts {line.size.covers_days:.0f} days"
    if line.size.wasted >= 0.05:
        covers += f", {amount_text(line.size.wasted, said)} of it expected to go off"
    parts = [risk, need, there, lead]
    if line.order_by is not None:
        parts.append(covers)
    return f"{begin}: {'; '.join(parts)}."


def note_texts(line: OrderLine) -> Iterator[str]:
    """Return a sentence for each thing that a line points out."""
    return (_NOTES[note] for note in line.notes)
