"""Ordering in plain form: tell me below so many, the order list, what is on its way."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, NamedTuple

from stockroom import clock
from stockroom.core.records import Material, Order
from stockroom.core.records.asked import check_fields
from stockroom.core.terms import closed_of
from stockroom.core.wording import dated
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.session import Decision, Desk, Done
from stockroom.desk.stock.defining import change_material
from stockroom.errors import BadValueError, OrderedMeanwhileError, RefusedError
from stockroom.text import listed, safe
from stockroom.units import LONGEST_DMM, size_text


def tell_below(desk: Desk, material: str, count: int | None, *, key: str | None = None) -> Done:
    """Tell me when fewer than so many sheets, rolls or goods are left; None for never."""
    return change_material(desk, material, tell_below=count, key=key)


class Stock(NamedTuple):
    """How many whole units of a material there are: full sheets or rolls, ours, no offcuts.

    Attributes
    ----------
    have : int
        That can be used: not on hold, not past their day.
    held : int
        On hold.
    past : int
        Past their day, and not on hold.
    """

    have: int
    held: int
    past: int


@dataclass(frozen=True, slots=True)
class Reorder:
    """A material that is below its number, and how many to order; counted as `Stock` does."""

    material: Material
    have: int
    held: int
    past: int
    coming: int
    quantity: int
    arrives_on: date | None


def order_list(reckoning: Reckoning, today: date) -> list[Reorder]:
    """Return the materials below their number, by supplier, with how many to order.

    What is on its way counts as there, but not what comes cut to size, which is no full sheet.
    The quantity brings the stock back to the number, in the supplier's multiples.
    """
    coming: dict[str, int] = {}
    for order in reckoning.records.all(Order):
        if order.state == "sent" and order.width_dmm is None:
            coming[order.material] = coming.get(order.material, 0) + order.to_come
    lines = []
    for material in reckoning.materials.values():
        if material.tell_below is None:
            continue
        stock = counted(reckoning, material)
        short = material.tell_below - stock.have - coming.get(material.code, 0)
        if short <= 0:
            continue
        multiple = max(1, material.order_multiple)
        arrives = None
        if material.lead_days is not None:
            arrives = today + timedelta(days=material.lead_days)
        lines.append(
            Reorder(
                material,
                *stock,
                coming.get(material.code, 0),
                -(-short // multiple) * multiple,
                arrives,
            )
        )
    return sorted(lines, key=lambda line: (line.material.supplier, line.material.name))


def counted(reckoning: Reckoning, material: Material) -> Stock:
    """Return how many whole units of a material can be used, are on hold, are past their day.

    A customer's own units are not counted at all.
    """
    have = held = past = 0
    for unit in reckoning.units_of(material.code):
        if unit.is_offcut:
            continue
        if reckoning.lot_of(unit).owner == "customer":
            continue
        if unit.shape.flat and unit.measure < material.whole_qty:
            continue
        count = 1 if unit.shape.by_length else unit.count
        if unit.held or reckoning.lot_of(unit).held:
            held += count
        elif reckoning.is_off(unit):
            past += count
        else:
            have += count
    return Stock(have, held, past)


def order(
    desk: Desk,
    material: str,
    count: int,
    *,
    expected_on: date | None = None,
    price_cents: int | None = None,
    supplier: str | None = None,
    width_dmm: int | None = None,
    length_dmm: int | None = None,
    known: Collection[str] | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down that so many were ordered; by when is the lead time, if it is not told.

    A number that the supplier does not sell, or a day on which it is closed, is taken and told.

    Parameters
    ----------
    desk, material : Desk, str
        Where, and of what.
    count : int
        How many rolls, sheets, lengths or goods.
    expected_on : date, optional
        When they should come.
    price_cents : int, optional
        Price of one; the material's own if left out, save of what is cut to size.
    supplier : str, optional
        From whom; the material's own if left out.
    width_dmm, length_dmm : int, optional
        Both, of sheets or boards that the supplier cuts to size.
    known : collection of str, optional
        The open orders of it that the person has seen: another one since is told first.
    happened_s : int, optional
        When it was placed, seconds UTC; now, if left out.

    Raises
    ------
    BadValueError
        Where a figure cannot be, or a size is given of what is no sheet or board, or of more than
        a sheet.
    """
    check_fields(Order, {"count": count, "price_cents": price_cents})
    _to_come(desk, expected_on)
    notes: list[str] = []

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Material, material)
        if known is not None:
            _see_none_since(decision, found, known)
        placed_on = decision.today
        if happened_s is not None:
            placed_on = clock.local_date(happened_s, decision.zone)
        width, length = _cut_size(found, width_dmm, length_dmm)
        notes[:] = _terms_notes(found, count if width is None else None, placed_on)
        price = price_cents
        if price is None and width is None:
            price = found.price_cents
        expected = expected_on
        if expected is None and found.lead_days is not None:
            expected = max(decision.today, placed_on + timedelta(days=found.lead_days))
        return Order(
            code=decision.head.born(),
            material=found.code,
            count=count,
            supplier=safe(supplier) if supplier is not None else found.supplier,
            ordered_on=placed_on,
            expected_on=expected,
            price_cents=price,
            width_dmm=width,
            length_dmm=length,
        ).plain()

    request: dict[str, Any] = {
        "material": material,
        "count": count,
        "expected_on": expected_on.isoformat() if expected_on else None,
        "price": price_cents,
        "supplier": supplier,
    }
    if width_dmm is not None or length_dmm is not None:
        request["size"] = [width_dmm, length_dmm]
    done = desk.act("order", request, build, happened_s=happened_s, key=key)
    return replace(done, notes=(*done.notes, *notes))


def _see_none_since(decision: Decision, material: Material, known: Collection[str]) -> None:
    """Refuse an order of what somebody ordered since it was looked at, naming who and how many."""
    sent = [one for one in decision.view.having(Order, "material", material.code) if one.to_come]
    since = [one for one in sent if one.code not in known]
    if not since:
        return
    acts = [decision.view.act(one.last_act) for one in since]
    who = listed(sorted({act.actor for act in acts if act is not None}))
    error = OrderedMeanwhileError(
        f"{sum(one.to_come for one in since)} of {material.name} were ordered meanwhile by {who} "
        f"({', '.join(one.code for one in since)}).",
        "They are on order.",
        "To order more all the same, save it again.",
    )
    error.orders = frozenset(one.code for one in sent)
    raise error


def _terms_notes(material: Material, count: int | None, day: date) -> list[str]:
    """What does not fit how a material is sold, as it is written down; None for cut to size."""
    notes = []
    least = material.order_minimum or 1
    if count is not None and count < least:
        notes.append(f"The least that is sold of {material.name} is {least}, as written down.")
    if count is not None and count % max(1, material.order_multiple):
        notes.append(f"{material.name} is sold in multiples of {material.order_multiple}.")
    if any(first <= day <= last for first, last in closed_of(material.closed_days)):
        notes.append(f"Its supplier is closed on {dated(day)}, as written down.")
    return notes


def _cut_size(
    material: Material, width_dmm: int | None, length_dmm: int | None
) -> tuple[int | None, int | None]:
    """The size that a supplier cuts to; none where it is the full sheet's own."""
    if width_dmm is None and length_dmm is None:
        return None, None
    if not (material.traits.rigid and material.shape.flat):
        raise BadValueError(
            f"{material.name} is not cut to size.",
            "Only sheets and boards are.",
            "Leave the size out.",
        )
    if width_dmm is None or length_dmm is None:
        raise BadValueError("A size has a width and a height.", try_="Type it like 1210x810 (mm).")
    for side_dmm in (width_dmm, length_dmm):
        if not 0 < side_dmm <= LONGEST_DMM:
            raise BadValueError("That size cannot be.", try_="Type it like 1210x810 (mm).")
    full = (material.width_dmm, material.length_dmm)
    if (width_dmm, length_dmm) == full:
        return None, None
    if material.width_dmm and material.length_dmm:
        sides = zip(
            sorted((width_dmm, length_dmm)),
            sorted((material.width_dmm, material.length_dmm)),
            strict=True,
        )
        if any(side > most for side, most in sides):
            raise BadValueError(
                f"{size_text(width_dmm, length_dmm)} cannot be cut from a sheet of "
                f"{material.name}.",
                f"It is {size_text(material.width_dmm, material.length_dmm)}, and the piece lies "
                "in it neither way round.",
                "Look at the size, in mm; or at the material.",
            )
    return width_dmm, length_dmm


def cancel_order(desk: Desk, said: str, *, reason: str = "", key: str | None = None) -> Done:
    """Call an order cancelled."""

    def build(decision: Decision) -> dict[str, Any]:
        return {"order": _still_sent(decision, said).code}

    return desk.act("close order", {"order": said}, build, reason=reason, key=key)


def _to_come(desk: Desk, expected_on: date | None) -> None:
    if expected_on is not None and expected_on < desk.today():
        raise BadValueError(
            f"{expected_on:%a} {expected_on.day} {expected_on:%b %Y} is past; an order is expected "
            "today or later.",
            try_="Look at the date.",
        )


def _still_sent(decision: Decision, said: str) -> Order:
    found = find(decision.view, Order, said)
    if found.state != "sent":
        raise RefusedError(f"Order {found.code} is {found.state} already.")
    return found


def orders_coming(reckoning: Reckoning) -> list[Order]:
    """Return what was ordered and has not come, soonest first."""
    sent = [item for item in reckoning.records.all(Order) if item.state == "sent"]
    return sorted(sent, key=lambda item: (item.expected_on or date.max, item.code))
