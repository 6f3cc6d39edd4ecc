"""How long a roll was open, and in how damp an air: terms of their own, beside its age."""

from dataclasses import dataclass
from datetime import date

from stockroom.core.constants import DAMP_WORTH_A_WORD, HUMIDITY_EXPONENTS
from stockroom.core.freshness.dated import OpenedClock, opened_clock
from stockroom.core.reason import Reason
from stockroom.units import SECONDS_PER_DAY


@dataclass(frozen=True, slots=True)
class Opened:
    """A roll's opened clock, and the damp air it was open in.

    Attributes
    ----------
    opened_on : date
        The day it was first opened.
    life_days : int or None
        The life once opened, where that is known.
    open_s : float
        How long its bag was open, s.
    logged_s, damp_s : float
        For how long of that the humidity is known, and how long it lay above the limit, s.
    highest_pct : float or None
        The highest humidity known, % RH.
    limit_pct : float
        The limit, % RH.
    """

    opened_on: date
    life_days: int | None
    open_s: float
    logged_s: float
    damp_s: float
    highest_pct: float | None
    limit_pct: float

    def clock(self, day: date) -> OpenedClock:
        """Return the days since it was opened as of a day, against the life once opened."""
        return opened_clock(self.opened_on, self.life_days, day)

    @property
    def logged_share(self) -> float:
        """Of the time it was open, the share in which the humidity is known."""
        return self.logged_s / self.open_s if self.open_s else 0.0


def opened_reasons(opened: Opened | None, day: date) -> list[Reason]:
    """Return what the time a roll will have been open on the day of a print says.

    Over its opened life it wants a strip, in damp air a word.

    >>> over = Opened(date(2026, 1, 1), 60, 6e6, 6e6, 90_000.0, 71.0, 60.0)
    >>> [(reason.kind, reason.weight) for reason in opened_reasons(over, date(2026, 3, 10))]
    [('opened too long', 'asks'), ('damp air', 'warns')]
    """
    if opened is None:
        return []
    reasons = []
    clock = opened.clock(day)
    if clock.over:
        figures = {"days": clock.days_open, "limit": clock.limit_days}
        reasons.append(Reason("opened too long", "asks", figures))
    if opened.damp_s >= DAMP_WORTH_A_WORD.value * 3600:
        damp = {"hours": opened.damp_s / 3600, "limit": opened.limit_pct}
        reasons.append(Reason("damp air", "warns", damp))
    return reasons


def borrowed_days(opened: Opened) -> tuple[float, ...]:
    """Return what a borrowed exponent would make of the damp hours, days of life each; never used.

    ``(highest / limit)^n - 1`` for each hour above the limit: an upper end, at the highest
    humidity throughout.

    >>> damp = Opened(date(2026, 1, 1), None, 8e5, 8e5, 86_400.0, 72.0, 60.0)
    >>> [round(days, 2) for days in borrowed_days(damp)]
    [0.2, 0.64]
    """
    if opened.highest_pct is None or opened.highest_pct <= opened.limit_pct:
        return tuple(0.0 for _ in HUMIDITY_EXPONENTS)
    over = opened.highest_pct / opened.limit_pct
    days = opened.damp_s / SECONDS_PER_DAY
    return tuple(days * (over**exponent.value - 1) for exponent in HUMIDITY_EXPONENTS)
