"""Defining what there is: materials with what their labels say, and places with their climate."""

from dataclasses import replace
from typing import Any

from stockroom.core.model import (
    FAMILIES,
    FORMS,
    PLACE_KINDS,
    Family,
    Form,
    Material,
    Place,
    PlaceKind,
    Record,
)
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Bench, Desk, Done
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.view import StoreView
from stockroom.text import safe

COLDEST_CENTI_C, WARMEST_CENTI_C = -6000, 7000
"""Set-points and label temperatures that can be, hundredths of °C (a logger's usual range)."""

LONGEST_LIFE_DAYS = 36_525
"""Longest life taken from a label or a shop's rule, days: a century (our choice)."""


def define_material(
    desk: Desk, name: str, family: Family, form: Form, *, key: str | None = None, **label: Any
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
        return checked_material(Material(code=bench.head.born(), **fields)).plain()

    return desk.act("material", fields, build, key=key)


def change_material(desk: Desk, said: str, *, key: str | None = None, **label: Any) -> Done:
    """Change what is known of a material; fields not given stay."""
    label = _cleaned(label)

    def build(bench: Bench) -> dict[str, Any]:
        material = find(bench.view, Material, said)
        if "name" in label:
            _name_is_free(bench.view, Material, label["name"], but=material.code)
        return checked_material(replace(material, **label)).plain()

    return desk.act("material", {"of": said, **label}, build, key=key)


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
    ):
        value = getattr(material, field)
        most = LONGEST_LIFE_DAYS if field.endswith("_days") else 2**31 - 1
        if value is not None and not 0 < value <= most:
            raise BadValueError(
                f"{unit} must be above zero and at most {most}.", try_="Look at the unit."
            )
    for field in ("leader_dmm", "tail_dmm", "margin_dmm", "tell_below", "price_cents", "lead_days"):
        value = getattr(material, field)
        if value is not None and not 0 <= value < 2**31:
            raise BadValueError(
                f"{field.removesuffix('_dmm').removesuffix('_cents').replace('_', ' ')} must be "
                "zero or more.",
                try_="Type a number.",
            )
    for field in ("label_temp_centi_c", "storage_limit_centi_c"):
        _temperature(getattr(material, field))
    energy = material.energy_j_mol
    if energy is not None and not 20_000 <= energy <= 250_000:
        raise BadValueError(
            "An activation energy must lie between 20 and 250 kJ/mol.",
            try_="Leave it out where you have no figure of your own.",
        )
    return material


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


def _one_of(what: str, word: str, words: tuple[str, ...]) -> None:
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
