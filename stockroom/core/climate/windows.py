"""Mean kinetic temperature over stated windows of a log, and the worst stretches inside them."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.ageing import mean_kinetic_temp_c
from stockroom.core.climate.readings import FILLED, Readings, Usual, long_steps, usable, usual_steps
from stockroom.core.constants import GAS_CONSTANT, WORST_LOGGED, ZERO_CELSIUS
from stockroom.units import SECONDS_PER_DAY

# A long window hides an excursion: an article in the Stimuli section of Pharmacopeial Forum 44(4)
# (USP) therefore proposes 30 days for storage at room temperature and 24 h for cold storage. The
# windows, and the stretches looked for inside them, are of these lengths; 7, 90 and 365 days are
# our choice.
DAY_S, MONTH_S = SECONDS_PER_DAY, 30 * SECONDS_PER_DAY
WINDOWS: tuple[tuple[str, int | None], ...] = (
    ("last 24 h", DAY_S),
    ("last 7 days", 7 * SECONDS_PER_DAY),
    ("last 30 days", MONTH_S),
    ("last 90 days", 90 * SECONDS_PER_DAY),
    ("last 365 days", 365 * SECONDS_PER_DAY),
    ("all", None),
)
"""Name and length (s) of each window; None: from the first reading on."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Worst:
    """The stretch of a stated length with the highest mean kinetic temperature.

    Attributes
    ----------
    from_s, to_s : int
        s UTC.
    mkt_c : tuple of float
        Its mean kinetic temperature at each energy, °C.
    """

    from_s: int
    to_s: int
    mkt_c: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Window:
    """What a log tells of one window; time-weighted, gaps left out.

    Attributes
    ----------
    from_s, to_s : int
        s UTC.
    logged_share : float
        Share of the window that is logged, 0 to 1.
    mean_c, low_c, high_c : float or None
        Time-weighted mean, lowest and highest, °C; None where nothing was logged.
    mkt_c : tuple of float
        Mean kinetic temperature at each energy, °C; empty where nothing was logged.
    worst_day, worst_month : Worst or None
        The worst 24 h and the worst 30 days in it; None where it is shorter, or where no stretch
        of that length is at least half logged.
    """

    name: str
    from_s: int
    to_s: int
    logged_share: float
    mean_c: float | None
    mkt_c: tuple[float, ...]
    low_c: float | None
    high_c: float | None
    worst_day: Worst | None
    worst_month: Worst | None


def window_table(readings: Readings, now_s: int, energies_j_mol: Sequence[float]) -> list[Window]:
    """Return the stated windows up to an instant: 24 h, 7, 30, 90 and 365 days, and all.

    Each reading counts for half the step before it and half the step after it; a step that is a
    gap counts for nothing, so a reading between two gaps has no weight. Readings filled in, not
    logged, are left out.

    Parameters
    ----------
    readings : Readings
        Of one place; unusable ones are dropped here.
    now_s : int
        Where the windows end, s UTC.
    energies_j_mol : sequence of float
        Activation energies, J/mol; the worst stretches are those at the first one.

    Returns
    -------
    list of Window
        In the order of `WINDOWS`; "all" starts at the first reading.

    Raises
    ------
    ValueError
        Where there is no energy, or one cannot be.

    >>> log = Readings.of(range(0, 90_000, 900), [4.0] * 50 + [16.0] * 50)
    >>> day, *_ = window_table(log, 89_100, [83_144])
    >>> round(day.mean_c, 2), round(day.mkt_c[0], 2), round(day.worst_day.mkt_c[0], 2)
    (10.19, 12.11, 12.11)
    """
    sums = _Sums(readings, energies_j_mol)
    begin_s = int(sums.log.t_s[0]) if len(sums.log) else now_s
    starts = [(name, begin_s if long is None else now_s - long) for name, long in WINDOWS]
    return [sums.window(name, min(from_s, now_s), now_s) for name, from_s in starts]


def window_of(
    readings: Readings,
    from_s: int,
    to_s: int,
    energies_j_mol: Sequence[float],
    name: str = "",
) -> Window:
    """Return one window of a log, by the rules of `window_table`.

    Raises
    ------
    ValueError
        Where it ends before it starts, there is no energy, or one cannot be.
    """
    if to_s < from_s:
        raise ValueError("a window must not end before it starts")
    return _Sums(readings, energies_j_mol).window(name, from_s, to_s)


def logged_share(readings: Readings, from_s: float, to_s: float, usual: Usual = None) -> float:
    """Return which share of a stretch is logged, gaps left out, 0 to 1.

    Parameters
    ----------
    readings : Readings
        What is filled in, not logged, is left out.
    from_s, to_s : float
        The stretch, s UTC.
    usual : float, Steps or None
        The whole log's median step, s, where only part of it is given.

    >>> log = Readings.of([0, 900, 1800, 9000, 9900], [4.0] * 5)
    >>> logged_share(log, 0, 9900).__round__(3)
    0.273
    """
    if to_s <= from_s:
        return 0.0
    cells = _cells(logged(readings), usual)
    return float(_within(cells, from_s, to_s).sum() / (to_s - from_s))


def gaps(
    readings: Readings, from_s: float, to_s: float, usual: Usual = None
) -> list[tuple[int, int]]:
    """Return the gaps of a log, between two readings, as far as they lie in a stretch.

    >>> log = Readings.of([0, 900, 1800, 9000, 9900], [4.0] * 5)
    >>> gaps(log, 0, 5000)
    [(1800, 5000)]
    """
    log = logged(readings)
    long = np.flatnonzero(long_steps(log, usual_steps(log) if usual is None else usual))
    begin, end = log.t_s[long], log.t_s[long + 1]
    inside = (begin < to_s) & (end > from_s)
    return [
        (int(max(first, from_s)), int(min(last, to_s)))
        for first, last in zip(begin[inside], end[inside], strict=True)
    ]


def logged(readings: Readings) -> Readings:
    """Return what was logged: usable readings, without those filled in."""
    log = usable(readings)
    kept = (log.flag & FILLED) == 0
    if kept.all():
        return log
    return Readings(log.t_s[kept], log.temp_c[kept], log.rh_pct[kept], log.flag[kept])


class _Cells(NamedTuple):
    """What each reading stands for: from half a step before it to half a step after it, s."""

    begin_s: Floats
    end_s: Floats


def _cells(log: Readings, usual: Usual = None) -> _Cells:
    t = log.t_s.astype(np.float64)
    if not len(t):
        return _Cells(t, t)
    is_gap = long_steps(log, usual_steps(log) if usual is None else usual)
    half = np.where(is_gap, 0.0, np.diff(t) / 2)
    return _Cells(t - np.append(0.0, half), t + np.append(half, 0.0))


def _within(cells: _Cells, from_s: float, to_s: float) -> Floats:
    """Return how much of each cell lies in a window, s."""
    begin_s, end_s = (np.clip(edge, from_s, to_s) for edge in cells)
    inside: Floats = end_s - begin_s
    return inside


class _Sums:
    """A log with running sums of time and of ageing, so that any stretch is two look-ups."""

    def __init__(self, readings: Readings, energies_j_mol: Sequence[float]) -> None:
        if not energies_j_mol:
            raise ValueError("a mean kinetic temperature needs an activation energy")
        self.energies = tuple(float(energy) for energy in energies_j_mol)
        for energy in self.energies:
            mean_kinetic_temp_c([0.0], None, energy)  # refuses an energy that cannot be
        self.log = logged(readings)
        self.cells = _cells(self.log)
        self._rolled: dict[int, tuple[Floats, Floats]] = {}

    def window(self, name: str, from_s: int, to_s: int) -> Window:
        temp, weight = self._part(from_s, to_s)
        if not len(temp):
            return Window(name, from_s, to_s, 0.0, None, (), None, None, None, None)
        return Window(
            name,
            from_s,
            to_s,
            float(weight.sum() / (to_s - from_s)),
            float(np.average(temp, weights=weight)),
            tuple(mean_kinetic_temp_c(temp, weight, energy) for energy in self.energies),
            float(temp.min()),
            float(temp.max()),
            self._worst(from_s, to_s, DAY_S),
            self._worst(from_s, to_s, MONTH_S),
        )

    def _part(self, from_s: float, to_s: float) -> tuple[Floats, Floats]:
        """Return the readings that count in a stretch, °C, and how long each of them does, s."""
        begin_s, end_s = self.cells  # both rise: a cell ends where the next one starts, or before
        first = int(np.searchsorted(end_s, from_s, "right"))
        last = max(first, int(np.searchsorted(begin_s, to_s, "left")))
        weight = _within(_Cells(begin_s[first:last], end_s[first:last]), from_s, to_s)
        return self.log.temp_c[first:last][weight > 0], weight[weight > 0]

    def _worst(self, from_s: int, to_s: int, length_s: int) -> Worst | None:
        """Return the worst stretch of a length in a window, at the first energy.

        The mean rate of a stretch that slides on is a quotient of two straight lines between the
        instants at which one of its ends meets the edge of a cell: only those are looked at.
        """
        if to_s - from_s < length_s:
            return None
        start_s, rate = self._rolling(length_s)
        first = int(np.searchsorted(start_s, from_s, "left"))
        last = int(np.searchsorted(start_s, to_s - length_s, "right"))
        ends = np.array([from_s, to_s - length_s])
        start_s = np.concatenate((start_s[first:last], ends))
        rate = np.concatenate((rate[first:last], self._mean_rate(ends, length_s)))
        if not (rate > 0).any():
            return None
        begin_s = float(start_s[int(np.argmax(rate))])
        temp, weight = self._part(begin_s, begin_s + length_s)
        return Worst(
            math.floor(begin_s),
            math.floor(begin_s) + length_s,
            tuple(mean_kinetic_temp_c(temp, weight, energy) for energy in self.energies),
        )

    def _rolling(self, length_s: int) -> tuple[Floats, Floats]:
        """Return where a stretch may start, rising, and its mean rate of ageing."""
        if length_s not in self._rolled:
            edge_s = self._running[0]
            start_s = np.sort(np.concatenate((edge_s, edge_s - length_s)), kind="stable")
            self._rolled[length_s] = (start_s, self._mean_rate(start_s, length_s))
        return self._rolled[length_s]

    def _mean_rate(self, start_s: Floats, length_s: int) -> Floats:
        """Return the mean rate of stretches, relative to the warmest reading; 0: hardly logged."""
        edge_s, time_s, aged_s = self._running
        end_s = start_s + length_s
        time = np.interp(end_s, edge_s, time_s) - np.interp(start_s, edge_s, time_s)
        aged = np.interp(end_s, edge_s, aged_s) - np.interp(start_s, edge_s, aged_s)
        enough = time >= WORST_LOGGED.value * length_s
        mean: Floats = np.divide(aged, time, out=np.zeros_like(time), where=enough)
        return mean

    @cached_property
    def _running(self) -> tuple[Floats, Floats, Floats]:
        """Return the edges of the cells with the time and the ageing logged up to each, s."""
        begin_s, end_s = self.cells
        length = end_s - begin_s
        slope = self.energies[0] / GAS_CONSTANT.value
        temp_k = self.log.temp_c + ZERO_CELSIUS.value
        aged = length * np.exp(slope * (1 / temp_k.max() - 1 / temp_k))
        apart = np.append(True, begin_s[1:] > end_s[:-1])  # only a gap needs an edge of its own
        edge_s = np.empty(len(end_s) + int(apart.sum()))
        time_s, aged_s = np.zeros_like(edge_s), np.zeros_like(edge_s)
        at_end = np.arange(len(end_s)) + np.cumsum(apart)
        at_begin = at_end[apart] - 1
        edge_s[at_end], edge_s[at_begin] = end_s, begin_s[apart]
        time_s[at_end], aged_s[at_end] = np.cumsum(length), np.cumsum(aged)
        time_s[at_begin] = time_s[at_end[apart]] - length[apart]
        aged_s[at_begin] = aged_s[at_end[apart]] - aged[apart]
        return edge_s, time_s, aged_s
