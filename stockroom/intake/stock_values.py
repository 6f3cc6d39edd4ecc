"""What the cells of a stock list may say, and how each is read."""

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from stockroom.core.model import UNKNOWN
from stockroom.core.traits import FORMS, Shape
from stockroom.errors import BadValueError
from stockroom.intake.dates import Order, day_under, read_day
from stockroom.times import FIRST_YEAR, LAST_YEAR, in_trade
from stockroom.units import DMM_PER_M, DMM_PER_MM, cents, length_dmm, number

UNKNOWN_WORDS = frozenset({"", "?", "??", "-", "unknown", "n/a", "na", "none", "not known"})
ABOUT_SHARE = Decimal("0.1")
"""What "about" stands for: a tenth of the length either way (our choice)."""
MAX_COUNT = 100_000
"""Largest count taken (our choice)."""
SMALLEST_SIDE_DMM = 10 * DMM_PER_MM
"""Smallest width, height or length taken, dmm (our choice: 10 mm)."""
LARGEST_SIDE_DMM = 10 * DMM_PER_M
"""Largest width or height, dmm (our choice: 10 m)."""
THINNEST_UM, THICKEST_UM = 5, 200_000
"""Thicknesses taken, micrometres (our choice)."""

_LENGTH = re.compile(
    r"(?P<about>(?:~|≈|about|approx\.?|approximately|around|circa|ca\.?)\s*)?"
    r"(?P<length>[^~±+]+?)(?:\s*(?:\+\s*/?\s*-|±)\s*(?P<doubt>.+))?",
    re.IGNORECASE,
)
_UNIT_AT_END = re.compile(r"(mm|cm|dmm|in|m)\s*$", re.IGNORECASE)
_ZERO = re.compile(r"0+(?:[.,]0+)?\s*(?:mm|cm|m|in)?", re.IGNORECASE)
_PERCENT = re.compile(r"([0-9]{1,3}(?:[.,][0-9]+)?)\s*%")
_COUNT = re.compile(r"([0-9]{1,9})\s*(?:x|pcs?\.?|pieces?|sheets?|rolls?|lengths?)?", re.IGNORECASE)
_THICKNESS = re.compile(r"(.+?)\s*(mm|um|µm|μm|microns?)?", re.IGNORECASE)
_THOUSANDS = re.compile(r"[0-9]{1,3}[.,][0-9]{3}")


def bad(text: str, what: str, why: str, try_: str) -> BadValueError:
    """Return the error for a cell."""
    return BadValueError(f"{text[:40]!r} is {what}.", why, try_)


def read_side_dmm(text: str, unit: str) -> int:
    """Return a width or height in dmm; a bare number is in `unit`, or mm."""
    return _between(length_dmm(_inches(text), unit or "mm"), LARGEST_SIDE_DMM, text)


def read_length_dmm(text: str, unit: str, form: str) -> tuple[int, int]:
    """Return a length and how far it may be off, dmm.

    A bare number is in `unit`; without one in m for rolls and lengths, in mm for sheets.

    >>> read_length_dmm("9 m +/- 1 m", "", "roll"), read_length_dmm("about 9", "m", "roll")
    ((90000, 10000), (90000, 9000))
    """
    found = _LENGTH.fullmatch(_inches(text))
    if not found:
        raise bad(text, "not a length", "A number with its unit is wanted.", "Type it like 9.4 m.")
    length, doubt = found["length"].strip(), (found["doubt"] or "").strip()
    typed = _UNIT_AT_END.search(length) or _UNIT_AT_END.search(doubt)
    shape = FORMS.get(form, Shape(one=""))  # a form that was not understood is noted beside this
    default = typed[1].lower() if typed else unit or shape.length_unit
    value = _between(length_dmm(length, default), shape.longest_dmm, text)
    percent = _PERCENT.fullmatch(doubt)
    if percent:
        off = round(value * number(percent[1]) / 100)
    elif doubt:
        off = 0 if _ZERO.fullmatch(doubt) else length_dmm(doubt, default)
    else:
        off = round(value * ABOUT_SHARE) if found["about"] else 0
    if off >= value:
        raise bad(text, "too uncertain", "It may be off by all of it.", "Measure it.")
    return value, off


def _inches(text: str) -> str:
    return text[:-1] + " in" if text.endswith(('"', "″")) else text


def _between(dmm: int, most_dmm: int, text: str) -> int:
    if SMALLEST_SIDE_DMM <= dmm <= most_dmm:
        return dmm
    raise bad(
        text,
        "hardly meant",
        f"It would be {dmm / DMM_PER_MM:g} mm; from {SMALLEST_SIDE_DMM // DMM_PER_MM} mm to "
        f"{most_dmm // DMM_PER_M} m are taken here.",
        "Write the unit beside the number, like 1250 mm or 30 m.",
    )


def read_thickness_um(text: str, unit: str) -> int:
    """Return a thickness in micrometres; a bare number is in `unit`, or mm.

    >>> read_thickness_um("0,26", ""), read_thickness_um("100 µm", "")
    (260, 100)
    """
    found = _THICKNESS.fullmatch(text)
    typed = (found[2] or unit or "mm").lower() if found else "mm"
    per_unit = {"mm": 1000, "cm": 10_000, "m": 10**6, "in": 25_400}.get(typed, 1)
    value = round(number(found[1] if found else text, "a thickness") * per_unit)
    if not THINNEST_UM <= value <= THICKEST_UM:
        raise bad(
            text,
            "no thickness that can be",
            f"From {THINNEST_UM} µm to {THICKEST_UM // 1000} mm are taken.",
            "Write the unit beside it, like 3 mm or 260 µm.",
        )
    return value


def read_count(text: str) -> int:
    """Return a whole number of pieces.

    >>> read_count("12 pcs")
    12
    """
    found = _COUNT.fullmatch(text)
    if not found or not 0 < int(found[1]) <= MAX_COUNT:
        raise bad(
            text,
            "not a count",
            f"A whole number from 1 to {MAX_COUNT} is wanted.",
            "Type it like 12.",
        )
    return int(found[1])


def read_price_cents(text: str) -> int:
    """Return a price in cents, unless its point or comma may part thousands.

    >>> read_price_cents("412,50")
    41250
    """
    if _THOUSANDS.fullmatch(text):
        raise bad(
            text,
            "not clear",
            "The point or comma could part thousands or cents.",
            "Type it like 1200.00.",
        )
    return cents(text)


def read_word(text: str, words: Iterable[str], what: str) -> str:
    """Return one of a few words, singular or plural, in any case.

    >>> read_word("Rolls", ("roll", "sheet"), "form")
    'roll'
    """
    bare = text.strip().lower()
    for word in words:
        if bare in (word, f"{word}s"):
            return word
    if not bare:
        raise BadValueError(f"The {what} is missing.", "", f"Write one of: {', '.join(words)}.")
    raise bad(text, f"no {what}", "", f"Write one of: {', '.join(words)}.")


def read_batch(text: str) -> str:
    """Return a batch or emulsion number, or the word for an unknown one.

    >>> read_batch("E-0417"), read_batch("?")
    ('E-0417', 'unknown')
    """
    return UNKNOWN if text.lower() in UNKNOWN_WORDS else text


def own_order(numbers: tuple[int, int, int]) -> Order | None:
    """Return the only order in which three numbers are a day, or None where both or none are."""
    possible: list[Order] = [
        order for order in ("day first", "month first") if day_under(numbers, order)
    ]
    return possible[0] if len(possible) == 1 else None


def read_date(value: str | date, order: Order | None) -> date | None:
    """Return a day, or None where it is unknown.

    Parameters
    ----------
    value : str or date
        A cell.
    order : str or None
        Order of day and month, where given or proven by the list.
    """
    if isinstance(value, date):
        if in_trade(value):
            return value
        raise bad(value.isoformat(), "no likely date", "Its year is far off.", "Look at the year.")
    if value.lower() in UNKNOWN_WORDS:
        return None
    found = read_day(value)
    if isinstance(found, tuple):
        day = day_under(found, order) if order else None
        if order is None and (own := own_order(found)):
            day = day_under(found, own)
        if order is None and day is None and found[0] == found[1]:
            day = day_under(found, "day first")
        if day is not None:
            return day
        if order is None and day_under(found, "day first"):
            raise bad(
                value,
                "not clear",
                "Nothing in the list says which number is the day.",
                "Say --day-first or --month-first, or write it like 2026-05-31.",
            )
        found = None
    if found is None:
        why = f"A whole day is wanted, with a year from {FIRST_YEAR} to {LAST_YEAR}."
        raise bad(value, "not a date", why, "Write it like 2026-05-31.")
    return found
