"""Which written values are temperatures: fault codes, range, doubles, jumps and gaps."""

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import (
    DUPLICATE,
    FAULT_CODE,
    JUMP,
    NOT_A_NUMBER,
    OUT_OF_RANGE,
    Readings,
)
from stockroom.intake.dates import ORDINARY_STEP
from stockroom.intake.log_columns import Unit

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Flags = NDArray[np.uint8]

FAULT_CODES = (-127.0, 999.0, 999.9, -999.0, -999.9, 3276.7, -3276.8, 6553.5)
"""Numbers sensors send in place of a temperature (common practice: a one-wire sensor that does not
answer gives -127; full 16-bit words in tenths give 3276.7 and 6553.5)."""
WAKING_C, WAKING_LEAST_K = 85.0, 20.0
"""A one-wire sensor's value before it has measured, °C; a fault where its neighbours are further
off than this many K (common practice; the distance is our choice)."""
LOWEST_C, HIGHEST_C = -60.0, 70.0
"""Temperatures taken, °C (our choice: beyond them no store or room is meant)."""
WET_END_PCT = 105.0
"""Relative humidity above 100 % that still counts as 100 %, % (our choice: sensors in mist)."""
JUMP_K_PER_MIN, JUMP_LEAST_K = 10.0, 2.0
"""Change that no air makes, K a minute; and the least step that counts, so that a coarse sensor
read each second does not (our choice)."""


def judge(written: Floats, unit: Unit, flag: Flags) -> Floats:
    """Return temperatures in °C, NaN where unusable, and set the flags that say why."""
    temp_c = (written - 32) / 1.8 if unit == "°F" else written.copy()
    missing = np.isnan(written)
    fault = np.zeros(len(written), np.bool_)
    for code in FAULT_CODES:
        fault |= (np.abs(written - code) < 1e-6) | (np.abs(temp_c - code) < 1e-6)
    fault &= ~missing
    known = np.flatnonzero(~missing & ~fault)
    waking = np.flatnonzero(np.abs(temp_c[known] - WAKING_C) < 1e-6)
    if len(waking) and len(known) > 1:
        values = temp_c[known]
        before = np.abs(values[np.maximum(waking - 1, 0)] - WAKING_C)
        after = np.abs(values[np.minimum(waking + 1, len(known) - 1)] - WAKING_C)
        alone = (waking == 0) | (before > WAKING_LEAST_K)
        alone &= (waking == len(known) - 1) | (after > WAKING_LEAST_K)
        fault[known[waking[alone]]] = True
    outside = ~missing & ~fault & ((temp_c < LOWEST_C) | (temp_c > HIGHEST_C))
    flag[missing] |= NOT_A_NUMBER
    flag[fault] |= FAULT_CODE
    flag[outside] |= OUT_OF_RANGE
    temp_c[missing | fault | outside] = np.nan
    return temp_c


def keep_warmest(
    t_s: Ints, temp_c: Floats, flag: Flags
) -> tuple[NDArray[np.intp], NDArray[np.bool_]]:
    """Return the rows kept, one for each instant, and which of them had differing values."""
    starts = np.flatnonzero(np.concatenate([[True], np.diff(t_s) != 0]))
    if len(starts) == len(t_s):
        return starts, np.zeros(len(starts), np.bool_)
    warmth = np.where(np.isnan(temp_c), -np.inf, temp_c)
    keep = np.lexsort((-warmth, t_s))[starts]
    counts = np.diff(np.append(starts, len(t_s)))
    flag[keep[counts > 1]] |= DUPLICATE
    warmest, coldest = np.maximum.reduceat(warmth, starts), np.minimum.reduceat(warmth, starts)
    return keep, warmest != coldest


def humidity_pct(rh_pct: Floats) -> Floats:
    """Return relative humidity from 0 to 100 %, NaN where it cannot be."""
    inside = (rh_pct >= 0) & (rh_pct <= WET_END_PCT)
    return np.where(inside, np.minimum(rh_pct, 100.0), np.nan)


def flag_jumps(readings: Readings) -> None:
    """Set the flag of each usable reading that is too far from the usable one before it."""
    usable = np.flatnonzero(~np.isnan(readings.temp_c))
    change_k = np.abs(np.diff(readings.temp_c[usable]))
    minutes = np.diff(readings.t_s[usable]) / 60
    fast = (change_k >= JUMP_LEAST_K) & (change_k > JUMP_K_PER_MIN * minutes)
    readings.flag[usable[1:][fast]] |= JUMP


def gaps(readings: Readings) -> tuple[float, int, int]:
    """Return the median step between usable readings, s; the count of gaps; the longest, s."""
    steps_s = np.diff(readings.t_s[~np.isnan(readings.temp_c)])
    if not len(steps_s):
        return 0.0, 0, 0
    median_s = float(np.median(steps_s))
    long = steps_s[steps_s > ORDINARY_STEP * median_s]
    return median_s, len(long), int(long.max()) if len(long) else 0
