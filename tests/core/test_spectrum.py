"""From running counts by temperature, ageing at any energy and sensor offset."""

import numpy as np
import pytest
from support.airs import CLIMATES, DAYS, log
from support.studio import DAY_S

from stockroom.core.climate.ageing import Scenario, used_life
from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.readings import Readings, step_s
from stockroom.core.climate.spectrum import Spectrum
from stockroom.core.climate.sums import Track

ENERGIES = [40e3, 60e3, 85e3, 120e3, 150e3]
OFFSETS = [-2.0, -0.5, 0.0, 0.3, 2.0]


def worst(readings, place, spans):
    """The worst relative difference over energies, offsets and spans, to a reckoning anew."""
    step = step_s(readings)
    spectrum = Spectrum(Track(believed(readings, 0, DAYS * DAY_S, place, usual=step)))
    a, b = spans
    apart = []
    for energy in ENERGIES:
        for offset in OFFSETS:
            got = spectrum.life(a, b, 10.0, energy, offset)
            for at in range(len(a)):
                scenario = Scenario(energy, offset)
                exact = used_life(readings, a[at], b[at], place, 10.0, scenario, usual=step)
                apart.append(abs(got[at] / exact.days - 1))
    return max(apart)


def spans(n, seed):
    chance = np.random.default_rng(seed)
    a = chance.uniform(DAY_S, (DAYS - 25) * DAY_S, n)
    return a, a + chance.choice([600, 9_000, 86_400, 864_000, 2_000_000], n)


@pytest.mark.parametrize(("mean_c", "name"), [(4.0, "store"), (21.0, "room"), (-18.0, "freezer")])
def test_tenths_of_a_degree_are_counted_exactly(mean_c, name):
    """Logs in 0.1 °C steps: any energy of 40 to 150 kJ/mol, any offset within 2 K, to 1e-6."""
    readings = log(mean_c, 11, 120)
    assert worst(readings, CLIMATES[name], spans(10, 1)) <= 1e-6


@pytest.mark.parametrize("grid_k", [0.01, 1 / 1.8 / 10, 0.0625, 0.25])
def test_other_steps_stay_within_two_in_ten_thousand(grid_k):
    """Logs in other steps (hundredths, tenths of °F, sixteenths): to 2e-4."""
    readings = log(4.0, 12, 120, grid_k)
    assert worst(readings, CLIMATES["store"], spans(8, 2)) <= 2e-4


def test_a_constant_between_two_bins_is_the_worst_case():
    """A store that stands at 4.05 °C all along: the mean is kept; only the bend is missed."""
    readings = Readings.of(np.arange(0, DAYS * DAY_S + 1, 300), np.full(DAYS * 288 + 1, 4.05))
    assert worst(readings, PlaceClimate(4.0), spans(4, 3)) <= 2e-4
