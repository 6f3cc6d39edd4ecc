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


def of_constant(name: str, fact: Constant) -> Input:
    """Return a constant as an input, with its source and how sure we are.

    >>> of_fact("Floor", Fact(0.05, "days a day", "a guess", "estimate"))
    Input(name='Floor', value='0.05 days a day', source='a guess (estimate)')
    >>> of_fact("Exponent", Fact(1.2, "1", "ours", "estimate")).value
    '1.2'
    >>> of_fact("Tells from", Fact(0.15, "share", "ours", "our choice")).value
    '15 %'
    >>> of_fact("Rolls differ by", Fact(0.2, "ln life", "ours", "estimate")).value
    'a factor of 1.22 in life'
    >>> of_fact("Paper holds", Fact(1.54e6, "J/(m3 K)", "paper", "secondary")).value
    '1 540 000 J/(m³ K)'
    """
    return Input(name, _value(fact), f"{fact.source} ({fact.sure})")


def _value(fact: Constant) -> str:
    """A constant with its unit, as a person reads it."""
    unit, _, of = fact.unit.partition(" ")
    if fact.unit == "1":
        return f"{fact.value:g}"
    if unit == "share":
        return f"{100 * fact.value:g} % {of}".rstrip()
    if unit == "ln":
        return f"a factor of {math.exp(fact.value):.2f} in {of}"
    value = f"{fact.value:,.0f}".replace(",", " ") if fact.value >= 100_000 else f"{fact.value:g}"
    return f"{value} {fact.unit.replace('m2', 'm²').replace('m3', 'm³')}"


def of_label(name: str, value: str) -> Input:
    """Return what a material's own label or sheet says as an input."""
    return Input(name, value, "as written down for this material")
