"""A place is shown over a week, a month, a year, truly marked, and its kinetic means beside it."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from rich.cells import cell_len
from support.lines import as_text, plain
from support.screens import compare, press, screen_text, settle, studio_screen
from support.studio import DAY_S, MONDAY_S, Clock, Studio, furnish

from stockroom.desk.climate.views import Span, one_place, place_means
from stockroom.desk.climate.readings import take_in_readings
from stockroom.desk.session import Desk
from tui.app import StockroomApp
from tui.climate.picture import thin
from tui.climate.lines import place_page
from tui.climate.span_lines import means_page

SIZES = [(80, 24), (160, 48)]
SPANS: tuple[Span, ...] = ("week", "month", "year")


def csv(t_s: np.ndarray, temp_c: np.ndarray) -> bytes:
    lines = [
        f"{datetime.fromtimestamp(int(at), UTC).isoformat()},{value:.2f}"
        for at, value in zip(t_s, temp_c, strict=True)
    ]
    return ("time,temperature °C\n" + "\n".join(lines) + "\n").encode()


@pytest.fixture(scope="module")
def busy(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """A store of fifty days with three doors a day, a gap, two warm spells; a room by the hour."""
    now = Clock(MONDAY_S)
    path = tmp_path_factory.mktemp("busy") / "busy.stockroom"
    desk = Desk.at(str(path), begin=True, zone="UTC", now_s=now)
    furnish(desk)
    now.on(50)
    t = np.arange(MONDAY_S, MONDAY_S + 50 * DAY_S, 300)
    since = (t - MONDAY_S) / DAY_S
    temp = 4 + 0.3 * np.sin(since * 40)
    for hour in (9, 13, 17):
        opened = t % DAY_S - hour * 3600
        temp += np.where((opened > 0) & (opened <= 900), 3.5, 0.0)
    temp[(since >= 42) & (since < 42.3)] = 14.0
    temp[(since >= 35.1) & (since * 86_400 < 35.1 * 86_400 + 1200)] = 10.0
    kept = (since < 30) | (since >= 31.5)
    take_in_readings(desk, "Cold store", csv(t[kept], temp[kept]), "store.csv")
    hours = np.arange(MONDAY_S, MONDAY_S + 50 * DAY_S, 3600)
    take_in_readings(desk, "Mounting room", csv(hours, 20.0 + 0 * hours), "room.csv")
    yield desk
    desk.close()


def page(desk: Desk, place: str, span: Span, back: int = 0, width: int = 76) -> str:
    return as_text(place_page(one_place(desk, place, back, span=span), width))


def test_each_span_says_its_days_in_words_with_what_is_logged(busy: Desk) -> None:
    week, month, year = (page(busy, "Cold store", span) for span in SPANS)
    assert "Week from Wed 15 Apr to Tue 21 Apr 2026, today" in week
    assert "Month from Mon 23 Mar to Tue 21 Apr 2026, today" in month
    assert "Year from Tue 22 Apr 2025 to Tue 21 Apr 2026, today" in year
    assert "\nlogged over 99 %, every 5 min; no gap; 18 short rises (door or defrost)\n" in week
    assert "\nlogged 94 % of it, every 5 min; 1 gap; 79 short rises (door or defrost)\n" in month
    assert "1 gap, the longest 36.1 h" in page(busy, "Cold store", "month", width=120)
    assert "logged 13 % of it" in year


def test_gaps_doors_limits_set_point_and_excursions_are_marked_by_signs(busy: Desk) -> None:
    month = page(busy, "Cold store", "month")
    assert "░ not logged" in month
    assert "! outside" in month
    assert "· set-point" in month
    rises = next(line for line in month.splitlines() if line.strip().startswith("rises"))
    assert set(rises.split("rises ")[1].strip()) <= set(" ▁▂▃▄▅▆▇█")
    assert sum("▁▂▃▄▅▆▇█".index(char) + 1 for char in rises[9:] if char != " ") == len(
        one_place(busy, "Cold store", span="month").stretch.doors
    )
    week = page(busy, "Cold store", "week")
    assert "░" not in week
    assert "!" not in week.replace("! outside", "")


def test_what_is_outside_the_limits_long_enough_is_no_short_rise(busy: Desk) -> None:
    """Twenty minutes at 10 °C are listed as a warm spell, so they are not counted besides."""
    found = one_place(busy, "Cold store", span="month")
    spells = [item.spell for item in found.spells]
    assert sorted(spell.peak_c for spell in spells) == [10.0, 14.0]
    for spell in spells:
        for door in found.stretch.doors:
            assert door.to_s < spell.from_s or door.from_s > spell.to_s
    (short,) = [spell for spell in spells if spell.peak_c == 10.0]
    day = [door for door in found.stretch.doors if abs(door.from_s - short.from_s) < DAY_S / 2]
    assert len(day) == 3


def test_a_log_by_the_hour_is_said_to_be_too_coarse(busy: Desk) -> None:
    text = " ".join(page(busy, "Mounting room", "week").split())
    assert "Logging every 60 min is too coarse" in text
    assert "too coarse to see a door" in text
    assert "Logging every" not in page(busy, "Cold store", "week")


@pytest.mark.parametrize("width", [76, 92, 140])
@pytest.mark.parametrize("span", SPANS)
def test_no_line_is_wider_than_its_room(busy: Desk, span: Span, width: int) -> None:
    for place in ("Cold store", "Mounting room", "Printer magazine"):
        for back in (0, 1, 9):
            rows = place_page(one_place(busy, place, back, span=span), width)
            assert all(cell_len(plain(line)) <= width for row in rows for line in row.lines)
        rows = means_page(place_means(busy, place), width)
        assert all(cell_len(plain(line)) <= width for row in rows for line in row.lines)


def test_turning_to_another_span_is_the_same_as_reading_it_anew(busy: Desk) -> None:
    found = one_place(busy, "Cold store")
    for span in SPANS:
        for back in (0, 1):
            turned, anew = found.over(span, back), one_place(busy, "Cold store", back, span=span)
            assert as_text(place_page(turned, 76)) == as_text(place_page(anew, 76))


def test_spans_are_whole_days_across_a_change_of_the_clocks(demo: Path) -> None:
    """In Berlin the clocks went back on Sunday 26 October 2025: that week is an hour longer."""
    from seeds_demo.studio import open_demo

    desk = open_demo(demo)
    stretch = one_place(desk, "Cold store", 18).stretch
    assert datetime.fromtimestamp(stretch.from_s, UTC).isoformat() == "2025-10-21T22:00:00+00:00"
    assert datetime.fromtimestamp(stretch.to_s, UTC).isoformat() == "2025-10-28T23:00:00+00:00"
    desk.close()


def test_thinning_loses_no_peak_however_long_the_series() -> None:
    """A year by the minute with single readings far out, each of them in its own column."""
    t = np.arange(525_600) * 60
    temp = np.full(len(t), 4.0)
    far = np.random.default_rng(2).choice(len(t), 40, replace=False)
    temp[far] = 10 + np.arange(40)
    temp[far[:20]] *= -1
    columns = thin(t, temp, 0, len(t) * 60, 134)
    for at in far:
        pair = columns[int(t[at] / (len(t) * 60) * 134)]
        assert pair is not None
        assert pair[0] <= temp[at] <= pair[1]
    assert max(pair[1] for pair in columns if pair) == temp.max()
    assert min(pair[0] for pair in columns if pair) == temp.min()


def test_thinning_agrees_with_a_plain_loop() -> None:
    rng = np.random.default_rng(4)
    for _ in range(50):
        t = np.cumsum(rng.integers(1, 400, rng.integers(0, 300)))
        value = rng.normal(0, 5, len(t))
        from_s, to_s = 500.0, float(rng.integers(600, 60_000))
        slow: list[tuple[float, float] | None] = [None] * 33
        for at, one in zip(t.tolist(), value.tolist(), strict=True):
            if from_s <= at < to_s:
                index = min(32, int((at - from_s) / (to_s - from_s) * 33))
                old = slow[index] or (one, one)
                slow[index] = (min(old[0], one), max(old[1], one))
        assert thin(t, value, from_s, to_s, 33) == slow


@pytest.mark.parametrize("size", SIZES)
async def test_spans_and_means_look_as_they_did(demo: Path, size: tuple[int, int]) -> None:
    async with studio_screen(demo, size) as (app, pilot):
        await press(pilot, "P", "enter", "+")
        compare("place_month", app)
        await press(pilot, "+")
        compare("place_year", app)
        await press(pilot, "a")
        compare("place_mkt", app)


async def test_keys_turn_the_spans_and_keep_the_last_day_in_sight(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "P", "enter", "left", "left", "h", "h", "left")
        assert "Week from Wed 21 Jan to Tue 27 Jan 2026, 35 days ago" in screen_text(app)
        await press(pilot, "+")
        assert "Month from Sat 3 Jan to Sun 1 Feb 2026" in screen_text(app)
        await press(pilot, "right", "right")
        assert "Month from Mon 2 Feb to Tue 3 Mar 2026" in screen_text(app)
        assert "still to come" in screen_text(app)
        await press(pilot, "=", "+")
        assert "Year from Tue 4 Mar 2025 to Tue 3 Mar 2026" in screen_text(app)
        assert "A year is the longest span." in screen_text(app)
        await press(pilot, "left")
        assert "There are no earlier readings." in screen_text(app)
        await press(pilot, "a")
        assert "There are no earlier readings." not in screen_text(app)
        await press(pilot, "escape", "left")
        assert "There are no earlier readings." in screen_text(app)
        await press(pilot, "-", "-", "-")
        assert "Week from Wed 25 Feb to Tue 3 Mar 2026" in screen_text(app)
        assert "A week is the shortest span." in screen_text(app)
        await press(pilot, "a")
        assert screen_text(app).splitlines()[0].startswith(" Mean kinetic temperature: Cold store")
        await press(pilot, "escape")
        assert "Week from" in screen_text(app)
        await press(pilot, "question_mark")
        assert "Mean kinetic temperature of this place" in screen_text(app)


async def test_a_place_without_readings_says_what_to_do(studio: Studio) -> None:
    app = StockroomApp(lambda: studio.desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "P", "enter", "+", "left")
        assert "No readings in this month." in screen_text(app)
        assert "There are no earlier readings." in screen_text(app)
        await press(pilot, "a")
        assert "L takes in a logger's file." in screen_text(app)
