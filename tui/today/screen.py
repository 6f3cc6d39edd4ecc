"""Today: what is booked, to take out, to order, coming, going off; each line leads to its place."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import JOB_ACTS, UNIT_ACTS, Leaf
from tui.words import Row

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class TodayScreen(Leaf):
    """The morning's screen."""

    TELLS = (
        "Each booked print with its roll and its answer, then what wants doing today. Enter on a "
        "line goes to where it is done. Small letters act on the line's roll; capitals go to "
        "another screen. Scan a label anywhere to open what it is on."
    )
    FOOT = (
        "line.open", "act.record", "go.jobs", "go.units", "screen.help", "screen.palette",
        "app.leave", "go.order", "go.warm", "go.cuts", "go.offcut", "go.receive", "go.trail",
    )  # fmt: skip
    ACTS = (*UNIT_ACTS, *JOB_ACTS)

    def heading(self) -> str:
        """The day."""
        if self.data is None:
            return "Stockroom"
        return f"Today, {day_long(self.data[0].day)}"

    def aside(self) -> str:
        """How much is here, and whether another day is reasoned for."""
        if self.data is None:
            return ""
        other = "as if it were that day" if self.stockroom.on else ""
        return f"{other}  {self.data[0].units_in_stock} units in stock".strip()

    def begin(self) -> None:
        """Show the bookings at once where they can be had, and begin to read the rest."""
        if self.stockroom.glance is not None:
            self._look_quickly()
        super().begin()

    def _look_quickly(self) -> None:
        from tui.today.glance import first_glance_rows

        glance = self.stockroom.glance
        found = glance() if glance is not None else None
        if found is not None:
            rows = first_glance_rows(found.prints, found.today, self.room())
            self.lines.show(rows, top=True)

    def fetch(self, desk: "Desk") -> Any:
        """Reckon today; the chain of acts is checked once a day before."""
        import tui.today.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.day import today
        from stockroom.desk.keeping import check_daily

        check_daily(desk)
        return today(desk, self.stockroom.on), desk.zone

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay out the sections."""
        from tui.today.lines import today_rows

        return today_rows(data[0], width, self.side_room(), data[1])


def day_long(day: Any) -> str:
    """Return a day in full, with its weekday."""
    return f"{day.strftime('%A')} {day.day} {day.strftime('%B %Y')}"
