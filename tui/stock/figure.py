"""One figure of a unit: how it is made, from what, and where each input is from."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import Page
from tui.words import Row, note, wrapped

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class FigureScreen(Page):
    """One figure with its inputs and sources."""

    TELLS = (
        "One figure: the rule it follows, each thing it was made from, where that is from and how "
        "sure it is. Where you can change an input, the last line leads there."
    )
    WIDEST = 120
    FOOT = ("move.up", "move.down", "line.open", "screen.help", "screen.palette", "screen.back")
    ACTS = ()

    def heading(self) -> str:
        """Which figure of which unit."""
        return f"Unit {self.target.about}: {self.target.more[0].lower()}"

    def fetch(self, desk: "Desk") -> Any:
        """Reckon it."""
        import tui.stock.figure_lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.figures import unit_figures

        return unit_figures(desk, self.target.about, self.stockroom.on)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.stock.figure_lines import figure_page

        unit, figures = data
        for figure in figures:
            if figure.name == self.target.more[0]:
                return figure_page(figure, unit.code, width)
        return [note(*wrapped("This figure no longer stands; nothing tells it now.", width))]
