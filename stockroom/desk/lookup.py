"""Finding what a person means by a code or a name."""

from typing import Any, TypeVar

from stockroom.core.books.codes import is_code
from stockroom.core.records import Build, Card, Job, Lot, Material, Order, Piece, Place, Unit
from stockroom.core.records.base import Record
from stockroom.errors import BadValueError, UnknownCodeError
from stockroom.store.mapping import select_records, table_of
from stockroom.store.view import StoreView
from stockroom.text import nearest, safe

R = TypeVar("R", bound=Record)

CODED: tuple[type[Record], ...] = (Unit, Place, Lot, Job, Piece, Material, Order, Build, Card)
"""The kinds of record that carry a code on a label."""

_NAME_FIELD = {"material": "name", "place": "name", "job": "name", "lot": "number"}
_HOW_TO_LIST = {
    "material": "stockroom material list",
    "place": "stockroom place list",
    "job": "stockroom today",
    "unit": "stockroom unit list",
    "lot": "stockroom unit list",
    "import": "stockroom readings list",
    "card": "stockroom cuts list",
}


def find(view: StoreView, record: type[R], said: str) -> R:
    """Return the record of a kind that a code or name stands for.

    Parameters
    ----------
    view : StoreView
        The books.
    record : type
        The kind wanted.
    said : str
        A code, or a name: whole or its beginning, in any case.

    Raises
    ------
    UnknownCodeError
        Where nothing, or more than one thing, answers to it; with the nearest ones.
    """
    said = said.strip()
    by_code = view.get(record, said) if said.isascii() else None
    if by_code is not None:
        return by_code
    known = select_records(view.connection, record)
    field = _NAME_FIELD.get(record.kind)
    names = {item.key: str(getattr(item, field)) if field else item.key for item in known}
    folded = said.casefold()
    exact = [item for item in known if names[item.key].casefold() == folded]
    begins = [item for item in known if folded and names[item.key].casefold().startswith(folded)]
    found = exact or begins
    if len(found) == 1:
        return found[0]
    shown = safe(said, length=40)
    if found:
        some = tuple(f"{item.key} {names[item.key]}" for item in found[:5])
        raise UnknownCodeError(
            f"More than one {record.noun} is called {shown!r}.",
            "It could be " + ", ".join(safe(name, length=60) for name in some) + ".",
            "Give its code.",
            nearest=some,
        )
    close = nearest(said, [item.key for item in known] + list(names.values()))
    digits = said.isascii() and said.isdigit()
    why = "Its check digit does not fit: a digit is wrong." if digits and not is_code(said) else ""
    hint = "Did you mean " + ", ".join(safe(name, length=60) for name in close) + "?"
    listing = _HOW_TO_LIST.get(record.kind, "stockroom today")
    raise UnknownCodeError(
        f"There is no {record.noun} {shown!r}.",
        why,
        hint if close else f"See: {listing}.",
        nearest=close,
    )


def find_any(view: StoreView, code: str) -> Record:
    """Return whatever a scanned code stands for.

    Raises
    ------
    UnknownCodeError
        Where nothing carries that code.
    """
    for record in CODED:
        found = view.get(record, code.strip())
        if found is not None:
            return found
    close: list[str] = []
    for record in CODED:
        close += [item.key for item in select_records(view.connection, record)]
    near = nearest(code, close)
    wrong = code.isdigit() and not is_code(code)
    gone = max(view.last_touch(record.kind, code.strip()) for record in CODED)
    if gone:
        raise UnknownCodeError(
            f"What carried the code {code.strip()} is no longer in the books.",
            f"It was taken back with act {gone}.",
            "Look at the trail: Z, or stockroom undo --list.",
        )
    raise UnknownCodeError(
        f"Nothing carries the code {safe(code, length=40)!r}.",
        "Its check digit does not fit: a digit is wrong." if wrong else "",
        f"Did you mean {', '.join(near)}?" if near else "Scan it again.",
        nearest=near,
    )


def material_of(view: StoreView, unit: Unit) -> Material:
    """Return what a unit is of."""
    return find(view, Material, find(view, Lot, unit.lot).material)


def everything(view: StoreView, record: type[R]) -> list[R]:
    """Return all records of a kind, by code."""
    return select_records(view.connection, record)


def in_stock(view: StoreView) -> list[Unit]:
    """Return the units that are in stock, by code."""
    return select_records(view.connection, Unit, table_of(Unit).c.state == "in stock")


def see_some_told(told: Any) -> None:
    """Refuse a change of which nothing was told."""
    if not told:
        raise BadValueError("Nothing to change.", try_="Tell at least one thing of it.")


def usual_place(view: StoreView, material: Material) -> str | None:
    """Return the code of the place where most of a material stands; of paper, of cold stores.

    Where none is in stock it is where it last came to; None where it never came.
    """
    fit = {
        place.code
        for place in select_records(view.connection, Place)
        if not material.traits.kept_cold or place.place_kind == "cold store"
    }
    units = [
        unit
        for lot in view.having(Lot, "material", material.code)
        for unit in view.having(Unit, "lot", lot.code)
        if unit.parent is None
    ]
    here: dict[str, int] = {}
    for unit in units:
        if unit.state == "in stock" and unit.place in fit:
            count = 1 if unit.shape.by_length else unit.count
            here[unit.place] = here.get(unit.place, 0) + count
    if here:
        return max(here, key=lambda place: (here[place], place))
    for unit in sorted(units, key=lambda unit: (unit.received_s, unit.code), reverse=True):
        came_to = min(view.stays(unit.code), key=lambda stay: stay.from_s).place
        if came_to in fit:
            return came_to
    return None
