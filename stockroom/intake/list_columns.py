"""Columns of a person's list, known by the words of its header and the unit it names."""

import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

_UNIT = re.compile(r"_(mm|cm|m|in|um)$")
_UNIT_WORDS = {"µm": "um", "μm": "um", "inch": "in", "inches": "in", "metres": "m", "meters": "m"}


@dataclass(frozen=True, slots=True)
class Column:
    """A column that was understood: where it stands, as it is called, and the unit it names."""

    index: int
    header: str
    field: str
    unit: str = ""


def by_word(words: Mapping[str, str]) -> dict[str, str]:
    """Return the field of each word, from the words of each field.

    >>> by_word({"count": "count, pcs"})
    {'count': 'count', 'pcs': 'count'}
    """
    return {word: field for field, listed in words.items() for word in listed.split(", ")}


def column_of(
    index: int, header: str, words: Mapping[str, str], sizes: Collection[str]
) -> Column | None:
    """Return what a header means, or None.

    Parameters
    ----------
    index, header : int, str
        Where it stands, and what it says.
    words : mapping of str to str
        The field of each word.
    sizes : collection of str
        The fields that may name a unit.

    >>> column_of(0, "Width (mm)", {"width": "width"}, ("width",))
    Column(index=0, header='Width (mm)', field='width', unit='mm')
    """
    bare = header.strip().lower()
    for word, unit in _UNIT_WORDS.items():
        bare = re.sub(rf"(?<![a-z]){word}(?![a-z])", unit, bare)
    bare = re.sub(r"[^a-z0-9]+", "_", bare).strip("_")
    field = words.get(bare)
    if field is not None:
        return Column(index, header, field)
    found = _UNIT.search(bare)
    field = words.get(bare[: found.start()]) if found else None
    if found is None or field is None or field not in sizes:
        return None
    if found[1] == "um" and field != "thickness":
        return None
    return Column(index, header, field, found[1])


def columns_of(
    headers: Sequence[str], words: Mapping[str, str], sizes: Collection[str]
) -> tuple[list[Column], list[Column], list[str]]:
    """Return the columns understood, those whose meaning came before, and unknown headers."""
    understood: list[Column] = []
    doubled: list[Column] = []
    unknown: list[str] = []
    for index, header in enumerate(headers):
        column = column_of(index, header, words, sizes)
        if column is None:
            if header.strip():
                unknown.append(header)
        elif any(column.field == other.field for other in understood):
            doubled.append(column)
        else:
            understood.append(column)
    return understood, doubled, unknown
