"""A calendar file is iCalendar that other programs read, the same bytes for the same state."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from icalendar import Calendar
from support.studio import DAY_S, MONDAY_S, Studio

from stockroom import clock
from stockroom.desk.stock import handling
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering
from stockroom.desk.papers.printed import calendar_file
from stockroom.documents.calendar import Entry, calendar_ics
from stockroom.errors import BadValueError

NAMES = "Müller, Söhne; Bild\nwand \\ 2\u202e \x07 und mehr, " + "ü" * 90


def events(data: bytes) -> dict[str, Any]:
    """The events of a file by their UIDs, as another program reads them."""
    return {str(event["uid"]): event for event in Calendar.from_ical(data).walk("VEVENT")}


def entry(**how: object) -> Entry:
    plain = {"kind": "take out", "codes": ("10143", "10020"), "title": "Take out", "from_s": 0}
    return Entry(**{**plain, **how})  # type: ignore[arg-type]


def test_lines_end_in_crlf_and_are_at_most_75_octets() -> None:
    """RFC 5545, 3.1; folding never splits a letter of two octets."""
    data = calendar_ics([entry(title=NAMES, lines=(NAMES, NAMES), alarm=True)], 0)
    assert data.endswith(b"\r\n")
    assert data.count(b"\n") == data.count(b"\r\n") == data.count(b"\r")
    lines = data.split(b"\r\n")
    assert max(len(line) for line in lines) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode("utf-8")


def test_text_is_cleaned_and_survives_its_escapes() -> None:
    """Commas, semicolons, a backslash and ü come back; a line break, a bell and a bidi mark go."""
    data = calendar_ics([entry(title=NAMES, lines=("first, one;", "second"), where="A; b")], 0)
    (event,) = events(data).values()
    clean = "Müller, Söhne; Bild wand \\ 2 \ufffd und mehr, " + "ü" * 90
    assert str(event["summary"]) == clean
    assert str(event["description"]) == "first, one;\nsecond"
    assert str(event["location"]) == "A; b"
    assert b"\\, S\xc3\xb6hne\\; Bild" in data
    assert not any(mark in data for mark in (b"\x07", "\u202e".encode()))


def test_a_line_break_in_a_title_starts_no_property() -> None:
    evil = "Salt\r\nATTACH:http://example.invalid/x\r\nEND:VEVENT"
    data = calendar_ics([entry(title=evil, lines=(evil,))], 0)
    assert len(events(data)) == 1
    assert not [line for line in data.split(b"\r\n") if line.startswith(b"ATTACH")]


def test_each_entry_has_its_times_in_utc_and_its_stamp() -> None:
    """RFC 5545, 3.6: a version and a product once; a UID, a stamp and a start in each event."""
    whole = entry(kind="order by", codes=("10055",), from_s=None, day=date(2026, 3, 29))
    data = calendar_ics([entry(from_s=DAY_S, to_s=DAY_S + 60, alarm=True), whole], MONDAY_S)
    calendar = Calendar.from_ical(data)
    assert (str(calendar["version"]), data.count(b"PRODID:")) == ("2.0", 1)
    assert "Stockroom" in str(calendar["prodid"])
    found = events(data)
    timed = found["take-out-10143-10020@stockroom.invalid"]
    assert timed["dtstart"].dt == datetime(1970, 1, 2, tzinfo=UTC)
    assert timed["dtend"].dt == datetime(1970, 1, 2, 0, 1, tzinfo=UTC)
    (alarm,) = timed.walk("VALARM")
    assert (str(alarm["action"]), alarm["trigger"].dt) == ("DISPLAY", timedelta(0))
    day = found["order-by-10055@stockroom.invalid"]
    assert day["dtstart"].dt == date(2026, 3, 29)
    assert day["dtend"].dt == date(2026, 3, 30)
    stamps = {event["dtstamp"].dt for event in found.values()}
    assert stamps == {datetime.fromtimestamp(MONDAY_S, UTC)}
    assert b"TZID" not in data


def test_what_cannot_be_a_calendar_is_refused() -> None:
    with pytest.raises(BadValueError):
        calendar_ics([], 0)
    with pytest.raises(ValueError, match="a day or an instant"):
        calendar_ics([entry(from_s=None)], 0)


def test_two_entries_are_never_one_uid() -> None:
    twice = [entry(title="first"), entry(title="second")]
    (event,) = events(calendar_ics(twice, 0)).values()
    assert str(event["summary"]) == "first"


@pytest.fixture
def busy(studio: Studio) -> Studio:
    """Two prints, a roll out in the room, sheets too few, an order on its way."""
    desk = studio.desk
    booking.book(desk, "Müller, Söhne; ü\nwand", 25_000, 12_500, date(2026, 3, 5), studio.paper)
    booking.book(desk, "Quarry", 25_000, 12_500, date(2026, 4, 8), studio.paper, count=40)
    handling.move(desk, [studio.second_roll], "Mounting room")
    ordering.tell_below(desk, studio.sheet, 9)
    ordering.order(desk, studio.sheet, 1, expected_on=date(2026, 3, 9))
    return studio


def test_the_studios_weeks_are_in_it(busy: Studio) -> None:
    """Out from the evening before until ready, back this evening, order by, arriving."""
    found = events(calendar_file(busy.desk))
    kinds = {uid.rsplit("-", 1)[0]: event for uid, event in found.items()}
    out = next(event for kind, event in kinds.items() if kind.startswith("take-out"))
    evening_s = clock.local_hour_s(date(2026, 3, 4), 17, "UTC")
    assert out["dtstart"].dt == datetime.fromtimestamp(evening_s, UTC)
    assert out["dtend"].dt > out["dtstart"].dt + timedelta(hours=11)
    assert str(out["summary"]).endswith("for Müller, Söhne; ü wand")
    assert "Safe to open" in str(out["description"])
    assert str(out["location"]) == "Cold store"
    back = found[f"put-back-{busy.second_roll}@stockroom.invalid"]
    assert back["dtstart"].dt == datetime(2026, 3, 2, 17, tzinfo=UTC)
    days = {
        str(event["summary"]): event["dtstart"].dt
        for event in found.values()
        if type(event["dtstart"].dt) is date
    }
    sheets = next(title for title in days if title.startswith("Order") and "acrylic" in title)
    assert days[sheets] == date(2026, 3, 2)
    assert days["Arriving: 1 x Cast acrylic 3 mm from Brightwater Sheet"] == date(2026, 3, 9)
    quarry = next(title for title in days if title.endswith("for Quarry"))
    assert days[quarry] == date(2026, 3, 17)  # 21 days of lead time, and out the day before


def test_the_same_state_makes_the_same_bytes_and_the_same_uids(busy: Studio) -> None:
    """Nothing of the machine, the time of writing or chance is in it; a later day moves events."""
    first = calendar_file(busy.desk)
    assert calendar_file(busy.desk) == first
    busy.desk.now_s.on(0.1)  # type: ignore[attr-defined]
    later = calendar_file(busy.desk)
    assert later != first
    assert set(events(later)) == set(events(first))


def test_how_far_ahead_is_told(busy: Studio) -> None:
    near = events(calendar_file(busy.desk, 7))
    assert not [uid for uid in near if uid.startswith("order-by") and busy.sheet not in uid]
    assert not [uid for uid in events(calendar_file(busy.desk, 2)) if uid.startswith("take-out")]
    booking.book(busy.desk, "Reed bed", 25_000, 12_500, date(2026, 4, 20), busy.paper)
    assert len([uid for uid in events(calendar_file(busy.desk)) if "take-out" in uid]) == 1
    far = events(calendar_file(busy.desk, 60))
    assert len([uid for uid in far if uid.startswith("take-out")]) == 2
    for days in (-1, 367):
        with pytest.raises(BadValueError):
            calendar_file(busy.desk, days)
