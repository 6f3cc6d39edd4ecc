"""A maker's warm-up table in a CSV file to checked rows, or the problems by row."""

import re
from collections.abc import Callable, Sequence
from decimal import Decimal
from math import ceil

from stockroom.errors import BadValueError, ImportProblem, Problem
from stockroom.intake.files import split_lines, to_text
from stockroom.plain_files import shown_name
from stockroom.text import safe, unguard_cell
from stockroom.units import number

COLUMNS = ("width_mm", "length_m", "from_c", "hours")
"""The columns of the file; others are left aside."""
_SCALES = {"width_mm": 10, "length_m": 10_000, "from_c": 100, "hours": 60}
_WORDS = {
    "width_mm": "a width in mm",
    "length_m": "a length in m",
    "from_c": "a temperature in °C",
    "hours": "a number of hours",
}

Row = tuple[int, int, int, int]


def read_warm_rows(data: bytes, name: str, fault_of: Callable[[Row], str]) -> list[Row]:
    """Return the rows of a warm-up table: width and length (dmm), hundredths of °C, minutes.

    Parameters
    ----------
    data : bytes
        The whole file: a row of headers, then a row for each size and cold.
    name : str
        Its name, for the words of an error.
    fault_of : callable
        Returns what cannot be in a row, "" for nothing.

    Raises
    ------
    ImportProblem
        Where a column is missing, or with every row that cannot be read.

    >>> read_warm_rows(b"width_mm,length_m,from_c,hours\\n1270,50,-18,10.5\\n", "", lambda row: "")
    [(12700, 500000, -1800, 630)]
    """
    lines = [
        (i, x) for i, x in enumerate(to_text(data, name=name).text.split("\n"), 1) if x.strip()
    ]
    if not lines:
        raise ImportProblem(f"{shown_name(name)} is empty.", try_=_wanted())
    delimiter = max(";\t,", key=lines[0][1].count)
    headers = [_plain(cell) for cell in _cells(lines[0], delimiter, name)]
    missing = [column for column in COLUMNS if headers.count(column) != 1]
    if missing:
        raise ImportProblem(
            f"{shown_name(name)} is no warm-up table.",
            f"Missing, or there twice: {', '.join(missing)}.",
            _wanted(),
        )
    at = [headers.index(column) for column in COLUMNS]
    rows: list[Row] = []
    seen: dict[tuple[int, int, int], int] = {}
    problems: list[Problem] = []
    for line in lines[1:]:
        cells = [unguard_cell(cell.strip()) for cell in _cells(line, delimiter, name)]
        found = _row(cells, at, line[0], problems)
        if found is None:
            continue
        fault = fault_of(found)
        if not fault and seen.setdefault(found[:3], found[3]) != found[3]:
            fault = "other hours than an earlier row of the same size and cold"
        if fault:
            problems.append(Problem(line[0], fault))
        rows.append(found)
    if problems or not rows:
        raise ImportProblem(
            f"{shown_name(name)} was not taken in.",
            "" if problems else "It has headers, but no row.",
            "Set right what is named; nothing of it was stored.",
            problems=problems,
        )
    return rows


def _row(cells: Sequence[str], at: Sequence[int], line: int, problems: list[Problem]) -> Row | None:
    if len(cells) <= max(at):
        problems.append(Problem(line, "a cell is missing"))
        return None
    values = []
    for column, index in zip(COLUMNS, at, strict=True):
        try:
            value = number(cells[index].replace("\u2212", "-"), _WORDS[column])
            scaled = value * Decimal(_SCALES[column])
            values.append(ceil(scaled) if column == "hours" else round(scaled))
        except BadValueError as error:
            problems.append(Problem(line, error.what.rstrip("."), column, cells[index]))
    return (values[0], values[1], values[2], values[3]) if len(values) == len(COLUMNS) else None


def _cells(line: tuple[int, str], delimiter: str, name: str) -> list[str]:
    return split_lines([line[1]], delimiter, line[0], name=name)[0]


def _plain(header: str) -> str:
    """A header without its case, blanks and brackets: ``Width (mm)`` is ``width_mm``."""
    return re.sub(r"[^a-z]+", "_", safe(header).lower()).strip("_")


def _wanted() -> str:
    return f"Give it a first row with the columns {', '.join(COLUMNS)}."
