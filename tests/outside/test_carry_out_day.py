"""A day on which a roll was carried out is aged rightly on 15-minute steps, and not on 60-minute.

The course is known exactly: 4 °C, out at 21 °C for two hours and back again, followed with a time
constant of 30 min (a lumped body by Newton's law of cooling; textbook form, from memory). Its
ageing by Arrhenius is integrated by `scipy.integrate.quad`, a published adaptive quadrature
(QUADPACK, Piessens et al. 1983), and compared with the trapezoid over readings of it.
"""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from stockroom.core.climate.ageing import Scenario, used_life
from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.readings import Readings, too_coarse
from stockroom.core.constants import LOG_STEP_COARSE, LOG_STEP_ENOUGH

COLD_C, WARM_C, LABEL_C = 4.0, 21.0, 10.0
OUT_S, BACK_S, END_S = 36_000.0, 43_200.0, 86_400.0
TAU_S = 1_800.0
ENERGIES_J_MOL = (60_000.0, 90_000.0, 120_000.0)


def inside_c(t_s: float) -> float:
    """The body's temperature, °C: the exact answer to two steps of its air."""
    if t_s <= OUT_S:
        return COLD_C
    if t_s <= BACK_S:
        return WARM_C + (COLD_C - WARM_C) * math.exp((OUT_S - t_s) / TAU_S)
    return COLD_C + (inside_c(BACK_S) - COLD_C) * math.exp((BACK_S - t_s) / TAU_S)


def exact_days(energy_j_mol: float) -> float:
    """Days of life used in the day, without the product's own rate."""

    def speed(t_s: float) -> float:
        return math.exp(
            energy_j_mol / 8.314462618 * (1 / (LABEL_C + 273.15) - 1 / (inside_c(t_s) + 273.15))
        )

    pieces = ((0.0, OUT_S), (OUT_S, BACK_S), (BACK_S, END_S))
    return sum(quad(speed, *piece, epsabs=1e-6, epsrel=1e-11)[0] for piece in pieces) / END_S


def errors(step_s: int, energy_j_mol: float) -> list[float]:
    """Relative errors of the trapezoid, the logger's clock begun at different moments."""
    exact = exact_days(energy_j_mol)
    found = []
    for begun_s in np.linspace(0, step_s, 16, endpoint=False).astype(int).tolist():
        t_s = np.arange(begun_s - 2 * step_s, END_S + 2 * step_s, step_s).astype(np.int64)
        log = Readings.of(t_s, [inside_c(t) for t in t_s.tolist()])
        used = used_life(log, 0, END_S, PlaceClimate(COLD_C), LABEL_C, Scenario(energy_j_mol))
        assert used.filled_share == 0
        found.append(used.days / exact - 1)
    return found


@pytest.mark.parametrize("energy_j_mol", ENERGIES_J_MOL)
def test_fifteen_minutes_are_within_one_per_cent(energy_j_mol: float) -> None:
    found = errors(int(LOG_STEP_ENOUGH.value), energy_j_mol)
    assert LOG_STEP_ENOUGH.value == 900
    assert not too_coarse(LOG_STEP_ENOUGH.value)
    assert max(map(abs, found)) < 0.01
    assert max(found) - min(found) > 0.001  # when the logger began does matter


@pytest.mark.parametrize("energy_j_mol", ENERGIES_J_MOL)
def test_an_hour_is_not(energy_j_mol: float) -> None:
    assert too_coarse(3_600)
    assert max(map(abs, errors(3_600, energy_j_mol))) > 0.01


def test_the_figures_that_the_constants_name() -> None:
    """Up to 10 % at an hour, 3.5 % at half an hour and 1 % at a quarter, at 120 kJ/mol."""
    worst = [max(map(abs, errors(step, 120_000.0))) for step in (900, 1_800, 3_600)]
    assert worst == pytest.approx([0.010, 0.035, 0.10], rel=0.05)
    assert LOG_STEP_COARSE.value == 1_800
    assert "up to 10 %" in LOG_STEP_COARSE.source
    assert "3.5 %" in LOG_STEP_COARSE.source
