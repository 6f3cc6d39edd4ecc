"""What is to be cut: plans to accept, bench cards with their picture, the offcut shelf."""

from dataclasses import replace
from threading import Event
from typing import TYPE_CHECKING, Any

from tui.keys import bind_acts, shown
from tui.shared.list_screen import UNIT_ACTS, Leaf, Page
from tui.words import Row, Target

if TYPE_CHECKING:
    from stockroom.desk.cutting.board import CutBoard
    from stockroom.desk.cutting.sheets import CutWork, PlannedCard
    from stockroom.desk.session import Desk, Done

SHEET_ACTS = tuple(act for act in UNIT_ACTS if act not in ("act.strip", "act.open", "act.rebag"))
"""What letters do to a sheet or offcut: none has a white to judge, or a bag."""
PICTURE_ROWS = (10, 36)
"""Fewest and most lines of a picture on a page."""


class CutsScreen(Leaf):
    """Plans of open work, cards to cut, the offcut shelf."""

    TITLE = "Cuts"
    TELLS = (
        "How open work is cut from offcuts and sheets. Enter on the first line of a plan accepts "
        "it and writes its bench cards; Enter on a sheet shows its picture. A card scanned "
        "anywhere opens it; n leaves a sheet or offcut out. While better plans are looked for, "
        "Esc stops it and keeps the best."
    )
    FOOT = (
        "line.open", "act.leave_out", "go.offcut", "list.filter", "screen.help", "screen.back",
        "act.examine", "act.move", "screen.palette",
    )  # fmt: skip
    ACTS = ("act.leave_out", *SHEET_ACTS)
    BINDINGS = bind_acts("act.leave_out")

    def __init__(self, target: Target | None = None) -> None:
        super().__init__(target)
        self.stop: Event | None = None
        """Ends the search for better plans that runs; each search has its own."""
        self.without: set[str] = set()

    @property
    def searching(self) -> bool:
        """Whether better plans are looked for, and not stopped."""
        return self.stop is not None and not self.stop.is_set()

    def stop_searching(self) -> None:
        """End the search that runs; the best it has found so far is shown when it answers."""
        if self.stop is not None:
            self.stop.set()

    def aside(self) -> str:
        """Whether better plans are still looked for."""
        return "looking for better plans, Esc stops" if self.searching else ""

    def fetch(self, desk: "Desk") -> Any:
        """Read it, with quick plans first."""
        import tui.cutting.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.cutting.board import cut_board
        from stockroom.desk.cutting.sheets import QUICK_EFFORT

        on = self.stockroom.on
        board = cut_board(desk, on, QUICK_EFFORT, self.without)
        return board, on or desk.today()

    def draw(self, *, top: bool = False) -> None:
        """Show what was read, and look for better plans where they are those of a short search."""
        super().draw(top=top)
        if self.data is None:
            return
        if top and self.target.about:
            self.lines.rest_on(f"accept {self.target.about}")
        if self._sought is not self.data[0]:
            self._look_further(self.data[0])

    _sought: Any = None

    def _look_further(self, board: "CutBoard") -> None:
        self._sought = board
        self.stop_searching()
        self.stop = None
        if not board.works:
            return
        stop = self.stop = Event()
        on, without = self.stockroom.on, frozenset(self.without)

        def work(desk: "Desk") -> "tuple[CutWork, ...]":
            from stockroom.desk.cutting.board import better_cuts

            return better_cuts(desk, on, lambda: 1.0 if stop.is_set() else 0.0, without)

        def then(works: "tuple[CutWork, ...]") -> None:
            if self._sought is not board:
                return
            self.stop = None
            if self.is_mounted and self.query("#list"):
                found = replace(board, works=works)
                self._sought, self.data = found, (found, self.data[1])
                self.draw()

        def failed(error: Any) -> None:
            if self._sought is board:
                self.stop = None
            self.stockroom.trouble(error)

        self.stockroom.ask(work, then, failed)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out."""
        from tui.cutting.lines import board_rows

        return board_rows(data[0], data[1], width, self.side_room())

    def action_act(self, name: str) -> None:
        """Leave a unit out of the plans, or take it in again; else act on the unit."""
        row = self.subject()
        if name != "leave_out":
            super().action_act(name)
        elif row is None or not row.unit:
            self.stockroom.hint("There is no sheet or offcut on this line.", "ask")
        else:
            self.without ^= {row.unit}
            word = "is left out of the plans" if row.unit in self.without else "may be cut again"
            key = shown(self.stockroom.keys_of("act.leave_out"))
            self.stockroom.hint(f"{row.unit} {word}; {key} changes it back.", "dim")
            self.stop_searching()
            self.reload()

    def action_back(self) -> None:
        """Stop looking for better plans, else back."""
        if self.searching:
            self.stop_searching()
            self.stockroom.hint("Stopped; the best plan so far stays.", "dim")
        else:
            super().action_back()

    def on_unmount(self) -> None:
        """Look no further for what nobody sees."""
        self.stop_searching()

    def chosen(self, row: Row) -> None:
        """Accept a plan, show a sheet of it, or go where the line leads."""
        from tui import screens
        from tui.cutting.forms import accept_form
        from tui.cutting.lines import accept_key, planned_key

        for work in self.data[0].works:
            if row.key == accept_key(work):
                self.stockroom.push_screen(screens.make("form", form=accept_form(work)))
                return
            for index, planned in enumerate(work.cards):
                if row.key == planned_key(work, index):
                    self.stockroom.push_screen(PlannedScreen(work, planned))
                    return
        super().chosen(row)


class PlannedScreen(Page):
    """A sheet of a plan that is not accepted yet."""

    TITLE = "Planned"
    TELLS = "One sheet of a plan: what comes off it, and its cuts in order. Esc leads back."
    FOOT = ("screen.back", "screen.help", "screen.palette", "app.leave")
    ACTS = ()

    def __init__(self, work: "CutWork", planned: "PlannedCard") -> None:
        super().__init__()
        self.work, self.planned = work, planned

    def fetch(self, desk: "Desk") -> Any:
        """There is nothing to read: the plan is at hand."""
        return self.work, self.planned

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.cutting.lines import planned_rows

        work, planned = data
        return planned_rows(work, planned, width, self.tall(*PICTURE_ROWS, besides=12))


class CardScreen(Page):
    """One bench card."""

    TELLS = (
        "A bench card: Enter on the first line records it as cut as planned; on the second, what "
        "differed. Pieces become units put by for their jobs, offcuts stand on the shelf; z takes "
        "all of it back."
    )
    FOOT = ("line.open", "screen.help", "screen.back", "go.cuts", "screen.palette", "app.leave")
    ACTS = ()

    def heading(self) -> str:
        """Which one."""
        return f"Card {self.target.about}"

    def fetch(self, desk: "Desk") -> Any:
        """Read it."""
        import tui.cutting.lines  # noqa: F401 - imported here, beside the screen
        from stockroom.desk.cutting.cards import one_card

        return one_card(desk, self.target.about)

    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay it out as one page."""
        from tui.cutting.lines import card_rows

        return card_rows(data, width, self.tall(*PICTURE_ROWS, besides=12))

    def chosen(self, row: Row) -> None:
        """Do to the card what the line says."""
        from tui.cutting.lines import CUT, DIFFERS, DROP

        code = self.target.about
        if row.key == DIFFERS:
            self.stockroom.open(Target("differs", code))
            return

        def work(desk: "Desk") -> "Done":
            from stockroom.desk.cutting.cards import cut_card, drop_cards

            return cut_card(desk, code) if row.key == CUT else drop_cards(desk, [code])

        def done(_done: "Done") -> None:
            if self.stockroom.screen is self:
                self.stockroom.back()

        if row.key in (CUT, DROP):
            self.stockroom.act(work, done)
