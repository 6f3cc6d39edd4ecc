"""Rolls, acrylic, composite board and lifting agree with figures published elsewhere."""

import math

import pytest

from stockroom.core.geometry import RollRules, roll_length_mm, roll_outer_mm
from stockroom.core.sheets import (
    area_mass_kg_m2,
    composite_mass_kg_m2,
    lifting_caution,
    recommended_weight_kg,
    sheet_mass_kg,
    team_weight_kg,
    thickest_um,
)


@pytest.mark.parametrize(
    ("outer_in", "core_in", "caliper_in", "length_in"),
    [(12, 3, 0.004, 26_507.19), (5, 2, 0.0008, 20_616.70)],
)
def test_wound_length(outer_in: float, core_in: float, caliper_in: float, length_in: float) -> None:
    # Two examples of a calculator page for L = pi (D² - d²) / 4t (secondary copy).
    assert roll_length_mm(outer_in, core_in, caliper_in) == pytest.approx(length_in, abs=0.01)
    assert roll_outer_mm(length_in, core_in, caliper_in) == pytest.approx(outer_in, abs=1e-5)


@pytest.mark.parametrize("length_mm", [1.0, 850.0, 9_400.0, 30_000.0, 150_000.0])
@pytest.mark.parametrize(("core_mm", "caliper_mm"), [(89.0, 0.24), (56.0, 0.05), (165.0, 0.33)])
def test_length_to_diameter_and_back(length_mm: float, core_mm: float, caliper_mm: float) -> None:
    # Mathematics: the two formulae are each other's inverse.
    outer_mm = roll_outer_mm(length_mm, core_mm, caliper_mm)
    assert roll_length_mm(outer_mm, core_mm, caliper_mm) == pytest.approx(length_mm, rel=1e-9)


def test_the_wound_length_is_the_sum_of_its_turns() -> None:
    # Mathematics: wound turn by turn at the mean diameter of each wrap, whole wraps sum exactly.
    core_mm, caliper_mm, turns = 89.0, 0.24, 90
    summed = sum(math.pi * (core_mm + (2 * i + 1) * caliper_mm) for i in range(turns))
    outer_mm = core_mm + 2 * turns * caliper_mm
    assert roll_length_mm(outer_mm, core_mm, caliper_mm) == pytest.approx(summed, rel=1e-12)


@pytest.mark.parametrize(
    ("thickness_mm", "slack_mm"),
    [(3, 0.70), (5, 0.90), (6, 1.00), (8, 1.20), (10, 1.40), (20, 2.40)],
)
def test_cast_sheet_at_its_thickest(thickness_mm: int, slack_mm: float) -> None:
    # ISO 7823-1: ± (0.4 mm + 0.1 t), as printed in the data sheets of two publishers.
    assert thickest_um(1_000 * thickness_mm) == 1_000 * thickness_mm + round(1_000 * slack_mm)


def test_mass_of_a_full_acrylic_sheet() -> None:
    # Arithmetic from the density 1.19 g/cm3 (ISO 1183 value on makers' data sheets).
    size = (20_300, 30_500)
    assert sheet_mass_kg(*size, area_mass_kg_m2(3_000)) == pytest.approx(22.10, abs=0.01)
    thickest = sheet_mass_kg(*size, area_mass_kg_m2(thickest_um(3_000)))
    assert thickest == pytest.approx(27.26, abs=0.01)


@pytest.mark.parametrize(("thickness_mm", "kg_m2"), [(2, 2.9), (3, 3.8), (4, 4.75), (6, 6.6)])
def test_mass_of_aluminium_composite(thickness_mm: int, kg_m2: float) -> None:
    # Encyclopedia article on makers' data (secondary).
    assert composite_mass_kg_m2(1_000 * thickness_mm) == pytest.approx(kg_m2, abs=0.05)


def test_aluminium_composite_is_two_skins_and_a_core() -> None:
    # Common practice: two aluminium skins of 0.3 mm (2.70 g/cm3) on a polyethylene core
    # (0.92 to 0.96 g/cm3). From memory, and a second way to all four rows.
    for thickness_mm in (2, 3, 4, 6):
        made_up = 2 * 0.3 * 2.70 + (thickness_mm - 0.6) * 0.94
        assert composite_mass_kg_m2(1_000 * thickness_mm) == pytest.approx(made_up, rel=0.03)


def test_lifting_equation_at_its_ideal_and_at_twice_the_reach() -> None:
    # NIOSH revised lifting equation (secondary copy): 23 kg at H 25, V 75, D 25 cm, A 0, FM and
    # CM 1; half of it at H 50 cm.
    assert recommended_weight_kg(25, 75, 25) == 23.0
    assert recommended_weight_kg(50, 75, 25) == 11.5


def test_the_other_multipliers_of_the_lifting_equation() -> None:
    # The equation's printed multipliers (from memory): VM 0.78 at the floor and 0.70 at 175 cm,
    # DM 0.88 at 70 cm and 0.85 at 175 cm, AM 0.71 at 90° and 0.57 at 135°, HM 0.40 at 63 cm.
    assert recommended_weight_kg(25, 0, 25) / 23 == pytest.approx(0.78, abs=0.006)
    assert recommended_weight_kg(25, 175, 25) / 23 == pytest.approx(0.70, abs=0.006)
    assert recommended_weight_kg(25, 75, 70) / 23 == pytest.approx(0.88, abs=0.006)
    assert recommended_weight_kg(25, 75, 175) / 23 == pytest.approx(0.85, abs=0.006)
    assert recommended_weight_kg(25, 75, 25, 90) / 23 == pytest.approx(0.71, abs=0.006)
    assert recommended_weight_kg(25, 75, 25, 135) / 23 == pytest.approx(0.57, abs=0.006)
    assert recommended_weight_kg(63, 75, 25) / 23 == pytest.approx(0.40, abs=0.006)


def test_two_people_lift_two_thirds_and_three_half_of_their_sum() -> None:
    # HSE team-handling guidance as quoted by a rail operator (secondary).
    assert team_weight_kg([20, 20]) == pytest.approx(26.67, abs=0.1)
    assert team_weight_kg([20, 20, 20]) == pytest.approx(30.0, abs=0.1)


def test_a_full_sheet_is_carried_by_two_or_a_lifter() -> None:
    # Common practice, no source: a 2.03 x 3.05 m sheet is never one person's.
    caution = lifting_caution(22.10, 20_300, 30_500, at_thickest_kg=27.26)
    assert caution.two_people
    assert caution.two_person_kg > caution.one_person_kg
    assert caution.at_thickest_kg == 27.26


def test_a_roll_gives_up_its_start_and_its_end() -> None:
    # Common practice, no source: about 0.3 m a loading, about 0.5 m on the core, 5 mm an edge.
    rules = RollRules()
    assert (rules.leader_dmm, rules.tail_dmm, rules.margin_dmm) == (3_000, 5_000, 50)
