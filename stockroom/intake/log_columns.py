"""Which column of a logger's file holds the temperature of the air, in which unit, and humidity."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from stockroom.errors import ImportProblem, Problem
from stockroom.intake.numbers import NUMBER, value_of
from stockroom.plain_files import shown_name
from stockroom.text import safe

Unit = Literal["°C", "°F"]

_LOOKED_AT = 200
_TEMPERATURE = re.compile(r"temp|[°º] ?[cf]\b|celsius|fahrenheit|deg\.? ?[cf]\b", re.IGNORECASE)
_NOT_THE_AIR = re.compile(
    r"dew|frost|wet.?bulb|heat.?index|alarm|limit|set.?point|\bmin\b|\bmax\b|\bavg\b|\bmkt\b",
    re.IGNORECASE,
)
_HUMIDITY = re.compile(r"humid|(?:^|[^a-z])r\.?h(?:$|[^a-z])|%|feucht", re.IGNORECASE)
_SOMETHING_ELSE = re.compile(
    r"press|hpa|mbar|volt|batt|lux|light|co2|index|\bno\b|\bnr\b|#|count|signal|rssi|serial|door",
    re.IGNORECASE,
)
_SIGNS = {
    "°F": re.compile(r"[°º] ?f|fahrenheit|deg\.? ?f\b", re.IGNORECASE),
    "°C": re.compile(r"[°º] ?c|celsius|deg\.? ?c\b", re.IGNORECASE),
}
# in brackets up to four characters may go before the letter: a degree sign that was garbled
_LONE_LETTER = re.compile(
    r"[(\[](?:[^()\[\]]{0,3}[^()\[\]a-z])?([cf]) ?[)\]]|(?:temp|[,_/ ])([cf])$", re.IGNORECASE
)
_UNIT_CELL = re.compile(r"(?:[°º]|deg\.?)? ?([cf])|(c)elsius|(f)ahrenheit", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class LogRow:
    """A line of a file: its number, its text and its cells."""

    line: int
    text: str
    cells: list[str]

    def cell(self, at: int) -> str:
        """Return a cell, empty where the row is too short."""
        return self.cells[at] if at < len(self.cells) else ""


def temperature_column(
    body: list[LogRow], headers: Sequence[str], times: Sequence[int], name: str
) -> tuple[int, bool, list[Problem]]:
    """Return the column of the temperature, whether its values alone say so, and remarks.

    Raises
    ------
    ImportProblem
        Where no column is one, or several could be and no header tells which.
    """
    free = [i for i in range(len(headers)) if i not in times]
    named = [
        i for i in free if _TEMPERATURE.search(headers[i]) and not _HUMIDITY.search(headers[i])
    ]
    air = [i for i in named if not _NOT_THE_AIR.search(headers[i])]
    if air:
        others = [safe(headers[i], length=60) for i in air[1:]]
        return (
            air[0],
            False,
            [Problem(0, "another temperature was left aside", column=other) for other in others],
        )
    likely = [] if named else [i for i in free if _could_be(body[:_LOOKED_AT], i, headers[i])]
    signed = [i for i in likely if _letters(body[:_LOOKED_AT], i)]
    likely = signed or likely
    shown = [safe(headers[i], length=60) or f"column {i + 1}" for i in likely]
    if len(likely) == 1:
        remark = Problem(0, "taken for the temperature by its values alone", column=shown[0])
        return likely[0], True, [remark]
    if likely:
        raise ImportProblem(
            f"{shown_name(name)} does not say which column is the temperature: line "
            f"{body[0].line}.",
            f"It could be {' or '.join(shown[:4])}.",
            "Name the column Temperature °C (or °F) in the line above the readings.",
            problems=[Problem(body[0].line, "several columns could be the temperature")],
        )
    seen = ", ".join(safe(header, length=30) for header in headers if header)[:200]
    raise ImportProblem(
        f"{shown_name(name)} has no temperature column.",
        f"Its columns are: {seen}." if seen else "No column looks like temperatures.",
        "Name the column Temperature °C (or °F) in the line above the readings.",
    )


def humidity_column(headers: Sequence[str], taken: Sequence[int]) -> int | None:
    """Return the column of relative humidity, or None."""
    for i, header in enumerate(headers):
        if i not in taken and _HUMIDITY.search(header) and not _SOMETHING_ELSE.search(header):
            return i
    return None


def _could_be(body: list[LogRow], at: int, header: str) -> bool:
    if any(word.search(header) for word in (_HUMIDITY, _SOMETHING_ELSE, _NOT_THE_AIR)):
        return False
    cells = [row.cell(at) for row in body]
    found = [match for cell in cells if (match := NUMBER.fullmatch(cell))]
    values = [value_of(match) for match in found]
    if not values or len(values) * 2 < len(cells):
        return False
    if sum("%" in match[0] for match in found) * 2 > len(found):
        return False
    steps = {b - a for a, b in pairwise(values)}
    if len(values) > 2 and steps == {1.0}:
        return False  # a running index
    return sum(1 for value in values if -60 <= value <= 160) * 2 > len(values)


def _letters(body: list[LogRow], at: int) -> Counter[str]:
    """Return how often each unit letter stands beside a number in a column."""
    found = (NUMBER.fullmatch(row.cell(at)) for row in body)
    return Counter(match[2].upper() for match in found if match and match[2])


def unit_of(
    header: str, above: list[LogRow], body: list[LogRow], at: int, name: str
) -> tuple[Unit, str]:
    """Return the unit of the temperature, and what it is known by.

    Its header goes first, then signs in the cells, then a column of units, then the lines above.

    Raises
    ------
    ImportProblem
        Where both units are named and nothing tells which it is.
    """
    found = _named(header)
    if len(found) == 1:
        return found[0], "header"
    letters = _letters(body, at)
    if letters:
        return ("°F" if letters.most_common(1)[0][0] == "F" else "°C"), "cells"
    beside = _units_beside(body)
    if len(beside) == 1:
        return next(iter(beside)), "cells"
    lines = {unit: row.line for row in above for unit in _named_above(row)}
    if not found and not beside and len(lines) < 2:
        return (next(iter(lines)), "header") if lines else ("°C", "assumed")
    line = max(beside.values() or lines.values() or [body[0].line])
    raise ImportProblem(
        f"{shown_name(name)} names both °C and °F: line {line}.",
        "Nothing tells which of them the temperatures are in.",
        "Name the column Temperature °C (or °F) in the line above the readings.",
        problems=[Problem(line, "both °C and °F are named")],
    )


def _signs(text: str) -> list[Unit]:
    units: list[Unit] = ["°C", "°F"]
    return [unit for unit in units if _SIGNS[unit].search(text)]


def _named(header: str) -> list[Unit]:
    found = _signs(header)
    letter = None if found else _LONE_LETTER.search(header)
    return ["°F" if (letter[1] or letter[2]).lower() == "f" else "°C"] if letter else found


def _named_above(row: LogRow) -> list[Unit]:
    """Return the units that a line above the table names; a bare C or F only beside "temp"."""
    found = _signs(row.text)
    if found or "temp" not in row.text.lower():
        return found
    parts = [part.strip() for cell in row.cells for part in cell.split(":")]
    return [unit for part in parts if (unit := _unit_cell(part))]


def _unit_cell(cell: str) -> Unit | None:
    found = _UNIT_CELL.fullmatch(cell)
    if not found:
        return None
    return "°F" if (found[1] or found[2] or found[3]).lower() == "f" else "°C"


def _units_beside(body: list[LogRow]) -> dict[Unit, int]:
    """Return the units in a column that holds nothing else, each with its first line."""
    for at in range(len(body[0].cells)):
        units = [_unit_cell(row.cell(at)) for row in body]
        first: dict[Unit, int] = {}
        for unit, row in zip(units, body, strict=True):
            if unit:
                first.setdefault(unit, row.line)
        if first and None not in units:
            return first
    return {}
