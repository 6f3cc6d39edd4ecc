"""Lists of pieces and of blanks for a cut plan: checked rows, problems by row, what is asked."""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, TypeVar

from stockroom.core.cutting.request import Blank, CutPiece
from stockroom.intake.list_columns import UNITS, Column
from stockroom.intake.list_rows import Cell, ListRow, Side
from stockroom.intake.list_values import bad, split_side, whole, yes_or_no
from stockroom.intake.lists import Kind, Listed, read_list
from stockroom.text import safe
from stockroom.units import length_dmm, number

LARGEST_FIGURE = 10**15
"""Largest cost or value taken (our choice)."""

T = TypeVar("T")
CutRow = tuple[str, T]
"""A piece or blank, beside its material as written; "" where the list names none."""


def _side_dmm(cell: Cell) -> int:
    bare, typed = split_side(cell)
    unit = typed or cell.unit or cell.row.setting.unit
    if not unit:
        cell.row.sides.append(Side("", 0))
        unit = "mm"
    dmm = length_dmm(f"{bare} {unit}")
    exact = number(bare, "a length") * {"mm": 10, "cm": 100, "m": 10_000, "in": 254}[unit]
    if unit != "in" and exact != dmm:
        raise bad(cell, "finer than can be cut", "Tenths of a millimetre are planned.", "Round it.")
    return dmm


def _figure(text: str) -> int:
    """Return a cost or value in hundredths, so that cents stay whole: 1 mm2 is 100 dmm2 too."""
    value = number(text, "a figure") * 100
    if value < 0 or value > LARGEST_FIGURE:
        raise bad(text, "not taken", "Zero or more is wanted.", "Type it like 129.90.")
    return round(value)


def _kind(code: str, **columns: Column) -> Kind:
    sides = {
        f"{side}_dmm": Column(
            side, _side_dmm, needed=f"The {side} is missing. Type it like 1200.", units=UNITS
        )
        for side in ("width", "height")
    }
    return Kind(
        name="cut list",
        columns={"code": Column(code), **sides, **columns, "material": Column("material")},
        needed=tuple(sides),
        unheaded=(
            "None of its first rows has columns for width and height.",
            "Write a first row like: code,width_mm,height_mm,count.",
        ),
        empty=("", "Write a row for each size."),
    )


_COUNT = "count, quantity, qty, number, pcs"
PIECES = _kind(
    "code, piece, name",
    count=Column(_COUNT, whole(1, None, "Type 4.")),
    turn=Column("turn, may_turn", yes_or_no),
    value=Column("value, worth", _figure),
    group=Column("group, from_one_sheet"),
)
BLANKS = _kind(
    "code, blank, name",
    count=Column(_COUNT, whole(0, None, "Leave it empty for no limit.")),
    cost=Column("cost, price", _figure),
    trimmed=Column("trim, trimmed", yes_or_no),
)


def read_pieces(
    data: bytes, *, name: str, unit: str | None = None, turn: bool = True
) -> Listed[CutRow[CutPiece]]:
    """Return the pieces of a list; parameters and errors as `read_list`.

    Parameters
    ----------
    turn : bool
        Whether pieces may turn where the list does not say.
    """
    rules = partial(_made, CutPiece, {"count": 1, "turn": turn, "group": ""})
    return read_list(data, name, PIECES, rules, unit=unit, asks=partial(_asks, name))


def read_blanks(data: bytes, *, name: str, unit: str | None = None) -> Listed[CutRow[Blank]]:
    """Return the blanks of a list; parameters and errors as `read_list`.

    An empty count is without limit, an empty cost is the area, an empty trim is yes.
    """
    rules = partial(_made, Blank, {"trimmed": True})
    return read_list(data, name, BLANKS, rules, unit=unit, asks=partial(_asks, name))


def _made(make: Callable[..., T], empty: dict[str, Any], row: ListRow) -> CutRow[T] | None:
    """Return a piece or blank, with what stands for its empty cells."""
    for name, value in {"code": f"line {row.line}", "material": "", **empty}.items():
        row.said[name] = value if row.said[name] is None else row.said[name]
    material = str(row.said.pop("material"))
    return None if row.problems else (material, make(**row.said))


def _asks(name: str, rows: Sequence[ListRow]) -> tuple[str, ...]:
    plain = [row.line for row in rows if row.plain]
    if not plain:
        return ()
    return (
        f"In which unit are the sizes of {safe(name)}? Line {plain[0]} names none. Say --unit "
        f"{', '.join(UNITS[:-1])} or {UNITS[-1]}, or call the columns width_mm and height_mm.",
    )
