"""The only place that asks the time."""

import time
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

FIRST_S, LAST_S = -62_135_510_400, 253_402_128_000
"""The second day of year 1 and the last but one of 9999, s UTC: what any zone can tell."""


def _local(instant_s: int, zone: str) -> datetime:
    """An instant on a zone's clocks; one beyond what a calendar tells is its first or last."""
    bounded_s = min(max(instant_s, FIRST_S), LAST_S)
    return datetime.fromtimestamp(bounded_s, UTC).astimezone(ZoneInfo(zone))


def now_s() -> int:
    """Return the present instant in whole seconds UTC since 1970."""
    return int(time.time())


def local_date(instant_s: int, zone: str) -> date:
    """Return the calendar day of an instant in a zone.

    >>> local_date(0, "Europe/Berlin").isoformat()
    '1970-01-01'
    """
    return _local(instant_s, zone).date()


def start_of_day_s(day: date, zone: str) -> int:
    """Return the instant (s, UTC) at which a calendar day starts in a zone.

    >>> start_of_day_s(date(2026, 7, 1), "Europe/Berlin") - start_of_day_s(date(2026, 7, 1), "UTC")
    -7200
    """
    return int(datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(zone)).timestamp())


def local_hour_s(day: date, hour: float, zone: str) -> int:
    """Return the instant (s, UTC) at which the clocks of a zone show an hour of a day.

    Parameters
    ----------
    hour : float
        From 0 to below 24; 17.5 is 17:30.
    zone : str
        Name of the zone.

    >>> winter, summer = date(2026, 3, 28), date(2026, 3, 29)
    >>> local_hour_s(summer, 9, "Europe/Berlin") - local_hour_s(winter, 9, "Europe/Berlin")
    82800
    """
    whole, minutes = divmod(round(hour * 60), 60)
    at = datetime(day.year, day.month, day.day, whole, minutes, tzinfo=ZoneInfo(zone))
    return int(at.timestamp())


def moment_text(instant_s: int, zone: str) -> str:
    """Return an instant with its weekday and time in a zone.

    >>> moment_text(1_772_524_800, "Europe/Berlin")
    'Tue 3 Mar 2026 09:00'
    """
    at = _local(instant_s, zone)
    return f"{at.strftime('%a')} {at.day} {at.strftime('%b %Y %H:%M')}"
