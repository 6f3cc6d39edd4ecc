"""Ruin and recreate: whole blanks are emptied and filled anew, better plans kept as they come."""

import math
import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from stockroom.core.cutting.filling import (
    AREA,
    EITHER,
    LARGEST,
    LONG_SIDE,
    SHORT_SIDE,
    SHORTER,
    Filled,
    Fitter,
    fill,
)
from stockroom.core.cutting.request import Request
from stockroom.core.cutting.worth import Worth


@dataclass(frozen=True, slots=True)
class SearchRules:
    """The search's few knobs, all our choice, tried on our own instances.

    Attributes
    ----------
    warmth : float
        How much dearer a step may be at first, as a part of a blank's mean cost.
    most_ruined : int
        Most blanks emptied in one step.
    poor_first : float
        How often of two blanks the one with the poorer fill is emptied.
    blanks_tried, fills_tried : int
        Blanks that are tried when one is opened, and fills of each.
    noise : float
        Largest change of a piece's rank in the order of filling.
    """

    warmth: float = 0.01
    most_ruined: int = 4
    poor_first: float = 0.7
    blanks_tried: int = 8
    fills_tried: int = 2
    noise: float = 0.6


class Used:
    """A blank in use: how it is filled, and what that costs after what is left of it."""

    __slots__ = ("area", "blank", "filled", "kinds", "net")

    def __init__(
        self, blank: int, filled: Filled, kinds: dict[int, int], area: int, net: int
    ) -> None:
        self.blank = blank
        self.filled = filled
        self.kinds = kinds
        self.area = area
        self.net = net


@dataclass(frozen=True, slots=True)
class Found:
    """A plan of the search: blanks in use, pieces left out by kind, cost after leftovers."""

    used: tuple[Used, ...]
    out: tuple[int, ...]
    net: int
    steps: int


class Search:
    """The search over one request; the same seed and effort find the same plans."""

    def __init__(self, request: Request, worth: Worth, seed: int, rules: SearchRules) -> None:
        saw = request.saw
        kerf = saw.kerf_dmm
        self.rules = rules
        self.worth = worth
        self.kerf = kerf
        self.random = random.Random(seed)
        self.pieces = request.pieces
        sizes = [
            (p.width_dmm + kerf, p.height_dmm + kerf, p.turn and p.width_dmm != p.height_dmm)
            for p in self.pieces
        ]
        least = min(min(w, h) for w, h, _ in sizes)
        longest = None if saw.longest_dmm is None else saw.longest_dmm + kerf
        self.fitter = Fitter(sizes, least, longest)
        self.areas = [w * h for w, h, _ in sizes]
        self.usable = [
            (w + kerf, h + kerf) for w, h in (saw.usable(blank) for blank in request.blanks)
        ]
        self.prices = [blank.price for blank in request.blanks]
        self.counts = [
            sum(p.count for p in self.pieces) if blank.count is None else blank.count
            for blank in request.blanks
        ]
        self.takes = [
            [
                kind
                for kind, (w, h, turn) in enumerate(sizes)
                if (not self.pieces[kind].blanks or blank.code in self.pieces[kind].blanks)
                and ((w <= width and h <= height) or (turn and h <= width and w <= height))
            ]
            for blank, (width, height) in zip(request.blanks, self.usable, strict=True)
        ]
        self.from_blanks: list[list[int]] = [[] for _ in sizes]
        for at, kinds in enumerate(self.takes):
            for kind in kinds:
                self.from_blanks[kind].append(at)
        self.cheaper = self._twins(request)
        self.ranks = [
            [float(area) for area in self.areas],
            [float(max(w, h)) for w, h, _ in sizes],
            [float(min(w, h)) for w, h, _ in sizes],
            [float(w + h) for w, h, _ in sizes],
        ]
        self.groups = _groups([piece.group for piece in self.pieces])
        self.grouped = {kind for kinds in self.groups for kind in kinds}
        self.steps = 0
        self.penalty = 4 * max(self.prices, default=1) + 1

    def _twins(self, request: Request) -> list[list[int]]:
        """Of each blank, those of its very size and trimming that cost less, cheapest first."""
        alike = [
            (*size, blank.width_dmm, blank.height_dmm, blank.trimmed)
            for blank, size in zip(request.blanks, self.usable, strict=True)
        ]
        by_price = sorted(range(len(alike)), key=lambda at: (self.prices[at], at))
        return [
            [
                twin
                for twin in by_price
                if alike[twin] == alike[at] and self.prices[twin] < self.prices[at]
            ]
            for at in range(len(alike))
        ]

    def plans(
        self, effort: int, spent: Callable[[], float] | None = None, enough: int | None = None
    ) -> Iterator[Found]:
        """Yield the first plan and each better one; the last is the best.

        Parameters
        ----------
        effort : int
            Steps of the search.
        spent : callable, optional
            Part of the time allowed that is gone, 0 to 1; it ends the search at 1.
        enough : int, optional
            A cost that no plan can be under: there it ends.
        """
        rules, rng = self.rules, self.random.random
        wanted = [piece.count for piece in self.pieces]
        stock = list(self.counts)
        now, out = self._construct(wanted, stock)
        cost = self._cost(now, out)
        best = cost
        mean = max(1.0, sum(used.net for used in now) / max(1, len(now)))
        yield self._found(now, out, 0)
        for step in range(1, effort + 1):
            if enough is not None and best <= enough:
                return
            self.steps = step
            gone = step / effort
            if spent is not None:
                gone = max(gone, spent())
                if gone >= 1:
                    return
            if not now:
                return
            ruined = self._ruin(now)
            left, shelf = list(out), stock.copy()
            before = self._cost((), out)
            for at in ruined:
                used = now[at]
                before += used.net
                shelf[used.blank] += 1
                for kind, number in used.kinds.items():
                    left[kind] += number
            new, new_out = self._construct(left, shelf)
            after = self._cost(new, new_out)
            warmth = rules.warmth * mean * (1 - gone)
            if after <= before or (warmth > 0 and rng() < math.exp((before - after) / warmth)):
                now = [used for at, used in enumerate(now) if at not in ruined] + new
                stock, out = shelf, new_out
                cost += after - before
                if cost < best:
                    best = cost
                    yield self._found(now, out, step)

    def _found(self, now: Sequence[Used], out: Sequence[int], steps: int) -> Found:
        return Found(tuple(now), tuple(out), sum(used.net for used in now), steps)

    def _cost(self, now: Sequence[Used], out: Sequence[int]) -> int:
        """Net cost of blanks, and of pieces left out far more than any blank."""
        return sum(used.net for used in now) + self.penalty * sum(out)

    def _ruin(self, now: Sequence[Used]) -> set[int]:
        rules, rng, number = self.rules, self.random.random, len(now)
        want = min(1 + int(rng() * rules.most_ruined), number)
        ruined: set[int] = set()
        while len(ruined) < want:
            at, other = int(rng() * number), int(rng() * number)
            if rng() < rules.poor_first:
                here, there = now[at], now[other]
                if there.area * max(1, here.net) < here.area * max(1, there.net):
                    at = other
            ruined.add(at)
        return ruined

    def _construct(self, left: list[int], shelf: list[int]) -> tuple[list[Used], list[int]]:
        """Cut what is left from blanks of the shelf; both are changed."""
        new: list[Used] = []
        out = [0] * len(left)
        while True:
            waiting = [kind for kind, number in enumerate(left) if number]
            if not waiting:
                return new, out
            largest = max(waiting, key=self.areas.__getitem__)
            used = self._opened(largest, left, shelf)
            if used is None:
                for kind in self._together(largest):
                    out[kind] += left[kind]
                    left[kind] = 0
                continue
            for kind, number in used.kinds.items():
                left[kind] -= number
            shelf[used.blank] -= 1
            new.append(used)

    def _together(self, kind: int) -> list[int]:
        if kind not in self.grouped:
            return [kind]
        return next(kinds for kinds in self.groups if kind in kinds)

    def _opened(self, largest: int, left: list[int], shelf: list[int]) -> Used | None:
        """Return the best of some fills of some blanks that take the largest piece left."""
        rules, rng = self.rules, self.random
        able = [blank for blank in self.from_blanks[largest] if shelf[blank]]
        if len(able) > rules.blanks_tried:
            able = rng.sample(able, rules.blanks_tried)
        best: Used | None = None
        ratio = -1.0
        for blank in able:
            for _ in range(rules.fills_tried):
                used = self._filled(blank, largest, left)
                if used is None:
                    continue
                found = used.area / max(1, used.net)
                if found > ratio:
                    best, ratio = used, found
        return best and self._at_its_cheapest(best, shelf)

    def _at_its_cheapest(self, used: Used, shelf: list[int]) -> Used:
        """The same fill on a blank of the same size that costs less, where one is there."""
        for twin in self.cheaper[used.blank]:
            if shelf[twin] and all(kind in self.takes[twin] for kind in used.kinds):
                net = used.net - self.prices[used.blank] + self.prices[twin]
                return Used(twin, used.filled, used.kinds, used.area, net)
        return used

    def _filled(self, blank: int, largest: int, left: list[int]) -> Used | None:
        rng = self.random.random
        order = self._order(blank, largest, left)
        rule = (SHORT_SIDE, AREA, LONG_SIDE)[int(rng() * 3)]
        by = rng()
        split = LARGEST if by < 0.6 else SHORTER if by < 0.88 else EITHER
        width, height = self.usable[blank]
        filled = fill(width, height, order, left, self.fitter, rule, split, rng)
        kinds: dict[int, int] = {}
        area = 0
        for move in filled.moves:
            kind = move[0]
            kinds[kind] = kinds.get(kind, 0) + 1
            area += self.areas[kind]
        if not kinds or not self._whole(kinds, left):
            return None
        net = self.prices[blank] - self._kept(filled.left_over)
        return Used(blank, filled, kinds, area, net)

    def _kept(self, left_over: Sequence[tuple[int, int]]) -> int:
        if not self.worth.rule.share:
            return 0
        kerf, of = self.kerf, self.worth.of
        return sum(of(w - kerf, h - kerf) for w, h in left_over)

    def _order(self, blank: int, largest: int, left: list[int]) -> list[int]:
        rng = self.random.random
        rank = self.ranks[int(rng() * 4)]
        noise = rng() * self.rules.noise
        kinds = [kind for kind in self.takes[blank] if left[kind]]
        keyed = {kind: rank[kind] * (1 + noise * (rng() - 0.5)) for kind in kinds}
        if self.groups:
            kinds = self._with_whole_groups(kinds, largest, left)
        kinds.sort(key=keyed.__getitem__, reverse=True)
        return kinds

    def _with_whole_groups(self, kinds: list[int], largest: int, left: list[int]) -> list[int]:
        """Leave out groups that cannot be whole here, and by chance others."""
        here = set(kinds)
        dropped: set[int] = set()
        for group in self.groups:
            wanted = [kind for kind in group if left[kind]]
            if not wanted or largest in group:
                continue
            if not here.issuperset(wanted) or self.random.random() < 0.5:
                dropped.update(group)
        return [kind for kind in kinds if kind not in dropped]

    def _whole(self, kinds: dict[int, int], left: list[int]) -> bool:
        """Whether each group is on the blank whole, or not at all."""
        for group in self.groups:
            on = [kinds.get(kind, 0) for kind in group]
            if any(on) and on != [left[kind] for kind in group]:
                return False
        return True


def _groups(names: Sequence[str]) -> list[list[int]]:
    found: dict[str, list[int]] = {}
    for kind, name in enumerate(names):
        if name:
            found.setdefault(name, []).append(kind)
    return list(found.values())
