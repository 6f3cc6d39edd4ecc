"""Reckoning ages: each unit's stays joined with the readings of its places."""

import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from stockroom import clock
from stockroom.core.climate.bodies import lag_class_s
from stockroom.core.climate.lag import time_constant_s
from stockroom.core.climate.visits import Aged, Journey, Visit, age
from stockroom.core.facts import ACTIVATION_ENERGY, OUT_BEFORE, PAPER_CALIPER, SHEET_PACKAGE_TIME
from stockroom.core.freshness.ahead import Ahead, with_outings
from stockroom.core.freshness.dated import Dated, dated
from stockroom.core.freshness.label import LabelLife, label_life
from stockroom.core.freshness.usable_by import Life, UsableBy, life_of, told
from stockroom.core.freshness.ways import Ways, ways_of
from stockroom.core.model import Job, Lot, Material, Place, PutBy, Stay, Strip, Unit
from stockroom.core.verdict import is_cold
from stockroom.desk.airs import Airs
from stockroom.desk.memory import Memory, Reckoned, Stood
from stockroom.desk.white_lives import WhiteLives
from stockroom.store.view import StoreView
from stockroom.units import SECONDS_PER_DAY

if TYPE_CHECKING:
    from stockroom.desk.session import Desk

AGED_EVERY_S = 3_600
"""Ages are reckoned as of the last full hour, s (our choice: answers are told in days)."""


def instant_of(desk: "Desk", on: date | None) -> int:
    """Return the instant to reason at: now, or noon of another day in the workshop's zone."""
    if on is None or on == desk.today():
        return desk.now_s()
    return clock.start_of_day_s(on, desk.zone) + 12 * 3600


@contextmanager
def reckoned(desk: "Desk", on: date | None = None) -> Iterator["Reckoning"]:
    """Open one state of a desk's books, reckoned as of now or of another day, with its memory.

    Parameters
    ----------
    desk : Desk
    on : date, optional
        Reason as if it were this day.
    """
    with desk.reading() as view:
        yield Reckoning(view, instant_of(desk, on), desk.zone, desk.memory)


class Reckoning:
    """All that is read once to answer for many units: records, readings, and ages as asked.

    Parameters
    ----------
    view : StoreView
        One state of the books.
    now_s : int
        The instant reckoned at, seconds UTC: stays are followed up to the hour before it. What
        there is, and how much, is as the books stand now.
    zone : str
        The workshop's zone.
    memory : Memory or None
        What is known from before; None for nothing.
    """

    def __init__(
        self, view: StoreView, now_s: int, zone: str, memory: Memory | None = None
    ) -> None:
        self.view = view
        self.now_s = now_s
        self.aged_s = now_s - now_s % AGED_EVERY_S
        self.zone = zone
        self.memory = memory or Memory()
        self.records = self.memory.records(view)
        self.airs = Airs(self.records, view, now_s, self.memory)
        self.materials = self.records.by_key(Material)
        self.lots = self.records.by_key(Lot)
        self.places = self.records.by_key(Place)
        self.jobs = self.records.by_key(Job)
        self.put_bys = [item for item in self.records.all(PutBy) if item.open]
        self.strips = _last_strips(self.records.all(Strip))
        self._every_unit = self.records.by_key(Unit)
        self.units = {
            code: item for code, item in self._every_unit.items() if item.state == "in stock"
        }
        self._by_material: dict[str, list[Unit]] | None = None
        self._out: dict[str, list[tuple[float, float]]] | None = None
        self._lives: dict[str, Life] = {}
        self.whites = WhiteLives(self)
        self.asked: dict[tuple[object, ...], object] = {}

    def lot_of(self, unit: Unit) -> Lot:
        """Return a unit's batch."""
        return self.lots[unit.lot]

    def material_of(self, unit: Unit) -> Material:
        """Return a unit's material."""
        return self.materials[self.lots[unit.lot].material]

    def units_of(self, material: str) -> Sequence[Unit]:
        """Return the units in stock of a material, by code."""
        if self._by_material is None:
            self._by_material = {}
            for unit in self.units.values():
                self._by_material.setdefault(self.lots[unit.lot].material, []).append(unit)
        return self._by_material.get(material, ())

    def unit(self, code: str) -> Unit | None:
        """Return a unit, in stock or not."""
        return self._every_unit.get(code)

    def ahead_of(self, unit: Unit) -> Ahead:
        """Return what is ahead of a unit: its place, and a few days out for what it is put by."""
        ahead, outings = self.airs.ahead(unit.place), self._outings().get(unit.code)
        if not outings or not is_cold(self.places[unit.place]):
            return ahead
        return with_outings(ahead, outings)

    def _outings(self) -> dict[str, list[tuple[float, float]]]:
        """When rolls that are put by will be out: the day before their print, and that day."""
        if self._out is None:
            self._out = {}
            for put in self.put_bys:
                job = self.jobs.get(put.job)
                if job is None or job.state != "booked" or not job.to_print:
                    continue
                print_s = clock.start_of_day_s(job.print_on, self.zone)
                out_s = print_s - round(OUT_BEFORE.value) * SECONDS_PER_DAY
                back_s = print_s + SECONDS_PER_DAY
                if back_s > self.now_s:
                    self._out.setdefault(put.unit, []).append((out_s, back_s))
        return self._out

    def stays_of(self, unit: Unit) -> list[Stay]:
        """Return where a unit stood up to now; an offcut stood where its parent did before it."""
        own = list(self.records.stays.get(unit.code, ()))
        if unit.parent is None:
            return own
        parent = self.unit(unit.parent)
        if parent is None or not own:
            return own
        born_s = own[0].from_s
        before = [
            stay if stay.to_s is not None and stay.to_s <= born_s else replace(stay, to_s=born_s)
            for stay in self.stays_of(parent)
            if stay.from_s < born_s
        ]
        return [*before, *own]

    def visits(self, unit: Unit) -> tuple[Visit, ...]:
        """Return where a unit stood, end to end, each visit with its lag there; open at the end."""
        kept = self.memory.units.setdefault(unit.code, Reckoned())
        lot = self.lot_of(unit)
        made_of = (
            unit, self.records.stays.get(unit.code), self.records.drawn.get(unit.code), lot,
            self.materials[lot.material], self.zone,
        )  # fmt: skip
        if unit.parent is not None or kept.visits_of != made_of:
            stays = self.stays_of(unit)
            end_s = math.inf if unit.ended_s is None else unit.ended_s
            kept.visits = tuple(
                Visit(stay.place, lag_class_s(self._tau_s(unit, stay.from_s)), stay.from_s, to_s)
                for stay, after in zip(stays, [*stays[1:], None], strict=True)
                for to_s in (min(end_s, after.from_s if after is not None else end_s),)
                if to_s > stay.from_s
            )
            came_on = clock.local_date(stays[0].from_s if stays else unit.received_s, self.zone)
            kept.label = label_life(self.material_of(unit), lot, came_on)
            kept.visits_of = made_of
        return kept.visits

    def visits_so_far(self, unit: Unit) -> list[Visit]:
        """Return where a unit stood, up to the instant reckoned at."""
        return [
            visit._replace(to_s=min(visit.to_s, self.aged_s))
            for visit in self.visits(unit)
            if visit.from_s < self.aged_s
        ]

    def stood_at(self, place: str) -> Stood:
        """Return who of what is in stock, and ages, stood at a place when."""
        memory = self.memory
        if memory.stood_of is not self.records:
            found: dict[str, list[tuple[Unit, float, float, tuple[float, float, float]]]] = {}
            for unit in self.units.values():
                material = self.material_of(unit)
                if not material.traits.ages:
                    continue
                label_c = self.label_of(unit).readings[0].temp_c
                energy = material.energy_j_mol or ACTIVATION_ENERGY.value
                for visit in self.visits(unit):
                    row = (unit, visit.from_s, visit.to_s, (visit.tau_s, label_c, energy))
                    found.setdefault(visit.place, []).append(row)
            memory.stood = {
                at: Stood(
                    [row[0] for row in rows],
                    np.array([row[1] for row in rows], dtype=np.float64),
                    np.array([row[2] for row in rows], dtype=np.float64),
                    np.array([row[3] for row in rows], dtype=np.float64),
                )
                for at, rows in found.items()
            }
            memory.stood_of = self.records
        return memory.stood.get(place) or Stood([], np.empty(0), np.empty(0), np.empty((0, 3)))

    def received_s(self, unit: Unit) -> int:
        """Return when the unit, or what it was cut from, came."""
        stays = self.stays_of(unit)
        return stays[0].from_s if stays else unit.received_s

    def in_mind_of(self, unit: Unit) -> Reckoned:
        """Return what is kept in mind of a unit."""
        return self.memory.units.setdefault(unit.code, Reckoned())

    def label_of(self, unit: Unit) -> LabelLife:
        """Return the life the unit came with."""
        self.visits(unit)
        label = self.memory.units[unit.code].label
        assert label is not None
        return label

    def _tau_s(self, unit: Unit, at_s: float) -> float:
        """Its time constant by the length that was on it when it came to a place."""
        if not unit.shape.wound:
            return SHEET_PACKAGE_TIME.value
        thickness_um = self.material_of(unit).thickness_um
        caliper_mm = thickness_um / 1000 if thickness_um else PAPER_CALIPER.value
        since = sum(qty for s, qty in self.records.drawn.get(unit.code, ()) if s > at_s)
        length_dmm = max(0, unit.remaining_dmm - since // max(1, unit.measure))
        return time_constant_s(length_dmm, max(1, unit.width_dmm), caliper_mm)

    def is_off(self, unit: Unit) -> bool:
        """Return whether a unit is past its day: reckoned for paper, by its dates for the rest."""
        return not self.good_on(unit, clock.local_date(self.now_s, self.zone))

    def good_on(self, unit: Unit, day: date) -> bool:
        """Return whether a unit is not past its day on a day."""
        if self.material_of(unit).traits.ages:
            return self.ends_s(unit) >= clock.start_of_day_s(day, self.zone) - 0.5
        ends = self.last_day(unit).ends
        return ends is None or ends >= day

    def last_day(self, unit: Unit) -> Dated:
        """Return the last day of a unit that goes by its date, and what says so."""
        material, lot = self.material_of(unit), self.lot_of(unit)
        return dated(
            material,
            lot,
            clock.local_date(self.received_s(unit), self.zone),
            None if unit.opened_s is None else clock.local_date(unit.opened_s, self.zone),
            material.opened_life_days,
        )

    def ends_s(self, unit: Unit) -> float:
        """Return the likely instant at which a unit's life runs out, s UTC."""
        return self._reckoned(unit).ends_s[0]

    def usable_by(self, unit: Unit) -> UsableBy:
        """Return the day until which a unit can be used, if it stays where it is."""
        life = self._reckoned(unit)
        kept = self.memory.units[unit.code]
        if kept.usable is None or kept.usable_of is not life:
            label = self.label_of(unit)
            kept.usable = told(
                label,
                self._ways(unit, label),
                life,
                self.aged_s,
                self.zone,
                self.ahead_of(unit),
                self.whites.counted(unit),
            )
            kept.usable_of = life
        return kept.usable

    def _reckoned(self, unit: Unit) -> Life:
        if unit.code not in self._lives:
            beside = self.units_of(self.lots[unit.lot].material)
            self.prepare(beside if unit.code in self.units else [unit])
        return self._lives[unit.code]

    def prepare(self, units: Iterable[Unit] | None = None) -> None:
        """Reckon the lives of many units together; what still holds is left as it is.

        Without `units`, of all in stock that age.
        """
        if units is None:
            units = [unit for unit in self.units.values() if self.material_of(unit).traits.ages]
        wanted = []
        units = [unit for unit in units if unit.code not in self._lives]
        for unit in units:
            kept = self.memory.units.setdefault(unit.code, Reckoned())
            asked = self._life_key(unit)
            if kept.life is None or kept.life_of != asked:
                wanted.append((unit, kept, asked))
        if wanted:
            self._reckon(wanted)
        for unit in units:
            life = self.memory.units[unit.code].life
            assert life is not None
            self._lives[unit.code] = life

    def _life_key(self, unit: Unit) -> object:
        visits = self.visits(unit)
        stamps = tuple(self.airs.stamp(visit.place) for visit in visits)
        lot = self.lot_of(unit)
        return (
            self.aged_s, visits, stamps, unit.place, self.ahead_of(unit).key, lot,
            self.materials[lot.material], unit.arrived_warm, self.zone,
            self.whites.counted(unit),
        )  # fmt: skip

    def _reckon(self, wanted: Sequence[tuple[Unit, Reckoned, object]]) -> None:
        """Age what is closed where it is not known, then all up to now, then look ahead."""
        labels = [self.label_of(unit) for unit, _, _ in wanted]
        ways = [self._ways(unit, label) for (unit, _, _), label in zip(wanted, labels, strict=True)]
        visits = [self.visits_so_far(unit) for unit, _, _ in wanted]
        airs = {visit.place: self.airs.air(visit.place) for some in visits for visit in some}
        unknown = []
        for (unit, kept, _), way, label, some in zip(wanted, ways, labels, visits, strict=True):
            closed = tuple(some[:-1])
            stamps = tuple(self.airs.stamp(visit.place) for visit in closed)
            key = (closed, stamps, way.rules, way.white_days, label, unit.arrived_warm)
            if kept.closed is None or kept.closed_of != key:
                came_s = some[0].from_s if some else self.aged_s
                journey = Journey(way.fresh(label, came_s), closed, way.rules, way.budgets(label))
                unknown.append((kept, key, journey))
        for (kept, key, _), aged in zip(
            unknown, age([journey for _, _, journey in unknown], airs), strict=True
        ):
            kept.closed_of, kept.closed = key, aged
        open_ = [
            Journey(self._closed(kept, unit), some[-1:], way.rules, way.budgets(label))
            for (unit, kept, _), way, label, some in zip(wanted, ways, labels, visits, strict=True)
        ]
        for (unit, kept, asked), way, label, aged in zip(
            wanted, ways, labels, age(open_, airs), strict=True
        ):
            kept.ended_of, kept.ended_s = self._ended_key(kept, unit), aged.ended_s
            until_s = self.aged_s if unit.ended_s is None else min(self.aged_s, unit.ended_s)
            kept.life = life_of(aged, way, label, self.ahead_of(unit), until_s)
            kept.life_of, kept.usable = asked, None

    def _closed(self, kept: Reckoned, unit: Unit) -> Aged:
        """What a unit has behind it before its last visit; a life found ended stays ended."""
        assert kept.closed is not None
        before, now = kept.ended_of, self._ended_key(kept, unit)
        same = isinstance(before, tuple) and before[:-1] == now[:-1] and before[-1] <= now[-1]
        if not same or kept.ended_s is None:
            return kept.closed
        return replace(kept.closed, ended_s=kept.ended_s)

    def _ended_key(self, kept: Reckoned, unit: Unit) -> tuple[object, object, object, int]:
        """What the end of a life rests on: its closed visits, the last one so far, up to when."""
        last = self.visits_so_far(unit)[-1:]
        stamps = [self.airs.stamp(visit.place) for visit in last]
        return kept.closed_of, stamps, [visit.from_s for visit in last], self.aged_s

    def _ways(self, unit: Unit, label: LabelLife) -> Ways:
        energy = self.material_of(unit).energy_j_mol
        white = self.whites.counted(unit)
        return ways_of(label, energy, arrived_warm=unit.arrived_warm, white=white)


def _last_strips(strips: Sequence[Strip]) -> dict[str, Strip]:
    last: dict[str, Strip] = {}
    for strip in strips:
        if strip.unit not in last or (strip.at_s, strip.act) > (
            last[strip.unit].at_s,
            last[strip.unit].act,
        ):
            last[strip.unit] = strip
    return last
