"""Condition of sheets and rolls: what they were like when looked over, and known faults."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from typing import Any

from stockroom import clock
from stockroom.core.records import (
    Fault,
    Grade,
    Masking,
    Matte,
    Surface,
    Unit,
)
from stockroom.core.records.asked import asked, check_fields
from stockroom.core.surfaces import ALL_CORNERS, corner_text, corners, good_for, of_offcut
from stockroom.core.verdict import Reason
from stockroom.desk.lookup import find, material_of
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.mapping import MOVEMENT, moved
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.units import length_dmm, m_text

NO_CHIP = ("", "none", "no")
"""What says that no corner is chipped."""


def look_over(
    desk: Desk,
    unit: str,
    *,
    mask_front: Masking | None = None,
    mask_back: Masking | None = None,
    grade: Grade | None = None,
    chipped: str | None = None,
    matte: Matte | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down what a sheet or board is like; what is not given stays as it was.

    Parameters
    ----------
    desk, unit
        Where, and which; of a pack, all sheets that are left in it.
    mask_front, mask_back : str, optional
        One of `MASKINGS`.
    grade : str, optional
        What it is good for: one of `GRADES`.
    chipped : str, optional
        Chipped corners, such as ``top left``; ``none`` for none.
    matte : str, optional
        Which side is matte: one of `MATTES`.

    Raises
    ------
    RefusedError
        Where it is no sheet or board, or a later look stands in the books.
    BadValueError
        Where a word is none that is known, or nothing is told.
    """
    given = {"mask_front": mask_front, "mask_back": mask_back, "grade": grade, "matte": matte}
    check_fields(Surface, given)
    told: dict[str, Any] = {name: value for name, value in given.items() if value is not None}
    if chipped is not None:
        none = chipped.strip().lower() in NO_CHIP
        told["chipped"] = "" if none else corner_text(corners(chipped))
    if not told:
        raise BadValueError(
            f"What {safe(unit, length=30)} is like was not told.",
            "A look is written down by what was seen.",
            "Tell at least one: --mask-front, --mask-back, --grade, --chipped or --matte.",
        )

    def build(decision: Decision) -> dict[str, Any]:
        found = sheet_of(decision.view, unit)
        own = decision.view.get(Surface, found.code)
        if own is not None and happened_s is not None and happened_s < own.seen_s:
            raise RefusedError(
                f"{found.code} was looked over on {clock.moment_text(own.seen_s, decision.zone)}, "
                "after that time.",
                "Only the last look is kept.",
                "Look at the time, or undo that look first.",
            )
        before = own or _of_parent(
            partial(decision.view.get, Surface), partial(decision.view.get, Unit), found
        )
        return {**_plain(before), **told, "unit": found.code}

    request = {"unit": unit, **told}
    return desk.act("surface", request, build, happened_s=happened_s, key=key)


def sheet_of(view: StoreView, said: str) -> Unit:
    """Return a sheet or board, which has faces to look over, by its code."""
    found = find(view, Unit, said)
    if not (found.shape.flat and material_of(view, found).traits.rigid):
        raise RefusedError(
            f"{found.code} is no sheet or board.",
            "Masks, corners and grades are of sheets and boards.",
            "Look at the code.",
        )
    return found


def roll_of(view: StoreView, said: str) -> Unit:
    """Return a roll along which faults are told, by its code."""
    found = find(view, Unit, said)
    if not (found.shape.wound and material_of(view, found).traits.on_core):
        raise RefusedError(
            f"{found.code} is no roll of film or paper.",
            "Faults are told by their distance from the start of a roll.",
            "A sheet is looked over: stockroom look-over CODE.",
        )
    return found


def _plain(before: Surface | None) -> dict[str, str]:
    if before is None:
        return {}
    fields = (*asked(Surface), "chipped")
    return {name: getattr(before, name) for name in fields}


def note_fault(
    desk: Desk,
    unit: str,
    from_dmm: int,
    to_dmm: int,
    what: str,
    *,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down a fault in a roll of film or paper.

    Parameters
    ----------
    desk, unit
        Where, and in which roll.
    from_dmm, to_dmm : int
        Where it lies, from the outer end of the roll as it was delivered; the same for a spot.
    what : str
        What it is, such as a gel, a crease, a splice.

    Raises
    ------
    RefusedError
        Where it is no roll of film or paper.
    BadValueError
        Where it does not lie on the roll as it was delivered.
    """
    named = safe(what, length=80)
    if not named:
        raise BadValueError("A fault needs a word.", try_="Say what it is: gel, crease, splice.")

    def build(decision: Decision) -> dict[str, Any]:
        found = roll_of(decision.view, unit)
        came_dmm = length_come_dmm(decision.view, found)
        if not 0 <= from_dmm <= to_dmm <= came_dmm:
            raise BadValueError(
                f"A fault from {from_dmm / 10_000:g} to {to_dmm / 10_000:g} m does not lie on "
                f"{found.code}.",
                f"It came with {m_text(came_dmm)}; distances count from its outer end as it came.",
                "Look at m, cm, mm; where it ends must not be before where it begins.",
            )
        return {
            "code": decision.head.born(),
            "unit": found.code,
            "from_dmm": from_dmm,
            "to_dmm": to_dmm,
            "what": named,
        }

    request = {"unit": unit, "from": from_dmm, "to": to_dmm, "what": named}
    return desk.act("fault", request, build, happened_s=happened_s, key=key)


def distance_dmm(text: str) -> int:
    """Return a distance along a roll in dmm; a bare number is metres, and 0 is its very start.

    >>> distance_dmm("3.2"), distance_dmm("0"), distance_dmm("45 mm")
    (32000, 0, 450)
    """
    plain = text.strip().removesuffix("m").strip()
    return 0 if plain and not plain.strip("0.,") else length_dmm(text, "m")


def length_come_dmm(view: StoreView, unit: Unit) -> int:
    """Return the length a roll came with, what was found of it since counted in, dmm."""
    finds = moved(view.connection, MOVEMENT.c.unit == unit.code, MOVEMENT.c.kind == "found")
    found = sum(move.qty for _, move in finds)
    return max(unit.remaining_dmm, unit.length_dmm + found // max(1, unit.measure))


def faults_of(reckoning: Reckoning, unit: Unit) -> list[Fault]:
    """Return the known faults of a roll, the outermost first."""
    found = [fault for fault in reckoning.records.all(Fault) if fault.unit == unit.code]
    return sorted(found, key=lambda fault: (fault.from_dmm, fault.to_dmm, fault.code))


def surface_of(reckoning: Reckoning, unit: Unit) -> Surface | None:
    """Return what a sheet was like when last looked over; None where nobody looked.

    An offcut that nobody looked over since it was cut is taken to be as its sheet: `unit` in what
    is returned is then the sheet's code. Which corners it kept is not known, so it keeps them all.
    """
    kept = reckoning.records.kinds[Surface.kind]

    def look(code: str) -> Surface | None:
        found = kept.get(code)
        return found if isinstance(found, Surface) else None

    return look(unit.code) or _of_parent(look, reckoning.unit, unit)


@dataclass(frozen=True, slots=True)
class Faces:
    """A sheet's faces as they bear on a use.

    Attributes
    ----------
    surface : Surface or None
        What was seen last; None where nobody has looked.
    seen_on, masked_since : date or None
        The day of that look; since when the masking has been on.
    own : bool
        Whether that look was of this unit, not of the sheet it was cut from.
    """

    surface: Surface | None
    seen_on: date | None
    masked_since: date | None
    own: bool

    def reasons(self, use: Grade, today: date, keeps_corners: str = ALL_CORNERS) -> list[Reason]:
        """Return what speaks against a use, and what to know."""
        return good_for(
            use, self.surface, today, self.masked_since,
            keeps_corners=keeps_corners, seen_on=self.seen_on, own=self.own,
        )  # fmt: skip


def faces_of(reckoning: Reckoning, unit: Unit) -> Faces:
    """Return a sheet's faces: what was seen last and when, and the age of its masking."""
    surface = surface_of(reckoning, unit)
    seen = None if surface is None else clock.local_date(surface.seen_s, reckoning.zone)
    made = reckoning.lot_of(unit).made_on
    since = made or clock.local_date(reckoning.received_s(unit), reckoning.zone)
    return Faces(surface, seen, since, surface is None or surface.unit == unit.code)


def _of_parent(
    look: Callable[[str], Surface | None], unit_of: Callable[[str], Unit | None], unit: Unit
) -> Surface | None:
    """The look of the nearest sheet above an offcut that was looked over."""
    above = unit_of(unit.parent) if unit.parent is not None else None
    while above is not None:
        found = look(above.code)
        if found is not None:
            return of_offcut(found)
        above = unit_of(above.parent) if above.parent is not None else None
    return None
