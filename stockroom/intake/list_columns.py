"""Columns of a person's list: what each is headed, how it is read, and where a list has it."""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from typing import Any, TypeVar, get_args, get_type_hints

from stockroom.text import safe

UNITS = ("mm", "cm", "m", "in")
"""Units that a size may have."""

_UNIT = re.compile(r"(?:_in)?_(mm|cm|m|in|um)$")
_UNIT_WORDS = {"µm": "um", "μm": "um", "inch": "in", "inches": "in", "metres": "m", "meters": "m"}

V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class Column:
    """What a column of a list may be headed and hold.

    Attributes
    ----------
    words : str
        The headings it is known by; the first is its name.
    read : callable
        Returns the value of a `Cell`, or raises `BadValueError`.
    needed : str
        What is said where its cell is empty; "" where it may be.
    units : tuple of str
        Units that its heading may name.
    dates : bool
        Whether a date of a workbook is taken.
    later : bool
        Whether it is read by the rules between cells, as it hangs on others.
    """

    words: str
    read: Callable[[Any], Any] = safe
    needed: str = ""
    units: tuple[str, ...] = ()
    dates: bool = False
    later: bool = False

    @property
    def name(self) -> str:
        """What it is called where a list has no heading for it."""
        return self.words.split(", ")[0]


Columns = Mapping[str, Column]


def column(
    words: str, read: Callable[[Any], Any] = safe, *, default: Any = None, **how: Any
) -> Any:
    """Return the field of a row that holds what a `Column` reads."""
    return field(default=default, metadata={"column": Column(words, read, **how)})


def columns_of(row: type) -> dict[str, Column]:
    """Return the columns that a row is read from; those of dates take a workbook's."""
    hints = get_type_hints(row)
    return {
        one.name: replace(one.metadata["column"], dates=date in get_args(hints[one.name]))
        for one in fields(row)
        if "column" in one.metadata
    }


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading that was understood: where it stands, what it says, and the unit it names."""

    index: int
    header: str
    field: str
    unit: str = ""


def by_word(words: Mapping[V, str]) -> dict[str, V]:
    """Return what each word stands for, from the words for each.

    >>> by_word({"count": "count, pcs"})
    {'count': 'count', 'pcs': 'count'}
    """
    return {word: one for one, listed in words.items() for word in listed.split(", ")}


def headings_of(
    headers: Sequence[str], columns: Columns
) -> tuple[dict[str, Heading], list[Heading], list[str]]:
    """Return the headings understood by field, those whose meaning came before, and unknown ones.

    >>> headings_of(["Size in cm", "Colour"], {"size_dmm": Column("size", units=("cm",))})[0]
    {'size_dmm': Heading(index=0, header='Size in cm', field='size_dmm', unit='cm')}
    """
    words = by_word({name: column.words for name, column in columns.items()})
    understood: dict[str, Heading] = {}
    doubled: list[Heading] = []
    unknown: list[str] = []
    for index, header in enumerate(headers):
        heading = _heading(index, header, columns, words)
        if heading is None:
            unknown += [header] if header.strip() else []
        elif heading.field in understood:
            doubled.append(heading)
        else:
            understood[heading.field] = heading
    return understood, doubled, unknown


def _heading(index: int, header: str, columns: Columns, words: Mapping[str, str]) -> Heading | None:
    bare = header.strip().lower()
    for word, unit in _UNIT_WORDS.items():
        bare = re.sub(rf"(?<![a-z]){word}(?![a-z])", unit, bare)
    bare = re.sub(r"[^a-z0-9]+", "_", bare).strip("_")
    if bare in words:
        return Heading(index, header, words[bare])
    found = _UNIT.search(bare)
    field = words.get(bare[: found.start()]) if found else None
    if found is None or field is None or found[1] not in columns[field].units:
        return None
    return Heading(index, header, field, found[1])
