"""Figures a person may ask about: each with its inputs, its rule, and its sources."""

import math
from dataclasses import dataclass
from typing import Literal

from stockroom.core.constants import Constant

Tone = Literal["", "good", "ask", "bad"]
"""How a figure or notice is meant: plainly, well, in doubt, badly. Never told by colour alone."""


@dataclass(frozen=True, slots=True)
class Input:
    """One thing a figure was made from: its name, its value with the unit, where it is from."""

    name: str
    value: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a unit, and all that stands behind it.

    Attributes
    ----------
    group : str
        Under which heading it stands.
    name, value : str
        What it is called, and what it comes to with its unit.
    how : str
        The rule or formula, as a sentence.
    inputs : tuple of Input
        What it was made from.
    tone : str
        How it is meant.
    form : str
        The form in which a person may change what it rests on; "" for none.
    """

    group: str
    name: str
    value: str
    how: str
    inputs: tuple[Input, ...] = ()
    tone: Tone = ""
    form: str = ""


@dataclass(frozen=True, slots=True)
class Notice:
    """Something about a unit that one should see in the morning.

    `act` names the form in which it is settled; "" where looking at the unit is all.
    """

    unit: str
    what: str
    why: str
    tone: Tone = "ask"
    act: str = ""


def of_constant(name: str, constant: Constant) -> Input:
    """Return a constant as an input, with its source and how sure we are.

    >>> of_constant("Floor", Constant(0.05, "days a day", "a guess", "estimate"))
    Input(name='Floor', value='0.05 days a day', source='a guess (estimate)')
    >>> of_constant("Exponent", Constant(1.2, "1", "ours", "estimate")).value
    '1.2'
    >>> of_constant("Tells from", Constant(0.15, "share", "ours", "our choice")).value
    '15 %'
    >>> of_constant("Rolls differ by", Constant(0.2, "ln life", "ours", "estimate")).value
    'a factor of 1.22 in life'
    >>> of_constant("Paper holds", Constant(1.54e6, "J/(m3 K)", "paper", "secondary")).value
    '1 540 000 J/(m³ K)'
    """
    return Input(name, _value(constant), f"{constant.source} ({constant.sure})")


def _value(constant: Constant) -> str:
    """A constant with its unit, as a person reads it."""
    unit, _, of = constant.unit.partition(" ")
    if constant.unit == "1":
        return f"{constant.value:g}"
    if unit == "share":
        return f"{100 * constant.value:g} % {of}".rstrip()
    if unit == "ln":
        return f"a factor of {math.exp(constant.value):.2f} in {of}"
    value = (
        f"{constant.value:,.0f}".replace(",", " ")
        if constant.value >= 100_000
        else f"{constant.value:g}"
    )
    return f"{value} {constant.unit.replace('m2', 'm²').replace('m3', 'm³')}"


def of_label(name: str, value: str) -> Input:
    """Return what a material's own label or sheet says as an input."""
    return Input(name, value, "as written down for this material")
