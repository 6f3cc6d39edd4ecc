"""The temperature believed over a stay: readings where there are any, a stated belief elsewhere."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import (
    FILLED,
    Readings,
    Usual,
    long_steps,
    step_s,
    usable,
    window,
)
from stockroom.core.constants import (
    BRIDGE_DIFFERENCE,
    BRIDGE_LONGEST,
    REWARM_LONGEST,
    REWARM_TEMP,
    REWARM_TIME,
    ROOM_TEMP,
    Constant,
)

Gaps = Literal["likely", "best", "worst"]
"""What is believed where nothing was logged: the usual, the coolest, a power cut."""

GRID_S = 900
"""Longest step on a curved stretch, s (our choice: the trapezoid is then within 1 %)."""
UNLOGGED_MARGIN = Constant(
    2.0, "K", "a place nobody logs may run warmer than it is set", "our choice"
)

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class PlaceClimate:
    """What is believed of a place where there is no reading.

    Attributes
    ----------
    set_point_c : float or None
        What it is set to, °C.
    high_c : float or None
        Its upper limit, °C.
    """

    set_point_c: float | None = None
    high_c: float | None = None

    def __post_init__(self) -> None:
        for value in (self.set_point_c, self.high_c):
            if value is not None and not math.isfinite(value):
                raise ValueError("a set-point or limit must be a plain number")


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Temperature over a stay as pieces in order of time, each running straight between its ends.

    Two neighbours need not meet: where a belief starts, the temperature may jump.

    Attributes
    ----------
    start_s, length_s : float64 arrays (n,)
        Start of each piece (s, UTC) and its length (s, above zero).
    from_c, to_c : float64 arrays (n,)
        Temperature at its two ends, °C.
    bridged : bool array (n,)
        A straight line over a stretch without readings: the rate is averaged by its logarithm.
    filled : bool array (n,)
        Rests on a belief, not on readings.
    """

    start_s: Floats
    length_s: Floats
    from_c: Floats
    to_c: Floats
    bridged: Bools
    filled: Bools

    def __len__(self) -> int:
        return len(self.start_s)


class _Stretch(NamedTuple):
    """A stretch to be filled: the part inside the stay, and the gap it belongs to."""

    begin_s: float
    end_s: float
    gap_from_s: float
    gap_to_s: float
    before_c: float | None
    after_c: float | None

    @property
    def ends(self) -> list[float]:
        return [value for value in (self.before_c, self.after_c) if value is not None]

    @property
    def unlogged(self) -> bool:
        """Whether this is a place without a logger rather than a power cut."""
        return len(self.ends) < 2 and self.gap_to_s - self.gap_from_s > REWARM_LONGEST.value


def believed(
    readings: Readings,
    from_s: float,
    to_s: float,
    place: PlaceClimate,
    gaps: Gaps = "likely",
    offset_k: float = 0.0,
    usual: Usual = None,
) -> Course:
    """Return the temperature believed over a stay.

    Between readings, and at the ends of the stay between two of them, it runs straight. A step
    longer than 2.5 median steps (and half an hour) is a gap. A gap of at most 2 h with ends
    within 2 K is bridged. Any other gap, and what lies before the first or after the last
    reading, is filled:

    - *likely*: the set-point; without one a straight line between the known ends, else the one
      known end, else a usual room.
    - *best*: the set-point; without one the lower end, held.
    - *worst*: a power cut. From the last value before the gap (else the likely one) the place
      warms towards 28 °C, or its set-point if that is higher, with a time constant of 10 h for
      at most three days; then its upper limit (else its set-point) holds. It is never cooler
      than the likely belief. The curve is taken on a grid of 900 s counted from the start of the
      gap. A stretch without any reading on one side, longer than three days, is a place nobody
      logs: its upper limit throughout, or 2 K above the likely belief.

    Parameters
    ----------
    readings : Readings
        Of the place; unusable ones are dropped here. They may reach beyond the stay, and should
        by at least one reading.
    from_s, to_s : float
        The stay, s UTC.
    gaps : {"likely", "best", "worst"}
    offset_k : float
        Added to every reading (what the sensor may be off), never to set-points and limits.
    usual : float, Steps or None
        The whole log's usual step, where only part of it is given; None: that of the part.

    Returns
    -------
    Course
        Pieces that cover the stay without a hole. Pieces at a reading flagged `FILLED` count as
        filled.

    Raises
    ------
    ValueError
        Where the stay ends before it starts, or an instant is no number.
    """
    if not (math.isfinite(from_s) and math.isfinite(to_s)):
        raise ValueError("a stay needs a start and an end that are plain instants")
    if to_s < from_s:
        raise ValueError("a stay must not end before it starts")
    good = usable(readings)
    measured, stretches = _measured(good, float(from_s), float(to_s), offset_k, usual)
    rows = [row for stretch in stretches for row in _filled(stretch, place, gaps)]
    if not rows:
        return measured
    parts = [measured, *rows]
    start_s = np.concatenate([part.start_s for part in parts])
    order = np.argsort(start_s, kind="stable")
    return Course(
        start_s[order],
        np.concatenate([part.length_s for part in parts])[order],
        np.concatenate([part.from_c for part in parts])[order],
        np.concatenate([part.to_c for part in parts])[order],
        np.concatenate([part.bridged for part in parts])[order],
        np.concatenate([part.filled for part in parts])[order],
    )


def _measured(
    good: Readings, from_s: float, to_s: float, offset_k: float, usual: Usual
) -> tuple[Course, list[_Stretch]]:
    """Return the pieces that rest on readings, and the stretches left to be filled."""
    if to_s == from_s:
        return _NOTHING, []
    if not len(good):
        return _NOTHING, [_Stretch(from_s, to_s, from_s, to_s, None, None)]
    first_s, last_s = float(good.t_s[0]), float(good.t_s[-1])
    first_c, last_c = (float(good.temp_c[at]) + offset_k for at in (0, -1))
    stretches = []
    if from_s < first_s:
        end_s = min(to_s, first_s)
        stretches.append(_Stretch(from_s, end_s, from_s, end_s, None, first_c))
    if to_s > last_s:
        stretches.append(_Stretch(max(from_s, last_s), to_s, last_s, to_s, last_c, None))
    begin_s, end_s = max(from_s, first_s), min(to_s, last_s)
    if begin_s >= end_s:
        return _NOTHING, stretches

    low = int(np.searchsorted(good.t_s, begin_s, "right")) - 1
    high = int(np.searchsorted(good.t_s, end_s, "left")) + 1
    t = good.t_s[low:high].astype(np.float64)
    temp = good.temp_c[low:high] + offset_k
    step = np.diff(t)
    gap = long_steps(window(good, t[0], t[-1]), step_s(good) if usual is None else usual)
    near = np.abs(np.diff(temp)) <= BRIDGE_DIFFERENCE.value
    bridged = gap & (step <= BRIDGE_LONGEST.value) & near
    assumed = (good.flag[low:high] & FILLED) != 0

    knot_s, knot_c = t.copy(), temp.copy()
    knot_s[0], knot_s[-1] = begin_s, end_s
    knot_c[0] = _between(t[:2], temp[:2], begin_s)
    knot_c[-1] = _between(t[-2:], temp[-2:], end_s)
    stretches += [
        _Stretch(knot_s[i], knot_s[i + 1], t[i], t[i + 1], float(temp[i]), float(temp[i + 1]))
        for i in np.flatnonzero(gap & ~bridged)
    ]
    keep = ~gap | bridged
    return Course(
        knot_s[:-1][keep],
        np.diff(knot_s)[keep],
        knot_c[:-1][keep],
        knot_c[1:][keep],
        bridged[keep],
        (assumed[:-1] | assumed[1:])[keep],
    ), stretches


def _between(t_s: Floats, temp_c: Floats, at_s: float) -> float:
    share = (at_s - t_s[0]) / (t_s[1] - t_s[0])
    return float(temp_c[0] + (temp_c[1] - temp_c[0]) * share)


def _filled(stretch: _Stretch, place: PlaceClimate, gaps: Gaps) -> Iterator[Course]:
    """Yield the pieces that fill a stretch by the rules of `believed`."""
    ends = stretch.ends
    begin_s, end_s = stretch.begin_s, stretch.end_s
    if gaps == "worst":
        yield from _worst(stretch, place)
    elif place.set_point_c is not None:
        yield _straight(begin_s, end_s, place.set_point_c, place.set_point_c)
    elif gaps == "best" or len(ends) < 2:
        held = min(ends, default=ROOM_TEMP.value)
        yield _straight(begin_s, end_s, held, held)
    else:
        from_c, to_c = _likely_c(stretch, place, np.array([begin_s, end_s]))
        yield _straight(begin_s, end_s, float(from_c), float(to_c))


def _worst(stretch: _Stretch, place: PlaceClimate) -> Iterator[Course]:
    begin_s, end_s = stretch.begin_s, stretch.end_s
    set_point, high = place.set_point_c, place.high_c
    usual = set_point if set_point is not None else max(stretch.ends, default=ROOM_TEMP.value)
    if stretch.unlogged:
        held = max(high, usual) if high is not None else usual + UNLOGGED_MARGIN.value
        yield _straight(begin_s, end_s, held, held)
        return
    cut_s = min(end_s, stretch.gap_from_s + REWARM_LONGEST.value)
    if cut_s > begin_s:
        done = math.floor((begin_s - stretch.gap_from_s) / GRID_S) + 1
        inner = np.arange(stretch.gap_from_s + done * GRID_S, cut_s, GRID_S)
        knot_s = np.concatenate(([begin_s], inner, [cut_s]))
        likely_c = _likely_c(stretch, place, np.append(stretch.gap_from_s, knot_s))
        start_c = stretch.before_c if stretch.before_c is not None else float(likely_c[0])
        end_c = REWARM_TEMP.value if set_point is None else max(REWARM_TEMP.value, set_point)
        decay = np.exp((stretch.gap_from_s - knot_s) / REWARM_TIME.value)
        temp_c = np.maximum(end_c + (start_c - end_c) * decay, likely_c[1:])
        flags = np.zeros(len(inner) + 1, np.bool_)
        yield Course(knot_s[:-1], np.diff(knot_s), temp_c[:-1], temp_c[1:], flags, ~flags)
    if end_s > max(cut_s, begin_s):
        held = usual if high is None else max(high, usual)
        yield _straight(max(cut_s, begin_s), end_s, held, held)


def _likely_c(stretch: _Stretch, place: PlaceClimate, at_s: Floats) -> Floats:
    if place.set_point_c is not None:
        return np.full(len(at_s), place.set_point_c)
    if stretch.before_c is None or stretch.after_c is None:
        return np.full(len(at_s), max(stretch.ends, default=ROOM_TEMP.value))
    share = (at_s - stretch.gap_from_s) / (stretch.gap_to_s - stretch.gap_from_s)
    likely: Floats = stretch.before_c + (stretch.after_c - stretch.before_c) * share
    return likely


def _straight(begin_s: float, end_s: float, from_c: float, to_c: float) -> Course:
    one = np.ones(1, np.bool_)
    return Course(
        np.array([begin_s]),
        np.array([end_s - begin_s]),
        np.array([from_c]),
        np.array([to_c]),
        one,
        one,
    )


_NONE = np.empty(0)
_NOTHING = Course(_NONE, _NONE, _NONE, _NONE, _NONE.astype(np.bool_), _NONE.astype(np.bool_))
