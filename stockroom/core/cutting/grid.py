"""Upper bounds for one blank: the most that a rectangle, or what lies outside one, can hold."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

FINEST = 420
"""Most places kept along a side; with more, sizes are taken in coarser steps (our choice)."""


class Bounds:
    """Bounds over the places where cuts can lie, numbers of pieces left aside.

    Parameters
    ----------
    width, height : int
        The blank, enlarged by one kerf.
    laid : sequence of (int, int, int, int)
        Width, height, value and count of each piece as it may lie, enlarged.

    Notes
    -----
    ``F(w, h)`` is the most by any number of pieces (Gilmore and Gomory 1966, over the sums of
    sizes only); ``V(w, h) = max(V(w', h) + F(w' - w, h), V(w, h') + F(w, h' - h))`` from
    ``V(W, H) = 0``. Where there are too many places, sizes of pieces are rounded down to steps and
    those of rectangles too: what fits still fits, so the bounds are only less sharp.
    """

    def __init__(self, width: int, height: int, laid: Sequence[tuple[int, int, int, int]]) -> None:
        self.step_x = _step(width, [(w, n) for w, _, _, n in laid])
        self.step_y = _step(height, [(h, n) for _, h, _, n in laid])
        self.pieces = [(w // self.step_x, h // self.step_y, v) for w, h, v, _ in laid]
        wide, high = width // self.step_x, height // self.step_y
        self.xs = _sums(wide, [(w // self.step_x, n) for w, _, _, n in laid])
        self.ys = _sums(high, [(h // self.step_y, n) for _, h, _, n in laid])
        self.index_x = _floor(self.xs, wide)
        self.index_y = _floor(self.ys, high)
        self.most = self._most()
        self.rest = self._rest()
        self.whole = int(self.most[-1, -1])

    def beside(self, width: int, height: int) -> int:
        """Return the most that lies outside a block of this size."""
        return int(
            self.rest[self.index_x[width // self.step_x], self.index_y[height // self.step_y]]
        )

    def beside_all(self, widths: Ints, heights: Ints) -> Ints:
        """Return the most outside each of some blocks, int64 (n,)."""
        found: Ints = self.rest[
            self.index_x[widths // self.step_x], self.index_y[heights // self.step_y]
        ]
        return found

    def _most(self) -> Ints:
        xs, ys = self.xs, self.ys
        most = np.zeros((len(xs), len(ys)), np.int64)
        for w, h, value in self.pieces:
            at_x, at_y = np.searchsorted(xs, w), np.searchsorted(ys, h)
            np.maximum(most[at_x:, at_y:], value, out=most[at_x:, at_y:])
        halves_y = [_halves(ys, self.index_y, j) for j in range(len(ys))]
        for i in range(len(xs)):
            low, high = _halves(xs, self.index_x, i)
            row = most[i]
            if i:
                np.maximum(row, most[i - 1], out=row)
            if len(low):
                np.maximum(row, (most[low] + most[high]).max(axis=0), out=row)
            for j in range(1, len(ys)):
                below, above = halves_y[j]
                here = max(row[j], row[j - 1])
                if len(below):
                    here = max(here, (row[below] + row[above]).max())
                row[j] = here
        return most

    def _rest(self) -> Ints:
        xs, ys, most = self.xs, self.ys, self.most
        rest = np.zeros((len(xs), len(ys)), np.int64)
        beyond_y = [self.index_y[ys[j + 1 :] - ys[j]] for j in range(len(ys))]
        for i in range(len(xs) - 1, -1, -1):
            beyond = self.index_x[xs[i + 1 :] - xs[i]]
            row = rest[i]
            if len(beyond):
                row[:] = (rest[i + 1 :] + most[beyond]).max(axis=0)
            here = most[i]
            for j in range(len(ys) - 2, -1, -1):
                above = (row[j + 1 :] + here[beyond_y[j]]).max()
                if above > row[j]:
                    row[j] = above
        return rest


def _sums(size: int, parts: Sequence[tuple[int, int]]) -> Ints:
    """Return all sums of parts up to a size, with zero and the size itself, int64 (n,)."""
    reached = 1
    mask = (1 << (size + 1)) - 1
    for part, count in parts:
        left, chunk = count, 1
        while left > 0 and part:
            use = min(chunk, left)
            reached |= (reached << (part * use)) & mask
            left -= use
            chunk *= 2
            if part * use > size:
                break
    bits = bin(reached | 1 << size)[2:][::-1]
    return np.flatnonzero(np.frombuffer(bits.encode(), np.uint8) == ord("1"))


def _step(size: int, parts: Sequence[tuple[int, int]]) -> int:
    """Return the finest step with few enough places."""
    step = 1
    while len(_sums(size // step, [(part // step, n) for part, n in parts])) > FINEST:
        step += 1 if step < 4 else step // 2
    return step


def _floor(places: Ints, size: int) -> Ints:
    """Return for each length the place at or below it, int64 (size + 1,)."""
    return np.searchsorted(places, np.arange(size + 1), side="right") - 1


def _halves(places: Ints, floor: Ints, at: int) -> tuple[Ints, Ints]:
    """Return the pairs of places that share one length, the smaller one first."""
    low = np.arange(1, np.searchsorted(places, places[at] // 2, side="right"))
    return low, floor[places[at] - places[low]]
