"""Colour differences agree with the published pairs and with a general colour library."""

import pytest

from stockroom.core.colour import Lab, delta_e_2000

# Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation notes,
# supplementary test data, and mathematical observations", Color Research and Application 30
# (2005) 21-30, table 1: all 34 pairs, to the four places printed. The library colour-science
# 0.4.7 reproduces them too.
BLUE = (50.0, 0.0, -82.7485)
RED = (50.0, 2.5, 0.0)
PAIRS = [
    ((50.0, 2.6772, -79.7751), BLUE, 2.0425),
    ((50.0, 3.1571, -77.2803), BLUE, 2.8615),
    ((50.0, 2.8361, -74.0200), BLUE, 3.4412),
    ((50.0, -1.3802, -84.2814), BLUE, 1.0000),
    ((50.0, -1.1848, -84.8006), BLUE, 1.0000),
    ((50.0, -0.9009, -85.5211), BLUE, 1.0000),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, -1.0, 2.0), (50.0, 0.0, 0.0), 2.3669),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0009), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0010), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0011), 7.2195),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0012), 7.2195),
    ((50.0, -0.001, 2.49), (50.0, 0.0009, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.0010, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.0011, -2.49), 4.7461),
    (RED, (50.0, 0.0, -2.5), 4.3065),
    (RED, (73.0, 25.0, -18.0), 27.1492),
    (RED, (61.0, -5.0, 29.0), 22.8977),
    (RED, (56.0, -27.0, -3.0), 31.9030),
    (RED, (58.0, 24.0, 15.0), 19.4535),
    (RED, (50.0, 3.1736, 0.5854), 1.0000),
    (RED, (50.0, 3.2972, 0.0), 1.0000),
    (RED, (50.0, 1.8634, 0.5757), 1.0000),
    (RED, (50.0, 3.2592, 0.3350), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.2480, -4.9620), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.6940), (23.0331, 14.9730, -42.5619), 2.0373),
    ((36.4612, 47.8580, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.4410), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.1350), (0.9033, -0.0636, -0.5514), 0.9082),
]

Triple = tuple[float, float, float]


def test_the_table_is_whole() -> None:
    assert len(PAIRS) == 34


@pytest.mark.parametrize(("first", "second", "printed"), PAIRS, ids=range(1, 35))
def test_the_published_pairs_of_2000(first: Triple, second: Triple, printed: float) -> None:
    assert delta_e_2000(Lab(*first), Lab(*second)) == pytest.approx(printed, abs=5e-5)
    assert delta_e_2000(Lab(*second), Lab(*first)) == pytest.approx(printed, abs=5e-5)


def test_two_near_whites() -> None:
    # 2.0 apart in b*; from colour-science 0.4.7.
    assert delta_e_2000(Lab(95, 0, 0), Lab(95, 0, 2)) == pytest.approx(1.9139, abs=5e-5)
