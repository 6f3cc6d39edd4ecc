"""The screen in view shows what another process did, and midnight, and leaves the person alone."""

import asyncio
import threading
from pathlib import Path

import pytest
from support.screens import press, screen_text, settle, studio_screen, type_in, until
from textual.widgets import Input

import stockroom.desk.latest
from seeds_demo.studio import DEMO_NOW_S, open_demo
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.orders import ordering
from stockroom.desk.latest import Latest, latest
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk, Done
from stockroom.errors import StoreMissingError
from tui import asking
from tui.app import StockroomApp
from tui.shared.list_screen import Leaf
from tui.stock.units import UnitsScreen
from tui.shared.line_list import Lines

SATIN = "Satin colour paper 127"


AS_OFTEN_AS_FOR_PEOPLE_S = asking.WATCH_S
MOST_S = 5.0
"""How long what others did may go unseen, s."""


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """Look more often than a person needs, so that the tests are short."""
    monkeypatch.setattr(asking, "WATCH_S", 0.02)


def delivered(desk: Desk, count: int = 1) -> tuple[Done, str]:
    """Take in some rolls; the code of the first is returned beside the act."""
    done = receiving.receive(
        desk, Delivery(material=SATIN, place="Cold store", units=count, number="A-1")
    )
    return done, next(touch.key for touch in done.changes.touches if touch.kind == "unit")


def is_listed(app: StockroomApp, code: str) -> bool:
    return any(row.unit == code for row in lines_of(app).rows)


def lines_of(app: StockroomApp) -> Lines:
    return app.screen.query_one("#list", Lines)


def at_line(app: StockroomApp) -> int:
    """The line of the window on which the cursor's row begins."""
    lines = lines_of(app)
    assert lines._at is not None
    return lines._starts[lines._at] - lines.scroll_offset.y


async def test_the_row_under_the_cursor_stays_where_it_is(demo: Path) -> None:
    other = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U", "end", "up")
        lines = lines_of(app)
        key, line = lines.row and lines.row.key, at_line(app)
        assert lines.scroll_offset.y > 0
        born, code = delivered(other, 3)
        await until(pilot, lambda: is_listed(app, code))
        assert lines.row is not None
        assert (lines.row.key, at_line(app)) == (key, line)
        counting.undo(other, born.seq)
        await until(pilot, lambda: not is_listed(app, code))
        assert (lines.row.key, at_line(app)) == (key, line)
        await press(pilot, "home")
        _, code = delivered(other)
        await until(pilot, lambda: is_listed(app, code))
        assert lines.scroll_offset.y == 0


async def test_what_others_did_is_seen_within_five_seconds(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As often as the screen looks for people."""
    monkeypatch.setattr(asking, "WATCH_S", AS_OFTEN_AS_FOR_PEOPLE_S)
    other = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U")
        _, code = delivered(other)
        await until(pilot, lambda: is_listed(app, code), within_s=MOST_S)


async def test_a_page_that_was_scrolled_stays_where_it_is(demo: Path) -> None:
    other = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10143")
        await press(pilot, "enter")
        lines = lines_of(app)
        lines.scroll_to(y=7, animate=False)
        await settle(pilot)
        shown = screen_text(app)
        version = app.version
        ordering.order(other, SATIN, 1)
        await until(pilot, lambda: app.version > version)
        await settle(pilot)
        assert screen_text(app) == shown


async def test_typing_in_a_filter_is_left_alone(demo: Path) -> None:
    other = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U", "slash")
        await type_in(pilot, "cold")
        field = app.screen.query_one("#filter", Input)
        field.cursor_position = 2
        _, code = delivered(other)
        await until(pilot, lambda: is_listed(app, code))
        assert app.focused is field
        assert (field.value, field.cursor_position) == ("cold", 2)
        assert all("Cold store" in row.text for row in lines_of(app).rows if row.key)


async def test_a_form_keeps_what_is_typed_and_the_screen_beneath_is_read_anew(demo: Path) -> None:
    other = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U", "c")
        await type_in(pilot, "3.2")
        code = app.screen.query_one("#at-amount", Input)
        version = app.version
        handling.move(other, ["10151"], "Printer magazine")
        await until(pilot, lambda: app.version > version)
        await settle(pilot)
        assert app.focused is code
        assert code.value == "3.2"
        await press(pilot, "escape")
        row = next(row for row in lines_of(app).rows if row.unit == "10151")
        assert "Printer mag" in row.text


async def test_a_form_says_what_others_counted_meanwhile(demo: Path) -> None:
    other = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U", "c")
        await type_in(pilot, "3.2")
        about = app.screen.form.name.split()[-1]  # type: ignore[attr-defined]
        counting.count(other, about, 71_000)
        await until(
            pilot,
            lambda: "7.1 m" in f"{app.screen.query_one('#told').content} {app.screen.heading()}",  # type: ignore[attr-defined]
        )
        assert app.screen.query_one("#at-amount", Input).value == "3.2"


async def test_midnight_comes_without_a_key(demo: Path) -> None:
    now_s = DEMO_NOW_S
    app = StockroomApp(lambda: Desk.at(str(demo), actor="Ines", now_s=lambda: now_s))
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        await press(pilot, "down", "down")
        row = lines_of(app).row
        assert "Tuesday 3 March" in screen_text(app)
        now_s += 86_400
        await until(pilot, lambda: "Wednesday 4 March" in screen_text(app))
        now = lines_of(app).row
        assert row is not None
        assert now is not None
        assert now.key == row.key
        await press(pilot, "B")
        app.screen.query_one("#at-size", Input).value = "900 x 600"
        app.screen.query_one("#at-day", Input).value = "tomorrow"
        await settle(pilot)
        assert "Thu 5 Mar" in screen_text(app)
        now_s += 86_400
        await until(pilot, lambda: "Fri 6 Mar" in screen_text(app))
        assert app.screen.query_one("#at-day", Input).value == "tomorrow"


async def test_what_others_took_back_is_said_and_its_page_closes(demo: Path) -> None:
    other = open_demo(demo)
    born, code = delivered(other)
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, code)
        await press(pilot, "enter")
        assert f"Unit {code}" in screen_text(app)
        counting.undo(other, born.seq)
        await until(pilot, lambda: "Today" in screen_text(app).splitlines()[0])
        assert f"There is no unit '{code}'" in screen_text(app)


async def test_trouble_is_said_once_and_leaves_when_the_store_is_back(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = open_demo(demo)

    def away(desk: Desk) -> Latest:
        raise StoreMissingError("The store does not answer.", try_="Look at its address.")

    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U", "slash")
        await type_in(pilot, "cold")
        monkeypatch.setattr(stockroom.desk.latest, "latest", away)
        await until(pilot, lambda: "does not answer" in screen_text(app))
        app.tell("")
        await asyncio.sleep(0.1)
        assert "does not answer" not in screen_text(app), "it is said once, not over and over"
        app.trouble(StoreMissingError("The store does not answer."))
        _, code = delivered(other)
        monkeypatch.setattr(stockroom.desk.latest, "latest", latest)
        await until(pilot, lambda: "does not answer" not in screen_text(app))
        await until(pilot, lambda: is_listed(app, code))
        assert app.screen.query_one("#filter", Input).value == "cold"


async def test_nothing_is_read_where_nothing_moved_and_never_on_the_screens_thread(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    looks: list[int] = []
    reads: list[int] = []
    read = UnitsScreen.fetch

    def looking(desk: Desk) -> Latest:
        looks.append(threading.get_ident())
        return latest(desk)

    def fetching(screen: Leaf, desk: Desk) -> object:
        reads.append(1)
        return read(screen, desk)  # type: ignore[arg-type]

    monkeypatch.setattr(stockroom.desk.latest, "latest", looking)
    monkeypatch.setattr(UnitsScreen, "fetch", fetching)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U")
        for booked in (0, 1):
            if booked:
                await press(pilot, "down", "o")
                assert app.booked
            seen, count = len(looks), len(reads)
            assert count == 1 + booked, "an act of one's own is read once"
            await until(pilot, lambda seen=seen: len(looks) > seen + 4)
            assert len(reads) == count
        assert threading.get_ident() not in looks
    seen = len(looks)
    await asyncio.sleep(0.1)
    assert len(looks) <= seen + 1, "who leaves watches no longer"


async def test_a_store_that_comes_later_is_opened_without_a_key(demo: Path) -> None:
    came = threading.Event()

    def open_desk() -> Desk:
        if not came.is_set():
            raise StoreMissingError("The store does not answer.")
        return open_demo(demo)

    app = StockroomApp(open_desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: "does not answer" in screen_text(app))
        came.set()
        await until(pilot, lambda: "Salt flats" in screen_text(app))
        assert "does not answer" not in screen_text(app)
