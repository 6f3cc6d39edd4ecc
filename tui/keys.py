"""Every key with a stable id, so that it can be moved to another key in the settings."""

from collections.abc import Mapping
from dataclasses import dataclass

from textual.binding import Binding, BindingType


@dataclass(frozen=True, slots=True)
class Key:
    """One binding: its id, its keys, a word for the footer, and a sentence for help."""

    id: str
    keys: str
    word: str
    tells: str


_ALL = (
    Key("move.up", "up,k", "up", "One line up"),
    Key("move.down", "down,j", "down", "One line down"),
    Key("move.left", "left,h", "left", "To the list; in a picture, earlier"),
    Key("move.right", "right,l", "right", "To the text beside the list; in a picture, later"),
    Key("move.first", "home", "first", "To the first line"),
    Key("move.last", "end", "last", "To the last line"),
    Key("move.page_up", "pageup", "page up", "A page up"),
    Key("move.page_down", "pagedown", "page down", "A page down"),
    Key("line.open", "enter", "open", "Open the line, go where it is done"),
    Key("list.filter", "slash", "filter", "Show only the lines that hold a word"),
    Key("screen.back", "escape", "back", "Back one step; what was typed is kept"),
    Key("screen.help", "question_mark", "help", "Help for what is in focus"),
    Key("screen.palette", "ctrl+p", "all", "Every action, by name"),
    Key("app.leave", "q", "leave", "Leave"),
    Key("app.undo", "z", "undo", "Take back the last act"),
    Key("screen.help_typed", "f1", "help", "Help for what is in focus, also while typing"),
    Key("form.next", "enter", "next, book", "To the next line; on the last one, book"),
    Key("form.send", "f2", "book now", "Book what stands there, from any line"),
    Key("form.down", "down", "next line", "To the next line"),
    Key("form.up", "up", "line before", "To the line before"),
    Key("go.today", "T", "Today", "Go to today"),
    Key("go.units", "U", "Units", "Go to the units: rolls, sheets, packs"),
    Key("go.places", "P", "Places", "Go to the places and their climate"),
    Key("go.jobs", "J", "Work", "Go to the work: jobs, their pieces, what they still need"),
    Key("go.receive", "R", "Receive", "Take in a delivery"),
    Key("go.warm", "W", "Warm spell", "Log a warm spell that no logger saw"),
    Key("go.readings", "L", "Logger file", "Take in a logger's readings"),
    Key("go.book", "B", "Book", "Book a print"),
    Key("go.offcut", "F", "Find offcut", "Find the offcut that takes a piece"),
    Key("go.cuts", "C", "Cuts", "Go to what is to be cut: plans, bench cards, the offcut shelf"),
    Key("go.order", "O", "Order", "Go to what must be ordered"),
    Key("go.trail", "Z", "Trail", "Go to the trail of acts"),
    Key("act.strip", "s", "strip", "Judge a test strip of this roll"),
    Key("act.examine", "e", "examine", "Write down its condition: white, faults, or faces"),
    Key("act.record", "g", "record", "Record how it came out: good, or lost with its cause"),
    Key("act.move", "m", "move", "Stand it at another place"),
    Key("act.open", "o", "open it", "Open its bag or box"),
    Key("act.rebag", "b", "re-bag", "Put it back into its bag"),
    Key("act.use", "u", "use", "Use some of it"),
    Key("act.lose", "x", "lose", "Write off what was lost, with its cause"),
    Key("act.count", "c", "count", "Say what is really there"),
    Key("act.hold", "w", "hold", "Keep it out of use, or let it be used again"),
    Key("act.put_by", "p", "put by", "Set some of it aside for a job"),
    Key("act.discard", "d", "discard", "Throw it away, or some of it"),
    Key("act.return", "r", "send back", "Send it back to its supplier"),
    Key("act.close", "y", "close job", "Call this job done, or cancelled"),
    Key("act.leave_out", "n", "leave out", "Plan without this sheet or offcut, or with it again"),
    Key("act.tell", "t", "tell below", "Say from which number on to be told"),
    Key("act.by_day", "i", "by day", "How it stands day by day: there, coming, wanted"),
    Key("act.terms", "f", "terms", "Say how it is sold: least order, price breaks, closed days"),
    Key("act.cancel", "x", "cancel", "Call this order cancelled"),
    Key("act.withdraw", "v", "withdraw", "Take this logger file out of the reckoning"),
    Key("act.longer", "plus,equals_sign", "longer", "A longer span: a month, a year"),
    Key("act.shorter", "minus", "shorter", "A shorter span: a month, a week"),
    Key("act.mkt", "a", "mean", "Mean kinetic temperature of this place"),
    Key("strip.clean", "c", "clean", "The strip is clean"),
    Key("strip.yellow", "y", "yellow", "The strip is yellow; the roll is held"),
    Key("strip.unsure", "u", "unsure", "Nobody can say; run another"),
)
KEYS = {key.id: key for key in _ALL}
"""Every key by its id."""

_NAMES = {
    "slash": "/",
    "question_mark": "?",
    "enter": "Enter",
    "escape": "Esc",
    "up": "↑",
    "down": "↓",
    "left": "←",
    "right": "→",
    "f1": "F1",
    "f2": "F2",
    "home": "Home",
    "end": "End",
    "pageup": "PgUp",
    "pagedown": "PgDn",
    "plus": "+",
    "minus": "-",
    "equals_sign": "=",
}


def bind(id_: str, action: str) -> Binding:
    """Return the binding of a key's id to an action."""
    key = KEYS[id_]
    return Binding(key.keys, action, key.word, show=False, id=id_)


def bind_acts(*ids: str) -> list[BindingType]:
    """Return the bindings of letters that a screen's own `action_act` takes."""
    return [bind(id_, f"act('{id_[4:]}')") for id_ in ids]


def shown(keys: str, *, every: bool = False) -> str:
    """Return a key as a person reads it.

    >>> shown("question_mark"), shown("up,k", every=True)
    ('?', '↑ k')
    """
    names = [_NAMES.get(key, key) for key in keys.split(",")]
    return " ".join(names) if every else names[0]


def checked_keymap(wanted: Mapping[str, str]) -> tuple[dict[str, str], list[str]]:
    """Return the part of a keymap that can be used, and what is wrong with the rest.

    A digit is never a key: digits are scans.

    >>> checked_keymap({"act.strip": "S", "act.use": "5", "no.such": "a"})[0]
    {'act.strip': 'S'}
    """
    good: dict[str, str] = {}
    wrong: list[str] = []
    for id_, keys in wanted.items():
        if id_ not in KEYS:
            wrong.append(f"There is no key called {id_!r}.")
        elif any(key.strip().isdigit() for key in keys.split(",")) or not keys.strip():
            wrong.append(f"{id_} cannot lie on {keys!r}: digits are scans.")
        else:
            good[id_] = keys
    return good, wrong
