"""Cutting: offcuts born from a cut, and the offcut that takes a piece."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from stockroom.core.model import Job, Lot, Material, Place, PutBy, Unit
from stockroom.core.sheets import Fit, offcut_fit
from stockroom.desk.lookup import everything, find, in_stock
from stockroom.desk.session import Bench, Desk, Done
from stockroom.errors import BadValueError, RefusedError
from stockroom.units import LONGEST_DMM, size_text

KERF_DMM = 40
"""Width of a saw cut in sheet, dmm (4 mm, common practice for a panel saw)."""
TRIM_DMM = 100
"""Trimmed off a factory edge of a full sheet, dmm (10 mm, common practice)."""


@dataclass(frozen=True, slots=True)
class Part:
    """A size cut out, dmm, and how many of it."""

    width_dmm: int
    length_dmm: int
    count: int = 1


def cut(
    desk: Desk,
    unit: str,
    *,
    pieces: Sequence[Part] = (),
    offcuts: Sequence[Part] = (),
    take_dmm: int | None = None,
    job: str | None = None,
    place: str | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Record a cut: one sheet, or a length off a roll, into pieces and offcuts.

    Parameters
    ----------
    desk, unit
        Where, and of what.
    pieces, offcuts : sequence of Part
        What was used, and what is kept; the rest is cut waste.
    take_dmm : int, optional
        The length cut off a roll or profile; not for a sheet.
    job : str, optional
        For which job.
    place : str, optional
        Where the offcuts stand; where the sheet stood, if left out.
    happened_s, key
        As everywhere.

    Raises
    ------
    RefusedError
        Where the parts come to more than was cut.
    """
    for part in (*pieces, *offcuts):
        if not (
            0 < part.width_dmm <= LONGEST_DMM
            and 0 < part.length_dmm <= LONGEST_DMM
            and 0 < part.count <= 1000
        ):
            raise BadValueError("A part of the cut has a size that cannot be.")

    def build(bench: Bench) -> dict[str, Any]:
        found = find(bench.view, Unit, unit)
        if found.form == "counted":
            raise BadValueError(f"{found.code} is counted, not cut.")
        if found.form == "sheet" and not pieces and not offcuts:
            raise BadValueError(
                f"What was cut from {found.code}?",
                "Neither a piece nor an offcut was named; all of it would be waste.",
                "Name what was cut; a sheet that broke is lost: stockroom lose CODE 1 --cause "
                "broken.",
            )
        if found.form != "sheet" and not take_dmm:
            raise BadValueError(
                f"How much was cut off {found.code}?", try_="Give the length cut off."
            )
        for part in (*pieces, *offcuts):
            _could_lie_in(found, part, take_dmm)
        stands = find(bench.view, Place, place).code if place else found.place
        return {
            "unit": found.code,
            "take": 1 if found.form == "sheet" else take_dmm,
            "job": find(bench.view, Job, job).code if job else None,
            "children": [
                {
                    "code": bench.head.born(),
                    "place": stands,
                    "width_dmm": part.width_dmm if found.form != "length" else 0,
                    "length_dmm": part.length_dmm,
                    "factory_edges": 0,
                    "condition": "open",
                }
                for part in offcuts
                for _ in range(part.count)
            ],
            "pieces": [
                {
                    "width_dmm": part.width_dmm if found.form != "length" else 1,
                    "height_dmm": part.length_dmm,
                    "count": part.count,
                }
                for part in pieces
            ],
        }

    request = {
        "unit": unit,
        "pieces": [[p.width_dmm, p.length_dmm, p.count] for p in pieces],
        "offcuts": [[p.width_dmm, p.length_dmm, p.count] for p in offcuts],
        "take": take_dmm,
        "job": job,
        "place": place,
    }
    return desk.act("cut", request, build, happened_s=happened_s, key=key)


def _could_lie_in(unit: Unit, part: Part, take_dmm: int | None) -> None:
    """Refuse a part larger than what it was cut from, either way round."""
    if unit.form == "length":
        return  # the fold weighs lengths against what was cut off
    whole = (unit.width_dmm, unit.length_dmm if unit.form == "sheet" else take_dmm or 0)
    sides = zip(sorted((part.width_dmm, part.length_dmm)), sorted(whole), strict=True)
    if any(side > most for side, most in sides):
        raise RefusedError(
            f"{size_text(part.width_dmm, part.length_dmm)} cannot come out of "
            f"{size_text(*whole)}, the size of {unit.code} that was cut.",
            try_="Look at the sizes, and at the code.",
        )


@dataclass(frozen=True, slots=True)
class OffcutAnswer:
    """One offcut, or a full sheet where no offcut serves, and whether it takes the piece."""

    unit: Unit
    material: Material
    lot: Lot
    place: Place
    kind: Literal["offcut", "sheet"]
    fit: Fit | None
    why_not: str
    missing_dmm: int = 0


def find_offcut(
    desk: Desk,
    width_dmm: int,
    height_dmm: int,
    *,
    material: str | None = None,
    may_turn: bool = True,
    best: int = 3,
) -> tuple[list[OffcutAnswer], list[OffcutAnswer]]:
    """Return the offcuts that take a piece, best first, and those that do not, with why.

    The best offcut is the smallest that takes the piece: large ones are kept for large work.
    Full sheets follow offcuts, so that a sheet is opened only where no offcut serves.

    Parameters
    ----------
    desk : Desk
        The books.
    width_dmm, height_dmm : int
        Size of the piece.
    material : str, optional
        Of which material; any sheet or board if left out.
    may_turn : bool
        Whether the piece may lie either way.
    best : int
        How many to return of those that serve.
    """
    if not (0 < width_dmm <= LONGEST_DMM and 0 < height_dmm <= LONGEST_DMM):
        raise BadValueError("That size cannot be.", try_="Type it like 620 x 420 (mm).")
    with desk.reading() as view:
        wanted = find(view, Material, material) if material else None
        materials = {m.code: m for m in everything(view, Material)}
        lots = {lot.code: lot for lot in everything(view, Lot)}
        places = {place.code: place for place in everything(view, Place)}
        units = [u for u in in_stock(view) if u.form == "sheet"]
        jobs = {job.code: job.name for job in everything(view, Job)}
        put_by = [put for put in everything(view, PutBy) if put.open]
        promised = {
            u.code: [put for put in put_by if put.unit == u.code]
            for u in units
            if any(put.unit == u.code for put in put_by)
        }
    yes: list[OffcutAnswer] = []
    no: list[OffcutAnswer] = []
    for unit in units:
        lot = lots[unit.lot]
        stuff = materials[lot.material]
        if stuff.family not in ("sheet", "board") or (wanted and stuff.code != wanted.code):
            continue
        answer = _answer(unit, stuff, lot, places[unit.place], width_dmm, height_dmm, may_turn)
        held = unit.held or lot.held
        if answer.fit and held:
            answer = _but(answer, f"on hold: {held}")
        elif answer.fit and lot.owner == "customer":
            answer = _but(answer, "it belongs to a customer")
        elif answer.fit and unit.code in promised:
            puts = promised[unit.code]
            if unit.qty - sum(put.qty for put in puts) < unit.measure:
                names = sorted({jobs.get(put.job, put.job) for put in puts})
                answer = _but(answer, f"put by for {', '.join(names)}")
        (yes if answer.fit else no).append(answer)
    yes.sort(key=lambda a: (a.kind != "offcut", a.unit.measure, a.unit.received_s, a.unit.code))
    no.sort(key=lambda a: (a.kind != "offcut", -a.unit.measure, a.unit.code))
    return yes[:best], no


def _but(answer: OffcutAnswer, why: str) -> OffcutAnswer:
    return OffcutAnswer(
        answer.unit, answer.material, answer.lot, answer.place, answer.kind, None, why
    )


def _answer(
    unit: Unit,
    material: Material,
    lot: Lot,
    place: Place,
    width_dmm: int,
    height_dmm: int,
    may_turn: bool,
) -> OffcutAnswer:
    trim = TRIM_DMM if unit.factory_edges and not unit.is_offcut else 0
    found = offcut_fit(
        width_dmm,
        height_dmm,
        unit.width_dmm,
        unit.length_dmm,
        may_turn=may_turn,
        kerf_dmm=KERF_DMM,
        trim_dmm=trim,
    )
    kind: Literal["offcut", "sheet"] = "offcut" if _is_offcut(unit, material) else "sheet"
    if isinstance(found, Fit):
        return OffcutAnswer(unit, material, lot, place, kind, found, "")
    return OffcutAnswer(
        unit, material, lot, place, kind, None, found.why, max(0, found.missing_dmm)
    )


def _is_offcut(unit: Unit, material: Material) -> bool:
    """Cut here, or listed with a size below the material's full sheet."""
    full = (material.width_dmm or 0) * (material.length_dmm or 0)
    return unit.is_offcut or unit.measure < full
