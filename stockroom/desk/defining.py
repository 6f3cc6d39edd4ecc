"""Defining what there is: materials with what their labels say, and places with their climate."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from stockroom.core.model import (
    GOODS_KINDS,
    PLACE_KINDS,
    SHEET_PROCESSES,
    Material,
    Place,
    PlaceKind,
)
from stockroom.core.record import Record
from stockroom.core.terms import breaks_kept, breaks_of, closed_kept, terms_text
from stockroom.core.traits import FAMILIES, FORMS
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Bench, Desk, Done, decided
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.times import LONGEST_LEAD_DAYS, LONGEST_LIFE_DAYS

COLDEST_CENTI_C, WARMEST_CENTI_C = -6000, 7000
"""Set-points and label temperatures that can be, hundredths of °C (a logger's usual range)."""

CORE_DMM = (250, 2_000)
"""Least and most across a core tube, dmm: 1 inch tubes to 6 inch ones with their wall (our
choice). Where a roll is warmed, a core read too large makes the wait too short."""

_OF_FAMILY: dict[str, tuple[str, ...]] = {
    "white_watch_centi": ("paper",),
    "white_act_centi": ("paper",),
    "density_watch_milli": ("paper",),
    "density_act_milli": ("paper",),
    "core_dmm": ("paper", "film"),
    "liners": ("film",),
    "trim_after_h": ("film",),
    "full_bond_h": ("film",),
    "bond_source": ("film",),
    "sheet_process": ("sheet", "board"),
    "settle_days": ("sheet", "board"),
    "goods_kind": ("goods",),
}
"""Of which families a word on how a material is kept can be told."""
_CALLED = {
    "white_watch_centi": "A limit of paper white",
    "white_act_centi": "A limit of paper white",
    "density_watch_milli": "A limit of paper white",
    "density_act_milli": "A limit of paper white",
    "core_dmm": "A core",
    "liners": "A number of liners",
    "trim_after_h": "A bond time",
    "full_bond_h": "A bond time",
    "bond_source": "A source of bond times",
    "sheet_process": "How a sheet is made",
    "settle_days": "A time to settle",
    "goods_kind": "A kind of small good",
}


def define_material(
    desk: Desk, name: str, family: str, form: str, *, key: str | None = None, **label: Any
) -> Done:
    """Define a material.

    Parameters
    ----------
    desk : Desk
        Where it is done.
    name : str
        What people call it; no other material may have it.
    family, form : str
        One of `FAMILIES`, one of `FORMS`.
    key : str, optional
        Against doubling.
    **label
        Any further field of `Material`.

    Raises
    ------
    RefusedError
        Where another material has the name.
    BadValueError
        Where a figure cannot be.
    """
    fields = {"name": _name(name), "family": family, "form": form, **_cleaned(label)}

    def build(bench: Bench) -> dict[str, Any]:
        _name_is_free(bench.view, Material, fields["name"])
        material = checked_material(Material(code=bench.head.born(), **fields))
        _of_its_family(material, label)
        return material.plain()

    return desk.act("material", fields, build, key=key)


def change_material(desk: Desk, said: str, *, key: str | None = None, **label: Any) -> Done:
    """Change what is known of a material; fields not given stay."""
    label = _cleaned(label)

    def build(bench: Bench) -> dict[str, Any]:
        material = find(bench.view, Material, said)
        if "name" in label:
            _name_is_free(bench.view, Material, label["name"], but=material.code)
        changed = checked_material(replace(material, **label))
        _of_its_family(changed, label)
        return changed.plain()

    return desk.act("material", {"of": said, **label}, build, key=key)


@decided
def change_terms(
    desk: Desk,
    said: str,
    *,
    minimum: int | None = None,
    multiple: int | None = None,
    order_cost_cents: int | None = None,
    breaks: Sequence[str] | None = None,
    closed: Sequence[tuple[date, date]] | None = None,
    key: str | None = None,
) -> Done:
    """Write down on which terms a material is sold; what is not given stays.

    Parameters
    ----------
    desk : Desk
    said : str
        The material.
    minimum, multiple : int, optional
        Fewest rolls, sheets or goods in an order, and the step.
    order_cost_cents : int, optional
        What an order costs whatever its size: freight and work.
    breaks : sequence of str, optional
        From how many on which price holds, like 12=98.00; empty for none.
    closed : sequence of (date, date), optional
        First and last days on which the supplier takes no order; empty for none.
    key : str, optional

    Raises
    ------
    BadValueError
        Where a figure cannot be, or price breaks are out of order.
    """
    label: dict[str, Any] = {
        "order_minimum": minimum,
        "order_multiple": multiple,
        "order_cost_cents": order_cost_cents,
        "price_breaks": None if breaks is None else breaks_kept(breaks),
        "closed_days": None if closed is None else closed_kept(closed),
    }
    given = {name: value for name, value in label.items() if value is not None}
    if not given:
        raise BadValueError("Nothing to change.", try_="Tell at least one of its terms.")
    done = change_material(desk, said, key=key, **given)
    with desk.reading() as view:
        stands = find(view, Material, said)
    return replace(done, notes=(*done.notes, terms_text(stands)))


def define_place(
    desk: Desk,
    name: str,
    kind: PlaceKind = "room",
    *,
    set_point_centi_c: int | None = None,
    low_centi_c: int | None = None,
    high_centi_c: int | None = None,
    key: str | None = None,
) -> Done:
    """Define a place, with a set-point and limits (hundredths of °C) if it has a climate."""
    fields = {
        "name": _name(name),
        "place_kind": kind,
        "set_point_centi_c": set_point_centi_c,
        "low_centi_c": low_centi_c,
        "high_centi_c": high_centi_c,
    }

    def build(bench: Bench) -> dict[str, Any]:
        _name_is_free(bench.view, Place, str(fields["name"]))
        return _checked_place(Place(code=bench.head.born(), **fields)).plain()  # type: ignore[arg-type]

    return desk.act("place", fields, build, key=key)


def change_place(desk: Desk, said: str, *, key: str | None = None, **climate: Any) -> Done:
    """Change a place's name, kind, set-point or limits; fields not given stay."""
    climate = _cleaned(climate)

    def build(bench: Bench) -> dict[str, Any]:
        place = find(bench.view, Place, said)
        if "name" in climate:
            _name_is_free(bench.view, Place, climate["name"], but=place.code)
        return _checked_place(replace(place, **climate)).plain()

    return desk.act("place", {"of": said, **climate}, build, key=key)


def checked_material(material: Material) -> Material:
    """Return a material whose figures can be, or raise `BadValueError`."""
    _one_of("family", material.family, FAMILIES)
    _one_of("form", material.form, FORMS)
    for field, unit in (
        ("width_dmm", "A width"),
        ("length_dmm", "A length"),
        ("thickness_um", "A thickness"),
        ("label_life_days", "A label life"),
        ("shop_life_days", "A shop's rule"),
        ("order_multiple", "An order multiple"),
        ("order_minimum", "The least that is sold"),
    ):
        value = getattr(material, field)
        most = LONGEST_LIFE_DAYS if field.endswith("_days") else 2**31 - 1
        if value is not None and not 0 < value <= most:
            raise BadValueError(
                f"{unit} must be above zero and at most {most}.", try_="Look at the number."
            )
    if material.lead_days is not None and material.lead_days > LONGEST_LEAD_DAYS:
        raise BadValueError(
            f"A lead time of {material.lead_days} days cannot be.",
            f"At most {LONGEST_LEAD_DAYS} are taken.",
            "Look at the number.",
        )
    for field in (
        "leader_dmm", "tail_dmm", "margin_dmm", "tell_below", "price_cents", "lead_days",
        "order_cost_cents",
    ):  # fmt: skip
        value = getattr(material, field)
        if value is not None and not 0 <= value < 2**31:
            raise BadValueError(
                f"{field.removesuffix('_dmm').removesuffix('_cents').replace('_', ' ')} must be "
                "zero or more.",
                try_="Type a number.",
            )
    for field in (
        "label_temp_centi_c",
        "storage_limit_centi_c",
        "band_low_centi_c",
        "band_high_centi_c",
        "use_least_centi_c",
    ):
        _temperature(getattr(material, field))
    _checked_care(material)
    breaks = breaks_of(material.price_breaks)
    if breaks and material.price_cents is not None and breaks[0][1] >= material.price_cents:
        least, price = breaks[0]
        raise BadValueError(
            f"From {least} on {price / 100:.2f} each is no cheaper than one alone, "
            f"{material.price_cents / 100:.2f}.",
            "A price break costs less than the single price.",
            "Look at the supplier's list.",
        )
    energy = material.energy_j_mol
    if energy is not None and not 20_000 <= energy <= 250_000:
        raise BadValueError(
            "An activation energy must lie between 20 and 250 kJ/mol.",
            try_="Leave it out where you have no figure of your own.",
        )
    return material


def _checked_care(material: Material) -> None:
    """See that what is said of how a material is kept, and when it goes off, can be."""
    for field, low, most, what in (
        ("opened_life_days", 1, LONGEST_LIFE_DAYS, "An opened life is told in days"),
        ("humidity_limit_pct", 1, 99, "A humidity limit is told in % relative humidity"),
        ("core_dmm", *CORE_DMM, "A core is told across, in mm, from 25 to 200 mm"),
        ("white_watch_centi", 1, 2_000, "A white limit is a drift of b*"),
        ("white_act_centi", 1, 2_000, "A white limit is a drift of b*"),
        ("density_watch_milli", 1, 2_000, "A white limit may be a drift of density"),
        ("density_act_milli", 1, 2_000, "A white limit may be a drift of density"),
        ("liners", 0, 2, "A film has no liner, one or two"),
        ("trim_after_h", 0, 2_000, "A bond time is told in hours"),
        ("full_bond_h", 0, 2_000, "A bond time is told in hours"),
        ("settle_days", 0, 365, "Settling is told in days"),
    ):
        value = getattr(material, field)
        if value is not None and not low <= value <= most:
            shown = f"{value / 10:g} mm" if field.endswith("_dmm") else value
            raise BadValueError(f"{what}; {shown} cannot be.", try_="Look at the number.")
    for first, second, what in (
        ("band_low_centi_c", "band_high_centi_c", "The band's lower end must be below its upper"),
        ("white_watch_centi", "white_act_centi", "The limit to watch must be below the one to act"),
        ("density_watch_milli", "density_act_milli", "The limit to watch must be below"),
    ):
        lower, upper = getattr(material, first), getattr(material, second)
        if lower is not None and upper is not None and lower >= upper:
            raise BadValueError(f"{what}.")
    bonds = material.trim_after_h is not None or material.full_bond_h is not None
    if bonds and not material.bond_source:
        raise BadValueError(
            "Bond times count only with the film's own sheet.",
            "Without it, no trimming before 24 h is what is told.",
            "Name the sheet they are from.",
        )
    if material.sheet_process is not None:
        _one_of("way to make a sheet", material.sheet_process, SHEET_PROCESSES)
    if material.goods_kind is not None:
        _one_of("kind of small good", material.goods_kind, GOODS_KINDS)


def _of_its_family(material: Material, given: dict[str, Any]) -> None:
    """Refuse what is told of a material of another family; what stands already is left alone."""
    for field, families in _OF_FAMILY.items():
        if given.get(field) is not None and material.family not in families:
            raise BadValueError(
                f"{_CALLED[field]} cannot be told of {material.name}, of the family "
                f"{material.family}.",
                f"It is told of {' and '.join(families)} only.",
                "Look at the material's name; or leave it out.",
            )


def _checked_place(place: Place) -> Place:
    _one_of("kind", place.place_kind, PLACE_KINDS)
    for value in (place.set_point_centi_c, place.low_centi_c, place.high_centi_c):
        _temperature(value)
    low, high = place.low_centi_c, place.high_centi_c
    if low is not None and high is not None and low >= high:
        raise BadValueError("The lower limit must be below the upper one.")
    return place


def _temperature(centi_c: int | None) -> None:
    if centi_c is not None and not COLDEST_CENTI_C <= centi_c <= WARMEST_CENTI_C:
        raise BadValueError(
            f"{centi_c / 100:g} °C is no temperature of a store or room.",
            "It must lie between -60 and 70 °C.",
            "Give it in °C.",
        )


def _one_of(what: str, word: str, words: Iterable[str]) -> None:
    if word not in words:
        raise BadValueError(
            f"{safe(word, length=30)!r} is no {what}.", f"It is one of: {', '.join(words)}."
        )


def _name(name: str) -> str:
    cleaned = safe(name)
    if not cleaned:
        raise BadValueError("A name is missing.", try_="Give it one, in quotes if it has blanks.")
    return cleaned


def _cleaned(fields: dict[str, Any]) -> dict[str, Any]:
    """Text that a person gave, made clean; the rest as it is."""
    cleaned = {
        name: safe(value) if isinstance(value, str) else value for name, value in fields.items()
    }
    return {**cleaned, "name": _name(cleaned["name"])} if "name" in cleaned else cleaned


def _name_is_free(view: StoreView, record: type[Record], name: str, *, but: str = "") -> None:
    for other in everything(view, record):
        if other.key != but and getattr(other, "name", "").casefold() == name.casefold():
            raise RefusedError(
                f"There is a {record.kind} called {name!r} already ({other.key}).",
                try_="Give this one another name, or change that one.",
            )
