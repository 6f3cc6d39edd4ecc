"""One row of a job list to a checked record, or to problems by column."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.core.craft import Certainty, PrintedBy
from stockroom.errors import Problem
from stockroom.intake import job_headers as headers
from stockroom.intake import job_values as said
from stockroom.intake import stock_values as values
from stockroom.intake.dates import Order
from stockroom.intake.list_cells import CellReader
from stockroom.intake.list_columns import Column
from stockroom.intake.workbook import Value
from stockroom.text import safe
from stockroom.units import DMM_PER_MM, number

_BY = re.compile(r"\s*(?:x|×|\*|by)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class JobRow:
    """A line of a job list that was read without a problem; None and "" for what is not told.

    `work` names the whole that it belongs to; sizes are in tenths of a millimetre; `edition_from`
    is the first number of its pieces, `edition_of` the size of the edition.
    """

    line: int
    name: str
    width_dmm: int
    height_dmm: int
    count: int = 1
    work: str = ""
    material: str = ""
    build: str = ""
    series: bool = False
    certainty: Certainty = "sure"
    print_on: date | None = None
    due_on: date | None = None
    start_on: date | None = None
    edition_from: int | None = None
    edition_of: int | None = None
    client: str = ""
    printed_by: PrintedBy = "here"
    lab_days: int | None = None


class JobReader(CellReader):
    """Reads one row of a job list, noting its problems, warnings and the units its sizes name.

    Parameters
    ----------
    line, cells, columns, order, today
        As for `CellReader`.
    width : int
        Cells of the header.
    unit : str or None
        Unit of numbers that name none; mm where it is not told.
    """

    def __init__(
        self,
        line: int,
        cells: list[Value],
        columns: Sequence[Column],
        width: int,
        order: Order | None,
        today: date,
        unit: str | None,
    ) -> None:
        super().__init__(line, cells, columns, width, order, today)
        self.unit = unit
        self.warnings: list[Problem] = []
        self.named_units: set[str] = set()
        """Units that its sizes name, in the cell or in the header."""
        self.plain: list[float] = []
        """Sides whose unit nobody names, as written, up to the largest side in mm."""
        self.longest_mm = 0.0
        """Its longest side, mm."""

    def read(self) -> JobRow | None:
        """Return the row, or None where it has a problem."""
        size = self._size()
        count = self._try("count", lambda text, _: said.read_pieces(text))
        first, last, of = self._edition()
        if count is None and first is not None and last is not None:
            count = last - first + 1
        name = self._text("name")
        row = JobRow(
            line=self.line,
            name=name or f"Line {self.line}",
            width_dmm=size[0] if size else 0,
            height_dmm=size[1] if size else 0,
            count=count or 1,
            work=self._text("work"),
            material=self._text("material"),
            build=self._text("build"),
            series=bool(self._try("series", lambda text, _: said.read_yes(text))),
            certainty=self._certainty(),
            print_on=self._date("print_on", past=False),
            due_on=self._date("due_on", past=False),
            start_on=self._date("start_on", past=False),
            edition_from=first,
            edition_of=of,
            client=self._text("client"),
            printed_by=self._try("printed_by", lambda text, _: said.read_printer(text)) or "here",
            lab_days=self._try("lab_days", lambda text, _: said.read_lab_days(text)),
        )
        self._check_whole(row, last)
        if self.problems:
            return None
        if not name:
            self._warn("name", f"it has no name; it is called {row.name!r}")
        if row.due_on is not None and row.due_on < self.today:
            self._warn("due_on", f"it was due on {row.due_on.isoformat()}, which is past")
        return row

    def _text(self, field: str) -> str:
        return self._try(field, lambda text, _: safe(text)) or ""

    def _warn(self, field: str, what: str) -> None:
        column = self.columns.get(field)
        self.warnings.append(Problem(self.line, what, column.header if column else field))

    def _check_whole(self, row: JobRow, last: int | None) -> None:
        """Note what contradicts itself."""
        self._note_extra()
        if row.start_on and row.due_on and row.due_on < row.start_on:
            self._note(
                "due_on",
                f"It is due before it can be started, on {row.start_on.isoformat()}. "
                "Look at both days.",
            )
        first = row.edition_from or 1
        if last is not None and last - first + 1 != row.count:
            self._note(
                self._edition_column(),
                f"Numbers {first} to {last} are {last - first + 1} pieces, but the count is "
                f"{row.count}. Mend one of them.",
            )
        elif row.edition_of is not None and first + row.count - 1 > row.edition_of:
            self._note(
                self._edition_column(),
                f"Number {first + row.count - 1} is beyond the edition of {row.edition_of}. "
                "Look at the first number and the count.",
            )

    # Sizes

    def _size(self) -> tuple[int, int] | None:
        """Width and height, from one cell or two."""
        if self._told("size"):
            return self._try("size", self._both)
        if self._told("size, height first"):
            size = self._try("size, height first", self._both)
            return (size[1], size[0]) if size else None
        sides = ("width", "height")
        missing = next((field for field in sides if not self._told(field)), None)
        if missing:
            one = next((field for field in headers.SIZES[:2] if field in self.columns), missing)
            what = "The size" if one != missing else f"The {missing}"
            self._note(one, f"{what} is missing. Type it like 1200 x 800 mm.")
            return None
        wide, high = (self._try(field, self._side) for field in sides)
        return (wide, high) if wide and high else None

    def _both(self, text: str, unit: str) -> tuple[int, int]:
        sides = _BY.split(text.strip())
        if len(sides) != 2 or not all(sides):
            raise values.bad(
                text, "no size", "Width and height are wanted.", "Type it like 1200 x 800 mm."
            )
        second = self._side(sides[1], unit)
        return self._side(sides[0], said.split_side(sides[1])[1] or unit), second

    def _side(self, text: str, unit: str) -> int:
        bare, typed = said.split_side(text)
        named = typed or unit
        value = float(number(bare, "a length"))
        if named:
            self.named_units.add(named)
        elif 0 < value * DMM_PER_MM <= values.LARGEST_SIDE_DMM:
            self.plain.append(value)
        side_dmm = values.read_side_dmm(f"{bare} {named or self.unit or 'mm'}", "")
        self.longest_mm = max(self.longest_mm, side_dmm / DMM_PER_MM)
        return side_dmm

    # Editions and certainty

    def _edition(self) -> tuple[int | None, int | None, int | None]:
        """First and last number, and the size of the edition, from one column or several."""
        nothing = (None, None, None)
        first, last, of = self._try("edition", lambda text, _: said.read_edition(text)) or nothing
        if first is None:
            begin = self._try("edition_from", lambda text, _: said.read_edition(text, bare=True))
            first, last, own = begin or nothing
            of = of if own is None else own
        told = self._try("edition_of", lambda text, _: said.read_pieces(text))
        if told is not None and of is not None and told != of:
            self._note("edition_of", f"Another column says an edition of {of}. Mend one of them.")
        return first, last, told if of is None else of

    def _edition_column(self) -> str:
        fields = ("edition", "edition_from", "edition_of")
        return next((field for field in fields if self._told(field)), "edition")

    def _certainty(self) -> Certainty:
        column = self.columns.get("certainty")
        yes_or_no = column is not None and headers.asks_yes_or_no(column)
        if yes_or_no and not self._told("certainty"):
            self._warn("certainty", "it is not marked as confirmed; it is taken as maybe")
            return "maybe"
        return (
            self._try("certainty", lambda text, _: said.read_certainty(text, yes_or_no)) or "sure"
        )
