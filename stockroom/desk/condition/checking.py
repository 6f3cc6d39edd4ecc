"""Checking: OK to print? For one roll or the best candidates, and a strip judged by eye."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from stockroom import clock
from stockroom.core.records import STRIP_RESULTS, Job, Material, PutBy, StripResult, Unit
from stockroom.core.records.asked import check_word
from stockroom.core.verdict import (
    Candidate,
    Reason,
    Verdict,
    Wish,
    best_first,
    length_of,
    ok_to_print,
    paper_reasons,
    prints_on,
)
from stockroom.core.wording import dated
from stockroom.core.yields import MountYield, PrintYield
from stockroom.desk.condition.opened import opened_of
from stockroom.desk.lookup import find, material_of
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done
from stockroom.desk.work.spoilage import learned_of
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.view import StoreView


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

    What is put by for other jobs, or counted on by jobs booked for earlier days, is not free.

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
    with reckoned(desk, today) as reckoning:
        on = reckoning.today
        found_unit = find(reckoning.view, Unit, unit) if unit else None
        booked = find(reckoning.view, Job, job) if job else None
        paper = _paper(reckoning, material, booked, found_unit)
        must_be_printed_on(paper)
        if day is not None and day < on:
            raise BadValueError(
                f"{dated(day)} is past.",
                "Freshness is told for a print that is still to come.",
                "Give today or a later day.",
            )
        if width_dmm and height_dmm:
            wish = Wish(width_dmm, height_dmm, count, day or on, series, paper.code)
        elif booked is not None:
            wish = _wish_of(booked, paper, day or booked.print_on)
        else:
            raise BadValueError(
                "Which size?", "Neither a job nor a size was named.", "Give it like 2500x1250."
            )
        free = Free(reckoning, booked.code if booked else None)
        for earlier in bookings(reckoning, on):
            if booked is not None and earlier.job.code == booked.code:
                break
            if earlier.job.print_on <= wish.day and earlier.job.sure:
                free.count_on(earlier)
        rolls = [found_unit] if found_unit else rolls_of(reckoning, paper)
        return answers(reckoning, rolls, wish, on, paper, free, booked)


class Free:
    """What of each roll is free for one print: not put by for other jobs, not counted on by them.

    Parameters
    ----------
    reckoning : Reckoning
        What is read once.
    job : str or None
        The job it is asked for; what is put by for it counts as free.
    """

    def __init__(self, reckoning: Reckoning, job: str | None) -> None:
        self.reckoning = reckoning
        self.taken_dmm: dict[str, int] = {}
        for put in reckoning.put_bys:
            if put.job != job:
                self._take(put.unit, _put_dmm(reckoning, put))

    def count_on(self, booking: "Booking") -> None:
        """Take away what an earlier booking counts on, beyond what is put by for it."""
        for code, dmm in booking.takes_dmm.items():
            put = sum(
                _put_dmm(self.reckoning, put)
                for put in self.reckoning.put_bys
                if put.unit == code and put.job == booking.job.code
            )
            self._take(code, max(0, dmm - put))

    def _take(self, code: str, dmm: int) -> None:
        self.taken_dmm[code] = self.taken_dmm.get(code, 0) + dmm

    def of(self, unit: Unit) -> int:
        """Return what is free of a roll, dmm."""
        return max(0, unit.remaining_dmm - self.taken_dmm.get(unit.code, 0))


def _put_dmm(reckoning: Reckoning, put: PutBy) -> int:
    unit = reckoning.units.get(put.unit)
    return 0 if unit is None or not unit.shape.wound else put.qty // max(1, unit.measure)


@dataclass(frozen=True, slots=True, eq=False)
class Booking:
    """A booked job with the answers for every roll of its paper, and what it counts on of each."""

    job: Job
    answers: Answers
    takes_dmm: Mapping[str, int]


def bookings(reckoning: Reckoning, today: date) -> list[Booking]:
    """Return each booked job that is printed here, soonest first, with what earlier ones leave.

    Only sure work counts on a roll; what may come is answered, and takes nothing from the rest.
    """
    made: list[Booking] = []
    for job in reckoning.booked:
        if not (job.to_print and job.printed_here):
            continue
        paper = reckoning.materials[job.material]
        free = Free(reckoning, job.code)
        for earlier in made:
            if earlier.job.sure:
                free.count_on(earlier)
        wish = _wish_of(job, paper, max(job.print_on, today))
        rolls = rolls_of(reckoning, paper, job.code)
        found = answers(reckoning, rolls, wish, today, paper, free, job)
        made.append(Booking(job, found, _takes(found, free)))
    return made


def _takes(found: Answers, free: Free) -> dict[str, int]:
    """What a job counts on: its prints on the best roll, and the rest on the next good ones."""
    takes: dict[str, int] = {}
    left = found.wish.count
    best = found.best
    if best is None or best.verdict.answer == "no":
        return takes
    for item in found.rolls:
        unit = item.roll.unit
        if item is not best and not _beside(free.reckoning, best.roll.unit, unit, found.wish):
            continue
        holds = min(left, item.verdict.length.prints)
        dmm = length_of(holds, unit.width_dmm, item.roll.material, found.wish, item.roll.loaded)
        if dmm:
            takes[unit.code] = dmm
        left -= holds
        if left <= 0:
            break
    return takes


def rolls_of(reckoning: Reckoning, paper: Material, job: str | None = None) -> list[Unit]:
    """Return the rolls of a paper; a customer's own only where it is put by for the job."""
    put = {item.unit for item in reckoning.put_bys if item.job == job}
    return [
        unit
        for unit in reckoning.units_of(paper.code)
        if unit.shape.wound and (reckoning.lot_of(unit).owner != "customer" or unit.code in put)
    ]


def answers(
    reckoning: Reckoning,
    rolls: Sequence[Unit],
    wish: Wish,
    today: date,
    paper: Material,
    free: Free,
    job: Job | None = None,
) -> Answers:
    """Return the answer for each of some rolls, best first."""
    prints, mounts = yields(reckoning, wish.width_dmm * wish.height_dmm / 1e8)
    beside = _Beside(reckoning, wish, free)
    pairs = []
    for unit in rolls:
        roll = candidate(reckoning, unit, wish, free, beside)
        pairs.append((roll, _verdict(reckoning, roll, wish, today, prints, mounts)))
    ranked = tuple(Answered(roll, verdict) for roll, verdict in best_first(pairs))
    return Answers(wish, paper, ranked, job)


def _verdict(
    reckoning: Reckoning,
    roll: Candidate,
    wish: Wish,
    today: date,
    prints: PrintYield,
    mounts: MountYield,
) -> Verdict:
    """The answer for one roll; kept in mind as long as all it rests on is the same."""
    kept = reckoning.in_mind_of(roll.unit)
    lasts = roll.usable or roll.ends
    made_of = (roll.unit, roll.lot, roll.material, roll.place, lasts, today)
    if kept.verdicts_of != made_of:
        kept.verdicts_of, kept.verdicts = made_of, {}
    beside = (roll.promised_dmm, roll.beside_prints, roll.beside_rolls)
    asked = (wish, roll.strip, roll.strip_at, roll.white, roll.opened, beside, prints, mounts)
    if asked not in kept.verdicts:
        kept.verdicts[asked] = ok_to_print(
            roll, wish, today, print_yield=prints, mount_yield=mounts
        )
    return kept.verdicts[asked]


def candidate(
    reckoning: Reckoning, unit: Unit, wish: Wish, free: Free, beside: "_Beside"
) -> Candidate:
    """Return a roll with all that is known of it, for a print."""
    strip = reckoning.strips.get(unit.code)
    aged = None
    if strip is not None:
        strip_day = clock.local_date(strip.at_s, reckoning.zone)
        aged = (strip.result, max(0, (wish.day - strip_day).days))
    prints, rolls = beside.of(unit)
    white = reckoning.whites.of(unit)
    seen = None
    if white is not None:
        seen = white.seen(lambda at_s: clock.local_date(at_s, reckoning.zone), wish.day)
    material = reckoning.material_of(unit)
    ages = material.traits.ages
    return Candidate(
        unit=unit,
        lot=reckoning.lot_of(unit),
        material=material,
        place=reckoning.places[unit.place],
        usable=reckoning.usable_by(unit) if ages else None,
        ends=None if ages else reckoning.last_day(unit).ends,
        strip=aged,
        strip_at=None if strip is None else (strip.at_s, strip.act),
        white=seen,
        opened=opened_of(reckoning, unit),
        promised_dmm=unit.remaining_dmm - free.of(unit),
        beside_prints=prints,
        beside_rolls=rolls,
    )


def paper_alone(reckoning: Reckoning, unit: Unit, day: date) -> list[Reason]:
    """Return what speaks for and against a roll on a day, whatever length is wanted of it.

    Parameters
    ----------
    unit : Unit
        A roll.
    day : date
        The day of the print.
    """
    wish = Wish(1, 1, 1, day, material=reckoning.material_of(unit).code)
    free = Free(reckoning, None)
    roll = candidate(reckoning, unit, wish, free, _Beside(reckoning, wish, free))
    return paper_reasons(roll, wish)


class _Beside:
    """How many of a print's copies the rolls beside one hold, counted once for each group."""

    def __init__(self, reckoning: Reckoning, wish: Wish, free: Free) -> None:
        self.reckoning = reckoning
        self.wish = wish
        self.free = free
        self._holds: dict[str, int] = {}
        self._groups: dict[tuple[str, int], tuple[int, int]] = {}
        for unit in reckoning.units_of(wish.material):
            if unit.shape.wound and _good_beside(reckoning, unit, wish):
                holds = prints_on(
                    free.of(unit), unit.width_dmm, reckoning.material_of(unit), wish, False
                )
                self._holds[unit.code] = holds
                group = self._group(unit)
                prints, rolls = self._groups.get(group, (0, 0))
                self._groups[group] = (prints + holds, rolls + 1)

    def _group(self, unit: Unit) -> tuple[str, int]:
        lot = self.reckoning.lot_of(unit)
        if not self.wish.series:
            return lot.material, unit.width_dmm
        return (lot.code if lot.known else f"alone {unit.code}"), unit.width_dmm

    def of(self, unit: Unit) -> tuple[int, int]:
        """Return how many prints the other rolls hold, and how many such rolls there are."""
        prints, rolls = self._groups.get(self._group(unit), (0, 0))
        own = self._holds.get(unit.code)
        return (prints, rolls) if own is None else (prints - own, rolls - 1)


def _good_beside(reckoning: Reckoning, unit: Unit, wish: Wish) -> bool:
    """Whether a roll may serve remakes: of this paper, ours, not held, still good on the day."""
    lot = reckoning.lot_of(unit)
    if unit.held or lot.held or lot.owner == "customer" or lot.material != wish.material:
        return False
    return reckoning.good_on(unit, wish.day)


def _beside(reckoning: Reckoning, unit: Unit, other: Unit, wish: Wish) -> bool:
    """Whether another roll may carry on where one ends: good, and of the emulsion if it matters."""
    lot, others = reckoning.lot_of(unit), reckoning.lot_of(other)
    same = lot.known and lot.code == others.code if wish.series else True
    return same and other.width_dmm == unit.width_dmm and _good_beside(reckoning, other, wish)


def yields(reckoning: Reckoning, area_m2: float) -> tuple[PrintYield, MountYield]:
    """Return what is known of losses for prints of an area, m2: weak priors and the own counts."""
    known = learned_of(reckoning).yields_for(area_m2)
    return known.prints, known.mounts


def must_be_printed_on(material: Material) -> None:
    """Refuse a material on which nothing is exposed, or raise `BadValueError`."""
    if not material.traits.printed_on:
        raise BadValueError(
            f"{material.name} is {material.family}; nothing is printed on it.",
            try_="Name a paper: stockroom material list.",
        )


def printable(view: StoreView, said: str) -> Unit:
    """Return a unit of which a test strip can be run, by its code.

    Raises
    ------
    RefusedError
        Where it is no paper.
    """
    unit = find(view, Unit, said)
    material = material_of(view, unit)
    if not material.traits.white_judged:
        raise RefusedError(
            f"{unit.code} is {material.name}: no test strip is run of it.",
            "Strips tell the white of paper.",
            "Look at the code; e, examine, or stockroom look-over and fault, tell how it is.",
        )
    return unit


def judge_strip(
    desk: Desk,
    unit: str,
    result: StripResult,
    *,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down a test strip judged by eye: clean, yellow or unsure; yellow holds the roll.

    Raises
    ------
    RefusedError
        Where it is no paper.
    """
    check_word("Judgement of a strip", result, STRIP_RESULTS)

    def build(decision: Decision) -> dict[str, Any]:
        return {
            "code": decision.head.born(),
            "unit": printable(decision.view, unit).code,
            "result": result,
        }

    return desk.act(
        "strip", {"unit": unit, "result": result}, build, happened_s=happened_s, key=key
    )


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


def _wish_of(job: Job, paper: Material, day: date) -> Wish:
    size = job.width_dmm, job.height_dmm
    return Wish(*size, max(1, job.to_print), day, job.series, paper.code)
