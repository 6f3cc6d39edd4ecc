"""One place's mean kinetic temperature over stated windows, one key away from the place."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import Page
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class MeansScreen(Page):
    """Mean kinetic temperature of one place."""

    TELLS = (
        "Mean kinetic temperature of one place: over the last 24 h, 7, 30, 90 and 365 days, and "
        "all that is logged, with the worst 24 h and the worst 30 days in each."
    )
    WIDEST = 140
    FOOT = ("move.up", "move.down", "go.readings", "screen.help", "screen.palette", "screen.back")
    ACTS = ()

    def heading(self) -> str:
        """Of which place."""
        if self.data is None:
            return "Mean kinetic temperature"
        return f"Mean kinetic temperature: {self.data.place.name}"

    def aside(self) -> str:
        """What kind of place."""
        return self.data.place.place_kind if self.data is not None else ""

    def fetch(self, desk: "Desk") -> Any:
        """Reckon them."""
        import tui.climate.span_lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.climate.views import place_means

        return place_means(desk, self.target.about, self.stockroom.on)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay them out as one page."""
        from tui.climate.span_lines import means_page

        return means_page(data, width)
