"""Cells of one row of a person's list, each read with its column, its problems noted."""

from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import TypeVar

from stockroom.errors import BadValueError, Problem
from stockroom.intake import stock_values as values
from stockroom.intake.dates import Order
from stockroom.intake.list_columns import Column
from stockroom.intake.workbook import CellFault, Value
from stockroom.text import safe, unguard_cell

NOTE_LENGTH = 500
"""Longest note kept, characters (our choice)."""

T = TypeVar("T")


def cell_text(value: Value, length: int = 200) -> str:
    """Return a cell as one clean line, the mark against formulas taken off."""
    if isinstance(value, CellFault):
        return value.what
    if isinstance(value, date):
        return value.isoformat()
    return safe(unguard_cell(value.strip()), length=length)


class CellReader:
    """Reads the cells of one row, noting each problem with its column and value.

    Parameters
    ----------
    line : int
        The row's number, from 1.
    cells : list of str, date or CellFault
    columns : list of Column
        The columns understood.
    width : int
        How many headers there are; cells beyond them have none.
    order : str or None
        Order of day and month.
    today : date
        Days that must be past are problems after it.
    """

    def __init__(
        self,
        line: int,
        cells: list[Value],
        columns: Sequence[Column],
        width: int,
        order: Order | None,
        today: date,
    ) -> None:
        self.line = line
        self.cells = cells
        self.columns = {column.field: column for column in columns}
        self.order = order
        self.today = today
        self.problems: list[Problem] = []
        self.extra = [cell for cell in cells[width:] if cell != "" and cell_text(cell)]

    def _cell(self, field: str) -> Value:
        column = self.columns.get(field)
        return self.cells[column.index] if column and column.index < len(self.cells) else ""

    def _note(self, field: str, what: str) -> None:
        column = self.columns.get(field)
        header = column.header if column else field
        self.problems.append(Problem(self.line, what, header, cell_text(self._cell(field))[:80]))

    def _note_extra(self) -> None:
        """Note cells beyond the header: a comma in a value moves all that follow."""
        if self.extra:
            what = "more cells than the header; a value with a comma in it needs quotes"
            self.problems.append(Problem(self.line, what, value=cell_text(self.extra[0])[:80]))

    def _try(self, field: str, read: Callable[[str, str], T]) -> T | None:
        """Return a cell's value as `read` takes it, or None where it is empty or wrong."""
        value = self._cell(field)
        if isinstance(value, CellFault):
            self._note(field, value.what)
            return None
        if isinstance(value, date):
            self._note(field, "the workbook made a date of this; format the cell as text")
            return None
        text = cell_text(value, NOTE_LENGTH)
        if not text:
            return None
        try:
            return read(text, self.columns[field].unit)
        except BadValueError as error:
            self._note(field, str(error))
            return None

    def _date(self, field: str, *, past: bool) -> date | None:
        value = self._cell(field)
        if isinstance(value, CellFault):
            self._note(field, value.what)
            return None
        try:
            day = values.read_date(
                value if isinstance(value, date) else cell_text(value), self.order
            )
        except BadValueError as error:
            self._note(field, str(error))
            return None
        if past and day is not None and day > self.today:
            self._note(field, f"{day.isoformat()} is still to come")
            return None
        return day

    def _told(self, *fields: str) -> bool:
        """Whether any of these cells holds something, readable or not."""
        return any(cell_text(self._cell(field)) for field in fields)

    def _word(self, field: str, words: Iterable[str]) -> str:
        value = self._cell(field)
        text = "" if isinstance(value, CellFault) else cell_text(value)
        try:
            return values.read_word(text, words, field)
        except BadValueError as error:
            self._note(field, value.what if isinstance(value, CellFault) else str(error))
            return ""
