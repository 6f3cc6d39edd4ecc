"""What is read once to answer for many units: records, where each stood, the label it came with."""

import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np

from stockroom import clock
from stockroom.core.climate.bodies import lag_class_s
from stockroom.core.climate.lag import time_constant_s
from stockroom.core.climate.visits import Visit
from stockroom.core.constants import ACTIVATION_ENERGY, PAPER_CALIPER, SHEET_PACKAGE_TIME
from stockroom.core.freshness.label import LabelLife, label_life
from stockroom.core.records import Job, Lot, Material, Place, PutBy, Stay, Strip, Unit
from stockroom.desk.climate.airs import Airs
from stockroom.desk.memory import Memory, Reckoned, Stood
from stockroom.store.view import StoreView

AGED_EVERY_S = 3_600
"""Ages are reckoned as of the last full hour, s (our choice: answers are told in days)."""


class Inventory:
    """What there is and where it stood, of one state of the books.

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
        self.today = clock.local_date(now_s, zone)
        self.memory = memory or Memory()
        self.records = self.memory.records(view)
        self.airs = Airs(self.records, view, now_s, self.memory)
        self.materials = self.records.by_key(Material)
        self.lots = self.records.by_key(Lot)
        self.places = self.records.by_key(Place)
        self.jobs = self.records.by_key(Job)
        self.put_bys = [item for item in self.records.all(PutBy) if item.open]
        strips = sorted(self.records.all(Strip), key=lambda strip: (strip.at_s, strip.act))
        self.strips = {strip.unit: strip for strip in strips}
        self._every_unit = self.records.by_key(Unit)
        self.units = {
            code: item for code, item in self._every_unit.items() if item.state == "in stock"
        }
        self._by_material: dict[str, list[Unit]] | None = None

    @cached_property
    def booked(self) -> list[Job]:
        """The booked jobs, soonest first."""
        booked = [job for job in self.jobs.values() if job.state == "booked"]
        return sorted(booked, key=lambda job: (job.print_on, job.code))

    @property
    def sure_jobs(self) -> list[Job]:
        """The booked jobs that are sure, soonest first."""
        return [job for job in self.booked if job.sure]

    def kept_back(self, unit: Unit, without: Collection[str] = ()) -> str:
        """Return why a unit is not cut: held, a customer's, or left out by its code; "" if none."""
        lot = self.lot_of(unit)
        if unit.held or lot.held:
            return f"on hold: {unit.held or lot.held}"
        if lot.owner == "customer":
            return "it belongs to a customer"
        return "left out, as you said" if unit.code in without else ""

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
