"""The words by which the columns of a job list are known, and words that its cells hold."""

import re
from collections.abc import Sequence
from dataclasses import replace

from stockroom.core.craft import Certainty, PrintedBy
from stockroom.intake import list_columns
from stockroom.intake.list_columns import Column, by_word

_WORDS: dict[str, str] = {
    "work": "work, project, exhibition, show",
    "name": "name, title, job, image, picture",
    "size": "size, dimensions, format, w_x_h, wxh, width_x_height, size_w_x_h, dimensions_w_x_h",
    "size, height first": "h_x_w, hxw, height_x_width, size_h_x_w, dimensions_h_x_w",
    "width": "width, w",
    "height": "height, h",
    "count": "count, quantity, qty, pieces, pcs, copies, prints",
    "material": "material, paper, paper_name",
    "build": "build, mounting, finish, finishing",
    "series": "series, one_emulsion, same_emulsion",
    "certainty": "certainty, how_sure, status, state, sure, confirmed",
    "print_on": "print_on, print_day, print_date, printed_on",
    "due_on": "due, due_on, due_date, due_day, deadline, delivery, deliver_by",
    "start_on": "start, start_on, start_date, earliest_start",
    "edition": "edition",
    "edition_from": "edition_from, edition_no, edition_number, first_number",
    "edition_of": "edition_of, edition_size, size_of_edition",
    "client": "client, customer, client_reference, reference",
    "printed_by": "printed_by, printer, print_source",
    "lab_days": "lab_days, days_at_lab, lab_time",
}
FIELD_OF_WORD = by_word(_WORDS)
SIZES = ("size", "size, height first", "width", "height")
DATES = ("print_on", "due_on", "start_on")
UNITS = ("mm", "cm", "m", "in")
"""Units that a size may have."""

_SURE: dict[Certainty, str] = {
    "sure": "sure, confirmed, ordered, firm, booked, definite, definitely, certain, fixed",
    "likely": "likely, probable, probably, option, on option, provisional",
    "maybe": "maybe, enquiry, inquiry, quote, possible, perhaps, tentative, unconfirmed",
}
_WHO: dict[PrintedBy, str] = {
    "here": "here, us, in house, in-house, studio",
    "outside lab": "outside lab, lab, outside, external lab, external",
    "customer": (
        "customer, client, artist, supplied, by customer, supplied by customer, customer supplied"
    ),
}
CERTAINTY_OF_WORD = {word: said for said, words in _SURE.items() for word in words.split(", ")}
PRINTER_OF_WORD = {word: said for said, words in _WHO.items() for word in words.split(", ")}
YES = frozenset({"yes", "y", "x", "true", "1", "series", "one emulsion"})
NO = frozenset({"no", "n", "false", "0", "-"})

_IN_UNIT = re.compile(r"\bin\s+(?=(?:mm|cm|m|in|inch|inches)\W*$)", re.IGNORECASE)


def columns_of(headers: Sequence[str]) -> tuple[list[Column], list[Column], list[str]]:
    """Return the columns understood, those whose meaning came before, and unknown headers.

    >>> columns_of(["Name", "Size in cm", "Colour"])[0][1]
    Column(index=1, header='Size in cm', field='size', unit='cm')
    """
    plain = [_IN_UNIT.sub("", header) for header in headers]
    understood, doubled, _ = list_columns.columns_of(plain, FIELD_OF_WORD, SIZES)
    known = [column for column in understood if column.unit in ("", *UNITS)]
    taken = {column.index for column in (*known, *doubled)}
    unknown = [header for i, header in enumerate(headers) if header.strip() and i not in taken]
    return _as_written(known, headers), _as_written(doubled, headers), unknown


def _as_written(columns: Sequence[Column], headers: Sequence[str]) -> list[Column]:
    return [replace(column, header=headers[column.index]) for column in columns]


def asks_yes_or_no(column: Column) -> bool:
    """Return whether a column of certainty asks yes or no, as one headed "confirmed" does."""
    return column.header.strip(" ?").lower() in ("sure", "confirmed")
