"""The plan of orders, and one material by day, as lines of text; nothing is read here."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stockroom.core.order_wording import amount_text, units_text
from stockroom.core.wording import dated, percent
from stockroom.desk.orders.plan import ALONG_DAYS, severity
from stockroom.text import safe
from stockroom.units import count_of
from tui.orders.picture import StockCourse, day_axis, stock_picture
from tui.words import (
    BLANK,
    WHEN,
    Line,
    Row,
    Target,
    columns,
    head,
    note,
    say,
    two_lines,
    when,
    wrapped,
)

if TYPE_CHECKING:
    from stockroom.desk.orders.plan import MaterialSupply, PlannedOrder

ORDER_IT = "order it"
"""Key of the line that leads to the order."""


def planned_soon(
    planned: "Sequence[PlannedOrder]", today: date, width: int, side: int
) -> list[tuple[date, Row]]:
    """Return what is to be ordered within four weeks by the plan, each with its day."""
    return [
        (item.order_by, planned_row(item, today, width, side))
        for item in planned
        if item.order_by is not None and item.within(ALONG_DAYS)
    ]


def planned_row(item: "PlannedOrder", today: date, width: int, side: int) -> Row:
    """Return one material to order by a day as one line; Enter orders it."""
    assert item.order_by is not None
    line = item.line
    risk = f"late: {percent(line.risk_now)} if ordered today, {percent(line.risk_later)} a week on"
    detail = [
        say(safe(item.material.name), "strong"),
        *wrapped(item.sentence, side),
        *(line_ for text in item.notes for line_ in wrapped(text, side, "ask")),
        say(f"From {safe(item.material.supplier) or 'a supplier not written down'}."),
        *wrapped(f"A week later it risks a {severity(item)}.", side),
        *wrapped("Enter orders it; i shows it day by day, with its rows.", side, "dim"),
    ]
    return Row(
        two_lines(when(item.order_by, today), safe(units_text(line)), risk, width),
        key=f"planned {item.material.code}",
        target=Target("order-new", item.material.code, (str(line.units),)),
        detail=tuple(detail),
        material=item.material.code,
    )


def supply_page(found: "MaterialSupply", width: int, rows: int) -> list[Row]:
    """Return one material by day: its sentence, its picture, what it rests on.

    Parameters
    ----------
    rows : int
        Lines that the picture may have.
    """
    item, today = found.planned, found.planned.today
    line = item.line
    order = safe(units_text(line))
    first = (
        f"Order {order}, though nothing wants it yet"
        if item.order_by is None
        else f"Order {order}, by {when(item.order_by, today)}"
    )
    made = [
        Row(
            (say(first, "key"),),
            key=ORDER_IT,
            target=Target("order-new", item.material.code, (str(line.units),)),
            material=item.material.code,
        ),
        note(*wrapped(item.sentence, width)),
    ]
    made += [note(*wrapped(text, width, "ask")) for text in item.notes]
    made += [note(BLANK), *_picture(found, width, rows), note(BLANK)]
    made += _figures(found, width)
    made += _work(found, width)
    made += _there(found, width)
    return made


def course_of(found: "MaterialSupply") -> StockCourse:
    """Return what the picture of a material shows."""
    line = found.planned.line
    return StockCourse(
        found.levels,
        line.order_by,
        [row.start for row in found.state.work],
        [order.expected for order in found.state.on_order if order.expected is not None],
    )


def _picture(found: "MaterialSupply", width: int, rows: int) -> list[Row]:
    course = course_of(found)
    today = found.planned.today
    first, last = found.levels[0], found.levels[-1]
    labels = [(first.day, "today"), (last.day, when(date.fromordinal(last.day), today))]
    if course.order_by is not None and course.order_by > first.day:
        labels.append((course.order_by, "order by"))
    measure = found.planned.line.ware.measure
    most = max(level.high for level in found.levels)
    legend = (
        f"0 to {amount_text(most, measure)}, nothing more ordered; shaded: 90 of 100 courses. "
        "▾ order by, + expected, ┊ known work"
    )
    return [
        note(*stock_picture(course, width, rows), day_axis(course, labels, width)),
        note(*wrapped(legend, width, "dim")),
    ]


def _pair(name: str, value: str, width: int) -> Line:
    return columns([(name, 30, "dim"), (value, max(0, width - 32), "")])


def _lacks(found: "MaterialSupply") -> str:
    """By when work finds nothing, where nothing more is ordered, and with what chance."""
    first, last = found.lacks, found.levels[-1]
    if first is None:
        return f"within {len(found.levels)} days hardly: {percent(last.lacking)}"
    day = dated(date.fromordinal(first.day))
    return f"from {day}: {percent(first.lacking)}; {percent(last.lacking)} at the end"


def _figures(found: "MaterialSupply", width: int) -> list[Row]:
    line = found.planned.line
    said = line.ware.measure
    came = sum(one.days > 0 for one in found.deliveries)
    known = ["as written down"] if found.planned.material.lead_days is not None else []
    if came:
        known.append(f"from {count_of(came, 'delivery', 'deliveries')}")
    lead = f"{line.lead.mean:.0f} days, {' and '.join(known)}" if known else "not known"
    pairs = [
        ("Work lacks it", _lacks(found)),
        ("Need until an order is safe", f"{amount_text(line.need, said)} on average"),
        ("  of it known work", amount_text(line.known, said)),
        ("  of it repeats of known work", amount_text(line.repeats, said)),
        ("  of it work not known yet", amount_text(line.unknown, said)),
        ("Use in 30 days", amount_text(line.per_day * 30, said)),
        ("Takes to come", lead),
        ("Reorder point, the usual one", amount_text(line.reorder_point, said)),
    ]
    if line.per_day:
        pairs.append(("An order costs a day of cover", f"{line.size.rate:.2f}"))
    return [head("Figures"), note(*(_pair(name, value, width) for name, value in pairs))]


def _work(found: "MaterialSupply", width: int) -> list[Row]:
    today, code = found.planned.today, found.planned.material.code
    measure = found.planned.line.ware.measure
    made = [note(BLANK), head("Known work that takes it")]
    for work in sorted(found.state.work, key=lambda row: (row.start, row.code)):
        pieces = work.to_print + work.to_mount
        each = work.per_print.get(code, 0.0) + work.per_mount.get(code, 0.0)
        many = "1 piece" if pieces == 1 else f"{pieces} pieces"
        text = (
            f"{safe(found.jobs.get(work.code, work.code))}: {many}, {each:.2f} {measure}".rstrip()
        )
        made.append(
            Row(
                (columns([(when(date.fromordinal(work.start), today), WHEN, ""),
                          (f"{text} each try", max(0, width - WHEN - 2), "")]),),
                key=f"work {work.code}",
                target=Target("job", work.code),
                job=work.code,
            )
        )  # fmt: skip
    if not found.state.work:
        made.append(note(say("None. What may come is taken from the jobs of the past.", "dim")))
    return made


def _there(found: "MaterialSupply", width: int) -> list[Row]:
    today, measure = found.planned.today, found.planned.line.ware.measure
    lines: list[Line] = []
    for held in sorted(found.state.stock, key=lambda held: (held.off_on, held.left)):
        until = "keeps"
        if held.off_on < date.max.toordinal():
            until = f"off on {when(date.fromordinal(int(held.off_on)), today)}"
        lines.append(_pair(amount_text(held.left, measure), until, width))
    for order, first, last in found.arrivals:
        expected = "day not known"
        if order.expected is not None:
            expected = f"expected {when(date.fromordinal(order.expected), today)}"
        lines.append(_pair(f"{order.units} on the way", expected, width))
        lines.append(_pair("", f"likely {dated(first)} to {dated(last)}", width))
    for one in found.deliveries:
        came = f"came {when(one.came_on, today)}, {one.days:.0f} days after it was ordered"
        lines.append(_pair(f"Order {one.order.code}", came, width))
    told: Sequence[Line] = lines or (say("Nothing is there.", "dim"),)
    return [note(BLANK), head("There, on its way, and what came"), note(*told)]
