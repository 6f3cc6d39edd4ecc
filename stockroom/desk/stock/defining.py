"""Defining what there is: materials with what their labels say, and places with their climate."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

from stockroom.core.film import bond_times
from stockroom.core.records import Material, Place
from stockroom.core.records.asked import asked, check_fields
from stockroom.core.records.base import Record
from stockroom.core.records.traits import FAMILIES
from stockroom.core.terms import breaks_kept, breaks_of, closed_kept, terms_text
from stockroom.desk.lookup import everything, find, see_some_told
from stockroom.desk.session import Decision, Desk, Done, decided
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.view import StoreView
from stockroom.text import listed, safe


def define_material(
    desk: Desk, name: str, family: str, form: str, *, key: str | None = None, **label: Any
) -> Done:
    """Define a material.

    Parameters
    ----------
    name : str
        What people call it; no other material may have it.
    family, form : str
        One of `FAMILIES`, one of `FORMS`.
    **label
        Any further field of `Material`.

    Raises
    ------
    RefusedError
        Where another material has the name.
    BadValueError
        Where a figure cannot be.
    """
    return _define(desk, Material, {"name": name, "family": family, "form": form, **label}, key)


def change_material(desk: Desk, said: str, *, key: str | None = None, **label: Any) -> Done:
    """Change what is known of a material; fields not given stay."""
    return _change(desk, Material, said, label, key)


@decided
def change_terms(
    desk: Desk,
    said: str,
    *,
    breaks: Sequence[str] | None = None,
    closed: Sequence[tuple[date, date]] | None = None,
    key: str | None = None,
    **terms: Any,
) -> Done:
    """Write down on which terms a material is sold; what is not given stays.

    Parameters
    ----------
    said : str
        The material.
    breaks : sequence of str, optional
        From how many on which price holds, like 12=98.00; empty for none.
    closed : sequence of (date, date), optional
        First and last days on which the supplier takes no order; empty for none.
    **terms
        Any further field of `Material`.

    Raises
    ------
    BadValueError
        Where a figure cannot be, or price breaks are out of order.
    """
    if breaks is not None:
        terms["price_breaks"] = breaks_kept(breaks)
    if closed is not None:
        terms["closed_days"] = closed_kept(closed)
    given = {name: value for name, value in terms.items() if value is not None}
    done = change_material(desk, said, key=key, **given)
    with desk.reading() as view:
        stands = find(view, Material, said)
    return replace(done, notes=(*done.notes, terms_text(stands)))


def define_place(
    desk: Desk, name: str, place_kind: str = "room", *, key: str | None = None, **climate: Any
) -> Done:
    """Define a place, with a set-point and limits (hundredths of °C) if it has a climate."""
    return _define(desk, Place, {"name": name, "place_kind": place_kind, **climate}, key)


def change_place(desk: Desk, said: str, *, key: str | None = None, **climate: Any) -> Done:
    """Change a place's name, kind, set-point or limits; fields not given stay."""
    return _change(desk, Place, said, climate, key)


def _define(desk: Desk, kind: Any, told: dict[str, Any], key: str | None) -> Done:
    told = _cleaned(told)

    def build(decision: Decision) -> dict[str, Any]:
        _name_is_free(decision.view, kind, told["name"])
        return _checked(kind(code=decision.head.born(), **told), told)

    return desk.act(kind.kind, told, build, key=key)


def _change(desk: Desk, kind: Any, said: str, told: dict[str, Any], key: str | None) -> Done:
    told = _cleaned(told)
    see_some_told(told)

    def build(decision: Decision) -> dict[str, Any]:
        stands = find(decision.view, kind, said)
        if "name" in told:
            _name_is_free(decision.view, kind, told["name"], but=stands.key)
        return _checked(replace(stands, **told), told)

    return desk.act(kind.kind, {"of": said, **told}, build, key=key)


def _checked(record: Record, told: dict[str, Any]) -> dict[str, Any]:
    """The fields of a record that can be."""
    plain = record.plain()
    check_fields(type(record), plain)
    if isinstance(record, Material):
        _check_family(record, told)
        bond_times(record.trim_after_h, record.full_bond_h, record.bond_source or "")
        _see_breaks(record)
    return plain


def _check_family(material: Material, given: dict[str, Any]) -> None:
    """See that what is told now can be told of its family; what was told before is left alone."""
    for name, one in asked(Material).items():
        if one.of and given.get(name) is not None and not getattr(material.traits, one.of):
            families = [name for name, traits in FAMILIES.items() if getattr(traits, one.of)]
            raise BadValueError(
                f"{one.label}: that cannot be told of {material.name}, of the family "
                f"{material.family}.",
                f"It is told of {listed(families)} only.",
                "Look at the material's name; or leave it out.",
            )


def _see_breaks(material: Material) -> None:
    breaks = breaks_of(material.price_breaks)
    if breaks and material.price_cents is not None and breaks[0][1] >= material.price_cents:
        least, price = breaks[0]
        raise BadValueError(
            f"From {least} on {price / 100:.2f} each is no cheaper than one alone, "
            f"{material.price_cents / 100:.2f}.",
            "A price break costs less than the single price.",
            "Look at the supplier's list.",
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
