"""Rolls: which prints fit, how much length they take, length and diameter."""

import math
from dataclasses import dataclass
from typing import Literal

from stockroom.core.constants import PRINT_GAP, PRINT_MARGIN, ROLL_LEADER, ROLL_TAIL
from stockroom.errors import BadValueError
from stockroom.units import DMM_PER_M, DMM_PER_MM, checked_length


@dataclass(frozen=True, slots=True)
class RollRules:
    """What a roll loses beside the prints themselves, all in dmm.

    Attributes
    ----------
    leader_dmm : int
        Thrown away at each loading.
    tail_dmm : int
        Left on the core, never printed.
    gap_dmm : int
        After each row of prints, and between prints side by side.
    margin_dmm : int
        Each edge of the roll that cannot be printed.
    longest_print_dmm : int or None
        The longest print the printer makes; None for no limit.

    Raises
    ------
    BadValueError
        Where one is below zero, or the longest print is not above it.
    """

    leader_dmm: int = round(ROLL_LEADER.value * DMM_PER_M)
    tail_dmm: int = round(ROLL_TAIL.value * DMM_PER_M)
    gap_dmm: int = round(PRINT_GAP.value * DMM_PER_M)
    margin_dmm: int = round(PRINT_MARGIN.value * DMM_PER_MM)
    longest_print_dmm: int | None = None

    def __post_init__(self) -> None:
        for name in ("leader_dmm", "tail_dmm", "gap_dmm", "margin_dmm"):
            not_negative(getattr(self, name), name.removesuffix("_dmm"))
        if self.longest_print_dmm is not None:
            checked_length(self.longest_print_dmm)


@dataclass(frozen=True, slots=True)
class PrintOnRoll:
    """How a print lies on a roll: across it, along it, and how many side by side."""

    across_dmm: int
    along_dmm: int
    turned: bool
    side_by_side: int
    row_dmm: int
    """Length that one row of prints takes with the gap after it."""

    def rows(self, prints: int) -> int:
        """Return how many rows so many prints make."""
        return -(-prints // self.side_by_side)


@dataclass(frozen=True, slots=True)
class DoesNotFit:
    """Why a print does not go on a roll.

    Attributes
    ----------
    kind : str
        ``too wide`` for the roll, ``too long`` for the printer, or it fits ``only when turned``.
    over_dmm : int
        By how much, the way that comes nearest; 0 where turning would do.
    printable_dmm : int
        Width of the roll between its margins.
    longest_print_dmm : int or None
        The printer's longest print.
    """

    kind: Literal["too wide", "too long", "only when turned"]
    over_dmm: int
    printable_dmm: int
    longest_print_dmm: int | None = None


def print_layout(
    width_dmm: int,
    height_dmm: int,
    roll_width_dmm: int,
    rules: RollRules | None = None,
    may_turn: bool = True,
    count: int = 1,
) -> PrintOnRoll | DoesNotFit:
    """Return how a print lies on a roll, the way that takes the least length for `count` prints.

    Parameters
    ----------
    width_dmm, height_dmm : int
        The print; unturned, its width lies across the roll.
    roll_width_dmm : int
        The roll from edge to edge.
    rules : RollRules, optional
        Margins, gap and longest print.
    may_turn : bool
        Whether the print may lie turned by a quarter.
    count : int
        How many prints the length is weighed for; one print lies its short way along where it
        can, many lie so that they share rows.

    Raises
    ------
    BadValueError
        Where a size is no length that can be, or the count is below one.

    >>> print_layout(25_000, 12_500, 12_700).along_dmm
    25000
    >>> print_layout(5_000, 7_000, 12_700, count=8).side_by_side
    2
    """
    rules = rules or RollRules()
    for length_dmm in (width_dmm, height_dmm, roll_width_dmm):
        checked_length(length_dmm)
    _at_least_one(count, "prints")
    ways = [
        (width_dmm, height_dmm, False),
        (height_dmm, width_dmm, True),
    ]
    fitting = [
        layout
        for across_dmm, along_dmm, turned in ways
        if (layout := _lay(across_dmm, along_dmm, turned, roll_width_dmm, rules)) is not None
    ]
    allowed = [layout for layout in fitting if may_turn or not layout.turned]
    if allowed:
        return min(
            allowed,
            key=lambda layout: (layout.rows(count) * layout.row_dmm, layout.turned),
        )
    printable_dmm = max(0, roll_width_dmm - 2 * rules.margin_dmm)
    longest_dmm = rules.longest_print_dmm
    if fitting:
        return DoesNotFit("only when turned", 0, printable_dmm, longest_dmm)
    tried = ways if may_turn else ways[:1]
    too_long = [along - (longest_dmm or 0) for across, along, _ in tried if across <= printable_dmm]
    if too_long:
        return DoesNotFit("too long", min(too_long), printable_dmm, longest_dmm)
    narrowest_dmm = min(across for across, _, _ in tried)
    return DoesNotFit("too wide", narrowest_dmm - printable_dmm, printable_dmm, longest_dmm)


def _lay(
    across_dmm: int, along_dmm: int, turned: bool, roll_width_dmm: int, rules: RollRules
) -> PrintOnRoll | None:
    printable_dmm = roll_width_dmm - 2 * rules.margin_dmm
    if across_dmm > printable_dmm:
        return None
    if rules.longest_print_dmm is not None and along_dmm > rules.longest_print_dmm:
        return None
    side_by_side = (printable_dmm + rules.gap_dmm) // (across_dmm + rules.gap_dmm)
    return PrintOnRoll(across_dmm, along_dmm, turned, side_by_side, along_dmm + rules.gap_dmm)


def length_for(prints: int, layout: PrintOnRoll, rules: RollRules, loadings: int = 1) -> int:
    """Return the roll length (dmm) that prints take: a leader per loading and their rows.

    The tail is not in it: it stays on the core (`prints_that_fit` keeps it back).

    >>> length_for(2, print_layout(25_000, 12_500, 12_700), RollRules())
    54000
    """
    not_negative(prints, "number of prints")
    not_negative(loadings, "number of loadings")
    return loadings * rules.leader_dmm + layout.rows(prints) * layout.row_dmm


def prints_that_fit(remaining_dmm: int, layout: PrintOnRoll, rules: RollRules, loaded: bool) -> int:
    """Return how many prints the rest of a roll holds, the tail kept.

    Parameters
    ----------
    remaining_dmm : int
        What is left on the roll, tail and all.
    layout : PrintOnRoll
        How the prints lie.
    rules : RollRules
        The leader and the tail.
    loaded : bool
        Whether the roll is in the printer, its leader already paid.

    >>> prints_that_fit(94_000, print_layout(25_000, 12_500, 12_700), RollRules(), loaded=False)
    3
    """
    free_dmm = remaining_dmm - rules.tail_dmm - (0 if loaded else rules.leader_dmm)
    return max(0, free_dmm // layout.row_dmm) * layout.side_by_side


def roll_length_mm(outer_mm: float, core_mm: float, caliper_mm: float) -> float:
    """Return the length wound on a roll, mm.

    Formula: L = pi (D² - d²) / (4 t), the side area of the winding over its caliper; outer and
    core diameter and caliper in mm (any one unit of length will do for all).

    >>> round(roll_length_mm(12, 3, 0.004), 2)
    26507.19
    """
    _winding(core_mm, caliper_mm)
    if not core_mm <= outer_mm < math.inf:
        raise BadValueError(
            f"A roll of {outer_mm:g} mm across cannot be wound on a core of {core_mm:g} mm.",
            "The outer diameter must be at least the core's.",
        )
    return math.pi * (outer_mm**2 - core_mm**2) / (4 * caliper_mm)


def roll_outer_mm(length_mm: float, core_mm: float, caliper_mm: float) -> float:
    """Return the outer diameter (mm) of a roll with so much wound on it.

    Formula: D = sqrt(d² + 4 t L / pi), `roll_length_mm` turned round.

    >>> round(roll_outer_mm(30_000, 89, 0.24), 1)
    130.7
    """
    _winding(core_mm, caliper_mm)
    if not 0 <= length_mm < math.inf:
        raise BadValueError(f"{length_mm:g} mm is not a length on a roll.", "It is below zero.")
    return math.sqrt(core_mm**2 + 4 * caliper_mm * length_mm / math.pi)


def _winding(core_mm: float, caliper_mm: float) -> None:
    if not (0 <= core_mm < math.inf and 0 < caliper_mm < math.inf):
        raise BadValueError(
            "That is no roll.", "A core of zero or more and a caliper above zero are wanted."
        )


def not_negative(value: int, what: str) -> None:
    if value < 0:
        raise BadValueError(f"The {what} cannot be {value}.", "It must be zero or more.")


def _at_least_one(value: int, what: str) -> None:
    if value < 1:
        raise BadValueError(f"{value} {what} cannot be laid out.", "At least one is wanted.")
