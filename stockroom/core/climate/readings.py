"""Logged temperature and humidity as arrays, merged and flagged, never deleted."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.core.constants import GAP_LEAST, GAP_STEPS, LOG_STEP_COARSE, SENSOR_SPREAD

NOT_A_NUMBER, FAULT_CODE, OUT_OF_RANGE, DUPLICATE, OUT_OF_ORDER, AMBIGUOUS, JUMP, FILLED = (
    1 << bit for bit in range(8)
)
"""Flags of a reading, as bits: why a value is doubted. The value itself is kept."""

FLAG_WORDS = {
    NOT_A_NUMBER: "not a number",
    FAULT_CODE: "sensor fault code",
    OUT_OF_RANGE: "outside -60 to 70 °C",
    DUPLICATE: "same time twice",
    OUT_OF_ORDER: "out of order",
    AMBIGUOUS: "hour that comes twice",
    JUMP: "jump faster than 10 °C a minute",
    FILLED: "filled in",
}


ABSENT = NOT_A_NUMBER | FAULT_CODE | OUT_OF_RANGE
"""Flags under which a value counts as no reading at all."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """A run of readings of one place or one logger channel.

    Attributes
    ----------
    t_s : int64 array (n,)
        Instants, seconds UTC, strictly rising.
    temp_c : float64 array (n,)
        Temperature, °C; NaN where there is no usable value.
    rh_pct : float64 array (n,)
        Relative humidity, %; NaN where there is none.
    flag : uint8 array (n,)
        Bits of `FLAG_WORDS`.
    """

    t_s: NDArray[np.int64]
    temp_c: NDArray[np.float64]
    rh_pct: NDArray[np.float64]
    flag: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.t_s)

    @staticmethod
    def of(t_s: object, temp_c: object, rh_pct: object = None, flag: object = None) -> "Readings":
        """Return readings from any sequences, checked to rise strictly.

        Raises
        ------
        ValueError
            Where lengths differ or stamps do not rise.

        >>> len(Readings.of([0, 60], [4.0, 4.1]))
        2
        """
        t = np.asarray(t_s, dtype=np.int64)
        temp = np.asarray(temp_c, dtype=np.float64)
        n = len(t)
        rh = np.full(n, np.nan) if rh_pct is None else np.asarray(rh_pct, dtype=np.float64)
        bits = np.zeros(n, np.uint8) if flag is None else np.asarray(flag, dtype=np.uint8)
        if not len(temp) == len(rh) == len(bits) == n:
            raise ValueError("the columns of readings differ in length")
        if n > 1 and not np.all(np.diff(t) > 0):
            raise ValueError("readings must rise in time")
        return Readings(t, temp, rh, bits)


STRETCH = 128
"""Readings in a stretch over which a log's usual step is told (our choice)."""
EMPTY = Readings.of([], [])
"""No readings at all."""


def step_s(readings: Readings) -> float:
    """Return the median step between readings, s; 0 where there are fewer than two.

    >>> step_s(Readings.of([0, 60, 120, 900], [4, 4, 4, 4]))
    60.0
    """
    return float(np.median(np.diff(readings.t_s))) if len(readings) > 1 else 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Steps:
    """The usual step of a log by stretches: two loggers in turn need not tick alike.

    Attributes
    ----------
    from_s : float64 array (m,)
        Start of each stretch, s UTC, rising; the first one reaches back without end.
    step_s : float64 array (m,)
        Its usual step, s.
    """

    from_s: NDArray[np.float64]
    step_s: NDArray[np.float64]

    def at(self, t_s: NDArray[np.int64]) -> NDArray[np.float64]:
        """Return the usual step at some instants (s UTC, shape (n,)), s."""
        stretch = np.searchsorted(self.from_s, t_s, "right") - 1
        usual: NDArray[np.float64] = self.step_s[np.maximum(stretch, 0)]
        return usual


def usual_steps(readings: Readings) -> Steps:
    """Return the usual step of a log, stretch by stretch of `STRETCH` readings.

    The median of a stretch, or of the one before or after it where that is longer: a border
    between two loggers is no gap.

    >>> hourly, often = np.arange(0, 10**6, 3600), np.arange(10**6, 2 * 10**6, 900)
    >>> log = Readings.of(np.append(hourly, often), np.zeros(len(hourly) + len(often)))
    >>> usual_steps(log).at(np.array([0, 1_900_000])).tolist()
    [3600.0, 900.0]
    """
    step = np.diff(readings.t_s).astype(np.float64)
    if len(step) < 2 * STRETCH:
        return Steps(np.zeros(1), np.full(1, step_s(readings)))
    whole = len(step) // STRETCH
    usual = np.median(step[: whole * STRETCH].reshape(whole, STRETCH), axis=1)
    usual[-1] = np.median(step[(whole - 1) * STRETCH :])
    around = np.concatenate(([0.0], usual, [0.0]))
    longest = np.maximum(np.maximum(around[:-2], around[2:]), usual)
    return Steps(readings.t_s[: whole * STRETCH : STRETCH].astype(np.float64), longest)


Usual = float | Steps | None
"""A log's usual step: one (s), by stretches, or None for the median of the readings at hand."""


def long_steps(readings: Readings, usual: Usual = None) -> NDArray[np.bool_]:
    """Return which steps between readings are gaps, shape (n - 1,)."""
    usual_s = step_s(readings) if usual is None else usual
    if isinstance(usual_s, Steps):
        longest: NDArray[np.float64] | float = np.maximum(
            GAP_STEPS.value * usual_s.at(readings.t_s[:-1]), GAP_LEAST.value
        )
    else:
        longest = gap_s(usual_s)
    is_gap: NDArray[np.bool_] = np.diff(readings.t_s) > longest
    return is_gap


def usable(readings: Readings) -> Readings:
    """Return only the readings that hold a temperature to be believed.

    NaN goes, and so does any value flagged as not a number, a fault code or out of range.

    >>> usable(Readings.of([0, 60], [4.0, float("nan")])).temp_c
    array([4.])
    """
    kept = _has_value(readings)
    return readings if kept.all() else _taken(readings, kept)


def window(readings: Readings, from_s: float, to_s: float, *, beyond: int = 0) -> Readings:
    """Return the readings from one instant to another, both included, without copying.

    Parameters
    ----------
    from_s, to_s : float
        Instants, s UTC.
    beyond : int
        How many readings outside each end are kept as well. Ageing wants at least one, so that
        the temperature at the ends of a stay can be told.

    Raises
    ------
    ValueError
        Where the end lies before the start.

    >>> window(Readings.of([0, 60, 120], [4, 5, 6]), 30, 120).t_s
    array([ 60, 120])
    """
    if not to_s >= from_s:
        raise ValueError("the end of a window must not lie before its start")
    first = max(0, int(np.searchsorted(readings.t_s, from_s, "left")) - beyond)
    last = int(np.searchsorted(readings.t_s, to_s, "right")) + beyond
    return _taken(readings, slice(first, last))


def merge(many: Sequence[Readings]) -> tuple[Readings, int]:
    """Return several runs of readings as one, and how many stamps had two different values.

    The warmer counts, with the flag `DUPLICATE`: paper is never made younger by a doubt. Where the
    stamps of two runs differ, each is read between its own stamps by a straight line, but not
    across its gaps. A missing or faulty value loses to any number. Where the kept reading has no
    humidity, the highest one given at that stamp is taken.

    Parameters
    ----------
    many : sequence of Readings
        In any order; they may overlap.

    Returns
    -------
    (Readings, int)
        The union by time, and the number of stamps at which usable values differed: at all at
        one stamp, by more than the sensors' spread where one was read between stamps.

    >>> both, differing = merge([Readings.of([0, 60], [4, 4]), Readings.of([60, 120], [5, 5])])
    >>> both.temp_c, differing
    (array([4., 5., 5.]), 1)
    """
    given = sorted((run for run in many if len(run)), key=lambda run: int(run.t_s[0]))
    clusters: list[list[Readings]] = []
    end_s = None
    for run in given:  # runs that do not overlap need no more than to be put in order
        if end_s is None or run.t_s[0] > end_s:
            clusters.append([])
            end_s = run.t_s[-1]
        clusters[-1].append(run)
        end_s = max(end_s, run.t_s[-1])
    merged = [_merged(cluster) for cluster in clusters]
    return joined([run for run, _ in merged]), sum(differing for _, differing in merged)


def joined(runs: Sequence[Readings]) -> Readings:
    """Return runs that follow each other in time as one."""
    if len(runs) == 1:
        return runs[0]
    if not runs:
        return EMPTY
    return Readings(
        np.concatenate([run.t_s for run in runs]),
        np.concatenate([run.temp_c for run in runs]),
        np.concatenate([run.rh_pct for run in runs]),
        np.concatenate([run.flag for run in runs]),
    )


def _merged(given: Sequence[Readings]) -> tuple[Readings, int]:
    """Several runs that overlap, by the rules of `merge`."""
    if len(given) == 1:
        return given[0], 0
    t = np.concatenate([readings.t_s for readings in given])
    temp = np.concatenate([readings.temp_c for readings in given])
    rh = np.concatenate([readings.rh_pct for readings in given])
    flag = np.concatenate([readings.flag for readings in given])
    good = np.concatenate([_has_value(readings) for readings in given])

    order = np.lexsort((np.where(good, temp, -np.inf), t))  # by time, the warmest usable last
    t, temp, rh, flag, good = t[order], temp[order], rh[order], flag[order], good[order]
    new = np.diff(t) > 0
    first = np.flatnonzero(np.concatenate(([True], new)))
    last = np.flatnonzero(np.concatenate((new, [True])))

    unlike = ~new & good[1:] & good[:-1] & (temp[1:] != temp[:-1])
    differs = np.logical_or.reduceat(np.concatenate(([False], unlike)), first)
    kept = Readings(t[last], temp[last], rh[last], flag[last])
    kept_temp, apart = _warmest(kept, given)
    differs = differs | apart
    raised = kept_temp > kept.temp_c
    kept_flag = np.where(differs | raised, flag[last] | DUPLICATE, flag[last]).astype(np.uint8)
    kept_rh = np.where(np.isnan(rh[last]), np.fmax.reduceat(rh, first), rh[last])
    return Readings(t[last], kept_temp, kept_rh, kept_flag), int(np.count_nonzero(differs))


def _warmest(
    kept: Readings, given: Sequence[Readings]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """The warmest of all runs at each kept stamp, and where they differ more than sensors do."""
    good = _has_value(kept)
    warmest, coolest = kept.temp_c.copy(), kept.temp_c.copy()
    for run in given:
        log = usable(run)
        if not len(log):
            continue
        first = int(np.searchsorted(kept.t_s, log.t_s[0], "left"))
        near = slice(first, int(np.searchsorted(kept.t_s, log.t_s[-1], "right")))
        at_s = kept.t_s[near]
        told = covers(log, at_s) & good[near]
        if told.any():
            read = np.interp(at_s[told], log.t_s, log.temp_c)
            warmest[near][told] = np.maximum(warmest[near][told], read)
            coolest[near][told] = np.minimum(coolest[near][told], read)
    spread = np.where(good, warmest, 0.0) - np.where(good, coolest, 0.0)
    return warmest, spread > SENSOR_SPREAD.value


def covers(readings: Readings, at_s: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Return whether a log tells the temperature at some instants, between readings without a gap.

    Parameters
    ----------
    readings : Readings
        Usable ones.
    at_s : int64 array (n,)
        Instants, s UTC.

    >>> log = Readings.of([0, 900, 1800, 90_000], [4, 4, 4, 4])
    >>> covers(log, np.array([-1, 450, 900, 5000])).tolist()
    [False, True, True, False]
    """
    if not len(readings):
        return np.zeros(len(at_s), np.bool_)
    after = np.searchsorted(readings.t_s, at_s, "left")
    hit = np.isin(at_s, readings.t_s)
    inner = (after > 0) & (after < len(readings))
    silent = np.zeros(len(at_s), np.bool_)
    silent[inner] = long_steps(readings, usual_steps(readings))[after[inner] - 1]
    told: NDArray[np.bool_] = hit | (inner & ~silent)
    return told


def beneath(logged: Readings, guess: Readings) -> Readings:
    """Return a log with a guess laid beneath it: the guess shows only where the log is silent.

    >>> beneath(Readings.of([0, 900], [4, 4]), Readings.of([450, 5000], [20, 20])).temp_c
    array([ 4.,  4., 20.])
    """
    told = covers(usable(logged), guess.t_s)
    return merge([logged, _taken(guess, ~told)])[0]


def gap_s(usual_step_s: float) -> float:
    """Return the length above which a step is a gap, s, for a log's usual step."""
    return max(GAP_STEPS.value * usual_step_s, GAP_LEAST.value)


def too_coarse(usual_step_s: float) -> bool:
    """Return whether a log's usual step, s, is too long to tell what a door opening costs.

    >>> too_coarse(3600), too_coarse(1800)
    (True, False)
    """
    return usual_step_s > LOG_STEP_COARSE.value


def _has_value(readings: Readings) -> NDArray[np.bool_]:
    good: NDArray[np.bool_] = ~np.isnan(readings.temp_c) & ((readings.flag & ABSENT) == 0)
    return good


def _taken(readings: Readings, which: NDArray[np.bool_] | slice) -> Readings:
    return Readings(
        readings.t_s[which], readings.temp_c[which], readings.rh_pct[which], readings.flag[which]
    )
