"""Lists of pieces and of blanks for a cut plan: checked rows, problems by row, what is asked."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Generic, TypeVar

from stockroom.core.cutting.request import Blank, Piece
from stockroom.errors import BadValueError, ImportProblem, Problem
from stockroom.intake import stock_values as values
from stockroom.intake.job_values import read_yes, split_side
from stockroom.intake.list_cells import CellReader, cell_text
from stockroom.intake.list_columns import Column, by_word, columns_of
from stockroom.intake.tables import body_of, capped, header_at, read_table
from stockroom.plain_files import shown_name
from stockroom.text import safe
from stockroom.units import length_dmm, number

UNITS = ("mm", "cm", "m", "in")
SIZES = ("width", "height")
LARGEST_FIGURE = 10**15
"""Largest cost or value taken (our choice)."""

_PIECES: dict[str, str] = {
    "code": "code, piece, name",
    "width": "width",
    "height": "height",
    "count": "count, quantity, qty, number, pcs",
    "turn": "turn, may_turn",
    "value": "value, worth",
    "group": "group, from_one_sheet",
    "material": "material",
}
_BLANKS: dict[str, str] = {
    "code": "code, blank, name",
    "width": "width",
    "height": "height",
    "count": "count, quantity, qty, number, pcs",
    "cost": "cost, price",
    "trim": "trim, trimmed",
    "material": "material",
}
_COUNT = re.compile(r"-?[0-9]+(?:[.,]0+)?")

T = TypeVar("T", bound=Piece | Blank)
V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class CutList(Generic[T]):
    """A list of pieces or of blanks as it was understood.

    Attributes
    ----------
    name : str
    rows : tuple of (str, Piece) or (str, Blank)
        Each with its material, as written; "" where the list names none.
    problems : tuple of Problem
        By line; a list with any is not to be planned.
    asks : tuple of str
        What must be said first: the unit of plain sizes.
    ignored_columns : tuple of str
    """

    name: str
    rows: tuple[tuple[str, T], ...]
    problems: tuple[Problem, ...]
    asks: tuple[str, ...]
    ignored_columns: tuple[str, ...]


def read_pieces(
    data: bytes, *, name: str, unit: str | None = None, turn: bool = True
) -> CutList[Piece]:
    """Return the pieces of a list, from CSV text or a workbook.

    Parameters
    ----------
    data : bytes
    name : str
        The file's name, for the words of an error.
    unit : str, optional
        Unit of sizes that name none: mm, cm, m or in.
    turn : bool
        Whether pieces may turn where the list does not say.

    Raises
    ------
    ImportProblem
        Where it cannot be read at all, or has no column of sizes.
    BadValueError
        Where the unit is none of these.
    """

    def piece(reader: "_Row", code: str, width: int, height: int) -> Piece:
        told = reader.said("turn", lambda text, _: read_yes(text))
        value = reader.said("value", _figure)
        return Piece(
            code,
            width,
            height,
            reader.said("count", _count) or 1,
            turn=turn if told is None else told,
            value=value,
            group=reader.text("group"),
        )

    return _read(data, name, unit, _PIECES, piece)


def read_blanks(data: bytes, *, name: str, unit: str | None = None) -> CutList[Blank]:
    """Return the blanks of a list, from CSV text or a workbook; errors as for `read_pieces`.

    An empty count is without limit, an empty cost is the area, an empty trim is yes.
    """

    def blank(reader: "_Row", code: str, width: int, height: int) -> Blank:
        trimmed = reader.said("trim", lambda text, _: read_yes(text))
        return Blank(
            code,
            width,
            height,
            reader.said("count", _count_or_none),
            reader.said("cost", _figure),
            trimmed=trimmed is None or trimmed,
        )

    return _read(data, name, unit, _BLANKS, blank)


class _Row(CellReader):
    """The cells of one row, with the sizes that name no unit noted."""

    def __init__(
        self,
        line: int,
        cells: list[object],
        columns: Sequence[Column],
        width: int,
        unit: str | None,
    ) -> None:

        super().__init__(line, cells, columns, width, None, date.max)  # type: ignore[arg-type]
        self.unit = unit
        self.plain = False

    def said(self, field: str, read: Callable[[str, str], V]) -> V | None:
        """Return a cell's value, None where it is empty or wrong."""
        return self._try(field, read)

    def text(self, field: str) -> str:
        """Return a cell's text."""
        return str(self._try(field, lambda text, _: safe(text)) or "")

    def side(self, field: str) -> int | None:
        """Return a side in dmm."""
        if not self._told(field):
            self._note(field, f"The {field} is missing. Type it like 1200.")
            return None
        return self._try(field, self._side)

    def _side(self, text: str, unit: str) -> int:
        bare, typed = split_side(text)
        named = typed or unit or self.unit
        if not named:
            self.plain = True
            named = "mm"
        dmm = length_dmm(f"{bare} {named}")
        exact = number(bare, "a length") * {"mm": 10, "cm": 100, "m": 10_000, "in": 254}[named]
        if named != "in" and exact != dmm:
            raise values.bad(
                text, "finer than can be cut", "Tenths of a millimetre are planned.", "Round it."
            )
        return dmm

    def close(self) -> None:
        """Note what stands beyond the header."""
        self._note_extra()


def _read(
    data: bytes,
    name: str,
    unit: str | None,
    words: dict[str, str],
    make: "Callable[[_Row, str, int, int], T]",
) -> CutList[T]:
    if unit is not None and unit not in UNITS:
        raise BadValueError(
            f"{safe(unit, length=20)!r} is no unit of a size.",
            "A cut list holds lengths.",
            f"Say one of: {', '.join(UNITS)}.",
        )
    fields = by_word(words)

    def known(headers: list[str]) -> set[str]:
        return {column.field for column in columns_of(headers, fields, SIZES)[0]}

    source = read_table(data, name, known, "width")
    at = header_at(source.rows, known, "width")
    headers = [] if at is None else [cell_text(value) for value in source.rows[at][1]]
    if at is None or not {"width", "height"} <= known(headers):
        raise ImportProblem(
            f"{shown_name(name)} has no header of a cut list.",
            "None of its first rows has columns for width and height.",
            "Write a first row like: code,width_mm,height_mm,count.",
        )
    columns, doubled, unknown = columns_of(headers, fields, SIZES)
    problems = [*source.problems]
    problems += [
        Problem(source.rows[at][0], f"a second column for {c.field}; the first is read", c.header)
        for c in doubled
    ]
    rows: list[tuple[str, T]] = []
    plain: list[int] = []
    for line, cells in body_of(source.rows, at):
        reader = _Row(line, list(cells), columns, len(headers), unit)
        width, height = reader.side("width"), reader.side("height")
        code, material = reader.text("code") or f"line {line}", reader.text("material")
        made = make(reader, code, width or 1, height or 1)
        reader.close()
        problems += reader.problems
        if reader.plain:
            plain.append(line)
        if not reader.problems:
            rows.append((material, made))
    if not rows and not problems:
        raise ImportProblem(
            f"{shown_name(name)} has no rows.",
            "Nothing stands below its header.",
            "Write a row for each size.",
        )
    asks: tuple[str, ...] = ()
    if plain:
        asks = (
            f"In which unit are the sizes of {safe(name)}? Line {plain[0]} names none. Say --unit "
            f"{', '.join(UNITS[:-1])} or {UNITS[-1]}, or call the columns width_mm and height_mm.",
        )
    ignored = (*unknown, *(column.header for column in doubled))
    return CutList(safe(name), tuple(rows), capped(problems, "problems"), asks, ignored)


def _count(text: str, unit: str) -> int:
    if not _COUNT.fullmatch(text) or int(number(text)) < 1:
        raise values.bad(text, "not a count", "A whole number from 1 is wanted.", "Type 4.")
    return int(number(text))


def _count_or_none(text: str, unit: str) -> int:
    if not _COUNT.fullmatch(text) or int(number(text)) < 0:
        raise values.bad(
            text, "not a count", "A whole number is wanted.", "Leave it empty for no limit."
        )
    return int(number(text))


def _figure(text: str, unit: str) -> int:
    """A cost or value in hundredths, so that cents stay whole: 1 mm2 is 100 dmm2 too."""
    value = number(text, "a figure") * 100
    if value < 0 or value > LARGEST_FIGURE:
        raise values.bad(text, "not taken", "Zero or more is wanted.", "Type it like 129.90.")
    return round(value)
