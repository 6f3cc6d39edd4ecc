"""Options that commands share: made from the fields of a record, or declared once by a reader."""

import inspect
from collections.abc import Callable, Iterable, Iterator
from dataclasses import MISSING, fields
from typing import Any, TypeVar

import typer

from stockroom.core.records.asked import Asked, asked
from stockroom.units import measured_in

C = TypeVar("C", bound=Callable[..., Any])


def asks(record: Any, by: str) -> Callable[[C], C]:
    """Give a command an option for each field of a record that it asks for.

    Parameters
    ----------
    record : type of Record
    by : str
        The command, as in `Asked.by`; only one that adds knows what is not told.

    Returns
    -------
    callable
        A decorator. The command takes them as `**typed`, by the names of the fields.
    """
    return _given(_fields_of(record, by))


def shares(reader: Callable[..., Any], *names: str) -> Callable[[C], C]:
    """Give a command the options of the function that reads them; of some `names` alone if told.

    What the command declares itself, such as an option that it cannot do without, stays its own.
    """
    options = inspect.signature(reader).parameters.values()
    return _given(
        one
        for one in options
        if one.default is not inspect.Parameter.empty and (not names or one.name in names)
    )


def _given(options: Iterable[inspect.Parameter]) -> Callable[[C], C]:
    """A decorator that puts options between what a command cannot do without and its others."""

    def dressed(command: C) -> C:
        own = dict(inspect.signature(command).parameters)
        named = [one for one in own.values() if one.kind is not inspect.Parameter.VAR_KEYWORD]
        needed = [one for one in named if one.default is one.empty or _default(one) is ...]
        shared = [one for one in options if one.name not in own]
        others = [one for one in named if one not in needed]
        command.__signature__ = inspect.Signature([*needed, *shared, *others])  # type: ignore[attr-defined]
        return command

    return dressed


def _default(option: inspect.Parameter) -> Any:
    return getattr(option.default, "default", option.default)


def _fields_of(record: Any, by: str) -> Iterator[inspect.Parameter]:
    kind = inspect.Parameter.POSITIONAL_OR_KEYWORD
    defaults = {field.name: field.default for field in fields(record)} if by == "add" else {}
    for name, one in asked(record).items():
        if by in one.by:
            default = defaults.get(name)
            option = typer.Option(
                ... if default is MISSING else default,
                one.option,
                help=one.help,
                metavar="LOW HIGH" if one.both else None,
            )
            yield inspect.Parameter(name, kind, default=option, annotation=_typed(one))


def _typed(one: Asked) -> type:
    """As what a field is typed: a whole number where that is what is stored, else a text."""
    if one.both:
        return tuple[str, str]
    return int if one.unit is not None and one.measure.per == 1 else str


def stored(record: Any, typed: dict[str, Any], **units: str) -> dict[str, Any]:
    """Return fields as they are stored, from how they were typed; what was not given is left out.

    Parameters
    ----------
    record : type of Record
    typed : dict of str to str, int or tuple
        What was typed, by the names of the fields.
    **units : str
        Units of fields that are not always typed in the same.
    """
    told: dict[str, Any] = {}
    for name, value in typed.items():
        one = asked(record)[name]
        if isinstance(value, tuple):
            told |= stored(record, dict(zip((name, one.below), value, strict=True)))
        elif one.unit is not None and isinstance(value, str):
            if value:
                told[name] = measured_in(units.get(name, one.unit)).read(value)
        elif value is not None:
            told[name] = value
    return told
