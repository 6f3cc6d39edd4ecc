"""On the screen a sheet is looked over, a fault is written down, a use chosen, a size ordered."""

from pathlib import Path

from support.screens import press, screen_text, studio_screen, type_in

from seeds_demo.studio import open_demo
from stockroom.core.condition import Fault, Surface
from stockroom.core.model import Order, Unit
from stockroom.desk.condition import surfaces
from stockroom.desk.stock import counting
from stockroom.desk.lookup import everything
from stockroom.desk.stock.views import order_desk


async def test_an_offcut_is_looked_over_and_that_is_taken_back(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10436")
        await press(pilot, "enter", "e")
        asked = screen_text(app)
        assert "Look over offcut 10436" in asked
        assert "Nobody has looked it over yet" in asked
        assert "As a caution, not a permission" in asked
        await press(pilot, "down", "right", "down", "right", "down")
        await type_in(pilot, "tl")
        await press(pilot, "enter", "enter", "enter", "enter")
        with desk.reading() as view:
            (look,) = everything(view, Surface)
        assert (look.unit, look.mask_front, look.mask_back) == ("10436", "on", "lifted")
        assert (look.grade, look.chipped) == ("back", "top left")
        shown = " ".join(screen_text(app).split())
        assert "kept for a back or a sample" in shown
        await press(pilot, "e")
        assert app.screen.query_one("#at-chipped").value == "top left"  # type: ignore[attr-defined]
        await press(pilot, "escape", "z")
        with desk.reading() as view:
            assert everything(view, Surface) == []


async def test_a_fault_is_written_down_and_found_on_the_page(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10305")
        await press(pilot, "enter", "e")
        assert "Fault in roll 10305" in screen_text(app)
        await type_in(pilot, "gel")
        await press(pilot, "enter")
        await type_in(pilot, "51")
        await press(pilot, "enter", "enter", "enter", "enter")
        assert "does not lie on 10305" in screen_text(app)
        await press(pilot, "up", "up", "up", "backspace", "backspace")
        await type_in(pilot, "3.2")
        await press(pilot, "enter", "enter", "enter", "enter")
        with desk.reading() as view:
            fault = max(everything(view, Fault), key=lambda item: item.act)
        assert (fault.unit, fault.from_dmm, fault.to_dmm) == ("10305", 32_000, 32_000)
        shown = ""
        for _ in range(4):
            await press(pilot, "pagedown")
            shown += " ".join(screen_text(app).split())
        assert "gel at 1.36 m" in shown  # 1.84 m of the roll are used


async def test_a_figure_leads_to_the_form_that_changes_it(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10436")
        await press(pilot, "enter", "enter")
        page = screen_text(app)
        assert "Faces: not looked over since it came" in page
        assert "Change what it rests on" in page
        await press(pilot, "end", "enter")
        assert "Look over offcut 10436" in screen_text(app)


async def test_an_offcut_is_asked_for_another_use(demo: Path) -> None:
    surfaces.look_over(open_demo(demo), "10436", mask_back="off")
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "F")
        await type_in(pilot, "620 x 420")
        await press(pilot, "enter")
        shown = screen_text(app)
        assert "● 10436" not in shown
        assert "○ 10436" in shown
        await press(pilot, "shift+tab", "right", "right")
        shown = screen_text(app)
        assert "for a back" in shown
        assert "● 10436" in shown


async def test_sheets_cut_to_size_are_ordered_and_taken_in(demo: Path) -> None:
    desk = open_demo(demo)
    material = next(m for m, _ in order_desk(desk).watched if m.name == "Cast acrylic 3 mm")
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "O", "enter", "up")
        await type_in(pilot, "1210 x 810")
        assert "never counts as full sheets" in screen_text(app)
        await press(pilot, "enter", "enter")
        shown = screen_text(app)
        assert "2 sheets cut to 1210 x 810 mm of Cast acrylic 3 mm" in shown
        with desk.reading() as view:
            order = max(everything(view, Order), key=lambda item: int(item.code))
        assert (order.material, order.width_dmm, order.price_cents) == (material.code, 12_100, None)
        assert order_desk(desk).reorder[0].material.code == material.code
        await type_in(pilot, order.code)
        await press(pilot, "enter")
        asked = screen_text(app)
        assert "cut to 1210 x 810 mm" in asked
        assert "gets a code of its own" in " ".join(asked.split())
        await press(pilot, "enter")
    with desk.reading() as view:
        born = [u for u in everything(view, Unit) if (u.width_dmm, u.length_dmm) == (12_100, 8_100)]
    assert [unit.count for unit in born] == [1, 1]
    assert counting.trail(desk)[0].act.kind == "receive"
