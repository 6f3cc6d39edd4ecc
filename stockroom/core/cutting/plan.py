"""A cut plan: which blanks are opened, how each is cut, what is left; checked before it is told."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from stockroom.core.cutting.bars import Pattern, bar_tree, best_patterns, is_bars
from stockroom.core.cutting.bound import cost_bound
from stockroom.core.cutting.build import tree_of, tree_of_block
from stockroom.core.cutting.check import faults_of
from stockroom.core.cutting.edges import Trims, trimmed_where_needed
from stockroom.core.cutting.most import Most, MostSearch
from stockroom.core.cutting.request import Blank, CutPiece, Request
from stockroom.core.cutting.search import Found, Search, SearchRules, Used
from stockroom.core.cutting.tidy import tidied
from stockroom.core.cutting.tree import Lying, Node, lying
from stockroom.core.cutting.worth import Rule, Worth
from stockroom.errors import BadValueError, PlanFaultyError

EFFORT = 4_000
"""Steps of a search where nobody says how many (our choice: some seconds for a day's work)."""

Stopped = Literal["effort", "time", "proven"]


@dataclass(frozen=True, slots=True)
class CutBlank:
    """One blank of a plan.

    Attributes
    ----------
    blank : Blank
        One of its kind is opened.
    trims : Trims
        What is trimmed off each edge first, dmm.
    tree : Cut or Part
        The cuts of what lies inside the trims.
    """

    blank: Blank
    trims: Trims
    tree: Node

    def parts(self, kerf_dmm: int) -> tuple[Lying, ...]:
        """Return its parts with their places on the whole blank."""
        return tuple(lying(self.tree, kerf_dmm, self.trims.left_dmm, self.trims.bottom_dmm))


@dataclass(frozen=True, slots=True)
class CutPlan:
    """A whole plan.

    Attributes
    ----------
    blanks : tuple of CutBlank
    left_out : tuple of (str, int)
        Codes of pieces that no blank was left for, and how many of each.
    cost : int
        Cost of the blanks opened.
    leftover_value : int
        What the offcuts are worth to later work; never in the books.
    value : int
        What the pieces cut are worth: their area in dmm2 where no value was given.
    bound : int
        No plan of all pieces has blanks of less cost; where the most from one blank is asked for,
        no cut of it is worth more.
    stopped : str
        Whether the search ended at its effort, its time, or at a proven best.
    """

    request: Request
    blanks: tuple[CutBlank, ...]
    left_out: tuple[tuple[str, int], ...]
    cost: int
    leftover_value: int
    value: int
    bound: int
    seed: int
    iterations: int
    stopped: Stopped

    @property
    def complete(self) -> bool:
        """Whether every piece has its place."""
        return not self.left_out

    @property
    def net(self) -> int:
        """Cost of the blanks less what the offcuts are worth."""
        return self.cost - self.leftover_value


def plans(
    request: Request,
    *,
    rule: Rule,
    work: Iterable[CutPiece] = (),
    effort: int = EFFORT,
    seed: int = 0,
    spent: Callable[[], float] | None = None,
    rules: SearchRules | None = None,
) -> Iterator[CutPlan]:
    """Yield plans of a request, each better than the last, each passed by the checker.

    Parameters
    ----------
    rule : LeftoverRule or BarRule
        What leftovers are worth.
    work : iterable of CutPiece
        Known and recent work that leftovers may serve; the request's own pieces where empty.
    effort : int
        Steps of the search; the same effort and seed give the same plans.
    spent : callable, optional
        Part of the time allowed that is gone, 0 to 1. A plan that the time ended says so, and
        may differ from run to run.
    rules : SearchRules, optional
        Knobs of the search.

    Raises
    ------
    PlanFaultyError
        Where the checker finds a fault: nothing of that plan is told.
    """
    known = tuple(work) or request.pieces
    worth = Worth(rule, known, request.blanks)
    bound = cost_bound(request)
    search = Search(request, worth, seed, rules or SearchRules())
    enough = None if rule.share else bound
    last: CutPlan | None = None
    out_of_time = False

    def clock() -> float:
        nonlocal out_of_time
        gone = spent() if spent is not None else 0.0
        out_of_time = gone >= 1
        return gone

    def found_plans() -> Iterator[CutPlan]:
        """The search's plans; of bars, first those of a short search and of its patterns."""
        stop = clock if spent is not None else None
        if is_bars(request):
            yield from _bar_plans(request, worth, seed, rules or SearchRules(), effort, stop)
            if last is not None and _is_proven(last, enough):
                return
        for found in search.plans(effort, stop, enough):
            yield _plan_of(search, found, request, worth, bound, seed)

    for plan in found_plans():
        if last is not None and _rank(plan) >= _rank(last):
            continue
        _checked(plan, rule, known)
        last = plan
        yield plan
    if last is not None:
        stopped: Stopped = (
            "proven" if _is_proven(last, enough) else "time" if out_of_time else "effort"
        )
        if stopped != last.stopped or search.steps > last.iterations:
            yield replace(last, stopped=stopped, iterations=max(search.steps, last.iterations))


BAR_STEPS = 400
"""Steps of the search that gives the first patterns of bars (our choice)."""


def _bar_plans(
    request: Request,
    worth: Worth,
    seed: int,
    rules: SearchRules,
    effort: int,
    stop: Callable[[], float] | None,
) -> Iterator[CutPlan]:
    """Plans of bars by whole patterns: those that a short search found, and all that price in."""
    search = Search(request, worth, seed, rules)
    bound = cost_bound(request)
    known: list[Pattern] = []
    for found in search.plans(min(effort, BAR_STEPS), stop):
        known += [Pattern(used.blank, tuple(sorted(used.kinds.items()))) for used in found.used]
        yield _plan_of(search, found, request, worth, bound, seed)
    if stop is not None and stop() >= 1:
        return
    patterns = best_patterns(request, worth, known)
    if patterns is None:
        return
    kerf, keep = request.saw.kerf_dmm, worth.rule.usable
    cut = []
    for pattern in patterns:
        blank = request.blanks[pattern.blank]
        tree = bar_tree(request, pattern, keep)
        cut.append(CutBlank(blank, *trimmed_where_needed(tree, blank, request.saw)))
    yield _told(request, worth, cut, (0,) * len(request.pieces), bound, seed, search.steps, kerf)


def _is_proven(plan: CutPlan, enough: int | None) -> bool:
    """Whether no plan of all pieces costs less, leftovers counting for nothing."""
    return plan.complete and enough is not None and plan.cost <= enough


def _rank(plan: CutPlan) -> tuple[int, int]:
    """Less is better: pieces left out first, then what the plan costs less what it leaves."""
    return sum(number for _, number in plan.left_out), plan.net


def most_plans(
    request: Request,
    *,
    rule: Rule,
    effort: int = EFFORT,
    seed: int = 0,
    spent: Callable[[], float] | None = None,
) -> Iterator[CutPlan]:
    """Yield plans that get ever more value from the one blank of a request.

    Parameters are as for `plans`; pieces are cut at most `count` times.

    Raises
    ------
    BadValueError
        Where there is not exactly one blank.
    PlanFaultyError
        Where the checker finds a fault.
    """
    if len(request.blanks) != 1 or request.blanks[0].count == 0:
        raise BadValueError(
            "The most is asked of one blank at a time.",
            f"The list names {len(request.blanks)}.",
            "Leave one line in the list of blanks.",
        )
    blank = request.blanks[0]
    worth = Worth(rule, request.pieces, request.blanks)
    search = MostSearch(request.pieces, blank, request.saw, seed)
    last: CutPlan | None = None
    for most in search.run(effort, spent):
        last = _most_plan(request, search, most, worth, seed)
        _checked(last, rule, request.pieces)
        yield last
    if last is not None:
        proven = last.value >= last.bound
        out_of_time = spent is not None and spent() >= 1
        stopped: Stopped = "proven" if proven else "time" if out_of_time else "effort"
        yield replace(last, stopped=stopped, iterations=search.steps)


def _most_plan(
    request: Request, search: MostSearch, most: Most, worth: Worth, seed: int
) -> CutPlan:
    blank, kerf = request.blanks[0], request.saw.kerf_dmm
    codes, keep = [piece.code for piece in request.pieces], worth.rule.usable
    size = (search.width, search.height)
    opened: tuple[CutBlank, ...] = ()
    tree: Node | None = None
    if most.block is not None:
        tree = tree_of_block(*size, most.block, codes, kerf, keep, search.longest)
    elif most.filled is not None:
        tree = tree_of(*size, most.filled.moves, search.fitter, codes, kerf, keep)
    if tree is not None:
        tree = tidied(tree, kerf, keep, request.saw.longest_dmm)
        opened = (CutBlank(blank, *trimmed_where_needed(tree, blank, request.saw)),)
    parts = [lain.part for one in opened for lain in one.parts(kerf)]
    placed = Counter(part.code for part in parts if part.what == "piece")
    return CutPlan(
        request=request,
        blanks=opened,
        left_out=tuple(
            (piece.code, piece.count - placed[piece.code])
            for piece in request.pieces
            if piece.count > placed[piece.code]
        ),
        cost=sum(one.blank.price for one in opened),
        leftover_value=sum(
            worth.of(part.width_dmm, part.height_dmm) for part in parts if part.what == "offcut"
        ),
        value=most.value,
        bound=most.bound,
        seed=seed,
        iterations=most.steps,
        stopped="effort",
    )


def best_plan(request: Request, **how: object) -> CutPlan:
    """Return the last of `plans`, which is the best."""
    *_, last = plans(request, **how)  # type: ignore[arg-type]
    return last


def plan_as_found(request: Request, found: Found, *, rule: Rule, seed: int) -> CutPlan:
    """Return the plan of blanks that another search filled, passed by the checker.

    Parameters
    ----------
    found : Found
        Moves as `filling.fill` makes them, sizes enlarged by one kerf.
    rule : LeftoverRule or BarRule

    Raises
    ------
    PlanFaultyError
        Where the checker finds a fault.
    """
    worth = Worth(rule, request.pieces, request.blanks)
    search = Search(request, worth, seed, SearchRules())
    plan = _plan_of(search, found, request, worth, cost_bound(request), seed)
    _checked(plan, rule, request.pieces)
    return plan


def _checked(plan: CutPlan, rule: Rule, work: tuple[CutPiece, ...]) -> None:
    faults = faults_of(
        plan.request,
        [(cut.blank.code, cut.trims, cut.tree) for cut in plan.blanks],
        plan.left_out,
        plan.cost,
        plan.leftover_value,
        rule,
        work,
    )
    if faults:
        raise PlanFaultyError(
            "A cut plan did not pass its check and is not shown.",
            faults[0],
            "Plan again with another seed, and tell whoever keeps this program.",
        )


def _plan_of(
    search: Search, found: Found, request: Request, worth: Worth, bound: int, seed: int
) -> CutPlan:
    cut = [_cut_blank(search, used, request, worth) for used in found.used]
    kerf = request.saw.kerf_dmm
    return _told(request, worth, cut, found.out, bound, seed, found.steps, kerf)


def _told(
    request: Request,
    worth: Worth,
    cut: list[CutBlank],
    out: Sequence[int],
    bound: int,
    seed: int,
    steps: int,
    kerf: int,
) -> CutPlan:
    """A plan of some blanks cut, with all that is told of it."""
    cut = sorted(cut, key=lambda one: (-one.blank.area_dmm2, one.blank.code))
    value = sum(
        worth.of(part.part.width_dmm, part.part.height_dmm)
        for one in cut
        for part in one.parts(kerf)
        if part.part.what == "offcut"
    )
    return CutPlan(
        request=request,
        blanks=tuple(cut),
        left_out=tuple(
            (piece.code, number)
            for piece, number in zip(request.pieces, out, strict=True)
            if number
        ),
        cost=sum(one.blank.price for one in cut),
        leftover_value=value,
        value=sum(
            piece.worth * (piece.count - number)
            for piece, number in zip(request.pieces, out, strict=True)
        ),
        bound=bound,
        seed=seed,
        iterations=steps,
        stopped="effort",
    )


def _cut_blank(search: Search, used: Used, request: Request, worth: Worth) -> CutBlank:
    blank, saw = request.blanks[used.blank], request.saw
    width, height = search.usable[used.blank]
    tree = tree_of(
        width, height, used.filled.moves, search.fitter,
        [piece.code for piece in request.pieces], saw.kerf_dmm, worth.rule.usable,
    )  # fmt: skip
    tree = tidied(tree, saw.kerf_dmm, worth.rule.usable, saw.longest_dmm)
    trims, tree = trimmed_where_needed(tree, blank, saw)
    return CutBlank(blank, trims, tree)
