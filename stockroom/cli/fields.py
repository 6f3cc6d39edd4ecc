"""Options that are made from what is known of a record's fields, and how they are read."""

import inspect
from collections.abc import Callable, Iterator
from dataclasses import MISSING, fields
from typing import Any, TypeVar

import typer

from stockroom.core.asked import Asked, asked
from stockroom.units import UNITS

C = TypeVar("C", bound=Callable[..., None])


def asks(record: Any, by: str) -> Callable[[C], C]:
    """Give a command an option for each field it asks for, after its argument.

    Parameters
    ----------
    record : type of Record
    by : str
        The command, as in `Asked.by`; only one that adds knows what is not told.

    Returns
    -------
    callable
        A decorator. The command takes them by the names of the fields, as they were typed.
    """

    def dressed(command: C) -> C:
        argument, *others = inspect.signature(command).parameters.values()
        own = [one for one in others if one.kind is not inspect.Parameter.VAR_KEYWORD]
        options = list(_options(record, by))
        command.__signature__ = inspect.Signature([argument, *options, *own])  # type: ignore[attr-defined]
        return command

    return dressed


def _options(record: Any, by: str) -> Iterator[inspect.Parameter]:
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
                told[name] = UNITS[units.get(name, one.unit)].read(value)
        elif value is not None:
            told[name] = value
    return told
