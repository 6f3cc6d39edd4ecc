"""What one layer of a piece takes of its material: a length of a roll, a part of a sheet, bars."""

from dataclasses import dataclass
from typing import Literal

from stockroom.core.geometry import DoesNotFit, PrintOnRoll, RollRules, print_layout
from stockroom.core.records import Layer, Material
from stockroom.units import m_text, mm_text, size_text

KERF_DMM = 40
"""Width of a saw cut in sheet, dmm (4 mm, common practice for a panel saw)."""
TRIM_DMM = 100
"""Trimmed off a factory edge of a full sheet, dmm (10 mm, common practice)."""
Measure = Literal["length", "sheets", "pieces"]


@dataclass(frozen=True, slots=True)
class Takes:
    """What one draw of a layer takes.

    Attributes
    ----------
    measure : str
        Told in a length (dmm), in thousandths of full sheets, or in pieces of goods.
    amount : int
        How much each draw takes, in that measure.
    leader_dmm : int
        What a loading takes on top; 0 where nothing is loaded.
    whole : int
        What one full roll, bar or sheet holds of it, in that measure; 0 where it is not known.
    """

    measure: Measure
    amount: int
    leader_dmm: int = 0
    whole: int = 0


@dataclass(frozen=True, slots=True)
class TooLarge:
    """A layer does not lie on its material: by how much, and the largest that would.

    Attributes
    ----------
    why : str
        What does not fit, as a sentence.
    try_ : str
        What to do.
    """

    why: str
    try_: str


def layer_size(layer: Layer | None, width_dmm: int, height_dmm: int) -> tuple[int, int]:
    """Return the size (dmm) of a layer of a piece, its allowance on every edge.

    >>> layer_size(Layer(code="1", build="2", position=1, part="sheet", stage="mount",
    ...                  allowance_dmm=100), 6_200, 4_200)
    (6400, 4400)
    """
    more = 2 * layer.allowance_dmm if layer is not None else 0
    return width_dmm + more, height_dmm + more


def on_roll(
    material: Material, roll_width_dmm: int, width_dmm: int, height_dmm: int, turn: str, count: int
) -> PrintOnRoll | DoesNotFit:
    """Return how a layer lies on a roll, its length along the long or the short edge if it must.

    Parameters
    ----------
    material : Material
        Which tells margins and the longest print of a paper.
    roll_width_dmm, width_dmm, height_dmm : int
        The roll, and the layer with its allowance.
    turn : str
        "any", or which edge of the piece lies along the roll: "long edge", "short edge".
    count : int
        How many; many may lie side by side.
    """
    rules = roll_rules(material)
    if turn == "any":
        return print_layout(width_dmm, height_dmm, roll_width_dmm, rules, count=count)
    long_dmm, short_dmm = max(width_dmm, height_dmm), min(width_dmm, height_dmm)
    across, along = (short_dmm, long_dmm) if turn == "long edge" else (long_dmm, short_dmm)
    return print_layout(across, along, roll_width_dmm, rules, may_turn=False, count=count)


def roll_rules(material: Material) -> RollRules:
    """Return what a roll of a material loses beside what is cut off it.

    Paper where it is not told: the shop's usual. Film is used to its edges, and has a leader and
    a tail only where they are told.
    """
    usual = RollRules() if material.traits.printed_on else RollRules(0, 0, 0, 0)
    return RollRules(
        leader_dmm=usual.leader_dmm if material.leader_dmm is None else material.leader_dmm,
        tail_dmm=usual.tail_dmm if material.tail_dmm is None else material.tail_dmm,
        gap_dmm=usual.gap_dmm,
        margin_dmm=usual.margin_dmm if material.margin_dmm is None else material.margin_dmm,
        longest_print_dmm=material.longest_print_dmm,
    )


def takes(
    material: Material, layer: Layer | None, width_dmm: int, height_dmm: int, count: int = 1
) -> Takes | TooLarge:
    """Return what one draw of a layer takes of its material, by the real sizes of both.

    Of a roll: the length of its row, shared by what lies side by side. Of sheets: as many as a
    full one gives by straight cuts from edge to edge, in thousandths. Of bars: the four sides.

    Parameters
    ----------
    layer : Layer or None
        None for the bare print.
    width_dmm, height_dmm : int
        The piece.
    count : int
        How many pieces are made together.
    """
    wide, high = layer_size(layer, width_dmm, height_dmm)
    turn = layer.turn if layer is not None else "any"
    if material.shape.wound:
        return _of_roll(material, wide, high, turn, count)
    if material.shape.bar:
        return Takes("length", 2 * (wide + high), whole=material.length_dmm or 0)
    if material.shape.counted:
        return Takes("pieces", 1, whole=1)
    return _of_sheet(material, wide, high, turn)


def _of_roll(material: Material, wide: int, high: int, turn: str, count: int) -> Takes | TooLarge:
    roll_width_dmm = material.width_dmm or 0
    if not roll_width_dmm:
        return TooLarge(
            f"{material.name} has no width of its own, so what it takes cannot be told.",
            f"Say it: stockroom material change {material.code} --width ...",
        )
    layout = on_roll(material, roll_width_dmm, wide, high, turn, count)
    if isinstance(layout, DoesNotFit):
        return TooLarge(
            too_large_text(material, layout, wide, high), "Name a wider one, or a smaller piece."
        )
    rules = roll_rules(material)
    shared = min(layout.side_by_side, max(1, count))
    each = -(-layout.row_dmm // shared)
    usable = (material.length_dmm or 0) - rules.leader_dmm - rules.tail_dmm
    return Takes("length", each, rules.leader_dmm, max(0, usable))


def too_large_text(material: Material, layout: DoesNotFit, wide: int, high: int) -> str:
    """Return why a layer does not go on a roll, with the largest that would."""
    size = size_text(wide, high)
    if layout.kind == "too long":
        return (
            f"{size} is {mm_text(layout.over_dmm)} longer than the longest print of "
            f"{material.name}, {m_text(layout.longest_print_dmm or 0)}."
        )
    if layout.kind == "only when turned":
        return f"{size} goes on {material.name} only when turned, and it must not be."
    return (
        f"{size} is {mm_text(layout.over_dmm)} wider than {material.name} can take: its short side "
        f"may be {mm_text(layout.printable_dmm)} at most."
    )


def _of_sheet(material: Material, wide: int, high: int, turn: str) -> Takes | TooLarge:
    full_w, full_l = material.width_dmm or 0, material.length_dmm or 0
    if not (full_w and full_l):
        return Takes("sheets", 1_000, whole=1_000)
    number = pieces_in_sheet(full_w, full_l, wide, high, turn)
    if number == 0:
        return TooLarge(
            f"{size_text(wide, high)} does not lie in a sheet of {material.name}, "
            f"{size_text(full_w, full_l)}.",
            "Name a larger sheet, or a smaller piece.",
        )
    return Takes("sheets", -(-1_000 // number), whole=1_000)


def pieces_in_sheet(full_w: int, full_l: int, wide: int, high: int, turn: str = "any") -> int:
    """Return how many pieces of one size a full sheet gives by rows of straight cuts, all alike.

    Its factory edges are trimmed off first; n pieces side by side need n - 1 saw cuts between
    them. A cleverer cut may give more, never fewer.

    >>> [pieces_in_sheet(20_500, 30_500, 20_300, side) for side in (15_130, 15_131)]
    [2, 1]
    """
    usable_w, usable_l = full_w - 2 * TRIM_DMM, full_l - 2 * TRIM_DMM
    long_side, short_side = max(wide, high), min(wide, high)
    ways = {(wide, high), (high, wide)}
    if turn != "any":
        along = long_side if turn == "long edge" else short_side
        across = short_side if turn == "long edge" else long_side
        ways = {(across, along) if full_l >= full_w else (along, across)}
    return max(
        max(0, usable_w + KERF_DMM)
        // (across + KERF_DMM)
        * (max(0, usable_l + KERF_DMM) // (along + KERF_DMM))
        for across, along in ways
    )
