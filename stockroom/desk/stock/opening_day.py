"""Opening day: the stock that is there already, from a list, all of it or none."""

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from stockroom import clock
from stockroom.core.records import UNKNOWN, Material, Place
from stockroom.core.records.base import Record
from stockroom.desk.lookup import everything
from stockroom.desk.session import Decision, Desk, Done, decided, standing_key
from stockroom.desk.stock.receiving import Delivery, lines
from stockroom.errors import ImportProblem, Problem
from stockroom.store.view import StoreView, find_by_key
from stockroom.text import safe
from stockroom.units import count_of

if TYPE_CHECKING:
    from stockroom.intake.lists import Listed
    from stockroom.intake.stocklist import StockRow

ELSEWHERE = "Unsorted"
"""Where a listed thing stands when its row names no place."""
NOON_S = 43_200
"""A listed thing came at noon of its day, and is taken to have stood where it stands since."""


@dataclass(frozen=True, slots=True)
class StockListLook:
    """What a stock list would bring, and what is wrong with it; nothing is stored by looking."""

    name: str
    rows: int
    units: int
    new_materials: tuple[str, ...]
    new_places: tuple[str, ...]
    problems: tuple[Problem, ...]
    ignored: tuple[str, ...]
    other_sheets: tuple[str, ...]
    taken_before: bool


def look_at_stock_list(
    desk: Desk, data: bytes, name: str, *, day_first: bool | None = None
) -> StockListLook:
    """Return what a stock list says, storing nothing.

    Raises
    ------
    ImportProblem
        Where the file is no list at all.
    """
    with desk.reading() as view:
        materials, places = _by_name(view, Material), _by_name(view, Place)
        listed = _read(desk, data, name, day_first, materials)
        taken = (
            find_by_key(view.connection, standing_key(view, _list_key(listed.sha256))) is not None
        )
    return StockListLook(
        name=safe(name),
        rows=len(listed.rows),
        units=sum(row.count if row.shape.by_length else 1 for row in listed.rows),
        new_materials=_new(materials, (row.material for row in listed.rows)),
        new_places=_new(places, (row.place or ELSEWHERE for row in listed.rows)),
        problems=listed.problems,
        ignored=listed.ignored_columns,
        other_sheets=listed.other_sheets,
        taken_before=taken,
    )


@decided
def take_in_stock_list(
    desk: Desk, data: bytes, name: str, *, day_first: bool | None = None
) -> Done:
    """Take in a stock list as one act; the same file again changes nothing.

    Raises
    ------
    ImportProblem
        Where any row is wrong: then nothing is stored.
    """
    sha256 = hashlib.sha256(data).hexdigest()

    def build(decision: Decision) -> dict[str, Any]:
        from stockroom.intake.stocklist import material_of

        known_materials, known_places = (
            _by_name(decision.view, Material),
            _by_name(decision.view, Place),
        )
        listed = _read(desk, data, name, day_first, known_materials)
        if listed.problems:
            problems = count_of(len(listed.problems), "problem")
            raise ImportProblem(
                f"{safe(name)} has {problems} in it.",
                "A list is taken whole or not at all.",
                "Mend the rows and take it in again.",
                problems=listed.problems,
            )
        made: dict[str, list[dict[str, Any]]] = {
            "materials": [],
            "places": [],
            "lots": [],
            "units": [],
        }
        for row in listed.rows:
            material = known_materials.get(row.material.casefold())
            if material is None:
                material = material_of(row, decision.head.born())
                known_materials[material.name.casefold()] = material
                made["materials"].append(material.plain())
            place_name = row.place or ELSEWHERE
            place = known_places.get(place_name.casefold())
            if place is None:
                place = Place(code=decision.head.born(), name=place_name)
                known_places[place_name.casefold()] = place
                made["places"].append(place.plain())
            _lay_row(decision, row, material, place, made)
        return {**made, "list": sha256}

    with desk.reading() as view:
        key = standing_key(view, _list_key(sha256))
    return desk.act("take in", {"list": sha256}, build, key=key, reason=safe(name))


def _lay_row(
    decision: Decision,
    row: "StockRow",
    material: Material,
    place: Place,
    made: dict[str, list[dict[str, Any]]],
) -> None:
    """Add one row's batch and units; a batch met earlier in the list is the same batch."""
    count = row.count or 1
    packed = not material.shape.by_length
    delivery = Delivery(
        material=material.code,
        place=place.code,
        units=1 if packed else count,
        count=count if packed else 1,
        width_dmm=row.width_dmm,
        length_dmm=row.height_dmm if material.shape.flat else row.length_dmm,
        plus_minus_dmm=row.plus_minus_dmm or 0,
        number=row.batch or UNKNOWN,
        made_on=row.made_on,
        label_date=row.label_date,
        owner=row.owner or "mine",
        price_cents=row.price_cents,
    )
    lots, units = lines(decision, delivery, material, place, arriving=False)
    same = ("material", "number", "made_on", "label_date", "owner")
    for lot in lots:
        for earlier in made["lots"]:
            if lot["number"] != UNKNOWN and all(lot[f] == earlier[f] for f in same):
                for unit in units:
                    unit["lot"] = earlier["code"]
                break
        else:
            made["lots"].append(lot)
    if row.received_on is not None:
        came_s = clock.start_of_day_s(row.received_on, decision.zone) + NOON_S
        for unit in units:
            unit["received_s"] = min(came_s, decision.now_s)
    made["units"] += units


def _read(
    desk: Desk, data: bytes, name: str, day_first: bool | None, known: dict[str, Material]
) -> "Listed[StockRow]":
    from stockroom.intake.stocklist import read_stock_list

    return read_stock_list(
        data, name=name, today=desk.today(), day_first=day_first, known=known.values()
    )


def _by_name(view: StoreView, record: type[Any]) -> dict[str, Any]:
    return {item.name.casefold(): item for item in everything(view, record)}


def _new(known: dict[str, Record], names: Any) -> tuple[str, ...]:
    return tuple(sorted({name for name in names if name.casefold() not in known}))


def _list_key(sha256: str) -> str:
    return f"stock list {sha256}"
