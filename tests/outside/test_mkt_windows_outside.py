"""Windows of a log give the mean kinetic temperatures that are published for the same course."""

import numpy as np
import pytest

from stockroom.core.climate.readings import Readings
from stockroom.core.climate.windows import DAY_S, Window, window_of
from stockroom.core.constants import GAS_CONSTANT

HOUR = 3600


def course(parts: list[tuple[float, float]], step_s: int, energy: float) -> Window:
    """A log of stretches (°C, hours), each reading in the middle of its own step, as one window."""
    temp = np.concatenate([np.full(round(hours * HOUR / step_s), told) for told, hours in parts])
    # one reading more at either end: a reading counts for half the steps that it lies between
    temp = np.concatenate((temp[:1], temp, temp[-1:]))
    t = np.arange(-1, len(temp) - 1) * step_s + step_s // 2
    return window_of(Readings.of(t, temp), 0, (len(temp) - 2) * step_s, [energy])


@pytest.mark.parametrize("step_s", [60, 300, 900, 1800])
def test_mkt_1_worked_example_of_a_stability_laboratory(step_s: int) -> None:
    """MKT-1 as a log: 20 °C for 2 h, 2 °C for 4 h, 25 °C for 1 h is 15.7 °C.

    Source: worked example in a UK stability laboratory's FAQ on mean kinetic temperature
    (secondary); 15.678 by the formula of USP <1160>, with its R of 8.3144.
    """
    energy = 83_144 / 8.3144 * GAS_CONSTANT.value
    window = course([(20, 2), (2, 4), (25, 1)], step_s, energy)
    assert window.logged_share == pytest.approx(1.0)
    assert window.mean_c == pytest.approx((20 * 2 + 2 * 4 + 25) / 7)
    assert window.mkt_c[0] == pytest.approx(15.7, abs=0.05)
    assert window.mkt_c[0] == pytest.approx(15.678, abs=0.001)


def test_mkt_2_exponents_of_a_tutorial() -> None:
    """MKT-2 as a log: 23 and 25 °C alike, dH/R 10 000 K, is 24.05 °C.

    Source: the exponents printed in a programming tutorial (secondary), see
    `test_ageing_outside.py`; the end result follows from them.
    """
    window = course([(23, 12), (25, 12)], 900, 10_000 * GAS_CONSTANT.value)
    assert window.mkt_c[0] == pytest.approx(24.05, abs=0.01)


def test_mkt_3_one_warm_day_in_five() -> None:
    """MKT-3 as a log: four days at 4 and one at 16 °C is 8.109 °C. Source: the formula."""
    window = course([(4, 48), (16, 24), (4, 48)], 900, 83_144)
    assert window.mkt_c[0] == pytest.approx(8.109, abs=0.001)
    assert window.mean_c == pytest.approx(6.4)
    assert window.worst_day is not None
    assert window.worst_day.mkt_c[0] == pytest.approx(16.0)
    assert (window.worst_day.from_s, window.worst_day.to_s) == (2 * DAY_S, 3 * DAY_S)


def test_mkt_5_a_hot_day_in_a_month() -> None:
    """MKT-5 as a log: 29 days at 25 °C and one at 40 °C is 26.11 °C. Source: the formula."""
    window = course([(25, 10 * 24), (40, 24), (25, 19 * 24)], 1800, 83_144)
    assert window.mkt_c[0] == pytest.approx(26.11, abs=0.01)
    assert window.worst_month is not None
    assert window.worst_month.mkt_c == pytest.approx(window.mkt_c)
    assert window.worst_day is not None
    assert window.worst_day.mkt_c[0] == pytest.approx(40.0)


def test_mkt_6_a_long_window_hides_a_warm_spell() -> None:
    """MKT-6 as a log: over a year, its worst month and its worst day it rises in that order.

    Source: 23.98 °C over 52 weeks, 28.98 over the worst 30 days, 30.7 over the worst day, in a
    stimuli article of Pharmacopeial Forum 44(4), as summarised by a GMP news page (secondary).
    Only the direction is checked: the log itself is not published.
    """
    hour = np.arange(364 * 24)
    temp = 22 + 3 * np.sin(2 * np.pi * hour / 8760) + 1.5 * np.sin(2 * np.pi * hour / 24)
    temp[2000 : 2000 + 20 * 24] += 5.0
    log = Readings.of(hour * HOUR, temp)
    year = window_of(log, 0, 363 * DAY_S, [83_144])
    assert year.worst_month is not None
    assert year.worst_day is not None
    assert year.mkt_c[0] + 1 < year.worst_month.mkt_c[0] < year.worst_day.mkt_c[0] - 0.3
    assert 2000 * HOUR <= year.worst_day.from_s < (2000 + 20 * 24) * HOUR


def test_readings_close_together_weigh_less() -> None:
    """Readings close together weigh less than those far apart, as in the integral over time.

    Source: the definition in USP <1160> asks for equal intervals; for unequal ones the trapezoid
    (half the steps either side) is the usual way (common practice).
    """
    t = np.concatenate((np.arange(0, 6 * HOUR, 60), np.arange(6 * HOUR, 12 * HOUR + 1, 900)))
    temp = np.where(t < 6 * HOUR, 2.0, 8.0)
    window = window_of(Readings.of(t, temp), 0, 12 * HOUR, [83_144])
    assert window.mean_c == pytest.approx(5.0, abs=0.02)
    assert window.mkt_c[0] == pytest.approx(5.536, abs=0.02)  # 2 and 8 °C alike, by the formula
    assert temp.mean() < 2.5
