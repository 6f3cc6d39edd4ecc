"""On the screen a daily patch takes two typed values; below stands what it is held against."""

from pathlib import Path

import pytest
from support.screens import press, screen_text, studio_screen, type_in
from textual.widgets import Input

from seeds_demo.studio import open_demo
from stockroom.core.condition import Patch
from stockroom.desk.stock import handling
from stockroom.desk.condition import whites
from stockroom.desk.lookup import everything
from stockroom.errors import RefusedError
from tui.condition.white import patch_form
from tui.words import Target

ROLL, OTHER = "10143", "10151"
"""Two rolls of one emulsion of the invented studio."""


async def test_a_daily_patch_takes_two_typed_values(demo: Path) -> None:
    desk = open_demo(demo)
    whites.note_patch(
        desk, OTHER, b=-2.4, instrument="Bench spectro", measuring="M1", backing="white", spots=4,
        control="strip A", control_b=-2.5,
    )  # fmt: skip
    handling.hold(desk, ROLL, "looked at")
    async with studio_screen(demo) as (app, pilot):
        await type_in(pilot, ROLL)
        await press(pilot, "enter", "e")
        asked = screen_text(app)
        told = " ".join(asked.split())
        assert f"White patch of roll {ROLL}" in asked
        assert isinstance(app.focused, Input)
        assert app.focused.id == "at-b"
        assert f"Held against {OTHER} on" in told
        assert "b* -2.40 (M1, white backing), control strip A b* -2.50" in told
        assert "Nobody can tell paper from chemistry" in told
        assert "As a caution, not a permission; follow local rules and trained practice." in told
        await type_in(pilot, "94.1 -0.3 -2.15")
        await press(pilot, "enter", "enter")
        await type_in(pilot, "-2.40")
        assert "Nobody can tell paper from chemistry" not in screen_text(app)
        await press(pilot, *["enter"] * 9)
        with desk.reading() as view:
            patch = next(item for item in everything(view, Patch) if item.unit == ROLL)
        assert (patch.l_milli, patch.a_milli, patch.b_milli) == (94_100, -300, -2_150)
        assert (patch.control, patch.control_b_milli, patch.spots) == ("strip A", -2_400, 4)
        assert (patch.instrument, patch.measuring) == ("Bench spectro", "M1")


def test_the_lines_say_what_a_patch_is_not_held_against(demo: Path) -> None:
    desk = open_demo(demo)
    form = patch_form(desk, Target("form", ROLL))
    blank = {field.id: field.value for field in form.fields}
    assert form.start == "b"
    assert any("The first of its emulsion" in line for line in form.told(blank))
    unknown = {**blank, "measuring": "unknown"}
    assert any("others of unknown condition" in line for line in form.told(unknown))
    whites.note_patch(
        desk, OTHER, density=0.09, instrument="Meter", measuring="M1", backing="white",
        control="strip A", control_density=0.1,
    )  # fmt: skip
    form = patch_form(desk, Target("form", ROLL))
    usual = {field.id: field.value for field in form.fields}
    assert (form.start, form.fields[0].id, usual["instrument"]) == ("density", "density", "Meter")
    assert any(line.startswith(f"Held against {OTHER}") for line in form.told(usual))
    for changed in ({"measuring": "M0"}, {"backing": "black"}, {"instrument": "x"}, {"b": "-2"}):
        assert any("held against none" in line for line in form.told({**usual, **changed}))
    strip_b = {**usual, "density": "0.1", "control": "strip B", "control_density": "0.1"}
    assert any("The first had control strip A" in line for line in form.told(strip_b))
    same = {**strip_b, "control": "STRIP A"}
    assert not any("The first had control" in line for line in form.told(same))


def test_a_name_alone_is_no_control_and_a_sheet_has_no_white(demo: Path) -> None:
    desk = open_demo(demo)
    form = patch_form(desk, Target("form", ROLL))
    values = {field.id: field.value for field in form.fields}
    values |= {"b": "-2,15", "control": "strip A", "measuring": "unknown"}
    form.submit(desk, values, "once")
    with desk.reading() as view:
        patch = next(item for item in everything(view, Patch) if item.unit == ROLL)
    assert (patch.b_milli, patch.control, patch.measuring) == (-2_150, None, "unknown")
    with pytest.raises(RefusedError, match="no roll of paper"):
        patch_form(desk, Target("form", "10241"))
