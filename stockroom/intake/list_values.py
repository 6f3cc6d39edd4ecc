"""How the cells of a person's list are read, and what is said of those that cannot be."""

import re
from collections.abc import Callable, Mapping
from datetime import date
from typing import TypeVar

from stockroom.core.model import UNKNOWN
from stockroom.errors import BadValueError
from stockroom.intake.dates import day_under, own_order, read_day
from stockroom.intake.list_columns import UNITS
from stockroom.intake.list_rows import Cell
from stockroom.text import safe
from stockroom.times import FIRST_YEAR, LAST_YEAR, in_trade
from stockroom.units import DMM_PER_M, DMM_PER_MM, cents, number

UNKNOWN_WORDS = frozenset({"", "?", "??", "-", "unknown", "n/a", "na", "none", "not known"})
YES_OR_NO = {
    **dict.fromkeys(("yes", "y", "x", "true", "1", "series", "one emulsion"), True),
    **dict.fromkeys(("no", "n", "false", "0", "-"), False),
}
SMALLEST_SIDE_DMM = 10 * DMM_PER_MM
"""Smallest width, height or length taken, dmm (our choice: 10 mm)."""
LARGEST_SIDE_DMM = 10 * DMM_PER_M
"""Largest width or height, and length of a sheet, dmm (our choice: 10 m)."""

_SIDE = re.compile(
    r"(?P<number>.+?)\s*\(?(?P<unit>mm|cm|in\.?|m|inch(?:es)?|\"|″|”|'')?\)?", re.IGNORECASE
)
_FRACTION = re.compile(r"(?:([0-9]{1,4})[\s-]+)?([0-9]{1,2})/(2|4|8|16|32|64)")
_SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_THOUSANDS = re.compile(r"[0-9]{1,3}[.,][0-9]{3}")

V = TypeVar("V")


def bad(text: str, what: str, why: str, try_: str) -> BadValueError:
    """Return the error for a cell."""
    return BadValueError(f"{text[:40]!r} is {what}.", why, try_)


# Words


def one_of(words: Mapping[str, V], what: str, why: str = "") -> Callable[[str], V]:
    """Return a reader of one of a few words, in any case.

    >>> one_of({"roll": "roll", "rolls": "roll"}, "no form")("Rolls")
    'roll'
    """

    def read(text: str) -> V:
        bare = " ".join(text.lower().split())
        if bare not in words:
            known = ", ".join(dict.fromkeys(str(word) for word in words.values()))
            raise bad(text, what, why, f"Write one of: {known}.")
        return words[bare]

    return read


def yes_or_no(text: str) -> bool:
    """Return whether a cell says yes."""
    if text.lower() not in YES_OR_NO:
        raise bad(text, "neither yes nor no", "", "Write yes, or no.")
    return YES_OR_NO[text.lower()]


def name_or_unknown(text: str) -> str:
    """Return a batch or emulsion number, or the word for an unknown one.

    >>> name_or_unknown("E-0417"), name_or_unknown("?")
    ('E-0417', 'unknown')
    """
    return UNKNOWN if text.lower() in UNKNOWN_WORDS else safe(text)


# Numbers


def whole(
    least: int,
    most: int | None,
    try_: str,
    what: str = "not a count",
    words: str = r"x|pcs?\.?|pieces?|sheets?|rolls?|lengths?",
) -> Callable[[str], int]:
    """Return a reader of whole numbers, alone or with one of the words.

    >>> whole(1, 100, "")("12 pcs"), whole(1, 100, "")("3.0")
    (12, 3)
    """

    # three noughts after a point or comma might part thousands
    whole_number = re.compile(rf"([0-9]{{1,9}})(?:[.,]00?)?\s*(?:{words})?", re.IGNORECASE)

    def read(text: str) -> int:
        found = whole_number.fullmatch(text)
        if not found or int(found[1]) < least or (most and int(found[1]) > most):
            up_to = f" to {most}" if most else ""
            raise bad(text, what, f"A whole number from {least}{up_to} is wanted.", try_)
        return int(found[1])

    return read


def price_cents(text: str) -> int:
    """Return a price in cents, unless its point or comma may part thousands.

    >>> price_cents("412,50")
    41250
    """
    if _THOUSANDS.fullmatch(text):
        why = "The point or comma could part thousands or cents."
        raise bad(text, "not clear", why, "Type it like 1200.00.")
    return cents(text)


# Sizes


def split_side(text: str) -> tuple[str, str]:
    """Return the number of a side, its fraction worked out, and the unit written with it.

    >>> split_side('47 1/4"'), split_side("120 (cm)"), split_side("31½")
    (('47.25', 'in'), ('120', 'cm'), ('31.5', ''))
    """
    found = _SIDE.fullmatch(text.strip())
    if found is None:
        return text, ""
    bare, unit = found["number"], (found["unit"] or "").lower()
    if unit not in ("", *UNITS):
        unit = "in"
    for sign, plain in _SIGNS.items():
        bare = bare.replace(sign, f" {plain}")
    fraction = _FRACTION.fullmatch(bare.strip())
    if fraction:
        value = number(fraction[1] or "0") + number(fraction[2]) / number(fraction[3])
        bare = format(value, "f")
    return bare, unit


def likely_side_dmm(dmm: int, text: str, most_dmm: int = LARGEST_SIDE_DMM) -> int:
    """Return a side of a likely size, or raise the error for its cell."""
    if SMALLEST_SIDE_DMM <= dmm <= most_dmm:
        return dmm
    raise bad(
        text,
        "hardly meant",
        f"It would be {dmm / DMM_PER_MM:g} mm; from {SMALLEST_SIDE_DMM // DMM_PER_MM} mm to "
        f"{most_dmm // DMM_PER_M} m are taken here.",
        "Write the unit beside the number, like 1250 mm or 30 m.",
    )


# Days


def day(cell: Cell) -> date | None:
    """Return a day, or None where it is unknown."""
    if cell.day is not None:
        if in_trade(cell.day):
            return cell.day
        raise bad(cell, "no likely date", "Its year is far off.", "Look at the year.")
    if cell.lower() in UNKNOWN_WORDS:
        return None
    found, order = read_day(cell), cell.row.setting.order
    if isinstance(found, tuple):
        order = order or own_order(found) or ("day first" if found[0] == found[1] else None)
        if order is None and day_under(found, "day first"):
            why = "Nothing in the list says which number is the day."
            try_ = "Say --day-first or --month-first, or write it like 2026-05-31."
            raise bad(cell, "not clear", why, try_)
        found = day_under(found, order) if order else None
    if found is None:
        why = f"A whole day is wanted, with a year from {FIRST_YEAR} to {LAST_YEAR}."
        raise bad(cell, "not a date", why, "Write it like 2026-05-31.")
    return found


def past_day(cell: Cell) -> date | None:
    """Return a day that has come, or None where it is unknown."""
    found = day(cell)
    if found is not None and found > cell.row.setting.today:
        raise BadValueError(f"{found.isoformat()} is still to come")
    return found
