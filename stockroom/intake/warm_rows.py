"""A maker's warm-up table to checked rows, or the problems by row."""

from collections.abc import Callable
from functools import partial
from math import ceil

from stockroom.errors import ImportProblem, Problem
from stockroom.intake.list_columns import Column
from stockroom.intake.list_rows import ListRow
from stockroom.intake.lists import Kind, read_list
from stockroom.plain_files import shown_name
from stockroom.units import number

WarmRow = tuple[int, int, int, int]
"""Width and length (dmm), hundredths of °C, minutes."""


def _figure(words: str, what: str, scale: int) -> Column:
    """Return a column of figures, kept as whole numbers; part of a minute is one more to wait."""

    def read(text: str) -> int:
        value = number(text.replace("\u2212", "-"), what) * scale
        return ceil(value) if words == "hours" else round(value)

    return Column(words, read, needed="a cell is missing")


WARM = Kind(
    name="warm-up table",
    columns={
        "width_dmm": _figure("width_mm", "a width in mm", 10),
        "length_dmm": _figure("length_m", "a length in m", 10_000),
        "from_centi_c": _figure("from_c", "a temperature in °C", 100),
        "minutes": _figure("hours", "a number of hours", 60),
    },
    needed=("width_dmm", "length_dmm", "from_centi_c", "minutes"),
    unheaded=(
        "Missing, or there twice: {missing}.",
        "Give it a first row with the columns width_mm, length_m, from_c, hours.",
    ),
    empty=(" of times", "Write one row for each size and cold."),
)


def read_warm_rows(data: bytes, name: str, fault_of: Callable[[WarmRow], str]) -> list[WarmRow]:
    """Return the rows of a warm-up table, from CSV text or a workbook.

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
    listed = read_list(data, name, WARM, partial(_whole_row, fault_of, {}))
    if listed.problems:
        raise ImportProblem(
            f"{shown_name(name)} was not taken in.",
            try_="Set right what is named; nothing of it was stored.",
            problems=listed.problems,
        )
    return list(listed.rows)


def _whole_row(
    fault_of: Callable[[WarmRow], str], seen: dict[tuple[int, ...], int], row: ListRow
) -> WarmRow | None:
    if row.problems:
        return None
    width_dmm, length_dmm, from_centi_c, minutes = row.said.values()
    found = (width_dmm, length_dmm, from_centi_c, minutes)
    fault = fault_of(found)
    if not fault and seen.setdefault(found[:3], minutes) != minutes:
        fault = "other hours than an earlier row of the same size and cold"
    if fault:
        row.problems.append(Problem(row.line, fault))
    return found
