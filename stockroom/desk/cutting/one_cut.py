"""Cutting: offcuts born from a cut, and the offcut that takes a piece."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal

from stockroom.core.making.sizes import KERF_DMM, TRIM_DMM
from stockroom.core.records import GRADES, Grade, Job, Lot, Material, Place, PutBy, Unit
from stockroom.core.records.asked import check_word
from stockroom.core.sheets import Fit, NoFit, offcut_fit
from stockroom.core.surfaces import corners_held
from stockroom.core.verdict import Reason
from stockroom.core.wording import sentence
from stockroom.desk.condition.surfaces import faces_of
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done
from stockroom.desk.stock.amounts import could_be_on_it
from stockroom.errors import BadValueError, RefusedError
from stockroom.units import LONGEST_DMM, size_text

Kind = Literal["offcut", "cut to size", "sheet"]
"""Cut here; cut by the supplier; a full sheet."""


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

    Raises
    ------
    RefusedError
        Where the parts come to more than was cut, or more was cut than can have been on it.
    """
    for part in (*pieces, *offcuts):
        if not (
            0 < part.width_dmm <= LONGEST_DMM
            and 0 < part.length_dmm <= LONGEST_DMM
            and 0 < part.count <= 1000
        ):
            raise BadValueError("A part of the cut has a size that cannot be.")

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Unit, unit)
        if found.shape.counted:
            raise BadValueError(f"{found.code} is counted, not cut.")
        if found.shape.flat and not pieces and not offcuts:
            raise BadValueError(
                f"What was cut from {found.code}?",
                "Neither a piece nor an offcut was named; all of it would be waste.",
                "Name what was cut; a sheet that broke is lost: stockroom lose CODE 1 --cause "
                "broken.",
            )
        if not found.shape.flat and not take_dmm:
            raise BadValueError(
                f"How much was cut off {found.code}?", try_="Give the length cut off."
            )
        could_be_on_it(decision, found, take_dmm or 0)
        for part in (*pieces, *offcuts):
            _could_lie_in(found, part, take_dmm)
        stands = find(decision.view, Place, place).code if place else found.place
        return {
            "unit": found.code,
            "take": 1 if found.shape.flat else take_dmm,
            "job": find(decision.view, Job, job).code if job else None,
            "children": [
                cut_off(decision, stands, 0 if found.shape.bar else part.width_dmm, part.length_dmm)
                for part in offcuts
                for _ in range(part.count)
            ],
            "pieces": [
                {
                    "width_dmm": part.width_dmm if not found.shape.bar else 1,
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


def cut_off(decision: Decision, place: str, width_dmm: int, length_dmm: int) -> dict[str, Any]:
    """Return what is cut off a unit and is one of its own from then on."""
    return {
        "code": decision.head.born(),
        "place": place,
        "width_dmm": width_dmm,
        "length_dmm": length_dmm,
        "factory_edges": 0,
        "condition": "open",
    }


def _could_lie_in(unit: Unit, part: Part, take_dmm: int | None) -> None:
    """Refuse a part larger than what it was cut from, either way round."""
    if unit.shape.bar:
        return  # the fold weighs lengths against what was cut off
    whole = (unit.width_dmm, unit.length_dmm if unit.shape.flat else take_dmm or 0)
    sides = zip(sorted((part.width_dmm, part.length_dmm)), sorted(whole), strict=True)
    if any(side > most for side, most in sides):
        raise RefusedError(
            f"{size_text(part.width_dmm, part.length_dmm)} cannot come out of "
            f"{size_text(*whole)}, the size of {unit.code} that was cut.",
            try_="Look at the sizes, and at the code.",
        )


@dataclass(frozen=True, slots=True)
class OffcutAnswer:
    """One offcut, or a sheet where no offcut serves, and whether it takes the piece.

    `reasons` are what its faces say to the use: cautions where it takes the piece, the bar where
    it does not.
    """

    unit: Unit
    material: Material
    lot: Lot
    place: Place
    kind: Kind
    fit: Fit | None
    why_not: str
    missing_dmm: int = 0
    use: Grade = "face"
    reasons: tuple[Reason, ...] = ()

    def cautions(self, today: date) -> list[str]:
        """Return what to know before it is cut, the weightiest first."""
        if self.fit is None:
            return []
        said = sorted(self.reasons, key=lambda reason: reason.weight != "warns")
        return [sentence(reason, today) for reason in said]


def use_of(material: Material, use: Grade | None = None) -> Grade:
    """Return for what a piece of a material is cut where nobody says: acrylic faces, boards back.

    >>> use_of(Material(code="1", name="Composite", family="board", form="sheet"))
    'back'
    """
    return use or material.traits.use


def find_offcut(
    desk: Desk,
    width_dmm: int,
    height_dmm: int,
    *,
    material: str | None = None,
    may_turn: bool = True,
    use: Grade | None = None,
    best: int = 3,
    today: date | None = None,
) -> tuple[list[OffcutAnswer], list[OffcutAnswer]]:
    """Return the offcuts that take a piece, best first, and those that do not, with why.

    The best offcut is the smallest that takes the piece: large ones are kept for large work.
    Sheets cut to size follow offcuts, then full sheets, so that a sheet is opened only where
    nothing else serves.

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
    use : str, optional
        What it is cut for: face, back or jig; a face from acrylic, a back from board if left out.
    best : int
        How many to return of those that serve.
    today : date, optional
        Reason as if it were this day.
    """
    if not (0 < width_dmm <= LONGEST_DMM and 0 < height_dmm <= LONGEST_DMM):
        raise BadValueError("That size cannot be.", try_="Type it like 620 x 420 (mm).")
    if use is not None:
        check_word("Use for a sheet", use, GRADES)
    yes: list[OffcutAnswer] = []
    no: list[OffcutAnswer] = []
    with reckoned(desk) as reckoning:
        wanted = find(reckoning.view, Material, material) if material else None
        promised: dict[str, list[PutBy]] = {}
        for put in reckoning.put_bys:
            promised.setdefault(put.unit, []).append(put)
        for stuff in reckoning.materials.values():
            if not stuff.traits.rigid or (wanted and stuff.code != wanted.code):
                continue
            for unit in reckoning.units_of(stuff.code):
                if not unit.shape.flat:
                    continue
                fit = fit_in(unit, width_dmm, height_dmm, may_turn)
                answer = _answer(reckoning, unit, stuff, fit)
                if answer.fit is not None:
                    piece = (width_dmm, height_dmm)
                    answer = _if_free(reckoning, answer, promised.get(unit.code, ()))
                    answer = _by_its_faces(
                        reckoning, answer, piece, use_of(stuff, use), today or desk.today()
                    )
                (yes if answer.fit else no).append(answer)
    order: tuple[Kind, ...] = ("offcut", "cut to size", "sheet")
    yes.sort(key=lambda a: (order.index(a.kind), a.unit.measure, a.unit.received_s, a.unit.code))
    no.sort(key=lambda a: (order.index(a.kind), -a.unit.measure, a.unit.code))
    return yes[:best], no


def _if_free(reckoning: Reckoning, answer: OffcutAnswer, puts: Sequence[PutBy]) -> OffcutAnswer:
    """The same answer, or no where it is held, a customer's, or put by."""
    unit, why = answer.unit, reckoning.kept_back(answer.unit)
    if why:
        return _but(answer, why)
    if puts and unit.qty - sum(put.qty for put in puts) < unit.measure:
        jobs = reckoning.jobs
        names = sorted({jobs[put.job].name if put.job in jobs else put.job for put in puts})
        return _but(answer, f"put by for {', '.join(names)}")
    return answer


def _by_its_faces(
    reckoning: Reckoning,
    answer: OffcutAnswer,
    piece_dmm: tuple[int, int],
    use: Grade,
    today: date,
) -> OffcutAnswer:
    """The same answer with what its faces say to the use; no where they bar it."""
    if answer.fit is None:
        return answer
    lies = (piece_dmm[1], piece_dmm[0]) if answer.fit.turned else piece_dmm
    reasons = face_reasons(reckoning, answer.unit, lies, use, today)
    answer = replace(answer, use=use, reasons=reasons)
    bars = next((reason for reason in reasons if reason.weight == "bars"), None)
    if bars is None:
        return answer
    why = sentence(bars, today).rstrip(".")
    return _but(answer, f"not for a {use}: {why[:1].lower()}{why[1:]}")


def face_reasons(
    reckoning: Reckoning, unit: Unit, lies_dmm: tuple[int, int], use: Grade, today: date
) -> tuple[Reason, ...]:
    """Return what the faces and corners of a sheet say to a piece that lies in it so."""
    faces = faces_of(reckoning, unit)
    chipped = faces.surface.chipped if faces.surface is not None else ""
    holds = corners_held(lies_dmm, (unit.width_dmm, unit.length_dmm), chipped)
    return tuple(faces.reasons(use, today, holds))


def _but(answer: OffcutAnswer, why: str) -> OffcutAnswer:
    return replace(answer, fit=None, why_not=why)


def fit_in(unit: Unit, width_dmm: int, height_dmm: int, may_turn: bool) -> Fit | NoFit:
    """Return how a piece lies in a sheet or offcut, the edges of a new sheet trimmed."""
    trim = TRIM_DMM if unit.factory_edges and not unit.is_offcut else 0
    return offcut_fit(
        width_dmm,
        height_dmm,
        unit.width_dmm,
        unit.length_dmm,
        may_turn=may_turn,
        kerf_dmm=KERF_DMM,
        trim_dmm=trim,
    )


def _answer(
    reckoning: Reckoning, unit: Unit, material: Material, found: Fit | NoFit
) -> OffcutAnswer:
    lot, place = reckoning.lot_of(unit), reckoning.places[unit.place]
    kind = _kind(unit, material)
    if isinstance(found, Fit):
        return OffcutAnswer(unit, material, lot, place, kind, found, "")
    return OffcutAnswer(
        unit, material, lot, place, kind, None, found.why, max(0, found.missing_dmm)
    )


def _kind(unit: Unit, material: Material) -> Kind:
    """Cut here, or listed below the material's full sheet; cut to size by the supplier."""
    full = material.whole_qty
    if unit.is_offcut or (unit.measure < full and unit.factory_edges):
        return "offcut"
    return "cut to size" if unit.measure < full or not unit.factory_edges else "sheet"
