"""What all list screens share: bar, list, text beside it, filter, status, footer, reading aside."""

from abc import abstractmethod
from typing import TYPE_CHECKING, Any, cast

from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input, Static

from tui.keys import KEYS, bind, bind_acts, shown
from tui.shared.line_list import Lines
from tui.theme import LEAST_HEIGHT, LEAST_WIDTH, WIDE
from tui.words import Row, Target, cut, pad

if TYPE_CHECKING:
    from stockroom.desk.session import Desk
    from tui.app import StockroomApp

UNIT_ACTS = (
    "act.strip", "act.examine", "act.move", "act.open", "act.rebag", "act.use", "act.lose",
    "act.count", "act.hold", "act.put_by", "act.discard", "act.return",
)  # fmt: skip
"""What letters do to the unit under the cursor."""
JOB_ACTS = ("act.record", "act.close")
"""What letters do to the job under the cursor."""
ROLES = {"good": "$success", "ask": "$warning", "bad": "$error", "dim": "$quiet"}


class Framed(Screen[Any]):
    """A screen in our frame: a bar above, status and footer below."""

    TITLE = ""
    TELLS = ""
    """What the screen is for, for its help."""
    FOOT: tuple[str, ...] = ("screen.help", "screen.palette", "app.leave")
    """Ids of the footer's entries, the dearest first."""
    BINDINGS = [bind("screen.back", "back")]  # noqa: RUF012 - as the base class has it

    @property
    def stockroom(self) -> "StockroomApp":
        """The app, by its own class."""
        return cast("StockroomApp", self.app)

    def frame_above(self) -> ComposeResult:
        """The bar."""
        yield Static(id="bar")

    def frame_below(self) -> ComposeResult:
        """Status, footer, and what is said when the window is too small."""
        yield Static(id="status")
        yield Static(id="foot")
        yield Static(id="small")

    def heading(self) -> str:
        """What the bar says at the left."""
        return self.TITLE

    def aside(self) -> str:
        """What the bar says at the right."""
        return ""

    def acts(self) -> tuple[str, ...]:
        """Ids of what letters do here, for help and the list of all actions."""
        return ()

    def on_resize(self) -> None:
        """Fit the window."""
        self.fit()

    def fit(self) -> None:
        """Fit the window."""
        app = self.stockroom
        width, height = app.size
        self.set_class(width >= WIDE, "wide")
        self.set_class(app.too_small, "small")
        self.query_one("#small", Static).update(
            Content(
                f"This window is {width} x {height}.\n"
                f"{LEAST_WIDTH} x {LEAST_HEIGHT} are needed.\n"
                "Make it larger; nothing is lost.\nq leaves."
            )
        )
        self.freshen()

    def freshen(self) -> None:
        """Write bar, status and footer anew."""
        if not self.is_mounted or not self.query("#status"):
            return
        app, width = self.stockroom, max(10, self.stockroom.size.width - 2)
        right = self.aside()
        for word, true in (("demo", app.demo), ("clock off", app.clock_off)):
            if true:
                right = f"{right}  {word}".strip()
        left = pad(self.heading(), max(0, width - len(right) - 1))
        self.query_one("#bar", Static).update(Content.styled(left, "bold").append(f" {right}"))
        text, role = app.said()
        if app.scan:
            text, role = f"Scanned so far: {app.scan}  (Enter opens it, Esc forgets it)", ""
        elif app.busy and not text:
            text, role = "Reading the books …", "dim"
        content = Content(cut(text, width * 3))
        if role in ROLES:
            content = content.stylize(ROLES[role])
        self.query_one("#status", Static).update(content)
        self.query_one("#foot", Static).update(self._footer(width))

    def _footer(self, width: int) -> Content:
        entries = [(shown(self.stockroom.keys_of(id_)), KEYS[id_].word) for id_ in self.footer()]
        most = 7 if width < WIDE else 12
        parts: list[tuple[str, str]] = []
        used = 0
        for key, word in entries[:most]:
            wide = len(key) + len(word) + 4
            if used + wide > width + 3:
                break
            parts += [(key, "bold $primary"), (f" {word}   ", "$foreground")]
            used += wide
        return Content.assemble(*parts)

    def footer(self) -> tuple[str, ...]:
        """Ids of the footer's entries, the dearest first."""
        return self.FOOT

    def action_back(self) -> None:
        """Back one step."""
        self.stockroom.back()


class Leaf(Framed):
    """A screen with a list, and text beside it where there is room."""

    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("list.filter", "filter"),
        bind("move.left", "side('list')"),
        bind("move.right", "side('detail')"),
        *bind_acts(*UNIT_ACTS, *JOB_ACTS),
    ]
    ACTS: tuple[str, ...] = UNIT_ACTS
    EMPTY = "Nothing here."

    def __init__(self, target: Target | None = None) -> None:
        super().__init__()
        self.target = target or Target("")
        self.data: Any = None
        self.version = -1
        self._asked = 0
        self._beside = ""

    def compose(self) -> ComposeResult:
        """Bar, list and text, filter, status, footer."""
        yield from self.frame_above()
        yield from self.body("filter: a word; Enter keeps it, Esc shows all")
        yield from self.frame_below()

    def body(self, hint: str = "") -> ComposeResult:
        """List and text beside it, and the filter below them."""
        with Horizontal(id="body"):
            yield Lines(id="list")
            yield Lines(id="detail")
        yield Input(placeholder=hint, id="filter")

    @property
    def lines(self) -> Lines:
        """The list."""
        return self.query_one("#list", Lines)

    def on_mount(self) -> None:
        """Begin."""
        self.begin()

    def begin(self) -> None:
        """Begin to read."""
        self.query_one("#filter", Input).can_focus = False
        self.lines.focus()
        self.reload()

    def on_screen_resume(self) -> None:
        """Read anew where an act was done meanwhile."""
        if self.version not in (-1, self.stockroom.version):
            self.reload()
        self.freshen()

    # what each screen says -------------------------------------------------------------------

    @abstractmethod
    def fetch(self, desk: "Desk") -> Any:
        """Read what is shown; runs in a thread."""

    @abstractmethod
    def rows(self, data: Any, width: int) -> list[Row]:
        """Lay out what was read."""

    def acts(self) -> tuple[str, ...]:
        """Letters that do something here."""
        return self.ACTS

    # reading and showing ---------------------------------------------------------------------

    def reload(self, *, elsewhere: bool = False) -> None:
        """Read anew, aside; with `elsewhere`, since somebody else acted or the day changed."""
        self._asked += 1
        asked = self._asked
        self.version = self.stockroom.version

        def then(data: Any) -> None:
            if asked == self._asked and self.is_mounted and self.query("#list"):
                first = self.data is None
                self.data = data
                self.draw(top=first)

        self.stockroom.ask(self.fetch, then, lambda error: self._failed(error, elsewhere))

    def _failed(self, error: Any, elsewhere: bool) -> None:
        if self.data is not None and self._is_gone(error):
            if elsewhere:
                self.stockroom.tell(error.what, "ask")
            self.stockroom.back()
            return
        self.stockroom.trouble(error)
        if self.data is None:
            from tui.words import note, wrapped

            lines: list[Any] = []
            for text, role in ((error.what, "bad"), (error.why, ""), (error.try_, "strong")):
                lines += wrapped(text, self.room(), role) if text else []
            self.lines.show([note(*lines)])

    def _is_gone(self, error: Any) -> bool:
        """Whether what was shown was taken back: what is said of that stays, the screen goes."""
        from stockroom.errors import UnknownCodeError

        return isinstance(error, UnknownCodeError) and self.stockroom.screen is self

    def room(self) -> int:
        """Cells there are for a line of the list."""
        width = self.stockroom.size.width
        if width >= WIDE:
            width = width * 3 // 5
        return max(40, width - 4)

    def side_room(self) -> int:
        """Cells there are for a line of the text beside it."""
        return max(30, self.stockroom.size.width * 2 // 5 - 6)

    def draw(self, *, top: bool = False) -> None:
        """Lay out anew what was read."""
        if self.data is not None:
            self.lines.show(self.rows(self.data, self.room()), top=top)
        self.freshen()

    def fit(self) -> None:
        """Fit the window."""
        super().fit()
        self.draw()

    def on_lines_moved(self, event: Lines.Moved) -> None:
        """Show the text of the line under the cursor."""
        if event.lines.id == "list":
            from tui.words import note

            detail = self.detail(event.row)
            key = event.row.key if event.row is not None else ""
            beside = self.query_one("#detail", Lines)
            beside.show([note(*detail)] if detail else [], top=key != self._beside)
            self._beside = key

    def detail(self, row: Row | None) -> tuple[Any, ...]:
        """What is shown beside the list for a row."""
        return row.detail if row is not None else ()

    def on_lines_chosen(self, event: Lines.Chosen) -> None:
        """Go where it is done."""
        self.chosen(event.row)

    def chosen(self, row: Row) -> None:
        """Go where it is done."""
        if row.target is not None:
            self.stockroom.open(row.target)

    def action_side(self, name: str) -> None:
        """Move between the list and the text beside it."""
        pane = self.query_one(f"#{name}", Lines)
        if pane.display:
            pane.focus()

    # filter ----------------------------------------------------------------------------------

    def action_filter(self) -> None:
        """Open the filter."""
        field = self.query_one("#filter", Input)
        field.add_class("on")
        field.can_focus = True
        field.focus()

    def on_input_changed(self, event: Input.Changed) -> None:
        """Filter while it is typed."""
        if event.input.id == "filter":
            self.lines.seek(event.value)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Keep the filter and go back to the list."""
        if event.input.id == "filter":
            self._close_filter(keep=True)

    def _close_filter(self, *, keep: bool) -> None:
        field = self.query_one("#filter", Input)
        self.lines.focus()
        field.can_focus = False
        if not keep:
            field.value = ""
            self.lines.seek("")
        field.set_class(keep and bool(field.value), "on")

    def action_back(self) -> None:
        """Close the filter, else back one step."""
        if self.query_one("#filter", Input).has_class("on"):
            self._close_filter(keep=False)
        elif self.query_one("#detail", Lines).has_focus:
            self.lines.focus()
        else:
            super().action_back()

    # acts ------------------------------------------------------------------------------------

    def subject(self) -> Row | None:
        """The row that letters act on."""
        return self.lines.row

    def action_act(self, name: str) -> None:
        """Do to the thing under the cursor what a letter stands for."""
        row = self.subject()
        if f"act.{name}" in JOB_ACTS:
            if row is None or not row.job:
                self.stockroom.hint("There is no job on this line.", "ask")
            else:
                self.stockroom.open(Target(name, row.job))
            return
        if row is None or not row.unit:
            self.stockroom.hint("There is no roll, sheet or pack on this line.", "ask")
            return
        if name in ("open", "rebag"):
            self._at_once(name, row.unit)
        else:
            self.stockroom.open(Target(name, row.unit, (row.job,) if row.job else ()))

    def _at_once(self, name: str, unit: str) -> None:
        def work(desk: "Desk") -> Any:
            from stockroom.desk.stock.handling import open_unit, rebag

            return (open_unit if name == "open" else rebag)(desk, unit)

        self.stockroom.act(work)


class Page(Leaf):
    """A screen whose list is one page, with no text beside it."""

    WIDEST = 118
    """Cells of its lines at most."""

    def begin(self) -> None:
        """Begin to read."""
        self.add_class("page")
        super().begin()

    def room(self) -> int:
        """A page has the whole width."""
        return max(40, min(self.WIDEST, self.stockroom.size.width - 4))

    def tall(self, least: int, most: int, besides: int) -> int:
        """Lines there are for a picture, where so many stand besides."""
        return min(most, max(least, self.stockroom.size.height - besides))
