"""The day until which a unit can be used: likely first, then earliest and latest."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Literal

import numpy as np

from stockroom.core.climate.ageing import Scenario, life_by_piece, project, rate
from stockroom.core.climate.course import Course, Floats
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

    Returns
    -------
    UsableBy
    """
    energy = energy_j_mol or ACTIVATION_ENERGY.value
    energies = (
        (energy,)
        if energy_j_mol
        else (energy, ACTIVATION_ENERGY_LOW.value, ACTIVATION_ENERGY_HIGH.value)
    )
    sensor = SENSOR_SPREAD.value
    likely_c = history_courses(stays, "likely", 0.0, tau_s)
    warm = WARM_ARRIVAL_LIKELY.value if arrived_warm else 0.0
    reading = label.readings[0]

    def life(
        courses: list[Course], at_c: float, by_energy: float, warm_s: float, ahead_c: float
    ) -> Life:
        return _life(courses, label.days, at_c, by_energy, warm_s, now_s, ahead_c)

    base = life(likely_c, reading.temp_c, energy, warm, temp_ahead_c)
    moved: dict[Cause, list[Life]] = {
        "activation energy": [
            life(likely_c, reading.temp_c, other, warm, temp_ahead_c) for other in energies[1:]
        ],
        "sensor": [
            life(
                history_courses(stays, "likely", offset, tau_s),
                reading.temp_c,
                energy,
                warm,
                temp_ahead_c + offset,
            )
            for offset in (-sensor, sensor)
        ],
        "gaps": [],
        "label temperature": [
            life(likely_c, other.temp_c, energy, warm, temp_ahead_c) for other in label.readings[1:]
        ],
        "warm arrival": [],
    }
    if base.filled_share > 0:
        moved["gaps"] = [
            life(
                history_courses(stays, gaps, 0.0, tau_s),
                reading.temp_c,
                energy,
                warm,
                temp_ahead_c,
            )
            for gaps in ("best", "worst")
        ]
    if arrived_warm:
        moved["warm arrival"] = [
            life(likely_c, reading.temp_c, energy, warm_s, temp_ahead_c)
            for warm_s in (0.0, WARM_ARRIVAL_LONGEST.value)
        ]
    spreads = [_spread(cause, base, others) for cause, others in moved.items() if others]
    earlier = math.hypot(*(spread.earlier_days for spread in spreads))
    later = math.hypot(*(spread.later_days for spread in spreads))
    horizon_s = now_s + HORIZON.value * SECONDS_PER_DAY
    likely = _day(min(base.ends_s, horizon_s))
    return UsableBy(
        likely=likely,
        earliest=likely - timedelta(days=round(min(earlier, HORIZON.value))),
        latest=min(_day(horizon_s), likely + timedelta(days=round(min(later, HORIZON.value)))),
        runs_out=base.ends_s < horizon_s,
        label=label,
        used_days=base.used_days,
        left_days=label.days - base.used_days,
        filled_share=base.filled_share,
        filled_life=base.filled_life,
        spreads=tuple(
            sorted(spreads, key=lambda s: -max(s.earlier_days, s.later_days))
        ),
        by_reading=tuple(
            (other, _day(min(horizon_s, life(
                likely_c, other.temp_c, energy, warm, temp_ahead_c).ends_s)))
            for other in label.readings
        ),
    )  # fmt: skip


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
    courses: Sequence[Course],
    budget_days: float,
    label_temp_c: float,
    energy: float,
    warm_s: float,
    now_s: float,
    ahead_c: float,
) -> Life:
    """Used so far, and when the budget ends: in the past where it is used up already."""
    before = rate(WARM_ARRIVAL_TEMP.value, label_temp_c, energy) * warm_s / SECONDS_PER_DAY
    used, filled, total_s, filled_s = before, 0.0, 0.0, 0.0
    crossed: float | None = None
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


def _day(instant_s: float) -> date:
    """The last whole day before an instant."""
    return datetime.fromtimestamp(max(0.0, instant_s), UTC).date()
