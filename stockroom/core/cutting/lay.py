"""A whole strip laid at once: an order of pieces is improved until all fit into ever less length.

Each piece in turn goes where it fits best, and takes with it which way it lies and which cut beside
it runs through. A change of two places in the order, or of one piece's way, is kept where less is
left out, and at first now and then where a little more is (simulated annealing, Kirkpatrick,
Gelatt and Vecchi 1983). Once nothing is left out, the strip is made shorter.
"""

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from stockroom.core.cutting.filling import (
    AREA,
    LARGEST,
    LONG_SIDE,
    SHORT_SIDE,
    SHORTER,
    Filled,
    Move,
    take,
)

WARMTH = 0.002
"""How much more may be left out at first, as a part of all pieces' area (our choice: of 0.001 to
0.03 tried on public strips the shorter half did alike, to 0.1 %)."""
UPRIGHT, FLAT = 3, 4
"""Cuts beside a piece that run one way whatever the rest's shape; beside LARGEST and SHORTER."""
WAYS = (LARGEST, SHORTER, UPRIGHT, FLAT)
AS_IT_IS, TURNED, AS_FITS = range(3)
"""Which way a piece lies."""

Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Laid:
    """All pieces on a strip: the moves that put them there, and the length they take, enlarged."""

    filled: Filled
    length: int
    tries: int


@dataclass(slots=True)
class _Order:
    """What is changed: the order of pieces, how each lies, its cut, how places are chosen."""

    pieces: list[int]
    lies: list[int]
    cuts: list[int]
    rule: int

    def copy(self) -> "_Order":
        return _Order(self.pieces.copy(), self.lies.copy(), self.cuts.copy(), self.rule)


class Laying:
    """The search for a short strip; the same seed and number of tries find the same.

    Parameters
    ----------
    sizes : sequence of (int, int, bool)
        Of each kind of piece, enlarged by one gap: width, height, whether it may turn.
    counts : sequence of int
        How many of each there are.
    width : int
        The strip's, enlarged by one gap.
    """

    def __init__(
        self, sizes: Sequence[tuple[int, int, bool]], counts: Sequence[int], width: int, seed: int
    ) -> None:
        self.kinds = [kind for kind, count in enumerate(counts) for _ in range(count)]
        self.sizes = [sizes[kind] for kind in self.kinds]
        self.areas = [w * h for w, h, _ in self.sizes]
        self.least_side = min(min(w, h) for w, h, _ in sizes)
        self.width = width
        self.random = random.Random(seed)
        self.turning = [at for at, (_, _, turn) in enumerate(self.sizes) if turn]

    @property
    def least(self) -> int:
        """The length that the pieces' area takes."""
        return -(-sum(self.areas) // self.width)

    def strips(
        self, length: int, tries: int, spent: Callable[[], float] | None = None
    ) -> Iterator[Laid]:
        """Yield ever shorter strips, all shorter than a length.

        Parameters
        ----------
        length : int
            Enlarged by one gap; to be bettered.
        spent : callable, optional
            Part of the time allowed that is gone, 0 to 1; it ends the search at 1.
        """
        rng, all_area = self.random.random, sum(self.areas)
        number = len(self.kinds)
        now = _Order(
            sorted(range(number), key=lambda at: -self.areas[at]),
            [AS_FITS if turn else AS_IT_IS for _, _, turn in self.sizes],
            [LARGEST] * number,
            SHORT_SIDE,
        )
        goal = length - 1
        out: int | None = None
        for step in range(1, tries + 1):
            if goal < self.least:
                return
            gone = step / tries
            if spent is not None:
                gone = max(gone, spent())
                if gone >= 1:
                    return
            tried = now if out is None else self._changed(now)
            moves, missing = self._lay(tried, goal)
            if not missing:
                now, out = tried, None
                moves, taken = self._shortened(moves, goal)
                yield Laid(Filled(moves, []), taken, step)
                goal = taken - 1
                continue
            warmth = WARMTH * all_area * (1 - gone)
            if (
                out is None
                or missing <= out
                or (warmth > 0 and rng() < math.exp((out - missing) / warmth))
            ):
                now, out = tried, missing

    def _changed(self, order: _Order) -> _Order:
        rng, number = self.random.random, len(order.pieces)
        new = order.copy()
        chance, at = rng(), int(rng() * number)
        if chance < 0.4:
            other = int(rng() * number)
            new.pieces[at], new.pieces[other] = new.pieces[other], new.pieces[at]
        elif chance < 0.7:
            new.pieces.insert(int(rng() * number), new.pieces.pop(at))
        elif chance < 0.72:
            new.rule = (SHORT_SIDE, AREA, LONG_SIDE)[int(rng() * 3)]
        elif chance < 0.84 and self.turning:
            new.lies[self.turning[int(rng() * len(self.turning))]] = int(rng() * 3)
        else:
            new.cuts[at] = WAYS[int(rng() * len(WAYS))]
        return new

    def _lay(self, order: _Order, length: int) -> tuple[list[Move], int]:
        """Lay pieces in an order; return the moves, and the area of those that found no place."""
        sizes, kinds, lies, cuts, rule = self.sizes, self.kinds, order.lies, order.cuts, order.rule
        least = self.least_side
        free: list[Size] = [(self.width, length)]
        moves: list[Move] = []
        missing = 0
        for piece in order.pieces:
            w, h, _ = sizes[piece]
            lie = lies[piece]
            best, best_score, turned = -1, 1 << 62, False
            if lie != TURNED:
                best, best_score = _place(free, w, h, rule, best_score)
            if lie != AS_IT_IS:
                other, _ = _place(free, h, w, rule, best_score)
                if other >= 0:
                    best, turned = other, True
            if best < 0:
                missing += w * h
                continue
            if turned:
                w, h = h, w
            a, b = free[best]
            dx, dy = a - w, b - h
            cut = cuts[piece]
            if cut == LARGEST:
                upright = dx * b >= dy * a
            elif cut == SHORTER:
                upright = dx < dy
            else:
                upright = cut == UPRIGHT
            moves.append(Move(kinds[piece], turned, best, upright))
            last = free.pop()
            if best < len(free):
                free[best] = last
            if upright:
                if dx >= least and b >= least:
                    free.append((dx, b))
                if dy >= least and w >= least:
                    free.append((w, dy))
            else:
                if dx >= least and h >= least:
                    free.append((dx, h))
                if dy >= least and a >= least:
                    free.append((a, dy))
        return moves, missing

    def _shortened(self, moves: Sequence[Move], length: int) -> tuple[list[Move], int]:
        """Return the moves on a strip that ends where the last piece does, and that length.

        On the shorter strip some rests at its end are too thin to be listed, so that the places
        of others in the list of free ones change.
        """
        regions = list(self._regions(moves, length))
        reached = max(region.begin + h for region, _, h in regions)
        root = regions[0][0]
        free = [root]
        shortened = []
        for move, (region, _, _) in zip(moves, regions, strict=True):
            at = next(at for at, one in enumerate(free) if one is region)
            shortened.append(move._replace(at=at))
            take(free, at)
            free += [
                rest
                for rest in region.rests
                if rest.width >= self.least_side
                and min(rest.end, reached) - rest.begin >= self.least_side
            ]
        return shortened, reached

    def _regions(self, moves: Sequence[Move], length: int) -> Iterator[tuple["_Region", int, int]]:
        """Yield of each move the rectangle that it went into, and the piece's size as it lies."""
        by_kind = dict(zip(self.kinds, self.sizes, strict=True))
        free = [_Region(self.width, 0, length)]
        for kind, turned, at, upright in moves:
            w, h, _ = by_kind[kind]
            if turned:
                w, h = h, w
            region = free[at]
            take(free, at)
            begin, end = region.begin, region.end
            beside = _Region(region.width - w, begin, end if upright else begin + h)
            above = _Region(w if upright else region.width, begin + h, end)
            region.rests = tuple(
                rest
                for rest in (beside, above)
                if min(rest.width, rest.end - rest.begin) >= self.least_side
            )
            free += region.rests
            yield region, w, h


@dataclass(slots=True, eq=False)
class _Region:
    """A free rectangle: how wide, and from where to where along the strip; what is left of it."""

    width: int
    begin: int
    end: int
    rests: tuple["_Region", ...] = ()


def _place(free: Sequence[Size], w: int, h: int, rule: int, score: int) -> tuple[int, int]:
    """Return which free rectangle w x h fits best, and how well; -1 where none is under a score."""
    best = -1
    for at, (a, b) in enumerate(free):
        dx, dy = a - w, b - h
        if dx >= 0 and dy >= 0:
            if rule == SHORT_SIDE:
                here = dx if dx < dy else dy
            elif rule == AREA:
                here = a * b
            else:
                here = dx if dx > dy else dy
            if here < score:
                best, score = at, here
    return best, score
