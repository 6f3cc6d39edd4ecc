"""Logged temperature and humidity as arrays, merged and flagged, never deleted."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

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


EMPTY = Readings.of([], [])
"""No readings at all."""


def step_s(readings: Readings) -> float:
    """Return the median step between readings, s; 0 where there are fewer than two.

    >>> step_s(Readings.of([0, 60, 120, 900], [4, 4, 4, 4]))
    60.0
    """
    return float(np.median(np.diff(readings.t_s))) if len(readings) > 1 else 0.0


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
    readings : Readings
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

    At one stamp the warmer value is kept, with the flag `DUPLICATE`: paper is never made younger
    by a doubt. A missing or faulty value loses to any number. Where the kept reading has no
    humidity, the highest one given at that stamp is taken.

    Parameters
    ----------
    many : sequence of Readings
        In any order; they may overlap.

    Returns
    -------
    (Readings, int)
        The union by time, and the number of stamps at which usable values differed.

    >>> both, differing = merge([Readings.of([0, 60], [4, 4]), Readings.of([60, 120], [5, 5])])
    >>> both.temp_c, differing
    (array([4., 5., 5.]), 1)
    """
    given = [readings for readings in many if len(readings)]
    if not given:
        return EMPTY, 0
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
    kept_flag = np.where(differs, flag[last] | DUPLICATE, flag[last]).astype(np.uint8)
    kept_rh = np.where(np.isnan(rh[last]), np.fmax.reduceat(rh, first), rh[last])
    return Readings(t[last], temp[last], kept_rh, kept_flag), int(np.count_nonzero(differs))


def _has_value(readings: Readings) -> NDArray[np.bool_]:
    good: NDArray[np.bool_] = ~np.isnan(readings.temp_c) & ((readings.flag & ABSENT) == 0)
    return good


def _taken(readings: Readings, which: NDArray[np.bool_] | slice) -> Readings:
    return Readings(
        readings.t_s[which], readings.temp_c[which], readings.rh_pct[which], readings.flag[which]
    )
