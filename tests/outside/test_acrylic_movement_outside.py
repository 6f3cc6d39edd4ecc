"""Acrylic and composite board move as makers' own figures say."""

import pytest

from stockroom.core.constants import (
    ACRYLIC_EXPANSION,
    ACRYLIC_EXPANSION_HIGH,
    ACRYLIC_EXPANSION_LOW,
    MOISTURE_DAYS,
    MOISTURE_LONGEST,
)
from stockroom.core.expansion import Air, moisture_growth_mm_per_m, movement, thermal_growth_mm
from stockroom.core.sheets import thickest_um


@pytest.mark.parametrize(
    ("thickness_mm", "most_mm"), [(3, 3.7), (5, 5.9), (6, 7.0), (8, 9.2), (10, 11.4), (20, 22.4)]
)
def test_a_cast_sheet_may_be_so_thick(thickness_mm: int, most_mm: float) -> None:
    # ISO 7823-1: ± (0.4 mm + 0.1 t), as printed in the data sheets of two publishers.
    assert thickest_um(1_000 * thickness_mm) == round(1_000 * most_mm)


def test_a_metre_of_acrylic_over_forty_degrees() -> None:
    # Acrylic maker's installation note: 3.2 mm at 8e-5 and 2.4 mm at 6e-5 per K.
    assert thermal_growth_mm(1_000, 40, 8e-5) == pytest.approx(3.2, abs=1e-9)
    assert thermal_growth_mm(1_000, 40, 6e-5) == pytest.approx(2.4, abs=1e-9)
    found = movement("sheet", 10_000, 6_000, Air(0, 50), Air(40, 50))
    assert found is not None
    assert (found.thermal_low_mm, found.thermal_high_mm) == pytest.approx((2.4, 3.2), abs=1e-9)


@pytest.mark.parametrize("per_f", [0.000040, 0.000044, 0.002 / 48])
def test_rates_printed_by_the_degree_fahrenheit_lie_within_the_range(per_f: float) -> None:
    # An acrylic maker's glazing page: 0.000040 in/in °F for cast, 0.000044 for two extruded
    # grades; another page: a 48 in panel moves about 0.002 in a degree.
    low, high = ACRYLIC_EXPANSION_LOW.value, ACRYLIC_EXPANSION_HIGH.value
    assert low <= per_f * 9 / 5 <= high
    assert low < ACRYLIC_EXPANSION.value < high


def test_cast_acrylic_moves_as_its_maker_prints() -> None:
    # The same glazing page, cast sheet: 0.000040 in/in °F is 7.2e-5 per K.
    assert ACRYLIC_EXPANSION.value == pytest.approx(0.000040 * 9 / 5, rel=0.05)


@pytest.mark.parametrize(("humidity_pct", "per_m_mm"), [(60, 2), (80, 3), (100, 6)])
def test_a_metre_of_acrylic_in_moist_air(humidity_pct: int, per_m_mm: float) -> None:
    # Technical data of an extruded acrylic sheet: 0.2, 0.3 and 0.6 % at 60, 80 and 100 %RH
    # (secondary copies, two pages).
    assert moisture_growth_mm_per_m(humidity_pct) == pytest.approx(per_m_mm, abs=1e-9)


def test_heat_and_moisture_together_stay_within_the_usual_allowance() -> None:
    # A maker's page on temperature behaviour: allow 5 to 6 mm a metre of sheet; here from a dry
    # winter (-10 °C, 50 %RH) to a moist summer (35 °C, 80 %RH).
    found = movement("sheet", 10_000, 6_000, Air(-10, 50), Air(35, 80))
    assert found is not None
    assert found.moisture_mm is not None
    low_mm, high_mm = found.thermal_low_mm, found.thermal_high_mm
    assert 4.0 <= low_mm + found.moisture_mm <= high_mm + found.moisture_mm <= 6.0


def test_moisture_takes_weeks() -> None:
    # Plexiglas Design and Fabrication Data PLA 72e: 10 to 30 points of humidity, the major part
    # within 15 to 30 days; more than 60 points, as long as 70 days.
    assert [fact.value for fact in MOISTURE_DAYS] == [15, 30]
    assert MOISTURE_LONGEST.value == 70


def test_a_metre_of_composite_board_over_a_hundred_degrees() -> None:
    # Makers' figure from memory, 2.4 mm a metre at 100 K; a supplier's data page prints the same.
    found = movement("board", 10_000, 6_000, Air(-40), Air(60))
    assert found is not None
    assert found.thermal_mm == pytest.approx(2.4, abs=1e-9)
