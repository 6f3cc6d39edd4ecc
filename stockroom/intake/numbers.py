"""Numbers with a unit sign or without, many cells at once."""

import re

import numpy as np
from numpy.typing import NDArray

from stockroom.intake.shapes import Cells, number

Floats = NDArray[np.float64]

NUMBER = re.compile(
    r"([+\-\u2212]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)(?:e[+-]?[0-9]{1,3})?)"
    r" ?(?:(?:°|º|deg ?)?([cf])|%? ?(?:rh)?)?",
    re.ASCII | re.IGNORECASE,
)
_PLAIN = re.compile(r"([+-])?([0-9]*)(?:[.,]([0-9]*))?")
_MOST_DIGITS = 15
"""Digits up to which a number and its power of ten are exact in a float, and so is their ratio's
rounding (IEEE 754 double)."""


def is_number(cell: str) -> bool:
    """Return whether a cell is one number, with a unit sign or without.

    >>> is_number("-4,5 °C"), is_number("55 %"), is_number("1.234,5")
    (True, True, False)
    """
    return NUMBER.fullmatch(cell) is not None


def value_of(found: re.Match[str]) -> float:
    """Return the number of a cell that `NUMBER` fits, NaN where it is beyond all floats."""
    value = float(found[1].replace(",", ".").replace("\u2212", "-"))
    return value if np.isfinite(value) else np.nan


def read_numbers(cells: Cells, letter: str) -> Floats:
    """Return the numbers in cells, NaN where there is none or it has another unit.

    Parameters
    ----------
    letter : str
        C or F: the unit that a cell may carry.

    >>> read_numbers(Cells.of(["4,5", "-18.0 °C", "x", "40 °F"]), "C").tolist()
    [4.5, -18.0, nan, nan]
    """
    values = np.full(len(cells), np.nan)
    done = np.zeros(len(cells), np.bool_)
    for text, rows, letters in cells.shapes():
        found = NUMBER.fullmatch(text)
        plain = _PLAIN.fullmatch(found[1]) if found else None
        if not plain or len(plain[2] + (plain[3] or "")) > _MOST_DIGITS:
            continue
        done[rows] = True
        if not found or (found[2] or letter).upper() != letter:
            continue
        size = number(letters[plain.start(2) : plain.end(2)])
        decimals = len(plain[3] or "")
        if decimals:
            size = size * 10**decimals + number(letters[plain.start(3) : plain.end(3)])
        values[rows] = size / (-(10.0**decimals) if plain[1] == "-" else 10.0**decimals)
    for row in np.flatnonzero(~done):
        found = NUMBER.fullmatch(cells.text(int(row)))
        if found and (found[2] or letter).upper() == letter:
            values[row] = value_of(found)
    return values
