"""Amounts as a person types them: metres of a roll, a number of sheets."""

from stockroom.core.model import Unit
from stockroom.desk.lookup import find, material_of
from stockroom.desk.session import Decision, Desk
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.view import StoreView
from stockroom.units import DMM_PER_M, length_dmm, m_text, number

LONGER_PERCENT = 2
"""A roll may hold so much more than its label says, % (our choice; makers wind a little over)."""
MOST_OF_ABOUT_PERCENT = 150
"""So much of what was "about" its length may be on it, %, where a whole one is not known."""


def amount_of(unit: Unit, text: str, *, zero: bool = False) -> int:
    """Return an amount of a unit: dmm of a roll or length (bare numbers are metres), or a count.

    Parameters
    ----------
    unit : Unit
        Of what.
    text : str
        Such as ``2.9 m``, ``2.9`` or ``3``.
    zero : bool
        Whether nothing at all is an answer, as in a count.

    Raises
    ------
    BadValueError
        Where it is no amount of that unit.
    """
    if unit.shape.by_length:
        if zero and text.strip(" m0.,") == "" and "0" in text:
            return 0
        return length_dmm(text, "m")
    value = number(text, "a number of sheets or goods")
    if value != int(value) or value < (0 if zero else 1):
        raise BadValueError(
            f"{text[:30]!r} is no number of sheets or goods.",
            "Whole ones are counted.",
            "Type it like 3.",
        )
    return int(value)


def read_amount(desk: Desk, unit: str, text: str, *, zero: bool = False) -> tuple[Unit, int]:
    """Return a unit by its code, and an amount of it."""
    with desk.reading() as view:
        found = find(view, Unit, unit)
    return found, amount_of(found, text, zero=zero)


def most_dmm(view: StoreView, unit: Unit) -> int:
    """Return the most that can be on a roll or length, dmm: what it came with, and a little more.

    What it came with is taken with its plus or minus of that day. Where its length was only
    "about" then, it may have been up to a whole one of its material.
    """
    came = unit.length_dmm
    about = _plus_minus_as_received(view, unit)
    if about:
        whole = material_of(view, unit).length_dmm
        came = max(came + about, whole or came * MOST_OF_ABOUT_PERCENT // 100)
    return came * (100 + LONGER_PERCENT) // 100


def could_be_on_it(decision: Decision, unit: Unit, amount: int) -> None:
    """Refuse more than a roll or length ever had: a slip of the hand, never a fact.

    Raises
    ------
    RefusedError
        Where it is more than `most_dmm`. Sheets and goods are counted, and never refused here.
    """
    if not unit.shape.by_length or amount <= most_dmm(decision.view, unit):
        return
    raise RefusedError(
        f"{m_text(amount)} cannot have been on {unit.code}: it came with "
        f"{m_text(unit.length_dmm)}.",
        f"A {unit.form} holds what it came with and {LONGER_PERCENT} % more at most, whatever the "
        "books hold of it.",
        "Look at the number, its decimal point, and at the code.",
    )


def checked_plus_minus(unit: Unit, amount: int, plus_minus_dmm: int) -> None:
    """Refuse a length of which nothing is known; within a metre even an empty core is told.

    Raises
    ------
    BadValueError
        Where it may be off by more than it is, or by a length where sheets or goods are counted.
    """
    if not plus_minus_dmm:
        return
    if not unit.shape.by_length:
        raise BadValueError(
            f"{unit.code} is counted, not measured.",
            "Only the length of a roll or profile may be off by so much.",
            "Leave out what it may be off by.",
        )
    if plus_minus_dmm > max(amount, DMM_PER_M):
        raise BadValueError(
            f"{m_text(amount)} that may be off by {m_text(plus_minus_dmm)} is no length.",
            "It may be off by more than there is.",
            "Measure it again, or say within what it lies.",
        )


def _plus_minus_as_received(view: StoreView, unit: Unit) -> int:
    """What its length was off by on the day it came, as the act that brought it says, dmm."""
    act = view.act(unit.received_act)
    items = act.payload.get("units", ()) if act is not None else ()
    for item in items:
        if item["code"] == unit.code:
            return int(item.get("plus_minus_dmm") or 0)
    return 0
