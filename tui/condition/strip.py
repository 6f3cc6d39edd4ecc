"""A test strip judged by eye: one key."""

from typing import TYPE_CHECKING, Any, cast

from textual.app import ComposeResult
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Static

from tui.keys import KEYS, bind, shown

if TYPE_CHECKING:
    from stockroom.desk.session import Desk
    from tui.app import StockroomApp


class StripScreen(ModalScreen[None]):
    """Asks for one key: clean, yellow, unsure."""

    TELLS = "Judge the strip beside a fresh one, in the light you always judge in."
    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("strip.clean", "judge('clean')"),
        bind("strip.yellow", "judge('yellow')"),
        bind("strip.unsure", "judge('unsure')"),
        bind("screen.back", "back"),
    ]

    def __init__(self, unit: str) -> None:
        super().__init__()
        self.unit = unit
        self.key = ""

    def compose(self) -> ComposeResult:
        """The question."""
        yield Static()

    def on_mount(self) -> None:
        """Write it with the keys in force."""
        app = cast("StockroomApp", self.app)
        parts: list[tuple[str, str]] = [(f"Strip of roll {self.unit}: how is it?\n", "bold")]
        for id_ in ("strip.clean", "strip.yellow", "strip.unsure"):
            parts.append((f"\n{shown(app.keys_of(id_))}", "bold $primary"))
            parts.append((f"  {KEYS[id_].word:<8}{KEYS[id_].tells}.", ""))
        parts.append(("\n\nEsc leaves it unjudged.", "$quiet"))
        self.query_one(Static).update(Content.assemble(*parts))

    def action_judge(self, result: Any) -> None:
        """Book it, and go back."""
        app = cast("StockroomApp", self.app)
        unit = self.unit

        def work(desk: "Desk") -> Any:
            from stockroom.desk.condition.checking import judge_strip

            return judge_strip(desk, unit, result)

        app.pop_screen()
        app.act(work)

    def action_back(self) -> None:
        """Leave it unjudged."""
        self.app.pop_screen()
