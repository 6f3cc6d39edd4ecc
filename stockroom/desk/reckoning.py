"""Reckoning ages: each unit's stays joined with the readings of its places."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from stockroom import clock
from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.excursions import guessed
from stockroom.core.climate.history import StayClimate
from stockroom.core.climate.lag import time_constant_s
from stockroom.core.climate.readings import (
    EMPTY,
    Readings,
    beneath,
    merge,
    step_s,
    usable,
    window,
)
from stockroom.core.facts import BRIDGE_LONGEST, PAPER_CALIPER, ROOM_TEMP, SHEET_PACKAGE_TIME
from stockroom.core.freshness.label import LabelLife, label_life
from stockroom.core.freshness.usable_by import UsableBy, usable_by
from stockroom.core.model import Job, Lot, Material, Place, PutBy, Spell, Stay, Strip, Unit
from stockroom.desk.lookup import everything, in_stock
from stockroom.store.blocks import read_place
from stockroom.store.view import StoreView
from stockroom.units import SECONDS_PER_DAY

RECENT_S = 14 * SECONDS_PER_DAY
"""A place without a set-point is believed to stay as it was in these last days, s (our choice)."""


class Reckoning:
    """All that is read once to answer for many units: records, readings, and ages as asked.

    Parameters
    ----------
    view : StoreView
        One state of the books.
    now_s : int
        The instant reckoned at, seconds UTC: stays are followed up to it. What there is, and how
        much, is as the books stand now.
    zone : str
        The workshop's zone.
    """

    def __init__(self, view: StoreView, now_s: int, zone: str) -> None:
        self.view = view
        self.now_s = now_s
        self.zone = zone
        self.materials = {item.code: item for item in everything(view, Material)}
        self.lots = {item.code: item for item in everything(view, Lot)}
        self.places = {item.code: item for item in everything(view, Place)}
        self.jobs = {item.code: item for item in everything(view, Job)}
        self.put_bys = [item for item in everything(view, PutBy) if item.open]
        self.strips = _last_strips(everything(view, Strip))
        self.units = {item.code: item for item in in_stock(view)}
        self._spells = everything(view, Spell)
        self._readings: dict[str, Readings] = {}
        self._steps: dict[str, float] = {}
        self.differing: dict[str, int] = {}
        self._stays: dict[str, list[Stay]] = {}
        self._usable: dict[str, UsableBy] = {}
        for stay in everything(view, Stay):
            self._stays.setdefault(stay.unit, []).append(stay)

    def lot_of(self, unit: Unit) -> Lot:
        """Return a unit's batch."""
        return self.lots[unit.lot]

    def material_of(self, unit: Unit) -> Material:
        """Return a unit's material."""
        return self.materials[self.lots[unit.lot].material]

    def unit(self, code: str) -> Unit | None:
        """Return a unit, in stock or not."""
        return self.units.get(code) or self.view.get(Unit, code)

    def readings(self, place: str) -> Readings:
        """Return a place's readings: logged ones, and a spell logged by hand where nothing was."""
        if place not in self._readings:
            logged, self.differing[place] = read_place(self.view.connection, place)
            guesses = [
                readings_of_spell(spell)
                for spell in self._spells
                if spell.place == place and not covered(logged, spell)
            ]
            self._steps[place] = step_s(usable(logged))
            self._readings[place] = beneath(logged, merge(guesses)[0]) if guesses else logged
        return self._readings[place]

    def climate(self, place: str) -> PlaceClimate:
        """Return what is believed of a place where there is no reading."""
        found = self.places[place]
        set_point, high = found.set_point_centi_c, found.high_centi_c
        return PlaceClimate(
            None if set_point is None else set_point / 100, None if high is None else high / 100
        )

    def temp_ahead_c(self, place: str) -> float:
        """Return a place's likely temperature ahead: set-point, else as of late, else room."""
        climate = self.climate(place)
        if climate.set_point_c is not None:
            return climate.set_point_c
        log = usable(self.readings(place))
        if not len(log):
            return ROOM_TEMP.value
        late = window(log, log.t_s[-1] - RECENT_S, log.t_s[-1])
        return float(np.mean(late.temp_c))

    def stays_of(self, unit: Unit) -> list[Stay]:
        """Return where a unit stood up to now; an offcut stood where its parent did before it."""
        own = sorted(self._stays.get(unit.code, []), key=lambda stay: (stay.from_s, stay.act))
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

    def climate_of(self, unit: Unit) -> list[StayClimate]:
        """Return a unit's stays with the air they had, up to now, end to end."""
        stays = self.stays_of(unit)
        end_s = self.now_s if unit.ended_s is None else min(self.now_s, unit.ended_s)
        made = []
        for stay, after in zip(stays, [*stays[1:], None], strict=True):
            to_s = min(end_s, after.from_s if after is not None else end_s)
            if to_s <= stay.from_s:
                continue
            log = self.readings(stay.place)
            near = window(log, stay.from_s, to_s, beyond=1) if len(log) else EMPTY
            step = self._steps[stay.place] or None
            made.append(StayClimate(stay.from_s, to_s, near, self.climate(stay.place), step))
        return made

    def received_s(self, unit: Unit) -> int:
        """Return when the unit, or what it was cut from, came."""
        stays = self.stays_of(unit)
        return stays[0].from_s if stays else unit.received_s

    def label_of(self, unit: Unit) -> LabelLife:
        """Return the life the unit came with."""
        came_on = clock.local_date(self.received_s(unit), self.zone)
        return label_life(self.material_of(unit), self.lot_of(unit), came_on)

    def tau_s(self, unit: Unit) -> float:
        """Return the unit's time constant, by the length that is left."""
        if unit.form != "roll":
            return SHEET_PACKAGE_TIME.value
        thickness_um = self.material_of(unit).thickness_um
        caliper_mm = thickness_um / 1000 if thickness_um else PAPER_CALIPER.value
        return time_constant_s(unit.remaining_dmm, max(1, unit.width_dmm), caliper_mm)

    def is_off(self, unit: Unit) -> bool:
        """Return whether a unit is past its day: reckoned for paper, printed for the rest."""
        if ages(self.material_of(unit)):
            ends: date | None = self.usable_by(unit).likely
        else:
            ends = self.lot_of(unit).label_date
        return ends is not None and ends < clock.local_date(self.now_s, self.zone)

    def usable_by(self, unit: Unit) -> UsableBy:
        """Return the day until which a unit can be used, if it stays where it is."""
        if unit.code not in self._usable:
            material = self.material_of(unit)
            self._usable[unit.code] = usable_by(
                self.climate_of(unit),
                self.label_of(unit),
                self.now_s,
                self.temp_ahead_c(unit.place),
                tau_s=self.tau_s(unit),
                energy_j_mol=material.energy_j_mol,
                arrived_warm=unit.arrived_warm,
                zone=self.zone,
            )
        return self._usable[unit.code]


def ages(material: Material) -> bool:
    """Return whether a material ages by temperature as paper does."""
    return material.family == "paper"


def covered(logged: Readings, spell: Spell) -> bool:
    """Return whether a log tells what happened during a spell, so that no guess is needed.

    It does where it reaches from before the spell was last right until after it was found, with
    no more than two hours between readings.
    """
    good = usable(logged)
    if not len(good):
        return False
    inside = window(good, spell.last_right_s, spell.found_s)
    around = good.t_s[0] <= spell.last_right_s and good.t_s[-1] >= spell.found_s
    if not around or not len(inside):
        return False
    edges = np.concatenate(([spell.last_right_s], inside.t_s, [spell.found_s]))
    return bool(np.diff(edges).max() <= BRIDGE_LONGEST.value)


def readings_of_spell(spell: Spell) -> Readings:
    """Return the readings that stand for a spell logged by hand: its worst shape."""
    return guessed(
        spell.last_right_s,
        spell.last_right_centi_c / 100,
        spell.found_s,
        spell.now_centi_c / 100,
        spell.highest_centi_c / 100,
    )


def _last_strips(strips: Sequence[Strip]) -> dict[str, Strip]:
    last: dict[str, Strip] = {}
    for strip in strips:
        if strip.unit not in last or (strip.at_s, strip.act) > (
            last[strip.unit].at_s,
            last[strip.unit].act,
        ):
            last[strip.unit] = strip
    return last
