"""What a screen paints holds nothing that a terminal obeys, whatever stands in the books."""

import unicodedata
from pathlib import Path

from rich.cells import cell_len
from rich.segment import Segment
from support.screens import press, screen_text, studio_screen
from textual.color import Color

from seeds_demo.studio import open_demo
from tui.clean import CLEAN

EVIL = "\x1b]0;x\x1b[31m\x9b2J\u202e\u200b\ue000"


def obeyed(text: str) -> set[str]:
    return {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Co", "Zl")} - {"\n"}


async def test_escapes_in_the_books_are_never_painted(demo: Path) -> None:
    """A name that no function cleaned on its way in, as one restored from a backup."""
    desk = open_demo(demo)
    place = {"code": "90018", "name": f"Rack{EVIL}", "place_kind": "rack"}
    desk.act("place", place, lambda _bench: place)
    desk.close()
    async with studio_screen(demo) as (app, pilot):
        await press(pilot, "P")
        assert "Rack" in screen_text(app)
        assert not obeyed(screen_text(app))
        app.tell(f"Undone: the move to Rack{EVIL}.")
        await pilot.pause()
        assert "Undone: the move to Rack" in screen_text(app)
        assert not obeyed(screen_text(app))


def test_a_line_keeps_its_width_when_it_is_cleaned() -> None:
    """What takes no cell goes, what takes one is replaced; signals to the terminal stay."""
    line = [Segment(f"a{EVIL}é漢"), Segment("plain")]
    cleaned = CLEAN.apply(line, Color(0, 0, 0))
    assert [cell_len(piece.text) for piece in cleaned] == [cell_len(piece.text) for piece in line]
    assert not obeyed("".join(piece.text for piece in cleaned))
    assert cleaned[1].text == "plain"
    assert CLEAN.apply(line[1:], Color(0, 0, 0)) is not None
