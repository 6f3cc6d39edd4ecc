"""A list of jobs from a spreadsheet: checked rows, problems by row, and what must be asked."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from stockroom.errors import BadValueError, ImportProblem, Problem
from stockroom.intake.dates import Order
from stockroom.intake.files import sha256_hex
from stockroom.intake.job_headers import DATES, UNITS, columns_of
from stockroom.intake.job_rows import JobReader, JobRow
from stockroom.intake.list_cells import cell_text
from stockroom.intake.tables import body_of, capped, header_at, order_of, read_table
from stockroom.plain_files import shown_name
from stockroom.text import safe

MIXED_UNITS = 8.0
"""Sizes that differ by more than this, row to row, may be in two units (our choice: below the 10
between mm and cm)."""
SMALL_MM = 300.0
"""Where the middle size of a list is no longer, mm were hardly meant (our choice: the finisher's
pieces are larger, and one large piece in cm does not hide the others)."""
LINES_NAMED = 8
"""Lines named in a question; the rest are counted."""


@dataclass(frozen=True, slots=True)
class JobList:
    """A job list as it was understood.

    Attributes
    ----------
    name, sha256 : str
        The file; the digest is of its bytes.
    sheet, other_sheets : str, tuple of str
        The sheet read and those left aside; empty for text.
    header_line : int
    columns : tuple of (str, str)
        Headers understood, and what they were taken for.
    ignored_columns : tuple of str
        Headers not understood, or whose meaning came before.
    date_order : str or None
        Order of day and month: given, or proven by a day over 12; None where nothing says.
    rows : tuple of JobRow
        Rows without a problem, and without a size that is asked for.
    rows_read : int
        Rows that are not blank, below the header.
    problems : tuple of Problem
        By line; a list with any is not to be stored.
    warnings : tuple of Problem
        What is odd, and taken all the same.
    asks : tuple of str
        What must be said first: the unit of plain numbers. A list with any is not to be stored.
    """

    name: str
    sha256: str
    sheet: str
    other_sheets: tuple[str, ...]
    header_line: int
    columns: tuple[tuple[str, str], ...]
    ignored_columns: tuple[str, ...]
    date_order: Order | None
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
        mixes units or is hardly in mm: then it asks.
    day_first : bool, optional
        Whether the day stands before the month, where the list does not prove it.

    Raises
    ------
    BadValueError
        Where the unit is none of these.
    ImportProblem
        Where it cannot be read at all, or has no column of names or of sizes.
    """
    if unit is not None and unit not in UNITS:
        raise BadValueError(
            f"{safe(unit, length=20)!r} is no unit of a size.",
            "A job list holds lengths.",
            f"Say one of: {', '.join(UNITS)}.",
        )
    source = read_table(data, name, _known, "name")
    at = header_at(source.rows, _known, "name")
    if at is None:
        raise ImportProblem(
            f"{shown_name(name)} has no header of a job list.",
            "None of its first rows has a column called name together with another one known.",
            "Write a first row like: name, size, count, material, build, due, certainty.",
        )
    header_line, headers = source.rows[at][0], [cell_text(value) for value in source.rows[at][1]]
    columns, doubled, unknown = columns_of(headers)
    if not _has_sizes({column.field for column in columns}):
        raise ImportProblem(
            f"{shown_name(name)} has no column of sizes.",
            f"Its header on line {header_line} names neither a size nor a width and a height.",
            "Call one column size, or two of them width (mm) and height (mm).",
        )
    body = body_of(source.rows, at)
    if not body:
        raise ImportProblem(
            f"{shown_name(name)} has no rows of jobs.",
            f"Nothing stands below its header on line {header_line}.",
            "Write one row for each size of each job.",
        )
    order = order_of(body, (column.index for column in columns if column.field in DATES), day_first)
    problems = [*source.problems]
    problems += [
        Problem(
            header_line, f"a second column for {column.field}; the first is read", column.header
        )
        for column in doubled
    ]
    readers = [
        JobReader(line, cells, columns, len(headers), order, today, unit) for line, cells in body
    ]
    found = [(reader, reader.read()) for reader in readers]
    asks = () if unit else _asks(readers)
    rows = [row for reader, row in found if row is not None and not (asks and reader.plain)]
    problems += [problem for reader in readers for problem in reader.problems]
    warnings = [warning for reader in readers for warning in reader.warnings]
    return JobList(
        name=safe(name),
        sha256=sha256_hex(data),
        sheet=source.sheet,
        other_sheets=source.other_sheets,
        header_line=header_line,
        columns=tuple((column.header, column.field) for column in columns),
        ignored_columns=(*unknown, *(column.header for column in doubled)),
        date_order=order,
        rows=tuple(rows),
        rows_read=len(body),
        problems=capped(problems, "problems"),
        warnings=capped(sorted([*warnings, *_twice(rows)], key=_line), "warnings"),
        asks=asks,
    )


def _known(headers: list[str]) -> set[str]:
    return {column.field for column in columns_of(headers)[0]}


def _has_sizes(fields: set[str]) -> bool:
    return bool(fields & {"size", "size, height first"}) or {"width", "height"} <= fields


def _line(problem: Problem) -> int:
    return problem.line


def _twice(rows: Sequence[JobRow]) -> list[Problem]:
    """Warn of rows that say the same job again; other numbers of an edition are another one."""
    found = []
    seen: dict[tuple[object, ...], int] = {}
    for row in rows:
        words = (row.work, row.name, row.material, row.build)
        same = (
            *(word.casefold() for word in words),
            *(row.width_dmm, row.height_dmm, row.due_on, row.edition_from, row.edition_of),
        )
        if same in seen:
            found.append(Problem(row.line, f"the same job stands on line {seen[same]}"))
        seen.setdefault(same, row.line)
    return found


def _asks(readers: Sequence[JobReader]) -> tuple[str, ...]:
    """Ask for the unit of plain numbers where the list mixes units, or seems to.

    Plain numbers were read as mm.
    """
    plain = [reader for reader in readers if reader.plain]
    if not plain:
        return ()
    answers = f"Say --unit {', '.join(UNITS[:-1])} or {UNITS[-1]}, or write units into the list."
    named = {unit for reader in readers for unit in reader.named_units}
    if named - {"mm"}:
        others = ", ".join("inches" if unit == "in" else unit for unit in sorted(named))
        return (
            f"In which unit are the sizes on {_lines(plain)}? They name none, and other sizes "
            f"are in {others}. {answers}",
        )
    sides_mm = sorted(side for r in readers if (side := max(r.longest_mm, *r.plain, 0.0)))
    small = [reader for reader in plain if max(reader.plain) * MIXED_UNITS < sides_mm[-1]]
    if small:
        return (
            f"Are all sizes in one unit? Those on {_lines(small)} name none and are much smaller "
            f"than others. {answers}",
        )
    middle_mm = sides_mm[(len(sides_mm) - 1) // 2]
    if middle_mm < SMALL_MM:
        return (
            f"In which unit are the sizes on {_lines(plain)}? They name none, and in mm half of "
            f"the list or more would be no longer than {middle_mm:g} mm. {answers}",
        )
    return ()


def _lines(readers: Iterable[JobReader]) -> str:
    lines = [str(reader.line) for reader in readers]
    more = f" and {len(lines) - LINES_NAMED} more" if len(lines) > LINES_NAMED else ""
    return f"line {', '.join(lines[:LINES_NAMED])}{more}"
