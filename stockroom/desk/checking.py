"""Checking: OK to print? For one roll or the best candidates, and a strip judged by eye."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from stockroom import clock
from stockroom.core.model import STRIP_RESULTS, Job, Material, StripResult, Unit
from stockroom.core.verdict import Candidate, Verdict, Wish, best_first, ok_to_print
from stockroom.core.yields import MountYield, PrintYield
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.session import Bench, Desk, Done
from stockroom.errors import BadValueError
from stockroom.text import safe


@dataclass(frozen=True, slots=True, eq=False)
class Answered:
    """A roll and the answer for it."""

    roll: Candidate
    verdict: Verdict


@dataclass(frozen=True, slots=True, eq=False)
class Answers:
    """What was asked, and every roll of that paper, best first."""

    wish: Wish
    material: Material
    rolls: tuple[Answered, ...]
    job: Job | None = None

    @property
    def best(self) -> Answered | None:
        """The roll to take, or None where there is none at all."""
        return self.rolls[0] if self.rolls else None


def ok(
    desk: Desk,
    *,
    unit: str | None = None,
    job: str | None = None,
    material: str | None = None,
    width_dmm: int | None = None,
    height_dmm: int | None = None,
    count: int = 1,
    series: bool = False,
    day: date | None = None,
    today: date | None = None,
) -> Answers:
    """Return whether a roll, or which roll, is good for a print on a day.

    Parameters
    ----------
    desk : Desk
        The books.
    unit : str, optional
        One roll; all rolls of the paper if left out.
    job : str, optional
        A booked job, which tells paper, size, count and day.
    material, width_dmm, height_dmm, count, series : optional
        The print, where no job tells it; a size in tenths of a millimetre.
    day : date, optional
        The day of the print; the job's, or today.
    today : date, optional
        Reason as if it were this day.

    Raises
    ------
    BadValueError
        Where the print is not told.
    """
    with desk.reading() as view:
        reckoning = Reckoning(view, instant_of(desk, today), desk.zone)
        on = today or desk.today()
        found_unit = find(view, Unit, unit) if unit else None
        booked = find(view, Job, job) if job else None
        paper = _paper(reckoning, material, booked, found_unit)
        wish = _wish(booked, width_dmm, height_dmm, count, series, day or on, told=day is not None)
        promised = promised_dmm(reckoning, booked.code if booked else None)
        rolls = (
            [found_unit]
            if found_unit
            else [
                u
                for u in reckoning.units.values()
                if u.form == "roll" and reckoning.material_of(u).code == paper.code
            ]
        )
        return answers(reckoning, rolls, wish, on, paper, promised, booked)


def answers(
    reckoning: Reckoning,
    rolls: list[Unit],
    wish: Wish,
    today: date,
    paper: Material,
    promised: Mapping[str, int],
    job: Job | None = None,
) -> Answers:
    """Return the answer for each of some rolls, best first."""
    prints, mounts = yields(reckoning)
    pairs = []
    for unit in rolls:
        roll = candidate(reckoning, unit, wish, promised)
        pairs.append((roll, ok_to_print(roll, wish, today, print_yield=prints, mount_yield=mounts)))
    ranked = tuple(Answered(roll, verdict) for roll, verdict in best_first(pairs))
    return Answers(wish, paper, ranked, job)


def candidate(
    reckoning: Reckoning, unit: Unit, wish: Wish, promised: Mapping[str, int]
) -> Candidate:
    """Return a roll with all that is known of it, for a print."""
    strip = reckoning.strips.get(unit.code)
    lot = reckoning.lot_of(unit)
    siblings = tuple(
        max(0, other.remaining_dmm - promised.get(other.code, 0))
        for other in reckoning.units.values()
        if other.code != unit.code
        and other.form == "roll"
        and other.width_dmm == unit.width_dmm
        and _beside(reckoning, unit, other, wish)
    )
    aged = None
    if strip is not None:
        strip_day = clock.local_date(strip.at_s, reckoning.zone)
        aged = (strip.result, max(0, (wish.day - strip_day).days))
    return Candidate(
        unit=unit,
        lot=lot,
        material=reckoning.material_of(unit),
        place=reckoning.places[unit.place],
        usable=reckoning.usable_by(unit),
        strip=aged,
        promised_dmm=promised.get(unit.code, 0),
        siblings_dmm=siblings,
    )


def _beside(reckoning: Reckoning, unit: Unit, other: Unit, wish: Wish) -> bool:
    """Whether another roll may serve the remakes: good, and of the emulsion where it matters."""
    lot, others = reckoning.lot_of(unit), reckoning.lot_of(other)
    if other.held or others.held or reckoning.usable_by(other).likely < wish.day:
        return False
    if wish.series:
        return lot.known and lot.code == others.code
    return lot.material == others.material


def promised_dmm(reckoning: Reckoning, for_job: str | None) -> dict[str, int]:
    """Return what of each roll is put by for other jobs than this one, dmm of length."""
    promised: dict[str, int] = {}
    for put in reckoning.put_bys:
        unit = reckoning.units.get(put.unit)
        if unit is not None and unit.form == "roll" and put.job != for_job:
            promised[put.unit] = promised.get(put.unit, 0) + put.qty // max(1, unit.measure)
    return promised


def yields(reckoning: Reckoning) -> tuple[PrintYield, MountYield]:
    """Return what is known of losses: the weak priors, and the shop's own counted prints."""
    good_m2, lost, lost_m2 = 0.0, 0, 0.0
    for job in reckoning.jobs.values():
        area_m2 = job.width_dmm * job.height_dmm / 1e8
        good_m2 += job.good * area_m2
        lost += job.lost
        lost_m2 += job.lost * area_m2
    return PrintYield().updated(lost, good_m2 + lost_m2), MountYield()


def judge_strip(
    desk: Desk,
    unit: str,
    result: StripResult,
    *,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down a test strip judged by eye: clean, yellow or unsure; yellow holds the roll."""
    if result not in STRIP_RESULTS:
        raise BadValueError(
            f"{safe(result, length=30)!r} is no judgement of a strip.",
            f"It is one of: {', '.join(STRIP_RESULTS)}.",
        )

    def build(bench: Bench) -> dict[str, Any]:
        return {
            "code": bench.head.born(),
            "unit": find(bench.view, Unit, unit).code,
            "result": result,
        }

    return desk.act(
        "strip", {"unit": unit, "result": result}, build, happened_s=happened_s, key=key
    )


def instant_of(desk: Desk, today: date | None) -> int:
    """Return the instant to reason at: now, or noon of another day in the workshop's zone."""
    if today is None or today == desk.today():
        return desk.now_s()
    return clock.start_of_day_s(today, desk.zone) + 12 * 3600


def _paper(reckoning: Reckoning, said: str | None, job: Job | None, unit: Unit | None) -> Material:
    if said:
        return find(reckoning.view, Material, said)
    if job is not None:
        return reckoning.materials[job.material]
    if unit is not None:
        return reckoning.material_of(unit)
    raise BadValueError(
        "Which paper?", "Neither a roll, a job nor a paper was named.", "Scan a roll."
    )


def _wish(
    job: Job | None,
    width_dmm: int | None,
    height_dmm: int | None,
    count: int,
    series: bool,
    day: date,
    *,
    told: bool,
) -> Wish:
    if width_dmm and height_dmm:
        return Wish(width_dmm, height_dmm, count, day, series)
    if job is not None:
        return Wish(
            job.width_dmm,
            job.height_dmm,
            max(1, job.to_print),
            day if told else job.print_on,
            job.series,
        )
    raise BadValueError(
        "Which size?", "Neither a job nor a size was named.", "Give it like 2500x1250."
    )
