"""What a form asks, checks, says meanwhile, and books: plain data, drawn by the form screen."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, TypeVar

from stockroom.errors import BadValueError
from stockroom.units import number
from tui.words import Target

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done

T = TypeVar("T", bound=str)
Values = Mapping[str, str]


@dataclass(slots=True)
class Field:
    """One thing asked: typed, or chosen where there are `options`.

    Attributes
    ----------
    id, label : str
        What it is.
    value : str
        What stands in it at first.
    options : sequence of (str, str) or None
        Values with labels to choose from; None where it is typed.
    hint : str
        An example, or what is meant where it is left empty.
    scans : str
        The kind of thing whose scanned code may be put here, such as ``place``.
    """

    id: str
    label: str
    value: str = ""
    options: Sequence[tuple[str, str]] | None = None
    hint: str = ""
    scans: str = ""


@dataclass(slots=True)
class Form:
    """A form: its fields, what it books, and what it says while it is filled in.

    Attributes
    ----------
    name : str
        What it is about, so that a draft is found again.
    title, button : str
        At the top; on the line that books.
    fields : list of Field
    submit : callable
        Books what was typed, given the desk, the values and a key against doubling.
    told : callable
        Lines shown below, made anew at each change.
    start : str
        The field where it begins; "" for the button, where all is filled in already.
    then : callable or None
        Returns where to go after it was booked, given what was done.
    """

    name: str
    title: str
    button: str
    fields: list[Field]
    submit: "Callable[[Desk, Values, str], Done]"
    told: Callable[[Values], Sequence[str]] = lambda values: ()
    start: str = ""
    then: "Callable[[Done], Any] | None" = None
    tells: str = ""
    seen: dict[str, Any] = field(default_factory=dict)


def one_of(known: Sequence[T], text: str) -> T:
    """Return the word of a fixed choice that a field holds."""
    return next(word for word in known if word == text)


def leads_to(kind: str, screen: str) -> "Callable[[Done], Target | None]":
    """Return what leads from an act to a screen about the first of a kind that it touched."""

    def then(done: "Done") -> Target | None:
        keys = (touch.key for touch in done.changes.touches if touch.kind == kind)
        return next((Target(screen, key) for key in keys), None)

    return then


def whole(text: str) -> int:
    """Return what was typed as a whole number, 0 where nothing was.

    >>> whole(" 12 "), whole("")
    (12, 0)
    """
    value = number(text.strip() or "0", "a number")
    if value != int(value):
        raise BadValueError(f"{text[:20]!r} is no whole number.", try_="Type it like 4.")
    return int(value)
