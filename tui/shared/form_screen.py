"""A form: fields in one column, Enter goes on, the last Enter books; a draft is never lost."""

import uuid
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.content import Content
from textual.widget import Widget
from textual.widgets import Input, Static

from tui.forms import Field, Form
from tui.keys import bind
from tui.shared.list_screen import Framed
from tui.shared.pick import Pick
from tui.words import Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from stockroom.errors import StockroomError


class Press(Static, can_focus=True):
    """The line that books."""


class FormScreen(Framed):
    """One form."""

    FOOT: tuple[str, ...] = (
        "form.next", "form.send", "screen.back", "screen.help_typed", "screen.palette",
    )  # fmt: skip
    BINDINGS = [  # noqa: RUF012 - as the base class has it
        bind("form.next", "next"),
        bind("form.send", "send"),
        bind("form.down", "step(1)"),
        bind("form.up", "step(-1)"),
    ]

    def __init__(self, form: Form, anew: "Callable[[Desk], Form] | None" = None) -> None:
        super().__init__()
        self.form = form
        self.anew = anew
        self.TELLS = form.tells or (
            "Enter goes to the next line, and on the last one books; F2 books from any line. "
            "Arrows choose. Esc goes back; what was typed is here again when you come back."
        )
        self.key = uuid.uuid4().hex
        self.sending = False

    def heading(self) -> str:
        """What the form is about."""
        return self.form.title

    def compose(self) -> ComposeResult:
        """Fields, the line that books, what is said meanwhile."""
        yield from self.frame_above()
        draft = self.stockroom.drafts.get(self.form.name, {})
        with Vertical(id="ask"):
            for field in self.form.fields:
                value = draft.get(field.id, field.value)
                with Horizontal(classes="field"):
                    yield Static(Content("  "), classes="mark")
                    yield Static(Content(field.label), classes="label")
                    yield _widget(field, value)
                    yield Static(Content(field.hint), classes="hint")
            yield Press(Content(f"[ {self.form.button} ]"), id="press")
            yield Static(id="told")
        yield from self.frame_below()

    def on_mount(self) -> None:
        """Begin."""
        self.begin()

    def begin(self) -> None:
        """Begin at the first line that wants something."""
        start = self.form.start
        draft = self.stockroom.drafts.get(self.form.name)
        if draft:
            self.stockroom.hint("Here is what you had typed before.", "dim")
        self.query_one(f"#at-{start}" if start else "#press", Widget).focus()
        self._say()
        self.call_after_refresh(self.stockroom.opened)

    @property
    def values(self) -> dict[str, str]:
        """What stands in the fields."""
        found = {}
        for field in self.form.fields:
            widget = self.query_one(f"#at-{field.id}")
            if isinstance(widget, Input | Pick):
                found[field.id] = widget.value
        return found

    def on_input_changed(self, event: Input.Changed) -> None:
        """Keep the draft."""
        self._changed()

    def on_pick_changed(self, event: Pick.Changed) -> None:
        """Keep the draft."""
        self._changed()

    def _changed(self) -> None:
        if not self.is_mounted:
            return
        values = self.values
        if any(values[field.id] != field.value for field in self.form.fields):
            self.stockroom.drafts[self.form.name] = values
        else:
            self.stockroom.drafts.pop(self.form.name, None)
        self._say()

    def reload(self, *, elsewhere: bool = False) -> None:
        """Say anew what rests on the day and the books; what was typed stays."""
        self._say()
        if elsewhere and self.anew is not None and not self.sending:
            self.stockroom.ask(self.anew, self._renewed, lambda _error: None)

    def _renewed(self, form: Form) -> None:
        """Say what the books say now; what was typed, and what it will do, stay as they were."""
        if self.is_mounted and not self.sending:
            self.form = replace(self.form, title=form.title, told=form.told)
            self._say()
            self.freshen()

    def _say(self) -> None:
        lines = self.form.told(self.values)
        self.query_one("#told", Static).update(Content("\n".join(lines)))

    def on_descendant_focus(self, event: Any) -> None:
        """Mark the line in focus, so that no colour is needed."""
        for row in self.query(".field"):
            mark = "▸ " if row.has_focus_within else "  "
            row.query_one(".mark", Static).update(Content(mark))
        here = self.query_one("#press", Press)
        here.update(Content(f"{'▸ ' if here.has_focus else ''}[ {self.form.button} ]"))

    def action_step(self, by: int) -> None:
        """To the next or the last line."""
        if by > 0:
            self.focus_next()
        else:
            self.focus_previous()

    def on_input_submitted(self, event: Input.Submitted) -> None:
        """Enter in a field goes on."""
        self.entered()

    def entered(self) -> None:
        """Enter in a field goes on."""
        self.action_next()

    def action_next(self) -> None:
        """Go on; on the last line book."""
        if self.query_one("#press", Press).has_focus:
            self.send()
        else:
            self.focus_next()

    def action_send(self) -> None:
        """Book from any line."""
        self.send()

    def take_scan(self, target: Target) -> bool:
        """Put a scanned code where the form asks for such a thing."""
        for field in self.form.fields:
            widget = self.query_one(f"#at-{field.id}")
            if field.scans == target.screen and isinstance(widget, Input | Pick):
                widget.value = target.about
                return True
        return False

    def send(self) -> None:
        """Book it; what was typed stays where it is refused."""
        if self.sending:
            return
        self.sending = True
        app, form, values, key = self.stockroom, self.form, self.values, self.key

        def work(desk: "Desk") -> "Done":
            return form.submit(desk, values, key)

        def done(result: "Done") -> None:
            self.sending = False
            app.drafts.pop(form.name, None)
            if app.screen is self:
                app.pop_screen()
            follow = form.then(result) if form.then else None
            if follow is not None:
                app.open(follow)

        def refused(error: "StockroomError") -> None:
            self.sending = False
            app.trouble(error, passing=True)

        app.act(work, done, refused)


def _widget(field: Field, value: str) -> Widget:
    if field.options is not None:
        return Pick(field.options, value, id=f"at-{field.id}")
    return Input(value, id=f"at-{field.id}", compact=True, select_on_focus=False)
