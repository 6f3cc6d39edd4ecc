"""Cells of one column as letters in rows, so that cells of one shape are read all at once."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Letters = NDArray[np.uint8]

WIDEST = 64
"""Longest cell read by its shape, letters; longer ones are looked at one by one (our choice)."""
MOST_SHAPES = 48
"""Shapes of one column of one block; cells of further ones are looked at one by one (our choice:
a log has a handful)."""

_ZERO, _QUOTE, _LINE_FEED = ord("0"), ord('"'), ord("\n")
_KIND = np.arange(256, dtype=np.uint8)
_KIND[ord("0") : ord("9") + 1] = _ZERO
_KIND[[ord(letter) for letter in "ap"]] = ord("A")
_KIND[[ord(letter) for letter in "AP"]] = ord("A")


@dataclass(frozen=True, slots=True, eq=False)
class Cells:
    """Cells of a column.

    Attributes
    ----------
    letters : uint8 array (n, w)
        A row of Latin-1 letters for each cell, zero after its end; w is a multiple of 8.
    words : sequence of str or None
        The same cells as text, where they came as such: letters cannot say all of them.
    """

    letters: Letters
    words: Sequence[str] | None = None

    def __len__(self) -> int:
        return len(self.letters)

    def text(self, row: int) -> str:
        """Return one cell, blanks around it taken off."""
        if self.words is not None:
            return self.words[row].strip()
        letters: Letters = self.letters[row]
        return letters[letters > 0].tobytes().decode("latin-1").strip()

    @staticmethod
    def of(words: Sequence[str]) -> "Cells":
        """Return cells given as text.

        >>> Cells.of(["4.5", "-18"]).text(1)
        '-18'
        """
        # what letters cannot hold gets one that stands in no pattern, and is so left to its text
        short = [word if len(word) <= WIDEST else "?" for word in words]
        buffer = np.frombuffer("\n".join([*short, ""]).encode("latin-1", "replace"), np.uint8)
        ends = np.flatnonzero(buffer == _LINE_FEED)
        starts = np.concatenate([[0], ends[:-1] + 1]) if len(ends) else ends
        return Cells(_rows(buffer, starts, ends), words)

    @staticmethod
    def beside(columns: "Sequence[Cells]") -> "Cells":
        """Return the cells of several columns as one, with a blank between them."""
        if len(columns) == 1:
            return columns[0]
        blank = np.zeros((len(columns[0]), 8), np.uint8)
        blank[:, 0] = ord(" ")
        parts = [part for column in columns for part in (column.letters, blank)]
        words = [column.words for column in columns if column.words is not None]
        joined = [" ".join(row) for row in zip(*words, strict=True)] if words else None
        return Cells(np.concatenate(parts[:-1], axis=1), joined)

    def shapes(self) -> Iterator[tuple[str, Ints, Letters]]:
        """Yield groups of cells that differ in their digits and in A or P alone.

        Yields
        ------
        text : str
            The first cell of the group: where a pattern fits it, it fits all of them alike.
        rows : int64 array (k,)
            Which cells they are; whatever is never yielded has to be looked at one by one.
        letters : uint8 array (len(text), k)
            For each letter of the text, that letter of each cell.
        """
        keys = np.take(_KIND, self.letters).view(np.uint64)
        left = np.arange(len(self))
        letters = self.letters
        for _ in range(MOST_SHAPES):
            if not len(left):
                return
            same = keys[:, 0] == keys[0, 0]
            for place in range(1, keys.shape[1]):
                same &= keys[:, place] == keys[0, place]
            text, places = _stripped(letters[0])
            if same.all():
                yield text, left, letters[:, places].T
                return
            yield text, left[same], letters[same][:, places].T
            left, keys, letters = left[~same], keys[~same], letters[~same]


def _stripped(letters: Letters) -> tuple[str, slice | NDArray[np.intp]]:
    """Return the text of one cell without the blanks around it, and where its letters stand."""
    places = np.flatnonzero(letters)
    whole = letters[places].tobytes().decode("latin-1")
    text = whole.strip()
    at = len(whole) - len(whole.lstrip())
    places = places[at : at + len(text)]
    if len(places) and places[-1] - places[0] + 1 == len(places):
        return text, slice(int(places[0]), int(places[-1]) + 1)  # a view, not a copy
    return text, places


def _rows(buffer: Letters, starts: Ints, ends: Ints) -> Letters:
    """Return a row of letters for each span of a buffer, zero after its end."""
    length = ends - starts
    width = max(8, -(-int(length.max(initial=0)) // 8) * 8)
    padded = np.concatenate([buffer, np.zeros(width, np.uint8)])
    # one value of `width` letters at each place: taken whole, far faster than letter by letter
    spans = np.ndarray((len(buffer) + 1,), f"V{width}", padded, strides=(1,))
    letters = spans[starts].view(np.uint8).reshape(-1, width)
    shortest = int(length.min(initial=width))
    letters[:, shortest:][np.arange(shortest, width) >= length[:, np.newaxis]] = 0
    return letters


def number(letters: Letters) -> Ints:
    """Return the whole numbers that digits make, one for each column of letters.

    >>> number(np.array([[49, 50], [48, 57]], np.uint8)).tolist()
    [10, 29]
    """
    # letters are summed as they are, and their zeros taken off at the end
    small = len(letters) <= 8
    value: NDArray[np.signedinteger[Any]]
    value = np.zeros(letters.shape[1], np.int32 if small else np.int64)
    for digits in letters:
        value *= 10
        value += digits
    whole: Ints = value.astype(np.int64)
    whole -= _ZERO * ((10 ** len(letters) - 1) // 9)
    return whole


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """The cells of a block of lines that all have the same number of cells."""

    buffer: Letters
    starts: Ints
    ends: Ints

    def column(self, at: int) -> Cells | None:
        """Return one column, or None where there is none or a cell is too long for it."""
        if at >= self.starts.shape[1]:
            return None
        starts, ends = self.starts[:, at], self.ends[:, at]
        if np.any(ends - starts > WIDEST):
            return None
        return Cells(_rows(self.buffer, starts, ends))


def grid(block: str, delimiter: str, width: int) -> Grid | None:
    """Return the cells of a block of lines, or None where it is not that simple.

    Simple is a block of Latin-1 text in which each line has `width` cells, and quotes only stand
    around whole cells that hold no delimiter.

    >>> found = grid('a;"bc"', ";", 2)
    >>> found.column(1).text(0) if found else None
    'bc'
    >>> grid("a;b;c", ";", 2)
    """
    try:
        data = f"{block}\n".encode("latin-1")
    except UnicodeEncodeError:
        return None
    buffer = np.frombuffer(data, np.uint8)
    marks = np.flatnonzero((buffer == ord(delimiter)) | (buffer == _LINE_FEED))
    if len(marks) % width:
        return None
    ends = marks.reshape(-1, width)
    if not (len(ends) == data.count(b"\n") and np.all(buffer[ends[:, -1]] == _LINE_FEED)):
        return None
    starts = np.concatenate([[0], marks[:-1] + 1]).reshape(-1, width)
    if b'"' in data:
        quotes = np.flatnonzero(buffer == _QUOTE)
        quoted = buffer[starts] == _QUOTE
        if not np.array_equal(quotes, np.stack([starts[quoted], ends[quoted] - 1], 1).ravel()):
            return None
        starts, ends = starts + quoted, ends - quoted
    return Grid(buffer, starts, ends)
