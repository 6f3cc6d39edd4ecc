"""From today to the saw: a plan accepted, cards printed, a card scanned, the cut recorded."""

import threading
import time
from pathlib import Path

import pytest
from support.lines import plain
from support.screens import compare, press, screen_text, settle, studio_screen, type_in

from seeds_demo.studio import open_demo
from stockroom.core.cutting.edges import Trims
from stockroom.core.cutting.tree import Cut, Part
from stockroom.core.model import Unit
from stockroom.desk.stock import counting, handling
from stockroom.desk.cutting import board
from stockroom.desk.cutting.cards import Layout, cards
from stockroom.desk.lookup import everything
from tui.cutting.picture import cut_picture
from tui.cutting.forms import free_name


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A person's folder, where cards are written."""
    monkeypatch.setenv("HOME", str(tmp_path))
    return tmp_path


@pytest.mark.parametrize("size", [(80, 24), (160, 48)])
async def test_cuts_look_as_they_did(demo: Path, size: tuple[int, int], home: Path) -> None:
    async with studio_screen(demo, size) as (app, pilot):
        await press(pilot, "C")
        compare("cuts", app)
        await press(pilot, "down", "enter")
        compare("cuts_planned", app)
        await press(pilot, "escape", "up", "enter", "enter")
        (card,) = cards(open_demo(demo))
        await type_in(pilot, card.card.code)
        await press(pilot, "enter")
        compare("card", app)


async def test_from_today_to_the_cut_in_few_keys(demo: Path, home: Path) -> None:
    """Enter, Enter, Enter; at the saw: the card's code scanned, Enter."""
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        app.screen.lines.rest_on("cuts 10102")  # type: ignore[attr-defined]
        assert "2 pieces come from 1 sheet." in screen_text(app)
        assert await press(pilot, "enter", "enter", "enter") == 3
        assert "Cards to print" in screen_text(app)
        (pdf,) = home.glob("*.pdf")
        assert pdf.read_bytes().startswith(b"%PDF")
        (card,) = cards(desk)
        await press(pilot, "T")
        assert f"card {card.card.code}" in _whole(app)
        await type_in(pilot, card.card.code)
        await press(pilot, "enter", "enter")
        assert "is done" in screen_text(app)
        assert cards(desk) == []
        await press(pilot, "z")
        assert [view.card.code for view in cards(desk)] == [card.card.code]


def _whole(app: object) -> str:
    rows = app.screen.lines.rows  # type: ignore[attr-defined]
    return "\n".join(plain(line) for row in rows for line in row.lines)


async def test_what_differed_is_recorded_by_the_parts_number(demo: Path, home: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "enter", "enter")
        (view,) = cards(desk)
        piece = next(part for part in view.layout.parts if part.what == "piece")
        await type_in(pilot, view.card.code)
        await press(pilot, "enter", "down", "enter")
        await type_in(pilot, "x")
        await press(pilot, "f2")
        assert "is not the number of a part" in screen_text(app)
        await press(pilot, "backspace")
        await type_in(pilot, str(piece.number))
        await press(pilot, "f2")
        assert "lost" in screen_text(app)
        assert "This card is cut." in screen_text(app)
        assert "cannot be cut" not in _whole(app)
        assert "Cut as planned" not in _whole(app)
    with desk.reading() as reading:
        born = [unit for unit in everything(reading, Unit) if unit.parent == view.unit.code]
    assert len(born) == len(view.layout.parts) - 1


async def test_a_card_is_dropped_and_the_work_is_planned_again(demo: Path, home: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "enter", "enter")
        (view,) = cards(open_demo(demo))
        await type_in(pilot, view.card.code)
        await press(pilot, "enter", "end", "enter")
        assert "is dropped" in screen_text(app)
        assert "2 pieces come from 1 sheet" in _whole(app)
        await type_in(pilot, view.card.code)
        await press(pilot, "enter")
        assert "This card was dropped." in screen_text(app)


async def test_a_card_whose_sheet_is_gone_offers_only_to_drop_it(demo: Path, home: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "enter", "enter")
        (view,) = cards(desk)
        handling.lose(desk, view.unit.code, None, "broken")
        await press(pilot, "T")
        await type_in(pilot, view.card.code)
        await press(pilot, "enter")
        assert f"This card cannot be cut: {view.unit.code} is lost." in screen_text(app)
        assert "Cut as planned" not in screen_text(app)
        await press(pilot, "enter")
        assert "is dropped" in screen_text(app)


async def test_a_pdf_that_is_there_is_not_written_over_and_nothing_is_accepted(
    demo: Path, home: Path
) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "enter")
        (home / "bench-cards.pdf").write_text("mine")
        await press(pilot, "enter")
        assert "is there already" in screen_text(app)
        assert cards(open_demo(demo)) == []
    assert (home / "bench-cards.pdf").read_text() == "mine"
    assert free_name("bench-cards", home).name == "bench-cards-2.pdf"


async def test_a_search_is_stopped_by_esc_and_the_best_so_far_stays(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The search runs aside: the screen answers, Esc ends it, a second Esc leaves."""
    begun, stopped = threading.Event(), threading.Event()
    quick = board.plan_cuts

    def endless(*args: object, **how: object) -> object:
        spent = how.get("spent")
        if spent is None:
            return quick(*args, **how)  # type: ignore[arg-type]
        begun.set()
        for _ in range(1_000):
            if spent() >= 1:  # type: ignore[operator]
                stopped.set()
                break
            time.sleep(0.01)
        return quick(*args, **{**how, "spent": None})  # type: ignore[arg-type]

    monkeypatch.setattr(board, "plan_cuts", endless)
    async with studio_screen(demo) as (app, pilot):
        await pilot.press("C")
        while not begun.is_set():
            await pilot.pause(0.02)
        await pilot.pause()
        assert "looking for better plans, Esc stops" in screen_text(app)
        assert "2 pieces come from 1 sheet" in screen_text(app)
        await pilot.press("escape")
        await settle(pilot)
        assert stopped.is_set()
        assert "the best plan so far stays" in screen_text(app)
        assert "looking for" not in screen_text(app)
        await press(pilot, "escape")
        assert "Prints booked" in screen_text(app)


async def test_an_older_search_ends_without_a_word_about_the_newer(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Leaving a sheet out asks anew: the search before it is stopped, the new one is not."""
    begun = [threading.Event(), threading.Event()]
    stopped = [threading.Event(), threading.Event()]
    answers, let_go = threading.Event(), threading.Event()
    quick = board.plan_cuts

    def endless(*args: object, **how: object) -> object:
        spent = how.pop("spent", None)
        if spent is not None:
            older = not begun[0].is_set()
            mine = 0 if older else 1
            begun[mine].set()
            if older:  # slow to look at its clock: not before the newer one runs
                begun[1].wait(20)
            for _ in range(2_000):
                if spent() >= 1:  # type: ignore[operator]
                    stopped[mine].set()
                if stopped[mine].is_set() or let_go.is_set():
                    break
                time.sleep(0.01)
        found = quick(*args, **how)  # type: ignore[arg-type]
        if spent is not None and older:
            answers.set()
        return found

    monkeypatch.setattr(board, "plan_cuts", endless)
    async with studio_screen(demo) as (app, pilot):
        await pilot.press("C")
        while not begun[0].is_set():
            await pilot.pause(0.02)
        await pilot.pause()
        await pilot.press("down", "n")
        while not answers.is_set():
            await pilot.pause(0.02)
        await pilot.pause(0.3)
        assert stopped[0].is_set()
        assert not stopped[1].is_set()
        assert "looking for better plans, Esc stops" in screen_text(app)
        let_go.set()
        await settle(pilot)
        assert "looking for" not in screen_text(app)


async def test_a_sheet_is_left_out_of_the_plans_and_taken_in_again(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "down", "n")
        assert "10268 is left out of the plans" in screen_text(app)
        assert "Not used: 10268, 3050 x 2030 mm: left out, as you said" in _whole(app)
        assert "1 sheet to buy" in _whole(app)
        app.screen.lines.rest_on("passed 10102 10268")  # type: ignore[attr-defined]
        await press(pilot, "n")
        assert "2 pieces come from 1 sheet." in _whole(app)
        await press(pilot, "home", "n")
        assert "no sheet or offcut on this line" in screen_text(app)


def layout(tree: Cut | Part, kerf: int = 40) -> Layout:
    return Layout(tree.width_dmm, tree.height_dmm, Trims(), tree, kerf)


def drawing(lay: Layout, columns: int, rows: int) -> list[str]:
    return [plain(line) for line in cut_picture(lay, columns, rows)]


def test_a_picture_is_to_scale_with_numbers_sizes_and_waste() -> None:
    low = Part("piece", "7/sheet", 6_000, 4_000)
    high = Part("waste", "", 6_000, 1_960)
    assert drawing(layout(Cut("y", 4_000, 6_000, 6_000, low, high)), 25, 13) == [
        "┌───────────────────────┐",
        "│╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱│",
        "│╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱│",
        "│╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱╱│",
        "├───────────────────────┤",
        "│                       │",
        "│                       │",
        "│           1           │",
        "│       600 x 400       │",
        "│                       │",
        "│                       │",
        "│                       │",
        "└───────────────────────┘",
    ]


@pytest.mark.parametrize(("wide", "high"), [(40_000, 300), (300, 40_000), (30_500, 20_300)])
def test_a_picture_never_takes_more_cells_than_it_may(wide: int, high: int) -> None:
    lines = drawing(layout(Part("piece", "7/sheet", wide, high)), 30, 14)
    assert len(lines) <= 14
    assert max(map(len, lines)) <= 30


def test_an_offcut_says_that_it_is_kept() -> None:
    assert any("1 keep" in line for line in drawing(layout(Part("offcut", "", 900, 900)), 30, 14))


async def test_undo_of_accepting_takes_the_cards_away(demo: Path, home: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "enter", "enter", "z")
        assert "was taken back" in screen_text(app)
    assert cards(desk) == []
    assert counting.trail(desk, 1)[0].act.kind == "undo"


async def test_a_card_that_was_taken_back_says_so_where_its_code_is_scanned(
    demo: Path, home: Path
) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "C", "enter", "enter")
        (view,) = cards(desk)
        await press(pilot, "z")
        await type_in(pilot, view.card.code)
        await press(pilot, "enter")
        assert "taken back with act" in " ".join(screen_text(app).split())
        await press(pilot, "T")
        assert "taken back with act" not in " ".join(screen_text(app).split())


async def test_what_was_cut_is_told_whole_and_how_it_is_undone(demo: Path, home: Path) -> None:
    """Alike pieces share a line of words, so that three lines of 78 cells hold it."""
    desk = open_demo(demo)
    async with studio_screen(demo, (80, 24)) as (app, pilot):
        await press(pilot, "C", "enter", "enter")
        (view,) = cards(desk)
        await type_in(pilot, view.card.code)
        await press(pilot, "enter", "enter")
        assert "undoes it." in screen_text(app)
