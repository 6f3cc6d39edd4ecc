"""Order lines to sentences: what, how much, by which day, why."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.supply.lines import HIGH, LATER_DAYS, LOOK_AHEAD_DAYS, Note, OrderLine
from stockroom.core.wording import dated, percent
from stockroom.units import count_of

_NOTES: dict[Note, str] = {
    "lead unknown": "No delivery was seen yet: three weeks and a third more or less are taken.",
    "lead zero": "Deliveries came within the day; an order is taken to come at once.",
    "closed": "The supplier closes then: this is the last day before.",
    "shut now": "The supplier is closed now: this is the first day on which ordering helps. Where "
    "the risk is too high, ask another supplier or move the job.",
    "much goes off": "Much of it is expected to go off unused: order less and more often, or for "
    "each job when it comes.",
    "series apart": "No one emulsion there may hold a whole series with its repeats: it is counted "
    "as waiting for a new one, which wants a test print and its own calibration first.",
    "least too dear": "A job may lack it, but the least that can be ordered costs more than "
    "the delay: share an order, have it cut to size, ask another supplier, or move the job.",
    "lasts long": "The least that can be ordered lasts for years: share it, or ask for less.",
    "use unknown": "Too few jobs tell of its use: only known work is counted.",
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
    return f"{count_of(line.units, line.ware.unit)} of {line.ware.called}"


def order_line_text(line: OrderLine, today: date) -> str:
    """Return the one sentence that says what to order, by when and why."""
    said = line.ware.measure
    if line.order_by is None:
        what = "no order pays" if "least too dear" in line.notes else "nothing to order"
        begin = f"{line.ware.called}: {what} within {LOOK_AHEAD_DAYS} days"
    else:
        day = date.fromordinal(line.order_by)
        by = "today" if day == today else f"by {dated(day)}"
        begin = f"Order {units_text(line)} {by}"
    shut = "shut now" in line.notes
    first_day = "once it opens" if shut else "today"
    risk = (
        f"a late job: {percent(line.risk_now)} if ordered {first_day}, {percent(line.risk_later)} "
        f"if {LATER_DAYS} days {'on' if shut else 'later'}"
    )
    if line.first is not None:
        name, begins = line.first
        risk += f"; lacking first for {name}, {dated(date.fromordinal(begins))}"
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
    if line.order_by is not None and line.per_day:
        parts.append(covers)
    return f"{begin}: {'; '.join(parts)}."


def note_texts(line: OrderLine) -> Iterator[str]:
    """Return a sentence for each thing that a line points out."""
    return (_NOTES[note] for note in line.notes)
