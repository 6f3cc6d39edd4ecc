"""A list of what is in stock, for the opening day: checked rows and problems, nothing stored."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

from stockroom.core.records import OWNERS, UNKNOWN, Material, Owner
from stockroom.core.records.traits import FAMILIES, FORMS, Shape
from stockroom.intake import list_values as values
from stockroom.intake.list_columns import UNITS, by_word, column, columns_of
from stockroom.intake.list_rows import Cell, ListRow
from stockroom.intake.lists import Kind, Listed, read_list
from stockroom.units import length_dmm, number

ABOUT_SHARE = Decimal("0.1")
"""What "about" stands for: a tenth of the length either way (our choice)."""
MAX_COUNT = 100_000
"""Largest count taken (our choice)."""
THINNEST_UM, THICKEST_UM = 5, 200_000
"""Thicknesses taken, micrometres (our choice)."""

_LENGTH = re.compile(
    r"(?P<about>(?:~|≈|about|approx\.?|approximately|around|circa|ca\.?)\s*)?"
    r"(?P<length>[^~±+]+?)(?:\s*(?:\+\s*/?\s*-|±)\s*(?P<doubt>.+))?",
    re.IGNORECASE,
)
_UNIT_AT_END = re.compile(r"(mm|cm|dmm|in|m)\s*$", re.IGNORECASE)
_ZERO = re.compile(r"0+(?:[.,]0+)?\s*(?:mm|cm|m|in)?", re.IGNORECASE)
_PERCENT = re.compile(r"([0-9]{1,3}(?:[.,][0-9]+)?)\s*%")
_THICKNESS = re.compile(r"(.+?)\s*(mm|um|µm|μm|microns?)?", re.IGNORECASE)
_UM_PER = {"mm": 1000, "cm": 10_000, "m": 10**6, "in": 25_400}


def _word_column(words: str, known: Iterable[str], default: str = "") -> Any:
    """Return the field of a column of one of a few words, singular or plural, and else needed."""
    name = words.split(", ")[0]
    read = values.one_of(by_word({word: f"{word}, {word}s" for word in known}), f"no {name}")
    missing = "" if default else f"The {name} is missing. Write one of: {', '.join(known)}."
    return column(words, read, needed=missing, later=not default, default=default)


def _inches(text: str) -> str:
    return text[:-1] + " in" if text.endswith(('"', "″")) else text


def _side_dmm(cell: Cell) -> int:
    """Return a width or height in dmm; a bare number is in the heading's unit, or mm."""
    return values.likely_side_dmm(length_dmm(_inches(cell), cell.unit or "mm"), cell)


def _length_dmm(cell: Cell) -> tuple[int, int]:
    """Return a length and how far it may be off, dmm.

    A bare number is in the heading's unit; else in m for rolls and lengths, in mm for sheets.
    """
    # a form that was not understood is noted beside this
    shape = FORMS.get(cell.row.said["form"], Shape(one=""))
    found = _LENGTH.fullmatch(_inches(cell))
    if not found:
        why = "A number with its unit is wanted."
        raise values.bad(cell, "not a length", why, "Type it like 9.4 m.")
    length, doubt = found["length"].strip(), (found["doubt"] or "").strip()
    typed = _UNIT_AT_END.search(length) or _UNIT_AT_END.search(doubt)
    default = typed[1].lower() if typed else cell.unit or shape.length_unit
    value = values.likely_side_dmm(length_dmm(length, default), cell, shape.longest_dmm)
    percent = _PERCENT.fullmatch(doubt)
    if percent:
        off = round(value * number(percent[1]) / 100)
    elif doubt:
        off = 0 if _ZERO.fullmatch(doubt) else length_dmm(doubt, default)
    else:
        off = round(value * ABOUT_SHARE) if found["about"] else 0
    if off >= value:
        raise values.bad(cell, "too uncertain", "It may be off by all of it.", "Measure it.")
    return value, off


def _thickness_um(cell: Cell) -> int:
    """Return a thickness in micrometres; a bare number is in the heading's unit, or mm."""
    found = _THICKNESS.fullmatch(cell)
    typed = (found[2] or cell.unit or "mm").lower() if found else "mm"
    value = round(number(found[1] if found else cell, "a thickness") * _UM_PER.get(typed, 1))
    if not THINNEST_UM <= value <= THICKEST_UM:
        why = f"From {THINNEST_UM} µm to {THICKEST_UM // 1000} mm are taken."
        try_ = "Write the unit beside it, like 3 mm or 260 µm."
        raise values.bad(cell, "no thickness that can be", why, try_)
    return value


@dataclass(frozen=True, slots=True)
class StockRow:
    """A line of a stock list that was read without a problem, and the columns it is read from.

    Attributes
    ----------
    line : int
        Line of the file, or row of the sheet, from 1.
    material, family, form : str
        Name of the material; one of the model's families and forms.
    width_dmm, length_dmm, height_dmm : int or None
        Tenths of a millimetre; of a sheet, length and height are the same side.
    thickness_um : int or None
        Thickness, micrometres.
    count : int
        Pieces alike.
    batch : str
        Maker's batch or emulsion number; "unknown" where nobody knows it.
    made_on, label_date, received_on : date or None
        Made, use by as printed on the label, received.
    place : str
        Where it stands; empty where the list does not say.
    price_cents : int or None
        Price of one piece, cents.
    plus_minus_dmm : int
        How far the length may be off, dmm.
    """

    line: int
    material: str = column("material, material_name, name", needed="The material is missing.")
    family: str = _word_column("family, material_family", FAMILIES)
    form: str = _word_column("form", FORMS)
    width_dmm: int | None = column("width", _side_dmm, units=UNITS)
    length_dmm: int | None = column(
        "length, length_left, remaining_length, remaining", _length_dmm, units=UNITS, later=True
    )
    height_dmm: int | None = column("height", _side_dmm, units=UNITS)
    thickness_um: int | None = column("thickness", _thickness_um, units=(*UNITS, "um"))
    count: int = column(
        "count, quantity, qty, pieces, pcs, number_of_pieces",
        values.whole(1, MAX_COUNT, "Type it like 12."),
        default=1,
    )
    batch: str = column(
        "batch, batch_no, batch_number, emulsion, emulsion_no, emulsion_number, lot, lot_no, "
        "lot_number",
        values.name_or_unknown,
        default=UNKNOWN,
    )
    made_on: date | None = column(
        "made_on, made, date_made, manufactured, manufactured_on, production_date", values.past_day
    )
    label_date: date | None = column(
        "label_date, expiry, expiry_date, expires, expires_on, expiration, expiration_date, "
        "best_before, best_before_date, use_by, use_by_date",
        values.day,
    )
    place: str = column("place, location, stored_in", default="")
    price_cents: int | None = column("price, unit_price, price_each, cost", values.price_cents)
    owner: Owner = _word_column("owner, owned_by", OWNERS, default="mine")
    received_on: date | None = column(
        "received, received_on, date_received, arrived, arrived_on", values.past_day
    )
    note: str = column("note, notes, remark, remarks, comment, comments", str, default="")
    plus_minus_dmm: int = 0

    @property
    def shape(self) -> Shape:
        """What all units of its form have in common."""
        return FORMS[self.form]


STOCK = Kind(
    name="stock list",
    columns=columns_of(StockRow),
    needed=("material",),
    unheaded=(
        "None of its first rows has a column called material together with another one known.",
        "Write a first row like: material, family, form, width_mm, length_m, batch, expiry.",
    ),
    empty=(" of stock", "Write one row for each roll, sheet or pack."),
)


def material_of(row: StockRow, code: str = "") -> Material:
    """Return the material that a row describes, as far as it does."""
    return Material(
        code=code,
        name=row.material,
        family=row.family,
        form=row.form,
        width_dmm=row.width_dmm,
        length_dmm=row.height_dmm if row.shape.flat else None,
        thickness_um=row.thickness_um,
    )


def read_stock_list(
    data: bytes,
    *,
    name: str,
    today: date,
    day_first: bool | None = None,
    known: Iterable[Material] = (),
) -> Listed[StockRow]:
    """Return the rows of a stock list and its problems; parameters and errors as `read_list`.

    Parameters
    ----------
    known : iterable of Material
        Those in the books already: their rows need no family, form or usual size. The same goes
        for a material that an earlier row of the list has described.
    """
    described = {material.name.casefold(): material for material in known}
    rules = partial(_whole_row, described)
    return read_list(data, name, STOCK, rules, today=today, day_first=day_first)


def _whole_row(described: dict[str, Material], row: ListRow) -> StockRow | None:
    """Fill in what the material tells, and note what is missing or contradicts itself."""
    said = row.said
    told = described.get((said["material"] or "").casefold())
    for field in ("family", "form"):
        said[field] = getattr(told, field) if told else row.take(field)
    said["length_dmm"], said["plus_minus_dmm"] = row.take("length_dmm") or (None, 0)
    if told:
        said["width_dmm"] = said["width_dmm"] or told.width_dmm
        if not row.told("length_dmm", "height_dmm"):
            said["length_dmm"] = told.length_dmm
    shape = FORMS.get(said["form"])
    if shape and shape.flat:
        said["length_dmm"] = said["length_dmm"] or said["height_dmm"]
        said["height_dmm"] = said["height_dmm"] or said["length_dmm"]
    if shape:
        _note_measures(row, shape)
    made_on, label_date = said["made_on"], said["label_date"]
    if made_on and label_date and label_date < made_on:
        row.note("label_date", "the label's date is before the day it was made")
    found = row.built(partial(StockRow, row.line))
    if found is not None:
        described.setdefault(found.material.casefold(), material_of(found))
    return found


def _note_measures(row: ListRow, shape: Shape) -> None:
    said = row.said
    needed = {"width": shape.wide, "length": shape.by_length, "height": shape.flat}
    for measure in (measure for measure, is_needed in needed.items() if is_needed):
        if said[f"{measure}_dmm"] is None and not row.noted(f"{measure}_dmm"):
            row.note(f"{measure}_dmm", f"a {said['form']} needs its {measure}")
    if shape.counted and said["count"] is None and not row.problems:
        row.note("count", "counted goods need a count")
    if shape.flat and said["length_dmm"] != said["height_dmm"]:
        row.note("length_dmm", "a sheet has a width and a height; its length says another size")
    if shape.flat and said["plus_minus_dmm"]:
        row.note("length_dmm", "the size of a sheet is wanted exactly")
