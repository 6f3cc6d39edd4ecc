"""One unit: its figures, its life drawn over time, whether it is OK to print, its trail."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import Page
from tui.words import Row, Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class UnitScreen(Page):
    """All that one looks at of one unit; letters act on it."""

    TELLS = (
        "One unit. The picture shows the days of life it has used since it came: the line is the "
        "likely way, the shade its range, the top the life it came with. Letters act on it."
    )
    WIDEST = 120
    FOOT = (
        "act.strip", "act.move", "act.use", "act.count", "act.hold", "screen.help", "screen.back",
        "act.open", "act.rebag", "act.lose", "act.put_by", "screen.palette",
    )  # fmt: skip

    def heading(self) -> str:
        """Which one."""
        return f"Unit {self.target.about}"

    def acts(self) -> tuple[str, ...]:
        """Letters that do something to it: strips are run of paper only."""
        return tuple(id_ for id_ in self.ACTS if id_ != "act.strip" or self._runs_strips())

    def footer(self) -> tuple[str, ...]:
        """As its letters are."""
        return tuple(id_ for id_ in self.FOOT if id_ != "act.strip" or self._runs_strips())

    def _runs_strips(self) -> bool:
        return self.data is None or self.data.line.material.traits.white_judged

    def aside(self) -> str:
        """Where it stands."""
        return self.data.line.place.name if self.data is not None else ""

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.stock.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.stock.views import one_unit

        return one_unit(desk, self.target.about, self.stockroom.on)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.stock.lines import unit_page

        return unit_page(data, width)

    def subject(self) -> Row | None:
        """Letters act on this unit, for the print under the cursor if there is one."""
        row = self.lines.row
        return Row((), unit=self.target.about, job=row.job if row is not None else "")

    def chosen(self, row: Row) -> None:
        """A print opens; an act of the trail opens the trail."""
        if row.target is not None and row.target.screen == "act":
            self.stockroom.open(Target("trail", self.target.about))
        else:
            super().chosen(row)
