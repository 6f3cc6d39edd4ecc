"""The checker of cut plans: whole numbers only, and no code shared with the planner.

It looks at each plan twice: down the tree of cuts, and again from the places of the parts alone,
as if there were no tree.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from stockroom.core.cutting.edges import Trims
from stockroom.core.cutting.request import Blank, CutPiece, Request
from stockroom.core.cutting.tree import Node, Part
from stockroom.core.cutting.worth import BarRule, Rule

Opened = tuple[str, Trims, Node]
"""A blank's code, its trims, and the tree of what lies inside them."""


@dataclass(frozen=True, slots=True)
class Box:
    """A part as it lies on the whole blank, dmm: what it is, from where to where."""

    part: Part
    x: int
    y: int
    x_end: int
    y_end: int


def faults_of(
    request: Request,
    opened: Sequence[Opened],
    left_out: Iterable[tuple[str, int]],
    cost: int,
    leftover_value: int,
    rule: Rule,
    work: Sequence[CutPiece],
) -> list[str]:
    """Return what is wrong with a plan, a sentence each; nothing where it is sound.

    Parameters
    ----------
    opened : sequence of (str, Trims, Cut or Part)
        The blanks in use.
    left_out : iterable of (str, int)
        Pieces that have no place, and how many.
    cost, leftover_value : int
        As the plan states them.
    rule : LeftoverRule or BarRule
    work : sequence of CutPiece
        The work that leftovers were valued by.
    """
    faults: list[str] = []
    blanks = {blank.code: blank for blank in request.blanks}
    pieces = {piece.code: piece for piece in request.pieces}
    taken = Counter(code for code, _, _ in opened)
    for code, number in taken.items():
        if code not in blanks:
            return [f"Blank {code} is not among those there are."]
        there = blanks[code].count
        if there is not None and number > there:
            faults.append(f"Blank {code} is cut {number} times and there are {there}.")
    placed: Counter[str] = Counter()
    groups: dict[str, set[int]] = {}
    value = 0
    for at, (code, trims, tree) in enumerate(opened):
        blank = blanks[code]
        one = _Blank(request, blank, trims, rule)
        faults += [f"On blank {code}: {fault}" for fault in one.faults(tree, pieces)]
        for box in one.boxes:
            if box.part.what == "piece" and box.part.code in pieces:
                placed[box.part.code] += 1
                groups.setdefault(pieces[box.part.code].group, set()).add(at)
            elif box.part.what == "offcut":
                value += _worth(box.part, rule, work, request.blanks)
    faults += _demand(pieces, placed, left_out)
    faults += [
        f"The pieces of {group} lie on {len(on)} blanks and belong on one."
        for group, on in groups.items()
        if group and len(on) > 1
    ]
    spent = sum(_price(blanks[code]) for code, _, _ in opened)
    if spent != cost:
        faults.append(f"The blanks cost {spent}, and the plan says {cost}.")
    if value != leftover_value:
        faults.append(f"The offcuts are worth {value}, and the plan says {leftover_value}.")
    return faults


def _demand(
    pieces: dict[str, CutPiece], placed: Counter[str], left_out: Iterable[tuple[str, int]]
) -> Iterator[str]:
    out = dict(left_out)
    for code in out:
        if code not in pieces:
            yield f"Piece {code} is left out and nobody wants it."
    for code, piece in pieces.items():
        have = placed[code] + out.get(code, 0)
        if have != piece.count:
            yield f"Piece {code} is wanted {piece.count} times and accounted for {have} times."


def _price(blank: Blank) -> int:
    return blank.width_dmm * blank.height_dmm if blank.cost is None else blank.cost


def _worth(part: Part, rule: Rule, work: Sequence[CutPiece], blanks: Sequence[Blank]) -> int:
    """The worth of an offcut by the published formula, in fractions and rounded down once."""
    if not rule.share or not _keepable(part.width_dmm, part.height_dmm, rule):
        return 0
    new = [blank for blank in blanks if blank.count is None] or list(blanks)
    by_area = {(Fraction(_price(b), b.width_dmm * b.height_dmm), b.code): b for b in new}
    price, code = min(by_area)
    if isinstance(rule, BarRule):
        bar = by_area[price, code]
        part_of = min(Fraction(1), Fraction(part.width_dmm, bar.width_dmm))
        steady = Fraction(rule.anyway, 1000)
        paid = _price(bar) * part_of * Fraction(rule.share, 1000)
        exact = paid * (steady + (1 - steady) * part_of)
        return exact.numerator // exact.denominator
    whole = sum(p.width_dmm * p.height_dmm * p.count for p in work)
    served = sum(
        p.width_dmm * p.height_dmm * p.count
        for p in work
        if (p.width_dmm <= part.width_dmm and p.height_dmm <= part.height_dmm)
        or (p.turn and p.height_dmm <= part.width_dmm and p.width_dmm <= part.height_dmm)
    )
    anyway = Fraction(rule.anyway, 1000)
    grown = anyway + (1 - anyway) * Fraction(served, whole or 1)
    exact = price * part.width_dmm * part.height_dmm * Fraction(rule.share, 1000) * grown
    return exact.numerator // exact.denominator


def _keepable(width: int, height: int, rule: Rule) -> bool:
    if isinstance(rule, BarRule):
        return width >= rule.least_length_dmm and height > 0
    return min(width, height) >= rule.least_side_dmm and width * height >= rule.least_area_dmm2


class _Blank:
    """One blank under the checker's eye."""

    def __init__(self, request: Request, blank: Blank, trims: Trims, rule: Rule) -> None:
        self.saw = request.saw
        self.kerf = request.saw.kerf_dmm
        self.blank = blank
        self.trims = trims
        self.rule = rule
        self.boxes: list[Box] = []
        self.sawn = 0

    def faults(self, tree: Node, pieces: dict[str, CutPiece]) -> list[str]:
        """Return all faults of this blank; its parts stand in `boxes` afterwards."""
        trims, blank = self.trims, self.blank
        width = blank.width_dmm - trims.left_dmm - trims.right_dmm
        height = blank.height_dmm - trims.bottom_dmm - trims.top_dmm
        found = list(self._down(tree, trims.left_dmm, trims.bottom_dmm, width, height))
        for box in self.boxes:
            found += self._part(box, pieces)
        found += self._edges()
        parts = sum((b.x_end - b.x) * (b.y_end - b.y) for b in self.boxes)
        whole = blank.width_dmm * blank.height_dmm
        trimmed = whole - width * height
        if trimmed + parts + self.sawn != whole:
            lost = whole - trimmed - parts - self.sawn
            found.append(f"{lost} dmm2 of it are nowhere.")
        found += self._apart()
        useful = [box for box in self.boxes if box.part.what != "waste"]
        if not separable(useful, self.kerf):
            found.append("its parts cannot be had by cuts from edge to edge.")
        return found

    def _down(self, node: Node, x: int, y: int, width: int, height: int) -> Iterator[str]:
        if (node.width_dmm, node.height_dmm) != (width, height):
            yield (
                f"a part of {node.width_dmm} x {node.height_dmm} dmm stands where "
                f"{width} x {height} are."
            )
        if isinstance(node, Part):
            self.boxes.append(Box(node, x, y, x + node.width_dmm, y + node.height_dmm))
            return
        upright = node.axis == "x"
        whole, length = (width, height) if upright else (height, width)
        if not 0 < node.at_dmm < whole:
            yield f"a cut at {node.at_dmm} dmm is not inside {whole}."
        if self.saw.longest_dmm is not None and length > self.saw.longest_dmm:
            yield f"a cut of {length} dmm is longer than the saw's {self.saw.longest_dmm}."
        rest = whole - node.at_dmm - self.kerf
        self.sawn += min(self.kerf, whole - node.at_dmm) * length
        if upright:
            yield from self._down(node.low, x, y, node.at_dmm, height)
        else:
            yield from self._down(node.low, x, y, width, node.at_dmm)
        if (rest > 0) != (node.high is not None):
            yield f"what lies beyond a cut at {node.at_dmm} dmm is not told as it is."
        if node.high is not None:
            beyond = node.at_dmm + self.kerf
            if upright:
                yield from self._down(node.high, x + beyond, y, rest, height)
            else:
                yield from self._down(node.high, x, y + beyond, width, rest)

    def _part(self, box: Box, pieces: dict[str, CutPiece]) -> Iterator[str]:
        part = box.part
        width, height = box.x_end - box.x, box.y_end - box.y
        if part.what == "piece":
            piece = pieces.get(part.code)
            if piece is None:
                yield f"piece {part.code} is on it and nobody wants it."
                return
            size = (piece.width_dmm, piece.height_dmm)
            if part.turned and not piece.turn:
                yield f"piece {part.code} is turned and may not be."
            if (width, height) != (size[::-1] if part.turned else size):
                yield f"piece {part.code} does not have its size."
            if piece.blanks and self.blank.code not in piece.blanks:
                yield f"piece {part.code} may not come from it."
            if min(size) < self.saw.narrowest_dmm:
                yield f"piece {part.code} is narrower than the saw holds."
        elif (part.what == "offcut") != _keepable(*self._inside(box), self.rule):
            yield f"a rest of {width} x {height} dmm is wrongly {part.what}."

    def _inside(self, box: Box) -> tuple[int, int]:
        """The size of what of a box lies inside the trims that its blank would have."""
        trim = self.saw.trim_dmm if self.blank.trimmed else 0
        return (
            min(box.x_end, self.blank.width_dmm - trim) - max(box.x, trim),
            min(box.y_end, self.blank.height_dmm - trim) - max(box.y, trim),
        )

    def _edges(self) -> Iterator[str]:
        """Parts of use lie inside the trims, and each edge is trimmed whole or not at all."""
        trim = self.saw.trim_dmm if self.blank.trimmed else 0
        for taken in (
            self.trims.left_dmm, self.trims.bottom_dmm, self.trims.right_dmm, self.trims.top_dmm,
        ):  # fmt: skip
            if taken not in (0, trim):
                yield f"an edge is trimmed by {taken} dmm and not by {trim}."
        for box in self.boxes:
            if box.part.what != "waste" and (
                box.x < trim
                or box.y < trim
                or box.x_end > self.blank.width_dmm - trim
                or box.y_end > self.blank.height_dmm - trim
            ):
                yield f"{box.part.what} {box.part.code} lies outside its usable part."

    def _apart(self) -> Iterator[str]:
        """Every two parts are at least one kerf apart, side by side or one above the other."""
        kerf = self.kerf
        for at, one in enumerate(self.boxes):
            for other in self.boxes[at + 1 :]:
                aside = one.x_end + kerf <= other.x or other.x_end + kerf <= one.x
                above = one.y_end + kerf <= other.y or other.y_end + kerf <= one.y
                if not (aside or above):
                    yield f"{one.part.what} {one.part.code} and another lie too close."


def separable(boxes: Sequence[Box], kerf: int) -> bool:
    """Whether parts can be had by cuts from edge to edge, told from their places alone.

    Any part of a pattern that can be had so can itself be had so; the first cut that is found is
    therefore safe to take.

    Parameters
    ----------
    boxes : sequence of Box
    kerf : int
        Width of a cut, dmm.
    """
    waiting = [list(boxes)]
    while waiting:
        here = waiting.pop()
        if len(here) < 2:
            continue
        parted = _parted([(b.x, b.x_end, b) for b in here], kerf) or _parted(
            [(b.y, b.y_end, b) for b in here], kerf
        )
        if parted is None:
            return False
        waiting += parted
    return True


def _parted(spans: list[tuple[int, int, Box]], kerf: int) -> tuple[list[Box], list[Box]] | None:
    spans.sort(key=lambda span: span[:2])
    end = spans[0][1]
    for at, (begin, stop, _) in enumerate(spans[1:], 1):
        if begin >= end + kerf:
            return [box for *_, box in spans[:at]], [box for *_, box in spans[at:]]
        end = max(end, stop)
    return None
