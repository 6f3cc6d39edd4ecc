"""Rolls out of the cold: when one comes out, when it may be opened, when it is ready."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from stockroom import clock
from stockroom.core.constants import OUT_BEFORE, WORK_BEGINS, WORK_ENDS
from stockroom.core.records import Job, Place, Unit
from stockroom.desk.climate.rooms import stands_cold
from stockroom.desk.climate.warming import LOOK_BACK_S, Warming, warming_of
from stockroom.desk.reckoning import Reckoning

STEP_S = 600
"""Times told are rounded to full ten minutes, s, never the unsafe way (our choice)."""


@dataclass(frozen=True, slots=True)
class Outing:
    """A roll to take out of the cold for a job.

    Attributes
    ----------
    unit, place, job
        The roll, where it stands in the cold, and what it is for.
    by : date
        The day of `out_s`.
    out_s : int
        When to take it out, s UTC; the instant reasoned at where that is past.
    safe_s : int or None
        When it may be opened, s UTC; None where the room is too damp, or its size tells nothing.
    ready_s : int or None
        When it may be printed, s UTC; None where its size tells nothing.
    warming : Warming or None
        What both rest on.
    at_once : bool
        Whether the time to take it out is past.
    beside : int
        How many other rolls come out on the same day.
    """

    unit: Unit
    place: Place
    by: date
    job: Job
    out_s: int
    safe_s: int | None = None
    ready_s: int | None = None
    warming: Warming | None = None
    at_once: bool = False
    beside: int = 0

    @property
    def stacked_ready_s(self) -> int | None:
        """When it is ready where it stands close to the others that come out with it, s UTC."""
        if self.warming is None:
            return None
        return rounded_up_s(self.out_s + self.warming.stacked_ready_s)

    @property
    def too_damp(self) -> bool:
        """Whether no wait makes opening it safe in its room."""
        return self.warming is not None and self.warming.wait.safe_s is None


@dataclass(frozen=True, slots=True)
class OutNow:
    """A roll or pack that came out of the cold and is not warm yet.

    Attributes
    ----------
    unit, place, warming
        What it is, where it warms up, and how.
    job : Job or None
        The next print that counts on it.
    safe_s : int or None
        When it may be opened, s UTC; None where the room is too damp.
    ready_s : int
        When it may be printed, s UTC.
    """

    unit: Unit
    place: Place
    warming: Warming
    job: Job | None
    safe_s: int | None
    ready_s: int


def outing_of(reckoning: Reckoning, unit: Unit, place: Place, job: Job) -> Outing:
    """Return when a roll comes out of a cold place for a job.

    Parameters
    ----------
    place : Place
        Where it stands in the cold, or will by then.
    """
    warming = warming_of(reckoning, unit, cold=place)
    wanted_s = out_at_s(job.print_on, warming.wait.ready_s if warming else 0.0, reckoning.zone)
    out_s = max(wanted_s, reckoning.now_s)
    safe_s = ready_s = None
    if warming is not None:
        ready_s = rounded_up_s(out_s + warming.wait.ready_s)
        if warming.wait.safe_s is not None:
            safe_s = rounded_up_s(out_s + warming.wait.safe_s)
    return Outing(
        unit, place, clock.local_date(out_s, reckoning.zone), job, out_s, safe_s, ready_s,
        warming, at_once=wanted_s < reckoning.now_s,
    )  # fmt: skip


def out_at_s(print_on: date, ready_after_s: float, zone: str) -> int:
    """Return when a roll comes out: the evening before its print, or earlier where it takes longer.

    A maker's table or conduction that says less never makes it later.

    Parameters
    ----------
    ready_after_s : float
        How long it takes until it may be printed, s.
    zone : str
        The workshop's zone: 17:00 and 09:00 are by its clocks, in summer too.

    >>> out_at_s(date(2026, 3, 6), 12 * 3600, "UTC") == clock.local_hour_s(
    ...     date(2026, 3, 5), 17, "UTC")
    True
    >>> clock.moment_text(out_at_s(date(2026, 3, 6), 27.1 * 3600, "UTC"), "UTC")
    'Thu 5 Mar 2026 05:50'
    """
    eve = print_on - timedelta(days=round(OUT_BEFORE.value))
    evening_s = clock.local_hour_s(eve, WORK_ENDS.value, zone)
    morning_s = clock.local_hour_s(print_on, WORK_BEGINS.value, zone)
    return min(evening_s, math.floor((morning_s - ready_after_s) / STEP_S) * STEP_S)


def together(outings: Sequence[Outing]) -> list[Outing]:
    """Return outings in order of time, each with how many other rolls come out on its day."""
    of_day: dict[date, set[str]] = {}
    for item in outings:
        of_day.setdefault(item.by, set()).add(item.unit.code)
    counted = [replace(item, beside=len(of_day[item.by]) - 1) for item in outings]
    return sorted(counted, key=lambda item: item.out_s)


def rounded_up_s(at_s: float) -> int:
    """Return an instant rounded up to full ten minutes: nothing is opened a moment too early.

    >>> rounded_up_s(601), rounded_up_s(1_200)
    (1200, 1200)
    """
    return math.ceil(at_s / STEP_S) * STEP_S


def lately_moved(reckoning: Reckoning) -> Iterator[Unit]:
    """Yield the units out of the cold, of kinds kept cold, that came where they stand lately."""
    since_s = reckoning.now_s - LOOK_BACK_S
    for unit in reckoning.units.values():
        stays = reckoning.records.stays.get(unit.code, ())
        if not stays or stays[-1].from_s < since_s:
            continue
        if not reckoning.material_of(unit).traits.warming_known:
            continue
        if not stands_cold(reckoning, reckoning.places[unit.place], reckoning.now_s):
            yield unit


def out_now(reckoning: Reckoning, jobs: Mapping[str, Job]) -> list[OutNow]:
    """Return what is out to warm and not ready yet, soonest ready first.

    Parameters
    ----------
    jobs : mapping of str to Job
        The next print that counts on a unit, by the unit's code.
    """
    found = []
    for unit in lately_moved(reckoning):
        warming = warming_of(reckoning, unit)
        if warming is None or warming.left_s is None or warming.ready_s is None:
            continue
        if warming.over(reckoning.now_s):
            continue
        safe_s = None if warming.safe_s is None else rounded_up_s(warming.safe_s)
        place, ready_s = reckoning.places[unit.place], rounded_up_s(warming.ready_s)
        found.append(OutNow(unit, place, warming, jobs.get(unit.code), safe_s, ready_s))
    return sorted(found, key=lambda item: (item.ready_s, item.unit.code))


def open_too_soon(reckoning: Reckoning, unit: Unit, at_s: float) -> Warming | None:
    """Return how a unit warms that is open at an instant, s UTC, and not safe to be; else None."""
    warming = warming_of(reckoning, unit, at_s=at_s)
    if warming is None or warming.left_s is None or warming.over(at_s):
        return None
    if warming.safe_s is not None and at_s >= warming.safe_s:
        return None
    return warming
