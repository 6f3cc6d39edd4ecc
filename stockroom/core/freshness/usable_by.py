"""The day until which a unit can be used: likely first, then earliest and latest."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

import numpy as np

from stockroom.core.climate.ageing import Scenario, life_by_piece, project, rate
from stockroom.core.climate.course import Course, Floats, Gaps
from stockroom.core.climate.history import StayClimate, history_courses
from stockroom.core.facts import (
    ACTIVATION_ENERGY,
    ACTIVATION_ENERGY_HIGH,
    ACTIVATION_ENERGY_LOW,
    HORIZON,
    SENSOR_SPREAD,
    WARM_ARRIVAL_LIKELY,
    WARM_ARRIVAL_LONGEST,
    WARM_ARRIVAL_TEMP,
)
from stockroom.core.freshness.label import LabelLife, LabelReading
from stockroom.units import SECONDS_PER_DAY

Cause = Literal["activation energy", "sensor", "gaps", "label temperature", "warm arrival"]


@dataclass(frozen=True, slots=True)
class Spread:
    """What one cause does to the usable-by day: days earlier, days later."""

    cause: Cause
    earlier_days: float
    later_days: float


@dataclass(frozen=True, slots=True, eq=False)
class UsableBy:
    """The answer, with what it rests on.

    Attributes
    ----------
    likely, earliest, latest : date
        The day on which the life runs out; `latest` is at most 20 years off.
    runs_out : bool
        Whether it runs out at all within those 20 years.
    label : LabelLife
        The life it came with.
    used_days, left_days : float
        Days of label life used so far, and left, likely values.
    filled_share : float
        Share of its time in the store that rests on filled data, 0 to 1.
    filled_life : float
        Of the life used, what rests on filled data, days.
    spreads : tuple of Spread
        What widens the range, widest first.
    by_reading : tuple of (LabelReading, date)
        The likely day for each way to read the label's temperature.
    """

    likely: date
    earliest: date
    latest: date
    runs_out: bool
    label: LabelLife
    used_days: float
    left_days: float
    filled_share: float
    filled_life: float
    spreads: tuple[Spread, ...]
    by_reading: tuple[tuple[LabelReading, date], ...]

    @property
    def unproven(self) -> bool:
        """Whether the likely day lies past the printed date, which only paper whites can prove."""
        return self.label.printed is not None and self.likely > self.label.printed

    def nearer_part(self) -> tuple[date, date]:
        """Return the half of the range next to the likely day, before and after it.

        A print on a day within it wants a strip first (our choice: half of each side).
        """
        before = timedelta(days=(self.likely - self.earliest).days // 2)
        after = timedelta(days=(self.latest - self.likely).days // 2)
        return self.likely - before, self.likely + after


@dataclass(frozen=True, slots=True)
class Life:
    """One way of reckoning: what was used when, and when the rest runs out (s UTC)."""

    used_days: float
    filled_life: float
    filled_share: float
    ends_s: float


def usable_by(
    stays: Sequence[StayClimate],
    label: LabelLife,
    now_s: float,
    temp_ahead_c: float,
    *,
    tau_s: float = 0.0,
    energy_j_mol: float | None = None,
    arrived_warm: bool = False,
    zone: str = "UTC",
) -> UsableBy:
    """Return the day until which a unit can be used, with its range and what widens it.

    Every cause is moved alone from the likely reckoning: the activation energy from 60 to
    120 kJ/mol (not where the user has a figure), the sensor by 0.5 K, gaps from set-point to
    re-warming, the label's temperature where it is unknown, a warm arrival from nothing to three
    days. Independent causes are put together as the root of the sum of squares, each side alone.

    Parameters
    ----------
    stays : sequence of StayClimate
        Where it stood since it came, in order, up to `now_s`.
    label : LabelLife
        The life it came with.
    now_s : float
        The present, s UTC.
    temp_ahead_c : float
        Where it will stand from now on, °C.
    tau_s : float
        Its time constant, s.
    energy_j_mol : float or None
        The user's own activation energy; None for the interval.
    arrived_warm : bool
        Whether it came warm, nobody knows for how long.
    zone : str
        The workshop's time zone, in which days are told.

    Returns
    -------
    UsableBy
    """
    usual = _Way(
        label_temp_c=label.readings[0].temp_c,
        energy=energy_j_mol or ACTIVATION_ENERGY.value,
        warm_s=WARM_ARRIVAL_LIKELY.value if arrived_warm else 0.0,
    )
    reckon = _Reckoner(stays, label.days, now_s, temp_ahead_c, tau_s)
    base = reckon(usual)
    others: dict[Cause, list[_Way]] = {
        "sensor": [
            replace(usual, offset_k=offset)
            for offset in (-SENSOR_SPREAD.value, SENSOR_SPREAD.value)
        ],
        "label temperature": [
            replace(usual, label_temp_c=reading.temp_c) for reading in label.readings[1:]
        ],
    }
    if energy_j_mol is None:
        ends = (ACTIVATION_ENERGY_LOW.value, ACTIVATION_ENERGY_HIGH.value)
        others["activation energy"] = [replace(usual, energy=end) for end in ends]
    if base.filled_share > 0:
        others["gaps"] = [replace(usual, gaps="best"), replace(usual, gaps="worst")]
    if arrived_warm:
        times = (0.0, WARM_ARRIVAL_LONGEST.value)
        others["warm arrival"] = [replace(usual, warm_s=warm_s) for warm_s in times]
    spreads = [
        _spread(cause, base, [reckon(way) for way in ways])
        for cause, ways in others.items()
        if ways
    ]
    earlier = min(math.hypot(*(spread.earlier_days for spread in spreads)), HORIZON.value)
    later = min(math.hypot(*(spread.later_days for spread in spreads)), HORIZON.value)
    horizon_s = now_s + HORIZON.value * SECONDS_PER_DAY
    likely = _day(min(base.ends_s, horizon_s), zone)
    return UsableBy(
        likely=likely,
        earliest=likely - timedelta(days=round(earlier)),
        latest=min(_day(horizon_s, zone), likely + timedelta(days=round(later))),
        runs_out=base.ends_s < horizon_s,
        label=label,
        used_days=base.used_days,
        left_days=label.days - base.used_days,
        filled_share=base.filled_share,
        filled_life=base.filled_life,
        spreads=tuple(sorted(spreads, key=lambda s: -max(s.earlier_days, s.later_days))),
        by_reading=tuple(
            (reading, _day(min(reckon(way).ends_s, horizon_s), zone))
            for reading in label.readings
            for way in (replace(usual, label_temp_c=reading.temp_c),)
        ),
    )


@dataclass(frozen=True, slots=True)
class _Way:
    """One way in which things may have been."""

    label_temp_c: float
    energy: float
    warm_s: float
    offset_k: float = 0.0
    gaps: Gaps = "likely"


class _Reckoner:
    """Reckons a life for one way after another; what does not differ is made once."""

    def __init__(
        self,
        stays: Sequence[StayClimate],
        budget_days: float,
        now_s: float,
        ahead_c: float,
        tau_s: float,
    ) -> None:
        self.stays = stays
        self.budget_days = budget_days
        self.now_s = now_s
        self.ahead_c = ahead_c
        self.tau_s = tau_s
        self._courses: dict[tuple[Gaps, float], list[Course]] = {}
        self._lives: dict[_Way, Life] = {}

    def __call__(self, way: _Way) -> Life:
        """Return the life used and the instant it runs out, one way."""
        if way not in self._lives:
            self._lives[way] = _life(
                self._course(way.gaps, way.offset_k), self.budget_days, way, self.now_s,
                self.ahead_c + way.offset_k,
            )  # fmt: skip
        return self._lives[way]

    def _course(self, gaps: Gaps, offset_k: float) -> list[Course]:
        if (gaps, offset_k) not in self._courses:
            self._courses[gaps, offset_k] = history_courses(self.stays, gaps, offset_k, self.tau_s)
        return self._courses[gaps, offset_k]


def life_over_time(
    stays: Sequence[StayClimate],
    label_temp_c: float,
    scenario: Scenario,
    tau_s: float = 0.0,
    points: int = 200,
) -> tuple[Floats, Floats]:
    """Return instants (s UTC) and the life used up to each (days), thinned for a picture."""
    courses = [c for c in history_courses(stays, scenario.gaps, scenario.offset_k, tau_s) if len(c)]
    if not courses:
        return np.empty(0), np.empty(0)
    starts = np.concatenate([c.start_s for c in courses])
    ends = np.concatenate([c.start_s + c.length_s for c in courses])
    used = np.cumsum(
        np.concatenate([life_by_piece(c, label_temp_c, scenario.energy_j_mol) for c in courses])
    )
    at = np.unique(np.linspace(0, len(ends) - 1, points).astype(np.int64))
    return np.append(starts[0], ends[at]), np.append(0.0, used[at])


def _life(
    courses: Sequence[Course], budget_days: float, way: _Way, now_s: float, ahead_c: float
) -> Life:
    """Used so far, and when the budget ends: in the past where it is used up already."""
    label_temp_c, energy, warm_s = way.label_temp_c, way.energy, way.warm_s
    before = rate(WARM_ARRIVAL_TEMP.value, label_temp_c, energy) * warm_s / SECONDS_PER_DAY
    used, filled, total_s, filled_s = before, 0.0, 0.0, 0.0
    crossed: float | None = None
    if budget_days <= 0:  # it came expired: its life ended by the label, before it came
        came_s = next((float(c.start_s[0]) for c in courses if len(c)), now_s)
        crossed = came_s + budget_days * SECONDS_PER_DAY
    for course in courses:
        if not len(course):
            continue
        days = life_by_piece(course, label_temp_c, energy)
        if crossed is None and used + days.sum() >= budget_days:
            crossed = _crossing(course, days, budget_days - used)
        used += float(days.sum())
        filled += float(days[course.filled].sum())
        total_s += float(course.length_s.sum())
        filled_s += float(course.length_s[course.filled].sum())
    if crossed is None and used >= budget_days:
        crossed = now_s
    ends_s = (
        crossed
        if crossed is not None
        else project(budget_days - used, [(now_s, ahead_c)], label_temp_c, energy)
    )
    return Life(used, filled, filled_s / total_s if total_s else 0.0, ends_s)


def _crossing(course: Course, days: Floats, left_days: float) -> float:
    """The instant within a course at which so much life is used."""
    upto = np.cumsum(days)
    at = min(int(np.searchsorted(upto, max(0.0, left_days))), len(days) - 1)
    before = float(upto[at] - days[at])
    share = (left_days - before) / float(days[at]) if days[at] > 0 else 0.0
    return float(course.start_s[at] + min(1.0, max(0.0, share)) * course.length_s[at])


def _spread(cause: Cause, base: Life, others: Sequence[Life]) -> Spread:
    """How far the day moves, never further than 20 years."""
    most = HORIZON.value
    moves = [(other.ends_s - base.ends_s) / SECONDS_PER_DAY for other in others]
    moves = [0.0 if math.isnan(move) else max(-most, min(most, move)) for move in moves]
    return Spread(cause, max(0.0, -min(moves)), max(0.0, max(moves)))


def _day(instant_s: float, zone: str) -> date:
    """The calendar day in which an instant falls."""
    return datetime.fromtimestamp(max(0.0, instant_s), UTC).astimezone(ZoneInfo(zone)).date()
