"""What a try would take: for each layer the unit to take it from, put by first, oldest first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from stockroom.core.geometry import DoesNotFit
from stockroom.core.making.recipe import Recipe
from stockroom.core.making.sizes import layer_size, on_roll, roll_rules
from stockroom.core.records import PARTS, Job, Layer, Material, Part, Piece, Try, Unit, Used
from stockroom.core.sheets import Fit
from stockroom.core.surfaces import barred
from stockroom.desk.cutting.one_cut import face_reasons, fit_in, use_of
from stockroom.desk.reckoning import Reckoning
from stockroom.units import DMM_PER_MM

KEEP_OFFCUT_DMM = 150 * DMM_PER_MM
"""An offcut narrower than this is not kept by itself, dmm (15 cm, our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What is to be taken for one part of a piece.

    Attributes
    ----------
    part, layer : str, Layer or None
        The part, and its layer; None for the print of a job without a build.
    material : Material
        Of what.
    unit : Unit or None
        From which unit; None where nothing in stock serves.
    amount : int
        A length (dmm), or a number.
    cut : (int, int) or None
        The size cut out of a larger sheet, dmm; None where it is taken whole.
    offcuts : tuple of (int, int)
        What the cut leaves that is worth keeping, dmm.
    put_by : bool
        Whether it comes off what is put by for the job.
    why : str
        Why this unit, or why none.
    """

    part: Part
    layer: Layer | None
    material: Material
    unit: Unit | None
    amount: int = 1
    cut: tuple[int, int] | None = None
    offcuts: tuple[tuple[int, int], ...] = ()
    put_by: bool = False
    why: str = ""


class Stores:
    """What of the stock is free, taken from as the parts of a piece are chosen.

    Parameters
    ----------
    reckoning : Reckoning
        What is read once.
    job : Job
        For whom; what is put by for it counts as free, and comes first.
    day : date
        On which day it is used.
    """

    def __init__(self, reckoning: Reckoning, job: Job, day: date) -> None:
        self.reckoning = reckoning
        self.job = job
        self.day = day
        self.mine: dict[str, int] = {}
        self.taken: dict[str, int] = {}
        self._spent: dict[str, int] = {}
        for put in reckoning.put_bys:
            held = self.mine if put.job == job.code else self.taken
            held[put.unit] = held.get(put.unit, 0) + put.qty
        self.emulsions = _emulsions(reckoning, job)

    def free(self, unit: Unit) -> int:
        """Return how much of a unit is free for the job: a length (dmm), or a number."""
        return max(0, unit.qty - self.taken.get(unit.code, 0)) // max(1, unit.measure)

    def take(self, unit: Unit, amount: int) -> bool:
        """Count an amount as taken; tell whether it comes off what is put by for the job."""
        qty = amount * unit.measure
        spent = self._spent.get(unit.code, 0)
        off_put_by = 0 < self.mine.get(unit.code, 0) - spent >= qty
        self._spent[unit.code] = spent + qty
        self.taken[unit.code] = self.taken.get(unit.code, 0) + qty
        return off_put_by

    def puts_by(self, unit: Unit) -> bool:
        """Return whether something of a unit is put by for the job and not taken yet."""
        return self.mine.get(unit.code, 0) > self._spent.get(unit.code, 0)

    def usable(self, material: Material) -> list[Unit]:
        """Return the units of a material that may be used on the day, in the order to take them.

        What is put by comes first; then, for a series, its own emulsion; then what ends soonest,
        and of sheets the smallest. A held unit, a customer's that is not put by, and one past its
        day are left out.
        """
        found = []
        for unit in self.reckoning.units_of(material.code):
            lot = self.reckoning.lot_of(unit)
            mine = unit.code in self.mine
            if unit.held or lot.held or (lot.owner == "customer" and not mine):
                continue
            if not mine and not self.reckoning.good_on(unit, self.day):
                continue
            if self.free(unit) > 0:
                found.append(unit)
        return sorted(found, key=self._order)

    def _order(self, unit: Unit) -> tuple[Any, ...]:
        lot = self.reckoning.lot_of(unit)
        series = self.job.series and bool(self.emulsions)
        return (
            not self.puts_by(unit),
            series and lot.code not in self.emulsions,
            not unit.is_offcut if unit.shape.flat else False,
            unit.measure if unit.shape.flat else 0,
            self._ends(unit),
            unit.amount,
            unit.received_s,
            unit.code,
        )

    def _ends(self, unit: Unit) -> float:
        if self.reckoning.material_of(unit).traits.ages:
            return self.reckoning.ends_s(unit)
        ends = self.reckoning.last_day(unit).ends
        return float((ends or date.max).toordinal())


def _emulsions(reckoning: Reckoning, job: Job) -> set[str]:
    """The emulsions on which pieces of the job are printed already."""
    return {
        used.lot
        for used in reckoning.records.all(Used)
        if used.job == job.code and used.part == "paper" and used.fate == "in"
    }


def drawn_for(
    stores: Stores,
    recipe: Recipe,
    stage: str,
    held: Sequence[str],
    chosen: Mapping[str, str] | None = None,
) -> list[Drawn]:
    """Return what a try at a stage takes, part by part; nothing is booked.

    Parameters
    ----------
    stores : Stores
        What is free.
    recipe : Recipe
        How the piece is made.
    stage : str
        Which stage.
    held : sequence of str
        Parts that the piece has already.
    chosen : mapping of part to unit code, optional
        Units named by a person; the books choose the others.
    """
    job, reckoning = stores.job, stores.reckoning
    chosen = chosen or {}
    found: list[Drawn] = []
    if stage == "print" and "paper" not in held and job.printed_here:
        paper = reckoning.materials[job.material]
        layer = recipe.layer("paper")
        found.append(_draw(stores, "paper", layer, [paper], chosen.get("paper")))
    for layer in recipe.drawn_at(stage):
        if layer.part == "paper" or layer.part in held:
            continue
        codes = [code for code in (layer.material, layer.instead) if code]
        materials = [reckoning.materials[code] for code in codes if code in reckoning.materials]
        named = chosen.get(layer.part)
        if named and (unit := reckoning.units.get(named)) is not None:
            materials = [reckoning.material_of(unit), *materials]
        if materials:
            found.append(_draw(stores, layer.part, layer, materials, named))
    return found


def _draw(
    stores: Stores,
    part: Part,
    layer: Layer | None,
    materials: Sequence[Material],
    named: str | None,
) -> Drawn:
    """The unit for one part: the one named, else the first that takes it."""
    why_not = ""
    for material in materials:
        units = stores.usable(material)
        if named is not None:
            unit = stores.reckoning.units.get(named)
            units = [unit] if unit is not None else []
        for unit in units:
            found = _from_unit(stores, part, layer, material, unit, named is not None)
            if isinstance(found, Drawn):
                return replace(found, put_by=stores.take(unit, found.amount))
            why_not = why_not or found
    if not why_not:
        why_not = "none in stock that may be used on the day"
    return Drawn(part, layer, materials[0], None, why=why_not)


def _from_unit(
    stores: Stores, part: Part, layer: Layer | None, material: Material, unit: Unit, told: bool
) -> Drawn | str:
    """What is taken of a unit for a part, or why it does not serve."""
    job = stores.job
    wide, high = layer_size(layer, job.width_dmm, job.height_dmm)
    turn = layer.turn if layer is not None else "any"
    free = unit.amount if told else stores.free(unit)
    why = "put by" if stores.puts_by(unit) else ""
    if unit.shape.wound:
        layout = on_roll(material, unit.width_dmm, wide, high, turn, 1)
        if isinstance(layout, DoesNotFit):
            return f"{unit.code} is too narrow"
        rules = roll_rules(material)
        amount = layout.row_dmm if part == "paper" else layout.along_dmm
        if not told and amount > free - rules.tail_dmm:
            return f"{unit.code} is too short"
        return Drawn(part, layer, material, unit, amount, why=why or "ends soonest")
    if unit.shape.bar:
        amount = 2 * (wide + high)
        if not told and amount > free:
            return f"{unit.code} is too short"
        return Drawn(part, layer, material, unit, amount, why=why or "shortest")
    if unit.shape.counted:
        return Drawn(part, layer, material, unit, 1, why=why or "ends soonest")
    return _from_sheet(stores, part, layer, material, unit, (wide, high), turn, told)


def _from_sheet(
    stores: Stores,
    part: Part,
    layer: Layer | None,
    material: Material,
    unit: Unit,
    size: tuple[int, int],
    turn: str,
    told: bool,
) -> Drawn | str:
    put_by = stores.puts_by(unit)
    if sorted(size) == sorted((unit.width_dmm, unit.length_dmm)):
        why = "put by" if put_by else "of that very size"
        return Drawn(part, layer, material, unit, 1, why=why)
    wide, high = size
    may_turn = turn == "any"
    if not may_turn:
        long_side, short_side = max(size), min(size)
        along, across = (long_side, short_side) if turn == "long edge" else (short_side, long_side)
        wide, high = (across, along) if unit.length_dmm >= unit.width_dmm else (along, across)
    fit = fit_in(unit, wide, high, may_turn)
    if not isinstance(fit, Fit):
        return f"{unit.code} is too small"
    if not told:
        use = use_of(material, "face" if part == "sheet" else "back")
        lies = (high, wide) if fit.turned else (wide, high)
        reasons = face_reasons(stores.reckoning, unit, lies, use, stores.day)
        if barred(reasons):
            return f"{unit.code} is no good as a {use}"
    kept = tuple(left for left in fit.remainders if min(left) >= KEEP_OFFCUT_DMM)
    why = "put by" if put_by else "smallest offcut that takes it" if unit.is_offcut else "sheet"
    return Drawn(part, layer, material, unit, 1, (wide, high), kept, why=why)


def later_draws(stores: Stores, recipe: Recipe, pieces: Sequence[Piece]) -> list[Drawn]:
    """Return what the stages after the print of a new piece take and is not put by yet.

    What the job's other pieces in the making still take comes off its put-by first.
    """
    reckoning = stores.reckoning
    stages = [stage for stage in recipe.stages if stage != "print"]
    for piece in pieces:
        if piece.stage in recipe.stages and piece.stage != "print":
            held = in_hand(reckoning, recipe, piece)
            for stage in stages:
                drawn_for(stores, recipe, stage, held)
    found = [item for stage in stages for item in drawn_for(stores, recipe, stage, [])]
    return [item for item in found if item.unit is not None and not item.put_by]


def in_hand(reckoning: Reckoning, recipe: Recipe, piece: Piece | None) -> list[Part]:
    """Return the parts that a piece has and that are still good.

    All that the stages before the one it waits for take, whether or not a unit tells of it; and
    what a try took that was lost to something else.
    """
    if piece is None:
        return []
    own = {
        used.part
        for used in reckoning.records.all(Used)
        if used.piece == piece.code and used.fate == "in"
    }
    had = own | recipe.before(piece.stage)
    return [part for part in PARTS if part in had]


def tries_of(reckoning: Reckoning, job: str) -> list[Try]:
    """Return the tries of a job in the order in which they happened."""
    mine = [item for item in reckoning.records.all(Try) if item.job == job]
    return sorted(mine, key=lambda item: (item.at_s, item.act, item.code))
