"""What pictures and lists on the screen are drawn from: the shelf, one unit, orders."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from stockroom.core.climate.bodies import LIKELY
from stockroom.core.climate.course import Floats
from stockroom.core.climate.visits import Rule, over_time
from stockroom.core.constants import (
    ACTIVATION_ENERGY,
    ACTIVATION_ENERGY_HIGH,
    ACTIVATION_ENERGY_LOW,
)
from stockroom.core.figures import Figure
from stockroom.core.freshness.dated import Dated
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.records import Job, Lot, Material, Order, Place, Strip, Unit
from stockroom.core.records.traits import FAMILIES
from stockroom.core.verdict import Verdict
from stockroom.desk.condition.opened import roll_state
from stockroom.desk.day import PrintLine, booked_prints, rolls_to_order
from stockroom.desk.figures import figures_of
from stockroom.desk.lookup import everything, find
from stockroom.desk.orders.ordering import Reorder, Stock, counted, order_list, orders_coming
from stockroom.desk.orders.plan import PlannedOrder, planned_orders
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.stock.counting import TrailLine, trail


@dataclass(frozen=True, slots=True, eq=False)
class ShelfLine:
    """One unit with what it is, where it stands, and what of it is put by for whom.

    `usable` is told of what ages by temperature, `dated` of all else.
    """

    unit: Unit
    lot: Lot
    material: Material
    place: Place
    usable: UsableBy | None
    strip: Strip | None
    put_by_for: tuple[str, ...]
    dated: Dated | None
    state: str = ""
    """The state of a roll in words; told where one unit is looked at."""

    @property
    def ends(self) -> date | None:
        """The likely last day, by its stay or else by its dates; None where nothing tells."""
        if self.usable is not None:
            return self.usable.likely
        return self.dated.ends if self.dated is not None else None

    @property
    def held(self) -> str:
        """Why it, or its batch, is kept out of use."""
        return self.unit.held or self.lot.held or ""


def shelf(desk: Desk, on: date | None = None) -> list[ShelfLine]:
    """Return the units in stock, by material, then the one that runs out first."""
    with reckoned(desk, on) as reckoning:
        reckoning.prepare()
        lines = [shelf_line(reckoning, unit) for unit in reckoning.units.values()]
    families = list(FAMILIES)
    return sorted(
        lines,
        key=lambda line: (
            families.index(line.material.family),
            line.material.name,
            line.unit.is_offcut,
            line.ends or date.max,
            line.unit.code,
        ),
    )


def shelf_line(reckoning: Reckoning, unit: Unit) -> ShelfLine:
    """Return one unit with what it is and where it stands."""
    material = reckoning.material_of(unit)
    jobs = (reckoning.jobs.get(put.job) for put in reckoning.put_bys if put.unit == unit.code)
    return ShelfLine(
        unit=unit,
        lot=reckoning.lot_of(unit),
        material=material,
        place=reckoning.places[unit.place],
        usable=reckoning.usable_by(unit) if material.traits.ages else None,
        strip=reckoning.strips.get(unit.code),
        put_by_for=tuple(job.name for job in jobs if job is not None),
        dated=None if material.traits.ages else reckoning.last_day(unit),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Life:
    """A unit's used life up to now, with its range, and the day it runs out.

    Attributes
    ----------
    t_s : array of float
        Instants, s UTC, rising, the last one now.
    used, low, high : array of float
        Days of label life used up to each: likely, least and most.
    limit_days : float
        The life it came with.
    """

    t_s: Floats
    used: Floats
    low: Floats
    high: Floats
    limit_days: float


@dataclass(frozen=True, slots=True, eq=False)
class UnitPicture:
    """All that one looks at of one unit.

    `prints` are the booked prints of its paper, soonest first, each with the answer for this
    unit. `figures` are all its figures, each with what stands behind it.
    """

    line: ShelfLine
    figures: tuple[Figure, ...]
    life: Life | None
    prints: tuple[tuple[Job, Verdict], ...]
    trail: tuple[TrailLine, ...]
    now_s: int
    today: date
    zone: str


def one_unit(desk: Desk, said: str, on: date | None = None) -> UnitPicture:
    """Return all that one looks at of one unit.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    with reckoned(desk, on) as reckoning:
        now_s, day = reckoning.now_s, reckoning.today
        unit = find(reckoning.view, Unit, said)
        line = replace(shelf_line(reckoning, unit), state=roll_state(reckoning, unit))
        life = life_of(reckoning, unit, line.usable) if line.usable else None
        prints = tuple(
            (booked.job, item.verdict)
            for booked in booked_prints(reckoning, day)
            for item in booked.answers.rolls
            if item.roll.unit.code == unit.code
        )
        figures = figures_of(reckoning, unit, day)
    return UnitPicture(
        line, figures, life, prints, tuple(trail(desk, 40, of=unit.code)), now_s, day, desk.zone
    )


def life_of(reckoning: Reckoning, unit: Unit, found: UsableBy, points: int = 160) -> Life | None:
    """Return a unit's used life over time; the range comes of the activation energy."""
    own = reckoning.material_of(unit).energy_j_mol
    ends = () if own else (ACTIVATION_ENERGY_LOW.value, ACTIVATION_ENERGY_HIGH.value)
    label_c = found.label.readings[0].temp_c
    rules = tuple(
        Rule(LIKELY, label_c, energy) for energy in (own or ACTIVATION_ENERGY.value, *ends)
    )
    visits = reckoning.visits_so_far(unit)
    if not visits:
        return None
    airs = {visit.place: reckoning.airs.air(visit.place) for visit in visits}
    t_s, used = over_time(visits, airs, rules, points)
    used = used + (found.used_days - float(used[-1, 0]))
    return Life(t_s, used[:, 0], used.min(axis=1), used.max(axis=1), found.life_days)


def one_print(desk: Desk, said: str, on: date | None = None) -> PrintLine | Job:
    """Return one booked print with the answers for all rolls, or the job where it is closed.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    with reckoned(desk, on) as reckoning:
        job = find(reckoning.view, Job, said)
        for line in booked_prints(reckoning, reckoning.today):
            if line.job.code == job.code:
                return line
    return job


@dataclass(frozen=True, slots=True, eq=False)
class OrderDesk:
    """What is to be ordered, what is on its way, and from which number each material is told."""

    reorder: tuple[Reorder, ...]
    lacking: tuple[PrintLine, ...]
    coming: tuple[Order, ...]
    watched: tuple[tuple[Material, Stock], ...]
    materials: dict[str, Material]
    today: date
    planned: tuple[PlannedOrder, ...] = ()


def order_desk(desk: Desk, on: date | None = None) -> OrderDesk:
    """Return what is to be ordered and what is on its way.

    `lacking` are the booked prints that paper must be ordered for; `watched` all materials, each
    with how many whole units there are; `planned` the lines of the plan of orders.
    """
    with reckoned(desk, on) as reckoning:
        day = reckoning.today
        watched = tuple(
            (material, counted(reckoning, material)) for material in reckoning.materials.values()
        )
        return OrderDesk(
            tuple(order_list(reckoning, day)),
            tuple(rolls_to_order(reckoning, day)),
            tuple(orders_coming(reckoning)),
            watched,
            reckoning.materials,
            day,
            tuple(planned_orders(reckoning, day)),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Choices:
    """What a form offers to choose from."""

    materials: tuple[Material, ...]
    places: tuple[Place, ...]
    jobs: tuple[Job, ...]
    today: date
    zone: str
    now_s: int


def choices(desk: Desk) -> Choices:
    """Return what a form offers to choose from: materials, places, jobs still booked."""
    with desk.reading() as view:
        jobs: Sequence[Job] = [job for job in everything(view, Job) if job.state == "booked"]
        return Choices(
            tuple(everything(view, Material)),
            tuple(everything(view, Place)),
            tuple(sorted(jobs, key=lambda job: (job.print_on, job.code))),
            desk.today(),
            desk.zone,
            desk.now_s(),
        )
