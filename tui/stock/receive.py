"""Forms of receiving: a delivery, and an order that has come as it was ordered."""

from typing import TYPE_CHECKING

from stockroom.core.records import OWNERS, UNKNOWN, Material, Order
from stockroom.core.wording import cut_text
from stockroom.desk.lookup import find, usual_place
from stockroom.desk.stock import receiving
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.stock.views import Choices, choices
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.times import day_of
from stockroom.units import cents, length_dmm, m_text, size_dmm, size_text
from tui.forms import Field, Form, Values, leads_to, one_of, whole
from tui.stock.acts import happened, place_options, when_field
from tui.today.lines import material_word
from tui.words import when

if TYPE_CHECKING:
    from datetime import date

    from stockroom.desk.session import Desk, Done
    from tui.words import Target


def receive_form(desk: "Desk", target: "Target") -> Form:
    """Take in a delivery."""
    found = choices(desk)
    _some(found)
    return _form(desk, found, "receive", "Receive a delivery", None, start="material")


def order_come_form(desk: "Desk", target: "Target") -> Form:
    """Take in an order: all stands there as it was ordered, Enter takes it in."""
    with desk.reading() as view:
        order = find(view, Order, target.about)
        material = find(view, Material, order.material)
        stands = usual_place(view, material)
    if order.state != "sent":
        raise BadValueError(
            f"Order {order.code} is {order.state} already.",
            f"It was for {material_word(material, order.count)} of {safe(material.name)}.",
            "R takes in what came besides.",
        )
    found = choices(desk)
    _some(found)
    what = f"{material_word(material, order.to_come)} of {safe(material.name)}"
    title = f"Order {order.code}: {what}"
    if size := cut_text(order):
        title = f"{title}, {size}"
    return _form(desk, found, f"receive {order.code}", title, order, stands=stands)


def _some(found: Choices) -> None:
    if not found.materials or not found.places:
        raise BadValueError(
            "There is no material or no place yet to take a delivery in to.",
            try_="At the console: stockroom material add, stockroom place add.",
        )


def _form(
    desk: "Desk",
    found: Choices,
    name: str,
    title: str,
    order: Order | None,
    start: str = "",
    stands: str | None = None,
) -> Form:
    materials = {material.code: material for material in found.materials}
    first = materials[order.material] if order else found.materials[0]
    price = "" if order is None or order.price_cents is None else f"{order.price_cents / 100:.2f}"
    place = stands or _place_for(found, first)
    size = cut_text(order).removeprefix("cut to ").removesuffix(" mm") if order else ""

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        material = materials[values["material"]]
        packed = receiving.in_one_pack(material, order)
        count = whole(values["count"])
        width, length = _size(material, values["size"])
        delivery = Delivery(
            material=material.code,
            place=values["place"],
            units=1 if packed else count,
            count=count if packed else 1,
            width_dmm=width,
            length_dmm=length,
            number=safe(values["number"]) or UNKNOWN,
            label_date=_day(values["label"], desk),
            made_on=_day(values["made"], desk),
            owner=one_of(OWNERS, values["owner"]),
            price_cents=cents(values["price"]) if values["price"].strip() else None,
            arrived_warm=values["warm"] == "warm",
            order=order.code if order else None,
        )
        return receiving.receive(
            desk, delivery, rest_to_come=values.get("rest") == "rest",
            happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    def told(values: Values) -> list[str]:
        material = materials[values["material"]]
        lines = [
            f"{material_word(material, _guess(values['count']))}, each {_full(material)}, "
            f"unless another size is typed."
            if not size
            else f"{material_word(material, _guess(values['count']))}, each cut to {size} mm; each "
            "gets a code of its own.",
            f"Without its {material.traits.lot_word} it is a batch of its own, called unknown.",
        ]
        if material.traits.ages and not values["label"].strip():
            lines.append("Without a label date its life is only estimated.")
        if order is not None and order.expected_on is not None:
            lines.append(f"It was expected {when(order.expected_on, desk.today())}.")
        return lines

    rest = [Field("rest", "The rest", "", [("", "is not expected"), ("rest", "still comes")])]
    if order is None or order.to_come < 2:
        rest = []
    return Form(
        name, title, "Take it in",
        [
            Field("material", "Material", first.code,
                  [(m.code, safe(m.name)) for m in found.materials], scans="material"),
            Field("count", "How many", str(order.to_come) if order else "1",
                  hint="rolls, sheets, pieces"),
            Field("place", "Where it stands", place, place_options(found),
                  "arrows, or scan it", "place"),
            Field("number", "Emulsion no. or batch", hint="empty if unknown"),
            Field("label", "Label date", hint="such as 2027-12-01"),
            Field("made", "Made on", hint="if the label says"),
            Field("size", "Size, if another", size, hint="30 m, or 1220 x 2030"),
            Field("price", "Price of one", price),
            Field("warm", "It came", "", [("", "as it should"), ("warm", "warm")]),
            Field("owner", "It belongs to", "mine", [(owner, owner) for owner in OWNERS]),
            *rest,
            when_field(),
        ],
        submit, told, start, leads_to("unit", "unit"),  # whose code can be written on it
    )  # fmt: skip


def _place_for(found: Choices, material: Material) -> str:
    """Paper goes into the cold, sheets and the rest onto a rack or into a room."""
    wanted = ("cold store",) if material.traits.kept_cold else ("rack", "room")
    for kind in wanted:
        for place in found.places:
            if place.place_kind == kind:
                return place.code
    return found.places[0].code


def _full(material: Material) -> str:
    if material.shape.flat and material.width_dmm and material.length_dmm:
        return size_text(material.width_dmm, material.length_dmm)
    return m_text(material.length_dmm) if material.length_dmm else "of a size to be typed"


def _size(material: Material, text: str) -> tuple[int | None, int | None]:
    if not text.strip():
        return None, None
    if material.shape.flat:
        return size_dmm(text)
    return None, length_dmm(text, material.shape.length_unit)


def _day(text: str, desk: "Desk") -> "date | None":
    return day_of(text, desk.today()) if text.strip() else None


def _guess(text: str) -> int:
    return int(text) if text.isdigit() else 1
