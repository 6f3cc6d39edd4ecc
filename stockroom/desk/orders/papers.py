"""The plan of orders to take along: for a letter, a spreadsheet, a wall, a calendar; as data."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from stockroom.core.order_wording import amount_text, units_text
from stockroom.core.wording import dated, percent
from stockroom.desk.orders.plan import (
    Draft,
    MaterialSupply,
    OrderPlan,
    PlannedOrder,
    draft_text,
    rows_of,
    severity,
)
from stockroom.desk.orders.trial import line_value
from stockroom.documents.calendar import Entry, calendar_ics
from stockroom.documents.lists import NO_SUPPLIER, OrderLine, order_list_csv, order_list_text
from stockroom.documents.order_sheet import OrderSheet, SheetLine, order_sheets
from stockroom.errors import RefusedError
from stockroom.picking import picked
from stockroom.text import safe
from stockroom.units import count_of, day_text, money_text

CHANGE_SHARE = 0.05
"""A level is told by day where it moved by this part of a unit since it was told last (ours)."""
NOTHING_DUE = "Nothing is to be ordered within a week."
DRAFTS = """
    drafts[](supplier by cost_cents materials=due[].material.code
        could_go_along=along[].material.code)
"""


def plan_texts(plan: OrderPlan) -> Iterator[str]:
    """Yield a plan in words: the drafts, then every line's sentence."""
    for draft in plan.drafts:
        sender = safe(draft.supplier) or NO_SUPPLIER
        yield f"{sender}: {draft_text(draft, plan.currency)}"
        for item in draft.due:
            assert item.order_by is not None
            yield (
                f"  {units_text(item.line)}, by {day_text(item.order_by, plan.today)}"
                f" (a week on, a job is late with {percent(item.line.risk_later)}: "
                f"a {severity(item)})"
            )
        if draft.along:
            names = ", ".join(
                f"{units_text(item.line)} (by {dated(item.order_by)})"
                for item in draft.along
                if item.order_by is not None
            )
            yield f"  Could go along: {names}."
    if not plan.drafts:
        yield NOTHING_DUE if plan.orders else f"No job takes {plan.of}, so nothing is planned."
    if plan.orders:
        yield ""
    for item in plan.orders:
        yield item.sentence
        yield from (f"  {note}" for note in item.notes)


def plan_value(plan: OrderPlan) -> dict[str, Any]:
    """Return a plan as plain data."""
    return {
        "day": plan.today,
        "seed": plan.seed,
        "lines": [order_value(item) for item in plan.orders],
        **picked(plan, DRAFTS),
    }


def order_value(item: PlannedOrder) -> dict[str, Any]:
    """Return one line as plain data, with what people call it."""
    return {
        **line_value(item.line, item.today),
        **picked(item, "lead_written_days=material.lead_days name=material.name"),
        **picked(item, "supplier=material.supplier cost_cents"),
        "waiting_a_week": severity(item),
    }


def _due_lines(plan: OrderPlan) -> list[OrderLine]:
    return [
        OrderLine(
            material=item.material.name,
            supplier=item.material.supplier,
            quantity_text=str(item.line.units),
            reason=_asked(item, plan.currency),
            code=item.material.code,
        )
        for draft in plan.drafts
        for item in draft.due
    ]


def _asked(item: PlannedOrder, currency: str) -> str:
    """What a supplier is told of a line: by when it is ordered, and at what price."""
    day = "" if item.order_by is None else f"to be ordered by {dated(item.order_by)}"
    if item.cost_cents is None:
        return day
    each = item.line.ware.price(item.line.units)
    return f"{day}; {each:.2f} each, {money_text(item.cost_cents, currency)} together"


def plan_paper(plan: OrderPlan, *, csv: bool = False) -> str:
    """Return what is due by supplier, as plain text for a letter, or as CSV."""
    return order_list_csv(_due_lines(plan)) if csv else order_list_text(_due_lines(plan))


def plan_pdf(plan: OrderPlan) -> bytes:
    """Return what is due as a PDF to send, a supplier a page.

    Raises
    ------
    RefusedError
        Where nothing is due.
    """
    if not plan.drafts:
        raise RefusedError(NOTHING_DUE, try_="Look at the plan: stockroom orders plan.")
    return order_sheets([_sheet(draft, plan) for draft in plan.drafts])


def _sheet(draft: Draft, plan: OrderPlan) -> OrderSheet:
    known = [item.cost_cents for item in draft.due if item.cost_cents is not None]
    return OrderSheet(
        supplier=safe(draft.supplier) or NO_SUPPLIER,
        day=dated(plan.today),
        lines=tuple(
            SheetLine(
                str(item.line.units),
                f"{safe(item.material.name)} ({item.line.ware.unit})",
                "" if item.cost_cents is None else f"{item.line.ware.price(item.line.units):.2f}",
                "" if item.cost_cents is None else f"{item.cost_cents / 100:.2f}",
            )
            for item in draft.due
        ),
        total=money_text(sum(known), plan.currency) if len(known) == len(draft.due) else "",
        notes=("Prices as last written down; freight is not in them.",),
    )


def plan_calendar(plan: OrderPlan, now_s: int) -> bytes:
    """Return the order-by days of all lines as a calendar file (iCalendar)."""
    entries = [
        Entry(
            "order by", (item.material.code,), f"Order {units_text(item.line)}",
            (item.sentence, *item.notes), day=item.order_by,
        )
        for item in plan.orders
        if item.order_by is not None
    ]  # fmt: skip
    return calendar_ics(entries, now_s)


def supply_texts(found: MaterialSupply) -> Iterator[str]:
    """Yield one material by day: its sentence, its levels where they move, the rows behind."""
    line, today = found.planned.line, found.planned.today
    said = line.ware.measure
    yield found.planned.sentence
    yield from (f"  {note}" for note in found.planned.notes)
    yield (
        f"Reorder point, for those who think in it: {amount_text(line.reorder_point, said)}; use "
        f"{amount_text(line.per_day * 30, said)} in 30 days."
    )
    ends = ", half a try off each roll's end" if line.ware.contiguous else ""
    yield f"By day, nothing more ordered{ends} (likely range; chance that work found nothing):"
    told = None
    step = CHANGE_SHARE * line.ware.capacity
    last = found.levels[-1].day if found.levels else 0
    for level in found.levels:
        if told is not None and abs(level.middle - told.middle) < step and level.day != last:
            continue
        lacking = f"; {percent(level.lacking)}" if level.lacking else ""
        yield (
            f"  {day_text(date.fromordinal(level.day), today)}: "
            f"{amount_text(level.middle, said)} ({amount_text(level.low, said)} to "
            f"{amount_text(level.high, said)}){lacking}"
        )
        told = level
    yield from _row_texts(found)


def _row_texts(found: MaterialSupply) -> Iterator[str]:
    rows, measure = rows_of(found), found.planned.line.ware.measure
    today = found.planned.today
    if rows["work"]:
        cold = found.planned.material.traits.out_days
        yield f"Known work{', from the day its paper comes out of the cold' if cold else ''}:"
    for row in rows["work"]:
        pieces = count_of(row["pieces"], "piece")
        yield (
            f"  {dated(row['from'])}: {row['job']} {safe(row['name'])}, {pieces}, "
            f"{row['each_try']:.2f}{f' {measure}' if measure else ''} each try"
        )
    if rows["stock"]:
        yield "There:"
    for row in rows["stock"]:
        until = f", off on {dated(row['off_on'])}" if row["off_on"] else ", keeps"
        yield f"  {amount_text(row['left'], measure)}{until}"
    for row in rows["on_the_way"]:
        when = f"expected {dated(row['expected'])}" if row["expected"] else "day not known"
        late = row["expected"] is not None and row["expected"] < today
        yield (
            f"On the way: {row['units']}, ordered {dated(row['ordered'])}, {when}, likely "
            f"{dated(row['likely_from'])} to {dated(row['likely_to'])}"
            f"{'; late: ask the supplier, and stockroom order confirm' if late else ''}"
        )
    for row in rows["deliveries"]:
        yield (
            f"Came: order {row['order']}, {dated(row['ordered'])} to {dated(row['came'])}, "
            f"{row['days']:.0f} days"
        )
    jobs = rows["history_jobs"]
    if jobs:
        yield f"Not known yet: as {jobs} jobs in {rows['history_days']:.0f} days."


def supply_value(found: MaterialSupply) -> dict[str, Any]:
    """Return one material by day as plain data, with the rows behind its figures."""
    return {
        "line": order_value(found.planned),
        "by_day": [
            {
                "day": date.fromordinal(level.day),
                **picked(level, "middle mean low high has_come=comes chance_lacking=lacking"),
            }
            for level in found.levels
        ],
        "rows": rows_of(found),
    }
