"""Today: each booked print with its roll and answer, and all that wants doing."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stockroom import clock
from stockroom.core.climate.ageing import rate
from stockroom.core.constants import ACTIVATION_ENERGY, OUT_BEFORE, SHORT_DATED, WORK_ENDS
from stockroom.core.figures import Notice
from stockroom.core.making.sizes import roll_rules
from stockroom.core.records import Job, Material, Order, Place, Unit
from stockroom.core.verdict import is_cold, length_lacking_dmm
from stockroom.desk.climate.pull_out import Outing, OutNow, out_now, outing_of, together
from stockroom.desk.climate.rooms import stands_cold
from stockroom.desk.climate.spells import WarmSpell, warm_spells
from stockroom.desk.condition.checking import Answers, bookings, yields
from stockroom.desk.cutting.cards import CardView, cards_in
from stockroom.desk.cutting.sheets import CutWork, quick_cuts
from stockroom.desk.figures import notices_of
from stockroom.desk.orders.ordering import Reorder, order_list, orders_coming
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.work.board import BoardLine, board_line, soonest
from stockroom.desk.work.needs import MaterialNeed, needed_orders
from stockroom.units import SECONDS_PER_DAY

LOOK_AHEAD_DAYS = 7
"""Rolls for prints within so many days are told to be taken out (our choice)."""
BACK_AFTER_DAYS = 2
"""A roll with no print booked within so many days goes back into the cold (our choice)."""
SPELLS_DAYS = 60
"""Warm spells older than this no longer wait for a word (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class PrintLine:
    """A booked print with the answers for every roll of its paper, best first.

    Attributes
    ----------
    job, material, answers
        The print, its paper, and the rolls.
    order_rolls : int
        How many rolls to order so that the print and its likely remakes are covered; 0 for none.
    order_by : date or None
        The last day to order them; None where the paper's lead time is not known.
    """

    job: Job
    material: Material
    answers: Answers
    order_rolls: int
    order_by: date | None

    def order_on(self, today: date) -> date:
        """Return the day to order on: today where it is late, or the lead time is not known."""
        return today if self.order_by is None else max(self.order_by, today)


@dataclass(frozen=True, slots=True)
class Return:
    """A roll to put back into the cold by an instant (s UTC): what each day out of it costs."""

    unit: Unit
    place: Place
    back_to: Place
    life_a_day: float
    by_s: int


@dataclass(frozen=True, slots=True, eq=False)
class GoingOff:
    """Stock that is off or nearly off."""

    unit: Unit
    material: Material
    place: Place
    off: bool
    ends: date


@dataclass(frozen=True, slots=True, eq=False)
class AtRisk:
    """A warm spell with what it means for booked work."""

    spell: WarmSpell
    jobs: tuple[Job, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Today:
    """All that one looks at in the morning."""

    day: date
    prints: tuple[PrintLine, ...]
    take_out: tuple[Outing, ...]
    out_now: tuple[OutNow, ...]
    put_back: tuple[Return, ...]
    spells: tuple[AtRisk, ...]
    reorder: tuple[Reorder, ...]
    going_off: tuple[GoingOff, ...]
    arrivals: tuple[Order, ...]
    notices: tuple[Notice, ...]
    work: tuple[BoardLine, ...]
    needs: tuple[MaterialNeed, ...]
    cuts: tuple[CutWork, ...]
    cards: tuple[CardView, ...]
    materials: dict[str, Material]
    units_in_stock: int
    now_s: int

    @property
    def empty(self) -> bool:
        """Whether there is nothing in the books to speak of."""
        return not (self.units_in_stock or self.prints or self.work)


def today(desk: Desk, on: date | None = None) -> Today:
    """Return what wants doing, reasoned as of now or of another day.

    Parameters
    ----------
    desk : Desk
        The books.
    on : date, optional
        Reason as if it were this day; nothing is back-dated by it.
    """
    with reckoned(desk, on) as reckoning:
        return reckon_today(reckoning)


def reckon_today(reckoning: Reckoning) -> Today:
    """Return what wants doing on a day, from what is read once."""
    day = reckoning.today
    reckoning.prepare()
    prints = booked_prints(reckoning, day)
    backs = _put_back(reckoning, prints, day)
    outings = take_out(reckoning, prints, backs, day)
    listed = order_list(reckoning, day)
    return Today(
        day=day,
        prints=tuple(prints),
        take_out=tuple(outings),
        out_now=tuple(out_now(reckoning, _counted_on(prints))),
        put_back=tuple(backs),
        spells=tuple(spells_at_risk(reckoning, prints, waiting=True)),
        reorder=tuple(listed),
        going_off=tuple(_going_off(reckoning, day)),
        arrivals=tuple(orders_coming(reckoning)),
        notices=notices_of(reckoning, day),
        work=tuple(on_the_bench(reckoning)),
        needs=tuple(short_for_work(reckoning, day, listed)),
        cuts=tuple(quick_cuts(reckoning, day)),
        cards=tuple(cards_in(reckoning)),
        materials=reckoning.materials,
        units_in_stock=len(reckoning.units),
        now_s=reckoning.now_s,
    )


def on_the_bench(reckoning: Reckoning) -> list[BoardLine]:
    """Return the booked jobs with pieces that wait for more than their print, soonest due first."""
    lines = [board_line(reckoning, job) for job in reckoning.jobs.values() if job.state == "booked"]
    return sorted((line for line in lines if line.in_work and line.waiting), key=soonest)


def short_for_work(
    reckoning: Reckoning, day: date, listed: Sequence[Reorder]
) -> list[MaterialNeed]:
    """Return what sure work runs short of beyond paper and the order list, soonest first.

    Paper is told with each booked print.
    """
    return [
        item
        for item in needed_orders(reckoning, day, listed)
        if not item.material.traits.printed_on
    ]


def booked_prints(reckoning: Reckoning, day: date) -> list[PrintLine]:
    """Return each booked print, soonest first, with its rolls and what must be ordered for it.

    What one print counts on of a roll is not free for the next, and a roll on its way serves the
    first print that lacks it.
    """
    lines = []
    coming: dict[str, int] = {}
    for order in orders_coming(reckoning):
        coming[order.material] = coming.get(order.material, 0) + order.to_come
    for booking in bookings(reckoning, day):
        material = reckoning.materials[booking.job.material]
        lacking = 0
        if booking.job.sure:
            lacking = _rolls_lacking(reckoning, booking.answers, material)
        served = min(lacking, coming.get(material.code, 0))
        coming[material.code] = coming.get(material.code, 0) - served
        order_rolls, order_by = lacking - served, None
        if order_rolls and material.lead_days is not None:
            ahead = material.lead_days + round(OUT_BEFORE.value)
            order_by = booking.job.print_on - timedelta(days=ahead)
        lines.append(PrintLine(booking.job, material, booking.answers, order_rolls, order_by))
    return lines


def rolls_to_order(reckoning: Reckoning, day: date) -> list[PrintLine]:
    """Return the booked prints that paper must be ordered for, soonest to order first."""
    lines = [line for line in booked_prints(reckoning, day) if line.order_rolls]
    return sorted(lines, key=lambda line: line.order_on(day))


def _rolls_lacking(reckoning: Reckoning, found: Answers, material: Material) -> int:
    """How many new rolls the print and its likely remakes lack, with what is here and good."""
    best = found.best
    if best is not None and best.verdict.answer != "no":
        lacking_dmm = best.verdict.length.lacking_dmm
    else:
        lacking_dmm = length_lacking_dmm(
            found.wish,
            material,
            *yields(reckoning, found.wish.width_dmm * found.wish.height_dmm / 1e8),
        )
    rules = roll_rules(material)
    usable_dmm = (material.length_dmm or 0) - rules.leader_dmm - rules.tail_dmm
    if lacking_dmm <= 0:
        return 0
    return max(1, -(-lacking_dmm // usable_dmm)) if usable_dmm > 0 else 1


def take_out(
    reckoning: Reckoning,
    prints: Sequence[PrintLine],
    backs: Sequence[Return],
    day: date,
    days: int = LOOK_AHEAD_DAYS,
) -> list[Outing]:
    """Return the rolls that must come out of the cold for prints within some days, soonest first.

    One that goes back into the cold today is among them.
    """
    going_back = {back.unit.code: back.back_to for back in backs}
    outings = []
    for line in prints:
        best = line.answers.best
        if best is None or best.verdict.answer == "no":
            continue
        soon = line.job.print_on <= day + timedelta(days=days)
        place = going_back.get(best.roll.unit.code, best.roll.place)
        if soon and stands_cold(reckoning, place, reckoning.now_s):
            outings.append(outing_of(reckoning, best.roll.unit, place, line.job))
    return together(outings)


def _counted_on(prints: Sequence[PrintLine]) -> dict[str, Job]:
    """The next print that counts on a roll, by the roll's code."""
    found: dict[str, Job] = {}
    for line in prints:
        best = line.answers.best
        if best is not None and best.verdict.answer != "no":
            found.setdefault(best.roll.unit.code, line.job)
    return found


def _put_back(reckoning: Reckoning, prints: Sequence[PrintLine], day: date) -> list[Return]:
    """Rolls that stand warm with nothing booked on them soon, where there is a cold place."""
    cold = [
        place
        for place in reckoning.places.values()
        if stands_cold(reckoning, place, reckoning.now_s)
    ]
    cold.sort(key=lambda place: not is_cold(place))
    if not cold:
        return []
    soon = day + timedelta(days=BACK_AFTER_DAYS)
    wanted = {
        line.answers.best.roll.unit.code
        for line in prints
        if line.answers.best and line.job.print_on <= soon
    }
    evening_s = clock.local_hour_s(day, WORK_ENDS.value, reckoning.zone)
    by_s = max(evening_s, reckoning.now_s)
    back = []
    for unit in reckoning.units.values():
        place, material = reckoning.places[unit.place], reckoning.material_of(unit)
        if not material.traits.ages or not unit.shape.wound:
            continue
        if place in cold or unit.code in wanted:
            continue
        label_c = reckoning.label_of(unit).readings[0].temp_c
        energy = material.energy_j_mol or ACTIVATION_ENERGY.value
        a_day = rate(reckoning.airs.temp_ahead_c(unit.place), label_c, energy)
        back.append(Return(unit, place, _came_from(reckoning, unit, cold), a_day, by_s))
    return sorted(back, key=lambda item: (-item.life_a_day, item.unit.code))


def _came_from(reckoning: Reckoning, unit: Unit, cold: Sequence[Place]) -> Place:
    """The cold place it stood in last, or else the first there is."""
    codes = {place.code: place for place in cold}
    for stay in reversed(reckoning.stays_of(unit)):
        if stay.place in codes:
            return codes[stay.place]
    return cold[0]


def _going_off(reckoning: Reckoning, day: date) -> list[GoingOff]:
    soon = day + timedelta(days=round(SHORT_DATED.value))
    found: list[GoingOff] = []
    for unit in reckoning.units.values():
        material = reckoning.material_of(unit)
        if reckoning.good_on(unit, soon + timedelta(days=1)):
            continue
        usable = reckoning.usable_by(unit) if material.traits.ages else None
        ends = usable.likely if usable else reckoning.last_day(unit).ends
        if ends is not None and ends <= soon:
            place = reckoning.places[unit.place]
            found.append(GoingOff(unit, material, place, ends < day, ends))
    return sorted(found, key=lambda item: (item.ends, item.unit.code))


def spells_at_risk(
    reckoning: Reckoning, prints: Sequence[PrintLine], *, waiting: bool = False
) -> list[AtRisk]:
    """Return warm spells, worst first, each with the jobs that have no good roll since.

    With `waiting`, only those whose cause should be known and is not.
    """
    since_s = reckoning.now_s - SPELLS_DAYS * SECONDS_PER_DAY if waiting else 0
    found = []
    for spell in warm_spells(reckoning, since_s=since_s):
        if waiting and not (spell.wants_a_word or (spell.ongoing and not spell.cause)):
            continue
        hurt = {loss.unit.code for loss in spell.losses}
        jobs = tuple(
            line.job
            for line in prints
            if any(item.roll.unit.code in hurt for item in line.answers.rolls)
            and (line.answers.best is None or line.answers.best.verdict.answer != "yes")
        )
        found.append(AtRisk(spell, jobs))
    return found
