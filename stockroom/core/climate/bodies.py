"""The temperature inside rolls at a place, followed once for all rolls that lag alike."""

import math
from collections import OrderedDict
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from stockroom.core.climate.course import GRID_S, Course, Floats, Gaps, PlaceClimate, believed
from stockroom.core.climate.lag import FORGOTTEN, LONGEST_LAG_S, SETTLED
from stockroom.core.climate.readings import Readings, Usual, step_s
from stockroom.core.climate.sums import Sums, Track
from stockroom.core.constants import SENSOR_SPREAD, Constant

LAG_STEP = Constant(
    math.sqrt(2),
    "ratio",
    "rolls whose time constants are this close are followed as one: none is known to a fifth",
    "our choice",
)
LEAST_LAG_S = 1_200.0
"""The foot of the ladder, s: a nearly bare core, or one sheet (our choice)."""
STEPS_A_LAG = 12
"""Least steps in which a time constant is followed (our choice: 1e-4 of a day's ageing)."""
FINEST_S = 150.0
"""The shortest step in which a body is followed, s; longer ones are doublings of it."""
LONG_S = 10 * SETTLED * LONGEST_LAG_S
"""A belief that runs straight for longer than this, s, is not followed in steps (our choice)."""
LONG_STEPS = 100
"""In so many steps it is followed instead (our choice: 2e-4 of a day where it warms by 8 K)."""
_KEPT_SUMS = 24
"""Running sums kept at a time, the last ones used."""


class Kind(NamedTuple):
    """What is believed of a place: how gaps are filled, and what its sensor is off, K."""

    gaps: Gaps = "likely"
    offset_k: float = 0.0


LIKELY = Kind()


def lag_class_s(tau_s: float) -> float:
    """Return the time constant under which a body is followed, s: the nearest of a ladder.

    >>> [round(lag_class_s(tau_s)) for tau_s in (0, 600, 3_500, 10_400)]
    [1200, 1200, 3394, 9600]
    """
    steps = round(math.log(max(tau_s, LEAST_LAG_S) / LEAST_LAG_S) / math.log(LAG_STEP.value))
    return float(LEAST_LAG_S * LAG_STEP.value**steps)


def step_of(tau_s: float, log_step_s: float = 0.0) -> float:
    """Return the step in which a body of a time constant (s, above zero) is followed, s.

    Not finer than its air was logged (s), up to the step in which curves are drawn.
    """
    doublings = max(0, math.floor(math.log2(tau_s / STEPS_A_LAG / FINEST_S)))
    return max(float(FINEST_S * 2**doublings), min(log_step_s, float(GRID_S)))


class PlaceAir:
    """The air of a place from its first stay on, and the bodies that stood in it.

    A body that has stood here always is followed once for each time constant. One that came at
    some instant differs from it by ``D exp(-t/tau)``, whatever the air did, so each stay is the
    difference of two look-ups and a short curve at its start.

    Parameters
    ----------
    readings : Readings
        Of the place, all of them.
    from_s, to_s : float
        The span that will be asked for, s UTC.
    usual : float, Steps or None
        The usual step of the log; None: that of the readings given.
    """

    def __init__(
        self,
        readings: Readings,
        climate: PlaceClimate,
        from_s: float,
        to_s: float,
        usual: Usual = None,
    ) -> None:
        if not to_s > from_s:
            raise ValueError("a place must be asked for a span of time")
        self.readings, self.climate = readings, climate
        self.from_s, self.to_s = float(from_s), float(to_s)
        self.usual = usual
        self._log_step_s = step_s(readings)
        self._tracks: dict[tuple[Kind, float], Track] = {}
        self._air: tuple[Kind, Track] | None = None
        self._sums: OrderedDict[tuple[Kind, float, float, float], Sums] = OrderedDict()

    def track(self, kind: Kind = LIKELY, tau_s: float = 0.0) -> Track:
        """Return the temperature inside a body that has always stood here.

        Parameters
        ----------
        tau_s : float
            A time constant of the ladder, s; 0 for the air itself.
        """
        if tau_s == 0:
            if self._air is None or self._air[0] != kind:  # large, and seldom asked for twice
                self._air = (kind, self._of_air(kind))
            return self._air[1]
        if (kind, tau_s) not in self._tracks:
            self._tracks[kind, tau_s] = self._followed(kind, tau_s)
        return self._tracks[kind, tau_s]

    def sums(self, kind: Kind, tau_s: float, label_temp_c: float, energy_j_mol: float) -> Sums:
        """Return the running life along such a body; the last few are kept."""
        key = (kind, tau_s, label_temp_c, energy_j_mol)
        found = self._sums.pop(key, None)
        if found is None:
            found = Sums(self.track(kind, tau_s), label_temp_c, energy_j_mol)
            while len(self._sums) >= _KEPT_SUMS:
                self._sums.popitem(last=False)
        self._sums[key] = found  # the last one used is the last to go
        return found

    def forget(self) -> None:
        """Let go of running sums and of the air; they are made anew when asked for."""
        self._sums.clear()
        self._air = None

    def _of_air(self, kind: Kind) -> Track:
        return Track(
            believed(
                self.readings, self.from_s, self.to_s, self.climate, kind.gaps, kind.offset_k,
                self.usual,
            )
        )  # fmt: skip

    def _followed(self, kind: Kind, tau_s: float) -> Track:
        if kind.offset_k == -SENSOR_SPREAD.value:
            # bodies are linear in their air: the other side is a mirror
            middle, upper = (self.track(Kind(kind.gaps, at), tau_s).course
                             for at in (0.0, -kind.offset_k))  # fmt: skip
            return Track(_on_knots(middle, 2 * _knot_temps(middle) - _knot_temps(upper)))
        if kind.gaps == "best" and self.climate.set_point_c is not None:
            # at its best a gap is at the set-point, as it is likely
            return self.track(kind._replace(gaps="likely"), tau_s)
        return Track(followed(self.track(kind).course, tau_s, step_of(tau_s, self._log_step_s)))


def followed(air: Course, tau_s: float, step_s: float) -> Course:
    """Return the temperature inside a body that stood in this air throughout.

    A first-order body, solved exactly over each piece of the air, then read in even steps. It
    starts at the temperature of its air.

    Parameters
    ----------
    air : Course
        At least one piece.
    tau_s : float
        Time constant, s, above zero.
    step_s : float
        The step in which it is read, s.

    Returns
    -------
    Course
        Even steps; a step counts as filled where most of it is. Where nothing was logged and one
        temperature is believed throughout, it is that of the air. Where a belief runs straight
        for longer than `LONG_S`, the steps are long too once the body has settled: it trails its
        air by the slope times its time constant.
    """
    if len(air) == 1 and air.filled[0] and air.from_c[0] == air.to_c[0]:
        return air
    settle_s = math.ceil(SETTLED * tau_s / step_s) * step_s
    parts, rest, apart_k = [], air, 0.0
    for at in np.flatnonzero(air.filled & (air.length_s > LONG_S)):
        begin_s, length_s = float(air.start_s[at]), float(air.length_s[at])
        settling, rest = _parted(rest, begin_s + settle_s)
        parts.append(_evenly(settling, tau_s, step_s, apart_k))
        apart_k = -tau_s * float(air.to_c[at] - air.from_c[at]) / length_s
        still, rest = _parted(rest, begin_s + length_s - step_s)
        ends_s = (begin_s + settle_s, begin_s + length_s - step_s)
        still = _cut_at(still, np.linspace(*ends_s, LONG_STEPS + 1))
        parts.append(_on_knots(still, _knot_temps(still) + apart_k))
    parts.append(_evenly(rest, tau_s, step_s, apart_k))
    return parts[0] if len(parts) == 1 else _joined(parts)


def _parted(course: Course, at_s: float) -> tuple[Course, Course]:
    """What of a course lies before an instant within it, and what after."""
    end_s = course.start_s[-1] + course.length_s[-1]
    cut = _cut_at(course, np.array([at_s, end_s]))
    first = int(np.searchsorted(cut.start_s, at_s))
    return _some(cut, slice(0, first)), _some(cut, slice(first, None))


def _some(course: Course, some: slice) -> Course:
    return Course(
        course.start_s[some], course.length_s[some], course.from_c[some], course.to_c[some],
        course.bridged[some], course.filled[some],
    )  # fmt: skip


def _joined(parts: Sequence[Course]) -> Course:
    return Course(
        np.concatenate([part.start_s for part in parts]),
        np.concatenate([part.length_s for part in parts]),
        np.concatenate([part.from_c for part in parts]),
        np.concatenate([part.to_c for part in parts]),
        np.concatenate([part.bridged for part in parts]),
        np.concatenate([part.filled for part in parts]),
    )


def _evenly(air: Course, tau_s: float, step_s: float, apart_k: float) -> Course:
    """The temperature inside a body in even steps; it starts that much apart from its air."""
    begin_s = float(air.start_s[0])
    end_s = float(air.start_s[-1] + air.length_s[-1])
    grid_s = np.append(np.arange(begin_s, end_s - step_s / 1000, step_s), end_s)
    cut = _cut_at(air, grid_s)
    x = cut.length_s / tau_s
    jump = np.concatenate(([apart_k], cut.to_c[:-1] - cut.from_c[1:]))
    gain = np.exp(-x) * jump + (cut.to_c - cut.from_c) * np.expm1(-x) / x
    cell = np.searchsorted(cut.start_s, grid_s[:-1])
    upto = np.cumsum(x)
    cell_end = np.append(cell[1:], len(cut)) - 1
    lasts = np.repeat(upto[cell_end], np.diff(np.append(cell, len(cut))))
    d = np.add.reduceat(gain * np.exp(upto - lasts), cell)
    even, keep, reach = d[:-1], math.exp(-step_s / tau_s), 1
    while reach < len(even) and keep > FORGOTTEN:  # chains of straight maps, composed in pairs
        even[reach:] += keep * even[:-reach]
        keep, reach = keep * keep, 2 * reach
    if len(even):
        d[-1] += math.exp(-(end_s - grid_s[-2]) / tau_s) * even[-1]
    temp_c = np.concatenate(([air.from_c[0] + apart_k], cut.to_c[cell_end] + d))
    filled_s = np.add.reduceat(np.where(cut.filled, cut.length_s, 0.0), cell)
    length_s = np.diff(grid_s)
    plain = np.zeros(len(length_s), np.bool_)
    return Course(
        grid_s[:-1], length_s, temp_c[:-1], temp_c[1:], plain, filled_s > length_s / 2
    )  # fmt: skip


def _cut_at(course: Course, at_s: Floats) -> Course:
    """The same course with its pieces cut at some instants."""
    where = np.searchsorted(course.start_s, at_s[:-1], "left")
    known = course.start_s[np.minimum(where, len(course) - 1)] == at_s[:-1]
    new_s, place = at_s[:-1][~known], where[~known]
    if not len(new_s):
        return course
    start_s = np.insert(course.start_s, place, new_s)
    is_new = np.insert(np.zeros(len(course), np.bool_), place, True)
    piece = np.cumsum(~is_new) - 1
    whole_s = course.length_s[piece]
    ends_s = course.start_s[piece] + whole_s
    end_s = np.append(start_s[1:], ends_s[-1])
    slope = (course.to_c[piece] - course.from_c[piece]) / whole_s
    old_from = start_s - course.start_s[piece]
    from_c = course.from_c[piece] + slope * old_from
    to_c = course.from_c[piece] + slope * (end_s - course.start_s[piece])
    return Course(
        start_s, end_s - start_s, from_c, to_c, course.bridged[piece], course.filled[piece]
    )


def _knot_temps(course: Course) -> Floats:
    return np.append(course.from_c, course.to_c[-1])


def _on_knots(like: Course, temp_c: Floats) -> Course:
    return Course(
        like.start_s, like.length_s, temp_c[:-1], temp_c[1:], like.bridged, like.filled
    )  # fmt: skip
