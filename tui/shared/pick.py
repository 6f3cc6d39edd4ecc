"""A choice in one line: arrows step through it, letters jump to what begins with them."""

from collections.abc import Sequence

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from tui.words import cut


class Pick(Widget, can_focus=True):
    """One of several values, each with its label."""

    class Changed(Message):
        """Another value was chosen."""

        def __init__(self, pick: "Pick") -> None:
            super().__init__()
            self.pick = pick

    def __init__(
        self,
        options: Sequence[tuple[str, str]],
        value: str = "",
        *,
        id: str | None = None,
    ) -> None:
        super().__init__(id=id)
        self.options = list(options)
        known = [option for option, _ in self.options]
        self._at = known.index(value) if value in known else 0
        self._typed = ""

    @property
    def value(self) -> str:
        """The value chosen, "" where there is nothing to choose from."""
        return self.options[self._at][0] if self.options else ""

    @value.setter
    def value(self, value: str) -> None:
        for index, (option, _) in enumerate(self.options):
            if option == value:
                self._to(index)

    def render(self) -> Content:
        """The value between two arrows."""
        if not self.options:
            return Content("nothing to choose from")
        label = self.options[self._at][1]
        place = f" {self._at + 1}/{len(self.options)}"
        return Content(f"‹ {cut(label, max(4, self.size.width - 5 - len(place)))} ›{place}")

    def check_consume_key(self, key: str, character: str | None) -> bool:
        """Letters are typed into it, so that none of them is a key here."""
        return character is not None and (character.isalpha() or character == " ")

    def on_key(self, event: events.Key) -> None:
        """Step with arrows, jump with letters."""
        if event.key in ("left", "right"):
            self._to((self._at + (1 if event.key == "right" else -1)) % max(1, len(self.options)))
        elif event.character and (event.character.isalpha() or event.character == " "):
            self._jump(event.character.casefold())
        else:
            return
        event.stop()
        event.prevent_default()

    def on_blur(self) -> None:
        """Forget what was typed towards a label."""
        self._typed = ""

    def _jump(self, letter: str) -> None:
        labels = [label.casefold() for _, label in self.options]
        for typed in (self._typed + letter, letter):
            if typed == self._typed + letter and len(typed) > 1:
                order = list(range(len(labels)))
            else:
                order = [(self._at + 1 + step) % len(labels) for step in range(len(labels))]
            for index in order:
                if labels[index].startswith(typed):
                    self._typed = typed
                    self._to(index)
                    return

    def _to(self, at: int) -> None:
        if self.options and at != self._at:
            self._at = at
            self.refresh()
            self.post_message(self.Changed(self))
