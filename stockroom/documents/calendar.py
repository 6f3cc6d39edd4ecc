"""Calendar entries (iCalendar, RFC 5545): what comes out, goes back, is ordered and arrives."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TYPE_CHECKING

from stockroom.errors import BadValueError
from stockroom.text import safe

if TYPE_CHECKING:
    from icalendar import Alarm, Event

PRODID = "-//Stockroom//Calendar of the stockroom//EN"
"""Names what wrote the file (RFC 5545, 3.7.3)."""
UID_HOST = "stockroom.invalid"
"""Closes each UID; .invalid is kept free for good (RFC 2606), so it names no machine."""
TEXT_LENGTH = 400
"""Longest line of text in an entry, characters (our choice)."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of a calendar: an event with its times, or a whole day.

    Attributes
    ----------
    kind : str
        Such as ``take out``; with `codes` it makes the UID, which stays the same when the times
        change.
    codes : tuple of str
        Of the unit, job, order or material it is about.
    lines : tuple of str
        What else is to be known.
    from_s, to_s : int or None
        Instants, s UTC; None for a whole day.
    day : date or None
        The whole day.
    alarm : bool
        Whether it reminds when it begins.
    """

    kind: str
    codes: tuple[str, ...]
    title: str
    lines: tuple[str, ...] = ()
    from_s: int | None = None
    to_s: int | None = None
    day: date | None = None
    where: str = ""
    alarm: bool = False

    @property
    def uid(self) -> str:
        """Its UID: made of its kind and codes alone.

        >>> Entry("take out", ("10143", "10020"), "").uid
        'take-out-10143-10020@stockroom.invalid'
        """
        words = "-".join((*self.kind.split(), *self.codes))
        return f"{words}@{UID_HOST}"


def calendar_ics(entries: Sequence[Entry], reasoned_s: int) -> bytes:
    """Return a calendar as iCalendar text: CRLF, lines of at most 75 octets, UTC instants.

    Parameters
    ----------
    entries : sequence of Entry
        Of two with the same UID the first counts.
    reasoned_s : int
        The instant reasoned at, s UTC: the DTSTAMP of each entry, so that the same state makes the
        same bytes.

    Returns
    -------
    bytes
        UTF-8. Text is cleaned, then escaped.

    Raises
    ------
    BadValueError
        Where there is no entry: a calendar holds at least one (RFC 5545, 3.4).
    ValueError
        Where an entry has neither a day nor an instant.

    >>> entry = Entry("order by", ("10020",), "Order 2 rolls", day=date(2026, 3, 4))
    >>> calendar_ics([entry], 0).splitlines()[0]
    b'BEGIN:VCALENDAR'
    """
    if not entries:
        raise BadValueError(
            "There is nothing to put in a calendar.",
            "No roll comes out or goes back, and nothing is ordered or expected in that time.",
            "Look further ahead.",
        )
    from icalendar import Calendar, Event

    calendar = Calendar()
    calendar.add("prodid", PRODID)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    once: dict[str, Entry] = {}
    for entry in entries:
        once.setdefault(entry.uid, entry)
    for uid, entry in once.items():
        event = Event()
        event.add("uid", uid)
        event.add("dtstamp", _instant(reasoned_s))
        event.add("summary", safe(entry.title, length=TEXT_LENGTH))
        told = [safe(line, length=TEXT_LENGTH) for line in entry.lines]
        if any(told):
            event.add("description", "\n".join(line for line in told if line))
        if entry.where:
            event.add("location", safe(entry.where))
        _set_times(event, entry)
        if entry.alarm:
            event.add_component(_alarm(entry))
        calendar.add_component(event)
    return bytes(calendar.to_ical())


def _set_times(event: "Event", entry: Entry) -> None:
    """A whole day ends on the next one (RFC 5545, 3.6.1) and blocks no time."""
    if entry.from_s is not None:
        event.add("dtstart", _instant(entry.from_s))
        if entry.to_s is not None and entry.to_s > entry.from_s:
            event.add("dtend", _instant(entry.to_s))
    elif entry.day is not None:
        event.add("dtstart", entry.day)
        event.add("dtend", entry.day + timedelta(days=1))
    else:
        raise ValueError("an entry of a calendar needs a day or an instant")
    event.add("transp", "TRANSPARENT")


def _alarm(entry: Entry) -> "Alarm":
    from icalendar import Alarm

    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", safe(entry.title, length=TEXT_LENGTH))
    alarm.add("trigger", timedelta(0))
    return alarm


def _instant(at_s: int) -> datetime:
    return datetime.fromtimestamp(at_s, UTC)
