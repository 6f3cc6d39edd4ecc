"""The trail: what was done, newest first; z takes back the act under the cursor."""

from typing import TYPE_CHECKING, Any

from tui.keys import bind
from tui.shared.list_screen import Leaf
from tui.words import Row, head

if TYPE_CHECKING:
    from stockroom.desk.session import Desk
    from stockroom.desk.stock.counting import TrailLine

SHOWN = 200
"""Acts shown (our choice)."""


class TrailScreen(Leaf):
    """The acts, newest first."""

    TELLS = (
        "What was done, newest first. z takes back the act under the cursor by a counter-act; "
        "where a later act stands on it, that one is named and must be taken back first."
    )
    FOOT = (
        "app.undo", "list.filter", "screen.help", "screen.palette", "screen.back", "app.leave",
    )  # fmt: skip
    ACTS = ()
    BINDINGS = [bind("app.undo", "undo_here")]  # noqa: RUF012 - as the base class has it

    def heading(self) -> str:
        """All of it, or one unit's."""
        return f"Trail of {self.target.about}" if self.target.about else "Trail of acts"

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.stock.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.stock.counting import trail

        return trail(desk, SHOWN, of=self.target.about or None), desk.zone

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out."""
        from tui.stock.lines import trail_row

        lines, zone = data
        return [head("Newest first"), *(trail_row(line, zone, width) for line in lines)]

    def detail(self, row: Row | None) -> tuple[Any, ...]:
        """The act's own words, beside the list."""
        from tui.stock.lines import act_detail

        line = self._line_of(row)
        return act_detail(line, self.data[1], self.side_room()) if line is not None else ()

    def chosen(self, row: Row) -> None:
        """Open the unit an act was about."""
        from tui.stock.lines import act_unit
        from tui.words import Target

        line = self._line_of(row)
        if line is None:
            return
        if code := act_unit(line):
            self.stockroom.open(Target("unit", code))
        else:
            self.stockroom.hint("This act was about no single unit.")

    def _line_of(self, row: Row | None) -> "TrailLine | None":
        """The act that a row tells."""
        lines = self.data[0] if row is not None and self.data is not None else ()
        return next((line for line in lines if row and row.key == f"act {line.act.seq}"), None)

    def action_undo_here(self) -> None:
        """Take back the act under the cursor."""
        row = self.lines.row
        if row is not None:
            self.stockroom.undo_act(int(row.key.split()[1]))
