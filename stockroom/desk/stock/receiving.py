"""Receiving: deliveries, units of a known size, and the stock that is there on opening day."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, Any

from stockroom import clock
from stockroom.core.constants import SHORT_DATED
from stockroom.core.freshness.label import label_life
from stockroom.core.records import UNKNOWN, Lot, Material, Order, Owner, Place, Unit
from stockroom.core.records.asked import Asked, check_fields
from stockroom.core.records.base import plain_of
from stockroom.core.wording import dated
from stockroom.desk.lookup import find
from stockroom.desk.session import Decision, Desk, Done, decided
from stockroom.desk.stock.handling import film_notes
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.mapping import select_records, table_of
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.units import UNITS, days_text, m_text

MOST_UNITS = 1_000
"""Most units taken in one delivery line (our choice; a slip of the finger, more likely)."""
MOST_COUNT = 1_000_000
"""Most sheets or goods in one pack (our choice)."""

LOT = table_of(Lot)


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What came: one batch of one material, in so many units of one size.

    `units` rolls or lengths are born, each `length_dmm` long; or one pack of `count` sheets or
    goods. Sizes that are left out are the material's own.
    """

    material: str
    place: str
    units: Annotated[int, Asked("Units at once", least=1, most=MOST_UNITS)] = 1
    count: Annotated[int, Asked("Sheets or goods in a pack:", least=1, most=MOST_COUNT)] = 1
    width_dmm: int | None = None
    length_dmm: int | None = None
    plus_minus_dmm: Annotated[int, Asked("A plus or minus of")] = 0
    number: str = UNKNOWN
    made_on: date | None = None
    label_date: date | None = None
    owner: Annotated[Owner, Asked("Owner")] = "mine"
    price_cents: Annotated[int | None, Asked("A price of")] = None
    arrived_warm: bool = False
    damaged: bool = False
    order: str | None = None

    def request(self) -> dict[str, Any]:
        """Return what was asked, in plain values."""
        return plain_of(self)


def receive(
    desk: Desk,
    delivery: Delivery,
    *,
    rest_to_come: bool = False,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Take in a delivery; what came expired or damaged is taken in too, on hold.

    Parameters
    ----------
    delivery : Delivery
        What came.
    rest_to_come : bool
        Whether the rest of its order is still expected; else it is closed short, and said.
    happened_s : int, optional
        When it came, seconds UTC.

    Returns
    -------
    Done
        With the codes of the units that were born.
    """

    def build(decision: Decision) -> dict[str, Any]:
        material = find(decision.view, Material, delivery.material)
        place = find(decision.view, Place, delivery.place)
        came_on = decision.today
        if happened_s is not None:
            came_on = clock.local_date(happened_s, decision.zone)
        _made_before(delivery.made_on, came_on)
        lots, units = lines(decision, delivery, material, place)
        decision.notes += film_notes(material, [unit["code"] for unit in units], place)
        order = None
        if delivery.order:
            order = find(decision.view, Order, delivery.order)
            if order.state != "sent":
                raise RefusedError(
                    f"Order {order.code} is {order.state} already.", try_="Receive without it."
                )
            if order.material != material.code:
                ordered = find(decision.view, Material, order.material)
                raise RefusedError(
                    f"Order {order.code} is for {ordered.name}, not for {material.name}.",
                    try_="Receive it without the order, or look at the order's code.",
                )
            if came_on < order.ordered_on:
                raise RefusedError(
                    f"Order {order.code} was placed on {dated(order.ordered_on)}; nothing of it "
                    f"can have come on {dated(came_on)}.",
                    try_="Look at the day; or receive it without the order.",
                )
            came = delivery.units * delivery.count
            decision.notes += _differs(order, came, rest_to_come)
            if order.width_dmm is not None:
                units = [{**unit, "factory_edges": 0} for unit in units]
        payload: dict[str, Any] = {"lots": lots, "units": units, "order": None}
        if order is not None:
            rest = rest_to_come and came < order.to_come
            payload |= {"order": order.code, "came": came, "rest_to_come": rest}
        return payload

    request = {**delivery.request(), **({"rest_to_come": True} if rest_to_come else {})}
    return desk.act("receive", request, build, happened_s=happened_s, key=key)


@decided
def receive_order(
    desk: Desk,
    said: str,
    place: str,
    *,
    came: int | None = None,
    packs: int | None = None,
    rest_to_come: bool = False,
    happened_s: int | None = None,
    key: str | None = None,
    **differing: Any,
) -> Done:
    """Take in an order as it was ordered, but for what is said to differ.

    Parameters
    ----------
    said : str
        The order's code.
    place : str
        Where it stands now.
    came : int, optional
        How many came, or how many in each pack; as many as were ordered, if left out.
    packs : int, optional
        In how many packs, of sheets or goods.
    rest_to_come : bool
        Whether the rest is still expected.
    **differing
        Further fields of `Delivery`.

    Raises
    ------
    BadValueError
        Where it came in several packs and nobody said how many are in each.
    """
    with desk.reading() as view:
        order = find(view, Order, said)
        material = find(view, Material, order.material)
    packed = in_one_pack(material, order)
    if packed and came is None and (packs or 1) > 1:
        raise BadValueError(
            f"How many came in each of {packs} packs is not said.",
            f"Order {order.code} is for {order.count}.",
            "Give --count too: how many each pack holds.",
        )
    expected = order.to_come or order.count
    each = expected if came is None else came
    if came is None and packs is not None and not packed:
        each = 1
    fields: dict[str, Any] = {
        "material": material.code,
        "place": place,
        "units": (1 if packs is None else packs) * (1 if packed else each),
        "count": each if packed else 1,
        "width_dmm": order.width_dmm,
        "length_dmm": order.length_dmm,
        "price_cents": order.price_cents,
        "order": order.code,
    }
    return receive(
        desk,
        Delivery(**{**fields, **differing}),
        rest_to_come=rest_to_come,
        happened_s=happened_s,
        key=key,
    )


def _differs(order: Order, came: int, rest_to_come: bool) -> list[str]:
    """What must be said where another number came than was still expected."""
    if came == order.to_come:
        return []
    so_far = (order.came or 0) + came
    told = f"{so_far} of the {order.count} ordered"
    if rest_to_come and so_far < order.count:
        return [f"{told} came so far; {order.count - so_far} are still to come."]
    return [f"{told}; the order is closed as arrived."]


def not_before_any_came(decision: Decision, said: str, happened_s: int | None) -> None:
    """Refuse a time at which nothing of a material had come yet.

    Raises
    ------
    RefusedError
        Where the first of it came later; where none is in the books, nothing is refused.
    """
    if happened_s is None:
        return
    material = find(decision.view, Material, said)
    came = [
        unit.received_s
        for lot in decision.view.having(Lot, "material", material.code)
        for unit in decision.view.having(Unit, "lot", lot.code)
    ]
    if came and happened_s < min(came):
        raise RefusedError(
            f"The first {material.name} in the books came on "
            f"{clock.moment_text(min(came), decision.zone)}; none was measured before.",
            try_="Look at the time.",
        )


def in_one_pack(material: Material, order: Order | None = None) -> bool:
    """Return whether what comes is one counted pack; each sheet cut to size is a unit of its own.

    >>> board = Material(code="1", name="Composite", family="board", form="sheet")
    >>> in_one_pack(board)
    True
    """
    cut_to_size = order is not None and order.width_dmm is not None
    return not material.shape.by_length and not cut_to_size


def lines(
    decision: Decision,
    delivery: Delivery,
    material: Material,
    place: Place,
    *,
    arriving: bool = True,
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Return the batch, where it is new or learned more of, and the units of a delivery.

    With `arriving` false they were there before, and a short life left is no reason to hold them.
    """
    _checked(delivery, material)
    lot = _known_lot(decision.view, delivery, material)
    lots = []
    if lot is None:
        lot = Lot(
            code=decision.head.born(),
            material=material.code,
            number=safe(delivery.number) or UNKNOWN,
            made_on=delivery.made_on,
            label_date=delivery.label_date,
            owner=delivery.owner,
        )
        lots.append(lot.plain())
    elif lot != (learned := _learned(lot, delivery)):
        lot = learned
        lots.append(lot.plain())
    width = delivery.width_dmm or material.width_dmm or 0
    length = delivery.length_dmm or material.length_dmm or 0
    reasons = ["came damaged"] if delivery.damaged else []
    life = label_life(material, lot, decision.today)
    if life.days < 0:
        reasons.append("past its label date when it came")
    elif arriving and not life.estimated and life.days < SHORT_DATED.value:
        reasons.append(f"short-dated when it came, {days_text(life.days)} left")
    held = "; ".join(reasons) or None
    price = delivery.price_cents
    each = (price or 0) * (1 if material.shape.by_length else delivery.count)
    units = [
        {
            "code": decision.head.born(),
            "lot": lot.code,
            "form": material.form,
            "place": place.code,
            "width_dmm": width,
            "length_dmm": length,
            "count": delivery.count,
            "plus_minus_dmm": delivery.plus_minus_dmm,
            "arrived_warm": delivery.arrived_warm,
            "condition": "damaged" if delivery.damaged else "sealed",
            "held": held,
            "cost_left_cents": each,
        }
        for _ in range(delivery.units)
    ]
    return lots, units


def _made_before(made_on: date | None, came_on: date) -> None:
    """Refuse a day of making after the day it came."""
    if made_on is not None and made_on > came_on:
        raise BadValueError(
            f"It was made on {dated(made_on)}, after it came on {dated(came_on)}.",
            "Nothing comes before it is made.",
            "Look at the label: the date may be its last day, --label-date.",
        )


def _learned(lot: Lot, delivery: Delivery) -> Lot:
    """A batch with the dates that this delivery's label tells for the first time."""
    return replace(
        lot,
        made_on=lot.made_on or delivery.made_on,
        label_date=lot.label_date or delivery.label_date,
    )


def _checked(delivery: Delivery, material: Material) -> None:
    """Sizes are there where the form needs them, and every figure can be."""
    check_fields(Delivery, delivery.request())
    for field in material.shape.sizes:
        value = getattr(delivery, field) or getattr(material, field)
        word = field.removesuffix("_dmm")
        if not value:
            raise BadValueError(
                f"The {word} of {material.name} is not known.",
                f"A {material.form} needs it.",
                f"Give --{word}, or write it down once with the material.",
            )
        UNITS["dmm"].check(value, word.capitalize(), least=1)
    length_dmm = delivery.length_dmm or material.length_dmm or 0
    if material.shape.by_length and delivery.plus_minus_dmm > length_dmm:
        raise BadValueError(
            f"{m_text(length_dmm)} that may be off by {m_text(delivery.plus_minus_dmm)} is no "
            "length.",
            "It may be off by more than there is.",
            "Say within what the length lies, or leave it out.",
        )
    made, ends = delivery.made_on, delivery.label_date
    if made and ends and made >= ends:
        raise BadValueError("It was made after it expires.", try_="Look at both dates.")


def _known_lot(view: StoreView, delivery: Delivery, material: Material) -> Lot | None:
    """The batch in the books with this number; an unknown number is always a batch of its own."""
    number = safe(delivery.number)
    if number in ("", UNKNOWN):
        return None
    same = select_records(
        view.connection,
        Lot,
        LOT.c.number == number,
        LOT.c.material == material.code,
        LOT.c.owner == delivery.owner,
    )
    for lot in same:
        if delivery.label_date is not None and lot.label_date not in (None, delivery.label_date):
            raise RefusedError(
                f"Batch {number} is in the books with another label date ({lot.label_date}).",
                "One batch has one date.",
                "Look at the label again, or correct the batch: stockroom batch.",
            )
        return lot
    return None
