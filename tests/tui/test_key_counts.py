"""The daily jobs take as few keys as was promised; real keys are counted."""

from pathlib import Path

from support.screens import press, screen_text, studio_screen, type_in

from seeds_demo.studio import open_demo
from stockroom.core.craft import Try
from stockroom.desk.stock import handling
from stockroom.desk.condition.checking import ok
from stockroom.desk.lookup import everything
from stockroom.desk.stock.views import order_desk
from stockroom.desk.climate.views import one_place


async def test_a_booked_prints_answer_takes_no_key(demo: Path) -> None:
    async with studio_screen(demo) as (app, _):
        shown = screen_text(app)
    assert "Salt flats" in shown
    assert "● yes   roll 10143" in shown


async def test_a_doubtful_roll_is_settled_by_a_strip_in_three(demo: Path) -> None:
    desk = open_demo(demo)
    for roll in ("10178", "10186"):
        handling.hold(desk, roll, "kept for another studio")
    assert ok(desk, job="Tidal series").best.verdict.answer == "strip"  # type: ignore[union-attr]
    async with studio_screen(demo) as (app, pilot):
        assert await press(pilot, "down", "s", "c") <= 3
        assert "z undoes it" in screen_text(app)
    best = ok(desk, job="Tidal series").best
    assert best is not None
    assert (best.verdict.unit, best.verdict.answer) == ("10225", "yes")


async def test_sheets_are_reordered_in_four(demo: Path) -> None:
    desk = open_demo(demo)
    before = order_desk(desk)
    async with studio_screen(demo) as (_, pilot):
        assert await press(pilot, "O", "enter", "enter") <= 4
    after = order_desk(desk)
    assert len(after.coming) == len(before.coming) + 1
    ordered = next(item for item in after.coming if item not in before.coming)
    assert (before.materials[ordered.material].name, ordered.count) == ("Cast acrylic 3 mm", 2)
    assert not after.reorder


async def test_an_offcut_is_found_in_five_beyond_the_size(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        count = await press(pilot, "F")
        await type_in(pilot, "620 x 420")
        count += await press(pilot, "enter")
        shown = screen_text(app)
    assert count <= 5
    assert "● 10436    Rack A        1820 x 800 mm" in shown
    assert "remain" in shown


async def test_a_warm_spell_is_logged_in_ten_beyond_the_figures(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (_, pilot):
        count = await press(pilot, "W")
        await type_in(pilot, "2026-02-10 18:00")
        count += await press(pilot, "enter")
        await type_in(pilot, "")
        count += await press(pilot, "enter")
        await type_in(pilot, "14.5")
        count += await press(pilot, "enter")
        await type_in(pilot, "9")
        count += await press(pilot, "enter", "d", "enter", "enter")
    assert count <= 10
    spells = one_place(desk, "Cold store").spells
    logged = [item.spell for item in spells if item.spell.source == "by hand"]
    assert any(spell.cause == "door left open" for spell in logged)


async def test_an_arrival_as_ordered_takes_two_beyond_its_scan(demo: Path) -> None:
    desk = open_demo(demo)
    order = order_desk(desk).coming[0]
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, order.code)
        assert await press(pilot, "enter", "enter") <= 2
        shown = screen_text(app)
    assert order not in order_desk(desk).coming
    assert "Clear mounting film 155" in shown


async def test_a_print_is_recorded_from_today_in_three_beyond_the_cause(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        assert await press(pilot, "g", "enter", "enter") <= 3
        assert "Salt flats (10508) is done" in screen_text(app)
        with desk.reading() as view:
            (tried,) = [x for x in everything(view, Try) if x.area_dmm2 == 25_000 * 12_500]
        assert tried.good
        await press(pilot, "z")
    with desk.reading() as view:
        assert not [item for item in everything(view, Try) if item.code == tried.code]


async def test_a_lost_print_names_its_cause_with_one_more_choice(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "g", "right")
        assert "Lost to bad print: destroys paper." in screen_text(app)
        await press(pilot, "enter", "enter")
    with desk.reading() as view:
        last = max(everything(view, Try), key=lambda item: item.act)
    assert (last.good, last.cause, last.takes) == (False, "bad print", "paper")


async def test_the_work_is_seen_and_a_piece_recorded_from_its_page(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "J")
        shown = screen_text(app)
        assert "In work" in shown
        assert "Harbour steps" in shown
        await press(pilot, "enter")
        assert "Still needed" in screen_text(app)
        await press(pilot, "down", "g")
        shown = screen_text(app)
        assert "Back: Harbour steps, piece 2 of 4" in shown
        assert "Back film from" in shown
