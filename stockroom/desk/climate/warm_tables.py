"""A maker's warm-up table: looked at in a file, and written down whole in place of the last."""

from collections.abc import Sequence
from typing import Any

from stockroom.core.records import Material, WarmTime
from stockroom.desk.climate.warming import standing_rows
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import BadValueError, RefusedError
from stockroom.text import safe
from stockroom.units import COLDEST_CENTI_C, LONGEST_DMM, count_of, mm_text

WIDEST_DMM = 50_000
"""Widest roll that a table may tell of, dmm: 5 m (our choice)."""
WARMEST_FROM_CENTI_C = 2_500
"""A roll that comes from a warmer place has nothing to warm up to (our choice)."""
LONGEST_MINUTES = 14 * 24 * 60
"""Longest wait that a table may tell, minutes: a fortnight (our choice)."""
MOST_ROWS = 500
"""Most rows of one table (our choice; a maker's sheet has a dozen)."""
Row = tuple[int, int, int, int]
"""Width and length (dmm), the place it comes from (hundredths of °C), minutes."""


def set_warm_table(
    desk: Desk, material: str, rows: Sequence[Row], source: str, *, key: str | None = None
) -> Done:
    """Write down a maker's whole warm-up table; the one before it no longer stands.

    Parameters
    ----------
    material : str
        Code or name of a paper or film.
    rows : sequence of (width_dmm, length_dmm, from_centi_c, minutes)
        A roll no larger and no colder than a row waits so long.
    source : str
        Where it is from, such as the maker's data sheet and its date.

    Raises
    ------
    BadValueError
        Where there is no row or source, or a figure cannot be.
    RefusedError
        Where the material is neither paper nor film.
    """
    named = safe(source)
    if not named:
        raise BadValueError(
            "A warm-up table needs its source.",
            "Without it nobody can tell later whose hours these are.",
            "Name the maker's sheet, with its date.",
        )
    if not 0 < len(rows) <= MOST_ROWS:
        raise BadValueError(
            f"A warm-up table has from 1 to {MOST_ROWS} rows, not {len(rows)}.",
            try_="To have none again, undo the act that brought it.",
        )
    told: dict[tuple[int, int, int], int] = {}
    for number, row in enumerate(rows, start=1):
        fault = row_fault(row)
        if fault:
            raise BadValueError(
                f"Row {number}: {fault}.", try_="Look the row up on the maker's sheet again."
            )
        if told.setdefault(row[:3], row[3]) != row[3]:
            raise BadValueError(
                f"Row {number} tells other hours than an earlier row of the same size and cold.",
                try_="Keep the row that the sheet has.",
            )
    named_rows = [(*size, minutes) for size, minutes in told.items()]

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Material, material)
        if not found.traits.warming_known:
            raise RefusedError(
                f"{found.name} is neither paper nor film.",
                "How anything else warms up is not reckoned, so its table would not be read.",
                "Look at the material's name; leave it shut for as long as its maker says.",
            )
        before = standing_rows(everything(decision.view, WarmTime), found.code)
        stand = f"{count_of(len(named_rows), 'row')} stand now, from {named}."
        decision.notes.append(f"{found.name}: {stand}")
        if before:
            gone = f"{count_of(len(before), 'row')} from {before[0].source} no longer stand."
            decision.notes.append(gone)
        fields = ("width_dmm", "length_dmm", "from_centi_c", "minutes")
        return {
            "material": found.code,
            "source": named,
            "rows": [
                {"code": decision.head.born(), **dict(zip(fields, row, strict=True))}
                for row in named_rows
            ],
        }

    request = {"material": material, "rows": [list(row) for row in named_rows], "source": named}
    return desk.act("warm table", request, build, key=key, reason=named)


def row_fault(row: Row) -> str:
    """Return what cannot be in a row of a warm-up table; "" where all of it can.

    >>> row_fault((12_700, 500_000, -1_800, 600)), row_fault((12_700, 500_000, -1_800, 0))
    ('', 'a wait is above zero and at most 336 h')
    """
    width_dmm, length_dmm, from_centi_c, minutes = row
    if not 0 < width_dmm <= WIDEST_DMM:
        return f"a width is above zero and at most {mm_text(WIDEST_DMM)}"
    if not 0 < length_dmm <= LONGEST_DMM:
        return "a length is above zero and at most 10 km"
    if not COLDEST_CENTI_C <= from_centi_c <= WARMEST_FROM_CENTI_C:
        return (
            f"a cold place is from {COLDEST_CENTI_C / 100:g} to {WARMEST_FROM_CENTI_C / 100:g} °C"
        )
    if not 0 < minutes <= LONGEST_MINUTES:
        return f"a wait is above zero and at most {LONGEST_MINUTES // 60} h"
    return ""


def warm_table(desk: Desk, said: str) -> tuple[Material, list[WarmTime]]:
    """Return a material and the rows of the table that stands for it."""
    with desk.reading() as view:
        material = find(view, Material, said)
        return material, standing_rows(everything(view, WarmTime), material.code)


def look_at_warm_table(data: bytes, name: str) -> list[Row]:
    """Return the rows of a maker's table in CSV text or a workbook, storing nothing.

    Raises
    ------
    ImportProblem
        Where it cannot be read, with the problems by row.
    """
    from stockroom.intake.warm_rows import read_warm_rows

    return read_warm_rows(data, name, row_fault)
