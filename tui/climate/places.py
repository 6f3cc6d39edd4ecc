"""Places: where units stand, with set-point, limits and last reading."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import Leaf
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class PlacesScreen(Leaf):
    """All places."""

    TITLE = "Places"
    TELLS = "Where units stand. Enter shows a place's week, its warm spells and what stands there."
    FOOT = (
        "line.open", "go.warm", "go.readings", "list.filter", "screen.help", "screen.palette",
        "screen.back",
    )  # fmt: skip
    ACTS = ()

    def fetch(self, desk: "Desk") -> Any:
        """Read them."""
        import tui.climate.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.climate.views import places

        return places(desk), desk.zone

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay them out."""
        from tui.climate.lines import place_rows

        return place_rows(data[0], data[1], width)
