"""One material by day: what is there, what comes, what is wanted, the day to order by."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import Page
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk

PICTURE_ROWS = (6, 14)
"""Fewest and most lines of the picture."""


class SupplyScreen(Page):
    """One material by day."""

    TELLS = (
        "One material day by day, nothing more ordered: the line is what is there as likely as "
        "not, the shade its range. Enter on the first line orders it; Enter on a job opens the "
        "job. Below stand the figures and what they rest on."
    )
    FOOT = ("line.open", "screen.help", "screen.palette", "screen.back")
    ACTS = ()

    def heading(self) -> str:
        """Which one."""
        name = self.target.about if self.data is None else self.data.planned.material.name
        return f"By day: {name}"

    def fetch(self, desk: "Desk") -> Any:
        """Reckon it."""
        import tui.orders.supply_lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.orders.plan import material_supply

        return material_supply(desk, self.target.about, on=self.stockroom.on)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.orders.supply_lines import supply_page

        return supply_page(data, width, self.tall(*PICTURE_ROWS, besides=18))
