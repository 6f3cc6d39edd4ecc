"""Units: what is in stock, by material, with what is left of each and until when it is good."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import Leaf
from tui.shared.line_list import Lines
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class UnitsScreen(Leaf):
    """All units, or those of one batch or material."""

    TELLS = (
        "Every roll, pack, sheet and offcut in stock, by material. The bar shows what is left of "
        "it; the last column the likely day until which it can be used. Small letters act on the "
        "unit under the cursor."
    )
    FOOT = (
        "line.open", "list.filter", "act.strip", "act.move", "screen.help", "screen.palette",
        "screen.back", "act.use", "act.count", "act.lose", "act.hold", "app.leave",
    )  # fmt: skip

    def heading(self) -> str:
        """What is listed."""
        if self.data is not None and self.target.about and self.data[0]:
            line = self.data[0][0]
            if self.target.screen == "lot":
                return f"Units of batch {line.lot.number}, {line.material.name}"
            return f"Units of {line.material.name}"
        return "Units in stock"

    def aside(self) -> str:
        """How many."""
        return f"{len(self.data[0])} units" if self.data is not None else ""

    def footer(self) -> tuple[str, ...]:
        """Strips are run of paper only: the entry goes where the cursor rests on another thing."""
        row = self.lines.row
        lines = self.data[0] if self.data is not None else ()
        other = row is not None and any(
            line.unit.code == row.unit and not line.material.traits.white_judged for line in lines
        )
        return tuple(id_ for id_ in self.FOOT if id_ != "act.strip") if other else self.FOOT

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """Fit the footer to the line under the cursor; the base class hears of it all the same."""
        self.freshen()

    def fetch(self, desk: "Desk") -> Any:
        """Read the shelf."""
        import tui.stock.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.stock.views import shelf

        on = self.stockroom.on
        lines = shelf(desk, on)
        about, kind = self.target.about, self.target.screen
        if about:
            lines = [
                line
                for line in lines
                if about == (line.lot.code if kind == "lot" else line.material.code)
            ]
        return lines, on or desk.today()

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay them out."""
        from tui.stock.lines import unit_rows

        return unit_rows(data[0], data[1], width)
