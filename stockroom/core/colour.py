"""How far apart two measured colours are, by the formulas of 1976 and 2000."""

import math
from dataclasses import dataclass

from stockroom.errors import BadValueError


@dataclass(frozen=True, slots=True)
class Lab:
    """A colour in CIELAB: lightness `l` (0 to 100), red over green `a`, yellow over blue `b`.

    Two are comparable only where illuminant, observer, measuring condition and backing agree.

    Raises
    ------
    BadValueError
        Where one of the three is no finite number.
    """

    l: float  # noqa: E741 - as the standard names it
    a: float
    b: float

    def __post_init__(self) -> None:
        if not all(map(math.isfinite, (self.l, self.a, self.b))):
            raise BadValueError(
                f"{self.l}, {self.a}, {self.b} is no colour.", "L*, a* and b* must be numbers."
            )


def delta_e_2000(first: Lab, second: Lab, kl: float = 1, kc: float = 1, kh: float = 1) -> float:
    """Return the colour difference of 2000, which weighs greys, blues and chroma as seen.

    Parameters
    ----------
    first, second : Lab
        In either order.
    kl, kc, kh : float
        Weights of lightness, chroma and hue; 1 each for the reference conditions.

    Raises
    ------
    BadValueError
        Where a weight is not above zero.

    Notes
    -----
    Source: Sharma, Wu and Dalal, "The CIEDE2000 color-difference formula: implementation notes,
    supplementary test data, and mathematical observations", Color Research and Application 30
    (2005) 21-30, equations 2 to 22; the same formula is ISO/CIE 11664-6.

    >>> round(delta_e_2000(Lab(95, 0, 0), Lab(95, 0, 2)), 4)
    1.9139
    """
    if not all(0 < weight < math.inf for weight in (kl, kc, kh)):
        raise BadValueError(f"{kl}, {kc}, {kh} cannot be weights.", "They must be above zero.")
    grey = 0.5 * (1 - _near_one((math.hypot(first.a, first.b) + _chroma(second)) / 2))
    chroma_1, hue_1 = _polar(first, grey)
    chroma_2, hue_2 = _polar(second, grey)
    has_hue = chroma_1 * chroma_2 != 0

    turn = hue_2 - hue_1
    if abs(turn) > 180:  # the shorter way round
        turn -= math.copysign(360, turn)
    by_lightness = second.l - first.l
    by_chroma = chroma_2 - chroma_1
    by_hue = 2 * math.sqrt(chroma_1 * chroma_2) * math.sin(math.radians(turn / 2))

    lightness = (first.l + second.l) / 2
    chroma = (chroma_1 + chroma_2) / 2
    hue = _mean_hue(hue_1, hue_2) if has_hue else hue_1 + hue_2

    seen = 1 - 0.17 * _cos(hue - 30) + 0.24 * _cos(2 * hue)
    seen += 0.32 * _cos(3 * hue + 6) - 0.20 * _cos(4 * hue - 63)
    off_middle = (lightness - 50) ** 2
    scale_l = 1 + 0.015 * off_middle / math.sqrt(20 + off_middle)
    scale_c = 1 + 0.045 * chroma
    scale_h = 1 + 0.015 * chroma * seen
    blue_turn = 30 * math.exp(-(((hue - 275) / 25) ** 2))
    rotation = -2 * _near_one(chroma) * math.sin(math.radians(2 * blue_turn))

    part_l = by_lightness / (kl * scale_l)
    part_c = by_chroma / (kc * scale_c)
    part_h = by_hue / (kh * scale_h)
    squares = part_l**2 + part_c**2 + part_h**2 + rotation * part_c * part_h
    return math.sqrt(max(0.0, squares))


def _chroma(colour: Lab) -> float:
    return math.hypot(colour.a, colour.b)


def _near_one(chroma: float) -> float:
    """The square root that rises from 0 for greys to 1 for strong colours."""
    seventh = min(chroma, 1e6) ** 7
    return math.sqrt(seventh / (seventh + 25.0**7))


def _polar(colour: Lab, grey: float) -> tuple[float, float]:
    """Chroma and hue in degrees, red over green stretched near the greys."""
    stretched = (1 + grey) * colour.a
    if stretched == 0 and colour.b == 0:
        return 0.0, 0.0
    return math.hypot(stretched, colour.b), math.degrees(math.atan2(colour.b, stretched)) % 360


def _mean_hue(first: float, second: float) -> float:
    """The hue half way along the shorter arc; along the smaller figures if exactly opposite."""
    both = first + second
    if abs(first - second) <= 180:
        return both / 2
    return (both + 360) / 2 if both < 360 else (both - 360) / 2


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))
