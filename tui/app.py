"""The app: opens the store beside the screen, leads from screen to screen, books and undoes."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from itertools import dropwhile
from typing import TYPE_CHECKING, Any

from textual import events
from textual.app import SystemCommand
from textual.filter import LineFilter
from textual.screen import Screen

from tui import screens
from tui.asking import AskingApp
from tui.clean import CLEAN
from tui.keys import KEYS, bind, checked_keymap
from tui.theme import CSS, DARK, LEAST_HEIGHT, LEAST_WIDTH, LIGHT
from tui.words import Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk

LONGEST_CODE = 18
"""A scan longer than this is none of ours (our choice)."""


class StockroomApp(AskingApp):
    """The screens over one desk."""

    TITLE = "Stockroom"
    CSS = CSS
    ENABLE_COMMAND_PALETTE = True
    COMMAND_PALETTE_BINDING = "ctrl+p"
    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("app.leave", "leave"),
        bind("app.undo", "undo"),
        bind("screen.help", "help"),
        bind("screen.help_typed", "help"),
        *(bind(id_, f"go('{id_[3:]}')") for id_ in KEYS if id_.startswith("go.")),
    ]

    def __init__(
        self,
        open_desk: "Callable[[], Desk]",
        *,
        on: date | None = None,
        demo: bool = False,
        glance: Callable[[], Any] | None = None,
        keymap: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(open_desk)
        self.on = on
        self.demo = demo
        self.glance = glance
        self.drafts: dict[str, dict[str, str]] = {}
        self.scan = ""
        self.opening = False
        self._ahead: list[events.Key] = []
        self._wanted_keys, self._wrong_keys = checked_keymap(keymap or {})
        if glance is None:
            self.begin_to_open()

    def get_line_filters(self) -> Sequence[LineFilter]:
        """Return what all that is painted goes through: the last door is ours."""
        return [*super().get_line_filters(), CLEAN]

    def get_theme_variable_defaults(self) -> dict[str, str]:
        """Return our own colours' names, so that styles can be read before the look is set."""
        return dict(DARK.variables)

    def on_mount(self) -> None:
        """Set the look and the keys, and begin with today."""
        self.register_theme(DARK)
        self.register_theme(LIGHT)
        self.theme = DARK.name
        if self._wanted_keys:
            self.set_keymap(self._wanted_keys)
        if self._wrong_keys:
            self.tell(" ".join(self._wrong_keys), "ask")
        self.push_screen(screens.make("today"))
        if self.glance is not None:  # what was glanced at is painted before anything slower begins
            self.set_timer(0.02, self.begin_to_open)

    # --- going -----------------------------------------------------------------------------

    def action_go(self, name: str) -> None:
        """Go to one of the main screens; Esc leads back to today."""
        while len(self.screen_stack) > 2:
            self.pop_screen()
        if name != "today":
            self.open(Target(name))

    def open(self, target: Target) -> None:
        """Open what a line leads to."""
        screens.lead(self, target)

    def back(self) -> None:
        """Go back one step; on today there is none."""
        if len(self.screen_stack) > 2:
            self.pop_screen()

    def show_trail(self) -> None:
        """Go to the trail of acts."""
        self.action_go("trail")

    def action_leave(self) -> None:
        """Leave."""
        self.exit(0)

    def action_help(self) -> None:
        """Show help for what is in focus."""
        if not isinstance(self.screen, screens.help_screen()):
            self.push_screen(screens.make("help", screen=self.screen))

    def action_look(self) -> None:
        """Change between the dark and the light look."""
        self.theme = LIGHT.name if self.theme == DARK.name else DARK.name

    def get_system_commands(self, screen: Screen[Any]) -> Iterable[SystemCommand]:
        """Offer every action by name, those of the screen in view first."""
        yield from screens.commands(self, screen)

    # --- a scanned code --------------------------------------------------------------------

    @property
    def too_small(self) -> bool:
        """Whether the window is too small to work in."""
        return self.size.width < LEAST_WIDTH or self.size.height < LEAST_HEIGHT

    async def on_event(self, event: events.Event) -> None:
        """Take digits typed outside an input as a scan, before any widget sees them."""
        if isinstance(event, events.Key) and not event.is_forwarded:
            # what is typed while a form is read belongs into the form
            if self.opening and event.key not in ("ctrl+q", "ctrl+c"):
                self._ahead.append(event)
                return
            if self._taken(event):
                return
        await super().on_event(event)

    def opened(self) -> None:
        """Type into what was opened what was typed while it was read.

        An Enter before anything else is a bounce of the one that opened it: it books nothing.
        """
        self.opening = False
        ahead, self._ahead = self._ahead, []
        for event in dropwhile(lambda event: event.key == "enter", ahead):
            self.post_message(events.Key(event.key, event.character))

    def _taken(self, event: events.Key) -> bool:
        from textual.widgets import Input

        if self.too_small and event.key not in ("q", "ctrl+q", "ctrl+c"):
            return True
        if isinstance(self.focused, Input):
            self.scan = ""
            return False
        digit = event.character or ""
        if len(digit) == 1 and digit in "0123456789":
            self.scan = (self.scan + digit)[-LONGEST_CODE:]
        elif not self.scan:
            return False
        elif event.key == "enter":
            code, self.scan = self.scan, ""
            self.scanned(code)
        elif event.key == "backspace":
            self.scan = self.scan[:-1]
        elif event.key == "escape":
            self.scan = ""
        else:
            self.scan = ""
            self._freshen()
            return False
        self._freshen()
        return True

    def scanned(self, code: str) -> None:
        """Open what carries a code; a form may take it first."""
        take = getattr(self.screen, "take_scan", None)

        def work(desk: "Desk") -> Target:
            from stockroom.desk.lookup import find_any

            with desk.reading() as view:
                found = find_any(view, code)
            return Target(found.kind, found.key)

        def found(target: Target) -> None:
            if take is None or not take(target):
                self.tell("")
                self.open(target)

        self.ask(work, found, lambda error: self.trouble(error, passing=True))


def run(
    open_desk: "Callable[[], Desk]",
    *,
    on: date | None = None,
    demo: bool = False,
    glance: Callable[[], Any] | None = None,
    keymap: Mapping[str, str] | None = None,
) -> int:
    """Show the screens until the person leaves.

    Parameters
    ----------
    open_desk : callable
        Opens the store; called in a thread while the first screen is painted.
    on : date, optional
        Reason as if it were this day.
    demo : bool
        Whether it is the invented studio, which is said at the top.
    glance : callable, optional
        Returns a `stockroom.desk.glance.Glance`, to be shown while the rest is read.
    keymap : mapping, optional
        Key ids to other keys.

    Returns
    -------
    int
        0, or the exit code of what went wrong.
    """
    app = StockroomApp(open_desk, on=on, demo=demo, glance=glance, keymap=keymap)
    return app.run() or 0
