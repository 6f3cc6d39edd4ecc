"""How long it was how warm: from running counts, ageing at any energy and sensor offset."""

import numpy as np
from numpy.typing import ArrayLike

from stockroom.core.climate.ageing import life_by_piece, mean_rate, rate
from stockroom.core.climate.course import Bools, Course, Floats
from stockroom.core.climate.sums import Ints, Track
from stockroom.units import SECONDS_PER_DAY

BIN_K = 0.1
"""Width of a bin, K: the step in which most loggers write."""
ROW_PIECES = 128
"""Pieces between two rows of running counts; the rest of a span is read piece by piece."""


class Spectrum:
    """Running counts of the seconds spent at each temperature along a track.

    By the trapezoid each end of a piece stands for half its length. A temperature between two
    bins is shared by both, so that logs in steps of 0.1 °C are counted exactly and the mean of
    all others is kept. Any activation energy, label temperature and sensor offset is then one
    product of a row's difference with a vector of rates.
    """

    def __init__(self, track: Track) -> None:
        self.track = track
        course = track.course
        low = float(min(course.from_c.min(), course.to_c.min()))
        high = float(max(course.from_c.max(), course.to_c.max()))
        self._low = round(np.floor(low / BIN_K))
        bins = round(np.ceil(high / BIN_K)) - self._low + 2
        self.temp_c: Floats = (self._low + np.arange(bins)) * BIN_K
        n_rows = -(-len(course) // ROW_PIECES)
        row = np.arange(len(course)) // ROW_PIECES
        self._running = self._counted(~course.bridged, row, n_rows)
        self._bridged = np.flatnonzero(course.bridged)

    def life(
        self,
        from_s: ArrayLike,
        to_s: ArrayLike,
        label_temp_c: float,
        energy_j_mol: float,
        offset_k: float = 0.0,
    ) -> Floats:
        """Return the days of label life used between instants.

        Parameters
        ----------
        from_s, to_s : arrays (n,)
            Spans, s UTC, ends not before their starts.
        label_temp_c, energy_j_mol : float
            As in `rate`.
        offset_k : float
            Added to what was logged, not to a set-point believed over a gap, K.

        Returns
        -------
        float64 array (n,)

        >>> from stockroom.core.climate.course import PlaceClimate, believed
        >>> from stockroom.core.climate.readings import Readings
        >>> log = Readings.of([0, 43_200, 86_400], [8.0, 8.0, 8.0])
        >>> day = Spectrum(Track(believed(log, 0, 86_400, PlaceClimate(4.0))))
        >>> day.life([0], [86_400], 10.0, 85_000, offset_k=2.0).round(9)
        array([1.])
        """
        a = np.atleast_1d(np.asarray(from_s, dtype=np.float64))
        b = np.maximum(a, np.atleast_1d(np.asarray(to_s, dtype=np.float64)))
        first, last, row_a, row_b = self._rows(a, b)
        whole = row_b > row_a
        k = rate(self.temp_c + offset_k, label_temp_c, energy_j_mol)
        by_row = self._running @ k / SECONDS_PER_DAY
        days: Floats = np.where(whole, by_row[row_b] - by_row[np.minimum(row_a, row_b)], 0.0)
        if len(self._bridged):
            days += np.where(whole, self._over_bridges(row_a, row_b, label_temp_c, energy_j_mol,
                                                       offset_k), 0.0)  # fmt: skip
        ends = (
            (first, np.where(whole, row_a * ROW_PIECES, last + 1)),
            (np.where(whole, row_b * ROW_PIECES, last + 1), last + 1),
        )
        for begin, end in ends:
            days += self._pieces(begin, end, a, b, label_temp_c, energy_j_mol, offset_k)
        return days

    def _rows(self, a: Floats, b: Floats) -> tuple[Ints, Ints, Ints, Ints]:
        first, last = self.track.piece_at(a), self.track.piece_at(b)
        return first, last, first // ROW_PIECES + 1, last // ROW_PIECES

    def _counted(self, taken: Bools, row: Ints, n_rows: int) -> Floats:
        course, bins = self.track.course, len(self.temp_c)
        counts = np.zeros(n_rows * bins)
        for temp_c in (course.from_c, course.to_c):
            place = temp_c[taken] / BIN_K - self._low
            lower = np.floor(place + 1e-9).astype(np.int64)
            upper_share = np.clip(place - lower, 0.0, 1.0)
            upper_share[upper_share < 1e-9] = 0.0
            half_s = course.length_s[taken] / 2
            cell = row[taken] * bins + lower
            counts += np.bincount(cell, half_s * (1 - upper_share), len(counts))
            counts += np.bincount(cell + 1, half_s * upper_share, len(counts) + 1)[: len(counts)]
        table = np.zeros((n_rows + 1, bins))
        np.cumsum(counts.reshape(n_rows, bins), axis=0, out=table[1:])
        return table

    def _over_bridges(
        self, row_a: Ints, row_b: Ints, label_c: float, energy: float, offset_k: float
    ) -> Floats:
        """What bridged pieces in whole rows used: few, so they are summed by themselves."""
        course, at = self.track.course, self._bridged
        shift = np.where(course.filled[at], 0.0, offset_k)
        k0 = rate(course.from_c[at] + shift, label_c, energy)
        k1 = rate(course.to_c[at] + shift, label_c, energy)
        days = mean_rate(k0, k1, course.bridged[at]) * course.length_s[at] / SECONDS_PER_DAY
        upto = np.concatenate(([0.0], np.cumsum(days)))
        begin = np.searchsorted(at, row_a * ROW_PIECES)
        end = np.searchsorted(at, row_b * ROW_PIECES)
        return upto[end] - upto[begin]

    def _pieces(
        self,
        begin: Ints,
        end: Ints,
        a: Floats,
        b: Floats,
        label_c: float,
        energy: float,
        offset_k: float,
    ) -> Floats:
        """What the pieces from one number to another used, cut to the span, one by one."""
        count = np.maximum(0, end - begin)
        owner = np.repeat(np.arange(len(begin)), count)
        number = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count)
        piece = np.repeat(begin, count) + number
        course = self.track.course
        start_s = course.start_s[piece]
        cut_from = np.maximum(start_s, a[owner])
        cut_to = np.maximum(cut_from, np.minimum(start_s + course.length_s[piece], b[owner]))
        slope = (course.to_c[piece] - course.from_c[piece]) / course.length_s[piece]
        believed = course.filled[piece] & course.bridged[piece]
        from_c = course.from_c[piece] + np.where(believed, 0.0, offset_k)
        part = Course(
            cut_from,
            cut_to - cut_from,
            from_c + slope * (cut_from - start_s),
            from_c + slope * (cut_to - start_s),
            course.bridged[piece],
            course.filled[piece],
        )
        used = life_by_piece(part, label_c, energy)
        days: Floats = np.bincount(owner, used, len(begin)).astype(np.float64)
        return days
