"""Rolls, sheets and offcuts: what fits, how much length it takes, what it weighs to lift."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from stockroom.core.facts import (
    ACRYLIC_DENSITY,
    LIFT_LOAD_CONSTANT,
    PRINT_GAP,
    PRINT_MARGIN,
    ROLL_LEADER,
    ROLL_TAIL,
    SHEET_THICKNESS_SLACK,
    Fact,
)
from stockroom.errors import BadValueError
from stockroom.units import DMM_PER_M, DMM_PER_MM, checked_length

COMPOSITE_KG_M2 = {2_000: 2.9, 3_000: 3.8, 4_000: 4.75, 6_000: 6.6}
"""Aluminium composite board, kg/m2 by thickness in µm (encyclopedia article on makers' data,
secondary); other thicknesses are read off a straight line between these."""

FULL_SHEET_SIDE = Fact(2.0, "m", "a sheet this long is never carried alone", "our choice")
FARTHEST_REACH = Fact(63.0, "cm", "NIOSH revised lifting equation, largest H", "secondary")
NEAREST_REACH = Fact(25.0, "cm", "NIOSH revised lifting equation, least H", "secondary")
HAND_HEIGHT = Fact(75.0, "cm", "a bench; V of the lifting equation", "our choice")
LIFT_TRAVEL = Fact(50.0, "cm", "from rack to bench; D of the lifting equation", "our choice")
SHEET_GRIP = Fact(0.90, "factor", "no handles; poor coupling, NIOSH CM", "secondary")
UPRIGHT_REACH = Fact(30.0, "cm", "two people carry a sheet upright at its ends", "our choice")
LIFT_SOURCE = (
    "NIOSH revised lifting equation, load constant 23 kg; two people: two thirds of the sum "
    "(HSE team handling)"
)


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
            _not_negative(getattr(self, name), name.removesuffix("_dmm"))
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
    _not_negative(prints, "number of prints")
    _not_negative(loadings, "number of loadings")
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


def roll_wraps(outer_mm: float, core_mm: float, caliper_mm: float) -> float:
    """Return how many times the paper goes round its core: (D - d) / (2 t).

    >>> round(roll_wraps(12, 3, 0.004))
    1125
    """
    _winding(core_mm, caliper_mm)
    return (outer_mm - core_mm) / (2 * caliper_mm)


def thickest_um(thickness_um: int) -> int:
    """Return the greatest thickness (µm) at which a cast acrylic sheet is still within its norm.

    Source: ISO 7823-1, t ± (0.4 mm + 0.1 t).

    >>> thickest_um(3_000)
    3700
    """
    fixed, share = SHEET_THICKNESS_SLACK
    return thickness_um + round(fixed.value * 1_000 + share.value * thickness_um)


def area_mass_kg_m2(thickness_um: float, density_g_cm3: float = ACRYLIC_DENSITY.value) -> float:
    """Return the mass of a square metre of sheet, kg/m2; µm times g/cm3 is g/m2.

    >>> round(area_mass_kg_m2(3_000), 2)
    3.57
    """
    return thickness_um * density_g_cm3 / 1_000


def composite_mass_kg_m2(thickness_um: int) -> float | None:
    """Return the mass of aluminium composite board, kg/m2, or None outside 2 to 6 mm.

    >>> composite_mass_kg_m2(3_000)
    3.8
    """
    known_um = sorted(COMPOSITE_KG_M2)
    if not known_um[0] <= thickness_um <= known_um[-1]:
        return None
    upper_um = next(um for um in known_um if um >= thickness_um)
    if upper_um == thickness_um:
        return COMPOSITE_KG_M2[upper_um]
    lower_um = known_um[known_um.index(upper_um) - 1]
    share = (thickness_um - lower_um) / (upper_um - lower_um)
    return COMPOSITE_KG_M2[lower_um] * (1 - share) + COMPOSITE_KG_M2[upper_um] * share


def sheet_mass_kg(width_dmm: int, height_dmm: int, kg_m2: float) -> float:
    """Return the mass of a sheet, kg, from its size and its mass a square metre.

    >>> round(sheet_mass_kg(20_300, 30_500, area_mass_kg_m2(3_000)), 2)
    22.1
    """
    return width_dmm * height_dmm / DMM_PER_M**2 * kg_m2


def recommended_weight_kg(
    reach_cm: float,
    hand_height_cm: float = HAND_HEIGHT.value,
    travel_cm: float = LIFT_TRAVEL.value,
    turn_deg: float = 0.0,
    frequency: float = 1.0,
    coupling: float = 1.0,
) -> float:
    """Return the weight (kg) that one person may be asked to lift in one way of lifting.

    Formula and source: NIOSH revised lifting equation, RWL = LC HM VM DM AM FM CM with
    HM = 25/H, VM = 1 - 0.003 |V - 75|, DM = 0.82 + 4.5/D, AM = 1 - 0.0032 A; H and D below 25 cm
    count as 25; zero beyond H 63, V 175, D 175 cm or A 135°.

    Parameters
    ----------
    reach_cm : float
        H: hands in front of the ankles.
    hand_height_cm : float
        V: hands above the floor at the start.
    travel_cm : float
        D: way up or down.
    turn_deg : float
        A: twist of the body.
    frequency, coupling : float
        FM and CM as read from the equation's tables.

    >>> recommended_weight_kg(25, 75, 25), recommended_weight_kg(50, 75, 25)
    (23.0, 11.5)
    """
    inside = (
        reach_cm <= FARTHEST_REACH.value
        and 0 <= hand_height_cm <= 175
        and travel_cm <= 175
        and 0 <= turn_deg <= 135
    )
    if not inside:
        return 0.0
    nearest_cm = NEAREST_REACH.value
    return (
        LIFT_LOAD_CONSTANT.value
        * (nearest_cm / max(reach_cm, nearest_cm))
        * (1 - 0.003 * abs(hand_height_cm - 75))
        * (1.0 if travel_cm <= 25 else 0.82 + 4.5 / travel_cm)
        * (1 - 0.0032 * turn_deg)
        * frequency
        * coupling
    )


def team_weight_kg(each_kg: Sequence[float]) -> float:
    """Return what two or three people may lift together: two thirds, or half, of their sum.

    Source: HSE team-handling guidance as quoted by a rail operator (secondary).

    >>> round(team_weight_kg([20, 20]), 2), team_weight_kg([20, 20, 20])
    (26.67, 30.0)
    """
    share = {1: 1.0, 2: 2 / 3, 3: 1 / 2}.get(len(each_kg))
    if share is None:
        raise BadValueError(
            f"There is no figure for {len(each_kg)} people.",
            "The rule is given for one, two and three.",
        )
    return sum(each_kg) * share


@dataclass(frozen=True, slots=True)
class LiftCaution:
    """What a sheet weighs against what one and two people lift: a caution, not a permission."""

    mass_kg: float
    at_thickest_kg: float
    one_person_kg: float
    two_person_kg: float
    two_people: bool
    beyond_two: bool
    """Heavier than the two-person figure: a lifter, or more hands."""
    source: str = LIFT_SOURCE


def lifting_caution(
    mass_kg: float, width_dmm: int, height_dmm: int, at_thickest_kg: float | None = None
) -> LiftCaution:
    """Return the caution for lifting a sheet, judged at its thickest allowed size.

    One person takes a sheet off a pile by its short way: the reach is 20 cm and half the short
    side (NIOSH's rule for H, from memory), up to 63 cm, from where it is tipped up on its edge.
    Two carry it upright at its ends. A full sheet is always for two, however light.

    Parameters
    ----------
    mass_kg : float
        Nominal mass.
    width_dmm, height_dmm : int
        Size.
    at_thickest_kg : float, optional
        Mass at the thickest allowed; `mass_kg` where there is no such figure.

    >>> lifting_caution(22.1, 20_300, 30_500, 27.26).two_people
    True
    """
    short_cm = min(width_dmm, height_dmm) / (10 * DMM_PER_MM)
    reach_cm = min(20 + short_cm / 2, FARTHEST_REACH.value)
    one_kg = recommended_weight_kg(reach_cm, coupling=SHEET_GRIP.value)
    upright_kg = recommended_weight_kg(UPRIGHT_REACH.value, coupling=SHEET_GRIP.value)
    two_kg = team_weight_kg([upright_kg, upright_kg])
    heaviest_kg = mass_kg if at_thickest_kg is None else max(mass_kg, at_thickest_kg)
    full = max(width_dmm, height_dmm) >= FULL_SHEET_SIDE.value * DMM_PER_M
    return LiftCaution(
        mass_kg, heaviest_kg, one_kg, two_kg, full or heaviest_kg > one_kg, heaviest_kg > two_kg
    )


@dataclass(frozen=True, slots=True)
class Fit:
    """How a piece comes out of a sheet or offcut with through cuts, and what remains."""

    turned: bool
    remainders: tuple[tuple[int, int], ...]
    """Real sizes (width, height) in dmm, the largest first; none, one or two."""
    waste_dmm2: int
    """Kerf, trim and strips thinner than the blade."""


@dataclass(frozen=True, slots=True)
class NoFit:
    """Why a piece does not come out of an offcut, and what is missing in its worst direction."""

    why: Literal["too small", "only when turned"]
    missing_dmm: int


def offcut_fit(
    piece_width_dmm: int,
    piece_height_dmm: int,
    unit_width_dmm: int,
    unit_height_dmm: int,
    may_turn: bool = True,
    kerf_dmm: int = 0,
    trim_dmm: int = 0,
) -> Fit | NoFit:
    """Return whether a piece comes out of an offcut with through cuts, and what remains.

    The piece lies in a corner; either cut may go first, and of both orders (and both ways to
    lie) the one is taken that leaves the largest remainder. A strip no wider than the kerf is
    nothing.

    Parameters
    ----------
    piece_width_dmm, piece_height_dmm : int
        The piece.
    unit_width_dmm, unit_height_dmm : int
        The sheet or offcut.
    may_turn : bool
        Whether the piece may lie turned by a quarter.
    kerf_dmm : int
        Width of the cut.
    trim_dmm : int
        Lost at each of the four edges, blade included; 0 for saw-cut edges.

    >>> offcut_fit(6_200, 4_200, 10_000, 6_000, kerf_dmm=32).remainders
    ((3768, 6000), (6200, 1768))
    """
    for length_dmm in (piece_width_dmm, piece_height_dmm, unit_width_dmm, unit_height_dmm):
        checked_length(length_dmm)
    _not_negative(kerf_dmm, "kerf")
    _not_negative(trim_dmm, "trim")
    usable = (unit_width_dmm - 2 * trim_dmm, unit_height_dmm - 2 * trim_dmm)
    ways = [
        (piece_width_dmm, piece_height_dmm, False),
        (piece_height_dmm, piece_width_dmm, True),
    ]
    missing = [max(w - usable[0], h - usable[1]) for w, h, _ in ways]
    if missing[0] > 0 and missing[1] <= 0 and not may_turn:
        return NoFit("only when turned", missing[0])
    tried = ways if may_turn else ways[:1]
    fits: list[Fit] = []
    unit_dmm2 = unit_width_dmm * unit_height_dmm
    for (w, h, turned), short in zip(tried, missing, strict=False):
        if short > 0:
            continue
        for left in _splits(w, h, *usable, kerf_dmm):
            kept = sorted(left, key=lambda size: (-size[0] * size[1], size))
            waste_dmm2 = unit_dmm2 - w * h - sum(a * b for a, b in kept)
            fits.append(Fit(turned, tuple(kept), waste_dmm2))
    if not fits:
        return NoFit("too small", min(missing[: len(tried)]))
    return max(fits, key=lambda fit: ([a * b for a, b in fit.remainders], not fit.turned))


def _splits(
    w: int, h: int, usable_w: int, usable_h: int, kerf: int
) -> tuple[list[tuple[int, int]], list[tuple[int, int]]]:
    """Both orders of the two cuts: beside the piece first, or above it first."""
    beside, above = usable_w - w - kerf, usable_h - h - kerf
    beside_first = [(beside, usable_h), (w, above)]
    above_first = [(usable_w, above), (beside, h)]
    real = [[(a, b) for a, b in sizes if a > 0 and b > 0] for sizes in (beside_first, above_first)]
    return real[0], real[1]


def _winding(core_mm: float, caliper_mm: float) -> None:
    if not (0 <= core_mm < math.inf and 0 < caliper_mm < math.inf):
        raise BadValueError(
            "That is no roll.", "A core of zero or more and a caliper above zero are wanted."
        )


def _not_negative(value: int, what: str) -> None:
    if value < 0:
        raise BadValueError(f"The {what} cannot be {value}.", "It must be zero or more.")


def _at_least_one(value: int, what: str) -> None:
    if value < 1:
        raise BadValueError(f"{value} {what} cannot be laid out.", "At least one is wanted.")
