"""Rolls: pieces side by side and one after another, cut straight across first; a series on one."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import chain, islice, product

from stockroom.core.cutting.lay import Laid, Laying
from stockroom.core.cutting.plan import CutPlan, best_plan, plan_as_found
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.search import Found, SearchRules, Used
from stockroom.core.cutting.worth import NOTHING_KEPT

BAND_RULES = SearchRules(blanks_tried=16)
"""Bands differ little from each other, so that more are tried (our choice, on public strips)."""
BANDS_PART = 4
"""One part in so many of the effort goes to bands, the rest to the strip as a whole (ours)."""
LAYS_PER_STEP = 32
"""Times that all pieces are laid for one step of the bands' search, which takes about as long."""
MOST_HEIGHTS = 150
"""Heights of bands that a search chooses from at most (our choice)."""
MOST_WAYS = 4_096
"""Ways to share series among rolls that are weighed by area at most (our choice)."""
WAYS_TRIED = 12
"""Of these, how many are laid out, the shortest by area first (our choice)."""
QUICK = 60
"""Steps of the search by which they are compared (our choice)."""


def strip_request(pieces: Sequence[CutPiece], width_dmm: int, gap_dmm: int) -> Request:
    """Return the question how pieces lie on a strip, as bands across it that are cut apart first.

    Parameters
    ----------
    pieces : sequence of CutPiece
        Each goes on the strip, upright or turned.
    width_dmm : int
        The strip's usable width.
    gap_dmm : int
        Between pieces, and between bands.

    Notes
    -----
    A band is a blank that costs its height and the gap after it. Its heights to choose from are
    those of pieces, of two pieces one above the other, and some near the whole by area.
    """
    sides = set()
    for piece in pieces:
        if piece.width_dmm <= width_dmm:
            sides.add(piece.height_dmm)
        if piece.turn and piece.height_dmm <= width_dmm:
            sides.add(piece.width_dmm)
    two = sorted({a + gap_dmm + b for a in sides for b in sides} - sides)
    area = sum((p.width_dmm + gap_dmm) * (p.height_dmm + gap_dmm) * p.count for p in pieces)
    least = -(-area // (width_dmm + gap_dmm)) - gap_dmm
    whole = {max(1, least * per_cent // 100) for per_cent in (100, 101, 102, 104, 106, 110)}
    step = max(1, -(-len(two) // MOST_HEIGHTS))
    heights = sorted(sides | set(two[::step]) | whole)
    bands = tuple(
        Blank(f"band {height}", width_dmm, height, None, height + gap_dmm, trimmed=False)
        for height in heights
    )
    return Request(tuple(pieces), bands, Saw(gap_dmm))


def strip_plan(
    pieces: Sequence[CutPiece],
    width_dmm: int,
    gap_dmm: int,
    *,
    effort: int,
    seed: int = 0,
    spent: Callable[[], float] | None = None,
) -> CutPlan:
    """Return a plan that takes all pieces in a short length; `length_of` tells it.

    Parameters are as for `strip_request`, and for `plan.plans`. A quarter of the effort goes to
    bands; they stay where laying the strip as a whole finds nothing shorter.
    """
    request = strip_request(pieces, width_dmm, gap_dmm)
    quarter = None if spent is None else lambda: spent() * BANDS_PART
    bands = best_plan(
        request,
        rule=NOTHING_KEPT,
        effort=-(-effort // BANDS_PART),
        seed=seed,
        spent=quarter,
        rules=BAND_RULES,
    )
    if not bands.complete:
        return bands
    sizes = [
        (p.width_dmm + gap_dmm, p.height_dmm + gap_dmm, p.turn and p.width_dmm != p.height_dmm)
        for p in pieces
    ]
    laying = Laying(sizes, [piece.count for piece in pieces], width_dmm + gap_dmm, seed)
    tries = effort // BANDS_PART * (BANDS_PART - 1) * LAYS_PER_STEP
    found = list(laying.strips(bands.cost, tries, spent))
    return plan_of_laid(found[-1], pieces, width_dmm, gap_dmm, seed) if found else bands


def plan_of_laid(
    laid: Laid, pieces: Sequence[CutPiece], width_dmm: int, gap_dmm: int, seed: int
) -> CutPlan:
    """Return the checked plan of a strip laid as a whole: one band that holds everything.

    Parameters
    ----------
    pieces, width_dmm, gap_dmm, seed
        As for `strip_plan`.
    """
    height = laid.length - gap_dmm
    band = Blank(f"band {height}", width_dmm, height, 1, laid.length, trimmed=False)
    request = Request(tuple(pieces), (band,), Saw(gap_dmm))
    kinds = {kind: piece.count for kind, piece in enumerate(pieces)}
    area = sum((p.width_dmm + gap_dmm) * (p.height_dmm + gap_dmm) * p.count for p in pieces)
    used = Used(0, laid.filled, kinds, area, laid.length)
    found = Found((used,), (0,) * len(pieces), laid.length, laid.tries)
    return plan_as_found(request, found, rule=NOTHING_KEPT, seed=seed)


def length_of(plan: CutPlan) -> int:
    """Return the length of a strip to the end of its last piece, dmm."""
    kerf = plan.request.saw.kerf_dmm
    begin, end = 0, 0
    for one in plan.blanks:
        for lain in one.parts(kerf):
            if lain.part.what == "piece":
                end = max(end, begin + lain.y_dmm + lain.part.height_dmm)
        begin += one.blank.height_dmm + kerf
    return end


@dataclass(frozen=True, slots=True)
class Roll:
    """A roll to lay pieces on: its code, and the length that may be used, dmm."""

    code: str
    length_dmm: int


@dataclass(frozen=True, slots=True)
class RollPlan:
    """What lies on one roll: which series, by their place in the question, and how."""

    roll: Roll
    series: tuple[int, ...]
    plan: CutPlan


def roll_plans(
    series: Sequence[Sequence[CutPiece]],
    rolls: Sequence[Roll],
    width_dmm: int,
    gap_dmm: int,
    *,
    effort: int,
    seed: int = 0,
) -> list[RollPlan] | None:
    """Return which series goes on which roll, so that together they take a short length.

    All pieces of a series come from one roll, so from one emulsion. Of ways that take the same
    length the one that leaves less on the shortest rolls is taken, so that short rolls are
    finished.

    Parameters
    ----------
    series : sequence of sequences of CutPiece
        Codes are different in all of them.
    rolls : sequence of Roll

    Returns
    -------
    list of RollPlan or None
        Rolls with something on them; None where no way was found that fits.
    """

    @cache
    def laid(members: tuple[int, ...], steps: int) -> CutPlan:
        pieces = [piece for member in members for piece in series[member]]
        return strip_plan(pieces, width_dmm, gap_dmm, effort=steps, seed=seed)

    best: tuple[tuple[int, int], tuple[tuple[int, ...], ...]] | None = None
    first = _first_fit(series, rolls, lambda members: laid(members, QUICK))
    ways = islice(_ways(series, rolls, width_dmm, gap_dmm), WAYS_TRIED)
    for way in chain([] if first is None else [first], ways):
        plans = [laid(members, QUICK) if members else None for members in way]
        rank = _rank(plans, rolls)
        if rank is not None and (best is None or rank < best[0]):
            best = (rank, way)
    if best is None:
        return None
    found = []
    for members, roll in zip(best[1], rolls, strict=True):
        if members:
            plan = min((laid(members, QUICK), laid(members, effort)), key=length_of)
            found.append(RollPlan(roll, members, plan))
    return found


def _first_fit(
    series: Sequence[Sequence[CutPiece]],
    rolls: Sequence[Roll],
    laid: Callable[[tuple[int, ...]], CutPlan],
) -> tuple[tuple[int, ...], ...] | None:
    """Each series, the largest first, on the shortest roll that has room for it once laid out."""
    areas = [sum(p.width_dmm * p.height_dmm * p.count for p in members) for members in series]
    way: list[tuple[int, ...]] = [() for _ in rolls]
    shortest = sorted(range(len(rolls)), key=lambda roll: rolls[roll].length_dmm)
    for at in sorted(range(len(series)), key=lambda one: -areas[one]):
        for roll in shortest:
            members = tuple(sorted((*way[roll], at)))
            plan = laid(members)
            if plan.complete and length_of(plan) <= rolls[roll].length_dmm:
                way[roll] = members
                break
        else:
            return None
    return tuple(way)


def _ways(
    series: Sequence[Sequence[CutPiece]], rolls: Sequence[Roll], width_dmm: int, gap_dmm: int
) -> Iterator[tuple[tuple[int, ...], ...]]:
    """Ways to share series among rolls that fit by area, those that use least first."""
    areas = [
        sum((p.width_dmm + gap_dmm) * (p.height_dmm + gap_dmm) * p.count for p in members)
        for members in series
    ]
    fitting = []
    for choice in islice(product(range(len(rolls)), repeat=len(series)), MOST_WAYS):
        way = tuple(
            tuple(at for at, chosen in enumerate(choice) if chosen == roll)
            for roll in range(len(rolls))
        )
        lengths = [
            -(-sum(areas[at] for at in members) // (width_dmm + gap_dmm)) - gap_dmm * bool(members)
            for members in way
        ]
        if all(need <= roll.length_dmm for need, roll in zip(lengths, rolls, strict=True)):
            used = sum(bool(members) for members in way)
            left = [roll.length_dmm - need for need, roll in zip(lengths, rolls, strict=True)]
            fitting.append((used, sum(need * need for need in left), way))
    for _, _, way in sorted(fitting):
        yield way


def _rank(plans: Sequence[CutPlan | None], rolls: Sequence[Roll]) -> tuple[int, int] | None:
    """Length used, gaps after each roll's last with it, then how evenly what is left is spread.

    None where something does not fit.
    """
    used, even = 0, 0
    for plan, roll in zip(plans, rolls, strict=True):
        length = 0 if plan is None else length_of(plan)
        if plan is not None and (not plan.complete or length > roll.length_dmm):
            return None
        used += 0 if plan is None else plan.cost
        even -= (roll.length_dmm - length) ** 2
    return used, even
