"""Frame profiles cut by plan: which side of which frame comes from which length."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from stockroom.core.cutting.plan import CutBlank, CutPlan, best_plan
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.worth import BarRule, Worth
from stockroom.core.making.sizes import KERF_DMM, layer_size
from stockroom.core.records import Job, Material
from stockroom.desk.cutting.from_lists import plan_value
from stockroom.desk.cutting.sheets import BUY_PER_MILLE, CutsSaid, jobs_meant, lacking
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.work.attempts import recipe_for
from stockroom.picking import picked
from stockroom.text import listed
from stockroom.units import count_of, day_text, mm_text

HIGH = 1
"""Height that stands for a bar in a plan, dmm: all of them are alike in it."""
NEW_LENGTH = "new length"
"""What a length is called that must be bought first."""


@dataclass(frozen=True, slots=True)
class Side:
    """Sides of frames of one length that a job still needs: outside lengths, with the mitres."""

    job: Job
    part: str
    length_dmm: int
    count: int

    @property
    def code(self) -> str:
        """What it is called in a plan."""
        return f"{self.job.code}/{self.part} {self.length_dmm}"


@dataclass(frozen=True, slots=True, eq=False)
class BarWork:
    """What is to be cut of one profile, and how.

    Attributes
    ----------
    sides : tuple of Side
    plan : CutPlan or None
        None where there is nothing to cut from, not even to buy.
    places : mapping of str to str
        Where the lengths in stock stand, by code.
    order_by : date or None
        The last day to order lengths that must be bought.
    """

    material: Material
    sides: tuple[Side, ...]
    plan: CutPlan | None
    places: dict[str, str]
    order_by: date | None = None

    @property
    def bars(self) -> tuple[CutBlank, ...]:
        """The lengths that are cut, those in stock first."""
        if self.plan is None:
            return ()
        return tuple(sorted(self.plan.blanks, key=lambda one: one.blank.code == NEW_LENGTH))

    @property
    def to_buy(self) -> int:
        """How many lengths must be bought."""
        return sum(one.blank.code == NEW_LENGTH for one in self.bars)


def plan_bars(
    desk: Desk, said: CutsSaid | None = None, *, on: date | None = None
) -> list[BarWork]:  # fmt: skip
    """Return how the frames of open work are cut from lengths, a plan for each profile.

    Nothing is put by: what a frame takes is booked when it is framed.

    Parameters
    ----------
    said : CutsSaid, optional
        Jobs, day, what is left out, effort and seed count.
    on : date, optional
        Reason as if it were this day.

    Raises
    ------
    UnknownCodeError
        Where a job is not in the books.
    """
    said = said or CutsSaid()
    with reckoned(desk, on) as reckoning:
        today = on or desk.today()
        by: dict[str, list[Side]] = {}
        for job in jobs_meant(reckoning, said, today):
            for layer in recipe_for(reckoning, job).layers:
                material = reckoning.materials.get(layer.material or "")
                if material is None or not material.shape.bar:
                    continue
                count = lacking(reckoning, job, layer.part)
                sizes = layer_size(layer, job.width_dmm, job.height_dmm)
                if count > 0:
                    by.setdefault(material.code, []).extend(
                        Side(job, layer.part, length, 2 * count * sizes.count(length))
                        for length in dict.fromkeys(sizes)
                    )
        return [
            _work(reckoning, reckoning.materials[code], tuple(sides), said, today)
            for code, sides in by.items()
        ]


def _work(
    reckoning: Reckoning,
    material: Material,
    sides: tuple[Side, ...],
    said: CutsSaid,
    today: date,
) -> BarWork:
    jobs = {side.job.code for side in sides}
    new: tuple[Blank, ...] = ()
    if material.length_dmm:
        dearer = material.length_dmm * (1_000 + BUY_PER_MILLE) // 1_000
        new = (Blank(NEW_LENGTH, material.length_dmm, HIGH, None, dearer),)
    places, free = {}, {}
    for unit in reckoning.units_of(material.code):
        others = sum(
            put.qty for put in reckoning.put_bys if put.unit == unit.code and put.job not in jobs
        )
        lot = reckoning.lot_of(unit)
        length = unit.remaining_dmm - others
        kept = unit.held or lot.held or lot.owner == "customer" or unit.code in said.without
        if unit.shape.bar and length > 0 and not kept:
            places[unit.code], free[unit.code] = reckoning.places[unit.place].name, length
    rule = BarRule()
    pieces = tuple(CutPiece(s.code, s.length_dmm, HIGH, s.count, turn=False) for s in sides)
    full = new or tuple(Blank(code, length, HIGH) for code, length in free.items())
    plan = None
    if full:
        worth = Worth(rule, (), full)
        blanks = tuple(
            Blank(code, length, HIGH, 1, _cost(length, material, worth), trimmed=False)
            for code, length in free.items()
        )
        request = Request(pieces, (*blanks, *new), Saw(KERF_DMM))
        plan = best_plan(request, rule=rule, effort=said.effort, seed=said.seed)
    return BarWork(material, sides, plan, places, _order_by(material, sides, plan, today))


def _cost(length: int, material: Material, worth: Worth) -> int:
    """A whole length costs what it measures, a begun one what keeping it is worth."""
    return length if length == material.length_dmm else worth.of(length, HIGH)


def _order_by(
    material: Material, sides: tuple[Side, ...], plan: CutPlan | None, today: date
) -> date | None:
    if plan is None or material.lead_days is None:
        return None
    days = {side.code: side.job.print_on for side in sides}
    waiting = [
        days[lain.part.code]
        for one in plan.blanks
        if one.blank.code == NEW_LENGTH
        for lain in one.parts(KERF_DMM)
        if lain.part.what == "piece"
    ]
    return max(today, min(waiting) - timedelta(days=material.lead_days)) if waiting else None


def bar_lines(work: BarWork, today: date) -> Iterator[str]:
    """Yield a plan of lengths in words, a length a line."""
    pieces = sum(side.count for side in work.sides)
    if work.plan is None:
        yield f"{work.material.name}: nothing in stock for {count_of(pieces, 'side')}."
        return
    here = len(work.bars) - work.to_buy
    taken = [count_of(here, "length")] if here else []
    taken += [f"{count_of(work.to_buy, 'length')} to buy"] if work.to_buy else []
    out = sum(number for _, number in work.plan.left_out)
    sides = count_of(pieces - out, "side")
    yield f"{work.material.name}: {sides} from {listed(taken or ['none'])}."
    if work.to_buy:
        by = f", by {day_text(work.order_by, today)}" if work.order_by else ""
        yield f"  Order {count_of(work.to_buy, 'length')} first{by}."
    names = {side.code: side.job.name for side in work.sides}
    for one in work.bars:
        parts = [lain.part for lain in one.parts(KERF_DMM)]
        cuts = ", ".join(f"{part.width_dmm / 10:g}" for part in parts if part.what == "piece")
        jobs = dict.fromkeys(names[part.code] for part in parts if part.what == "piece")
        left = next((part for part in parts if part.what != "piece"), None)
        rest = f"; {mm_text(left.width_dmm)} {_left(left.what)}" if left is not None else ""
        yield f"  {_title(work, one)}: {cuts} mm for {listed(list(jobs))}{rest}"
    for code, number in work.plan.left_out:
        side = next(item for item in work.sides if item.code == code)
        yield f"  No length for {number} of {mm_text(side.length_dmm)}, {side.job.name}."


def _title(work: BarWork, one: CutBlank) -> str:
    length = mm_text(one.blank.width_dmm)
    if one.blank.code == NEW_LENGTH:
        return f"A new length, {length}"
    return f"{one.blank.code}, {length}, {work.places[one.blank.code]}"


def _left(what: str) -> str:
    return "left to keep" if what == "offcut" else "waste"


def bar_value(work: BarWork) -> dict[str, Any]:
    """Return a plan of lengths as plain data; blanks as in `stockroom.cuts/1`."""
    sides = "sides[](code job=job.code length_mm=length_dmm/10 count)"
    told = picked(work, f"material=material.code name=material.name {sides} to_buy order_by")
    return told | {"plan": work.plan and plan_value(work.plan)}
