"""Units: tenths of a millimetre, cents and seconds inside; a person's units at the border."""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from functools import partial

from stockroom.errors import BadValueError

DMM_PER_MM = 10
DMM_PER_M = 10_000
SECONDS_PER_DAY = 86_400
LONGEST_DMM = 10_000 * DMM_PER_M
"""Longest length taken, dmm: 10 km (our choice; no roll is that long)."""
LARGEST_CENTS = 10**12
LONGEST_LIFE_DAYS = 36_525
"""Longest life taken from a label or a shop's rule, days: a century (our choice)."""
LONGEST_LEAD_DAYS = 1_095
"""Longest lead time, days: three years (our choice)."""
COLDEST_CENTI_C, WARMEST_CENTI_C = -6_000, 7_000
"""Set-points and label temperatures that can be, hundredths of °C (a logger's usual range)."""

_LENGTH = re.compile(r"^\s*([+-]?[\d.,]+)\s*(mm|cm|m|dmm|in)?\s*$", re.IGNORECASE)
_DMM_PER = {
    "mm": Decimal(10),
    "cm": Decimal(100),
    "m": Decimal(10_000),
    "dmm": Decimal(1),
    "in": Decimal(254),
}


def number(text: str, what: str = "a number") -> Decimal:
    """Return a typed number, with a decimal comma or point.

    Raises
    ------
    BadValueError
        Where it is no finite number.

    >>> number("9,4")
    Decimal('9.4')
    """
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        value = Decimal("NaN")
    if not value.is_finite() or value.adjusted() > 15:
        raise BadValueError(
            f"{text[:40]!r} is not {what}.", "A plain number is wanted.", "Type it like 9.4 or 9,4."
        )
    return value


def length_dmm(text: str, unit: str = "mm") -> int:
    """Return a length in tenths of a millimetre from text such as ``9.4 m``, ``1250`` or ``50 in``.

    Parameters
    ----------
    text : str
        The number, with or without its unit.
    unit : str
        The unit of a bare number: mm, cm, m, in.

    Raises
    ------
    BadValueError
        Where it is no length above zero and up to 10 km.

    >>> length_dmm("9.4 m"), length_dmm("1250"), length_dmm("50in")
    (94000, 12500, 12700)
    """
    found = _LENGTH.match(text)
    if not found:
        raise BadValueError(
            f"{text[:40]!r} is not a length.",
            "A number with mm, cm, m or in is wanted.",
            "Type it like 9.4 m or 1250 mm.",
        )
    value = number(found[1], "a length") * _DMM_PER[(found[2] or unit).lower()]
    return checked_length(round(value), text)


def checked_length(dmm: int, shown: str = "") -> int:
    """Return a length in dmm that is above zero and at most 10 km, or raise `BadValueError`."""
    if not 0 < dmm <= LONGEST_DMM:
        raise BadValueError(
            f"{shown or dmm} is not a length that can be.",
            "It must be above zero and at most 10 km.",
            "Look at m, cm, mm.",
        )
    return dmm


def size_dmm(text: str) -> tuple[int, int]:
    """Return width and height in dmm from text such as ``620 x 420`` (mm) or ``2.5 x 1.25 m``.

    >>> size_dmm("620 x 420"), size_dmm("2.5x1.25 m")
    ((6200, 4200), (25000, 12500))
    """
    parts = re.split(r"\s*[x×*]\s*", text.strip(), maxsplit=1)
    if len(parts) != 2:
        raise BadValueError(
            f"{text[:40]!r} is not a size.",
            "Two lengths with an x between them are wanted.",
            "Type it like 620 x 420 (mm) or 2.5 x 1.25 m.",
        )
    tail = re.search(r"[a-z]+\s*$", parts[1].lower())
    unit = tail[0].strip() if tail and tail[0].strip() in _DMM_PER else "mm"
    return length_dmm(parts[0], unit), length_dmm(parts[1], unit)


def cents(text: str) -> int:
    """Return money in cents from text such as ``512.40`` or ``512,40``.

    >>> cents("512,40")
    51240
    """
    exact = number(text, "an amount of money") * 100
    value = round(exact)
    if exact != value:
        raise BadValueError(
            f"{text[:40]!r} has more than two places of money.", try_="Type it like 512.40."
        )
    if not 0 <= value <= LARGEST_CENTS:
        raise BadValueError(
            f"{text[:40]!r} is not a price.", "It must be zero or more.", "Type it like 512.40."
        )
    return value


def centi_c(text: str) -> int:
    """Return a temperature in hundredths of °C from text such as ``15.5`` or ``-18``.

    >>> centi_c("15,5"), centi_c("-18 °C")
    (1550, -1800)
    """
    bare = re.sub(r"(?<=[\d.,])\s*(°\s*)?[cC]?\s*$", "", text)
    value = round(number(bare, "a temperature") * 100)
    if not COLDEST_CENTI_C <= value <= WARMEST_CENTI_C:
        raise BadValueError(
            f"{text[:30]!r} is no temperature of a store or room.",
            "It must lie between -60 and 70 °C.",
            "Give it in °C.",
        )
    return value


LARGEST = 2**31 - 1
"""What a figure without a limit of its own may be at most (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitOfMeasure:
    """A unit as a person types and reads it, of integers as they are stored.

    Attributes
    ----------
    sign : str
        What stands behind the number.
    per : int
        How many stored ones make one of it.
    reader : callable, optional
        Reads what is typed, where that is more than a number.
    least, most : int
        The stored ones that can be, where a field does not say.
    """

    sign: str = ""
    per: int = 1
    reader: Callable[[str], int] | None = None
    least: int = 0
    most: int = LARGEST

    def read(self, text: str) -> int:
        """Return what is stored of a typed text.

        >>> UNITS["um"].read("0,24"), UNITS["centi_c"].read("-18 °C")
        (240, -1800)
        """
        return self.reader(text) if self.reader else round(number(text) * self.per)

    def text(self, stored: int) -> str:
        """Return what is stored as a person reads it.

        >>> UNITS["dmm"].text(895), UNITS["cents"].text(9_000), UNITS["days"].text(1)
        ('89.5 mm', '90', '1 day')
        """
        shown = f"{Decimal(stored) / self.per:f}"
        return f"{shown} {self.sign.removesuffix('s') if shown == '1' else self.sign}".rstrip()

    def check(
        self, stored: int, what: str, *, least: int | None = None, most: int | None = None
    ) -> None:
        """See that what is stored of `what` lies between two ends.

        Raises
        ------
        BadValueError
            Where it does not.
        """
        low, high = self.least if least is None else least, self.most if most is None else most
        if not low <= stored <= high:
            bare = self.text(low).removesuffix(self.sign).rstrip()
            if high == LARGEST:
                ends = "above zero" if low else "zero or more"
            else:
                ends = "above zero and at most" if low == 1 else f"from {bare} to"
                ends = f"{ends} {self.text(high)}"
            raise BadValueError(
                f"{what}: {self.text(stored)} cannot be.",
                f"It must be {ends}.",
                "Look at the number.",
            )


_MM = UnitOfMeasure(sign="mm", per=DMM_PER_MM, reader=length_dmm, most=LONGEST_DMM)
UNITS = {
    "mm": _MM,
    "dmm": _MM,
    "m": UnitOfMeasure(
        sign="m", per=DMM_PER_M, reader=partial(length_dmm, unit="m"), most=LONGEST_DMM
    ),
    "um": UnitOfMeasure(sign="mm", per=1_000),
    "centi_c": UnitOfMeasure(
        sign="°C", per=100, reader=centi_c, least=COLDEST_CENTI_C, most=WARMEST_CENTI_C
    ),
    "cents": UnitOfMeasure(per=100, reader=cents),
    "centi": UnitOfMeasure(sign="b*", per=100),
    "milli": UnitOfMeasure(sign="blue density", per=1_000),
    "days": UnitOfMeasure(sign="days", most=LONGEST_LIFE_DAYS),
    "h": UnitOfMeasure(sign="h"),
    "pct": UnitOfMeasure(sign="% RH"),
    "j_mol": UnitOfMeasure(sign="J/mol"),
    "": UnitOfMeasure(),
}
"""The units, by the ending of a field's name, or by the name that a field gives."""


def measured_in(unit: str) -> UnitOfMeasure:
    """Return one of `UNITS`; of any other sign, a unit of which whole numbers are stored.

    >>> measured_in("h").text(3), measured_in("g/m²").text(80)
    ('3 h', '80 g/m²')
    """
    return UNITS.get(unit) or UnitOfMeasure(sign=unit)


def m_text(dmm: int) -> str:
    """Return a length in metres, cut (never rounded up) to a centimetre.

    >>> m_text(94_000), m_text(500), m_text(29_999)
    ('9.4 m', '0.05 m', '2.99 m')
    """
    sign = "-" if dmm < 0 else ""
    whole, rest = divmod(abs(dmm), DMM_PER_M)
    centimetres = rest // 100
    text = f"{whole}.{centimetres:02d}"
    return sign + (text[:-1] if text.endswith("0") else text) + " m"


def mm_text(dmm: int) -> str:
    """Return a length in millimetres.

    >>> mm_text(12_500), mm_text(12_505)
    ('1250 mm', '1250.5 mm')
    """
    whole, tenth = divmod(dmm, DMM_PER_MM)
    return f"{whole}.{tenth} mm" if tenth else f"{whole} mm"


def size_text(width_dmm: int, height_dmm: int) -> str:
    """Return a size in millimetres.

    >>> size_text(6_200, 4_205)
    '620 x 420.5 mm'
    """
    return f"{mm_text(width_dmm)[:-3]} x {mm_text(height_dmm)}"


def money_text(value_cents: int, currency: str = "EUR") -> str:
    """Return money with its currency.

    >>> money_text(51_240)
    '512.40 EUR'
    """
    sign = "-" if value_cents < 0 else ""
    return f"{sign}{abs(value_cents) // 100}.{abs(value_cents) % 100:02d} {currency}"


def count_of(count: int, one: str, many: str = "") -> str:
    """Return a number of things; `many` where it takes more than an s.

    >>> count_of(1, "print"), count_of(3, "roll"), count_of(2, "entry", "entries")
    ('1 print', '3 rolls', '2 entries')
    """
    return f"{count} {one if count == 1 else many or f'{one}s'}"


def days_text(days: float) -> str:
    """Return a stretch of days, a decimal only where it tells something.

    >>> days_text(0.44), days_text(12.3), days_text(1), days_text(0.01)
    ('0.4 days', '12 days', '1 day', 'under 0.1 days')
    """
    if not math.isfinite(days):
        return "no limit"
    if 0 < days < 0.05:
        return "under 0.1 days"
    shown = f"{days:.1f}" if abs(days) < 9.95 and round(days, 1) != round(days) else f"{days:.0f}"
    return f"{shown} day" if shown in {"1", "-1"} else f"{shown} days"


def day_text(day: date, today: date) -> str:
    """Return a date with its weekday and how far off it is.

    >>> day_text(date(2026, 3, 10), date(2026, 3, 7))
    'Tue 10 Mar 2026, in 3 days'
    """
    return f"{day.strftime('%a')} {day.day} {day.strftime('%b %Y')}, {distance_text(day, today)}"


def distance_text(day: date, today: date) -> str:
    """Return how far a day is from today.

    >>> distance_text(date(2026, 3, 7), date(2026, 3, 8))
    'yesterday'
    """
    gap = (day - today).days
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}
    if gap in near:
        return near[gap]
    return f"in {gap} days" if gap > 0 else f"{-gap} days ago"
