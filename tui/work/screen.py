"""The work: all jobs with how far they are; one job with its pieces, needs and cost."""

from typing import TYPE_CHECKING, Any

from tui.shared.list_screen import JOB_ACTS, Leaf, Page
from tui.words import Row, Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk


class JobsScreen(Leaf):
    """All booked work."""

    TITLE = "Work"
    TELLS = (
        "Booked work, soonest due first, with how far its pieces are; below it what sure work runs "
        "short of. Enter opens a job, g records how its next piece came out, B books another."
    )
    FOOT = (
        "line.open", "act.record", "go.book", "act.close", "list.filter", "screen.help",
        "screen.back", "go.order", "screen.palette",
    )  # fmt: skip
    ACTS = JOB_ACTS

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.work.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.work.board import all_work

        on = self.stockroom.on
        return all_work(desk, on), on or desk.today()

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out."""
        from tui.work.lines import work_rows

        return work_rows(data[0], data[1], width, self.side_room())


class JobScreen(Page):
    """One job."""

    TELLS = (
        "One job: where each piece stands, what it still needs, what it costs, and each try. g on "
        "a piece records what was done with it; on a finished one, that it was damaged."
    )
    FOOT = (
        "line.open", "act.record", "act.close", "list.filter", "screen.help", "screen.back",
        "screen.palette",
    )  # fmt: skip
    ACTS = JOB_ACTS

    def heading(self) -> str:
        """Which one."""
        return "Job" if self.data is None else str(self.data[0].line.job.name)

    def aside(self) -> str:
        """Its code."""
        return "" if self.data is None else f"job {self.data[0].line.job.code}"

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.work.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.work.board import job_view

        on = self.stockroom.on
        return job_view(desk, self.target.about, on), on or desk.today(), desk.zone, desk.currency

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.work.lines import job_rows

        seen, today, zone, currency = data
        return job_rows(seen, today, zone, currency, width)

    def action_act(self, name: str) -> None:
        """Letters act on the piece under the cursor, else on the job."""
        row = self.subject()
        if name == "record" and row is not None and row.job:
            self.stockroom.open(Target("record", row.job))
        elif self.data is not None:
            self.stockroom.open(Target(name, self.data[0].line.job.code))
