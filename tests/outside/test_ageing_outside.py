"""Mean kinetic temperature, Arrhenius and ten-degree rules give the figures published elsewhere."""

import math
import random

import numpy as np
import pytest

from stockroom.core.climate.ageing import mean_kinetic_temp_c, rate
from stockroom.core.climate.bodies import LIKELY
from stockroom.core.climate.visits import Rule
from stockroom.core.freshness.ahead import steady

DAY = 86_400


def test_mkt_1_worked_example_of_a_stability_laboratory():
    """MKT-1: 20 °C for 2 h, 2 °C for 4 h, 25 °C for 1 h is 15.7 °C.

    Source: worked example in a UK stability laboratory's FAQ on mean kinetic temperature
    (secondary); 15.678 by the formula of USP <1160> (USP 29) with its R of 8.3144e-3.
    """
    told = mean_kinetic_temp_c([20, 2, 25], [2 * 3600, 4 * 3600, 3600], 83_144, 8.3144)
    assert told == pytest.approx(15.7, abs=0.05)
    assert told == pytest.approx(15.678, abs=0.001)


def test_mkt_2_exponents_of_a_tutorial():
    """MKT-2: 23 and 25 °C alike, dH/R 10 000 K, is 24.05 °C.

    Source: the exponents -33.772374198 and -33.545790003 are printed in a programming tutorial
    (secondary); the end result follows from them.
    """
    told = mean_kinetic_temp_c([23, 25], None, 10_000 * 8.3144, 8.3144)
    assert told == pytest.approx(24.05, abs=0.01)
    mean = (math.exp(-33.772374198) + math.exp(-33.545790003)) / 2
    printed_c = 10_000 / -math.log(mean) - 273.1  # 23 °C is 296.1 K in those exponents
    assert told == pytest.approx(printed_c, abs=0.001)


def test_mkt_3_one_warm_day_in_five():
    """MKT-3: 4, 4, 4, 4, 16 °C is 8.109 °C, mean 6.4. Source: the formula, R 8.314463."""
    told = mean_kinetic_temp_c([4, 4, 4, 4, 16], None, 83_144, 8.314463)
    assert told == pytest.approx(8.109, abs=0.001)


def test_mkt_4_never_below_the_mean_and_blind_to_order_and_splitting():
    """MKT-4: at least the weighted mean; constant gives itself; order and splitting change nothing.

    Source: glossary of ICH Q1A(R2) (mean kinetic temperature is higher than the arithmetic mean);
    the rest is mathematics.
    """
    rng = random.Random(6)
    for _ in range(100):
        temps = [rng.uniform(-30, 45) for _ in range(rng.randrange(1, 40))]
        weights = [rng.uniform(0.1, 5) for _ in temps]
        energy = rng.uniform(20e3, 250e3)
        told = mean_kinetic_temp_c(temps, weights, energy)
        assert told >= np.average(temps, weights=weights) - 1e-9
        assert told <= max(temps) + 1e-9
        order = rng.sample(range(len(temps)), len(temps))
        turned = mean_kinetic_temp_c([temps[i] for i in order], [weights[i] for i in order], energy)
        split = mean_kinetic_temp_c(
            [t for t in temps for _ in "ab"], [w * s for w in weights for s in (0.3, 0.7)], energy
        )
        assert turned == pytest.approx(told, abs=1e-9)
        assert split == pytest.approx(told, abs=1e-9)
        constant = mean_kinetic_temp_c([temps[0]] * 5, [1, 2, 3, 4, 5], energy)
        assert constant == pytest.approx(temps[0], abs=1e-9)


def test_mkt_5_a_hot_day_in_a_month():
    """MKT-5: 29 days at 25 °C and one at 40 °C is 26.11 °C. Source: the formula."""
    assert mean_kinetic_temp_c([25, 40], [29 * DAY, DAY]) == pytest.approx(26.11, abs=0.01)


def test_mkt_6_a_long_window_hides_a_warm_spell():
    """MKT-6: the same log over a year, its worst month and its worst day rises in that order.

    Source: 23.98 °C over 52 weeks, 28.98 over the worst 30 days, 30.7 over the worst day, in a
    stimuli article of Pharmacopeial Forum 44(4), as summarised by a GMP news page (secondary).
    Only the direction is checked: the log itself is not published.
    """
    hour = np.arange(364 * 24)
    temp = 22 + 3 * np.sin(2 * np.pi * hour / 8760) + 1.5 * np.sin(2 * np.pi * hour / 24)
    temp[2000 : 2000 + 20 * 24] += 5.0

    def worst(hours):
        starts = range(0, len(temp) - hours + 1, 24)
        return max(mean_kinetic_temp_c(temp[i : i + hours]) for i in starts)

    year, month, day = worst(len(temp)), worst(30 * 24), worst(24)
    assert year + 1 < month < day - 0.3


def test_arr_1_acceleration_of_a_reliability_package():
    """ARR-1: 1.2 eV from 60 to 100 °C is 88.29574588 times.

    Source: documentation of the Python package `reliability`. 1 eV is 96 485.33212 J/mol
    (CODATA 2018).
    """
    told = rate(100.0, 60.0, 1.2 * 96_485.33212, 0.0)
    assert told == pytest.approx(88.29574588, abs=1e-6)


def test_arr_2_from_a_room_to_a_cold_store():
    """ARR-2: 83.144 kJ/mol from 21 to 2 °C is 0.0956. Source: the formula."""
    assert rate(2.0, 21.0, 83_144.0, 0.0) == pytest.approx(0.0956, abs=1e-4)


def test_arr_3_ten_against_twenty_five_degrees():
    """ARR-3: 100 kJ/mol, 10 against 25 °C, is 88.199 % slower.

    Source: inputs published in the R package `rpmodel`, with R 8.3145.
    """
    told = rate(10.0, 25.0, 100_000.0 * 8.314462618 / 8.3145, 0.0)
    assert 100 * (1 - told) == pytest.approx(88.199, abs=0.001)


def energy_of_q10(q10: float, low_c: float, high_c: float) -> float:
    """Return the energy, J/mol, at which both rules agree at the two temperatures."""
    low_k, high_k = low_c + 273.15, high_c + 273.15
    return 8.314462618 * math.log(q10) * (high_k - low_k) / 10 / (1 / low_k - 1 / high_k)


def test_q10_1_two_years_at_twenty_five():
    """Q10-1: factor 2 for ten degrees, 55 against 25 °C: 8 times, 730 days in 91.25.

    Source: published example of the formula of ASTM F1980 (secondary).
    """
    energy = energy_of_q10(2.0, 25.0, 55.0)
    assert rate(55.0, 25.0, energy) == pytest.approx(8.0, rel=1e-12)
    ends_s = steady(55.0).runs_out_s(730.0, Rule(LIKELY, 25.0, energy), 0.0)
    assert ends_s / DAY == pytest.approx(91.25, rel=1e-12)


def test_q10_2_one_year_at_twenty_two():
    """Q10-2: factor 2, 55 against 22 °C: 9.849 times, 365 days in 37.06.

    Source: formula of ASTM F1980.
    """
    energy = energy_of_q10(2.0, 22.0, 55.0)
    assert rate(55.0, 22.0, energy) == pytest.approx(9.849, abs=0.001)
    ends_s = steady(55.0).runs_out_s(365.0, Rule(LIKELY, 22.0, energy), 0.0)
    assert ends_s / DAY == pytest.approx(37.06, abs=0.01)
