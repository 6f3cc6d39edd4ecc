"""The edges of a blank: trimmed where a piece or an offcut would lie on them, and nowhere else."""

from dataclasses import dataclass, replace

from stockroom.core.cutting.request import Blank, Saw
from stockroom.core.cutting.tree import Node, Part


@dataclass(frozen=True, slots=True)
class Trims:
    """What is taken off each edge of a blank, dmm, the width of the cut included."""

    left_dmm: int = 0
    bottom_dmm: int = 0
    right_dmm: int = 0
    top_dmm: int = 0


def trimmed_where_needed(tree: Node, blank: Blank, saw: Saw) -> tuple[Trims, Node]:
    """Return the trims a blank needs, and its tree, wider where an edge only has waste on it.

    Parameters
    ----------
    tree : Cut or Part
        What lies inside all four trims.
    """
    trim = saw.trim_dmm if blank.trimmed else 0
    if not trim:
        return Trims(), tree
    right = top = trim
    if not _on_far_edge(tree, "x"):
        tree, right = _grown(tree, "x", trim, saw.kerf_dmm), 0
    if not _on_far_edge(tree, "y"):
        tree, top = _grown(tree, "y", trim, saw.kerf_dmm), 0
    return Trims(trim, trim, right, top), tree


def _on_far_edge(node: Node, axis: str) -> bool:
    """Whether anything of use lies on the right (x) or upper (y) edge."""
    if isinstance(node, Part):
        return node.what != "waste"
    if node.axis == axis:
        return node.high is not None and _on_far_edge(node.high, axis)
    return _on_far_edge(node.low, axis) or (node.high is not None and _on_far_edge(node.high, axis))


def _grown(node: Node, axis: str, by_dmm: int, kerf_dmm: int) -> Node:
    """Return the node with its waste along the far edge grown."""
    width = node.width_dmm + (by_dmm if axis == "x" else 0)
    height = node.height_dmm + (by_dmm if axis == "y" else 0)
    if isinstance(node, Part):
        return replace(node, width_dmm=width, height_dmm=height)
    low, high = node.low, node.high
    if node.axis != axis:
        low = _grown(low, axis, by_dmm, kerf_dmm)
    if high is not None:
        high = _grown(high, axis, by_dmm, kerf_dmm)
    elif node.axis == axis:
        rest = (width if axis == "x" else height) - node.at_dmm - kerf_dmm
        size = (rest, height) if axis == "x" else (width, rest)
        high = Part("waste", "", *size) if rest > 0 else None
    return replace(node, width_dmm=width, height_dmm=height, low=low, high=high)
