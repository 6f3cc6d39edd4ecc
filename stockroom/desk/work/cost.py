"""What work costs in materials, expected and real; what stock is worth, and when it goes off."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from stockroom import clock
from stockroom.core.making.chain import draws_needed
from stockroom.core.making.sizes import Takes, takes
from stockroom.core.records import FINISHED, PARTS, Job, Material, Part, Unit, Used
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.work.attempts import pieces_of, recipe_for
from stockroom.desk.work.needs import job_needs
from stockroom.desk.work.spoilage import DMM2_PER_M2, learned_of, loss_shares


@dataclass(frozen=True, slots=True)
class PartCost:
    """What one part of a job costs.

    Attributes
    ----------
    material : Material or None
    once_cents : float or None
        What taking it once costs; None where no price is known.
    from_start_cents : float or None
        What it costs a piece on average from its first print on, remakes with it.
    still_cents : float or None
        What the rest of the job still takes on average.
    spent_cents, lost_cents : int
        What it took so far, and how much of that is lost.
    """

    part: Part
    material: Material | None
    once_cents: float | None
    from_start_cents: float | None
    still_cents: float | None
    spent_cents: int
    lost_cents: int
    taken_free: bool = False
    """Whether something was taken that no price was written down for when it came."""


@dataclass(frozen=True, slots=True)
class JobCost:
    """What a job costs in materials: expected for a piece, so far, and still to come."""

    job: Job
    parts: tuple[PartCost, ...]

    @property
    def piece_once_cents(self) -> float:
        """A piece where nothing is lost."""
        return sum(part.once_cents or 0.0 for part in self.parts)

    @property
    def piece_expected_cents(self) -> float:
        """A piece with its expected remakes."""
        return sum(part.from_start_cents or 0.0 for part in self.parts)

    @property
    def spent_cents(self) -> int:
        """What the job took so far, what was lost with it."""
        return sum(part.spent_cents for part in self.parts)

    @property
    def lost_cents(self) -> int:
        """How much of that was lost."""
        return sum(part.lost_cents for part in self.parts)

    @property
    def still_cents(self) -> float:
        """What the rest takes on average."""
        return sum(part.still_cents or 0.0 for part in self.parts)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """The parts for which no price is known, which no sum holds."""
        return tuple(part.part for part in self.parts if part.once_cents is None)

    @property
    def taken_free(self) -> tuple[str, ...]:
        """The parts taken from stock that came without a price."""
        return tuple(part.part for part in self.parts if part.taken_free)


def job_cost(reckoning: Reckoning, job: Job) -> JobCost:
    """Return what a job costs, expected and so far.

    A price is what stock of the material cost, else its list price. Expected remakes come from
    the same distributions as the needs.
    """
    recipe = recipe_for(reckoning, job)
    used = [item for item in reckoning.records.all(Used) if item.job == job.code]
    chain = recipe.chain(loss_shares(reckoning))
    area_m2 = job.area_dmm2 / DMM2_PER_M2
    yields = learned_of(reckoning).yields_for(area_m2)
    still = {need.part: need for need in job_needs(reckoning, job)}
    parts = []
    for part in recipe.parts:
        mine = [item for item in used if item.part == part]
        need = still.get(part)
        material, once = _once(reckoning, job, part, mine)
        expected = still_cents = None
        if once is not None:
            begin = {recipe.state("print", ()): 1}
            tries = draws_needed(chain, begin, PARTS.index(part), area_m2, yields)
            expected = once * tries.mean
            still_cents = once * (0.0 if need is None else need.tries.mean)
        parts.append(
            PartCost(
                part,
                material,
                once,
                expected,
                still_cents,
                sum(item.cost_cents for item in mine),
                sum(item.cost_cents for item in mine if item.fate == "lost"),
                any(not item.cost_cents for item in mine),
            )
        )
    return JobCost(job, tuple(parts))


def _once(
    reckoning: Reckoning, job: Job, part: Part, used: Sequence[Used]
) -> tuple[Material | None, float | None]:
    """The material of a part, and what taking it once costs, cents."""
    recipe = recipe_for(reckoning, job)
    layer = recipe.layer(part)
    code = job.material if part == "paper" else layer.material if layer is not None else None
    material = reckoning.materials.get(code or "")
    if part == "paper" and not job.printed_here:
        return None, None
    if material is None:
        if used:
            last = used[-1]
            return reckoning.materials[last.material], float(last.cost_cents)
        return None, None
    taken = takes(material, layer, job.width_dmm, job.height_dmm, job.count)
    if not isinstance(taken, Takes) or not taken.whole:
        return material, None
    whole = whole_cents(reckoning, material)
    return material, None if whole is None else whole * taken.amount / taken.whole


def whole_cents(reckoning: Reckoning, material: Material) -> float | None:
    """Return what a whole roll, sheet or bar of a material costs, cents.

    What its stock cost, by area or length; its list price where there is none with a price.
    """
    units = [unit for unit in reckoning.units_of(material.code) if unit.cost_left_cents]
    qty = sum(unit.qty for unit in units)
    if qty:
        one = material.whole_qty
        if one:
            return sum(unit.cost_left_cents for unit in units) * one / qty
    return None if material.price_cents is None else float(material.price_cents)


@dataclass(frozen=True, slots=True)
class StockValue:
    """What stock is worth, and what of it goes off in which month.

    Attributes
    ----------
    cents : int
        All that is ours, at what it cost.
    past_cents : int
        Of that, past its day already.
    by_month : tuple of (date, int)
        The first day of a month, and what ends in it.
    undated_cents : int
        What has no last day.
    made_cents : int
        What stands in pieces that are not finished.
    """

    cents: int
    past_cents: int
    by_month: tuple[tuple[date, int], ...]
    undated_cents: int
    made_cents: int


def stock_value(reckoning: Reckoning, today: date) -> StockValue:
    """Return what our stock is worth, and when it goes off; a customer's own is left out."""
    total = past = undated = 0
    by_month: dict[date, int] = {}
    for unit in reckoning.units.values():
        if reckoning.lot_of(unit).owner == "customer" or not unit.cost_left_cents:
            continue
        total += unit.cost_left_cents
        ends = _ends(reckoning, unit)
        if ends is None:
            undated += unit.cost_left_cents
        elif ends < today:
            past += unit.cost_left_cents
        else:
            month = ends.replace(day=1)
            by_month[month] = by_month.get(month, 0) + unit.cost_left_cents
    open_ = {
        piece.code
        for job in reckoning.jobs.values()
        for piece in pieces_of(reckoning, job)
        if piece.stage != FINISHED
    }
    made = sum(
        item.cost_cents
        for item in reckoning.records.all(Used)
        if item.piece in open_ and item.fate == "in"
    )
    return StockValue(total, past, tuple(sorted(by_month.items())), undated, made)


def _ends(reckoning: Reckoning, unit: Unit) -> date | None:
    if reckoning.material_of(unit).traits.ages:
        return clock.local_date(int(min(reckoning.ends_s(unit), 4e9)), reckoning.zone)
    return reckoning.last_day(unit).ends
