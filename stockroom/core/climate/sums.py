"""Running sums of ageing over a course: the life used between any two instants is a look-up."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stockroom.core.climate.ageing import life_by_piece, mean_rate, rate
from stockroom.core.climate.course import Course, Floats
from stockroom.units import SECONDS_PER_DAY

_MOST_STEPS = 6
"""Pieces stepped over from a bucket's first one before a search is made (our choice)."""

Ints = NDArray[np.int64]


class Track:
    """A course that is asked for many instants: where each falls, and what it used up.

    Buckets as long as the mean piece point at the pieces they begin in, so an instant is found
    without a search; irregular stamps cost a step or two more.

    Parameters
    ----------
    course : Course
        At least one piece, without a hole.

    Raises
    ------
    ValueError
        Where the course is empty.
    """

    def __init__(self, course: Course) -> None:
        if not len(course):
            raise ValueError("a course without any piece cannot be asked")
        self.course = course
        self.from_s = float(course.start_s[0])
        self.to_s = float(course.start_s[-1] + course.length_s[-1])
        self._bucket_s = (self.to_s - self.from_s) / len(course)
        edges = self.from_s + self._bucket_s * np.arange(len(course) + 1)
        first = np.searchsorted(course.start_s, edges, "right") - 1
        self._first = np.maximum(first, 0).astype(np.int32)
        self._filled_s: Floats | None = None

    def piece_at(self, at_s: ArrayLike) -> Ints:
        """Return the number of the piece in which each instant (s UTC, shape (n,)) falls.

        What lies outside the course counts to its first or last piece.
        """
        at = np.asarray(at_s, dtype=np.float64)
        start_s, last = self.course.start_s, len(self.course) - 1
        bucket = ((at - self.from_s) / self._bucket_s).astype(np.int64)
        piece = self._first[np.clip(bucket - 1, 0, last)].astype(np.int64)
        for _ in range(_MOST_STEPS):
            after = np.minimum(piece + 1, last)
            ahead = (start_s[after] <= at) & (after > piece)
            if not ahead.any():
                return piece
            piece += ahead
        return np.clip(np.searchsorted(start_s, at, "right") - 1, 0, last)

    def temp_at(self, at_s: ArrayLike) -> Floats:
        """Return the temperature at each instant (s UTC, shape (n,)), °C."""
        at = np.asarray(at_s, dtype=np.float64)
        return self.temp_in(self.piece_at(at), at)

    def filled_s(self, from_s: ArrayLike, to_s: ArrayLike) -> Floats:
        """Return how long between instants (s UTC, shapes (n,)) it rests on a belief, s."""
        if self._filled_s is None:
            lengths = np.where(self.course.filled, self.course.length_s, 0.0)
            self._filled_s = np.concatenate(([0.0], np.cumsum(lengths)))
        upto = []
        for at_s in (from_s, to_s):
            at = np.asarray(at_s, dtype=np.float64)
            piece = self.piece_at(at)
            part = (at - self.course.start_s[piece]) * self.course.filled[piece]
            upto.append(self._filled_s[piece] + part)
        return np.maximum(0.0, upto[1] - upto[0])

    def temp_in(self, piece: Ints, at: Floats) -> Floats:
        """Return the temperature at instants (s UTC) whose pieces are known, °C."""
        course = self.course
        from_c = course.from_c[piece]
        share = (at - course.start_s[piece]) / course.length_s[piece]
        temp_c: Floats = from_c + (course.to_c[piece] - from_c) * np.clip(share, 0.0, 1.0)
        return temp_c


class Sums:
    """The life used along a track, at one label temperature and activation energy.

    ``used(a, b) = C(b) - C(a)`` with ``C`` the running sum over whole pieces; the parts of pieces
    at both ends are integrated by themselves, by the rule of `life_by_piece`.

    Parameters
    ----------
    label_temp_c, energy_j_mol : float
        As in `rate`.
    """

    def __init__(self, track: Track, label_temp_c: float, energy_j_mol: float) -> None:
        self.track = track
        self.label_temp_c = label_temp_c
        self.energy_j_mol = energy_j_mol
        days = life_by_piece(track.course, label_temp_c, energy_j_mol)
        self._upto = np.concatenate(([0.0], np.cumsum(days)))
        filled = track.course.filled
        self._filled: Floats | None = None
        if filled.any():
            self._filled = np.concatenate(([0.0], np.cumsum(np.where(filled, days, 0.0))))

    def used_and_filled(self, from_s: ArrayLike, to_s: ArrayLike) -> tuple[Floats, Floats]:
        """Return the life used between instants, and what of it rests on filled stretches."""
        a = np.asarray(from_s, dtype=np.float64)
        b = np.maximum(a, np.asarray(to_s, dtype=np.float64))
        course = self.track.course
        i, j = self.track.piece_at(a), self.track.piece_at(b)
        k_a, k_b = self._rate(i, a), self._rate(j, b)
        same = i == j
        head_end = np.where(same, b, course.start_s[i] + course.length_s[i])
        k_head_end = np.where(same, k_b, self._rate_c(course.to_c[i]))
        head = mean_rate(k_a, k_head_end, course.bridged[i]) * (head_end - a) / SECONDS_PER_DAY
        tail_s = np.where(same, 0.0, b - course.start_s[j])
        k_tail = self._rate_c(course.from_c[j])
        tail = mean_rate(k_tail, k_b, course.bridged[j]) * tail_s / SECONDS_PER_DAY
        inner = np.where(same, 0.0, self._upto[j] - self._upto[np.minimum(i + 1, j)])
        days: Floats = head + inner + tail
        if self._filled is None:
            return days, np.zeros_like(days)
        filled = np.where(same, 0.0, self._filled[j] - self._filled[np.minimum(i + 1, j)])
        filled = filled + head * course.filled[i] + tail * course.filled[j]
        return days, filled

    def _rate(self, piece: Ints, at: Floats) -> Floats:
        return self._rate_c(self.track.temp_in(piece, at))

    def _rate_c(self, temp_c: Floats) -> Floats:
        return rate(temp_c, self.label_temp_c, self.energy_j_mol)
