"""The most from one blank: blocks are built up best first under bounds from dynamic programming.

Two built blocks are joined side by side or one above the other; a block is pursued in the order of
its value plus the most that what lies outside it can still hold (Viswanathan and Bagchi 1993). The
bounds leave out how many pieces there are of each kind, and so are never too low.
"""

import heapq
import random
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.core.cutting.filling import Filled, Fitter, fill, first_cut
from stockroom.core.cutting.grid import Bounds
from stockroom.core.cutting.request import Blank, CutPiece, Saw

Ints = NDArray[np.int64]

FILLS_PER_STEP = 4
"""Fills by chance for each block pursued (our choice)."""
ROOM = 1 << 14
"""Blocks for which arrays have room at first; they grow."""


@dataclass(frozen=True, slots=True)
class Block:
    """A built block, enlarged by one kerf: a piece, or two blocks joined.

    Attributes
    ----------
    kind, turned : int, bool
        The piece, where it is one.
    axis : str
        "x" side by side, "y" one above the other, "" for a piece.
    low, high : Block or None
    """

    width: int
    height: int
    value: int
    kind: int = -1
    turned: bool = False
    axis: str = ""
    low: "Block | None" = None
    high: "Block | None" = None


@dataclass(frozen=True, slots=True)
class Most:
    """The best found: a block, or a fill, and its value.

    Attributes
    ----------
    bound : int
        No cut of the blank is worth more.
    block : Block or None
    filled : Filled or None
    """

    value: int
    bound: int
    block: Block | None
    filled: Filled | None
    steps: int


class MostSearch:
    """The search for the most valuable pieces from one blank.

    Parameters
    ----------
    pieces : sequence of CutPiece
        At most `count` of each.
    """

    def __init__(self, pieces: Sequence[CutPiece], blank: Blank, saw: Saw, seed: int) -> None:
        kerf = saw.kerf_dmm
        width, height = saw.usable(blank)
        self.width, self.height = width + kerf, height + kerf
        self.longest = None if saw.longest_dmm is None else saw.longest_dmm + kerf
        self.random = random.Random(seed)
        self.counts = [piece.count for piece in pieces]
        self.values = [piece.worth for piece in pieces]
        sizes = [
            (p.width_dmm + kerf, p.height_dmm + kerf, p.turn and p.width_dmm != p.height_dmm)
            for p in pieces
        ]
        self.fitter = Fitter(sizes, min(min(w, h) for w, h, _ in sizes), self.longest)
        self.laid = [
            (kind, turned, *((h, w) if turned else (w, h)))
            for kind, (w, h, turn) in enumerate(sizes)
            for turned in ((False, True) if turn else (False,))
        ]
        self.laid = [one for one in self.laid if one[2] <= self.width and one[3] <= self.height]
        self.kinds = sorted({kind for kind, *_ in self.laid})
        self.steps = 0

    def run(self, effort: int, spent: Callable[[], float] | None = None) -> Iterator[Most]:
        """Yield the first answer and each better one.

        Parameters
        ----------
        effort : int
            Blocks pursued.
        spent : callable, optional
            Part of the time allowed that is gone, 0 to 1; it ends the search at 1.
        """
        if not self.laid:
            yield Most(0, 0, None, None, 0)
            return
        best = Most(
            0, sum(v * c for v, c in zip(self.values, self.counts, strict=True)), None, None, 0
        )
        for _ in range(40):
            best = yield from self._better(best, self._by_chance())
        bounds = Bounds(
            self.width, self.height,
            [(w, h, self.values[kind], self.counts[kind]) for kind, _, w, h in self.laid],
        )  # fmt: skip
        best = Most(best.value, bounds.whole, best.block, best.filled, best.steps)
        yield best
        pool = _Pool(self, bounds)
        for kind, turned, w, h in self.laid:
            block = Block(w, h, self.values[kind], kind, turned)
            counts = np.zeros(len(self.counts), np.int64)
            counts[kind] = 1
            best = yield from self._better(best, (block.value, block, None))
            pool.offer(block, counts, best.value)
        for step in range(1, effort + 1):
            self.steps = step
            if spent is not None and spent() >= 1:
                return
            if best.value >= best.bound:
                return
            for _ in range(FILLS_PER_STEP):
                best = yield from self._better(best, self._by_chance())
            top = pool.pop(best.value)
            if top is None:
                if best.bound > best.value:
                    yield Most(best.value, best.value, best.block, best.filled, step)
                return
            for block in pool.joined(*top, best.value):
                best = yield from self._better(best, (block.value, block, None))

    def _better(
        self, best: Most, found: tuple[int, Block | None, Filled | None]
    ) -> Generator[Most, None, Most]:
        value, block, filled = found
        if value <= best.value or not self._comes_out(block):
            return best
        better = Most(value, best.bound, block, filled, self.steps)
        yield better
        return better

    def _comes_out(self, block: Block | None) -> bool:
        """Whether the saw can cut a block out of the blank."""
        return (
            block is None
            or self.longest is None
            or (
                first_cut(self.width, self.height, block.width, block.height, self.longest)
                is not None
            )
        )

    def _by_chance(self) -> tuple[int, Block | None, Filled | None]:
        """A fill in an order by value for the room it takes, by chance."""
        rng = self.random.random
        power, noise = rng(), rng()
        keyed = {}
        for kind in self.kinds:
            w, h, _ = self.fitter.sizes[kind]
            rank = self.values[kind] / (w * h) ** power
            keyed[kind] = rank * (1 + noise * (rng() - 0.5))
        order = sorted(self.kinds, key=keyed.__getitem__, reverse=True)
        left = list(self.counts)
        if rng() < 0.3:
            left = [int(rng() * (count + 1)) for count in left]
        filled = fill(
            self.width, self.height, order, left, self.fitter,
            int(rng() * 3), int(rng() * 3), rng,
        )  # fmt: skip
        return sum(self.values[move.kind] for move in filled.moves), None, filled


class _Pool:
    """Blocks waiting, and those pursued already with which they are joined."""

    def __init__(self, search: MostSearch, bounds: Bounds) -> None:
        self.search = search
        self.bounds = bounds
        self.demand = np.array(search.counts, np.int64)
        self.heap: list[tuple[int, int, Block, Ints]] = []
        self.seen: dict[bytes, list[tuple[int, int]]] = {}
        self.number = 0
        self.blocks: list[Block] = []
        self.counts = np.zeros((ROOM, len(search.counts)), np.int64)
        self.widths = np.zeros(ROOM, np.int64)
        self.heights = np.zeros(ROOM, np.int64)
        self.worths = np.zeros(ROOM, np.int64)

    def offer(self, block: Block, counts: Ints, best: int) -> None:
        """Let a block wait, unless it cannot lead to more or one like it is no larger."""
        bound = block.value + self.bounds.beside(block.width, block.height)
        if bound <= best:
            return
        key = counts.tobytes()
        known = self.seen.setdefault(key, [])
        if any(w <= block.width and h <= block.height for w, h in known):
            return
        known.append((block.width, block.height))
        self.number += 1
        heapq.heappush(self.heap, (-bound, -self.number, block, counts))

    def pop(self, best: int) -> tuple[Block, Ints] | None:
        """Return the block that can lead to the most, and pursue it; None where none leads on."""
        while self.heap:
            bound, _, block, counts = heapq.heappop(self.heap)
            if -bound <= best:
                self.heap.clear()
                return None
            smaller = self.seen[counts.tobytes()]
            if any(
                w <= block.width and h <= block.height and (w, h) != (block.width, block.height)
                for w, h in smaller
            ):
                continue
            self._pursue(block, counts)
            return block, counts
        return None

    def _pursue(self, block: Block, counts: Ints) -> None:
        at = len(self.blocks)
        if at == len(self.widths):
            self.counts = np.concatenate([self.counts, np.zeros_like(self.counts)])
            self.widths = np.concatenate([self.widths, np.zeros_like(self.widths)])
            self.heights = np.concatenate([self.heights, np.zeros_like(self.heights)])
            self.worths = np.concatenate([self.worths, np.zeros_like(self.worths)])
        self.blocks.append(block)
        self.counts[at] = counts
        self.widths[at], self.heights[at] = block.width, block.height
        self.worths[at] = block.value

    def _sawn(self, axis: str, block: Block, widths: Ints, heights: Ints) -> NDArray[np.bool_]:
        """Whether the saw can take off what the smaller of two joined blocks leaves."""
        longest = self.search.longest or 0
        if axis == "x":
            mine, theirs, own, partner = block.height, heights, block.width, widths
        else:
            mine, theirs, own, partner = block.width, widths, block.height, heights
        return np.where(
            theirs == mine, True, np.where(theirs < mine, partner <= longest, own <= longest)
        )

    def joined(self, block: Block, counts: Ints, best: int) -> Iterator[Block]:
        """Yield what a block makes with each pursued one, where it can lead to more."""
        number = len(self.blocks)
        partners = np.flatnonzero((self.counts[:number] <= self.demand - counts).all(axis=1))
        if not len(partners):
            return
        search = self.search
        widths, heights = self.widths[partners], self.heights[partners]
        worths = self.worths[partners] + block.value
        for axis in ("x", "y"):
            if axis == "x":
                wide, high = widths + block.width, np.maximum(heights, block.height)
                length = high
            else:
                wide, high = np.maximum(widths, block.width), heights + block.height
                length = wide
            fits = (wide <= search.width) & (high <= search.height)
            if search.longest is not None:
                fits &= self._sawn(axis, block, widths, heights) & (length <= search.longest)
            at = np.flatnonzero(fits)
            if not len(at):
                continue
            bound = worths[at] + self.bounds.beside_all(wide[at], high[at])
            for here, most in zip(at.tolist(), bound.tolist(), strict=True):
                if most <= best:
                    continue
                partner = self.blocks[partners[here]]
                new = Block(
                    int(wide[here]), int(high[here]), int(worths[here]), axis=axis,
                    low=block, high=partner,
                )  # fmt: skip
                best = max(best, new.value)
                yield new
                self.offer(new, counts + self.counts[partners[here]], best)
