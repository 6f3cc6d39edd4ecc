"""Prints of several jobs laid side by side on rolls: how, and what length it saves."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from stockroom.core.cutting.request import CutPiece
from stockroom.core.cutting.strip import Roll, RollPlan, length_of, roll_plans
from stockroom.core.cutting.tree import Lying
from stockroom.core.geometry import DoesNotFit, PrintOnRoll, RollRules, print_layout
from stockroom.core.making.sizes import roll_rules
from stockroom.core.records import Job, Material, Unit
from stockroom.core.wording import sentence
from stockroom.desk.condition.checking import paper_alone
from stockroom.desk.cutting.sheets import CutsSaid, jobs_meant
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.picking import picked
from stockroom.text import listed
from stockroom.units import count_of, m_text, mm_text, size_text

_UNFIT = {
    "too wide": "wider than the paper, whichever way it lies",
    "too long": "longer than the printer prints",
    "only when turned": "it fits only when turned",
}
PRINT = """
    job=part.code x_mm=x_dmm/10 y_mm=y_dmm/10 width_mm=part.width_dmm/10
    height_mm=part.height_dmm/10 turned=part.turned
"""


@dataclass(frozen=True, slots=True)
class Band:
    """Prints that lie side by side: from where to where along the roll, dmm."""

    from_dmm: int
    to_dmm: int
    parts: tuple[Lying, ...]


@dataclass(frozen=True, slots=True, eq=False)
class RollWork:
    """How the prints of some jobs lie on the rolls of a paper.

    Attributes
    ----------
    jobs : tuple of Job
        Soonest first.
    plans : tuple of RollPlan or None
        A roll each; None where no way was found to lay all of them on what is there.
    places : mapping of str to str
        Where the rolls stand, by code.
    apart_dmm : int
        The length that the jobs take one after another, dmm.
    passed_over : tuple of (Unit, str)
        Rolls that may not be used, and why.
    unfit : tuple of (Job, str)
        Jobs whose prints go on no roll of this paper, and why; nothing of them is laid.
    asking : mapping of str to str
        Of the rolls that want a strip first, by code, why.
    """

    material: Material
    jobs: tuple[Job, ...]
    plans: tuple[RollPlan, ...] | None
    places: dict[str, str]
    apart_dmm: int
    passed_over: tuple[tuple[Unit, str], ...]
    unfit: tuple[tuple[Job, str], ...] = ()
    asking: Mapping[str, str] = field(default_factory=dict)

    @property
    def length_dmm(self) -> int:
        """The length that they take together, the gap after the last on each roll with it."""
        return sum(plan.plan.cost for plan in self.plans or ())

    @property
    def prints(self) -> int:
        """How many prints there are."""
        return sum(job.to_print for job in self.jobs)


def plan_rolls(
    desk: Desk, said: CutsSaid | None = None, *, on: date | None = None
) -> list[RollWork]:  # fmt: skip
    """Return how the prints of open work lie on rolls, a plan for each paper.

    All prints of a job come from one roll. A roll counts where it is of the paper's full width,
    fresh on the day of the last of these prints, ours and not on hold; its leader, its tail and
    what is put by for other work are taken off. Rolls that want a strip first are used only where
    the others do not hold the work.

    Parameters
    ----------
    said : CutsSaid, optional
        Jobs, material, day, what is left out, effort and seed count.
    on : date, optional
        Reason as if it were this day.

    Raises
    ------
    UnknownCodeError
        Where a job, material or roll is not in the books.
    """
    said = said or CutsSaid()
    with reckoned(desk, on) as reckoning:
        today = on or desk.today()
        only = find(reckoning.view, Material, said.material).code if said.material else None
        by: dict[str, list[Job]] = {}
        for job in jobs_meant(reckoning, said, today):
            if job.printed_here and job.to_print > 0 and only in (None, job.material):
                by.setdefault(job.material, []).append(job)
        return [
            _work(reckoning, reckoning.materials[code], tuple(jobs), said, today)
            for code, jobs in by.items()
            if reckoning.materials[code].shape.wound
        ]


def _work(
    reckoning: Reckoning, material: Material, jobs: tuple[Job, ...], said: CutsSaid, today: date
) -> RollWork:
    rules = roll_rules(material)
    layouts = [(job, _layout(job, material, rules)) for job in jobs]
    unfit = tuple(
        (job, _UNFIT[layout.kind]) for job, layout in layouts if isinstance(layout, DoesNotFit)
    )
    jobs = tuple(job for job, layout in layouts if isinstance(layout, PrintOnRoll))
    day = max([today, *(job.print_on for job in jobs)])
    places, rolls, asking, passed_over = _rolls(
        reckoning, material, jobs, said, rules, (today, day)
    )
    wide = (material.width_dmm or 0) - 2 * rules.margin_dmm
    series = [(_piece(job, rules),) for job in jobs]
    found = None
    ready = [roll for roll in rolls if roll.code not in asking]
    for some in [ready, rolls] if asking else [rolls]:
        if found is None and some and wide > 0 and series:
            found = roll_plans(
                series, some, wide, rules.gap_dmm, effort=said.effort, seed=said.seed
            )
    return RollWork(
        material,
        jobs,
        None if found is None else tuple(found),
        places,
        sum(_alone(job, material, rules) for job in jobs),
        tuple(passed_over),
        unfit,
        asking,
    )


def _rolls(
    reckoning: Reckoning,
    material: Material,
    jobs: tuple[Job, ...],
    said: CutsSaid,
    rules: RollRules,
    days: tuple[date, date],
) -> tuple[dict[str, str], list[Roll], dict[str, str], list[tuple[Unit, str]]]:
    """The rolls that may be used: where they stand, the shortest first; why some want a strip."""
    today, day = days
    without = {find(reckoning.view, Unit, name).code for name in said.without}
    ours = {job.code for job in jobs}
    places: dict[str, str] = {}
    rolls: list[Roll] = []
    asking: dict[str, str] = {}
    passed_over: list[tuple[Unit, str]] = []
    for unit in reckoning.units_of(material.code):
        lot = reckoning.lot_of(unit)
        others = sum(
            put.qty // unit.measure
            for put in reckoning.put_bys
            if put.unit == unit.code and put.job not in ours
        )
        leader = 0 if unit.is_open else rules.leader_dmm
        room = unit.remaining_dmm - rules.tail_dmm - leader - others
        decides = paper_alone(reckoning, unit, day)[0]
        why = ""
        if unit.width_dmm != material.width_dmm:
            why = f"it is {mm_text(unit.width_dmm)} wide"
        elif unit.held or lot.held:
            why = f"on hold: {unit.held or lot.held}"
        elif lot.owner == "customer":
            why = "it belongs to a customer"
        elif unit.code in without:
            why = "left out, as you said"
        elif decides.weight == "bars":
            off = decides.kind == "off"
            why = "past its day then" if off else sentence(decides, today).removesuffix(".")
        elif room <= 0:
            why = "put by for other work"
        if why:
            passed_over.append((unit, why))
        else:
            places[unit.code] = reckoning.places[unit.place].name
            rolls.append(Roll(unit.code, room))
            if decides.weight == "asks":
                asking[unit.code] = sentence(decides, today)
    rolls.sort(key=lambda roll: (roll.length_dmm, roll.code))
    return places, rolls, asking, passed_over


def _layout(job: Job, material: Material, rules: RollRules) -> PrintOnRoll | DoesNotFit:
    width = material.width_dmm or 0
    return print_layout(job.width_dmm, job.height_dmm, width, rules, count=job.to_print)


def _piece(job: Job, rules: RollRules) -> CutPiece:
    """A job's prints, lying only as the printer's longest print lets them."""
    most = rules.longest_print_dmm
    wide, high = job.width_dmm, job.height_dmm
    if most is None or max(wide, high) <= most:
        return CutPiece(job.code, wide, high, job.to_print)
    return CutPiece(job.code, max(wide, high), min(wide, high), job.to_print, turn=False)


def _alone(job: Job, material: Material, rules: RollRules) -> int:
    """The length that a job takes by itself, its rows full where it can be."""
    layout = _layout(job, material, rules)
    if not isinstance(layout, PrintOnRoll):
        return 0
    return -(-job.to_print // layout.side_by_side) * layout.row_dmm


def bands_of(plan: RollPlan) -> tuple[Band, ...]:
    """Return what lies on a roll, band after band from its end, as it is cut across first."""
    found, at = [], 0
    kerf = plan.plan.request.saw.kerf_dmm
    for one in plan.plan.blanks:
        parts = [lain for lain in one.parts(kerf) if lain.part.what == "piece"]
        for band in _cut_across(parts):
            end = max(lain.y_dmm + lain.part.height_dmm for lain in band)
            begin = min(lain.y_dmm for lain in band)
            found.append(Band(at + begin, at + end, _from_own_edge(band, begin)))
        at += one.blank.height_dmm + kerf
    return tuple(found)


def _cut_across(parts: list[Lying]) -> Iterator[tuple[Lying, ...]]:
    """Yield prints that no straight cut across the roll parts, from its end on."""
    band: list[Lying] = []
    end = 0
    for lain in sorted(parts, key=lambda one: (one.y_dmm, one.x_dmm)):
        if band and lain.y_dmm >= end:
            yield tuple(band)
            band = []
        band.append(lain)
        end = max(end, lain.y_dmm + lain.part.height_dmm)
    if band:
        yield tuple(band)


def _from_own_edge(band: tuple[Lying, ...], begin: int) -> tuple[Lying, ...]:
    return tuple(replace(lain, y_dmm=lain.y_dmm - begin) for lain in band)


def roll_lines(work: RollWork) -> Iterator[str]:
    """Yield a plan of rolls in words, a band a line."""
    prints = count_of(work.prints, "print")
    verb = "takes" if work.prints == 1 else "take"
    if not work.jobs:
        yield f"{work.material.name}: nothing of this can be laid."
    elif work.plans is None:
        yield f"{work.material.name}: no way was found to lay {prints} on the rolls that are there."
    else:
        saved = work.apart_dmm - work.length_dmm
        yield (
            f"{work.material.name}: {prints} {verb} {m_text(work.length_dmm)}, one job after "
            f"another {m_text(work.apart_dmm)}"
            f"{f': {m_text(saved)} saved' if saved > 0 else ', so nothing is saved'}."
        )
    names = {job.code: job.name for job in work.jobs}
    for plan in work.plans or ():
        left = plan.roll.length_dmm - length_of(plan.plan)
        yield f"  Roll {plan.roll.code}, {work.places[plan.roll.code]}: leaves {m_text(left)}"
        if plan.roll.code in work.asking:
            yield f"    Run a strip first. {work.asking[plan.roll.code]}"
        for band in bands_of(plan):
            told = [_part_text(lain, names, band) for lain in band.parts]
            each = [
                f"{told.count(text)} x {text}" if told.count(text) > 1 else text
                for text in dict.fromkeys(told)
            ]
            where = f"{m_text(band.from_dmm)} to {m_text(band.to_dmm)}"
            yield f"    {where}: {listed(each)}"
    for job, why in work.unfit:
        size = size_text(job.width_dmm, job.height_dmm)
        yield f"  Not laid: {job.name}, {size}: {why}."
    for unit, why in work.passed_over:
        yield f"  Not used: {unit.code}: {why}."


def _part_text(lain: Lying, names: dict[str, str], band: Band) -> str:
    """A print in words; where prints of its band begin at several lengths, with its place."""
    part = lain.part
    turned = ", turned" if part.turned else ""
    text = f"{names[part.code]} {size_text(part.width_dmm, part.height_dmm)}{turned}"
    if not any(other.y_dmm for other in band.parts):
        return text
    along = m_text(band.from_dmm + lain.y_dmm)
    return f"{text} from {along}, {m_text(lain.x_dmm)} in from the edge"


def roll_value(work: RollWork) -> dict[str, Any]:
    """Return a plan of rolls as plain data, lengths in mm from the roll's end."""
    return {
        **picked(work, "material=material.code name=material.name prints"),
        "length_mm": None if work.plans is None else work.length_dmm / 10,
        "one_after_another_mm": work.apart_dmm / 10,
        "rolls": [
            {
                "unit": plan.roll.code,
                "strip_first": work.asking.get(plan.roll.code),
                "usable_mm": plan.roll.length_dmm / 10,
                "bands": [
                    {
                        **picked(band, "from_mm=from_dmm/10 to_mm=to_dmm/10"),
                        "prints": [
                            picked(lain, PRINT) | {"y_mm": (band.from_dmm + lain.y_dmm) / 10}
                            for lain in band.parts
                        ],
                    }
                    for band in bands_of(plan)
                ],
            }
            for plan in work.plans or ()
        ],
        **picked(work, "not_laid=unfit[](job=0.code why=1)"),
        **picked(work, "not_used=passed_over[](unit=0.code why=1)"),
    }
