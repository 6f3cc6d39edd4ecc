"""What was taken back is left, what is wrong with a form goes with it, names stand for codes."""

from pathlib import Path

from support.screens import press, screen_text, studio_screen, type_in

from seeds_demo.studio import open_demo
from stockroom.core.records import Unit
from stockroom.desk.lookup import everything


async def test_a_delivery_taken_back_leads_back_and_is_said(demo: Path) -> None:
    with open_demo(demo).reading() as view:
        before = len(everything(view, Unit))
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10477")
        await press(pilot, "enter", "enter")
        assert "Unit " in screen_text(app).splitlines()[0]
        with open_demo(demo).reading() as view:
            assert len(everything(view, Unit)) == before + 1
        await press(pilot, "z")
        shown = screen_text(app)
        assert "Today" in shown.splitlines()[0]
        assert "was taken back, by act" in shown
        assert "There is no unit" not in shown
        with open_demo(demo).reading() as view:
            assert len(everything(view, Unit)) == before


async def test_film_that_was_ordered_is_proposed_where_film_stands(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10477")
        await press(pilot, "enter")
        (line,) = [x for x in screen_text(app).splitlines() if "Where it stands" in x]
        assert "Mounting room" in line


async def test_what_is_wrong_with_a_form_is_not_said_elsewhere(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10143")
        await press(pilot, "enter", "c")
        await type_in(pilot, "z")
        await press(pilot, *["enter"] * 6)
        assert "'z' is not a length" in screen_text(app)
        await press(pilot, "escape")
        assert "'z' is not a length" not in screen_text(app)
        await press(pilot, "R")
        assert "'z' is not a length" not in screen_text(app)


async def test_a_move_is_told_by_the_name_of_the_place(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10151")
        await press(pilot, "enter", "m", "enter")
        assert "10151 stands in Mounting room." in " ".join(screen_text(app).split())


async def test_a_strip_is_offered_of_paper_only(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, "10305")
        await press(pilot, "enter")
        assert "s strip" not in screen_text(app).splitlines()[-1]
        await press(pilot, "s")
        assert "no test strip is run of it" in " ".join(screen_text(app).split())
        await press(pilot, "escape")
        await type_in(pilot, "10143")
        await press(pilot, "enter")
        assert "s strip" in screen_text(app).splitlines()[-1]
        await press(pilot, "s")
        assert "Strip of roll 10143" in screen_text(app)
