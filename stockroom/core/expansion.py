"""How acrylic and board move with temperature and humidity, and when a sheet has settled."""

import math
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from stockroom.core.constants import (
    ACRYLIC_EXPANSION,
    ACRYLIC_EXPANSION_HIGH,
    ACRYLIC_EXPANSION_LOW,
    ACRYLIC_MOISTURE,
    COMPOSITE_EXPANSION,
    HORIZON,
    MOISTURE_DAYS,
    MOISTURE_LONGEST,
    MOVEMENT_SIDE,
    SETTLE_DAYS,
    SETTLE_DIFFERENCE,
    SETTLE_MOISTURE,
)
from stockroom.core.records.traits import FAMILIES
from stockroom.errors import BadValueError
from stockroom.units import DMM_PER_M, DMM_PER_MM, checked_length

Why = Literal["temperature", "humidity", "humidity unknown"]
MOISTURE_WORDS = (
    f"most of it within {MOISTURE_DAYS[0].value:g} to {MOISTURE_DAYS[1].value:g} days, "
    f"up to {MOISTURE_LONGEST.value:g} days where the humidity changes by much"
)
"""How slowly acrylic takes up moisture and gives it off again; thicker sheet is slower still."""


@dataclass(frozen=True, slots=True)
class Air:
    """The air in which a sheet stood for long: °C, and relative humidity in % where known.

    Raises
    ------
    BadValueError
        Where the humidity is not within 0 and 100 %, or the temperature is no number.
    """

    temp_c: float
    humidity_pct: float | None = None

    def __post_init__(self) -> None:
        if not math.isfinite(self.temp_c):
            raise BadValueError(f"{self.temp_c:g} °C is not a temperature.")
        if self.humidity_pct is not None:
            _humidity(self.humidity_pct)


@dataclass(frozen=True, slots=True)
class Movement:
    """By how much the longer side of a sheet grows from one air to another; below zero it shrinks.

    Attributes
    ----------
    thermal_mm, thermal_low_mm, thermal_high_mm : float
        With the temperature: likely, least and most (for shrinking, the most below zero first).
    moisture_mm : float or None
        With the humidity, once the sheet has come to rest in it; None where one of the two is
        not known. It takes weeks: see `MOISTURE_WORDS`.
    """

    thermal_mm: float
    thermal_low_mm: float
    thermal_high_mm: float
    moisture_mm: float | None


@dataclass(frozen=True, slots=True)
class Settling:
    """Why a sheet should stand before it is worked, and how many days."""

    why: tuple[Why, ...]
    days: int
    """For the temperature; where the humidity changed, moving goes on: `MOISTURE_WORDS`."""


def thermal_growth_mm(length_mm: float, rise_k: float, per_k: float) -> float:
    """Return the growth of a length with the temperature, mm: length times rise times rate.

    >>> round(thermal_growth_mm(1_000, 40, 8e-5), 9)
    3.2
    """
    return length_mm * rise_k * per_k


def moisture_growth_mm_per_m(humidity_pct: float) -> float:
    """Return how much a metre of acrylic at rest in a humidity is longer than bone dry, mm.

    Source: technical data of extruded acrylic sheet, 2, 3 and 6 mm at 60, 80 and 100 % (secondary).
    Straight lines between, from 0 at 0 % (our choice). The curve is steeper near the wet end.

    Raises
    ------
    BadValueError
        Where the humidity is not within 0 and 100 %.

    >>> moisture_growth_mm_per_m(60), moisture_growth_mm_per_m(90), moisture_growth_mm_per_m(30)
    (2.0, 4.5, 1.0)
    """
    _humidity(humidity_pct)
    known = sorted(ACRYLIC_MOISTURE)
    upper = next(pct for pct in known[1:] if pct >= humidity_pct)
    lower = known[known.index(upper) - 1]
    share = (humidity_pct - lower) / (upper - lower)
    return ACRYLIC_MOISTURE[lower].value * (1 - share) + ACRYLIC_MOISTURE[upper].value * share


def movement(
    family: str, width_dmm: int, height_dmm: int, before: Air, after: Air
) -> Movement | None:
    """Return how the longer side of a sheet moves from one air to another.

    Parameters
    ----------
    family : str
        By its `Traits.stuff` it moves as acrylic, or as aluminium composite, whose skins let no
        moisture in; None where that is not known.
    width_dmm, height_dmm : int
        Size.
    before, after : Air
        Where it stood, and where it is going to stand.

    >>> moved = movement("sheet", 20_000, 10_000, Air(10, 60), Air(20, 60))
    >>> round(moved.thermal_mm, 3), moved.moisture_mm
    (1.4, 0.0)
    """
    side_mm = max(checked_length(width_dmm), checked_length(height_dmm)) / DMM_PER_MM
    rise_k = after.temp_c - before.temp_c
    stuff = FAMILIES[family].stuff
    if stuff == "composite":
        grown_mm = thermal_growth_mm(side_mm, rise_k, COMPOSITE_EXPANSION.value)
        return Movement(grown_mm, grown_mm, grown_mm, 0.0)
    if stuff is None:
        return None
    ends = sorted(
        thermal_growth_mm(side_mm, rise_k, rate.value)
        for rate in (ACRYLIC_EXPANSION_LOW, ACRYLIC_EXPANSION_HIGH)
    )
    likely_mm = thermal_growth_mm(side_mm, rise_k, ACRYLIC_EXPANSION.value)
    per_m = _moisture(before, after)
    moisture_mm = None if per_m is None else side_mm / 1_000 * per_m
    return Movement(likely_mm, ends[0], ends[1], moisture_mm)


def settling(
    family: str, before: Air, after: Air, settle_days: int | None = None
) -> Settling | None:
    """Return whether a sheet should stand after a move before it is cut or mounted, and why.

    It should where the temperatures differ by 5 K or more, where the moisture would move acrylic
    by 1 mm a metre or more, or where one of the humidities is not known (all our choice).

    Parameters
    ----------
    family : str
        ``sheet`` or ``board``; all else never settles.
    before, after : Air
        Where it stood, and where it stands now.
    settle_days : int or None
        Days it should stand, by the shop's own rule; None for the usual two.

    >>> settling("sheet", Air(12, 50), Air(21, 50))
    Settling(why=('temperature',), days=2)
    """
    days = _days(settle_days)
    if not FAMILIES[family].rigid:
        return None
    why: list[Why] = []
    if abs(after.temp_c - before.temp_c) >= SETTLE_DIFFERENCE.value:
        why.append("temperature")
    if FAMILIES[family].stuff == "acrylic":
        per_m = _moisture(before, after)
        if per_m is None:
            why.append("humidity unknown")
        elif abs(per_m) >= SETTLE_MOISTURE.value:
            why.append("humidity")
    return Settling(tuple(why), days) if why else None


def settles_on(moved_on: date, settle_days: int | None = None) -> date:
    """Return the first day on which a sheet moved on a day has stood long enough.

    Without a number of days it is the usual two.

    Raises
    ------
    BadValueError
        Where the days are below zero or beyond 20 years.

    >>> settles_on(date(2026, 3, 6), 2)
    datetime.date(2026, 3, 8)
    """
    return moved_on + timedelta(days=min(_days(settle_days), (date.max - moved_on).days))


def large(width_dmm: int, height_dmm: int) -> bool:
    """Return whether a sheet is so large that its movement is worth a word: a side of 1 m or more.

    >>> large(12_000, 8_000), large(9_999, 8_000)
    (True, False)
    """
    return max(width_dmm, height_dmm) >= MOVEMENT_SIDE.value * DMM_PER_M


def _moisture(before: Air, after: Air) -> float | None:
    if before.humidity_pct is None or after.humidity_pct is None:
        return None
    dry, wet = before.humidity_pct, after.humidity_pct
    return moisture_growth_mm_per_m(wet) - moisture_growth_mm_per_m(dry)


def _humidity(humidity_pct: float) -> None:
    if not 0 <= humidity_pct <= 100:
        raise BadValueError(
            f"{humidity_pct:g} % is not a relative humidity.", "It lies between 0 and 100 %."
        )


def _days(settle_days: int | None) -> int:
    days = round(SETTLE_DAYS.value) if settle_days is None else settle_days
    if not 0 <= days <= HORIZON.value:
        raise BadValueError(
            f"A sheet cannot settle for {days} days.",
            f"The days must lie between 0 and {HORIZON.value:g}.",
        )
    return days
