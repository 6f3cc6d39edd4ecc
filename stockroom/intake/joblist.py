"""A list of jobs from a spreadsheet: checked rows, problems by row, and what must be asked."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from stockroom.core.craft import Certainty, PrintedBy
from stockroom.errors import ImportProblem, Problem
from stockroom.intake import list_columns
from stockroom.intake import stock_values as values
from stockroom.intake.dates import Order
from stockroom.intake.files import sha256_hex, shown_name
from stockroom.intake.list_cells import CellReader, cell_text
from stockroom.intake.list_columns import Column, by_word
from stockroom.intake.tables import body_of, header_at, order_of, read_table
from stockroom.intake.workbook import Value
from stockroom.text import safe
from stockroom.units import DMM_PER_MM, length_dmm

W = TypeVar("W")

MOST_PIECES = 10_000
"""Most pieces of one row (our choice)."""
MIXED_UNITS = 8.0
"""Plain numbers that differ by more than this, row to row, may be in two units (our choice)."""

_WORDS: dict[str, str] = {
    "work": "work, project, exhibition, show",
    "name": "name, title, job, image, picture",
    "size": "size, dimensions, format, w_x_h, width_x_height",
    "width": "width, w",
    "height": "height, h",
    "count": "count, quantity, qty, pieces, pcs, copies, prints",
    "material": "material, paper, paper_name",
    "build": "build, mounting, finish, finishing",
    "series": "series, one_emulsion, same_emulsion",
    "certainty": "certainty, sure, status, state, confirmed",
    "print_on": "print_on, print_day, print_date, printed_on",
    "due_on": "due, due_on, due_date, due_day, deadline, delivery, deliver_by",
    "start_on": "start, start_on, start_date, earliest_start, from",
    "edition": "edition, edition_no, edition_number, number",
    "client": "client, customer, client_reference, reference",
    "printed_by": "printed_by, printer, print_source",
    "lab_days": "lab_days, days_at_lab, lab_time",
}
_FIELDS = by_word(_WORDS)
_SIZES = ("size", "width", "height")
_DATES = ("print_on", "due_on", "start_on")
_BY = re.compile(r"\s*(?:x|×|\*|by)\s*", re.IGNORECASE)
_UNIT = re.compile(r"(?:mm|cm|in|m|\"|″)\s*$", re.IGNORECASE)
_FRACTION = re.compile(r"(\d{1,4})?\s*\b(\d{1,3})/(\d{1,3})\b")
_EDITION = re.compile(r"(\d{1,5})(?:\s*-\s*(\d{1,5}))?(?:\s*(?:/|of)\s*(\d{1,5}))?")
_SURE: dict[Certainty, str] = {
    "sure": "sure, confirmed, ordered, yes, firm, booked",
    "likely": "likely, probable, probably, option",
    "maybe": "maybe, enquiry, inquiry, quote, possible, perhaps, no",
}
_WHO: dict[PrintedBy, str] = {
    "here": "here, us, in house, in-house, studio",
    "outside lab": "outside lab, lab, outside",
    "customer": "customer, client, artist, supplied",
}
_CERTAINTY = {word: said for said, words in _SURE.items() for word in words.split(", ")}
_PRINTED = {word: said for said, words in _WHO.items() for word in words.split(", ")}
_YES = frozenset({"yes", "y", "x", "true", "1", "series", "one emulsion"})
_NO = frozenset({"no", "n", "false", "0", "-"})


@dataclass(frozen=True, slots=True)
class JobRow:
    """A line of a job list that was read without a problem; None and "" for what is not told."""

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


@dataclass(frozen=True, slots=True)
class JobList:
    """A job list as it was understood.

    Attributes
    ----------
    name, sha256 : str
        The file; the digest is of its bytes.
    columns : tuple of (str, str)
        Headers understood, and what they were taken for.
    ignored_columns : tuple of str
    rows : tuple of JobRow
        Rows without a problem.
    rows_read : int
        Rows that are not blank, below the header.
    problems : tuple of Problem
        By line; a list with any is not to be stored.
    warnings : tuple of Problem
        What is odd, and taken all the same.
    asks : tuple of str
        What must be said first: the unit of plain numbers.
    """

    name: str
    sha256: str
    columns: tuple[tuple[str, str], ...]
    ignored_columns: tuple[str, ...]
    rows: tuple[JobRow, ...]
    rows_read: int
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    asks: tuple[str, ...]


def read_job_list(
    data: bytes,
    *,
    name: str,
    today: date,
    unit: str | None = None,
    day_first: bool | None = None,
) -> JobList:
    """Return the rows of a job list and what is wrong with it, from CSV text or a workbook.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name, for the words of an error.
    today : date
        A due day before it is warned of.
    unit : str, optional
        Unit of numbers that name none: mm, cm, m or in. Left out, they are mm, unless the list
        mixes units: then it asks.
    day_first : bool, optional
        Whether the day stands before the month, where the list does not prove it.

    Raises
    ------
    ImportProblem
        Where it cannot be read at all, or has no column of names and sizes.
    """
    source = read_table(data, name, _known, "name")
    at = header_at(source.rows, _known, "name")
    if at is None:
        raise ImportProblem(
            f"{shown_name(name)} has no header of a job list.",
            "None of its first rows has a column called name together with another one known.",
            "Write a first row like: name, size, count, material, build, due, certainty.",
        )
    header_line, headers = source.rows[at][0], [cell_text(value) for value in source.rows[at][1]]
    columns, doubled, unknown = list_columns.columns_of(headers, _FIELDS, _SIZES)
    body = body_of(source.rows, at)
    if not body:
        raise ImportProblem(
            f"{shown_name(name)} has no rows of jobs.",
            f"Nothing stands below its header on line {header_line}.",
            "Write one row for each size of each job.",
        )
    order = order_of(body, (c.index for c in columns if c.field in _DATES), day_first)
    readers = [_JobReader(line, cells, columns, order, today, unit) for line, cells in body]
    problems = [*source.problems]
    problems += [
        Problem(header_line, f"a second column for {c.field}; the first is read", c.header)
        for c in doubled
    ]
    rows = []
    for reader in readers:
        found = reader.read()
        problems += reader.problems
        if found is not None:
            rows.append(found)
    return JobList(
        name=safe(name),
        sha256=sha256_hex(data),
        columns=tuple((column.header, column.field) for column in columns),
        ignored_columns=(*unknown, *(column.header for column in doubled)),
        rows=tuple(rows),
        rows_read=len(body),
        problems=tuple(problems),
        warnings=tuple(_warnings(rows, today)),
        asks=() if unit else _asks(readers),
    )


def _known(headers: list[str]) -> set[str]:
    return {column.field for column in list_columns.columns_of(headers, _FIELDS, _SIZES)[0]}


class _JobReader(CellReader):
    """Reads one row of a job list."""

    def __init__(
        self,
        line: int,
        cells: list[Value],
        columns: Sequence[Column],
        order: Order | None,
        today: date,
        unit: str | None,
    ) -> None:
        super().__init__(line, cells, columns, order, today)
        self.unit = unit
        self.units: set[str] = set()
        """Units that its sizes name; "" for a number that names none."""
        self.longest_plain = 0.0

    def read(self) -> JobRow | None:
        """Return the row, or None where it has a problem."""
        size = self._size()
        name = self._try("name", lambda text, _: safe(text)) or f"Line {self.line}"
        count = self._try("count", lambda text, _: _count(text))
        edition = self._try("edition", lambda text, _: _edition(text)) or (None, None, None)
        first, last, of = edition
        if count is None and first is not None and last is not None:
            count = last - first + 1
        row = JobRow(
            line=self.line,
            name=name,
            width_dmm=size[0] if size else 1,
            height_dmm=size[1] if size else 1,
            count=count or 1,
            work=self._try("work", lambda text, _: safe(text)) or "",
            material=self._try("material", lambda text, _: safe(text)) or "",
            build=self._try("build", lambda text, _: safe(text)) or "",
            series=bool(self._try("series", lambda text, _: _yes(text))),
            certainty=self._try("certainty", lambda text, _: _one_of(text, _CERTAINTY)) or "sure",
            print_on=self._date("print_on", past=False),
            due_on=self._date("due_on", past=False),
            start_on=self._date("start_on", past=False),
            edition_from=first,
            edition_of=of,
            client=self._try("client", lambda text, _: safe(text)) or "",
            printed_by=self._try("printed_by", lambda text, _: _one_of(text, _PRINTED)) or "here",
            lab_days=self._try("lab_days", lambda text, _: _count(text)),
        )
        if row.start_on and row.due_on and row.due_on < row.start_on:
            self._note("due_on", "it is due before it can be started")
        if first is not None and of is not None and first + row.count - 1 > of:
            self._note("edition", f"number {first + row.count - 1} is beyond the edition of {of}")
        return None if self.problems else row

    def _size(self) -> tuple[int, int] | None:
        """Width and height, from one cell or two."""
        if self._told("size"):
            return self._try("size", self._both)
        if not (self._told("width") and self._told("height")):
            self._note("size" if "size" in self.columns else "width", "the size is missing")
            return None
        wide, high = self._try("width", self._side), self._try("height", self._side)
        return (wide, high) if wide and high else None

    def _both(self, text: str, unit: str) -> tuple[int, int]:
        sides = _BY.split(text.strip())
        if len(sides) != 2:
            raise values.bad(
                text, "no size", "Width and height are wanted.", "Type it like 1200 x 800 mm."
            )
        named = _UNIT.search(sides[1])
        own = named[0].strip() if named and not _UNIT.search(sides[0]) else ""
        own = "in" if own in ('"', "″") else own.lower()
        return self._side(sides[0], own or unit), self._side(sides[1], unit)

    def _side(self, text: str, unit: str) -> int:
        text = _FRACTION.sub(_decimal, text)
        named = bool(_UNIT.search(text)) or bool(unit)
        if named:
            found = _UNIT.search(text)
            said = (found[0].strip().lower() if found else unit).replace("″", "in")
            self.units.add("in" if said == '"' else said)
        else:
            self.units.add("")
            self.longest_plain = max(self.longest_plain, length_dmm(text, "mm") / DMM_PER_MM)
        return values.read_side_dmm(text, unit or self.unit or "")


def _warnings(rows: Sequence[JobRow], today: date) -> list[Problem]:
    """What is odd about rows that are taken all the same."""
    found = []
    seen: dict[tuple[object, ...], int] = {}
    for row in rows:
        if row.due_on is not None and row.due_on < today:
            found.append(
                Problem(row.line, f"it was due on {row.due_on.isoformat()}, which is past")
            )
        if row.name == f"Line {row.line}":
            found.append(Problem(row.line, f"it has no name; it is called {row.name!r}"))
        same = (row.name.casefold(), row.width_dmm, row.height_dmm, row.material, row.due_on)
        if same in seen:
            found.append(Problem(row.line, f"the same job stands on line {seen[same]}"))
        seen.setdefault(same, row.line)
    return found


def _asks(readers: Sequence[_JobReader]) -> tuple[str, ...]:
    """Ask for the unit of plain numbers where the list mixes units, or seems to."""
    plain = [reader for reader in readers if "" in reader.units]
    named = sorted({unit for reader in readers for unit in reader.units} - {""})
    if not plain:
        return ()
    lines = ", ".join(str(reader.line) for reader in plain[:8])
    lines += " and more" if len(plain) > 8 else ""
    if named and named != ["mm"]:
        return (
            f"In which unit are the sizes on line {lines}? Other rows name {', '.join(named)}. "
            "Say --unit mm, cm, m or in.",
        )
    longest = [reader.longest_plain for reader in plain if reader.longest_plain]
    if longest and max(longest) > MIXED_UNITS * min(longest):
        small = [r.line for r in plain if r.longest_plain * MIXED_UNITS < max(longest)]
        return (
            f"Are all sizes in one unit? Those on line {', '.join(map(str, small[:8]))} are much "
            "smaller than the others. Say --unit mm, cm, m or in, or write units into the list.",
        )
    return ()


def _count(text: str) -> int:
    count = values.read_count(text)
    if count > MOST_PIECES:
        raise values.bad(text, "too many", f"Up to {MOST_PIECES} are taken.", "Part the job.")
    return count


def _edition(text: str) -> tuple[int | None, int | None, int | None]:
    """Return the first and last number, and the size of the edition.

    >>> _edition("1-3/8"), _edition("5 of 8")
    ((1, 3, 8), (5, None, 8))
    """
    found = _EDITION.fullmatch(text)
    numbers = found.groups() if found else ("0", None, None)
    first, last, of = (int(part) if part else None for part in numbers)
    most = max(number for number in (first, last) if number is not None)
    if not first or (last is not None and last < first) or (of is not None and most > of):
        raise values.bad(
            text, "no edition", "A number, and of how many, is wanted.", "Type it like 3/8."
        )
    return first, last, of


def _decimal(found: re.Match[str]) -> str:
    """A whole number and a fraction, as inches are written, as one number."""
    whole, above, below = int(found[1] or 0), int(found[2]), int(found[3])
    return f"{whole + above / below:g}" if below else found[0]


def _yes(text: str) -> bool:
    bare = text.strip().lower()
    if bare not in _YES | _NO:
        raise values.bad(text, "neither yes nor no", "", "Write yes, or no.")
    return bare in _YES


def _one_of(text: str, words: Mapping[str, W]) -> W:
    bare = " ".join(text.strip().lower().split())
    if bare not in words:
        known = ", ".join(dict.fromkeys(str(word) for word in words.values()))
        raise values.bad(text, "not understood", "", f"Write one of: {known}.")
    return words[bare]
