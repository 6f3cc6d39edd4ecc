"""The day until which a unit can be used: likely first, then earliest and latest."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from stockroom.core.climate.visits import Aged
from stockroom.core.constants import HORIZON
from stockroom.core.freshness.ahead import Ahead, KnownBy
from stockroom.core.freshness.label import LabelLife, LabelReading
from stockroom.core.freshness.ways import Cause, Counted, Ways
from stockroom.units import SECONDS_PER_DAY


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
    life_days : float
        The life it counts as having come with: the label's, or what its white says of it.
    used_days, left_days : float
        Days of label life used so far, and left, likely values.
    white : Counted or None
        What its measured white says of that life.
    filled_share : float
        Share of its time in the store that rests on filled data, 0 to 1.
    filled_life : float
        Of the life used, what rests on filled data, days.
    spreads : tuple of Spread
        What widens the range, widest first.
    by_reading : tuple of (LabelReading, date)
        The likely day for each way to read the label's temperature.
    ahead : KnownBy
        What the temperature ahead of it is taken from.
    days_out : float
        Days out of its place that are counted in.
    """

    likely: date
    earliest: date
    latest: date
    runs_out: bool
    label: LabelLife
    white: Counted | None
    life_days: float
    used_days: float
    left_days: float
    filled_share: float
    filled_life: float
    spreads: tuple[Spread, ...]
    by_reading: tuple[tuple[LabelReading, date], ...]
    ahead: KnownBy
    days_out: float

    @property
    def unproven(self) -> bool:
        """Whether the likely day lies past the printed date, which only paper whites can prove."""
        return self.unproven_on(self.likely)

    def unproven_on(self, day: date) -> bool:
        """Return whether a day lies past the printed date, and no word on a white proves it."""
        if self.white is not None and self.white.word:
            return False
        return self.label.printed is not None and day > self.label.printed

    def nearer_part(self) -> tuple[date, date]:
        """Return the half of the range next to the likely day, before and after it.

        A print on a day within it wants a strip first (our choice: half of each side).
        """
        before = timedelta(days=(self.likely - self.earliest).days // 2)
        after = timedelta(days=(self.latest - self.likely).days // 2)
        return self.likely - before, self.likely + after


@dataclass(frozen=True, slots=True)
class Life:
    """What was used so far, by the likely way, and when the life runs out by each way (s UTC)."""

    used_days: float
    filled_life: float
    filled_share: float
    ends_s: tuple[float, ...]


def life_of(aged: Aged, ways: Ways, label: LabelLife, ahead: Ahead, now_s: float) -> Life:
    """Return what a unit used, and when the rest runs out by each of its ways.

    Parameters
    ----------
    aged : Aged
        What it has behind it.
    ahead : Ahead
        What is ahead of it from then on.
    now_s : float
        The present, s UTC.
    """
    share = aged.filled_s / aged.total_s if aged.total_s else 0.0
    left = (ways.budgets(label) - aged.used_days).tolist()
    ends = (
        ahead.runs_out_s(days, rule, now_s) if math.isnan(crossed) else crossed
        for days, rule, crossed in zip(left, ways.rules, aged.ended_s.tolist(), strict=True)
    )
    return Life(float(aged.used_days[0]), aged.filled_days, share, tuple(ends))


def told(
    label: LabelLife,
    ways: Ways,
    life: Life,
    now_s: float,
    zone: str,
    ahead: Ahead,
    white: Counted | None = None,
) -> UsableBy:
    """Return the usable-by day from the lives of all ways.

    Every cause is moved alone from the likely reckoning: the activation energy from 60 to
    120 kJ/mol (not where the user has a figure), the sensor by 0.5 K, gaps from set-point to
    re-warming, the label's temperature where it is unknown, a warm arrival from nothing to three
    days, the life that a measured white tells from end to end of it.
    Independent causes are put together as the root of the sum of squares, each side alone.
    """
    base_s = life.ends_s[0]
    spreads = [
        _spread(cause, base_s, [life.ends_s[column] for column in columns])
        for cause, columns in ways.causes.items()
        if cause != "gaps" or life.filled_share > 0
    ]
    earlier = min(math.hypot(*(spread.earlier_days for spread in spreads)), HORIZON.value)
    later = min(math.hypot(*(spread.later_days for spread in spreads)), HORIZON.value)
    horizon_s = now_s + HORIZON.value * SECONDS_PER_DAY
    likely = _day(min(base_s, horizon_s), zone)
    life_days = float(ways.budgets(label)[0])
    return UsableBy(
        likely=likely,
        earliest=likely - timedelta(days=round(earlier)),
        latest=min(_day(horizon_s, zone), likely + timedelta(days=round(later))),
        runs_out=base_s < horizon_s,
        label=label,
        used_days=life.used_days,
        life_days=life_days,
        left_days=life_days - life.used_days,
        white=white,
        filled_share=life.filled_share,
        filled_life=life.filled_life,
        spreads=tuple(sorted(spreads, key=lambda s: -max(s.earlier_days, s.later_days))),
        by_reading=tuple(
            (reading, _day(min(life.ends_s[column], horizon_s), zone))
            for reading, column in zip(label.readings, ways.readings, strict=True)
        ),
        ahead=ahead.known_by,
        days_out=ahead.days_out,
    )


def _spread(cause: Cause, base_s: float, ends_s: Sequence[float]) -> Spread:
    """How far the day moves, never further than 20 years."""
    most = HORIZON.value
    moves = [(end_s - base_s) / SECONDS_PER_DAY for end_s in ends_s]
    moves = [0.0 if math.isnan(move) else max(-most, min(most, move)) for move in moves]
    return Spread(cause, max(0.0, -min(moves)), max(0.0, max(moves)))


def _day(instant_s: float, zone: str) -> date:
    """The calendar day in which an instant falls."""
    return datetime.fromtimestamp(max(0, round(instant_s)), UTC).astimezone(ZoneInfo(zone)).date()
