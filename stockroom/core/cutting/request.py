"""What is to be cut, from what, and on which saw; lengths in tenths of a millimetre."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import checked_length, size_text

MOST_PIECES = 20_000
"""Most pieces of one plan (our choice: beyond it a plan takes minutes and its memory grows)."""


@dataclass(frozen=True, slots=True)
class CutPiece:
    """Pieces of one size that are wanted.

    Attributes
    ----------
    code : str
        What it is called; once in a request.
    count : int
        How many are wanted; at most so many where the most valuable are asked for.
    turn : bool
        Whether it may lie turned by a quarter: not where grain or a picture's direction counts.
    value : int or None
        What one is worth, where the most valuable are asked for; None for its area.
    group : str
        Pieces of one group come from one blank, such as the panels of a polyptych.
    blanks : tuple of str
        The only blanks it may come from; empty for any.
    """

    code: str
    width_dmm: int
    height_dmm: int
    count: int = 1
    turn: bool = True
    value: int | None = None
    group: str = ""
    blanks: tuple[str, ...] = ()

    @property
    def area_dmm2(self) -> int:
        """Its area, dmm2."""
        return self.width_dmm * self.height_dmm

    @property
    def worth(self) -> int:
        """Its value, or its area in dmm2 where none is given."""
        return self.area_dmm2 if self.value is None else self.value

    def fits(self, width_dmm: int, height_dmm: int) -> bool:
        """Whether it fits into a rectangle, turned where it may be."""
        w, h = self.width_dmm, self.height_dmm
        upright = w <= width_dmm and h <= height_dmm
        return upright or (self.turn and h <= width_dmm and w <= height_dmm)


@dataclass(frozen=True, slots=True)
class Blank:
    """Sheets or offcuts of one size that may be cut.

    Attributes
    ----------
    code : str
        What it is called; once in a request.
    width_dmm, height_dmm : int
        Whole, edges included.
    count : int or None
        How many there are; None without limit.
    cost : int or None
        What one costs, in any one unit; None for its area in dmm2.
    trimmed : bool
        Whether its edges are trimmed before anything is cut to size, as a new sheet's are.
    """

    code: str
    width_dmm: int
    height_dmm: int
    count: int | None = 1
    cost: int | None = None
    trimmed: bool = True

    @property
    def area_dmm2(self) -> int:
        """Its area, dmm2."""
        return self.width_dmm * self.height_dmm

    @property
    def price(self) -> int:
        """Its cost, or its area in dmm2 where none is given."""
        return self.area_dmm2 if self.cost is None else self.cost


@dataclass(frozen=True, slots=True)
class Saw:
    """What the saw takes and what it can do.

    Attributes
    ----------
    kerf_dmm : int
        Width of a cut.
    trim_dmm : int
        Taken off each edge of a blank that is trimmed, the width of that cut included.
    longest_dmm : int or None
        Longest cut it makes; None without limit.
    narrowest_dmm : int
        Narrowest piece it holds.
    """

    kerf_dmm: int = 0
    trim_dmm: int = 0
    longest_dmm: int | None = None
    narrowest_dmm: int = 0

    def usable(self, blank: Blank) -> tuple[int, int]:
        """Return the width and height left of a blank inside its trims, dmm; may be below one."""
        trim = self.trim_dmm if blank.trimmed else 0
        return blank.width_dmm - 2 * trim, blank.height_dmm - 2 * trim


@dataclass(frozen=True, slots=True)
class Request:
    """A whole question to the planner, checked when it is made.

    Attributes
    ----------
    pieces : tuple of CutPiece
    blanks : tuple of Blank

    Raises
    ------
    BadValueError
        Where a size, count, cost or value cannot be, a code stands twice, a piece is larger than
        every blank it may come from, or there are too many.
    """

    pieces: tuple[CutPiece, ...]
    blanks: tuple[Blank, ...]
    saw: Saw = field(default_factory=Saw)

    def __post_init__(self) -> None:
        if not self.pieces:
            raise BadValueError("There is nothing to cut.", try_="Name at least one piece.")
        if not self.blanks:
            raise BadValueError("There is nothing to cut from.", try_="Name at least one blank.")
        _once("piece", [piece.code for piece in self.pieces])
        _once("blank", [blank.code for blank in self.blanks])
        _check_saw(self.saw)
        for piece in self.pieces:
            _check_piece(piece, self.saw)
        for blank in self.blanks:
            _check_blank(blank)
        number = sum(piece.count for piece in self.pieces)
        if number > MOST_PIECES:
            raise BadValueError(
                f"{number} pieces are too many for one plan.",
                f"It takes up to {MOST_PIECES}.",
                "Plan a day's work at a time.",
            )


def _once(what: str, codes: Sequence[str]) -> None:
    if "" in codes:
        raise BadValueError(f"A {what} has no code.", try_="Give each a code of its own.")
    twice = [code for code, number in Counter(codes).items() if number > 1]
    if twice:
        raise BadValueError(
            f"The code {safe(twice[0])!r} stands twice among the {what}s.",
            "A plan would not tell them apart.",
            "Give each a code of its own, or one line with a count.",
        )


def _check_saw(saw: Saw) -> None:
    for name, value in (
        ("kerf", saw.kerf_dmm), ("trim", saw.trim_dmm), ("narrowest piece", saw.narrowest_dmm),
    ):  # fmt: skip
        if value < 0:
            raise BadValueError(f"The {name} is below zero.", try_="Zero, or more, is wanted.")
    if saw.longest_dmm is not None:
        checked_length(saw.longest_dmm, "The longest cut")


def _check_piece(piece: CutPiece, saw: Saw) -> None:
    for side in (piece.width_dmm, piece.height_dmm):
        checked_length(side, f"A side of piece {safe(piece.code)}")
    if piece.count < 1:
        raise BadValueError(
            f"Piece {safe(piece.code)} is wanted {piece.count} times.",
            try_="Once, or more often, is wanted.",
        )
    if piece.value is not None and piece.value < 0:
        raise BadValueError(
            f"Piece {safe(piece.code)} has a value below zero.", try_="Zero, or more, is wanted."
        )
    if min(piece.width_dmm, piece.height_dmm) < saw.narrowest_dmm:
        raise BadValueError(
            f"Piece {safe(piece.code)} is too narrow for the saw.",
            f"It measures {size_text(piece.width_dmm, piece.height_dmm)}; the saw holds "
            f"{saw.narrowest_dmm / 10:g} mm or more.",
            "Cut it by hand from an offcut, or have it cut.",
        )


def _check_blank(blank: Blank) -> None:
    for side in (blank.width_dmm, blank.height_dmm):
        checked_length(side, f"A side of blank {safe(blank.code)}")
    if blank.count is not None and blank.count < 0:
        raise BadValueError(
            f"Blank {safe(blank.code)} is there {blank.count} times.",
            try_="Zero, or more, is wanted; leave it empty for as many as it takes.",
        )
    if blank.cost is not None and blank.cost < 0:
        raise BadValueError(
            f"Blank {safe(blank.code)} has a cost below zero.", try_="Zero, or more, is wanted."
        )
