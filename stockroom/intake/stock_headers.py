"""The words by which the columns of a stock list are known."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

Field = Literal[
    "material",
    "family",
    "form",
    "width",
    "length",
    "height",
    "thickness",
    "count",
    "batch",
    "made_on",
    "label_date",
    "place",
    "price",
    "owner",
    "received",
    "note",
]
FIELDS: tuple[Field, ...] = get_args(Field)

_WORDS: dict[Field, str] = {
    "material": "material, material_name, name",
    "family": "family, material_family",
    "form": "form",
    "width": "width",
    "length": "length, length_left, remaining_length, remaining",
    "height": "height",
    "thickness": "thickness",
    "count": "count, quantity, qty, pieces, pcs, number_of_pieces",
    "batch": (
        "batch, batch_no, batch_number, emulsion, emulsion_no, emulsion_number, "
        "lot, lot_no, lot_number"
    ),
    "made_on": "made_on, made, date_made, manufactured, manufactured_on, production_date",
    "label_date": (
        "label_date, expiry, expiry_date, expires, expires_on, expiration, expiration_date, "
        "best_before, best_before_date, use_by, use_by_date"
    ),
    "place": "place, location, stored_in",
    "price": "price, unit_price, price_each, cost",
    "owner": "owner, owned_by",
    "received": "received, received_on, date_received, arrived, arrived_on",
    "note": "note, notes, remark, remarks, comment, comments",
}
FIELD_OF_WORD: dict[str, Field] = {
    word: field for field, words in _WORDS.items() for word in words.split(", ")
}
_SIZES = ("width", "length", "height", "thickness")
_UNIT = re.compile(r"_(mm|cm|m|in|um)$")
_UNIT_WORDS = {"µm": "um", "μm": "um", "inch": "in", "inches": "in", "metres": "m", "meters": "m"}


@dataclass(frozen=True, slots=True)
class Column:
    """A column that was understood: where it stands, as it is called, and the unit it names."""

    index: int
    header: str
    field: Field
    unit: str = ""


def column_of(index: int, header: str) -> Column | None:
    """Return what a header means, or None.

    >>> column_of(0, "Width (mm)"), column_of(1, "Colour")
    (Column(index=0, header='Width (mm)', field='width', unit='mm'), None)
    """
    bare = header.strip().lower()
    for word, unit in _UNIT_WORDS.items():
        bare = re.sub(rf"(?<![a-z]){word}(?![a-z])", unit, bare)
    bare = re.sub(r"[^a-z0-9]+", "_", bare).strip("_")
    field = FIELD_OF_WORD.get(bare)
    if field is not None:
        return Column(index, header, field)
    found = _UNIT.search(bare)
    field = FIELD_OF_WORD.get(bare[: found.start()]) if found else None
    if found is None or field not in _SIZES:
        return None
    return Column(index, header, field, found[1])


def columns_of(headers: Sequence[str]) -> tuple[list[Column], list[Column], list[str]]:
    """Return the columns understood, those whose meaning came before, and unknown headers."""
    understood: list[Column] = []
    doubled: list[Column] = []
    unknown: list[str] = []
    for index, header in enumerate(headers):
        column = column_of(index, header)
        if column is None:
            if header.strip():
                unknown.append(header)
        elif any(column.field == other.field for other in understood):
            doubled.append(column)
        else:
            understood.append(column)
    return understood, doubled, unknown
