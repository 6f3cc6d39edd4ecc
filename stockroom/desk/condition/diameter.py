"""Length from diameter: a roll of known length measured once, then any roll of it by the tape."""

from dataclasses import dataclass
from typing import Any

from stockroom.core.caliper import Winding as Wound
from stockroom.core.caliper import calibrated, length_left, plus_minus_of, pooled, sd_of
from stockroom.core.care import own_or_ours
from stockroom.core.condition import Winding
from stockroom.core.constants import CALIPER_UNSURE, CORE_UNSURE, PAPER_CALIPER
from stockroom.core.model import Material, Unit
from stockroom.desk.lookup import find
from stockroom.desk.stock.receiving import not_before_any_came
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import BadValueError, RefusedError
from stockroom.units import LONGEST_DMM

MEASURED_TO_DMM = 5
"""A diameter by tape or calliper is known to half a millimetre, ±, dmm (our choice)."""
WIDEST_DMM = 20_000
"""No roll is two metres across, dmm (our choice)."""


@dataclass(frozen=True, slots=True)
class Measured:
    """A length worked out of a diameter.

    Attributes
    ----------
    length_dmm, plus_minus_dmm : int
        The length, and within what it lies with 90 %.
    outer_dmm : int
        The diameter it was worked out of.
    rolls : int
        How many rolls of known length stand behind the caliper; 0 where none does.
    caliper_mm, core_mm : float
        As reckoned with.
    """

    length_dmm: int
    plus_minus_dmm: int
    outer_dmm: int
    rolls: int
    caliper_mm: float
    core_mm: float

    @property
    def source(self) -> str:
        """Where the caliper is from."""
        if self.rolls:
            count = "one roll" if self.rolls == 1 else f"{self.rolls} rolls"
            return f"caliper as wound, from {count} of known length"
        return "caliper by its label, not calibrated: measure a roll of known length"


def note_winding(
    desk: Desk,
    material: str,
    *,
    length_dmm: int,
    outer_dmm: int,
    core_dmm: int | None = None,
    length_plus_minus_dmm: int = 0,
    outer_plus_minus_dmm: int = MEASURED_TO_DMM,
    core_plus_minus_dmm: int | None = None,
    unit: str | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down a roll of known length, measured across.

    Parameters
    ----------
    desk, material
        Where, and of what.
    length_dmm : int
        What is wound on it.
    outer_dmm, core_dmm : int
        Across the roll and across its core, tenths of a millimetre; the material's own core.
    length_plus_minus_dmm, outer_plus_minus_dmm, core_plus_minus_dmm : int
        Within what each is known; a core by whether anybody measured it, if left out.
    unit : str, optional
        Which roll it was.

    Raises
    ------
    BadValueError
        Where a size cannot be.
    RefusedError
        Where it is not wound, or the roll is of another material.
    """
    sizes = (length_plus_minus_dmm, outer_plus_minus_dmm, core_plus_minus_dmm or 0)
    if not 0 < length_dmm <= LONGEST_DMM or not 0 < outer_dmm <= WIDEST_DMM:
        raise BadValueError("A length and a diameter above zero are wanted.", try_="Look again.")
    if not all(0 <= size <= LONGEST_DMM for size in sizes) or outer_plus_minus_dmm == 0:
        raise BadValueError(
            "Nothing is measured exactly.", "A plus or minus is zero or more, across above zero."
        )
    given: dict[str, Any] = {
        "length_dmm": length_dmm,
        "length_plus_minus_dmm": length_plus_minus_dmm,
        "outer_dmm": outer_dmm,
        "outer_plus_minus_dmm": outer_plus_minus_dmm,
        "core_plus_minus_dmm": core_plus_minus_dmm,
    }

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Material, material)
        if not found.shape.wound:
            raise RefusedError(f"{found.name} comes in no rolls.", try_="Name a paper or film.")
        core, core_off = core_dmm, core_plus_minus_dmm
        if core_off is None:
            off_mm = plus_minus_of(core_sd_mm(found))
            core_off = round(off_mm * 10) if core is None else MEASURED_TO_DMM
        if core is None:
            core = round(own_or_ours(found, "core_dmm") * 10)
        not_before_any_came(decision, found.code, happened_s)
        roll = None if unit is None else _roll_of(decision, unit, found)
        _wound(length_dmm, outer_dmm, core)
        return {
            "code": decision.head.born(),
            "material": found.code,
            "unit": roll,
            **given,
            "core_dmm": core,
            "core_plus_minus_dmm": core_off,
        }

    request = {"material": material, "unit": unit, "core_dmm": core_dmm, **given}
    return desk.act("winding", request, build, happened_s=happened_s, key=key)


def _roll_of(decision: Decision, said: str, material: Material) -> str:
    from stockroom.core.model import Lot

    unit = find(decision.view, Unit, said)
    if find(decision.view, Lot, unit.lot).material != material.code:
        raise RefusedError(f"{unit.code} is no roll of {material.name}.", try_="Look at its code.")
    return unit.code


def _wound(length_dmm: int, outer_dmm: int, core_dmm: int) -> None:
    """Refuse a caliper that no paper or film has: a slip of the unit."""
    caliper_mm = calibrated(length_dmm / 10, outer_dmm / 10, core_dmm / 10).caliper_mm
    if not 0.01 <= caliper_mm <= 2.0:
        raise BadValueError(
            f"That makes {caliper_mm:.3f} mm a wrap, which no paper or film has.",
            "Length is told in m, diameters in mm.",
            "Look at the numbers.",
        )


def length_from(
    reckoning: Reckoning,
    unit: Unit,
    outer_dmm: int,
    outer_plus_minus_dmm: int = MEASURED_TO_DMM,
) -> Measured:
    """Return the length on a roll from its diameter, with what it may be off by.

    Parameters
    ----------
    reckoning, unit
        What is read once, and which roll.
    outer_dmm, outer_plus_minus_dmm : int
        Across the roll, and within what that is known, tenths of a millimetre.

    Raises
    ------
    BadValueError
        Where the roll would be thinner than its core, or no roll is so thick.
    RefusedError
        Where it is not wound.
    """
    if not unit.shape.wound:
        raise RefusedError(f"{unit.code} is not wound on a core.", try_="Count it as it is.")
    wound, rolls = winding_of(reckoning, reckoning.material_of(unit))
    return by_tape(wound, rolls, outer_dmm, outer_plus_minus_dmm)


def by_tape(
    wound: Wound, rolls: int, outer_dmm: int, outer_plus_minus_dmm: int = MEASURED_TO_DMM
) -> Measured:
    """Return the length of a roll that winds so, from its diameter; as `length_from`."""
    if not 0 < outer_dmm <= WIDEST_DMM:
        raise BadValueError("No roll is so thick.", try_="Give the diameter in mm.")
    found = length_left(outer_dmm / 10, wound, sd_of(outer_plus_minus_dmm / 10))
    return Measured(
        round(found.length_mm * 10),
        max(1, round(found.plus_minus_mm * 10)),
        outer_dmm,
        rolls,
        wound.caliper_mm,
        wound.core_mm,
    )


def winding_of(reckoning: Reckoning, material: Material) -> tuple[Wound, int]:
    """Return how a material winds, and how many rolls of known length tell it."""
    known = windings_of(reckoning, material)
    core, core_sd = own_or_ours(material, "core_dmm"), core_sd_mm(material)
    if known:
        calibrations = [_calibration(item) for item in known]
        return pooled(calibrations, core, core_sd, shared_core=True).winding, len(known)
    caliper = material.thickness_um / 1_000 if material.thickness_um else PAPER_CALIPER.value
    return Wound(caliper, core, caliper * CALIPER_UNSURE.value, core_sd), 0


def core_sd_mm(material: Material) -> float:
    """Return the standard uncertainty of a material's core, mm: measured once, or by nobody."""
    return CORE_UNSURE.value if material.core_dmm is None else sd_of(MEASURED_TO_DMM / 10)


def windings_of(reckoning: Reckoning, material: Material) -> list[Winding]:
    """Return the rolls of known length of a material that were measured across, each roll once.

    Of a roll that was measured again the last time counts; one whose code nobody told is one more.
    """
    found: dict[str, Winding] = {}
    for item in reckoning.records.all(Winding):
        if item.material != material.code:
            continue
        roll = item.unit or f"untold {item.code}"
        before = found.get(roll)
        if before is None or (before.at_s, before.act) < (item.at_s, item.act):
            found[roll] = item
    return list(found.values())


def _calibration(item: Winding) -> Wound:
    return calibrated(
        item.length_dmm / 10,
        item.outer_dmm / 10,
        item.core_dmm / 10,
        sd_of(item.outer_plus_minus_dmm / 10),
        sd_of(item.core_plus_minus_dmm / 10),
        sd_of(item.length_plus_minus_dmm / 10),
    )


def measured_text(found: Measured) -> str:
    """Return a measured length as a person says it.

    >>> measured_text(Measured(114_000, 3_000, 1_520, 1, 0.24, 89.0))
    '11.4 m ± 0.3 m, from 152.0 mm across'
    """
    return (
        f"{found.length_dmm / 10_000:.1f} m ± {max(found.plus_minus_dmm, 500) / 10_000:.1f} m, "
        f"from {found.outer_dmm / 10:.1f} mm across"
    )


def measure(desk: Desk, said: str, outer_dmm: int, outer_plus_minus_dmm: int) -> Measured:
    """Return the length on a roll named by its code, from its diameter."""
    from stockroom.desk.reckoning import reckoned

    with reckoned(desk) as reckoning:
        unit = find(reckoning.view, Unit, said)
        return length_from(reckoning, unit, outer_dmm, outer_plus_minus_dmm)
