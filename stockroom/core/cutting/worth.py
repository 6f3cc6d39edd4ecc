"""What a leftover is worth to a plan: nothing below a usable size, else by area and what fits."""

from collections.abc import Iterable
from dataclasses import dataclass

from stockroom.core.cutting.request import Blank, CutPiece

PER_MILLE = 1_000


@dataclass(frozen=True, slots=True)
class LeftoverRule:
    """When a leftover is kept, and how its worth grows.

    Attributes
    ----------
    least_side_dmm : int
        A leftover with a shorter side is waste (our choice: 200 mm).
    least_area_dmm2 : int
        A smaller leftover is waste (our choice: 0.12 m2).
    share : int
        Worth of the best leftover in parts per thousand of new material (our choice: 800; in
        trials over twelve periods 600 to 900 bought about the same).
    anyway : int
        The part of it, per thousand, that a leftover has though none of the work fits (our
        choice: 250).
    """

    least_side_dmm: int = 2_000
    least_area_dmm2: int = 12_000_000
    share: int = 800
    anyway: int = 250

    def usable(self, width_dmm: int, height_dmm: int) -> bool:
        """Whether a leftover is worth keeping."""
        return (
            width_dmm >= self.least_side_dmm
            and height_dmm >= self.least_side_dmm
            and width_dmm * height_dmm >= self.least_area_dmm2
        )


@dataclass(frozen=True, slots=True)
class BarRule:
    """When what is left of a bar is kept, and how its worth grows with its length.

    Attributes
    ----------
    least_length_dmm : int
        A shorter leftover is waste (our choice: 400 mm).
    share : int
        Worth of the best leftover in parts per thousand of a new bar's length (our choice: 800).
    anyway : int
        The part of it, per thousand, that the shortest has (our choice: 500); the rest grows with
        its length, so that one long leftover is worth more than two short ones.
    """

    least_length_dmm: int = 4_000
    share: int = 800
    anyway: int = 500

    def usable(self, width_dmm: int, height_dmm: int) -> bool:
        """Whether a leftover is worth keeping; a bar's length lies along its width."""
        return width_dmm >= self.least_length_dmm and height_dmm > 0


Rule = LeftoverRule | BarRule
NOTHING_KEPT = LeftoverRule(share=0)
"""Leftovers count for nothing: the cost of the blanks alone is planned for."""


class Worth:
    """The worth of leftovers of one material, remembered by size.

    ``v(w, h) = p * share * w * h * (anyway + (1 - anyway) * D(w, h))`` where p is the cost of new
    material by area and D the part of the work, by area, whose pieces fit. D never falls when a
    rectangle grows, so two leftovers are never worth more than the one they were cut from, and
    over time what a plan is credited for keeping an offcut it is charged for using it. Of a bar of
    length L, ``v(x) = p * share * x * (anyway + (1 - anyway) * x / L)``.

    Parameters
    ----------
    rule : LeftoverRule or BarRule
    work : iterable of CutPiece
        Known and recent work of this material.
    blanks : iterable of Blank
        New material costs what the cheapest of these costs by area, of those without limit where
        there are any.

    Notes
    -----
    Whole numbers throughout, rounded down, so that every machine agrees.
    """

    def __init__(self, rule: Rule, work: Iterable[CutPiece], blanks: Iterable[Blank]) -> None:
        self.rule = rule
        self._work = [(piece, piece.area_dmm2 * piece.count) for piece in work]
        self._whole = sum(area for _, area in self._work)
        known = list(blanks)
        new = [blank for blank in known if blank.count is None] or known
        cheapest = min(new, key=lambda blank: (blank.price / blank.area_dmm2, blank.code))
        self._cost, self._area = cheapest.price, cheapest.area_dmm2
        self._length = cheapest.width_dmm
        self._known: dict[tuple[int, int], int] = {}

    def of(self, width_dmm: int, height_dmm: int) -> int:
        """Return what a leftover is worth, in the unit of the blanks' cost."""
        size = (width_dmm, height_dmm)
        found = self._known.get(size)
        if found is None:
            found = self._known[size] = self._reckoned(width_dmm, height_dmm)
        return found

    def _reckoned(self, width_dmm: int, height_dmm: int) -> int:
        rule = self.rule
        if not rule.share or not rule.usable(width_dmm, height_dmm):
            return 0
        if isinstance(rule, BarRule):
            whole, length = self._length, min(width_dmm, self._length)
            grown = rule.anyway * whole + (PER_MILLE - rule.anyway) * length
            return self._cost * length * rule.share * grown // (whole * PER_MILLE) ** 2
        fitting = sum(area for piece, area in self._work if piece.fits(width_dmm, height_dmm))
        whole = self._whole or 1
        grown = rule.anyway * whole + (PER_MILLE - rule.anyway) * fitting
        up = self._cost * width_dmm * height_dmm * rule.share * grown
        return up // (self._area * PER_MILLE * PER_MILLE * whole)
