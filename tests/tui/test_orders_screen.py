"""The order screen: by day, terms, an order from the plan in few keys."""

from pathlib import Path

import pytest
from support.screens import press, screen_text, studio_screen, type_in

from seeds_demo.studio import open_demo
from stockroom.core.model import Material
from stockroom.desk.lookup import find
from stockroom.desk.stock.views import order_desk


def whole(app: object) -> str:
    return " ".join(screen_text(app).split())  # type: ignore[arg-type]


async def test_terms_are_said_on_the_screen_and_told_back(demo: Path) -> None:
    desk = open_demo(demo)
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "O", "f")
        assert "How it is sold: Cast acrylic 3 mm" in screen_text(app)
        await press(pilot, "ctrl+u")
        await type_in(pilot, "6")
        await press(pilot, "down", "down", "down")
        await type_in(pilot, "12=98, 24=89.50")
        await press(pilot, "f2")
        shown = whole(app)
        assert "118.00 each, from 12 on 98.00, from 24 on 89.50; at least 6" in shown
        with desk.reading() as view:
            material = find(view, Material, "Cast acrylic 3 mm")
        assert (material.order_minimum, material.price_breaks) == (6, "12=9800 24=8950")
        await press(pilot, "f")
        assert "12=98.00, 24=89.50" in screen_text(app)
        await press(pilot, "ctrl+u")
        await type_in(pilot, "none")
        await press(pilot, "f2")
        assert "none" in screen_text(app)
        assert "not a number" in whole(app) or "no number" in whole(app)


@pytest.mark.parametrize("size", [(80, 24), (160, 48)])
async def test_a_material_by_day_leads_to_its_order_and_back(
    demo: Path, size: tuple[int, int]
) -> None:
    before = order_desk(open_demo(demo))
    planned = next(item for item in before.planned if item.material.name.startswith("Gloss"))
    async with studio_screen(demo, size) as (app, pilot):
        await press(pilot, "O", "down", "i")
        assert "By day: Gloss colour paper 183" in screen_text(app)
        assert "Work lacks it" in screen_text(app)
        await press(pilot, "enter")
        assert "Order Gloss colour paper 183" in screen_text(app)
        await press(pilot, "f2")
        assert f"{planned.line.units} x Gloss colour paper 183" in whole(app)
        await press(pilot, "end", "down", "down", "down")
        assert "on the way" in screen_text(app), "the page is read anew"
        await press(pilot, "z", "end", "down", "down", "down")
        assert "on the way" not in screen_text(app)
