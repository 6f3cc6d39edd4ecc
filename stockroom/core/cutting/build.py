"""From the moves of a fill, or from joined blocks, to the tree of cuts, in real sizes."""

from collections.abc import Callable, Sequence
from typing import Literal

from stockroom.core.cutting.filling import UPRIGHT, Fitter, Move, first_cut
from stockroom.core.cutting.most import Block
from stockroom.core.cutting.tree import Cut, Node, Part

Keep = Callable[[int, int], bool]
"""Whether a leftover of a width and height, dmm, is kept as an offcut."""


class _Region:
    """A rectangle of the blank, enlarged: whole, a piece, or cut."""

    __slots__ = ("first", "h", "move", "second", "w")

    def __init__(self, w: int, h: int) -> None:
        self.w = w
        self.h = h
        self.move: tuple[Move, int, int] | None = None
        self.first: _Region | None = None
        self.second: _Region | None = None


def tree_of(
    width: int,
    height: int,
    moves: Sequence[Move],
    fitter: Fitter,
    codes: Sequence[str],
    kerf_dmm: int,
    keep: Keep,
) -> Node:
    """Return the tree of cuts that some moves make of a blank.

    Parameters
    ----------
    width, height : int
        The blank inside its trims, enlarged by one kerf.
    moves : sequence of Move
        As `filling.fill` returned them.
    fitter : Fitter
        As it was given to the fill.
    codes : sequence of str
        Of each kind of piece.
    keep : callable
        Tells which leftovers are offcuts; the rest is waste.
    """
    root = _Region(width, height)
    free, least = [root], fitter.least
    for move in moves:
        w, h, _ = fitter.sizes[move.kind]
        if move.turned:
            w, h = h, w
        region = free[move.at]
        region.move = (move, w, h)
        last = free.pop()
        if move.at < len(free):
            free[move.at] = last
        region.first, region.second = _children(region, w, h, move.upright)
        for rest in (region.first, region.second):
            if rest is not None and rest.w >= least and rest.h >= least:
                free.append(rest)
    return _node(root, codes, kerf_dmm, keep)


def _children(region: _Region, w: int, h: int, upright: bool) -> tuple["_Region | None", ...]:
    beside = (region.w - w, region.h) if upright else (region.w - w, h)
    above = (w, region.h - h) if upright else (region.w, region.h - h)
    return tuple(_Region(*rest) if rest[0] and rest[1] else None for rest in (beside, above))


def _node(region: _Region, codes: Sequence[str], kerf: int, keep: Keep) -> Node:
    width, height = region.w - kerf, region.h - kerf
    if region.move is None:
        return Part("offcut" if keep(width, height) else "waste", "", width, height)
    move, w, h = region.move
    piece: Node = Part("piece", codes[move.kind], w - kerf, h - kerf, move.turned)
    beside, above = region.first, region.second

    def child(rest: "_Region | None") -> Node | None:
        if rest is None or rest.w <= kerf or rest.h <= kerf:
            return None
        return _node(rest, codes, kerf, keep)

    inner: Node = piece
    if move.upright:
        if above is not None:
            inner = Cut("y", h - kerf, w - kerf, height, piece, child(above))
        return inner if beside is None else Cut("x", w - kerf, width, height, inner, child(beside))
    if beside is not None:
        inner = Cut("x", w - kerf, width, h - kerf, piece, child(beside))
    return inner if above is None else Cut("y", h - kerf, width, height, inner, child(above))


def tree_of_block(
    width: int,
    height: int,
    block: Block,
    codes: Sequence[str],
    kerf_dmm: int,
    keep: Keep,
    longest: int | None,
) -> Node:
    """Return the tree of cuts that a block makes of a blank.

    Parameters are as for `tree_of`; `longest` is the saw's longest cut, enlarged.
    """

    def rest(w: int, h: int) -> Node | None:
        if w <= kerf_dmm or h <= kerf_dmm:
            return None
        w, h = w - kerf_dmm, h - kerf_dmm
        return Part("offcut" if keep(w, h) else "waste", "", w, h)

    def node(w: int, h: int, here: Block) -> Node:
        upright = longest is not None and (
            first_cut(w, h, here.width, here.height, longest) == UPRIGHT
        )
        if h > here.height and not (upright and w > here.width):
            return _cut("y", here.height, w, h, kerf_dmm, node, rest, here)
        if w > here.width:
            return _cut("x", here.width, w, h, kerf_dmm, node, rest, here)
        if here.low is None or here.high is None:
            return Part("piece", codes[here.kind], w - kerf_dmm, h - kerf_dmm, here.turned)
        low, high, real = here.low, here.high, (w - kerf_dmm, h - kerf_dmm)
        if here.axis == "x":
            both = node(low.width, h, low), node(w - low.width, h, high)
            return Cut("x", low.width - kerf_dmm, *real, *both)
        both = node(w, low.height, low), node(w, h - low.height, high)
        return Cut("y", low.height - kerf_dmm, *real, *both)

    return node(width, height, block)


def _cut(
    axis: Literal["x", "y"],
    at: int,
    w: int,
    h: int,
    kerf: int,
    node: Callable[[int, int, Block], Node],
    rest: Callable[[int, int], Node | None],
    block: Block,
) -> Cut:
    """Cut a block out of a rectangle that is longer along the axis."""
    if axis == "x":
        return Cut("x", at - kerf, w - kerf, h - kerf, node(at, h, block), rest(w - at, h))
    return Cut("y", at - kerf, w - kerf, h - kerf, node(w, at, block), rest(w, h - at))
