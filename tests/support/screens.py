"""Driving the screens in tests, and reading them as plain text."""

import asyncio
import os
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from textual import events
from textual.pilot import Pilot
from textual.widgets import Input

from seeds_demo.studio import open_demo
from tui.app import StockroomApp

GOLDENS = Path(__file__).parents[1] / "tui" / "goldens"
NAMES = {
    " ": "space", ".": "full_stop", "-": "minus", ":": "colon", "/": "slash", "+": "plus",
    "_": "underscore", "[": "left_square_bracket", "]": "right_square_bracket",
}  # fmt: skip


def screen_text(app: StockroomApp) -> str:
    """Return what stands on the screen as plain text, without blanks at the ends of lines."""
    strips = app.screen._compositor.render_strips()
    return "\n".join(strip.text.rstrip() for strip in strips).rstrip("\n") + "\n"


async def settle(pilot: Pilot[int]) -> None:
    """Wait until nothing is read or booked any more."""
    app = pilot.app
    assert isinstance(app, StockroomApp)
    await pilot.pause()
    while app.busy:
        await app.workers.wait_for_complete()
        await pilot.pause()
    for error in app.surprises:
        raise error


async def press(pilot: Pilot[int], *keys: str) -> int:
    """Press real keys one after another, as a person would, and return how many."""
    for key in keys:
        await pilot.press(NAMES.get(key, key))
        await settle(pilot)
    return len(keys)


async def type_in(pilot: Pilot[int], text: str) -> None:
    """Type text key by key, or paste it where a field has the focus, which is quicker."""
    if isinstance(pilot.app.focused, Input):
        pilot.app.post_message(events.Paste(text))
    else:
        await pilot.press(*(NAMES.get(char, char) for char in text))
    await settle(pilot)


async def until(pilot: Pilot[int], seen: Callable[[], bool], within_s: float = 5.0) -> None:
    """Wait until something is seen, or fail."""
    ends_s = time.monotonic() + within_s
    while not seen():
        assert time.monotonic() < ends_s, "it was never seen"
        await asyncio.sleep(0.01)
        await settle(pilot)


@asynccontextmanager
async def studio_screen(
    store: Path, size: tuple[int, int] = (80, 24), **more: object
) -> AsyncIterator[tuple[StockroomApp, Pilot[int]]]:
    """The app on a store, settled on today."""
    app = StockroomApp(lambda: open_demo(store), demo=True, **more)  # type: ignore[arg-type]
    async with app.run_test(size=size) as pilot:
        await settle(pilot)
        yield app, pilot


def compare(name: str, app: StockroomApp) -> None:
    """Compare the screen with its golden, or write it where STOCKROOM_WRITE_GOLDENS is set."""
    path = GOLDENS / f"{name}_{app.size.width}x{app.size.height}.txt"
    text = screen_text(app)
    if os.environ.get("STOCKROOM_WRITE_GOLDENS"):
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8"), f"{path.name} differs"
