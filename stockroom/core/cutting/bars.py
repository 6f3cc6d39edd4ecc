"""Bars: pieces as high as their blanks, cut by whole patterns that a program of them chooses."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.core.cutting.request import Request
from stockroom.core.cutting.tree import Cut, Node, Part
from stockroom.core.cutting.worth import Worth

MOST_PATTERNS = 20_000
"""Patterns that one program chooses from at most (our choice)."""
MOST_ROUNDS = 60
"""Rounds in which patterns are priced in (our choice; a dozen are usual)."""
NODES = 4_000
"""Nodes of the branch-and-bound at most (our choice; counted, so that plans repeat)."""
TIGHT = 100
"""Where leftovers count for nothing, a pattern may waste a hundredth of the bar (our choice)."""

Amounts = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Pattern:
    """One bar of a kind: which pieces, by their place in the request, and how many of each."""

    blank: int
    takes: tuple[tuple[int, int], ...]


def is_bars(request: Request) -> bool:
    """Return whether a request is one of bars: every piece as high as every blank, none turned."""
    heights = {request.saw.usable(blank)[1] for blank in request.blanks}
    if len(heights) != 1 or any(piece.group for piece in request.pieces):
        return False
    (high,) = heights
    return all(
        piece.height_dmm == high and (not piece.turn or piece.width_dmm >= high)
        for piece in request.pieces
    )


def bar_tree(request: Request, pattern: Pattern, keep: Callable[[int, int], bool]) -> Node:
    """Return how a bar is cut: the longest pieces first, what is left at its end.

    Parameters
    ----------
    keep : callable
        Tells which leftovers (dmm) are offcuts; the rest is waste.
    """
    wide, high = request.saw.usable(request.blanks[pattern.blank])
    kerf = request.saw.kerf_dmm
    pieces = [request.pieces[kind] for kind, number in pattern.takes for _ in range(number)]
    pieces.sort(key=lambda piece: (-piece.width_dmm, piece.code))

    def cut(at: int, room: int) -> Node | None:
        if at == len(pieces):
            if room <= 0:
                return None
            return Part("offcut" if keep(room, high) else "waste", "", room, high)
        piece = pieces[at]
        part = Part("piece", piece.code, piece.width_dmm, high)
        if room == piece.width_dmm:
            return part
        rest = cut(at + 1, room - piece.width_dmm - kerf)
        return Cut("x", piece.width_dmm, room, high, part, rest)

    tree = cut(0, wide)
    assert tree is not None  # a pattern holds at least one piece
    return tree


def best_patterns(
    request: Request, worth: Worth, known: Iterable[Pattern]
) -> list[Pattern] | None:  # fmt: skip
    """Return the bars that take all pieces at the least cost less what they leave.

    Patterns are priced in until none pays against the duals of the linear program (column
    generation after Gilmore and Gomory, 1961), with those known already; an integer program over
    all of them chooses. Where leftovers count for nothing and there is one kind of bar, patterns
    that waste next to nothing are all listed, since an optimum without waste needs such.

    Parameters
    ----------
    request : Request
        Of bars, as `is_bars` tells.
    known : iterable of Pattern

    Returns
    -------
    list of Pattern or None
        A bar each; None where not all pieces can be taken or nothing was found in time.
    """
    return _Bars(request, worth).solved(known)


class _Bars:
    """Sizes enlarged by one kerf, so that n pieces with n - 1 kerfs add up plainly."""

    def __init__(self, request: Request, worth: Worth) -> None:
        self.request, self.worth = request, worth
        kerf = request.saw.kerf_dmm
        self.kerf = kerf
        self.sizes = [piece.width_dmm + kerf for piece in request.pieces]
        self.wanted = [piece.count for piece in request.pieces]
        self.rooms = [request.saw.usable(blank)[0] + kerf for blank in request.blanks]
        self.high = request.saw.usable(request.blanks[0])[1]
        self.allowed = [
            [not piece.blanks or blank.code in piece.blanks for piece in request.pieces]
            for blank in request.blanks
        ]
        self.scarce = [at for at, blank in enumerate(request.blanks) if blank.count is not None]

    def solved(self, known: Iterable[Pattern]) -> list[Pattern] | None:
        pool = dict.fromkeys([*known, *self._one_kind(), *self._tight()])
        if not pool:
            return None
        self._price_in(pool)
        return self._chosen(list(pool)[:MOST_PATTERNS])

    def _cost(self, pattern: Pattern) -> int:
        used = sum(self.sizes[kind] * number for kind, number in pattern.takes)
        left = self.rooms[pattern.blank] - used - self.kerf
        price = self.request.blanks[pattern.blank].price
        return price - (self.worth.of(left, self.high) if left > 0 else 0)

    def _one_kind(self) -> Iterator[Pattern]:
        """As many of one kind as a bar holds: with these every piece has a pattern."""
        for blank, room in enumerate(self.rooms):
            for kind, size in enumerate(self.sizes):
                number = min(self.wanted[kind], room // size)
                if number and self.allowed[blank][kind]:
                    yield Pattern(blank, ((kind, number),))

    def _tight(self) -> Iterator[Pattern]:
        """Patterns of the one kind of bar that waste next to nothing."""
        if self.worth.rule.share or len(self.rooms) != 1:
            return
        room = self.rooms[0]
        total = sum(size * number for size, number in zip(self.sizes, self.wanted, strict=True))
        slack = min(-(-total // room) * room - total, room // TIGHT)
        order = sorted(range(len(self.sizes)), key=lambda kind: -self.sizes[kind])
        left = list(self.wanted)
        taken: list[int] = []
        found = 0

        def filled(first: int, room: int) -> Iterator[Pattern]:
            nonlocal found
            if room <= slack and taken:
                found += 1
                counts = {kind: taken.count(kind) for kind in taken}
                yield Pattern(0, tuple(sorted(counts.items())))
            for at in range(first, len(order)):
                kind = order[at]
                if found >= MOST_PATTERNS // 2:
                    return
                if self.sizes[kind] <= room and left[kind]:
                    left[kind] -= 1
                    taken.append(kind)
                    yield from filled(at, room - self.sizes[kind])
                    taken.pop()
                    left[kind] += 1

        yield from filled(0, room)

    def _price_in(self, pool: dict[Pattern, None]) -> None:
        """Add the patterns that pay, until none does."""
        for _ in range(MOST_ROUNDS):
            duals = self._duals(list(pool))
            if duals is None:
                return
            worths, rents = duals
            new = []
            for blank in range(len(self.rooms)):
                gain, pattern = self._best(blank, worths)
                price = self.request.blanks[blank].price + rents[blank]
                if pattern is not None and price - gain < -1e-6 * max(1.0, price):
                    new.append(pattern)
            fresh = [pattern for pattern in new if pattern not in pool]
            if not fresh:
                return
            pool.update(dict.fromkeys(fresh))

    def _duals(self, pool: Sequence[Pattern]) -> tuple[Amounts, Amounts] | None:
        """What one more piece of each kind would cost, and one bar less of each kind save."""
        from scipy.optimize import linprog

        found = linprog(
            self._costs(pool), A_ub=self._rows(pool), b_ub=self._limits(), method="highs"
        )
        if found.status != 0:
            return None
        marginals = -np.asarray(found.ineqlin.marginals)
        rents = np.zeros(len(self.rooms))
        rents[self.scarce] = marginals[len(self.sizes) :]
        return marginals[: len(self.sizes)], rents

    def _costs(self, pool: Sequence[Pattern]) -> Amounts:
        return np.array([self._cost(pattern) for pattern in pool], dtype=np.float64)

    def _rows(self, pool: Sequence[Pattern]) -> Amounts:
        """At least the pieces wanted (as negative rows), at most the bars there are."""
        rows = np.zeros((len(self.sizes) + len(self.scarce), len(pool)))
        row_of = {blank: len(self.sizes) + at for at, blank in enumerate(self.scarce)}
        for column, pattern in enumerate(pool):
            for kind, number in pattern.takes:
                rows[kind, column] = -number
            if pattern.blank in row_of:
                rows[row_of[pattern.blank], column] = 1
        return rows

    def _limits(self) -> Amounts:
        counts = [self.request.blanks[blank].count or 0 for blank in self.scarce]
        return np.array([*(-number for number in self.wanted), *counts], dtype=np.float64)

    def _best(self, blank: int, worths: Amounts) -> tuple[float, Pattern | None]:
        """The pattern of most worth in a bar: pieces by their duals, and what is left.

        A knapsack over lengths that add up, each kind at most as often as it is wanted.
        """
        room = self.rooms[blank]
        best: dict[int, tuple[float, tuple[tuple[int, int], ...]]] = {0: (0.0, ())}
        for kind, (size, wanted) in enumerate(zip(self.sizes, self.wanted, strict=True)):
            worth = float(worths[kind])
            if worth <= 0 or not self.allowed[blank][kind]:
                continue
            grown = dict(best)
            for used, (value, takes) in best.items():
                for number in range(1, min(wanted, (room - used) // size) + 1):
                    at, gain = used + number * size, value + number * worth
                    if at not in grown or grown[at][0] < gain:
                        grown[at] = (gain, (*takes, (kind, number)))
            best = _undominated(grown) if len(grown) > MOST_STATES else grown
        found: tuple[float, Pattern | None] = (0.0, None)
        for used, (value, takes) in best.items():
            left = room - used - self.kerf
            gain = value + (self.worth.of(left, self.high) if left > 0 else 0)
            if takes and gain > found[0]:
                found = (gain, Pattern(blank, takes))
        return found

    def _chosen(self, pool: list[Pattern]) -> list[Pattern] | None:
        from scipy.optimize import Bounds, LinearConstraint, milp
        from scipy.sparse import csc_matrix

        rows = csc_matrix(self._rows(pool))
        result = milp(
            self._costs(pool),
            constraints=LinearConstraint(rows, -np.inf, self._limits()),
            integrality=np.ones(len(pool)),
            bounds=Bounds(0, np.inf),
            options={"node_limit": NODES, "mip_rel_gap": 0.0},
        )
        if result.x is None:
            return None
        return self._without_surplus(pool, np.rint(result.x).astype(int).tolist())

    def _without_surplus(self, pool: Sequence[Pattern], times: Sequence[int]) -> list[Pattern]:
        """The bars chosen, pieces that are too many dropped again."""
        left = list(self.wanted)
        bars: list[Pattern] = []
        for pattern, number in zip(pool, times, strict=True):
            for _ in range(number):
                takes = []
                for kind, wanted in pattern.takes:
                    taken = min(wanted, left[kind])
                    left[kind] -= taken
                    if taken:
                        takes.append((kind, taken))
                if takes:
                    bars.append(Pattern(pattern.blank, tuple(takes)))
        return bars


MOST_STATES = 60_000
"""Lengths that are followed in one bar; beyond it those that pay least are dropped (our choice)."""


def _undominated(
    states: dict[int, tuple[float, tuple[tuple[int, int], ...]]],
) -> dict[int, tuple[float, tuple[tuple[int, int], ...]]]:
    """Only states worth more than every shorter one; what is left of the bar is then no less."""
    kept, most = {}, -1.0
    for used in sorted(states):
        if states[used][0] > most:
            most = states[used][0]
            kept[used] = states[used]
    return kept
