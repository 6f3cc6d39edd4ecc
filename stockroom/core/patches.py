"""Measured patches held against each other: only those that were measured alike are."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from stockroom.core.colour import Lab, delta_e_2000
from stockroom.core.records import Patch

Quantity = Literal["b", "density"]

QUANTITIES: dict[Quantity, str] = {"b": "b*", "density": "density"}
"""What a white is told by; a patch has at least one of them."""


def by_time(patch: Patch) -> tuple[int, int]:
    """Return what patches are put in order of time by."""
    return patch.at_s, patch.act


SHORTEST_CODE = 5
"""So many digits are meant as a code, never as a strip's own name: codes have no fewer."""


def is_code(control: str) -> bool:
    """Return whether what a control is called means another roll, by its code.

    >>> is_code("10151"), is_code("strip A"), is_code("12")
    (True, False, False)
    """
    return control.isascii() and control.isdigit() and len(control) >= SHORTEST_CODE


@dataclass(frozen=True, slots=True)
class Apart:
    """A patch, and how far it lies from the first one of its roll, as measured.

    Attributes
    ----------
    why_not : str
        Why it is not compared; "" where it is, and for the first one.
    delta_e_2000 : float or None
        Colour difference of 2000; None where not all of L*, a*, b* were measured.
    delta_b, delta_density : float or None
        This one less the first.
    """

    patch: Patch
    why_not: str = ""
    delta_e_2000: float | None = None
    delta_b: float | None = None
    delta_density: float | None = None


def apart(patches: Sequence[Patch]) -> list[Apart]:
    """Return each patch against the first, where they were measured alike.

    >>> def patch(b_milli, measuring):
    ...     return Patch(code="1", unit="2", at_s=0, act=1, b_milli=b_milli, instrument="Spectro",
    ...                  measuring=measuring)
    >>> found = apart([patch(-2_400, "M1"), patch(-2_150, "M1"), patch(-900, "M0")])
    >>> [item.delta_b for item in found], found[2].why_not
    ([None, 0.25, None], 'another measuring condition')
    """
    return [Apart(patch) if patch is patches[0] else _apart(patches[0], patch) for patch in patches]


def held_against(
    patches: Sequence[Patch],
    quantity: Quantity,
    instrument: str,
    measuring: str,
    backing: str,
) -> Patch | None:
    """Return what a patch measured so is held against: the first measured so, with a control.

    Parameters
    ----------
    patches : sequence of Patch
        Of its emulsion, in order of time.
    quantity, instrument, measuring, backing : str
        How it is measured; capitals of the instrument do not matter.
    """
    wanted = (instrument.casefold(), measuring, backing)
    for patch in patches:
        both = (_value(patch, quantity), _value(patch, f"control_{quantity}"))
        alike = (patch.instrument.casefold(), patch.measuring, patch.backing)
        if None not in both and alike == wanted:
            return patch
    return None


def _apart(first: Patch, patch: Patch) -> Apart:
    differs = [
        word
        for word, one, two in (
            ("another instrument", first.instrument, patch.instrument),
            ("another measuring condition", first.measuring, patch.measuring),
            ("another backing", first.backing, patch.backing),
        )
        if one != two
    ]
    if differs:
        return Apart(patch, ", ".join(differs))
    deltas = [
        None if one is None or two is None else (two - one) / 1_000
        for one, two in (
            (first.b_milli, patch.b_milli),
            (first.density_milli, patch.density_milli),
        )
    ]
    if deltas == [None, None]:
        return Apart(patch, "another quantity")
    one, two = _lab(first), _lab(patch)
    colour = None if one is None or two is None else delta_e_2000(one, two)
    return Apart(patch, "", colour, *deltas)


def _lab(patch: Patch) -> Lab | None:
    values = (patch.l_milli, patch.a_milli, patch.b_milli)
    found = [value / 1_000 for value in values if value is not None]
    return Lab(*found) if len(found) == 3 else None


def _value(patch: Patch, name: str) -> int | None:
    value: int | None = getattr(patch, f"{name}_milli")
    return value
