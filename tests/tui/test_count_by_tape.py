"""On the screen a roll is counted by its diameter: the length shows with its plus or minus."""

from pathlib import Path

import pytest
from support.screens import press, screen_text, studio_screen, type_in

from seeds_demo.studio import open_demo
from stockroom.core.model import Unit
from stockroom.desk.condition.diameter import measure
from stockroom.desk.lookup import find

ROLL = "10143"
"""A roll of a paper of which one roll of known length was measured."""


async def test_a_roll_is_counted_by_its_diameter(demo: Path) -> None:
    desk = open_demo(demo)
    expected = measure(desk, ROLL, 1_200, 5)
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, ROLL)
        await press(pilot, "enter", "c", "enter")
        await type_in(pilot, "120")
        told = " ".join(screen_text(app).split())
        assert f"{expected.length_dmm / 10_000:.1f} m ±" in told
        assert "from one roll of known length" in told
        await press(pilot, *["enter"] * 5)
        with desk.reading() as view:
            unit = find(view, Unit, ROLL)
        assert unit.remaining_dmm == expected.length_dmm
        assert unit.plus_minus_dmm == expected.plus_minus_dmm > 0
        assert "±" in screen_text(app)


@pytest.mark.parametrize("typed", ["20", "abc"])
async def test_a_diameter_that_cannot_be_is_told_and_books_nothing(demo: Path, typed: str) -> None:
    desk = open_demo(demo)
    with desk.reading() as view:
        before = find(view, Unit, ROLL)
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, ROLL)
        await press(pilot, "enter", "c", "enter")
        await type_in(pilot, typed)
        await press(pilot, *["enter"] * 5)
        assert f"Count roll {ROLL}" in screen_text(app)
    with desk.reading() as view:
        assert find(view, Unit, ROLL) == before
