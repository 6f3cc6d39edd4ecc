"""The plan of orders: a line for each material, drafts for each supplier, the rows behind them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import ceil
from typing import Any

import numpy as np

from stockroom.core.order_wording import note_texts, order_line_text
from stockroom.core.records import Material, Order
from stockroom.core.supply.learn import lead_of
from stockroom.core.supply.levels import HIGH, LOW, Level, levels_of
from stockroom.core.supply.lines import LOOK_AHEAD_DAYS, OrderLine, order_lines
from stockroom.core.supply.outlook import arrival_of
from stockroom.core.supply.state import OnOrder, State, apart
from stockroom.desk.latest import latest
from stockroom.desk.lookup import find
from stockroom.desk.orders import ordering
from stockroom.desk.orders.state import ORDER_COST_CENTS, Delivery, deliveries_of, supply_state
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import RefusedError
from stockroom.picking import picked
from stockroom.text import safe
from stockroom.units import money_text

DUE_DAYS = 7
"""A draft holds what is to be ordered within so many days (our choice: a week's orders at once)."""
ALONG_DAYS = 28
"""What is due within so many days could go along, for it costs no further order (our choice)."""
NUISANCE, LOST_DAY = 0.01, 0.05
"""Chances of a late job where the order waits a week: below the first that is a nuisance at most,
from the second on one in twenty such weeks costs a client's trust (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class PlannedOrder:
    """One material's line, with what people call it and who sells it."""

    material: Material
    line: OrderLine
    today: date

    @property
    def order_by(self) -> date | None:
        """The last day to order."""
        return None if self.line.order_by is None else date.fromordinal(self.line.order_by)

    @property
    def cost_cents(self) -> int | None:
        """What the order costs without what an order costs by itself; None without a price."""
        if self.material.price_cents is None:
            return None
        return round(self.line.ware.price(self.line.units) * 100) * self.line.units

    @property
    def sentence(self) -> str:
        """The one sentence that says what, by when, why."""
        return order_line_text(self.line, self.today)

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be said beside it."""
        notes = list(note_texts(self.line))
        if self.material.price_cents is None:
            notes.append(
                f"Its price is not known: {self.line.ware.cost:.2f} is taken. Tell it: stockroom "
                "material change."
            )
        return tuple(notes)

    def within(self, days: int) -> bool:
        """Return whether it is to be ordered within so many days."""
        return self.order_by is not None and self.order_by <= self.today + timedelta(days=days)


@dataclass(frozen=True, slots=True, eq=False)
class Draft:
    """What is to be ordered of one supplier now, and what could go along.

    Attributes
    ----------
    supplier : str
        "" where none is written down.
    due, along : tuple of PlannedOrder
    """

    supplier: str
    due: tuple[PlannedOrder, ...]
    along: tuple[PlannedOrder, ...]

    @property
    def by(self) -> date:
        """The last day for the first of them."""
        return min(item.order_by for item in self.due if item.order_by is not None)

    @property
    def cost_cents(self) -> int:
        """What all that is due costs, as far as prices are known, one order's cost with it."""
        own = [
            ORDER_COST_CENTS
            if item.material.order_cost_cents is None
            else item.material.order_cost_cents
            for item in self.due
        ]
        return max(own) + sum(item.cost_cents or 0 for item in self.due)


@dataclass(frozen=True, slots=True, eq=False)
class OrderPlan:
    """What is to be ordered by when, soonest first.

    Attributes
    ----------
    orders : tuple of PlannedOrder
    drafts : tuple of Draft
    of : str
        The material that was asked about, or any.
    """

    today: date
    seed: int
    orders: tuple[PlannedOrder, ...]
    drafts: tuple[Draft, ...]
    currency: str
    of: str = "any material"


def plan_orders(
    desk: Desk, *, material: str | None = None, on: date | None = None, seed: int = 0
) -> OrderPlan:
    """Return what is to be ordered by when, of all materials that work takes.

    Parameters
    ----------
    material : str, optional
        One material only.
    on : date, optional
        Reason as if it were this day.
    seed : int
        Another seed draws other scenarios.

    Raises
    ------
    UnknownCodeError
        Where there is no such material.
    """
    today = on or desk.today()
    with reckoned(desk, on) as reckoning:
        only = find(reckoning.view, Material, material).code if material else None
        of = reckoning.materials[only].name if only else "any material"
        orders = planned_orders(reckoning, today, seed=seed, only=only)
    return OrderPlan(today, seed, tuple(orders), tuple(drafts_of(orders)), desk.currency, of)


def planned_orders(
    reckoning: Reckoning, today: date, *, seed: int = 0, only: str | None = None
) -> list[PlannedOrder]:
    """Return the lines of all materials that work takes, soonest order-by day first."""
    state = supply_state(reckoning, today)
    if only is not None:
        state = state_of_one(state, only)
    return [
        PlannedOrder(reckoning.materials[line.ware.code], line, today)
        for line in order_lines(state, seed)
    ]


def state_of_one(state: State, code: str) -> State:
    """Return what concerns one material of a state; no material at all where no job takes it."""
    for ware, mine in apart(state):
        if ware.code == code:
            return mine
    return State(state.day, ())


def drafts_of(orders: Sequence[PlannedOrder]) -> list[Draft]:
    """Return a draft for each supplier of whom something is due, the soonest first."""
    by: dict[str, list[PlannedOrder]] = {}
    for item in orders:
        by.setdefault(item.material.supplier, []).append(item)
    found = []
    for supplier, items in by.items():
        due = tuple(item for item in items if item.within(DUE_DAYS))
        along = tuple(item for item in items if item not in due and item.within(ALONG_DAYS))
        if due:
            found.append(Draft(supplier, due, along))
    return sorted(found, key=lambda draft: (draft.by, draft.supplier))


def severity(order: PlannedOrder) -> str:
    """Return how bad running out would be where the order waits a week: what is at stake.

    A nuisance where hardly any job would be late, a lost day where some would, a lost client where
    one in twenty scenarios or more has a late job.
    """
    risk = order.line.risk_later
    return "nuisance" if risk < NUISANCE else "lost day" if risk < LOST_DAY else "lost client"


@dataclass(frozen=True, slots=True, eq=False)
class MaterialSupply:
    """One material by day: its line, its levels, and the rows behind the figures.

    Attributes
    ----------
    levels : tuple of Level
        From today on; nothing more ordered.
    state : State
        What concerns it of the whole state.
    deliveries : tuple of Delivery
    jobs : mapping of str to str
        Names of jobs by code.
    arrivals : tuple of (OnOrder, date, date)
        What is on its way, and between which days it likely comes (90 of 100).
    """

    planned: PlannedOrder
    levels: tuple[Level, ...]
    state: State
    deliveries: tuple[Delivery, ...]
    jobs: dict[str, str]
    arrivals: tuple[tuple[OnOrder, date, date], ...] = ()

    @property
    def lacks(self) -> Level | None:
        """The first day by which work finds nothing with `NUISANCE` chance; None where none."""
        return next((level for level in self.levels if level.lacking >= NUISANCE), None)


def material_supply(
    desk: Desk, material: str, *, days: int = LOOK_AHEAD_DAYS, on: date | None = None, seed: int = 0
) -> MaterialSupply:
    """Return one material by day.

    Raises
    ------
    RefusedError
        Where no job ever took it.
    """
    today = on or desk.today()
    with reckoned(desk, on) as reckoning:
        found = find(reckoning.view, Material, material)
        state = state_of_one(supply_state(reckoning, today), found.code)
        if not state.wares:
            raise RefusedError(
                f"No job takes {found.name}, so nothing is planned of it.",
                try_="Book a job with it, or a build that takes it.",
            )
        (line,) = order_lines(state, seed)
        return MaterialSupply(
            PlannedOrder(found, line, today),
            tuple(levels_of(state, state.wares[0], days, seed=seed)),
            state,
            tuple(deliveries_of(reckoning).get(found.code, ())),
            {code: job.name for code, job in reckoning.jobs.items()},
            tuple(_arrivals(state)),
        )


def _arrivals(state: State) -> Iterator[tuple[OnOrder, date, date]]:
    lead = lead_of(state.wares[0].lead_days)
    for order in state.on_order:
        first, last = arrival_of(order, state.day, lead, np.array([LOW, HIGH]))
        yield (
            order,
            date.fromordinal(state.day + int(first)),
            date.fromordinal(min(state.day + ceil(last), date.max.toordinal())),
        )


CAME = "deliveries[](order=order.code ordered=order.ordered_on came=came_on days)"


def rows_of(found: MaterialSupply) -> dict[str, Any]:
    """Return the rows behind the figures of a line as plain data."""
    code = found.planned.material.code
    return {
        "work": [
            {
                "job": row.code,
                "name": found.jobs.get(row.code, ""),
                "from": date.fromordinal(row.start),
                "due": date.fromordinal(row.due),
                "pieces": row.to_print + row.to_mount,
                "each_try": row.per_print.get(code, 0.0) + row.per_mount.get(code, 0.0),
            }
            for row in sorted(found.state.work, key=lambda row: (row.start, row.code))
        ],
        "stock": [
            {"left": held.left, "off_on": _day(held.off_on)}
            for held in sorted(found.state.stock, key=lambda held: (held.off_on, held.left))
        ],
        "on_the_way": [
            {
                "units": order.units,
                "ordered": date.fromordinal(order.placed),
                "expected": _day(order.expected),
                "likely_from": first,
                "likely_to": last,
            }
            for order, first, last in found.arrivals
        ],
        **picked(found, CAME),
        "history_jobs": len(found.state.history),
        "history_days": found.state.history_days,
    }


def _day(ordinal: float | None) -> date | None:
    if ordinal is None or ordinal >= date.max.toordinal():
        return None
    return date.fromordinal(int(ordinal))


def draft_text(draft: Draft, currency: str) -> str:
    """Return a draft's sum in words."""
    unknown = [item.material.name for item in draft.due if item.cost_cents is None]
    more = f", {', '.join(unknown)} not counted" if unknown else ""
    told = any(item.material.order_cost_cents is not None for item in draft.due)
    own = "one order's cost" if told else f"{ORDER_COST_CENTS / 100:.2f} taken for the order"
    return f"{money_text(draft.cost_cents, currency)} with {own}{more}"


def place_draft(
    desk: Desk,
    supplier: str,
    *,
    along: bool = False,
    again: bool = False,
    on: date | None = None,
    seed: int = 0,
    key: str | None = None,
) -> tuple[Done, ...]:
    """Write down all that is due of a supplier as ordered: an act for each material, all as one.

    What was ordered today already is not ordered again, unless that is wanted.

    Parameters
    ----------
    supplier : str
        Its name, or how it begins.
    along : bool
        Whether what could go along is ordered too.
    again : bool
        Whether a material that was ordered today is ordered once more.
    on : date, optional
        Reason as if it were this day.

    Raises
    ------
    RefusedError
        Where nothing is due of it, or all of it was ordered today.
    """
    request = {
        "send": supplier,
        "along": along,
        "again": again,
        "on": None if on is None else on.isoformat(),
        "seed": seed,
    }

    if (earlier := desk.done_before(request, key)) is not None:
        return earlier
    seen, plan = latest(desk).seal, plan_orders(desk, on=on, seed=seed)

    def do(decision: Decision) -> list[Done]:
        now = plan if decision.head.seal == seen else plan_orders(desk, on=on, seed=seed)
        draft = _draft_of(now, supplier)
        items, note = [*draft.due, *(draft.along if along else ())], ""
        if not again:
            items, note = _not_ordered_today(decision, draft, items)
        done = [
            ordering.order(
                desk,
                item.material.code,
                item.line.units,
                price_cents=None
                if item.material.price_cents is None
                else round(item.line.ware.price(item.line.units) * 100),
            )
            for item in items
        ]
        if note:
            done[-1] = replace(done[-1], notes=(*done[-1].notes, note))
        return done

    return desk.as_one(request, do, key=key)


def _not_ordered_today(
    decision: Decision, draft: Draft, items: Sequence[PlannedOrder]
) -> tuple[list[PlannedOrder], str]:
    """What of a draft was not ordered today, and a word on the rest; refused where it is all."""
    today = [
        order
        for item in items
        for order in decision.view.having(Order, "material", item.material.code)
        if order.ordered_on == decision.today and order.state != "cancelled"
    ]
    ordered = {order.material for order in today}
    left = [item for item in items if item.material.code not in ordered]
    if left:
        rest = [item for item in items if item.material.code in ordered]
        more = ", ".join(f"{item.line.units} of {item.material.name}" for item in rest)
        note = f"Left out, since some was ordered today: {more}. To order that too: --again."
        return left, note if rest else ""
    names = {item.material.code: item.material.name for item in items}
    told = ", ".join(f"{order.count} of {names[order.material]} ({order.code})" for order in today)
    raise RefusedError(
        f"All that is due of {safe(draft.supplier) or 'no supplier'} was ordered today: {told}.",
        "The same draft is not sent twice in a day.",
        "If more is wanted all the same: the same words with --again.",
    )


def _draft_of(plan: OrderPlan, supplier: str) -> Draft:
    """The draft of a supplier, by its name or how that begins."""
    wanted = supplier.strip().casefold()
    exact = [draft for draft in plan.drafts if draft.supplier.casefold() == wanted]
    begin = [draft for draft in plan.drafts if draft.supplier.casefold().startswith(wanted)]
    meant = exact or (begin if len(begin) == 1 and wanted else [])
    if not meant:
        names = ", ".join(safe(draft.supplier) or "no supplier" for draft in plan.drafts)
        raise RefusedError(
            f"Nothing is due of {safe(supplier, length=40)!r}.",
            f"Within {DUE_DAYS} days something is due of: {names or 'nobody'}.",
            "Look at the plan: stockroom orders plan.",
        )
    return meant[0]
