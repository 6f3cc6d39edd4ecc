"""Sheets and offcuts: what a piece leaves of one, what it weighs, how many must lift it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from stockroom.core.constants import ACRYLIC_DENSITY, LIFT_LOAD_CONSTANT, SHEET_THICKNESS_SLACK, Constant
from stockroom.core.geometry import not_negative
from stockroom.core.model import Material
from stockroom.errors import BadValueError
from stockroom.units import DMM_PER_M, DMM_PER_MM, checked_length

COMPOSITE_KG_M2 = {2_000: 2.9, 3_000: 3.8, 4_000: 4.75, 6_000: 6.6}
"""Aluminium composite board, kg/m2 by thickness in µm (encyclopedia article on makers' data,
secondary); other thicknesses are read off a straight line between these."""

FULL_SHEET_SIDE = Constant(2.0, "m", "a sheet this long is never carried alone", "our choice")
FARTHEST_REACH = Constant(63.0, "cm", "NIOSH revised lifting equation, largest H", "secondary")
NEAREST_REACH = Constant(25.0, "cm", "NIOSH revised lifting equation, least H", "secondary")
HAND_HEIGHT = Constant(75.0, "cm", "a bench; V of the lifting equation", "our choice")
LIFT_TRAVEL = Constant(50.0, "cm", "from rack to bench; D of the lifting equation", "our choice")
SHEET_GRIP = Constant(0.90, "factor", "no handles; poor coupling, NIOSH CM", "secondary")
UPRIGHT_REACH = Constant(30.0, "cm", "two people carry a sheet upright at its ends", "our choice")
LIFT_SOURCE = (
    "NIOSH revised lifting equation, load constant 23 kg; two people: two thirds of the sum "
    "(HSE team handling)"
)


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


def lift_of(material: Material, width_dmm: int, height_dmm: int) -> LiftCaution | None:
    """Return the caution for a sheet or board of a size; None where its mass is not known.

    Parameters
    ----------
    material : Material
        Weighed as cast acrylic, or as aluminium composite, by its nominal thickness.
    width_dmm, height_dmm : int
        Size.

    >>> cast = Material(code="1", name="Cast", family="sheet", form="sheet", thickness_um=3_000)
    >>> round(lift_of(cast, 20_300, 30_500).at_thickest_kg, 2)
    27.26
    """
    stuff, thickness_um = material.traits.stuff, material.thickness_um
    if thickness_um is None or stuff is None:
        return None
    if stuff == "composite":
        kg_m2 = composite_mass_kg_m2(thickness_um)
        thickest = kg_m2
    else:
        kg_m2 = area_mass_kg_m2(thickness_um)
        thickest = area_mass_kg_m2(thickest_um(thickness_um))
    if kg_m2 is None or thickest is None:
        return None
    return lifting_caution(
        sheet_mass_kg(width_dmm, height_dmm, kg_m2),
        width_dmm,
        height_dmm,
        sheet_mass_kg(width_dmm, height_dmm, thickest),
    )


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
    not_negative(kerf_dmm, "kerf")
    not_negative(trim_dmm, "trim")
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
