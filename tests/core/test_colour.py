"""Colour differences are distances: never negative, nought for one colour, the same both ways."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.colour import Lab, delta_e_2000
from stockroom.errors import BadValueError

ab = st.floats(-120, 120)
labs = st.builds(Lab, st.floats(0, 100), ab, ab)


@given(labs, labs)
def test_it_is_the_same_both_ways_and_never_below_nought(first: Lab, second: Lab) -> None:
    there, back = delta_e_2000(first, second), delta_e_2000(second, first)
    assert there >= 0
    assert there == pytest.approx(back, rel=1e-9, abs=1e-9)


@given(labs)
def test_a_colour_is_no_distance_from_itself(colour: Lab) -> None:
    assert delta_e_2000(colour, colour) == 0


@given(st.floats(0, 100), st.floats(0, 100))
def test_two_greys_differ_by_their_lightness_alone(first: float, second: float) -> None:
    off = ((first + second) / 2 - 50) ** 2
    weighed = abs(first - second) / (1 + 0.015 * off / math.sqrt(20 + off))
    found = delta_e_2000(Lab(first, 0, 0), Lab(second, 0, 0))
    assert found == pytest.approx(weighed, rel=1e-12, abs=1e-12)


@given(labs, labs, st.floats(0.2, 5))
def test_weighing_all_three_alike_scales_the_difference(
    first: Lab, second: Lab, weight: float
) -> None:
    once = delta_e_2000(first, second)
    weighed = delta_e_2000(first, second, weight, weight, weight)
    assert weighed * weight == pytest.approx(once, rel=1e-6, abs=1e-6)


def test_each_weight_takes_its_own_part() -> None:
    grey, lighter = Lab(50, 0, 0), Lab(60, 0, 0)
    assert delta_e_2000(grey, lighter, kl=2) == pytest.approx(delta_e_2000(grey, lighter) / 2)
    assert delta_e_2000(grey, lighter, kc=2, kh=2) == delta_e_2000(grey, lighter)
    dull, strong = Lab(50, 20, 0), Lab(50, 30, 0)
    assert delta_e_2000(dull, strong, kc=2) == pytest.approx(delta_e_2000(dull, strong) / 2)


def test_a_strong_colour_does_not_overflow() -> None:
    assert math.isfinite(delta_e_2000(Lab(50, 1e60, 0), Lab(50, 0, 1e60)))


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_what_is_no_number_is_no_colour(bad: float) -> None:
    with pytest.raises(BadValueError):
        Lab(95, 0, bad)


@pytest.mark.parametrize("weight", [0.0, -1.0, math.nan, math.inf])
def test_a_weight_must_be_above_nought(weight: float) -> None:
    with pytest.raises(BadValueError):
        delta_e_2000(Lab(95, 0, 0), Lab(95, 0, 2), kl=weight)
