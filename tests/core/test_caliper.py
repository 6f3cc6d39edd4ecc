"""A tape across a roll tells its length, and the ± said with it is the one that chance gives."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.caliper import Winding, calibrated, length_left, plus_minus_of, pooled, sd_of
from stockroom.core.constants import CORE_UNSURE, WOUND_SCATTER
from stockroom.core.geometry import roll_length_mm, roll_outer_mm
from stockroom.errors import BadValueError

DRAWS = 200_000
Z90 = 1.6448536269514722

CORES = st.floats(25, 160)
CALIPERS = st.floats(0.02, 0.6)
LENGTHS = st.floats(500, 200_000)


@given(LENGTHS, CORES, CALIPERS)
def test_length_to_diameter_and_back(length_mm: float, core_mm: float, caliper_mm: float) -> None:
    outer_mm = roll_outer_mm(length_mm, core_mm, caliper_mm)
    found = length_left(outer_mm, Winding(caliper_mm, core_mm))
    assert found.length_mm == pytest.approx(length_mm, rel=1e-9)
    assert found.plus_minus_mm == 0


@given(LENGTHS, CORES, st.floats(0.5, 200))
def test_a_roll_that_was_calibrated_measures_as_long_as_it_was(
    length_mm: float, core_mm: float, wound_mm: float
) -> None:
    outer_mm = core_mm + wound_mm
    winding = calibrated(length_mm, outer_mm, core_mm, 0.3, 0.2, 50)
    assert length_left(outer_mm, winding).length_mm == pytest.approx(length_mm, rel=1e-9)


@pytest.mark.parametrize(
    ("outer_mm", "caliper_sd_mm", "core_sd_mm", "outer_sd_mm"),
    [(130.7, 0.003, 0.3, 0.4), (130.7, 0.0, 0.5, 0.0), (100.0, 0.004, 0.0, 0.5), (91, 0, 0.2, 0.3)],
)
def test_plus_minus_is_that_of_a_monte_carlo(
    outer_mm: float, caliper_sd_mm: float, core_sd_mm: float, outer_sd_mm: float
) -> None:
    chance = np.random.default_rng(7)
    caliper_mm = chance.normal(0.24, caliper_sd_mm, DRAWS)
    core_mm = chance.normal(89, core_sd_mm, DRAWS)
    measured_mm = chance.normal(outer_mm, outer_sd_mm, DRAWS)
    drawn_mm = np.pi * (measured_mm**2 - core_mm**2) / (4 * caliper_mm)
    found = length_left(outer_mm, Winding(0.24, 89, caliper_sd_mm, core_sd_mm), outer_sd_mm)
    assert found.plus_minus_mm == pytest.approx(Z90 * drawn_mm.std(), rel=0.01)
    inside = np.abs(drawn_mm - found.length_mm) <= found.plus_minus_mm
    assert inside.mean() == pytest.approx(0.90, abs=0.005)


@pytest.mark.parametrize("now_mm", [131.0, 118.0, 95.0])
def test_a_core_read_wrong_once_counts_once_not_twice(now_mm: float) -> None:
    chance = np.random.default_rng(11)
    core_mm = chance.normal(89, 0.5, DRAWS)
    full_mm = chance.normal(131, 0.3, DRAWS)
    length_mm = chance.normal(30_000, 150, DRAWS)
    caliper_mm = np.pi * (full_mm**2 - core_mm**2) / (4 * length_mm)
    later_mm = chance.normal(now_mm, 0.3, DRAWS)
    drawn_mm = np.pi * (later_mm**2 - core_mm**2) / (4 * caliper_mm)
    winding = calibrated(30_000, 131, 89, 0.3, 0.5, 150)
    found = length_left(now_mm, winding, 0.3)
    assert found.plus_minus_mm == pytest.approx(Z90 * drawn_mm.std(), rel=0.015)
    assert winding.whole_caliper_sd_mm == pytest.approx(caliper_mm.std(), rel=0.01)


def test_on_the_calibrated_roll_itself_an_unsure_core_does_not_matter() -> None:
    winding = calibrated(30_000, 131, 89, core_sd_mm=1.0)
    assert length_left(131, winding).plus_minus_mm == pytest.approx(0, abs=1e-6)
    apart = Winding(winding.caliper_mm, 89, winding.whole_caliper_sd_mm, 1.0)
    assert length_left(131, apart).plus_minus_mm > 1_000


def test_the_length_is_clipped_at_zero() -> None:
    bare = length_left(88.8, Winding(0.24, 89, 0.003, 0.2), 0.3)
    assert bare.length_mm == 0
    assert bare.plus_minus_mm > 0


@pytest.mark.parametrize("outer_mm", [88.0, math.nan, math.inf, -1.0])
def test_a_roll_thinner_than_its_core_is_refused(outer_mm: float) -> None:
    with pytest.raises(BadValueError):
        length_left(outer_mm, Winding(0.24, 89, 0.003, 0.2), 0.3)
    with pytest.raises(BadValueError):
        calibrated(30_000, outer_mm, 89)


@pytest.mark.parametrize(
    "given",
    [
        (0, 130, 89, 0.3, 0.2, 50),
        (math.inf, 130, 89, 0.3, 0.2, 50),
        (30_000, 89, 89, 0.3, 0.2, 50),
        (30_000, 130, -1, 0.3, 0.2, 50),
        (30_000, 130, 89, -0.3, 0.2, 50),
        (30_000, 130, 89, 0.3, math.nan, 50),
        (30_000, 130, 89, 0.3, 0.2, math.inf),
    ],
)
def test_a_calibration_that_cannot_be_is_refused(given: tuple[float, ...]) -> None:
    with pytest.raises(BadValueError):
        calibrated(*given)


def test_a_winding_and_a_coverage_that_cannot_be_are_refused() -> None:
    for caliper_mm, core_mm, sd_mm in (
        (0, 89, 0),
        (math.nan, 89, 0),
        (0.24, -1, 0),
        (0.24, 89, -1),
    ):
        with pytest.raises(BadValueError):
            Winding(caliper_mm, core_mm, sd_mm)
    for coverage in (0, 1, math.nan):
        with pytest.raises(BadValueError):
            sd_of(1.0, coverage)
    with pytest.raises(BadValueError):
        length_left(120, Winding(0.24, 89), -0.1)


def test_the_surer_calibration_weighs_more() -> None:
    both = pooled([Winding(0.240, 89, 0.0001), Winding(0.246, 89, 0.02)], 152, 0.2)
    assert 0.240 < both.winding.caliper_mm < 0.241
    assert (both.winding.core_mm, both.winding.core_sd_mm, both.rolls) == (152, 0.2, 2)


def test_rolls_that_differ_make_the_next_one_unsure() -> None:
    alike = pooled([Winding(0.2401, 89, 0.001), Winding(0.2399, 89, 0.001)], 89)
    apart = pooled([Winding(0.230, 89, 0.001), Winding(0.250, 89, 0.001)], 89)
    assert apart.winding.caliper_mm == pytest.approx(alike.winding.caliper_mm, abs=1e-9)
    assert apart.winding.caliper_sd_mm > 3 * alike.winding.caliper_sd_mm
    between = (0.0024**2 + (0.010**2 * 2 - 0.001**2)) / 2
    widened = 1 + (Z90**2 + 1) / 8
    assert apart.winding.caliper_sd_mm == pytest.approx(
        math.sqrt((0.001**2 + between) / 2 + between) * widened, rel=1e-9
    )


def test_one_calibration_does_not_promise_that_the_next_roll_is_wound_alike() -> None:
    one = calibrated(30_000, 131, 89, 0.1, 0.1, 50)
    next_roll = pooled([one], 89, 0.1)
    assert next_roll.winding.caliper_mm == pytest.approx(one.caliper_mm, rel=1e-12)
    two_rolls_apart_mm = 0.01 * one.caliper_mm * math.sqrt(2)
    assert next_roll.winding.caliper_sd_mm == pytest.approx(
        math.hypot(one.whole_caliper_sd_mm, two_rolls_apart_mm) * (1 + (Z90**2 + 1) / 4)
    )


@pytest.mark.parametrize("scatter_mm", [0.0, 0.0024, 0.006])
def test_pooled_calibrations_hold_the_next_roll_about_as_often_as_said(scatter_mm: float) -> None:
    chance = np.random.default_rng(3)
    held = 0
    trials = 1_500
    for _ in range(trials):
        true_mm = chance.normal(0.24, scatter_mm, 9)
        seen_mm = true_mm + chance.normal(0, 0.002, 9)
        both = pooled([Winding(value, 89, 0.002) for value in seen_mm[:8]], 89)
        outer_mm = roll_outer_mm(20_000, 89, true_mm[8])
        found = length_left(outer_mm, both.winding)
        held += abs(found.length_mm - 20_000) <= found.plus_minus_mm
    least, most = (0.84, 0.94) if scatter_mm else (0.90, 1.0)
    assert least <= held / trials <= most


@pytest.mark.parametrize("core_sd_mm", [sd_of(0.5), CORE_UNSURE.value])
@pytest.mark.parametrize("rolls", [1, 2, 4])
@pytest.mark.parametrize("left_mm", [50_000, 12_000])
def test_plus_minus_holds_where_one_figure_stands_for_every_core(
    core_sd_mm: float, rolls: int, left_mm: int
) -> None:
    """Rolls of 50 m measured full; how far they differ is about as guessed, within a factor of 2.

    The core is the same in all rolls, and known, once, to ± 0.5 mm or as nobody measured it.
    """
    chance = np.random.default_rng(17)
    outer_sd_mm = sd_of(0.5)
    held = 0
    trials = 1_200
    for _ in range(trials):
        scatter = WOUND_SCATTER.value * math.exp(0.7 * chance.standard_normal())
        core_mm = chance.normal(89, core_sd_mm)
        lengths_mm = np.append(np.full(rolls, 50_000.0), left_mm)
        calipers_mm = 0.24 * (1 + scatter * chance.standard_normal(rolls + 1))
        true_mm = np.sqrt(core_mm**2 + 4 * calipers_mm * lengths_mm / np.pi)
        seen_mm = true_mm + chance.normal(0, outer_sd_mm, rolls + 1)
        known = [
            calibrated(50_000, float(outer_mm), 89, outer_sd_mm, core_sd_mm)
            for outer_mm in seen_mm[:-1]
        ]
        both = pooled(known, 89, core_sd_mm, shared_core=True)
        found = length_left(float(seen_mm[-1]), both.winding, outer_sd_mm)
        held += abs(found.length_mm - left_mm) <= found.plus_minus_mm
    assert 0.85 <= held / trials <= 0.97


def test_one_core_for_all_is_one_error_that_mostly_cancels() -> None:
    """A core measured apart for each roll keeps its own error and no slope."""
    known = [calibrated(50_000, outer_mm, 89, 0.3, 1.0) for outer_mm in (152.2, 152.9)]
    shared = pooled(known, 89, 1.0, shared_core=True).winding
    apart = pooled(known, 89, 1.0).winding
    elsewhere = pooled(known, 90, 1.0, shared_core=True).winding
    slopes = [winding.caliper_per_core for winding in known]
    assert min(slopes) <= shared.caliper_per_core <= max(slopes) < 0
    assert apart.caliper_per_core == elsewhere.caliper_per_core == 0
    assert shared.caliper_sd_mm < apart.caliper_sd_mm
    one, two = (length_left(152.5, winding, 0.3).plus_minus_mm for winding in (shared, apart))
    assert one < 0.85 * two


def test_a_plus_or_minus_is_turned_into_a_deviation_and_back() -> None:
    assert plus_minus_of(sd_of(0.5)) == pytest.approx(0.5)
    assert plus_minus_of(1.0, 0.95) == pytest.approx(1.959964, rel=1e-6)


def test_calibrations_that_cannot_be_weighed_are_refused() -> None:
    with pytest.raises(BadValueError):
        pooled([], 89)
    with pytest.raises(BadValueError):
        pooled([Winding(0.24, 89, 0.001), Winding(0.25, 89)], 89)


def test_the_length_is_that_of_the_geometry() -> None:
    assert length_left(120, Winding(0.24, 89)).length_mm == roll_length_mm(120, 89, 0.24)
