"""Rolls, sheets and offcuts: what is said to fit does fit, and not a tenth of a millimetre more."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.geometry import (
    DoesNotFit,
    PrintOnRoll,
    RollRules,
    length_for,
    print_layout,
    prints_that_fit,
    roll_length_mm,
    roll_outer_mm,
)
from stockroom.core.sheets import (
    COMPOSITE_KG_M2,
    Fit,
    LiftCaution,
    NoFit,
    area_mass_kg_m2,
    composite_mass_kg_m2,
    lifting_caution,
    offcut_fit,
    recommended_weight_kg,
    sheet_mass_kg,
    team_weight_kg,
    thickest_um,
)
from stockroom.errors import BadValueError

SIDES = st.integers(50, 40_000)
RULES = st.builds(
    RollRules,
    leader_dmm=st.integers(0, 9_000),
    tail_dmm=st.integers(0, 9_000),
    gap_dmm=st.integers(0, 1_000),
    margin_dmm=st.integers(0, 200),
    longest_print_dmm=st.none() | st.integers(10_000, 50_000),
)


def test_defaults_of_the_rules_are_the_facts_in_tenths_of_a_millimetre() -> None:
    assert RollRules() == RollRules(3_000, 5_000, 500, 50, None)


def test_a_print_too_wide_upright_lies_along_the_roll() -> None:
    layout = print_layout(25_000, 12_500, 12_700)
    assert layout == PrintOnRoll(12_500, 25_000, turned=True, side_by_side=1, row_dmm=25_500)


def test_a_single_print_lies_its_short_way_along_and_many_share_rows() -> None:
    one = print_layout(5_000, 7_000, 12_700)
    many = print_layout(5_000, 7_000, 12_700, count=8)
    assert isinstance(one, PrintOnRoll)
    assert isinstance(many, PrintOnRoll)
    assert (one.along_dmm, one.turned) == (5_000, True)
    assert (many.along_dmm, many.side_by_side, many.rows(8)) == (7_000, 2, 4)


def test_the_gap_counts_between_prints_side_by_side_and_not_at_the_edge() -> None:
    rules = RollRules(gap_dmm=100, margin_dmm=50)
    wide_enough = print_layout(3_000, 9_000, 3 * 3_000 + 2 * 100 + 2 * 50, rules, may_turn=False)
    too_narrow = print_layout(3_000, 9_000, 3 * 3_000 + 2 * 100 + 2 * 50 - 1, rules, may_turn=False)
    assert isinstance(wide_enough, PrintOnRoll)
    assert isinstance(too_narrow, PrintOnRoll)
    assert (wide_enough.side_by_side, too_narrow.side_by_side) == (3, 2)


def test_each_reason_not_to_fit_carries_its_figures() -> None:
    rules = RollRules(longest_print_dmm=30_000)
    assert print_layout(13_000, 14_000, 12_700, rules) == DoesNotFit(
        "too wide", 400, 12_600, 30_000
    )
    assert print_layout(12_000, 31_000, 12_700, rules) == DoesNotFit(
        "too long", 1_000, 12_600, 30_000
    )
    assert print_layout(25_000, 12_500, 12_700, rules, may_turn=False) == DoesNotFit(
        "only when turned", 0, 12_600, 30_000
    )
    assert print_layout(100, 100, 60) == DoesNotFit("too wide", 100, 0, None)


@given(SIDES, SIDES, SIDES, RULES, st.booleans(), st.integers(1, 30))
def test_a_layout_stays_inside_the_roll_and_no_other_way_is_shorter(
    width: int, height: int, roll: int, rules: RollRules, may_turn: bool, count: int
) -> None:
    layout = print_layout(width, height, roll, rules, may_turn, count)
    printable = roll - 2 * rules.margin_dmm

    def fits(across: int, along: int) -> bool:
        return across <= printable and along <= (rules.longest_print_dmm or along)

    upright, turned = fits(width, height), may_turn and fits(height, width)
    if isinstance(layout, DoesNotFit):
        assert not upright
        assert not turned
        assert (layout.kind == "only when turned") == (not may_turn and fits(height, width))
        assert (layout.over_dmm > 0) == (layout.kind != "only when turned")
        return
    assert fits(layout.across_dmm, layout.along_dmm)
    used = layout.side_by_side * layout.across_dmm + (layout.side_by_side - 1) * rules.gap_dmm
    assert used <= printable < used + rules.gap_dmm + layout.across_dmm
    taken = length_for(count, layout, rules)
    for across, along in [(width, height)] * upright + [(height, width)] * turned:
        abreast = (printable + rules.gap_dmm) // (across + rules.gap_dmm)
        rows = (count + abreast - 1) // abreast
        assert taken <= rules.leader_dmm + rows * (along + rules.gap_dmm)


@given(SIDES, SIDES, RULES, st.integers(1, 60), st.booleans())
def test_length_and_number_of_prints_agree_to_the_tenth_of_a_millimetre(
    width: int, height: int, rules: RollRules, prints: int, loaded: bool
) -> None:
    layout = print_layout(width, height, 45_000, rules)
    if isinstance(layout, DoesNotFit):
        return
    needed = length_for(prints, layout, rules, loadings=0 if loaded else 1) + rules.tail_dmm
    assert prints_that_fit(needed, layout, rules, loaded) >= prints
    assert prints_that_fit(needed - 1, layout, rules, loaded) < prints


def test_a_roll_with_only_its_tail_left_holds_no_print() -> None:
    layout = print_layout(5_000, 7_000, 12_700)
    assert isinstance(layout, PrintOnRoll)
    assert prints_that_fit(5_000, layout, RollRules(), loaded=True) == 0
    assert prints_that_fit(0, layout, RollRules(), loaded=False) == 0


def test_each_loading_pays_its_own_leader() -> None:
    rules = RollRules()
    layout = print_layout(5_000, 7_000, 12_700, rules)
    assert isinstance(layout, PrintOnRoll)
    once, thrice = length_for(4, layout, rules), length_for(4, layout, rules, loadings=3)
    assert thrice - once == 2 * rules.leader_dmm


def test_impossible_sizes_and_rules_are_refused() -> None:
    with pytest.raises(BadValueError):
        RollRules(tail_dmm=-1)
    with pytest.raises(BadValueError):
        RollRules(longest_print_dmm=0)
    with pytest.raises(BadValueError):
        print_layout(0, 10, 10)
    with pytest.raises(BadValueError):
        print_layout(10, 10, 1_000, count=0)
    with pytest.raises(BadValueError):
        roll_length_mm(50, 89, 0.24)
    with pytest.raises(BadValueError):
        roll_length_mm(float("nan"), 89, 0.24)
    with pytest.raises(BadValueError):
        roll_outer_mm(-1, 89, 0.24)
    with pytest.raises(BadValueError):
        offcut_fit(10, 10, 10, 10, kerf_dmm=-1)


@given(st.floats(0, 1e5), st.floats(1, 200), st.floats(0.01, 2))
def test_length_to_diameter_and_back_is_the_same_length(
    length_mm: float, core_mm: float, caliper_mm: float
) -> None:
    outer_mm = roll_outer_mm(length_mm, core_mm, caliper_mm)
    assert roll_length_mm(outer_mm, core_mm, caliper_mm) == pytest.approx(
        length_mm, rel=1e-9, abs=1e-6
    )


def test_composite_board_between_the_listed_thicknesses_and_outside_them() -> None:
    assert composite_mass_kg_m2(3_500) == pytest.approx((3.8 + 4.75) / 2)
    assert composite_mass_kg_m2(1_999) is None
    assert composite_mass_kg_m2(6_001) is None
    assert [composite_mass_kg_m2(um) for um in COMPOSITE_KG_M2] == list(COMPOSITE_KG_M2.values())


def caution(width_mm: int, height_mm: int, thickness_um: int) -> LiftCaution:
    size = (10 * width_mm, 10 * height_mm)
    nominal = sheet_mass_kg(*size, area_mass_kg_m2(thickness_um))
    thick = sheet_mass_kg(*size, area_mass_kg_m2(thickest_um(thickness_um)))
    return lifting_caution(nominal, *size, at_thickest_kg=thick)


def test_a_full_sheet_is_for_two_however_light_and_a_heavy_one_for_a_lifter() -> None:
    light = lifting_caution(1.0, 20_000, 3_000)
    assert light.two_people
    assert not light.beyond_two
    assert not lifting_caution(1.0, 19_999, 3_000).two_people
    assert caution(2030, 3050, 3).two_people
    assert caution(2030, 3050, 5_000).beyond_two


def test_the_thickest_allowed_decides_not_the_nominal_mass() -> None:
    nominal_kg = sheet_mass_kg(14_000, 12_000, area_mass_kg_m2(3_000))
    assert not lifting_caution(nominal_kg, 14_000, 12_000).two_people
    judged = lifting_caution(nominal_kg, 14_000, 12_000, at_thickest_kg=nominal_kg * 1.4)
    assert judged.two_people
    assert judged.at_thickest_kg == pytest.approx(nominal_kg * 1.4)


def test_a_deeper_sheet_leaves_one_person_less_down_to_the_farthest_reach() -> None:
    figures = [lifting_caution(1, side, 19_000).one_person_kg for side in range(500, 19_000, 500)]
    assert all(a >= b for a, b in pairwise(figures))
    assert figures[0] > 1.5 * figures[-1]
    assert figures[-1] == pytest.approx(recommended_weight_kg(63, coupling=0.9))


def test_reach_height_travel_and_turn_outside_the_equation_allow_nothing() -> None:
    assert recommended_weight_kg(63.1) == 0
    assert recommended_weight_kg(30, hand_height_cm=176) == 0
    assert recommended_weight_kg(30, travel_cm=176) == 0
    assert recommended_weight_kg(30, turn_deg=136) == 0


def test_team_figures_are_given_for_one_to_three_people_only() -> None:
    assert team_weight_kg([12.5]) == 12.5
    with pytest.raises(BadValueError):
        team_weight_kg([20] * 4)


def test_an_exact_piece_fits_and_one_tenth_less_does_not() -> None:
    assert offcut_fit(6_200, 4_200, 6_200, 4_200, kerf_dmm=32) == Fit(False, (), 0)
    assert offcut_fit(6_200, 4_200, 6_199, 4_200, kerf_dmm=32) == NoFit("too small", 1)
    assert offcut_fit(6_200, 4_200, 4_200, 6_200) == Fit(True, (), 0)
    assert offcut_fit(6_200, 4_200, 4_200, 6_200, may_turn=False) == NoFit(
        "only when turned", 2_000
    )


def test_a_strip_no_wider_than_the_blade_is_nothing() -> None:
    assert offcut_fit(6_000, 4_000, 6_032, 4_000, kerf_dmm=32) == Fit(False, (), 32 * 4_000)
    wider = offcut_fit(6_000, 4_000, 6_033, 4_000, kerf_dmm=32)
    assert isinstance(wider, Fit)
    assert wider.remainders == ((1, 4_000),)


def test_trim_is_lost_at_every_edge() -> None:
    assert isinstance(offcut_fit(6_000, 4_000, 6_200, 4_200, trim_dmm=100), Fit)
    assert offcut_fit(6_000, 4_000, 6_199, 4_200, trim_dmm=100) == NoFit("too small", 1)


def test_the_order_of_cuts_and_the_way_to_lie_keep_the_largest_remainder() -> None:
    fit = offcut_fit(6_200, 4_200, 10_000, 6_000, kerf_dmm=32)
    assert isinstance(fit, Fit)
    assert fit.remainders == ((3_768, 6_000), (6_200, 1_768))
    turned = offcut_fit(2_000, 8_000, 10_000, 8_000, kerf_dmm=30)
    assert isinstance(turned, Fit)
    assert turned.remainders == ((7_970, 8_000),)


@given(SIDES, SIDES, SIDES, SIDES, st.booleans(), st.integers(0, 60), st.integers(0, 120))
def test_a_cut_conserves_area_and_its_parts_can_be_laid_back_on_the_sheet(
    w: int, h: int, unit_w: int, unit_h: int, may_turn: bool, kerf: int, trim: int
) -> None:
    found = offcut_fit(w, h, unit_w, unit_h, may_turn, kerf, trim)
    inner_w, inner_h = unit_w - 2 * trim, unit_h - 2 * trim
    upright = w <= inner_w and h <= inner_h
    turned = h <= inner_w and w <= inner_h
    if isinstance(found, NoFit):
        assert not upright
        assert not (may_turn and turned)
        assert (found.why == "only when turned") == (turned and not may_turn)
        return
    assert turned if found.turned else upright
    a, b = (h, w) if found.turned else (w, h)
    beside, above = inner_w - a - kerf, inner_h - b - kerf
    one = {(beside, inner_h), (a, above)}
    other = {(inner_w, above), (beside, b)}
    kept = set(found.remainders)
    assert any(kept == {s for s in sizes if min(s) > 0} for sizes in (one, other))
    areas = [x * y for x, y in found.remainders]
    assert areas == sorted(areas, reverse=True)
    assert unit_w * unit_h == w * h + sum(areas) + found.waste_dmm2
    assert found.waste_dmm2 >= 0
    largest = max([x * y for x, y in one | other if min(x, y) > 0], default=0)
    assert max(areas, default=0) >= largest
