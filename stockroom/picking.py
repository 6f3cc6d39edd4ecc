"""Plain data picked from what is held, by a table of names and paths."""

import re
from collections.abc import Iterator
from functools import cache
from typing import Any

Fields = dict[str, tuple["str | Fields", ...]]
"""What to pick, by its name: the steps of each path, a table of its own as the last of them."""


def picked(item: Any, shape: str) -> dict[str, Any]:
    """Return what a shape names of an item: words such as ``code``, ``job.code``, ``on=job.day``.

    A word is a path through fields, told under the last of them or the name before "=". In a path
    a number is a place in a tuple, ``[]`` goes on with each of many, ``?`` stops with None where
    what stands before it is empty, ``/10`` divides. Brackets after it hold the shape of its end.

    Raises
    ------
    AttributeError
        Where a path names what is not there.

    >>> from types import SimpleNamespace as Held
    >>> job = Held(code="10292", client=None, prints=[(1, Held(width_dmm=8_000))])
    >>> picked(job, "job=code client=client?.name prints[](number=0 width_mm=1.width_dmm/10)")
    {'job': '10292', 'client': None, 'prints': [{'number': 1, 'width_mm': 800.0}]}
    """
    return _picked(item, _fields(shape))


def _picked(item: Any, fields: Fields) -> dict[str, Any]:
    return {name: _followed(item, steps) for name, steps in fields.items()}


def _followed(item: Any, steps: tuple[str | Fields, ...]) -> Any:
    """What a path leads to."""
    for number, step in enumerate(steps, 1):
        if isinstance(step, dict):
            item = _picked(item, step)
        elif step == "[]":
            return [_followed(each, steps[number:]) for each in item]
        elif step == "?":
            if not item:
                return None
        elif step.startswith("/"):
            item = item / int(step[1:])
        else:
            item = item[int(step)] if step.isdigit() else getattr(item, step)
    return item


@cache
def _fields(shape: str) -> Fields:
    return _read(iter(re.findall(r"[()]|[^\s()]+", shape)))


def _read(words: Iterator[str]) -> Fields:
    """The fields that words name, up to the bracket that ends them."""
    fields: Fields = {}
    name = ""
    for word in words:
        if word == ")":
            break
        if word == "(":
            fields[name] = (*fields[name], _read(words))
            continue
        told, _, path = word.rpartition("=")
        name = told or re.findall(r"[a-z]\w*", path)[-1]
        fields[name] = tuple(re.findall(r"\w+|/\d+|\[\]|[^.\w]", path))
    return fields
