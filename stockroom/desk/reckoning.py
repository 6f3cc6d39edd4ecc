"""Reckoning ages: each unit's stays joined with the readings of its places."""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from stockroom import clock
from stockroom.core.climate.visits import Aged, Journey, age
from stockroom.core.constants import OUT_BEFORE
from stockroom.core.freshness.ahead import Ahead, with_outings
from stockroom.core.freshness.dated import Dated, dated
from stockroom.core.freshness.label import LabelLife
from stockroom.core.freshness.usable_by import Life, UsableBy, life_of, told
from stockroom.core.freshness.ways import Ways, ways_of
from stockroom.core.records import Unit
from stockroom.core.verdict import is_cold
from stockroom.desk.condition.white_lives import WhiteLives
from stockroom.desk.inventory import Inventory
from stockroom.desk.memory import Memory, Reckoned
from stockroom.store.view import StoreView
from stockroom.units import SECONDS_PER_DAY

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


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
    on : date, optional
        Reason as if it were this day.
    """
    with desk.reading() as view:
        yield Reckoning(view, instant_of(desk, on), desk.zone, desk.memory)


class Reckoning(Inventory):
    """The lives of units, and all that is told of them, reckoned as they are asked for.

    Takes what `Inventory` takes.
    """

    def __init__(
        self, view: StoreView, now_s: int, zone: str, memory: Memory | None = None
    ) -> None:
        super().__init__(view, now_s, zone, memory)
        self._out: dict[str, list[tuple[float, float]]] | None = None
        self._lives: dict[str, Life] = {}
        self.whites = WhiteLives(self)
        self.asked: dict[tuple[object, ...], object] = {}

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
