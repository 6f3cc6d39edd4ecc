"""Amounts as a person types them: metres of a roll, a number of sheets."""

from stockroom.core.model import Unit
from stockroom.desk.lookup import find
from stockroom.desk.session import Desk
from stockroom.errors import BadValueError
from stockroom.units import length_dmm, number


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
    if unit.form in ("roll", "length"):
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
