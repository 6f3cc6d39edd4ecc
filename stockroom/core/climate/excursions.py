"""Warm and cold spells: finding them, what life they cost, and the shape of one nobody logged."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.ageing import Lag, Scenario, rate, used_life
from stockroom.core.climate.course import GRID_S, Floats, PlaceClimate
from stockroom.core.climate.readings import FILLED, Readings, Usual, usable
from stockroom.units import SECONDS_PER_DAY

COOLED = 6.0
"""Time constants counted after a spell: by then a body has cooled to 0.3 % (our choice)."""


@dataclass(frozen=True, slots=True)
class Excursion:
    """A stretch outside a place's limits.

    Attributes
    ----------
    from_s, to_s : int
        First reading outside, and first reading right again (s UTC); the last reading of all
        where it is still going on.
    peak_c : float
        Highest reading of a warm spell, lowest of a cold one, °C.
    side : {"warm", "cold"}
    ongoing : bool
        Whether the last reading is still not right.
    """

    from_s: int
    to_s: int
    peak_c: float
    side: Literal["warm", "cold"]
    ongoing: bool = False


def find(
    readings: Readings,
    high_c: float,
    low_c: float | None = None,
    hysteresis_k: float = 1.0,
    least_s: float = 600.0,
    merge_s: float = 1_800.0,
) -> list[Excursion]:
    """Return the spells outside a place's limits, in order of time.

    A spell starts at a reading above the limit and ends at the first one at or below the limit
    less the hysteresis; on the cold side the same with signs turned. Spells shorter than
    `least_s` are dropped, then those less than `merge_s` apart are joined. A spell that runs into
    a gap of the log lasts until the first reading that is right again.

    Parameters
    ----------
    readings : Readings
        Of the place; unusable ones are dropped.
    high_c, low_c : float, float or None
        Limits, °C.
    hysteresis_k : float
        How far back inside a limit the temperature must come, K.
    least_s, merge_s : float
        Shortest spell, and longest pause inside one, s.

    Raises
    ------
    ValueError
        Where limits are crossed or a number cannot be.

    >>> log = Readings.of([0, 900, 1800, 2700, 3600], [4.0, 9.0, 12.0, 7.5, 6.0])
    >>> find(log, high_c=8.0)
    [Excursion(from_s=900, to_s=3600, peak_c=12.0, side='warm', ongoing=False)]
    """
    if not math.isfinite(high_c) or (low_c is not None and not low_c < high_c):
        raise ValueError("the lower limit must be a number below the upper one")
    if not all(0 <= value < math.inf for value in (hysteresis_k, least_s, merge_s)):
        raise ValueError("hysteresis, shortest spell and longest pause must be zero or more")
    good = usable(readings)
    t, temp = good.t_s, good.temp_c
    found = [
        Excursion(from_s, to_s, peak, "warm", ongoing)
        for from_s, to_s, peak, ongoing in _above(t, temp, high_c, hysteresis_k, least_s, merge_s)
    ]
    if low_c is not None:
        found += [
            Excursion(from_s, to_s, -peak, "cold", ongoing)
            for from_s, to_s, peak, ongoing in _above(
                t, -temp, -low_c, hysteresis_k, least_s, merge_s
            )
        ]
    return sorted(found, key=lambda spell: spell.from_s)


def _above(
    t_s: NDArray[np.int64],
    value: Floats,
    limit: float,
    hysteresis: float,
    least_s: float,
    merge_s: float,
) -> list[tuple[int, int, float, bool]]:
    """Return start, end, highest value and whether still running, of each spell above a limit."""
    n = len(t_s)
    if not n:
        return []
    over, right = value > limit, value <= limit - hysteresis
    # between the two levels the state is that of the last reading outside them
    last_told = np.maximum.accumulate(np.where(over | right, np.arange(n), -1))
    outside = over[last_told] & (last_told >= 0)
    edge = np.diff(outside.astype(np.int8), prepend=0, append=0)
    first, after = np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)
    end_s = t_s[np.minimum(after, n - 1)]
    long = end_s - t_s[first] >= least_s
    first, after, end_s = first[long], after[long], end_s[long]
    if not len(first):
        return []
    apart = t_s[first[1:]] - end_s[:-1] >= merge_s
    opens, closes = np.append(True, apart), np.append(apart, True)
    first, after, end_s = first[opens], after[closes], end_s[closes]
    peaks = [float(value[begin:end].max()) for begin, end in zip(first, after, strict=True)]
    return [
        (int(t_s[begin]), int(end), peak, bool(stop == n))
        for begin, end, peak, stop in zip(first, end_s, peaks, after, strict=True)
    ]


def days_lost(
    excursion: Excursion,
    readings: Readings,
    place: PlaceClimate,
    label_temp_c: float,
    energy_j_mol: float,
    tau_s: float = 0.0,
    usual: Usual = None,
    until_s: float = math.inf,
) -> float:
    """Return the days of label life an excursion cost beyond what the place should have cost.

    Life used by a body that lags, from the start of the spell to six time constants after its
    end (a warm roll cools slowly), less the life its set-point would have used in that time. The
    body starts at the set-point. Of a spell still going on, what it has cost so far is counted.

    Parameters
    ----------
    readings : Readings
        Of the place, around the spell; past the last one the place is believed to be right.
    place : PlaceClimate
        Its set-point, or else its upper limit, is what it should have been.
    label_temp_c : float
        Temperature for which the label's life is stated, °C.
    energy_j_mol : float
        Activation energy, J/mol.
    tau_s : float
        Time constant of the body, s.
    usual : float, Steps or None
        The whole log's usual step, where only part of it is given; None: that of the part.
    until_s : float
        Start of the next spell, s UTC: what the body is still too warm by then counts to neither.

    Returns
    -------
    float
        Days of label life, never below zero.

    Raises
    ------
    ValueError
        Where the place has neither set-point nor limit, or a number cannot be.

    >>> hours = [hour * 3600 for hour in range(49)]
    >>> log = Readings.of(hours, [4.0] * 10 + [21.0] * 24 + [4.0] * 15)
    >>> spell, = find(log, high_c=8.0)
    >>> round(days_lost(spell, log, PlaceClimate(4.0, 8.0), 10.0, 85_000), 1)
    3.3
    """
    right_c = place.set_point_c if place.set_point_c is not None else place.high_c
    if right_c is None:
        raise ValueError("a place needs a set-point or a limit to tell what a spell cost there")
    to_s: float = excursion.to_s
    if not excursion.ongoing:
        to_s = max(to_s, min(until_s, excursion.to_s + COOLED * tau_s))
    used = used_life(
        readings,
        excursion.from_s,
        to_s,
        PlaceClimate(right_c, place.high_c),
        label_temp_c,
        Scenario(energy_j_mol),
        lag=Lag(tau_s, right_c),
        usual=usual,
    )
    usual = rate(right_c, label_temp_c, energy_j_mol) * (to_s - excursion.from_s) / SECONDS_PER_DAY
    return max(0.0, used.days - usual)


def guessed(
    last_right_s: int,
    last_right_c: float,
    found_s: int,
    found_c: float,
    highest_c: float | None = None,
    now_c: float | None = None,
) -> Readings:
    """Return the readings that stand for a warm spell nobody logged, in its worst shape.

    It is taken to have jumped to its highest temperature the second after it was last seen right,
    and to have stayed there until it was found. What is assumed carries the flag `FILLED`, so it
    is counted as filled wherever life is reckoned; what a person saw does not.

    Parameters
    ----------
    last_right_s, last_right_c : int, float
        When it was last seen right (s UTC), and its temperature then, °C.
    found_s, found_c : int, float
        When it was found, and its temperature then.
    highest_c : float or None
        Highest temperature it may have had (a maximum thermometer); None: as found. Never taken
        below what was seen.
    now_c : float or None
        Temperature once put right, the second after it was found; None: not told.

    Returns
    -------
    Readings
        At most `GRID_S` apart, so that no step counts as a gap.

    Raises
    ------
    ValueError
        Where it was found less than 2 s after it was last right, or a number cannot be.

    >>> spell = guessed(0, 4.0, 1_800, 15.0, 18.0)
    >>> spell.t_s, spell.temp_c
    (array([   0,    1,  901, 1799, 1800]), array([ 4., 18., 18., 18., 15.]))
    """
    seen_c = [last_right_c, found_c] + [value for value in (highest_c, now_c) if value is not None]
    if not all(map(math.isfinite, seen_c)):
        raise ValueError("each temperature must be a plain number")
    if found_s - last_right_s < 2:
        raise ValueError("it must have been found after it was last seen right")
    top_c = max(last_right_c, found_c, found_c if highest_c is None else highest_c)
    held_s = np.append(np.arange(last_right_s + 1, found_s - 1, GRID_S), found_s - 1)
    after = [] if now_c is None else [now_c]
    return Readings.of(
        [last_right_s, *held_s, found_s, *(found_s + 1 for _ in after)],
        [last_right_c, *(top_c for _ in held_s), found_c, *after],
        flag=[0, *(FILLED for _ in held_s), 0, *(0 for _ in after)],
    )
