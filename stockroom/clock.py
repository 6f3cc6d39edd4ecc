"""The only place that asks the time."""

import time
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo


def now_s() -> int:
    """Return the present instant in whole seconds UTC since 1970."""
    return int(time.time())


def local_date(instant_s: int, zone: str) -> date:
    """Return the calendar day of an instant in a zone.

    >>> local_date(0, "Europe/Berlin").isoformat()
    '1970-01-01'
    """
    return datetime.fromtimestamp(instant_s, UTC).astimezone(ZoneInfo(zone)).date()


def start_of_day_s(day: date, zone: str) -> int:
    """Return the instant (s, UTC) at which a calendar day starts in a zone.

    >>> start_of_day_s(date(2026, 7, 1), "Europe/Berlin") - start_of_day_s(date(2026, 7, 1), "UTC")
    -7200
    """
    return int(datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).timestamp())


def local_text(instant_s: int, zone: str) -> str:
    """Return an instant as ``YYYY-MM-DD HH:MM`` in a zone.

    >>> local_text(86_400, "UTC")
    '1970-01-02 00:00'
    """
    return (
        datetime.fromtimestamp(instant_s, UTC).astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")
    )
