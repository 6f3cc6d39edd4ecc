"""Each screen of the invented studio looks as it did: plain text that a person can read."""

from pathlib import Path

import pytest
from support.screens import compare, press, studio_screen, type_in

SIZES = [(80, 24), (160, 48)]


@pytest.mark.parametrize("size", SIZES)
async def test_screens_look_as_they_did(demo: Path, size: tuple[int, int]) -> None:
    async with studio_screen(demo, size) as (app, pilot):
        compare("today", app)
        await press(pilot, "end")
        compare("today_end", app)
        await press(pilot, "home", "enter")
        compare("print", app)
        await press(pilot, "U")
        compare("units", app)
        await press(pilot, "enter")
        compare("unit", app)
        await press(pilot, "s")
        compare("strip", app)
        await press(pilot, "escape", "P", "enter")
        compare("place", app)
        await press(pilot, "F")
        await type_in(pilot, "620 x 420")
        await press(pilot, "enter")
        compare("offcut", app)
        await press(pilot, "O")
        compare("order", app)
        await press(pilot, "down", "i")
        compare("supply", app)
        await press(pilot, "escape", "home")
        if size[0] > 80:
            return
        await press(pilot, "enter")
        compare("order_form", app)
        await press(pilot, "W")
        await type_in(pilot, "yesterday 18:00")
        await press(pilot, "enter", "enter")
        await type_in(pilot, "14.5")
        compare("warm", app)
        await press(pilot, "escape", "R")
        compare("receive", app)
        await press(pilot, "escape", "Z")
        compare("trail", app)
        await press(pilot, "question_mark")
        compare("help", app)
