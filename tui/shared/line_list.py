"""A list of lines with a cursor that rests only on what can be opened or acted on."""

from bisect import bisect_right
from collections.abc import Sequence

from rich.segment import Segment
from rich.style import Style
from textual.geometry import Region, Size
from textual.message import Message
from textual.scroll_view import ScrollView
from textual.strip import Strip

from tui.keys import bind
from tui.words import Line, Row

GUTTER = 2
"""Cells before each line: the cursor's mark stands there, so that no colour is needed."""

LOOKS = {
    "dim": "color: $quiet",
    "strong": "text-style: bold",
    "head": "color: $secondary; text-style: bold",
    "good": "color: $success",
    "ask": "color: $warning",
    "bad": "color: $error",
    "key": "color: $primary; text-style: bold",
    "cursor": "background: $line-cursor",
    "cursor-away": "background: $line-cursor-away",
}
"""How each role of text looks, and the line of the cursor."""


class Lines(ScrollView, can_focus=True):
    """Rows drawn line by line; arrows and hjkl move the cursor, or scroll where there is none."""

    COMPONENT_CLASSES = {f"lines--{name}" for name in LOOKS}  # noqa: RUF012 - as the base has it
    DEFAULT_CSS = "Lines { scrollbar-size: 0 0; }" + "".join(
        f"Lines > .lines--{name} {{ {look}; }}" for name, look in LOOKS.items()
    )
    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("move.up", "step(-1)"),
        bind("move.down", "step(1)"),
        bind("move.first", "edge(-1)"),
        bind("move.last", "edge(1)"),
        bind("move.page_up", "page(-1)"),
        bind("move.page_down", "page(1)"),
        bind("line.open", "choose"),
    ]

    class Moved(Message):
        """The cursor rests on another row, or on none."""

        def __init__(self, lines: "Lines", row: Row | None) -> None:
            super().__init__()
            self.lines = lines
            self.row = row

    class Chosen(Message):
        """Enter was pressed on a row."""

        def __init__(self, lines: "Lines", row: Row) -> None:
            super().__init__()
            self.lines = lines
            self.row = row

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self._all: list[Row] = []
        self.rows: list[Row] = []
        self.sought = ""
        self._starts: list[int] = []
        self._flat: list[tuple[int, Line]] = []
        self._at: int | None = None
        self._still = True

    @property
    def row(self) -> Row | None:
        """The row on which the cursor rests."""
        return None if self._at is None else self.rows[self._at]

    def show(self, rows: Sequence[Row], *, top: bool = False) -> None:
        """Show other rows; the cursor stays on the row of the same key, or at the same place.

        That row stays where it is in the window too, whatever came or went above it, and a window
        that was scrolled away from it stays away.
        """
        self._all = list(rows)
        key = self.row.key if self.row is not None else ""
        before, seen = self._start, self._in_sight
        self._still = self._still or top
        self._lay(key, 0 if top else self._at or 0, follow=False)
        if top:
            self.scroll_to(y=0, animate=False)
            return
        y = self.scroll_offset.y
        if y and self.row is not None and self.row.key == key:
            self.scroll_to(y=y + self._start - before, animate=False, immediate=True)
        if seen and not self._in_sight:
            self._still = False
            self._follow()

    @property
    def _start(self) -> int:
        """The first line of the row on which the cursor rests."""
        return 0 if self._at is None else self._starts[self._at]

    @property
    def _in_sight(self) -> bool:
        """Whether the cursor's row begins within the window."""
        top = self.scroll_offset.y
        return self._at is not None and top <= self._start < top + self.size.height

    @property
    def _stops(self) -> list[int]:
        """The rows on which the cursor may rest."""
        return [index for index, row in enumerate(self.rows) if row.key]

    def seek(self, text: str) -> None:
        """Show only the rows that hold some text; headings stay where a row of theirs does."""
        self.sought = text.strip().casefold()
        self._lay(self.row.key if self.row is not None else "", 0)

    def rest_on(self, key: str) -> None:
        """Put the cursor on the row of a key."""
        self._still = False
        self._lay(key, 0)

    def _lay(self, key: str, near: int, *, follow: bool = True) -> None:
        self.rows = _sought(self._all, self.sought)
        self._starts, self._flat = [], []
        for index, row in enumerate(self.rows):
            self._starts.append(len(self._flat))
            self._flat += [(index, line) for line in row.lines]
        self.virtual_size = Size(max(1, self.size.width), len(self._flat))
        stops = self._stops
        same = [index for index in stops if self.rows[index].key == key] if key else []
        same.sort(key=lambda index: abs(index - near))
        later = [index for index in stops if index >= near]
        self._at = (same or later or stops[-1:] or [None])[0]  # type: ignore[list-item]
        self.refresh()
        if follow:
            self._follow()
        self.post_message(self.Moved(self, self.row))

    def _follow(self) -> None:
        """Bring the cursor's row, and the heading just before the first one, into sight."""
        if self._at is None or self._still:
            return
        start = self._starts[self._at]
        height = len(self.rows[self._at].lines)
        first = self._at
        while first and not self.rows[first - 1].key:
            first -= 1
        if self._starts[first] + self.size.height >= start + height:
            height += start - self._starts[first]
            start = self._starts[first]
        self.scroll_to_region(Region(0, start, 1, height), animate=False, force=True)

    def action_step(self, by: int) -> None:
        """Move the cursor by a row; scroll where it is out of sight, or there is none."""
        top, height = self.scroll_offset.y, max(1, self.size.height)
        away = self._at is not None and not top <= self._starts[self._at] < top + height
        if self._at is None or (away and (self._starts[self._at] > top) == (by > 0)):
            self.scroll_to(y=top + by * (height // 2 if away else 1), animate=False)
            return
        self._still = False
        stops = self._stops
        at = stops.index(self._at) + by
        if 0 <= at < len(stops):
            self._move(stops[at])
        else:
            self.scroll_to(y=0 if by < 0 else self.max_scroll_y, animate=False)

    def action_edge(self, side: int) -> None:
        """Move to the first or the last row."""
        self._still = side < 0
        stops = self._stops
        if stops:
            self._move(stops[0] if side < 0 else stops[-1])
        if side < 0 or not stops:
            self.scroll_to(y=0 if side < 0 else self.max_scroll_y, animate=False)

    def action_page(self, by: int) -> None:
        """Move by what is in sight."""
        self._still = False
        page = max(1, self.size.height - 1)
        if self._at is None:
            self.scroll_to(y=self.scroll_offset.y + by * page, animate=False)
            return
        wanted = self._starts[self._at] + by * page
        self._move(min(self._stops, key=lambda index: abs(self._starts[index] - wanted)))

    def action_choose(self) -> None:
        """Open the row."""
        if self.row is not None:
            self.post_message(self.Chosen(self, self.row))

    def _move(self, at: int) -> None:
        if at != self._at:
            self._at = at
            self.refresh()
            self.post_message(self.Moved(self, self.row))
        self._follow()

    def on_resize(self) -> None:
        """Keep the cursor in sight."""
        self.virtual_size = Size(max(1, self.size.width), len(self._flat))
        self._follow()

    def on_focus(self) -> None:
        """Show the cursor as the one that keys move."""
        self.refresh()

    def on_blur(self) -> None:
        """Show the cursor as one that waits."""
        self.refresh()

    def on_click(self, event: object) -> None:
        """Put the cursor where the pointer is; again to open."""
        y = int(getattr(event, "y", 0)) + self.scroll_offset.y
        if not self._starts or y >= len(self._flat):
            return
        at = bisect_right(self._starts, y) - 1
        if self.rows[at].key:
            if at == self._at:
                self.action_choose()
            else:
                self._still = False
                self._move(at)

    def render_line(self, y: int) -> Strip:
        """Draw one line of the window."""
        width = self.size.width
        base = self.rich_style
        at = y + self.scroll_offset.y
        if at >= len(self._flat):
            return Strip.blank(width, base)
        index, line = self._flat[at]
        row = self.rows[index]
        if index == self._at:
            name = "lines--cursor" if self.has_focus else "lines--cursor-away"
            base = base + self.get_component_rich_style(name, partial=True)
        first = at == self._starts[index]
        mark = "▸ " if index == self._at and first else "  "
        if not row.key and row.lines and row.lines[0] and row.lines[0][0][1] == "head":
            mark = ""
        segments = [Segment(mark, base)]
        segments += [Segment(text, base + self._style(role)) for text, role in line]
        strip = Strip(segments).adjust_cell_length(width, base)
        more = "↑" if y == 0 and at else ""
        if y == self.size.height - 1 and at < len(self._flat) - 1:
            more = "↓"
        if more and width > 1:
            strip = Strip.join([strip.crop(0, width - 1), Strip([Segment(more, base)])])
        return strip

    def _style(self, role: str) -> Style:
        if not role:
            return Style.null()
        return self.get_component_rich_style(f"lines--{role}", partial=True)


def _sought(rows: list[Row], text: str) -> list[Row]:
    """Rows that hold a text, each group's heading before them."""
    if not text:
        return list(rows)
    kept: list[Row] = []
    heading: list[Row] = []
    for row in rows:
        if not row.key:
            is_head = bool(row.lines and row.lines[0] and row.lines[0][0][1] == "head")
            heading = [row] if is_head else heading
        elif text in row.text.casefold():
            kept += [*heading, row]
            heading = []
    return kept
