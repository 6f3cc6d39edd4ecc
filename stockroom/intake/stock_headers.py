"""The words by which the columns of a stock list are known."""

from collections.abc import Sequence
from typing import Literal

from stockroom.intake import list_columns
from stockroom.intake.list_columns import Column, by_word

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

_WORDS: dict[str, str] = {
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
FIELD_OF_WORD = by_word(_WORDS)
_SIZES = ("width", "length", "height", "thickness")


def columns_of(headers: Sequence[str]) -> tuple[list[Column], list[Column], list[str]]:
    """Return the columns understood, those whose meaning came before, and unknown headers."""
    return list_columns.columns_of(headers, FIELD_OF_WORD, _SIZES)
