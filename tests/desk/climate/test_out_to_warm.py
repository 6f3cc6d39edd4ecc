"""A roll opened before it is safe is told at once, and one that warms up stays in the morning."""

import json
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
from icalendar import Calendar
from pypdf import PdfReader
from support.studio import Studio

from stockroom.cli import base, run
from stockroom.cli.shapes import today_lines, today_value
from stockroom.core.model import Unit
from stockroom.desk.stock import handling
from stockroom.desk.work import booking
from stockroom.desk.day import today
from stockroom.desk.figures import unit_figures
from stockroom.desk.lookup import find
from stockroom.desk.papers.printed import calendar_file, day_sheet

HOUR_S = 3_600
THURSDAY = date(2026, 3, 5)


@pytest.fixture
def out(studio: Studio) -> Studio:
    """A roll that has been in the cold for two days comes into the room at 9 o'clock."""
    studio.desk.now_s.on(2)  # type: ignore[attr-defined]
    handling.move(studio.desk, [studio.roll], "Mounting room")
    return studio


def test_opening_a_cold_roll_says_from_when_it_is_safe(out: Studio) -> None:
    """The fact is booked all the same; once it is safe nothing is said."""
    done = handling.open_unit(out.desk, out.roll)
    assert done.notes == (
        "Still cold: safe to open from 15:50. Water can settle on it. Shut it again and let it "
        "warm.",
    )
    with out.desk.reading() as view:
        assert find(view, Unit, out.roll).condition == "open"
    handling.rebag(out.desk, out.roll)
    out.desk.now_s.on(seconds=7 * HOUR_S)  # type: ignore[attr-defined]
    assert handling.open_unit(out.desk, out.roll).notes == ()


def test_what_stands_in_the_cold_or_was_always_warm_opens_without_a_word(out: Studio) -> None:
    assert handling.open_unit(out.desk, out.second_roll).notes == ()
    assert handling.open_unit(out.desk, out.pack).notes == ()


def test_an_opening_entered_late_is_judged_by_its_own_time(out: Studio) -> None:
    """Opened two hours after it came out, entered in the evening: too soon, and past shutting."""
    came_s = out.desk.now_s()
    out.desk.now_s.on(seconds=9 * HOUR_S)  # type: ignore[attr-defined]
    (said,) = handling.open_unit(out.desk, out.roll, happened_s=came_s + 2 * HOUR_S).notes
    assert said.startswith("It was still cold: safe to open from 15:50.")
    assert "Shut it again" not in said


def test_the_console_says_it_too(
    out: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(base.clock, "now_s", out.desk.now_s)
    store = str(tmp_path / "studio.stockroom")
    assert run(["--json", "open", out.roll, "--key", "once", "--store", store]) == 0
    assert "safe to open from 15:50" in json.loads(capsys.readouterr().out)["said"][-1]
    assert run(["open", out.roll, "--key", "once", "--store", store]) == 0
    assert "Still cold" not in capsys.readouterr().out  # a repeat books nothing, and warns of none


def test_the_page_and_the_morning_say_it_until_it_is_shut_or_warm(out: Studio) -> None:
    handling.open_unit(out.desk, out.roll)
    (page,) = _too_soon(out)
    assert page.startswith("it stands open and is still too cold: water can settle on it.")
    (notice,) = [item for item in today(out.desk).notices if item.unit == out.roll]
    assert notice.what.endswith("stands open and is still too cold: shut it again")
    assert "Safe to open from Wed 4 Mar 15:50 on" in notice.why
    handling.rebag(out.desk, out.roll)
    assert _too_soon(out) == []
    (notice,) = [item for item in today(out.desk).notices if item.unit == out.roll]
    assert notice.what.endswith("was opened before it was safe")


def test_a_bag_opened_again_too_soon_is_told_too(studio: Studio) -> None:
    """Its first opening was long ago and harmless; the one after its outing was not."""
    desk, now = studio.desk, studio.desk.now_s
    handling.move(desk, [studio.roll], "Mounting room")
    handling.open_unit(desk, studio.roll)
    handling.rebag(desk, studio.roll)
    handling.move(desk, [studio.roll], "Cold store")
    now.on(20)  # type: ignore[attr-defined]
    handling.move(desk, [studio.roll], "Mounting room")
    now.on(seconds=HOUR_S)  # type: ignore[attr-defined]
    assert handling.open_unit(desk, studio.roll).notes[0].startswith("Still cold")
    now.on(seconds=HOUR_S)  # type: ignore[attr-defined]
    handling.rebag(desk, studio.roll)
    (notice,) = [item for item in today(desk).notices if item.unit == studio.roll]
    assert notice.what.endswith("was opened before it was safe")
    assert "was opened 10:00" in notice.why


def _too_soon(studio: Studio) -> list[str]:
    _, told = unit_figures(studio.desk, studio.roll)
    return [figure.value for figure in told if figure.name == "Opened too soon"]


def test_a_roll_that_warms_up_stays_in_the_morning_until_it_is_ready(out: Studio) -> None:
    desk = out.desk
    handling.hold(desk, out.second_roll, "dented")
    booking.book(desk, "Salt flats", 25_000, 12_500, THURSDAY, out.paper)
    assert _line(out) == (
        f"{out.roll} is out to warm in Mounting room, for Salt flats: shut until 15:50, ready 20:50"
    )
    (value,) = today_value(today(desk))["out_to_warm"]
    assert (value["unit"], value["place"], value["open"]) == (out.roll, "Mounting room", False)
    assert value["ready_s"] - value["left_s"] == 42_600
    pages = PdfReader(BytesIO(day_sheet(desk))).pages
    sheet = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "Mounting room: shut until 15:50, ready 20:50" in sheet
    desk.now_s.on(seconds=8 * HOUR_S)  # type: ignore[attr-defined]
    assert _line(out).endswith("may be opened, ready 20:50")
    handling.open_unit(desk, out.roll)
    desk.now_s.on(seconds=4 * HOUR_S)  # type: ignore[attr-defined]
    assert _line(out) == ""


def _line(studio: Studio) -> str:
    lines = [line.strip() for line in today_lines(today(studio.desk), "UTC")]
    return next((line for line in lines if f"{studio.roll} is out to warm" in line), "")


def test_a_calendar_says_how_each_roll_is_shut(studio: Studio) -> None:
    """An open roll is never called shut: its entry says to bag it."""
    desk = studio.desk
    booking.book(desk, "Salt flats", 25_000, 12_500, THURSDAY, studio.paper)
    handling.hold(desk, studio.second_roll, "dented")
    assert _entry(studio).startswith("Shut in its bag.\nSafe to open")
    handling.open_unit(desk, studio.roll)
    opened = _entry(studio)
    assert "Shut in its bag." not in opened
    assert "It stands open: bag it shut before it leaves the cold." in opened


def _entry(studio: Studio) -> str:
    calendar = Calendar.from_ical(calendar_file(studio.desk, 5))
    (found,) = [
        str(event["description"])
        for event in calendar.walk("VEVENT")
        if str(event["summary"]).startswith("Take out")
    ]
    return found
