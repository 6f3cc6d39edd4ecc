"""The cuts of one blank as a tree: each cut runs from edge to edge and leaves two rectangles."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

What = Literal["piece", "offcut", "waste"]


@dataclass(frozen=True, slots=True)
class Part:
    """A rectangle that is not cut further.

    Attributes
    ----------
    what : str
        Piece, offcut or waste.
    code : str
        The piece's code; empty for an offcut or waste.
    width_dmm, height_dmm : int
        As it lies.
    turned : bool
        Whether a piece lies turned by a quarter.
    """

    what: What
    code: str
    width_dmm: int
    height_dmm: int
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut from edge to edge.

    Attributes
    ----------
    axis : str
        Along which the position is measured: "x" for an upright cut, "y" for a level one.
    at_dmm : int
        Size of the first child along the axis; the blade takes the kerf beyond it.
    width_dmm, height_dmm : int
        The rectangle that is cut.
    low : Cut or Part
        From the edge to the position.
    high : Cut, Part or None
        Beyond the kerf; None where the blade ran off the edge.
    """

    axis: Literal["x", "y"]
    at_dmm: int
    width_dmm: int
    height_dmm: int
    low: "Node"
    high: "Node | None"

    @property
    def length_dmm(self) -> int:
        """How long the cut is, dmm."""
        return self.height_dmm if self.axis == "x" else self.width_dmm


Node = Cut | Part


@dataclass(frozen=True, slots=True)
class Lying:
    """A part and where its lower left corner lies on the whole blank, dmm."""

    part: Part
    x_dmm: int
    y_dmm: int


def lying(node: Node | None, kerf_dmm: int, x_dmm: int = 0, y_dmm: int = 0) -> Iterator[Lying]:
    """Yield each part of a tree with its place, in the order in which it comes off."""
    if node is None:
        return
    if isinstance(node, Part):
        yield Lying(node, x_dmm, y_dmm)
        return
    beyond = node.at_dmm + kerf_dmm
    along_x = node.axis == "x"
    yield from lying(node.low, kerf_dmm, x_dmm, y_dmm)
    yield from lying(
        node.high,
        kerf_dmm,
        x_dmm + beyond if along_x else x_dmm,
        y_dmm if along_x else y_dmm + beyond,
    )


def cuts(node: Node | None) -> Iterator[Cut]:
    """Yield the cuts of a tree in the order in which they are made."""
    if isinstance(node, Cut):
        yield node
        yield from cuts(node.low)
        yield from cuts(node.high)


def plain(node: Node) -> list[Any]:
    """Return a tree as lists of words and whole numbers, to be kept as JSON.

    >>> plain(Cut("x", 30, 80, 50, Part("piece", "a", 30, 50), Part("waste", "", 46, 50)))
    ['x', 30, 80, 50, ['piece', 'a', 30, 50, False], ['waste', '', 46, 50, False]]
    """
    if isinstance(node, Part):
        return [node.what, node.code, node.width_dmm, node.height_dmm, node.turned]
    high = None if node.high is None else plain(node.high)
    return [node.axis, node.at_dmm, node.width_dmm, node.height_dmm, plain(node.low), high]


def from_plain(kept: list[Any]) -> Node:
    """Return the tree that `plain` wrote.

    >>> tree = Cut("y", 20, 80, 24, Part("piece", "a", 80, 20), None)
    >>> from_plain(plain(tree)) == tree
    True
    """
    if kept[0] in ("x", "y"):
        axis, at, width, height, low, high = kept
        rest = None if high is None else from_plain(high)
        return Cut(axis, at, width, height, from_plain(low), rest)
    what, code, width, height, turned = kept
    return Part(what, code, width, height, turned)
