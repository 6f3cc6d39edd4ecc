"""What the cells of a job list may say, and how each is read."""

import re
from collections.abc import Mapping
from typing import TypeVar

from stockroom.core.craft import Certainty, PrintedBy
from stockroom.errors import BadValueError
from stockroom.intake import job_headers as headers
from stockroom.intake import stock_values as values
from stockroom.units import number

W = TypeVar("W")

MOST_PIECES = 10_000
"""Most pieces of one row, and largest edition (our choice)."""
MOST_LAB_DAYS = 366
"""Longest that an outside lab may take, days (our choice)."""

_SIDE = re.compile(
    r"(?P<number>.+?)\s*\(?(?P<unit>mm|cm|in\.?|m|inch(?:es)?|\"|″|”|'')?\)?", re.IGNORECASE
)
_FRACTION = re.compile(r"(?:([0-9]{1,4})[\s-]+)?([0-9]{1,2})/(2|4|8|16|32|64)")
_SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_EDITION = re.compile(
    r"(?:([0-9]{1,5})(?:\s*[-–]\s*([0-9]{1,5}))?)?(?:\s*(?:/|of)\s*([0-9]{1,5}))?"
)
_WHOLE = re.compile(r"([0-9]+)[.,]00?")
"""A whole number as spreadsheets write it; three noughts might part thousands."""
_DAYS = re.compile(r"([0-9]{1,3})(?:\s*days?)?", re.IGNORECASE)


def split_side(text: str) -> tuple[str, str]:
    """Return the number of a side, its fraction worked out, and the unit written with it.

    >>> split_side('47 1/4"'), split_side("120 (cm)"), split_side("31½")
    (('47.25', 'in'), ('120', 'cm'), ('31.5', ''))
    """
    found = _SIDE.fullmatch(text.strip())
    if found is None:
        return text, ""
    bare, unit = found["number"], (found["unit"] or "").lower()
    if unit not in ("", *headers.UNITS):
        unit = "in"
    for sign, plain in _SIGNS.items():
        bare = bare.replace(sign, f" {plain}")
    fraction = _FRACTION.fullmatch(bare.strip())
    if fraction:
        value = number(fraction[1] or "0") + number(fraction[2]) / number(fraction[3])
        bare = format(value, "f")
    return bare, unit


def read_pieces(text: str) -> int:
    """Return a whole number of pieces.

    >>> read_pieces("12 pcs"), read_pieces("3.0")
    (12, 3)
    """
    whole = _WHOLE.fullmatch(text)
    try:
        count = values.read_count(whole[1] if whole else text)
    except BadValueError:
        count = 0
    if not 1 <= count <= MOST_PIECES:
        raise values.bad(
            text, "not a count", f"A whole number from 1 to {MOST_PIECES} is wanted.", "Type 12."
        )
    return count


def read_edition(text: str, *, bare: bool = False) -> tuple[int | None, int | None, int | None]:
    """Return the first and last number, and the size of the edition.

    Parameters
    ----------
    text : str
        Such as 3/8, 1-3/8, 5 of 8, of 8.
    bare : bool
        Whether one number alone is taken, as a number of the edition; else it might be its size.

    >>> read_edition("1-3/8"), read_edition("5 of 8"), read_edition("of 8")
    ((1, 3, 8), (5, None, 8), (None, None, 8))
    """
    found = _EDITION.fullmatch(text.strip().lower().removeprefix("edition").strip())
    parts = found.groups() if found else ("0", None, None)
    first, last, of = (int(part) if part else None for part in parts)
    if first and last is None and of is None and not bare:
        raise values.bad(
            text,
            "not clear",
            "It may be a number of the edition or how many there are.",
            "Type it like 3/8, or of 8.",
        )
    told = [part for part in (first, last, of) if part is not None]
    if of and max(told) > of:
        raise values.bad(
            text,
            "no edition that can be",
            f"Number {max(told)} is beyond an edition of {of}.",
            "Type the number first, like 3/8.",
        )
    if not told or min(told) < 1 or told != sorted(told) or told[-1] > MOST_PIECES:
        raise values.bad(
            text, "no edition", "A number, and of how many, is wanted.", "Type it like 3/8."
        )
    return first, last, of


def read_lab_days(text: str) -> int:
    """Return how long a lab takes, days.

    >>> read_lab_days("10 days")
    10
    """
    found = _DAYS.fullmatch(text)
    if not found or int(found[1]) > MOST_LAB_DAYS:
        why = f"Whole days up to {MOST_LAB_DAYS} are wanted."
        raise values.bad(text, "no number of days", why, "Type it like 10.")
    return int(found[1])


def read_certainty(text: str, yes_or_no: bool) -> Certainty:
    """Return how sure a job is, from a word for it; a share in per cent is not taken.

    >>> read_certainty("On option", False), read_certainty("x", True)
    ('likely', 'sure')
    """
    word = text.strip().lower()
    if yes_or_no and word in headers.YES | headers.NO:
        return "sure" if word in headers.YES else "maybe"
    why = "A share in per cent is not taken." if "%" in text else "The word is not known."
    return _one_of(text, headers.CERTAINTY_OF_WORD, "no certainty", why)


def read_printer(text: str) -> PrintedBy:
    why = "It says who makes the print."
    return _one_of(text, headers.PRINTER_OF_WORD, "not known", why)


def read_yes(text: str) -> bool:
    bare = text.strip().lower()
    if bare not in headers.YES | headers.NO:
        raise values.bad(text, "neither yes nor no", "", "Write yes, or no.")
    return bare in headers.YES


def _one_of(text: str, words: Mapping[str, W], what: str, why: str) -> W:
    bare = " ".join(text.strip().lower().split())
    if bare not in words:
        known = ", ".join(dict.fromkeys(str(word) for word in words.values()))
        raise values.bad(text, what, why, f"Write one of: {known}.")
    return words[bare]
