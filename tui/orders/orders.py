"""Order: what must be ordered, what is on its way, and from which number on to be told."""

from typing import TYPE_CHECKING, Any

from tui.keys import bind_acts
from tui.shared.list_screen import Leaf
from tui.words import Row, Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class OrdersScreen(Leaf):
    """The order list."""

    TITLE = "Order"
    TELLS = (
        "What to order by which day so that no job is late, what is below the number you wanted "
        "to be told at, and what is on its way. Enter on a line to order marks it as ordered; "
        "Enter on a line that is coming takes it in. i shows a material day by day; t sets the "
        "number below which you are told; f says how it is sold."
    )
    FOOT = (
        "line.open", "act.by_day", "act.tell", "act.terms", "act.cancel", "list.filter",
        "screen.help", "screen.palette", "screen.back",
    )  # fmt: skip
    ACTS = ("act.by_day", "act.tell", "act.terms", "act.cancel")
    BINDINGS = bind_acts(*ACTS)

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.orders.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.stock.views import order_desk

        return order_desk(desk, self.stockroom.on)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out."""
        from tui.orders.lines import order_rows

        return order_rows(data, width, self.side_room())

    def action_act(self, name: str) -> None:
        """Show it by day, tell below, say its terms, or cancel."""
        row = self.subject() or Row(())
        about = row.order if name == "cancel" else row.material
        if about and f"act.{name}" in self.ACTS:
            self.stockroom.open(Target("supply" if name == "by_day" else name, about))
        else:
            self.stockroom.hint("That does nothing on this line.", "ask")
