"""The screens keep their promises: scans, drafts, undo, filter, small windows, odd names."""

import asyncio
from collections.abc import Callable
from pathlib import Path

import pytest
from support.screens import press, screen_text, settle, studio_screen, type_in
from textual import events
from textual.widgets import Input

from seeds_demo.studio import DEMO_NOW_S, open_demo
from stockroom.clock import moment_text
from stockroom.core.model import Unit
from stockroom.desk.stock import counting, defining
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering
from stockroom.desk.glance import glance
from stockroom.desk.lookup import everything
from stockroom.desk.stock.views import choices, order_desk
from stockroom.desk.session import Desk
from stockroom.errors import StoreMissingError
from tui.app import StockroomApp


async def test_a_scan_opens_what_it_is_on_from_any_screen(demo: Path) -> None:
    desk = open_demo(demo)
    place = choices(desk).places[0].code
    job = choices(desk).jobs[0].code
    with desk.reading() as view:
        lot = next(u.lot for u in everything(view, Unit) if u.code == "10143")
    async with studio_screen(demo) as (app, pilot):
        for code, shown in (
            ("10151", "Unit 10151"), (place, "Cold store"), (job, "Salt flats"),
            (lot, "batch S-4418"),
        ):  # fmt: skip
            await pilot.press(*code, "enter")
            await settle(pilot)
            assert shown in screen_text(app).splitlines()[0], code
        await type_in(pilot, "1015")
        assert "Scanned so far: 1015" in screen_text(app)
        await press(pilot, "2", "enter")
        text = screen_text(app)
        assert "Nothing carries the code '10152'" in text
        assert "Did you mean" in text


async def test_a_form_keeps_its_draft_and_letters_stay_in_it(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "B")
        await pilot.press(*"Squall", "space", "q", "z", "T", "7")
        await press(pilot, "enter")
        await type_in(pilot, "900 by 600")
        await press(pilot, "escape")
        assert "Prints booked" in screen_text(app)
        await press(pilot, "B")
        assert "Squall qzT7" in screen_text(app)
        await press(pilot, "down", "down", "down", "t", "h", "u", "f2")
        refused = screen_text(app)
        assert "'900 by 600' is not a size" in refused
        assert "Squall qzT7" in refused
        field = app.screen.query_one("#at-size", Input)
        field.value = "900 x 600"
        await press(pilot, "f2")
        assert screen_text(app).splitlines()[0].startswith(" Squall qzT7")
        await press(pilot, "escape", "B")
        assert app.screen.query_one("#at-name", Input).value == ""


async def test_acts_are_undone_and_a_refusal_names_the_act_in_the_way(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await pilot.press(*"10143", "enter")
        await settle(pilot)
        await press(pilot, "u")
        await type_in(pilot, "12")
        await press(pilot, "enter", "enter", "enter", "enter", "enter")
        said = screen_text(app)
        assert "more than the books held" in said
        assert "z undoes it" in said
        used = counting.trail(desk)[0].act.seq
        await press(pilot, "o")
        await press(pilot, "Z", "down", "z")
        assert "Cannot undo yet" in screen_text(app)
        assert f"act {used + 1}" in screen_text(app)
        await press(pilot, "home", "z", "down", "down", "z")
    kinds = [line.act.kind for line in counting.trail(desk, 4)]
    assert kinds.count("undo") >= 1


async def test_the_filter_shows_only_what_holds_the_word(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U", "slash")
        await type_in(pilot, "rack b")
        await press(pilot, "enter")
        text = screen_text(app)
        assert "Rack B" in text
        assert "Cold store" not in text
        await press(pilot, "escape")
        assert "Cold store" in screen_text(app)
        await press(pilot, "escape")
        assert "Prints booked" in screen_text(app)


async def test_a_small_window_says_so_and_loses_nothing(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "B")
        await type_in(pilot, "Low water")
        await pilot.resize_terminal(60, 20)
        await settle(pilot)
        small = screen_text(app)
        assert "This window is 60 x 20." in small
        assert "80 x 24 are needed." in small
        assert "Low water" not in small
        await press(pilot, "enter", "x")
        await pilot.resize_terminal(80, 24)
        await settle(pilot)
        assert "Low water" in screen_text(app)


def _renamed(desk: Desk) -> None:
    odd = "Acme [/] Ltd [red]x[/red] [@click=app.bell]y[/]"
    made = choices(desk)
    for material in made.materials:
        defining.change_material(
            desk, material.code, name=f"[/] {material.name} [bold", supplier=odd
        )
    for place in made.places:
        defining.change_place(desk, place.code, name=f"{place.name} [/] [b]")
    for order in order_desk(desk).coming:
        ordering.cancel_order(desk, order.code, reason=odd)
    ordering.order(desk, made.materials[0].code, 2, supplier=odd)
    booking.book(desk, f"{odd} job", 9_000, 6_000, desk.today(), made.materials[0].code, count=2)


@pytest.mark.parametrize("size", [(80, 24), (160, 48)])
async def test_no_name_is_ever_read_as_markup(demo: Path, size: tuple[int, int]) -> None:
    _renamed(open_demo(demo))
    async with studio_screen(demo, size) as (app, pilot):
        assert "Acme [/] Ltd" in screen_text(app)
        await press(pilot, "end", "enter")
        assert "[/]" in screen_text(app)
        await press(pilot, "escape", "home", "enter", "question_mark", "escape", "y")
        if size[0] > 80:
            return
        for keys in (
            ("U", "enter", "m"), ("escape", "u"), ("P", "enter", "enter"), ("O", "enter"),
            ("R",), ("W",), ("L",), ("B",), ("Z",), ("T",), ("ctrl+p",), ("escape",),
        ):  # fmt: skip
            await press(pilot, *keys)
            if isinstance(app.focused, Input):
                await press(pilot, "escape")
        await press(pilot, "F")
        await type_in(pilot, "620 x 420")
        await press(pilot, "enter")
        assert "[/]" in screen_text(app)


async def test_an_empty_store_says_what_to_do_next(desk: Desk) -> None:
    app = StockroomApp(lambda: desk)
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        assert "The books are empty." in screen_text(app)
        for key in ("U", "P", "O", "Z", "R", "B", "W"):
            await press(pilot, key)
        assert "There is no" in screen_text(app) or "No place" in screen_text(app)


def _missing() -> Desk:
    raise StoreMissingError("There is no store there.", "Nothing was entered.", "Begin with one.")


def _broken() -> Desk:
    raise ZeroDivisionError("within")


@pytest.mark.parametrize(
    ("opener", "said"),
    [(_missing, "There is no store there."), (_broken, "nobody foresaw")],
)
async def test_a_store_that_cannot_be_opened_is_said_calmly(
    opener: Callable[[], Desk], said: str
) -> None:
    app = StockroomApp(opener)
    async with app.run_test(size=(80, 24)) as pilot:
        for _ in range(3):
            await pilot.pause()
            await app.workers.wait_for_complete()
        await pilot.pause()
        text = screen_text(app)
    assert said in text
    assert "Traceback" not in text


async def test_what_was_glanced_at_is_replaced_by_what_was_reckoned(demo: Path) -> None:
    open_demo(demo).close()
    app = StockroomApp(
        lambda: open_demo(demo), glance=lambda: glance(str(demo), now_s=lambda: DEMO_NOW_S)
    )
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        first = screen_text(app)
        assert "Thu 5 Mar, in 2 days      Salt flats" in first
        await settle(pilot)
        assert "● yes   roll 10143" in screen_text(app)


async def test_keys_can_be_moved_but_never_to_digits(demo: Path) -> None:
    keymap = {"go.units": "V", "go.places": "5"}
    async with studio_screen(demo, keymap=keymap) as (app, pilot):
        assert "digits are scans" in screen_text(app)
        await press(pilot, "V")
        assert "Units in stock" in screen_text(app)


async def test_the_list_of_actions_reaches_every_screen(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "ctrl+p")
        await type_in(pilot, "Find off")
        await press(pilot, "enter")
        assert "Which offcut takes it?" in screen_text(app)


async def test_yesterdays_move_can_be_entered_with_its_time(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, *["down"] * 11, "enter")
        assert "Move roll 10178" in screen_text(app)
        await press(pilot, "up")
        await pilot.press(*["backspace"] * 3)
        await type_in(pilot, "yesterday 16:30")
        await press(pilot, "enter", "enter")
    last = counting.trail(desk)[0]
    assert last.act.kind == "move"
    assert moment_text(last.occurred_s, desk.zone) == "Mon 2 Mar 2026 16:30"


async def test_what_is_typed_while_a_form_is_read_stands_in_the_form(demo: Path) -> None:
    """Fast hands lose no key: the letter opens the form, the figures behind it go into it."""
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "U")
        await press(pilot, "enter")
        app.post_message(events.Key("x", "x"))
        while not app.opening:
            await asyncio.sleep(0)
        for key, character in (("enter", "\r"), ("2", "2"), ("full_stop", "."), ("5", "5")):
            app.post_message(events.Key(key, character))
        await settle(pilot)
        await settle(pilot)
        assert "Lost of roll" in screen_text(app)
        assert app.screen.query_one("#at-amount", Input).value == "2.5"
        assert "Scanned so far" not in screen_text(app)
        assert app.booked == []
