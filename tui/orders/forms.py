"""Forms of ordering: mark as ordered, tell me below, how it is sold, cancel an order."""

from datetime import timedelta
from typing import TYPE_CHECKING

from stockroom.core.records import Material, Order
from stockroom.core.terms import breaks_of, closed_of
from stockroom.core.wording import kept_back_text
from stockroom.desk.lookup import find
from stockroom.desk.orders import ordering
from stockroom.desk.orders.state import ORDER_COST_CENTS
from stockroom.desk.reckoning import reckoned
from stockroom.desk.stock.defining import change_terms
from stockroom.errors import OrderedMeanwhileError
from stockroom.text import safe
from stockroom.times import day_of, days_of
from stockroom.units import cents, money_text, size_dmm
from tui.forms import Field, Form, Values, whole
from tui.today.lines import material_word
from tui.words import when

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target


def order_new_form(desk: "Desk", target: "Target") -> Form:
    """Mark a material as ordered; the quantity stands there already."""
    with reckoned(desk) as reckoning:
        material = find(reckoning.view, Material, target.about)
        have, held, past = ordering.counted(reckoning, material)
        coming = [one for one in ordering.orders_coming(reckoning) if one.material == material.code]
    known = {one.code for one in coming}
    today = desk.today()
    quantity = target.more[0] if target.more else str(material.order_multiple)
    comes = today + timedelta(days=material.lead_days) if material.lead_days is not None else None
    price = "" if material.price_cents is None else f"{material.price_cents / 100:.2f}"

    sized = []
    if material.shape.flat and material.traits.rigid:
        sized = [Field("size", "Cut to size", hint="mm; empty: full sheets")]

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        expected = values["expected"].strip()
        paid = values["price"].strip()
        size = values.get("size", "").strip()
        if size and paid == price:
            paid = ""
        width, length = size_dmm(size) if size else (None, None)
        try:
            return ordering.order(
                desk, material.code, whole(values["count"]),
                expected_on=day_of(expected, desk.today()) if expected else None,
                price_cents=cents(paid) if paid else None,
                supplier=values["supplier"], width_dmm=width, length_dmm=length,
                known=frozenset(known), key=key,
            )  # fmt: skip
        except OrderedMeanwhileError as error:
            known.update(error.orders)  # now it was seen
            raise

    def told(values: Values) -> list[str]:
        kept_back = kept_back_text(held, past)
        usable = f"{material_word(material, have)} here that can be used"
        lines = [f"{usable}, {kept_back}." if kept_back else f"{usable}."]
        if coming:
            due = [one.expected_on for one in coming if one.expected_on is not None]
            first = f", due in {when(min(due), desk.today())}" if due else ""
            lines.append(f"On order: {sum(one.to_come for one in coming)}{first}.")
        if values.get("size", "").strip():
            return [*lines, "What comes cut to size never counts as full sheets."]
        if material.lead_days is not None:
            now_on = desk.today()
            arrives = now_on + timedelta(days=material.lead_days)
            lines.append(f"Ordered today it comes {when(arrives, now_on)}.")
        if material.price_cents is not None and values["count"].isdigit():
            total = money_text(material.price_cents * int(values["count"]), desk.currency)
            lines.append(f"At the last price that is {total}.")
        return lines

    return Form(
        f"order {material.code}", f"Order {safe(material.name)}", "Mark it as ordered",
        [
            Field("count", "How many", quantity,
                  hint=_multiples(material)),
            Field("supplier", "From", safe(material.supplier)),
            Field("expected", "Expected", comes.isoformat() if comes else "",
                  hint="2026-03-20, +14, thu"),
            Field("price", "Price of one", price, hint=desk.currency),
            *sized,
        ],
        submit, told,
    )  # fmt: skip


def tell_form(desk: "Desk", target: "Target") -> Form:
    """Say from which number on to be told."""
    with desk.reading() as view:
        material = find(view, Material, target.about)
    now = "" if material.tell_below is None else str(material.tell_below)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        text = values["below"].strip()
        return ordering.tell_below(desk, material.code, whole(text) if text else None, key=key)

    return Form(
        f"tell {material.code}", f"Tell me below: {safe(material.name)}", "Remember it",
        [Field("below", "Tell me below", now, hint="empty for never")],
        submit, start="below",
    )  # fmt: skip


def terms_form(desk: "Desk", target: "Target") -> Form:
    """Say on which terms a material is sold."""
    with desk.reading() as view:
        material = find(view, Material, target.about)
    cost = material.order_cost_cents
    breaks = ", ".join(
        f"{least}={price / 100:.2f}" for least, price in breaks_of(material.price_breaks)
    )
    closed = ", ".join(
        f"{first.isoformat()}..{last.isoformat()}"
        for first, last in closed_of(material.closed_days)
    )

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        paid = values["cost"].strip()
        return change_terms(
            desk, material.code,
            order_minimum=whole(values["minimum"]),
            order_multiple=whole(values["multiple"]),
            order_cost_cents=cents(paid) if paid else None,
            breaks=_listed(values["breaks"]),
            closed=[days_of(text, desk.today()) for text in _listed(values["closed"])],
            key=key,
        )  # fmt: skip

    return Form(
        f"terms {material.code}", f"How it is sold: {safe(material.name)}", "Remember it",
        [
            Field("minimum", "At least", str(material.order_minimum or 1), hint="in one order"),
            Field("multiple", "In multiples of", str(material.order_multiple)),
            Field("cost", "An order costs", "" if cost is None else f"{cost / 100:.2f}",
                  hint=f"freight; empty: {ORDER_COST_CENTS / 100:.2f}"),
            Field("breaks", "Price breaks", breaks, hint="6=112.50, 12=98.00"),
            Field("closed", "Closed", closed, hint="2026-12-21..2027-01-06"),
        ],
        submit, start="minimum",
    )  # fmt: skip


def _listed(text: str) -> list[str]:
    return [part.strip() for part in text.split(",") if part.strip()]


def cancel_form(desk: "Desk", target: "Target") -> Form:
    """Call an order cancelled."""
    with desk.reading() as view:
        order = find(view, Order, target.about)
        material = find(view, Material, order.material)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return ordering.cancel_order(desk, order.code, reason=values["why"], key=key)

    return Form(
        f"cancel {order.code}",
        f"Cancel order {order.code}: {material_word(material, order.count)} of "
        f"{safe(material.name)}",
        "Call it cancelled",
        [Field("why", "Why", hint="a few words")],
        submit, start="why",
    )  # fmt: skip


def _multiples(material: Material) -> str:
    multiple = material.order_multiple
    return f"in multiples of {multiple}" if multiple > 1 else f"{material.shape.one}s"
