"""One row of a stock list to a checked record, or to problems by column."""

from collections.abc import Container, Mapping
from dataclasses import dataclass
from datetime import date
from typing import cast

from stockroom.core.model import OWNERS, UNKNOWN, Material, Owner
from stockroom.core.traits import FAMILIES, FORMS, Shape
from stockroom.intake import stock_values as values
from stockroom.intake.dates import Order
from stockroom.intake.list_cells import CellReader, cell_text
from stockroom.intake.list_columns import Column
from stockroom.intake.workbook import Value
from stockroom.text import safe


@dataclass(frozen=True, slots=True)
class StockRow:
    """A line of a stock list that was read without a problem.

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
    owner : str
    plus_minus_dmm : int
        How far the length may be off, dmm.
    note : str
    """

    line: int
    material: str
    family: str
    form: str
    width_dmm: int | None
    length_dmm: int | None
    height_dmm: int | None
    thickness_um: int | None
    count: int
    batch: str
    made_on: date | None
    label_date: date | None
    place: str
    price_cents: int | None
    owner: Owner
    received_on: date | None
    plus_minus_dmm: int
    note: str

    @property
    def shape(self) -> Shape:
        """What all units of its form have in common."""
        return FORMS[self.form]


class RowReader(CellReader):
    """Reads the cells of one row, noting each problem with its column and value.

    Parameters
    ----------
    line : int
        The row's number, from 1.
    cells : list of str, date or CellFault
    columns : list of Column
        The columns understood.
    width : int
        Cells of the header.
    order : str or None
        Order of day and month.
    today : date
        Days of making and receiving after it are problems.
    known : mapping of str to Material
        Materials that need not be described again, by their name in lower case.
    """

    def __init__(
        self,
        line: int,
        cells: list[Value],
        columns: list[Column],
        width: int,
        order: Order | None,
        today: date,
        known: Mapping[str, Material],
    ) -> None:
        super().__init__(line, cells, columns, width, order, today)
        self.known = known

    def read(self) -> StockRow | None:
        """Return the row, or None where it has a problem."""
        material = self._try("material", lambda text, _: safe(text)) or ""
        if not material and not self.problems:
            self._note("material", "The material is missing.")
        told = self.known.get(material.casefold())
        family = told.family if told else self._word("family", FAMILIES)
        form = told.form if told else self._word("form", FORMS)
        owner = self._word("owner", OWNERS) if cell_text(self._cell("owner")) else "mine"
        width_dmm = self._try("width", values.read_side_dmm)
        height_dmm = self._try("height", values.read_side_dmm)
        length = self._try("length", lambda text, unit: values.read_length_dmm(text, unit, form))
        length_dmm, plus_minus_dmm = length or (None, 0)
        if told is not None:
            width_dmm = width_dmm or told.width_dmm
            if length is None and height_dmm is None and not self._told("length", "height"):
                length_dmm = told.length_dmm
        count = self._try("count", lambda text, _: values.read_count(text))
        if form in FORMS and FORMS[form].flat:
            length_dmm = height_dmm if length_dmm is None else length_dmm
            height_dmm = length_dmm if height_dmm is None else height_dmm
        row = StockRow(
            line=self.line,
            material=material,
            family=family,
            form=form,
            width_dmm=width_dmm,
            length_dmm=length_dmm,
            height_dmm=height_dmm,
            thickness_um=self._try("thickness", values.read_thickness_um),
            count=count or 1,
            batch=self._try("batch", lambda text, _: values.read_batch(safe(text))) or UNKNOWN,
            made_on=self._date("made_on", past=True),
            label_date=self._date("label_date", past=False),
            place=self._try("place", lambda text, _: safe(text)) or "",
            price_cents=self._try("price", lambda text, _: values.read_price_cents(text)),
            owner=cast(Owner, owner),
            received_on=self._date("received", past=True),
            plus_minus_dmm=plus_minus_dmm,
            note=self._try("note", lambda text, _: text) or "",
        )
        self._check_whole(row, count)
        return None if self.problems else row

    def _check_whole(self, row: StockRow, count: int | None) -> None:
        """Note what is missing for the form, and what contradicts itself."""
        self._note_extra()
        flagged = {problem.column for problem in self.problems}
        if row.form in FORMS:
            self._check_sizes(row, flagged)
            if row.shape.counted and count is None and not self.problems:
                self._note("count", "counted goods need a count")
        if row.made_on and row.label_date and row.label_date < row.made_on:
            self._note("label_date", "the label's date is before the day it was made")

    def _check_sizes(self, row: StockRow, flagged: Container[str]) -> None:
        given = {
            "width": row.width_dmm if row.shape.wide else 0,
            "length": row.length_dmm if row.shape.by_length else 0,
            "height": row.height_dmm if row.shape.flat else 0,
        }
        for field, value in given.items():
            column = self.columns.get(field)
            if value is None and (column is None or column.header not in flagged):
                self._note(field, f"a {row.form} needs its {field}")
        if row.shape.flat and row.length_dmm != row.height_dmm:
            self._note("length", "a sheet has a width and a height; its length says another size")
        if row.shape.flat and row.plus_minus_dmm:
            self._note("length", "the size of a sheet is wanted exactly")
