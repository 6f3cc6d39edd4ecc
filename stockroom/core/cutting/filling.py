"""Filling one blank by through cuts: the fast inner step, in sizes enlarged by one kerf.

A piece of w x h counts as (w + k) x (h + k) and a blank as (W + k) x (H + k), so that sums are
plain: n pieces and n - 1 cuts fit in a line where the sum of their enlarged sizes fits.
"""

from collections.abc import Callable, MutableSequence, Sequence
from typing import NamedTuple, TypeVar

SHORT_SIDE, AREA, LONG_SIDE = range(3)
"""Which free rectangle a piece goes into: the one with the least room left beside it on its
shorter side, of the least area, or with the least room on the longer side."""
LARGEST, SHORTER, EITHER = range(3)
"""How the rest is split: keep the largest rectangle, cut along the shorter rest, or by chance."""

Size = tuple[int, int]
Rectangle = TypeVar("Rectangle")


class Move(NamedTuple):
    """One piece put into a free rectangle; enough to build the cuts again."""

    kind: int
    turned: bool
    at: int
    upright: bool
    """Whether the cut beside the piece runs the whole height; else the one above is whole."""


class Filled(NamedTuple):
    """How a blank was filled: the moves in order, and the rectangles left, enlarged."""

    moves: list[Move]
    left_over: list[Size]


class Fitter(NamedTuple):
    """What stays the same from fill to fill.

    Attributes
    ----------
    sizes : sequence of (int, int, bool)
        Of each kind of piece: enlarged width and height, and whether it may turn.
    least : int
        The shortest side of any kind, enlarged: a thinner rest holds no piece.
    longest : int or None
        The longest cut, enlarged.
    """

    sizes: Sequence[tuple[int, int, bool]]
    least: int
    longest: int | None


def fill(
    width: int,
    height: int,
    order: Sequence[int],
    left: MutableSequence[int],
    fitter: Fitter,
    rule: int,
    split: int,
    random: Callable[[], float],
) -> Filled:
    """Put pieces into a blank, kind by kind, each where it fits best.

    Parameters
    ----------
    width, height : int
        The blank inside its trims, enlarged by one kerf.
    order : sequence of int
        Kinds in the order in which they are tried.
    left : sequence of int
        How many of each kind are wanted; not changed.
    rule : int
        `SHORT_SIDE`, `AREA` or `LONG_SIDE`.
    split : int
        `LARGEST`, `SHORTER` or `EITHER`.
    random : callable
        Numbers from 0 to 1, for `EITHER`.
    """
    sizes, least, longest = fitter
    free: list[Size] = [(width, height)]
    thin: list[Size] = []
    moves: list[Move] = []
    for kind in order:
        wanted = left[kind]
        w, h, turn = sizes[kind]
        while wanted:
            best, best_score, best_turned = -1, 1 << 62, False
            for at, (a, b) in enumerate(free):
                if w <= a and h <= b:
                    dx, dy = a - w, b - h
                    if rule == SHORT_SIDE:
                        score = dx if dx < dy else dy
                    elif rule == AREA:
                        score = a * b
                    else:
                        score = dx if dx > dy else dy
                    if score < best_score and (
                        longest is None or first_cut(a, b, w, h, longest) is not None
                    ):
                        best, best_score, best_turned = at, score, False
                if turn and h <= a and w <= b:
                    dx, dy = a - h, b - w
                    if rule == SHORT_SIDE:
                        score = dx if dx < dy else dy
                    elif rule == AREA:
                        score = a * b
                    else:
                        score = dx if dx > dy else dy
                    if score < best_score and (
                        longest is None or first_cut(a, b, h, w, longest) is not None
                    ):
                        best, best_score, best_turned = at, score, True
            if best < 0:
                break
            a, b = free[best]
            pw, ph = (h, w) if best_turned else (w, h)
            dx, dy = a - pw, b - ph
            if split == LARGEST:
                upright = dx * b >= dy * a
            elif split == SHORTER:
                upright = dx < dy
            else:
                upright = random() < 0.5
            if longest is not None:
                forced = first_cut(a, b, pw, ph, longest)
                if forced != BOTH:
                    upright = forced == UPRIGHT
            moves.append(Move(kind, best_turned, best, upright))
            take(free, best)
            for rest in rests(a, b, pw, ph, upright):
                (free if rest[0] >= least and rest[1] >= least else thin).append(rest)
            wanted -= 1
    return Filled(moves, free + thin)


def take(free: list[Rectangle], at: int) -> None:
    """Take a rectangle out of the free ones; the last takes its place."""
    last = free.pop()
    if at < len(free):
        free[at] = last


def rests(a: int, b: int, w: int, h: int, upright: bool) -> list[Size]:
    """Return what is left of a x b once w x h is cut from its corner, beside it first.

    >>> rests(10, 8, 4, 3, True), rests(10, 8, 4, 3, False)
    ([(6, 8), (4, 5)], [(6, 3), (10, 5)])
    """
    beside = (a - w, b) if upright else (a - w, h)
    above = (w, b - h) if upright else (a, b - h)
    return [rest for rest in (beside, above) if rest[0] and rest[1]]


UPRIGHT, FLAT, BOTH = range(3)


def first_cut(a: int, b: int, w: int, h: int, longest: int) -> int | None:
    """Return which first cut of a x b for w x h the saw can make; None for neither.

    >>> first_cut(30, 10, 20, 5, 25) == UPRIGHT, first_cut(30, 30, 20, 5, 25)
    (True, None)
    """
    dx, dy = a - w, b - h
    upright = (not dx or b <= longest) and (not dy or w <= longest)
    flat = (not dy or a <= longest) and (not dx or h <= longest)
    if upright:
        return BOTH if flat else UPRIGHT
    return FLAT if flat else None
