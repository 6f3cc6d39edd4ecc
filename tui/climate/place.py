"""One place: its climate over a week, a month or a year, warm spells, and what stands there."""

from typing import TYPE_CHECKING, Any

from tui.keys import bind, bind_acts
from tui.shared.line_list import Lines
from tui.shared.list_screen import UNIT_ACTS, Page
from tui.words import Row, Target

if TYPE_CHECKING:
    from stockroom.desk.climate.views import Span
    from stockroom.desk.session import Desk


SPAN_ACTS = ("act.longer", "act.shorter", "act.mkt")
SPANS: "tuple[Span, ...]" = ("week", "month", "year")


class PlaceScreen(Page):
    """All that one looks at of one place."""

    TELLS = (
        "One place. The picture is a week of its readings between its limits; + and - make it a "
        "month or a year, arrows left and right go earlier and later by as much. Short rises are "
        "an opened door or a defrost: a log cannot tell which. Enter on a warm spell gives it a "
        "word for its cause; on a logger file, Enter or v takes it out of the reckoning."
    )
    WIDEST = 140
    FOOT = (
        "line.open", "act.longer", "act.shorter", "act.mkt", "go.readings", "screen.help",
        "screen.back", "go.warm", "move.left", "move.right", "act.move", "screen.palette",
    )  # fmt: skip
    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("move.left", "step(1)"),
        bind("move.right", "step(-1)"),
        *bind_acts(*SPAN_ACTS, "act.withdraw"),
    ]
    ACTS = (*SPAN_ACTS, *UNIT_ACTS, "act.withdraw")

    def __init__(self, target: Target | None = None) -> None:
        super().__init__(target)
        self.span: Span = "week"
        self.back = 0

    def heading(self) -> str:
        """Which one."""
        return self.data.line.place.name if self.data is not None else "Place"

    def aside(self) -> str:
        """What kind of place."""
        return self.data.line.place.place_kind if self.data is not None else ""

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.climate.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.climate.views import one_place

        return one_place(desk, self.target.about, self.back, self.stockroom.on, span=self.span)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.climate.lines import place_page

        return place_page(data, width)

    def action_step(self, by: int) -> None:
        """Earlier or later by one span, as far as there is a log."""
        found = self.data
        if by < 0 and not self.back:
            self.stockroom.hint("What is later is still to come.")
        elif by > 0 and found is not None and not found.reaches_before:
            self.stockroom.hint("There are no earlier readings.")
        else:
            self._turn(self.span, max(0, self.back + by))

    def action_act(self, name: str) -> None:
        """Change the span, or go to the kinetic means; else as on any line."""
        if name == "mkt":
            self.stockroom.open(Target("mkt", self.target.about))
        elif name in ("longer", "shorter"):
            at = SPANS.index(self.span) + (1 if name == "longer" else -1)
            if 0 <= at < len(SPANS):
                from stockroom.desk.climate.views import SPAN_DAYS

                # the last day that is shown stays in sight
                days_back = self.back * SPAN_DAYS[self.span]
                self._turn(SPANS[at], days_back // SPAN_DAYS[SPANS[at]])
            else:
                self.stockroom.hint(f"A {self.span} is the {name[:-2]}est span.")
        elif name == "withdraw":
            row = self.subject()
            if row is not None and row.target is not None and row.target.screen == "withdraw":
                self.stockroom.open(row.target)
            else:
                self.stockroom.hint("There is no logger file on this line.", "ask")
        else:
            super().action_act(name)

    def footer(self) -> tuple[str, ...]:
        """On a logger file, what can be done with it comes first."""
        row = self.lines.row
        if row is not None and row.target is not None and row.target.screen == "withdraw":
            return ("line.open", "act.withdraw", *self.FOOT[1:])
        return self.FOOT

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """Fit the footer to the line under the cursor; the base class hears of it all the same."""
        self.freshen()

    def _turn(self, span: "Span", back: int) -> None:
        """Show another span of what was read, made ready aside."""
        self.span, self.back = span, back
        self.stockroom.hint("")
        found = self.data
        if found is None:
            self.reload()
            return

        def turned(made: Any) -> None:
            if (made.stretch.span, made.stretch.back) == (self.span, self.back):
                self.data = made
                self.draw()

        self.stockroom.ask(lambda _: found.over(span, back), turned)
