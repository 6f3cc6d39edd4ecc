"""The state that orders are planned on, from the books: materials, stock, orders, work, history."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import inf

import sqlalchemy as sa

from stockroom import clock
from stockroom.core.making.recipe import Recipe
from stockroom.core.making.sizes import Takes, layer_size, roll_rules, takes
from stockroom.core.records import Job, Material, Order, Unit
from stockroom.core.supply.state import (
    Held,
    Losses,
    OnOrder,
    PriceBreak,
    State,
    Ware,
    Work,
)
from stockroom.core.terms import breaks_of, closed_of
from stockroom.desk.cutting.sheets import is_cut_piece, lacking, want_no_sheet
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.work.attempts import pieces_of, recipe_for
from stockroom.desk.work.spoilage import DMM2_PER_M2, corrected_times, outcomes_of
from stockroom.store.mapping import ACT, TOUCH, act_of
from stockroom.units import DMM_PER_M

ORDER_COST_CENTS = 9_000
"""What an order costs whatever its size, where nobody says (our choice: freight, and half an hour
of work)."""
PRICE_CENTS = 10_000
"""Price of a unit where none is known (our choice; the line says so)."""
NOTICE_DAYS = 21
"""Days before its print that a job is thought to have been known, where it was entered after it
(our choice)."""
LEAST_JOBS = 3
"""Fewer jobs tell nothing of how often a material is used: only known work counts (our choice)."""
LEAST_HISTORY_DAYS = 60
"""A job history tells of at least so many days (our choice: one busy week is no rate). It begins
with its second job, so that a single old one does not stretch it."""
DUE_DAYS = 10
"""Days after the print that a job is due, where no day is promised (our choice)."""
Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Delivery:
    """How long an order took to come, its parts weighed by how many came with each.

    Attributes
    ----------
    came_on : date
        The day of the first part.
    """

    order: Order
    came_on: date
    days: float


def supply_state(reckoning: Reckoning, today: date) -> State:
    """Return the state that orders are planned on.

    Amounts are m of rolls and bars, full sheets, pieces of goods. Sure booked work is known work;
    what is cut for it already, or lies on a bench card of an offcut, is taken off. Offcuts are no
    stock of full sheets: what they serve is told by the cut plans.
    """
    jobs = sorted(reckoning.jobs.values(), key=lambda job: (job.print_on, job.code))
    known_on = _known_on(reckoning)
    history = [
        _history(reckoning, job, known_on[job.code])
        for job in jobs
        if job.state == "done" or (job.state == "booked" and job.sure)
    ]
    cut_to_come = _cut_to_come(reckoning)
    work = [
        row
        for job in jobs
        if job.state == "booked" and job.sure
        for row in _work(reckoning, job, known_on[job.code], cut_to_come)
    ]
    history = _told_enough(history)
    asked = {code for row in (*history, *work) for code in (*row.per_print, *row.per_mount)}
    materials = [item for code, item in reckoning.materials.items() if code in asked]
    began = sorted(row.known for row in history if row.per_print or row.per_mount)
    since = began[min(1, len(began) - 1)] if began else today.toordinal()
    return State(
        day=today.toordinal(),
        wares=tuple(_ware(reckoning, material) for material in materials),
        stock=tuple(held for item in materials for held in _stock(reckoning, item)),
        on_order=tuple(_on_order(reckoning, asked)),
        work=tuple(work),
        losses=_losses(reckoning),
        history=tuple(history),
        history_days=float(max(LEAST_HISTORY_DAYS, today.toordinal() - since)),
    )


def _told_enough(history: list[Work]) -> list[Work]:
    """The history without the materials that too few jobs took: one job is no rate."""
    jobs = Counter(code for row in history for code in {**row.per_print, **row.per_mount})
    few = {code for code, count in jobs.items() if count < LEAST_JOBS}
    return [
        replace(
            row,
            per_print={code: amount for code, amount in row.per_print.items() if code not in few},
            per_mount={code: amount for code, amount in row.per_mount.items() if code not in few},
        )
        for row in history
    ]


def deliveries_of(reckoning: Reckoning) -> dict[str, list[Delivery]]:
    """Return what came of orders, by material, oldest first; what was taken back counts no more."""
    key = ("deliveries",)
    if key not in reckoning.asked:
        reckoning.asked[key] = _deliveries(reckoning)
    found = reckoning.asked[key]
    assert isinstance(found, dict)
    return found


def _deliveries(reckoning: Reckoning) -> dict[str, list[Delivery]]:
    orders = reckoning.records.by_key(Order)
    corrected = corrected_times(reckoning)
    query = (
        sa.select(ACT)
        .select_from(TOUCH.join(ACT, TOUCH.c.act == ACT.c.seq))
        .where(TOUCH.c.kind == Order.kind, ACT.c.kind == "receive")
        .order_by(ACT.c.seq)
    )
    parts: dict[str, list[tuple[date, int]]] = {}
    for row in reckoning.view.connection.execute(query).all():
        act = act_of(row)
        order = orders.get(act.payload.get("order") or "")
        if order is None or order.width_dmm is not None:
            continue
        day = clock.local_date(corrected.get(act.seq, act.occurred_s), reckoning.zone)
        if day >= order.ordered_on and reckoning.view.undone_by(act.seq) is None:
            count = int(act.payload.get("came") or 1)
            parts.setdefault(order.code, []).append((day, count))
    found: dict[str, list[Delivery]] = {}
    for code, came in sorted(parts.items(), key=lambda item: (min(item[1]), item[0])):
        order = orders[code]
        taken = sum((day - order.ordered_on).days * count for day, count in came)
        one = Delivery(order, min(came)[0], taken / sum(count for _, count in came))
        found.setdefault(order.material, []).append(one)
    return found


def lead_days_of(reckoning: Reckoning, material: Material) -> tuple[float, ...]:
    """Return how many days deliveries of a material took, with the written lead time as one more.

    What came on the very day on which it was written down as ordered teaches nothing.
    """
    seen = [one.days for one in deliveries_of(reckoning).get(material.code, ()) if one.days > 0]
    written = [] if material.lead_days is None else [float(material.lead_days)]
    return (*written, *seen)


def _ware(reckoning: Reckoning, material: Material) -> Ware:
    breaks = breaks_of(material.price_breaks)
    price = material.price_cents
    if price is None:
        price = max([PRICE_CENTS, *(cents for _, cents in breaks)])
    cost = ORDER_COST_CENTS if material.order_cost_cents is None else material.order_cost_cents
    return Ware(
        code=material.code,
        capacity=_capacity(material),
        cost=price / 100,
        order_cost=cost / 100,
        minimum=material.order_minimum or 1,
        multiple=material.order_multiple,
        lead_days=lead_days_of(reckoning, material),
        life_days=_lives(reckoning, material),
        contiguous=material.shape.wound,
        price_breaks=tuple(
            PriceBreak(least, cents / 100) for least, cents in breaks
        ),
        closed=tuple(
            (first.toordinal(), last.toordinal())
            for first, last in closed_of(material.closed_days)
        ),
        unit=material.shape.one,
        measure="m" if material.shape.by_length else "",
        name=material.name,
    )  # fmt: skip


def _capacity(material: Material) -> float:
    """What one full unit holds: m between leader and tail, or one."""
    if not material.shape.by_length:
        return 1.0
    taken = takes(material, None, 1, 1)
    whole = taken.whole if isinstance(taken, Takes) else 0
    return max(1, whole or material.length_dmm or DMM_PER_M) / DMM_PER_M


def _lives(reckoning: Reckoning, material: Material) -> tuple[float, ...]:
    """Days that units were good for from when they came; by the label where none is there."""
    found = []
    for unit in reckoning.units_of(material.code):
        if reckoning.lot_of(unit).owner == "customer":
            continue
        ends_on = _off_on(reckoning, unit)
        came = clock.local_date(reckoning.received_s(unit), reckoning.zone).toordinal()
        if ends_on < inf and not unit.is_offcut and unit.opened_s is None:
            found.append(max(1.0, ends_on - came))
    if found:
        return tuple(sorted(found))
    days = material.shop_life_days or material.label_life_days
    return (float(days),) if days else ()


def _off_on(reckoning: Reckoning, unit: Unit) -> float:
    """The first day on which a unit is off, as an ordinal; infinite where it keeps."""
    if reckoning.material_of(unit).traits.ages:
        usable = reckoning.usable_by(unit)
        never = not usable.runs_out and usable.likely.year >= date.max.year - 1
        return inf if never else float(usable.likely.toordinal() + 1)
    ends = reckoning.last_day(unit).ends
    return inf if ends is None else float(ends.toordinal() + 1)


def _stock(reckoning: Reckoning, material: Material) -> Iterator[Held]:
    """What is there, ours, not on hold and whole: of full-width rolls what lies before the tail."""
    for unit in reckoning.units_of(material.code):
        lot = reckoning.lot_of(unit)
        if unit.held or lot.held or lot.owner == "customer":
            continue
        if unit.shape.wound and unit.width_dmm != material.width_dmm:
            continue
        off_on = _off_on(reckoning, unit)
        if unit.shape.by_length:
            tail = 0 if unit.shape.bar else _tail_dmm(material, unit)
            left = max(0, unit.remaining_dmm - tail) / DMM_PER_M
            yield Held(material.code, left, off_on, lot.code if lot.known else "")
        elif not unit.shape.flat or (
            unit.measure >= material.whole_qty > 0 and not is_cut_piece(reckoning, unit)
        ):
            yield Held(material.code, float(unit.count), off_on)


def _tail_dmm(material: Material, unit: Unit) -> int:
    rules = roll_rules(material)
    return rules.tail_dmm + (0 if unit.is_open else rules.leader_dmm)


def _on_order(reckoning: Reckoning, asked: Iterable[str]) -> Iterator[OnOrder]:
    for order in reckoning.records.all(Order):
        if order.state == "sent" and order.material in asked and order.width_dmm is None:
            expected = order.expected_on.toordinal() if order.expected_on else None
            yield OnOrder(order.material, order.to_come, order.ordered_on.toordinal(), expected)


def _losses(reckoning: Reckoning) -> Losses:
    outcomes = outcomes_of(reckoning)
    prints = [one for one in outcomes if one.kind == "print"]
    mounts = [one for one in outcomes if one.kind == "mount"]
    return Losses(
        printed_m2=sum(one.area_m2 for one in prints),
        prints_lost=sum(not one.good for one in prints),
        mounts_good=sum(one.good for one in mounts),
        mounts_lost=sum(not one.good for one in mounts),
    )


def _known_on(reckoning: Reckoning) -> dict[str, int]:
    """The day on which each job was entered, but weeks before its print where that is later."""
    query = (
        sa.select(TOUCH.c.record_key, sa.func.min(ACT.c.recorded_s))
        .select_from(TOUCH.join(ACT, TOUCH.c.act == ACT.c.seq))
        .where(TOUCH.c.kind == Job.kind)
        .group_by(TOUCH.c.record_key)
    )
    rows = reckoning.view.connection.execute(query).all()
    entered: dict[str, int] = {row[0]: row[1] for row in rows}
    found = {}
    for code, job in reckoning.jobs.items():
        begins = (job.start_on or job.print_on).toordinal()
        at_s = entered.get(code, 0)
        day = clock.local_date(at_s, reckoning.zone).toordinal()
        found[code] = day if day <= begins else begins - NOTICE_DAYS
    return found


def _days(job: Job, out_days: int = 0) -> tuple[int, int]:
    """First day on which a material is wanted for a job, and the day it is due."""
    start = job.print_on - timedelta(days=out_days)
    due = job.due_on or job.print_on + timedelta(days=DUE_DAYS)
    return start.toordinal(), max(start, due).toordinal()


def _amounts(reckoning: Reckoning, job: Job, recipe: Recipe) -> Iterator[tuple[str, str, float]]:
    """Part, material and amount of each try of a job."""
    for part in recipe.parts:
        layer = recipe.layer(part)
        code = job.material if part == "paper" else layer.material if layer is not None else None
        material = reckoning.materials.get(code or "")
        if material is None or (part == "paper" and not job.printed_here):
            continue
        taken = takes(material, layer, job.width_dmm, job.height_dmm, max(1, job.count))
        if not isinstance(taken, Takes):
            continue
        per = {"length": DMM_PER_M, "pieces": 1}.get(taken.measure, 1_000)
        yield part, material.code, taken.amount / per


def _history(reckoning: Reckoning, job: Job, known: int) -> Work:
    recipe = recipe_for(reckoning, job)
    per_print: dict[str, float] = {}
    per_mount: dict[str, float] = {}
    for part, code, amount in _amounts(reckoning, job, recipe):
        per = per_print if part == "paper" else per_mount
        per[code] = per.get(code, 0.0) + amount
    start, due = _days(job)
    area_m2 = job.area_dmm2 / DMM2_PER_M2
    return Work(
        job.code, due, start, job.count, 0, area_m2, per_print, per_mount, known,
        mounted="mount" in recipe.stages, name=job.name,
    )  # fmt: skip


def _printed_not_mounted(recipe: Recipe) -> tuple[str, ...]:
    """The stages of pieces that hold a print and may still lose it at the mount."""
    stages = recipe.stages
    return stages[1 : stages.index("mount") + 1] if "mount" in stages else ()


def _work(
    reckoning: Reckoning, job: Job, known: int, cut_to_come: Counter[tuple[str, Size]]
) -> Iterator[Work]:
    """What a job still takes, a row for each material, by the pieces that still lack it.

    What comes cut to size is taken off, and off `cut_to_come`, so that it serves one job alone.
    """
    recipe = recipe_for(reckoning, job)
    area_m2 = job.area_dmm2 / DMM2_PER_M2
    mounted = "mount" in recipe.stages
    ready = want_no_sheet(reckoning, job)
    waits: dict[str, _Waiting] = {}
    for part, code, amount in _amounts(reckoning, job, recipe):
        material = reckoning.materials[code]
        if part == "paper":
            yield from _print_work(reckoning, job, recipe, material, amount, known)
            continue
        layer = recipe.layer(part)
        assert layer is not None
        count = lacking(reckoning, job, part) - ready[part]
        key = code, _sorted_size(layer_size(layer, job.width_dmm, job.height_dmm))
        comes = min(max(0, count), cut_to_come[key])
        cut_to_come[key] -= comes
        count -= comes
        if count > 0:
            one = waits.setdefault(code, _Waiting())
            one.pieces = max(one.pieces, count)
            one.amount += count * amount
            one.mounted |= mounted and layer.stage in ("print", "mount")
    for code, one in waits.items():
        start, due = _days(job, reckoning.materials[code].traits.out_days)
        each = {code: one.amount / one.pieces}
        yield Work(
            job.code, due, start, 0, one.pieces, area_m2, {}, each, known,
            mounted=one.mounted, name=job.name,
        )  # fmt: skip


@dataclass(slots=True)
class _Waiting:
    """Pieces of a job that lack a material, what all of them take, and if mounting may lose it."""

    pieces: int = 0
    amount: float = 0.0
    mounted: bool = False


def _print_work(
    reckoning: Reckoning, job: Job, recipe: Recipe, paper: Material, amount: float, known: int
) -> Iterator[Work]:
    """The prints of a job that are still to be made; what a customer's own paper gives is off."""
    theirs = sum(
        put.qty // max(1, unit.measure) / DMM_PER_M
        for put in reckoning.put_bys
        if put.job == job.code
        and (unit := reckoning.units.get(put.unit)) is not None
        and reckoning.lot_of(unit).owner == "customer"
        and reckoning.lot_of(unit).material == paper.code
    )
    to_print = max(0, job.to_print - int(theirs / amount))
    risky = _printed_not_mounted(recipe)
    held = sum(piece.stage in risky for piece in pieces_of(reckoning, job))
    if to_print + held:
        start, due = _days(job, paper.traits.out_days)
        yield Work(
            job.code, due, start, to_print, held, job.area_dmm2 / DMM2_PER_M2,
            {paper.code: amount}, {}, known, job.series, bool(risky), job.name,
        )  # fmt: skip


def _sorted_size(size: tuple[int, int]) -> Size:
    return min(size), max(size)


def _cut_to_come(reckoning: Reckoning) -> Counter[tuple[str, Size]]:
    """What is on its way cut to size, by material and size."""
    found: Counter[tuple[str, Size]] = Counter()
    for order in reckoning.records.all(Order):
        if order.state == "sent" and order.width_dmm and order.length_dmm:
            size = _sorted_size((order.width_dmm, order.length_dmm))
            found[order.material, size] += order.to_come
    return found
