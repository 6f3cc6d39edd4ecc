"""One place: a week of readings with its limits, its warm spells, and what stands there."""

from typing import TYPE_CHECKING, Any

from tui.keys import bind
from tui.screens.leaf import Leaf
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class PlaceScreen(Leaf):
    """All that one looks at of one place."""

    TELLS = (
        "One place. The picture is a week of its readings between its limits; arrows left and "
        "right step through the weeks. Enter on a warm spell gives it a word for its cause."
    )
    FOOT = (
        "line.open", "move.left", "move.right", "go.warm", "go.readings", "screen.help",
        "screen.back", "act.move", "act.strip", "screen.palette",
    )  # fmt: skip
    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("move.left", "week(1)"),
        bind("move.right", "week(-1)"),
    ]

    weeks_back = 0

    def heading(self) -> str:
        """Which one."""
        return self.data.line.place.name if self.data is not None else "Place"

    def aside(self) -> str:
        """What kind of place."""
        return self.data.line.place.place_kind if self.data is not None else ""

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.present_places  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.place_pictures import one_place

        return one_place(desk, self.target.about, self.weeks_back, self.stockroom.on)

    def room(self) -> int:
        """A page has the whole width."""
        return max(40, self.stockroom.size.width - 4)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.present_places import place_page

        return place_page(data, min(width, 140))

    def begin(self) -> None:
        """A page needs no text beside it."""
        self.add_class("page")
        super().begin()

    def action_week(self, by: int) -> None:
        """To the week before or after."""
        self.weeks_back = max(0, self.weeks_back + by)
        self.reload()
