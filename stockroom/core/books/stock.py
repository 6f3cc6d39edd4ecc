"""Folding acts on stock: what is defined, comes, moves, is used, lost, counted, held, put by."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Any

from stockroom.core.books.draft import Draft, MovementKind
from stockroom.core.records import (
    YELLOW_STRIP,
    Job,
    Lot,
    Material,
    Order,
    Place,
    PutBy,
    Stay,
    Strip,
    Unit,
)
from stockroom.core.records import UnitState as State
from stockroom.errors import RefusedError

_ENDS: dict[MovementKind, State] = {
    "used": "used",
    "lost": "lost",
    "discarded": "discarded",
    "returned": "returned",
    "missing": "missing",
}


def material(draft: Draft, payload: dict[str, Any]) -> None:
    """Define a material, or change what is known of it."""
    draft.put(Material.from_plain(payload))


def place(draft: Draft, payload: dict[str, Any]) -> None:
    """Define a place, or change its set-point and limits."""
    draft.put(Place.from_plain(payload))


def receive(draft: Draft, payload: dict[str, Any]) -> None:
    """Take in lots and units, from a delivery or from a stock list."""
    for item in payload.get("materials", ()):
        draft.put(Material.from_plain(item))
    for item in payload.get("places", ()):
        draft.put(Place.from_plain(item))
    for item in payload["lots"]:
        draft.put(Lot.from_plain(item))
    for item in payload["units"]:
        came = {"received_s": draft.act.occurred_s, **item}
        unit = Unit(**came, received_act=draft.act.seq)
        unit.see_that_it_fits()  # its form has a shape
        unit = replace(unit, remaining_dmm=unit.length_dmm if unit.shape.by_length else 0)
        draft.put(unit)
        stand(draft, unit, unit.place, unit.received_s)
        draft.move(unit, "received", unit.qty, place_to=unit.place, cost_cents=unit.cost_left_cents)
    if payload.get("order"):
        _arrive(draft, payload)


def _arrive(draft: Draft, payload: dict[str, Any]) -> None:
    """Count what came of an order; a rest that is still to come keeps it open."""
    order = draft.need(Order, payload["order"])
    if "came" not in payload:  # acts from before arrivals were counted
        draft.change(order, state="arrived")
        return
    came = (order.came or 0) + payload["came"]
    draft.change(order, came=came, state="sent" if payload["rest_to_come"] else "arrived")


def move(draft: Draft, payload: dict[str, Any]) -> None:
    """Stand units at another place from the time it happened."""
    place = draft.need(Place, payload["place"])
    for code in payload["units"]:
        unit = draft.need(Unit, code)
        before = [s for s in draft.stays(code) if s.from_s <= draft.act.occurred_s]
        came_from = before[-1].place if before else unit.place
        stand(draft, unit, place.code)
        draft.move(unit, "moved", unit.qty, place_from=came_from, place_to=place.code)


def open_(draft: Draft, payload: dict[str, Any]) -> None:
    """Open a unit's bag or box; the first opening starts its opened clock.

    Told late, of a time before the last bagging, it leaves the unit in its bag.
    """
    unit = draft.need(Unit, payload["unit"])
    at_s = draft.act.occurred_s
    first = unit.opened_s is None or at_s < unit.opened_s
    again = unit.bagged_s is not None or unit.reopened_s is not None
    bagged_since = unit.bagged_s is not None and unit.bagged_s > at_s
    draft.change(
        unit,
        condition=unit.condition if bagged_since else "open",
        opened_s=at_s if first else unit.opened_s,
        opened_act=draft.act.seq if first else unit.opened_act,
        bagged_s=unit.bagged_s if bagged_since else None,
        reopened_s=max(at_s, unit.reopened_s or at_s) if again else None,
    )


def rebag(draft: Draft, payload: dict[str, Any]) -> None:
    """Put a unit back into its bag, with the room's air in it.

    Told late, of a time before the last opening, it leaves the unit open.
    """
    unit = draft.need(Unit, payload["unit"])
    at_s = draft.act.occurred_s
    opened = [value for value in (unit.opened_s, unit.reopened_s) if value is not None]
    since = any(value > at_s for value in opened)
    draft.change(
        unit,
        condition=unit.condition if since else "re-bagged",
        bagged_s=unit.bagged_s if since else max(at_s, unit.bagged_s or at_s),
    )


def use(draft: Draft, payload: dict[str, Any]) -> None:
    """Use so much of a unit, for a job or none; more than the books hold is found first."""
    unit = draw(draft, payload["unit"], payload["amount"], "used", payload.get("job"))
    if payload.get("job"):
        job = draft.need(Job, payload["job"])
        draft.change(job, good=job.good + payload.get("good", 0))
    if unit.condition in ("sealed", "re-bagged") and unit.state == "in stock":
        open_(draft, payload)


def lose(draft: Draft, payload: dict[str, Any]) -> None:
    """Lose so much of a unit to a cause."""
    draw(draft, payload["unit"], payload["amount"], "lost", payload.get("job"))
    if payload.get("job") and payload.get("prints"):
        job = draft.need(Job, payload["job"])
        draft.change(job, lost=job.lost + payload["prints"])


def discard(draft: Draft, payload: dict[str, Any]) -> None:
    """Throw away so much of a unit."""
    draw(draft, payload["unit"], payload["amount"], "discarded")


def return_(draft: Draft, payload: dict[str, Any]) -> None:
    """Send so much of a unit back to its supplier or owner."""
    draw(draft, payload["unit"], payload["amount"], "returned")


def draw(draft: Draft, code: str, amount: int, kind: MovementKind, job: str | None = None) -> Unit:
    """Take an amount (dmm of length, or a number) out of a unit; facts are never refused."""
    unit = draft.need(Unit, code)
    asked = amount * unit.measure
    if asked > unit.qty:
        draft.move(unit, "found", asked - unit.qty, place_to=unit.place)
    cost = share_of_cost(unit, asked)
    draft.move(unit, kind, asked, place_from=unit.place, cost_cents=cost)
    left = max(0, unit.amount - amount)
    unit = set_amount(draft, unit, left, _ENDS[kind], cost)
    draw_put_bys(draft, unit, asked, job)
    return unit


def share_of_cost(unit: Unit, qty: int) -> int:
    """Return the cents that go with part of a unit; the last part takes all that is left."""
    if qty >= unit.qty:
        return unit.cost_left_cents
    return unit.cost_left_cents * qty // unit.qty


def set_amount(draft: Draft, unit: Unit, left: int, end: State, cost_cents: int = 0) -> Unit:
    """Set what is left of a unit; with nothing left its last stay ends."""
    length_led = unit.shape.by_length
    alive = left > 0
    unit = draft.change(
        unit,
        remaining_dmm=left if length_led else unit.remaining_dmm,
        count=unit.count if length_led else left,
        state="in stock" if alive else end,
        ended_s=None if alive else draft.act.occurred_s,
        cost_left_cents=unit.cost_left_cents - cost_cents,
    )
    lay_stays(draft, unit.code, draft.stays(unit.code), unit.ended_s)
    return unit


def draw_put_bys(draft: Draft, unit: Unit, qty: int, job: str | None) -> None:
    """What is used for a job comes off what was put by for it; an ended unit backs nothing."""
    for put in draft.put_bys(unit.code):
        if unit.state != "in stock":
            draft.change(put, open=False)
        elif job is not None and put.job == job and qty > 0:
            left = max(0, put.qty - qty)
            qty -= put.qty - left
            draft.change(put, qty=left, open=left > 0)


def count(draft: Draft, payload: dict[str, Any]) -> None:
    """Set what is really there; the difference is booked as found or missing."""
    unit = draft.need(Unit, payload["unit"])
    amount = payload["amount"]
    gap = (amount - unit.amount) * unit.measure
    cost = 0
    if gap > 0:
        draft.move(unit, "found", gap, place_to=unit.place)
    elif gap < 0:
        cost = share_of_cost(unit, -gap)
        draft.move(unit, "missing", -gap, place_from=unit.place, cost_cents=cost)
    unit = draft.change(unit, plus_minus_dmm=payload.get("plus_minus_dmm", 0))
    unit = set_amount(draft, unit, amount, "missing", cost)
    if unit.state != "in stock":
        draw_put_bys(draft, unit, 0, None)


def hold(draft: Draft, payload: dict[str, Any]) -> None:
    """Keep a unit or a whole batch out of use, with a reason."""
    _set_held(draft, payload, payload["why"])


def release(draft: Draft, payload: dict[str, Any]) -> None:
    """Let a unit or a whole batch be used again."""
    _set_held(draft, payload, None)


def _set_held(draft: Draft, payload: dict[str, Any], why: str | None) -> None:
    if payload.get("lot"):
        draft.change(draft.need(Lot, payload["lot"]), held=why)
    else:
        draft.change(draft.need(Unit, payload["unit"]), held=why)


def amend_lot(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a batch's number or dates, learned later."""
    fields = {
        name: date.fromisoformat(value) if name in ("made_on", "label_date") and value else value
        for name, value in payload.items()
        if name != "lot"
    }
    draft.change(draft.need(Lot, payload["lot"]), **fields)


def put_by(draft: Draft, payload: dict[str, Any]) -> None:
    """Set part of a unit aside for a job; never more than is there and free."""
    unit = draft.need(Unit, payload["unit"])
    promise(draft, payload["code"], unit.code, payload["job"], payload["amount"] * unit.measure)


def promise(draft: Draft, code: str, of: str, for_job: str, qty: int) -> None:
    """Set an amount of a unit aside, weighed as the books weigh it; never more than is free."""
    unit = draft.need(Unit, of)
    job = draft.need(Job, for_job)
    lot = draft.need(Lot, unit.lot)
    held = unit.held or lot.held
    if unit.state != "in stock":
        raise RefusedError(
            f"{unit.code} is not in stock: it is {unit.state}.", try_="Put by another unit."
        )
    if held:
        raise RefusedError(
            f"{unit.code} is on hold: {held}.",
            try_="Release it first, or put by another unit.",
        )
    others = draft.put_bys(unit.code)
    free = unit.qty - sum(put.qty for put in others)
    if qty > free:
        jobs = ", ".join(sorted({put.job for put in others})) or "none"
        raise RefusedError(
            f"{unit.code} has not that much free.",
            f"Of what is left, part is put by already (for job {jobs}).",
            "Put by less, or another unit.",
        )
    draft.put(PutBy(code=code, unit=unit.code, job=job.code, qty=qty))


def let_go(draft: Draft, payload: dict[str, Any]) -> None:
    """Free what was put by."""
    free(draft, [payload["put_by"]])


def free(draft: Draft, codes: Iterable[str]) -> None:
    """Free what was put by under some codes."""
    for code in codes:
        draft.change(draft.need(PutBy, code), open=False)


def strip(draft: Draft, payload: dict[str, Any]) -> None:
    """Judge a test strip by eye; yellow bars the roll at once."""
    unit = draft.need(Unit, payload["unit"])
    draft.put(Strip(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))
    if payload["result"] == "yellow":
        held = unit.held
        draft.change(unit, held=f"{held}; {YELLOW_STRIP}" if held else YELLOW_STRIP)


def stand(draft: Draft, unit: Unit, place: str, from_s: int | None = None) -> None:
    """Let a unit stand at a place from the act's own time on, or from an earlier one."""
    act = draft.act
    stay = Stay(
        stay_key=f"{unit.code}.{act.seq}",
        unit=unit.code,
        act=act.seq,
        place=place,
        from_s=act.occurred_s if from_s is None else from_s,
    )
    stays = [*draft.stays(unit.code), stay]
    laid = lay_stays(draft, unit.code, stays, unit.ended_s)
    draft.change(draft.need(Unit, unit.code), place=laid[-1].place)


def lay_stays(draft: Draft, unit: str, stays: list[Stay], ended_s: int | None) -> list[Stay]:
    """Lay a unit's stays end to end by when they began; write those that changed."""
    ordered = sorted(stays, key=lambda stay: (stay.from_s, stay.act))
    laid = []
    for index, stay in enumerate(ordered):
        to_s = ordered[index + 1].from_s if index + 1 < len(ordered) else ended_s
        if to_s is not None:
            to_s = max(to_s, stay.from_s)
        fresh = draft.get(Stay, stay.key) is None or draft.get(Stay, stay.key) != stay
        if stay.to_s != to_s or fresh:
            stay = draft.change(stay, to_s=to_s)
        laid.append(stay)
    return laid
