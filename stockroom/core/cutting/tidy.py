"""Leftovers that lie beside each other are taken off as one: fewer cuts, larger offcuts."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from stockroom.core.cutting.tree import Cut, Node, Part

Axis = Literal["x", "y"]
_ACROSS: dict[Axis, Axis] = {"x": "y", "y": "x"}


def tidied(
    tree: Node, kerf_dmm: int, keep: Callable[[int, int], bool], longest_dmm: int | None = None
) -> Node:
    """Return a tree of the same pieces whose neighbouring leftovers are one where they can be.

    Parameters
    ----------
    tree : Cut or Part
    keep : callable
        Tells which leftovers (dmm) are offcuts; the rest is waste.
    longest_dmm : int, optional
        Longest cut of the saw.

    Notes
    -----
    Slices of one rectangle that lie side by side and all end in a leftover of one depth are cut
    from it together first: one longer cut in place of two, and one offcut that holds all that both
    held and the kerf between them. What leftovers are worth never falls by it (`worth.Worth`).

    >>> bar = Part("piece", "a", 3_000, 1_000)
    >>> end = Part("waste", "", 960, 1_000)
    >>> row = Cut("x", 3_000, 4_000, 1_000, bar, end)
    >>> two = Cut("y", 1_000, 4_000, 2_040, row, row)
    >>> one = tidied(two, 40, lambda w, h: False)
    >>> one.axis, one.at_dmm, one.high
    ('x', 3000, Part(what='waste', code='', width_dmm=960, height_dmm=2040, turned=False))
    """
    return _Tidy(kerf_dmm, keep, longest_dmm).node(tree)


@dataclass(frozen=True, slots=True)
class _Slices:
    """What a rectangle is cut into along one axis, and how far the last blade ran off its edge."""

    sizes: tuple[int, ...]
    nodes: tuple[Node, ...]
    gap: int


@dataclass(frozen=True, slots=True)
class _Tidy:
    kerf: int
    keep: Callable[[int, int], bool]
    longest: int | None

    def node(self, node: Node) -> Node:
        if isinstance(node, Part):
            return node
        axis, across = node.axis, _size(node, _ACROSS[node.axis])
        slices = self._slices(node, axis)
        sizes, nodes = list(slices.sizes), [self.node(item) for item in slices.nodes]
        at = 0
        while at + 1 < len(nodes):
            joined = self._joined(axis, across, sizes[at : at + 2], nodes[at : at + 2])
            if joined is None:
                at += 1
                continue
            nodes[at : at + 2] = [joined]
            sizes[at : at + 2] = [sizes[at] + self.kerf + sizes[at + 1]]
            at = max(0, at - 1)
        return self._cut(axis, across, sizes, nodes, slices.gap)

    def _slices(self, node: Node, axis: Axis) -> _Slices:
        """The slices along an axis, those of slices that are cut along it again among them."""
        sizes: list[int] = []
        nodes: list[Node] = []
        here: Node | None = node
        gap = 0
        while isinstance(here, Cut) and here.axis == axis:
            inner = self._slices(here.low, axis)
            flat = not inner.gap
            sizes += inner.sizes if flat else (here.at_dmm,)
            nodes += inner.nodes if flat else (here.low,)
            gap = _size(here, axis) - here.at_dmm if here.high is None else 0
            here = here.high
        if here is not None:
            sizes.append(_size(here, axis))
            nodes.append(here)
        return _Slices(tuple(sizes), tuple(nodes), gap)

    def _joined(
        self, axis: Axis, across: int, sizes: Sequence[int], nodes: Sequence[Node]
    ) -> Node | None:
        """Two neighbouring slices as one, where both end in leftovers of one depth."""
        whole = sizes[0] + self.kerf + sizes[1]
        if all(isinstance(item, Part) and item.what != "piece" for item in nodes):
            return self._left(axis, whole, across)
        if self.longest is not None and whole > self.longest:
            return None
        other = _ACROSS[axis]
        rows = [self._slices(item, other) for item in nodes]
        if any(row.gap or len(row.nodes) < 2 or not _is_left(row.nodes[-1]) for row in rows):
            return None
        depth = rows[0].sizes[-1]
        if rows[1].sizes[-1] != depth:
            return None
        used = across - self.kerf - depth
        kept = [
            self._cut(other, size, row.sizes[:-1], row.nodes[:-1], 0)
            for size, row in zip(sizes, rows, strict=True)
        ]
        low = self.node(self._cut(axis, used, sizes, kept, 0))
        return self._cut(other, whole, (used, depth), (low, self._left(axis, whole, depth)), 0)

    def _left(self, axis: Axis, along: int, across: int) -> Part:
        size = (along, across) if axis == "x" else (across, along)
        return Part("offcut" if self.keep(*size) else "waste", "", *size)

    def _cut(
        self, axis: Axis, across: int, sizes: Sequence[int], nodes: Sequence[Node], gap: int
    ) -> Node:
        """A rectangle cut into slices, the first first."""
        *before, last = zip(sizes, nodes, strict=True)
        length, made = last
        if gap:
            made = self._once(axis, across, length + gap, length, made, None)
            length += gap
        for size, low in reversed(before):
            length += size + self.kerf
            made = self._once(axis, across, length, size, low, made)
        return made

    def _once(
        self, axis: Axis, across: int, length: int, at: int, low: Node, high: Node | None
    ) -> Cut:
        wide, tall = (length, across) if axis == "x" else (across, length)
        return Cut(axis, at, wide, tall, low, high)


def _size(node: Node, axis: Axis) -> int:
    return node.width_dmm if axis == "x" else node.height_dmm


def _is_left(node: Node) -> bool:
    return isinstance(node, Part) and node.what != "piece"
