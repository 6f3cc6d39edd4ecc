"""Which offcut takes a piece? A size and a use, then the best three, and why the others do not."""

from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.widgets import Input, Static

from stockroom.core.records import GRADES
from tui.shared.list_screen import Leaf
from tui.shared.pick import Pick
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk

DRAFT = "offcut"
USES = (
    ("", "face; board: back"),
    ("face", "for a face"),
    ("back", "for a back"),
    ("jig", "for a jig"),
)
"""What a piece may be cut for; the usual, where nobody says."""


class OffcutScreen(Leaf):
    """A size above, the offcuts below."""

    TITLE = "Which offcut takes it?"
    TELLS = (
        "Type the size of the piece and press Enter. Offcuts come first, the smallest that takes "
        "it at the top; a full sheet only where no offcut serves. The piece may lie turned. "
        "Acrylic is cut for faces and board for backs, unless you choose; what was seen of masks, "
        "grade and corners decides whether a piece is good enough."
    )
    FOOT = (
        "line.open", "act.use", "act.lose", "screen.help_typed", "screen.back", "screen.palette",
    )  # fmt: skip

    def compose(self) -> ComposeResult:
        """The size above the list."""
        yield from self.frame_above()
        draft = self.stockroom.drafts.get(DRAFT, {}).get("size", "")
        with Horizontal(classes="field"):
            yield Static(Content("Size of the piece"), classes="label")
            hint = "mm, such as 620 x 420"
            yield Input(draft, hint, id="size", compact=True, select_on_focus=False)
            yield Pick(USES, self.stockroom.drafts.get(DRAFT, {}).get("use", ""), id="use")
        yield from self.body()
        yield from self.frame_below()

    def begin(self) -> None:
        """Begin with the size."""
        super().begin()
        self.query_one("#size", Input).focus()

    def fetch(self, desk: "Desk") -> Any:
        """Look for what takes the size that was typed; nothing before one was."""
        import tui.stock.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.cutting.one_cut import find_offcut
        from stockroom.units import size_dmm

        draft = self.stockroom.drafts.get(DRAFT, {})
        text, use = draft.get("asked", ""), draft.get("use", "")
        if not text:
            return None
        size = size_dmm(text)
        today = self.stockroom.on or desk.today()
        found = find_offcut(
            desk, *size, use=next((grade for grade in GRADES if grade == use), None), today=today
        )
        return found, size, today

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay them out."""
        from tui.stock.lines import offcut_rows

        (yes, no), size, today = data
        return offcut_rows(yes, no, size, width, today)

    def on_input_changed(self, event: Input.Changed) -> None:
        """Keep what is typed."""
        if event.input.id == "size":
            self.stockroom.drafts.setdefault(DRAFT, {})["size"] = event.value

    def on_pick_changed(self, event: Pick.Changed) -> None:
        """Look anew for another use, where a size was asked for."""
        self.stockroom.drafts.setdefault(DRAFT, {})["use"] = event.pick.value
        if self.data is not None:
            self.reload()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Look for it; the list takes the keys where something was found."""
        if event.input.id == "size":
            self.stockroom.drafts.setdefault(DRAFT, {})["asked"] = event.value
            self.stockroom.tell("")
            self.data = None
            self.reload()

    def draw(self, *, top: bool = False) -> None:
        """Show what was found, and go to it."""
        super().draw(top=top)
        if self.data is not None and top:
            self.lines.focus()
