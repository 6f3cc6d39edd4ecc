"""One row of a person's list, read cell by cell as its columns say, its problems noted."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar

from stockroom.errors import BadValueError, Problem
from stockroom.intake.dates import Order
from stockroom.intake.list_columns import Columns, Heading
from stockroom.intake.workbook import CellFault, Value
from stockroom.text import safe, unguard_cell

NOTE_LENGTH = 500
"""Longest note kept, characters (our choice)."""

R = TypeVar("R")


def cell_text(value: Value, length: int = 200) -> str:
    """Return a cell as one clean line, the mark against formulas taken off."""
    if isinstance(value, CellFault):
        return value.what
    if isinstance(value, date):
        return value.isoformat()
    return safe(unguard_cell(value.strip()), length=length)


@dataclass(frozen=True, slots=True)
class Setting:
    """What all rows of a list share.

    Attributes
    ----------
    columns : mapping of str to Column
    headings : mapping of str to Heading
        The columns that the list has, by field.
    width : int
        How many headers there are; cells beyond them have none.
    order : str or None
        Order of day and month, where given or proven.
    unit : str or None
        Unit of sizes that name none, as a person says.
    """

    columns: Columns
    headings: Mapping[str, Heading]
    width: int
    order: Order | None
    today: date
    unit: str | None


@dataclass(frozen=True, slots=True)
class Side:
    """A side of a size: its unit as named, "" where it is not; its length, mm where it is not."""

    unit: str
    mm: float


class ListRow:
    """A row while it is read.

    Attributes
    ----------
    said : dict of str to value
        What its cells say, by field; None for what is empty or wrong, and nothing yet for what is
        read later.
    problems, warnings : list of Problem
    sides : list of Side
        The sides of its sizes, for the question after their unit.
    """

    def __init__(self, setting: Setting, line: int, cells: list[Value]) -> None:
        self.setting, self.line, self.cells = setting, line, cells
        self.problems: list[Problem] = []
        self.warnings: list[Problem] = []
        self.sides: list[Side] = []
        extra = [text for cell in cells[setting.width :] if (text := cell_text(cell))]
        if extra:  # a comma in a value moves all that follow
            what = "more cells than the header; a value with a comma in it needs quotes"
            self.problems.append(Problem(line, what, value=extra[0][:80]))
        self.said: dict[str, Any] = {
            field: self.take(field) for field, column in setting.columns.items() if not column.later
        }

    @property
    def plain(self) -> list[float]:
        """The sides whose unit nobody names, as written."""
        return [side.mm for side in self.sides if not side.unit]

    def take(self, field: str) -> Any:
        """Return a cell as its column reads it, or None where it is empty or wrong."""
        column, value = self.setting.columns[field], self._value(field)
        text = cell_text(value, NOTE_LENGTH)
        if isinstance(value, CellFault):
            self.note(field, value.what)
        elif not text:
            if column.needed:
                self.note(field, column.needed)
        elif isinstance(value, date) and not column.dates:
            self.note(field, "the workbook made a date of this; format the cell as text")
        else:
            try:
                return column.read(Cell(text, value, self.setting.headings[field], self))
            except BadValueError as error:
                self.note(field, str(error))
        return None

    def told(self, *fields: str) -> bool:
        """Return whether any of these cells holds something, readable or not."""
        return any(cell_text(self._value(field)) for field in fields)

    def note(self, field: str, what: str) -> None:
        """Note what is wrong with a cell."""
        value = cell_text(self._value(field))[:80]
        self.problems.append(Problem(self.line, what, self._header(field), value))

    def warn(self, field: str, what: str) -> None:
        """Note what is odd, and taken all the same."""
        self.warnings.append(Problem(self.line, what, self._header(field)))

    def noted(self, field: str) -> bool:
        """Return whether something is wrong with a cell."""
        return any(problem.column == self._header(field) for problem in self.problems)

    def built(self, make: Callable[..., R]) -> R | None:
        """Return what is said as a record with defaults of its own, None where a cell is wrong."""
        if self.problems:
            return None
        return make(**{name: value for name, value in self.said.items() if value is not None})

    def _header(self, field: str) -> str:
        heading = self.setting.headings.get(field)
        return heading.header if heading else self.setting.columns[field].name

    def _value(self, field: str) -> Value:
        heading = self.setting.headings.get(field)
        return self.cells[heading.index] if heading and heading.index < len(self.cells) else ""


class Cell(str):
    """The text of a cell that holds something.

    Attributes
    ----------
    unit, header : str
        Unit that its heading names, and the heading.
    day : date or None
        The date that a workbook holds there.
    """

    unit: str
    header: str
    day: date | None
    row: ListRow

    def __new__(cls, text: str, value: Value, heading: Heading, row: ListRow) -> "Cell":
        """Return the text with what stands around it."""
        cell = super().__new__(cls, text)
        cell.unit, cell.header, cell.row = heading.unit, heading.header, row
        cell.day = value if isinstance(value, date) else None
        return cell
