"""One booked print: every roll of its paper with its answer and all reasons."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import JOB_ACTS, UNIT_ACTS, Page
from tui.words import Row, Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class PrintScreen(Page):
    """The answers for one print."""

    TELLS = (
        "One booked print. Each roll of its paper has its answer: yes, run a strip first, or no, "
        "with every reason, the one that decides first. Letters act on the roll under the cursor."
    )
    FOOT = (
        "line.open", "act.strip", "act.record", "act.put_by", "act.close", "screen.help",
        "screen.back", "act.move", "act.lose", "screen.palette",
    )  # fmt: skip
    ACTS = (*UNIT_ACTS, *JOB_ACTS)

    def heading(self) -> str:
        """Which one."""
        if self.data is None:
            return "Print"
        found = self.data[0]
        return str(getattr(found, "job", found).name)

    def aside(self) -> str:
        """Its code."""
        return f"job {self.target.about}"

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.today.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.stock.views import one_print

        on = self.stockroom.on
        return one_print(desk, self.target.about, on), on or desk.today()

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.today.lines import closed_rows, print_rows

        found, today = data
        if hasattr(found, "answers"):
            return print_rows(found, today, width)
        return closed_rows(found, today, width)

    def action_act(self, name: str) -> None:
        """Letters act on the roll under the cursor; the job is recorded, or closed."""
        if name in ("close", "record"):
            self.stockroom.open(Target(name, self.target.about))
        else:
            super().action_act(name)
