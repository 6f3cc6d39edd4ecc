"""Help for what was in focus: what the screen is for, and every key that works there."""

from typing import Any

from textual.app import ComposeResult
from textual.screen import Screen

from tui.keys import KEYS, shown
from tui.shared.list_screen import Framed
from tui.shared.line_list import Lines
from tui.words import BLANK, columns, head, note, wrapped

MOVING = (
    "move.up", "move.down", "move.first", "move.last", "move.page_up", "move.page_down",
    "move.left", "move.right", "line.open", "screen.back", "list.filter",
)  # fmt: skip
ALWAYS = ("app.undo", "screen.help", "screen.help_typed", "screen.palette", "app.leave")


class HelpScreen(Framed):
    """Help over the screen it is about."""

    TITLE = "Help"
    FOOT = ("screen.back",)

    def __init__(self, screen: Screen[Any]) -> None:
        super().__init__()
        self.about = screen

    def compose(self) -> ComposeResult:
        """The text."""
        yield from self.frame_above()
        yield Lines(id="list")
        yield from self.frame_below()

    def on_mount(self) -> None:
        """Write it."""
        lines = self.query_one(Lines)
        width = max(40, self.stockroom.size.width - 4)
        tells = getattr(self.about, "TELLS", "")
        acts = tuple(getattr(self.about, "acts", tuple)())
        rows = [note(*wrapped(tells, width), BLANK)]
        going = tuple(id_ for id_ in KEYS if id_.startswith("go."))
        form = ("form.next", "form.send", "form.down", "form.up", "screen.back")
        moving = form if hasattr(self.about, "form") else MOVING
        groups = (("Here", acts), ("Moving", moving), ("Going", going), ("Always", ALWAYS))
        for title, ids in groups:
            if ids:
                rows += [head(title), note(*(self._line(id_, width) for id_ in ids), BLANK)]
        rows.append(
            note(
                *wrapped(
                    "Digits are never keys: typed or scanned outside a field and ended by Enter, "
                    "they open the unit, batch, job, place or order that carries them.",
                    width,
                )
            )
        )
        lines.show(rows, top=True)
        lines.focus()

    def _line(self, id_: str, width: int) -> Any:
        keys = shown(self.stockroom.keys_of(id_), every=True)
        return columns([(keys, 12, "key"), (KEYS[id_].tells, width - 14, "")])
