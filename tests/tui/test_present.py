"""What the desk found is laid out truly: every line within its width, every state in words."""

import doctest
import importlib
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from rich.cells import cell_len
from support.lines import as_text, plain

from seeds_demo.studio import DEMO_NOW_S, ZONE, open_demo
from stockroom.desk.stock import handling
from stockroom.desk.stock.counting import trail
from stockroom.desk.cutting.one_cut import find_offcut
from stockroom.desk.day import Today, today
from stockroom.desk.glance import glance
from stockroom.desk.stock.views import one_print, one_unit, order_desk, shelf
from stockroom.desk.climate.views import one_place, places
from stockroom.desk.session import Desk
from tui.today import lines as today_lines
from tui.orders import lines as orders_lines
from tui.climate import lines as climate_lines
from tui.stock import lines as stock_lines
from tui.today.glance import first_glance_rows
from tui.words import Row

WIDTHS = (76, 92, 120)
DAY = date(2026, 3, 3)


@pytest.fixture(scope="module")
def studio(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    """The invented studio, only read from."""
    import shutil

    path = tmp_path_factory.mktemp("read") / "demo.stockroom"
    shutil.copy(demo_store, path)
    desk = open_demo(path)
    yield desk
    desk.close()


@pytest.fixture(scope="module")
def found(studio: Desk) -> Today:
    """Its morning."""
    return today(studio)


PAGES: dict[str, Callable[[Desk, int], list[Row]]] = {
    "today": lambda d, w: today_lines.today_rows(today(d), w, w, d.zone),
    "print": lambda d, w: today_lines.print_rows(one_print(d, "Salt flats"), DAY, w),  # type: ignore[arg-type]
    "units": lambda d, w: stock_lines.unit_rows(shelf(d), DAY, w),
    "unit": lambda d, w: stock_lines.unit_page(one_unit(d, "10178"), w),
    "places": lambda d, w: climate_lines.place_rows(places(d), d.zone, w),
    "place": lambda d, w: climate_lines.place_page(one_place(d, "Cold store"), w),
    "gap week": lambda d, w: climate_lines.place_page(one_place(d, "Cold store", 6), w),
    "order": lambda d, w: orders_lines.order_rows(order_desk(d), w),
    "offcut": lambda d, w: stock_lines.offcut_rows(
        *find_offcut(d, 6_200, 4_200), (6_200, 4_200), w, d.today()
    ),
    "no offcut": lambda d, w: stock_lines.offcut_rows(
        *find_offcut(d, 30_000, 20_000), (30_000, 20_000), w, d.today()
    ),
}


@pytest.mark.parametrize("name", sorted(PAGES))
@pytest.mark.parametrize("width", WIDTHS)
def test_no_line_is_wider_than_its_room(studio: Desk, name: str, width: int) -> None:
    rows = PAGES[name](studio, width)
    wide = [plain(line) for row in rows for line in row.lines if cell_len(plain(line)) > width]
    assert not wide


@pytest.mark.parametrize("name", sorted(PAGES))
def test_the_cursor_rests_only_on_what_leads_somewhere(studio: Desk, name: str) -> None:
    rows = PAGES[name](studio, 76)
    keys = [row.key for row in rows if row.key]
    assert len(keys) == len(set(keys))
    assert all(row.target is not None for row in rows if row.key)


def test_today_tells_each_print_with_its_answer_roll_and_reason(found: Today) -> None:
    text = as_text(today_lines.today_rows(found, 76, 60, ZONE))
    for line in found.prints:
        assert line.job.name in text
        best = line.answers.best
        assert best is not None
        assert f"roll {best.roll.unit.code}" in text
    assert "Thu 5 Mar, in 2 days" in text
    assert "● yes   roll 10143        Fresh on the day." in text
    assert "no job at risk" in text
    assert "2 sheets of Cast acrylic 3 mm" in text


@pytest.mark.parametrize("width", WIDTHS)
def test_what_is_to_be_ordered_stands_soonest_first_on_both_screens(
    studio: Desk, found: Today, width: int
) -> None:
    """Paper that a booked print lacks waits behind today's; the plan may want it sooner."""
    today = today_lines.today_rows(found, width, 60, ZONE)
    keys = [row.key for row in today if row.key.startswith(("reorder ", "lacking "))]
    assert [key.split()[0] for key in keys] == ["reorder", "lacking"]
    assert "Mon 23 Mar, in 20 days    2 rolls of Gloss colour paper 183" in as_text(today)
    listed = orders_lines.order_rows(order_desk(studio), width)
    keys = [row.key for row in listed if row.key.startswith(("reorder ", "lacking ", "planned "))]
    assert [key.split()[0] for key in keys] == ["reorder", "planned"]
    assert "Tue 17 Mar, in 14 days    2 rolls of Gloss colour paper 183" in as_text(listed)


def test_what_is_past_its_day_is_not_called_on_hold(studio: Desk) -> None:
    text = as_text(orders_lines.order_rows(order_desk(studio), 76))
    assert "1 roll here, 2 past their day" in text
    assert "on hold" not in text


def test_nothing_on_the_morning_is_cut_but_the_reasons_of_prints(found: Today) -> None:
    rows = today_lines.today_rows(found, 76, 60, ZONE)
    shown = as_text([row for row in rows if not row.key.startswith("print ")])
    assert "…" not in shown
    assert "off since that day; 30.0 m, Cold store" in shown


def test_sections_without_anything_are_left_out(found: Today) -> None:
    from dataclasses import replace

    quiet = replace(
        found,
        take_out=(),
        put_back=(),
        spells=(),
        reorder=(),
        arrivals=(),
        going_off=(),
        notices=(),
        work=(),
        needs=(),
        cuts=(),
        cards=(),
    )
    text = as_text(today_lines.today_rows(quiet, 76))
    for title in ("Take out", "Put back", "Warm spells", "To cut", "Arriving", "Off or nearly off"):
        assert title not in text
    nothing = replace(quiet, prints=())
    assert "Nothing wants doing today." in as_text(today_lines.today_rows(nothing, 76))
    empty = replace(nothing, units_in_stock=0)
    assert "The books are empty." in as_text(today_lines.today_rows(empty, 76))


def test_the_first_glance_says_what_is_stored_and_that_answers_are_coming(studio: Desk) -> None:
    path = studio.engine.url.database or ""
    looked = glance(path, now_s=lambda: DEMO_NOW_S)
    assert looked is not None
    assert [job.code for job in looked.prints] == [x.job.code for x in today(studio).prints]
    rows = first_glance_rows(looked.prints, looked.today, 76)
    assert "reckoning" in as_text(rows)
    full = as_text(today_lines.today_rows(today(studio), 76)).splitlines()
    assert as_text(rows).splitlines()[1] == full[1]


def test_a_glance_never_shows_a_row_that_was_changed_from_outside(demo: Path) -> None:
    import sqlite3

    open_demo(demo).close()
    connection = sqlite3.connect(demo)
    connection.execute("UPDATE job SET width_dmm = width_dmm + 10")
    connection.commit()
    connection.close()
    assert glance(str(demo)) is None
    assert glance(str(demo.with_name("none.stockroom"))) is None
    assert glance("postgresql://somewhere/studio") is None


def test_a_unit_tells_its_state_in_words(demo: Path) -> None:
    desk = open_demo(demo)
    handling.hold(desk, "10143", "dented")
    lines = {line.unit.code: line for line in shelf(desk)}
    assert stock_lines.state_word(lines["10143"]) == ("on hold: dented", "bad")
    assert stock_lines.state_word(lines["10225"]) == ("strip unsure", "ask")
    assert stock_lines.state_word(lines["10151"])[0] == "sealed"
    text = as_text(stock_lines.unit_page(one_unit(desk, "10143"), 76))
    assert "On hold: dented" in text
    assert "○ no" in text
    handling.lose(desk, "10143", None, "fogged outer wraps")
    gone = as_text(stock_lines.unit_page(one_unit(desk, "10143"), 76))
    assert "lose 10143" in gone
    desk.close()


def test_the_trail_is_told_newest_first_with_times_of_the_workshop(studio: Desk) -> None:
    rows = [stock_lines.trail_row(line, ZONE, 76) for line in trail(studio, 3)]
    text = as_text(rows)
    assert text.splitlines()[0].startswith("Tue 3 Mar 2026 08:55")
    assert "book Reed bed" in text.splitlines()[0]
    assert "Ines" in text


def test_a_week_with_a_gap_shows_the_gap(studio: Desk) -> None:
    rows = climate_lines.place_page(one_place(studio, "Cold store", 6), 76)
    text = as_text(rows)
    assert "Wed 14" in text
    assert "1 gap" in text
    assert "░ not logged" in text


DOCUMENTED = (
    "words", "shared.picture", "climate.picture", "keys", "stock.lines", "climate.lines",
    "climate.span_lines",
)  # fmt: skip


@pytest.mark.parametrize("module", DOCUMENTED)
def test_examples_in_docstrings_hold(module: str) -> None:
    result = doctest.testmod(importlib.import_module(f"tui.{module}"))
    assert result.attempted > 0
    assert result.failed == 0
