"""Days and times as a person types them, in the workshop's zone."""

import re
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from stockroom.errors import BadValueError
from stockroom.text import safe

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
FIRST_YEAR, LAST_YEAR = 1980, 2100
"""The days of the trade: nothing is read, entered or reckoned outside these years (our choice)."""

_TIME = re.compile(r"^(\d{1,2})[:.h](\d{2})$")


def in_trade(day: date) -> bool:
    """Return whether a day is one of the trade's, so that something can be reckoned for it.

    >>> in_trade(date(2026, 3, 3)), in_trade(date(9999, 12, 31))
    (True, False)
    """
    return FIRST_YEAR <= day.year <= LAST_YEAR


def day_of(text: str, today: date) -> date:
    """Return a day from ``2026-03-05``, ``today``, ``tomorrow``, ``+3`` or a coming weekday.

    Raises
    ------
    BadValueError
        Where it is none of these, or outside 1980 to 2100.

    >>> day_of("thu", date(2026, 3, 3)), day_of("+3", date(2026, 3, 3))
    (datetime.date(2026, 3, 5), datetime.date(2026, 3, 6))
    """
    word = text.strip().lower()
    near = {"today": 0, "tomorrow": 1, "yesterday": -1}
    if word in near:
        return today + timedelta(days=near[word])
    if re.fullmatch(r"[+-]\d{1,4}", word):
        return _checked(today + timedelta(days=int(word)), text)
    if len(word) >= 3 and word[:3] in WEEKDAYS and word.isalpha():
        ahead = (WEEKDAYS.index(word[:3]) - today.weekday()) % 7
        return today + timedelta(days=ahead)
    try:
        return _checked(date.fromisoformat(word), text)
    except ValueError as error:
        raise BadValueError(
            f"{safe(text, length=30)!r} is not a day.",
            "Day and month in another order could be mistaken.",
            "Type it like 2026-03-05, or tomorrow, thu, +3.",
        ) from error


def days_of(text: str, today: date) -> tuple[date, date]:
    """Return the first and the last day from two days with two dots between, or one day alone.

    >>> days_of("2026-12-21..2027-01-06", date(2026, 3, 3))[1]
    datetime.date(2027, 1, 6)
    """
    first, dots, last = text.partition("..")
    begin = day_of(first, today)
    return begin, day_of(last, today) if dots else begin


def month_of(text: str | None, today: date) -> date:
    """Return the first day of a month typed like ``2026-03``; of this month without a text.

    >>> month_of("2026-03", date(2026, 5, 9)), month_of(None, date(2026, 5, 9))
    (datetime.date(2026, 3, 1), datetime.date(2026, 5, 1))
    """
    if not text:
        return today.replace(day=1)
    try:
        return _checked(date.fromisoformat(f"{text.strip()}-01"), text)
    except ValueError as error:
        raise BadValueError(
            f"{safe(text, length=30)!r} is no month.", try_="Type it like 2026-03."
        ) from error


def instant_of(text: str, now_s: int, zone: str) -> int:
    """Return an instant (s UTC) from ``2026-03-05T16:30``, ``16:30``, ``yesterday 16:30``.

    A bare time is the last one that was so, up to now. A time without a zone is local.

    Raises
    ------
    BadValueError
        Where it is none of these.

    >>> instant_of("2026-03-05 16:30", 0, "UTC")
    1772728200
    """
    word = text.strip()
    if word.lower() == "now":
        return now_s
    local_now = datetime.fromtimestamp(now_s, UTC).astimezone(ZoneInfo(zone))
    head, _, tail = word.rpartition(" ")
    found = _TIME.match(tail)
    if found and int(found[1]) < 24 and int(found[2]) < 60 and "-" not in head:
        day = day_of(head, local_now.date()) if head else local_now.date()
        at = datetime(day.year, day.month, day.day, int(found[1]), int(found[2]))  # noqa: DTZ001 - the zone follows
        instant = int(at.replace(tzinfo=ZoneInfo(zone)).timestamp())
        if not head and instant > now_s:
            instant = int((at - timedelta(days=1)).replace(tzinfo=ZoneInfo(zone)).timestamp())
        return instant
    try:
        stamp = datetime.fromisoformat(word)
    except ValueError as error:
        raise BadValueError(
            f"{safe(text, length=30)!r} is not a time.",
            "A day and a time are wanted.",
            "Type it like 2026-03-05T16:30, or yesterday 16:30, or 16:30.",
        ) from error
    _checked(stamp.date(), text)
    if stamp.tzinfo is None:
        stamp = stamp.replace(tzinfo=ZoneInfo(zone))
    return int(stamp.timestamp())


def _checked(day: date, text: str) -> date:
    if not in_trade(day):
        raise BadValueError(
            f"{safe(text, length=30)!r} is outside {FIRST_YEAR} to {LAST_YEAR}.",
            try_="Look at the year.",
        )
    return day
