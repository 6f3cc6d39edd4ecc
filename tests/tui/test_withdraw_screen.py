"""On the screen a file is compared before it is stored; an import is withdrawn and brought back."""

from datetime import UTC, datetime
from pathlib import Path

from support.screens import press, screen_text, studio_screen, type_in
from textual.pilot import Pilot

from seeds_demo.logger import logger_file
from seeds_demo.studio import open_demo
from stockroom.core.model import Import
from stockroom.desk.stock import counting
from stockroom.desk.climate import readings
from stockroom.desk.lookup import everything
from stockroom.desk.session import Desk
from tui.keys import KEYS


def imports(desk: Desk) -> list[Import]:
    with desk.reading() as view:
        return everything(view, Import)


async def to_import(pilot: Pilot[int]) -> None:
    """Go to the cold store's logger file, the last line of its page."""
    await press(pilot, "P", "enter", "end")


async def test_an_import_is_withdrawn_with_a_reason_and_brought_back(demo: Path) -> None:
    desk = open_demo(demo)
    (taken,) = imports(desk)
    async with studio_screen(demo) as (app, pilot):
        await to_import(pilot)
        foot = screen_text(app).splitlines()[-1]
        assert "v withdraw" in foot
        await press(pilot, "v")
        asked = screen_text(app)
        assert "Withdraw a logger file of Cold store" in asked
        assert "cold-store.csv" in asked
        assert f"{taken.readings} readings" in asked
        await press(pilot, "enter", "enter")
        assert "Why is it withdrawn?" in screen_text(app)
        assert not imports(desk)[0].withdrawn
        await press(pilot, "up")
        await type_in(pilot, "wrong logger")
        await press(pilot, "enter", "enter")
        assert imports(desk)[0].withdrawn
        assert "z undoes it" in screen_text(app)
        assert counting.trail(desk)[0].act.reason == "wrong logger"
        await press(pilot, "end")
        assert "cold-store.csv" not in screen_text(app)
        await press(pilot, "z")
        assert not imports(desk)[0].withdrawn
        await press(pilot, "end")
        assert "cold-store.csv" in screen_text(app)


async def test_the_key_says_where_it_does_nothing_and_is_in_the_help(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "P", "enter")
        assert "withdraw" not in screen_text(app).splitlines()[-1]
        await press(pilot, "v")
        assert "no logger file on this line" in screen_text(app)
        await press(pilot, "end", "enter")
        assert "Withdraw a logger file" in screen_text(app)
        await press(pilot, "escape", "question_mark")
        for _ in range(6):
            if KEYS["act.withdraw"].tells in screen_text(app):
                break
            await press(pilot, "pagedown")
        assert KEYS["act.withdraw"].tells in screen_text(app)


async def test_units_are_still_acted_on_from_a_places_page(demo: Path) -> None:
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "P", "enter", "end", "up", "m")
        assert "Move " in screen_text(app).splitlines()[0]


async def _look(pilot: Pilot[int], path: Path) -> None:
    await press(pilot, "L")
    await type_in(pilot, str(path))
    await press(pilot, "enter")


async def test_a_look_tells_what_is_known_before_anything_is_stored(
    demo: Path, tmp_path: Path
) -> None:
    desk = open_demo(demo)
    head, *rows = logger_file().decode().splitlines()
    path = tmp_path / "again.csv"
    path.write_text("\r\n".join([head, *rows]) + "\r\n\r\n", newline="")
    async with studio_screen(demo) as (app, pilot):
        await _look(pilot, path)
        shown = " ".join(screen_text(app).split())
        assert "Beside the readings of this place" in shown
        assert "Nothing new in it: all" in shown
        assert "too coarse" not in shown
        assert len(imports(desk)) == 1
        await press(pilot, "enter")
        assert len(imports(desk)) == 2
        assert "Nothing new in it: all" in " ".join(screen_text(app).split())


def _stamp(at_s: int) -> str:
    return datetime.fromtimestamp(at_s, UTC).isoformat()


async def test_a_look_at_hourly_warmer_readings_says_both(demo: Path, tmp_path: Path) -> None:
    desk = open_demo(demo)
    (taken,) = imports(desk)
    first_s = taken.to_s - 10 * 86_400
    rows = "".join(f"{_stamp(first_s + 3600 * n)},9.5\n" for n in range(24))
    path = tmp_path / "hourly.csv"
    path.write_text(f"time,temperature °C\n{rows}")
    async with studio_screen(demo, (100, 40)) as (app, pilot):
        await _look(pilot, path)
        shown = " ".join(screen_text(app).split())
        assert "it differs from what stands, by" in shown
        assert "there the warmer counts" in shown
        assert "Logging every 60 min is too coarse" in shown
        assert "UTC+00:00" in shown
        await press(pilot, "enter")
        assert "there the warmer counts" in " ".join(screen_text(app).split())
    common = readings.compare_readings(
        desk, taken.place, readings.look_at_readings(desk, path.read_bytes(), "hourly").readings
    )
    assert common.nothing_new
