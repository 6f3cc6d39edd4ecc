"""Cut plans from lists of pieces and blanks, without any store."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from stockroom.core.cutting.bars import is_bars
from stockroom.core.cutting.plan import EFFORT, CutBlank, CutPlan, most_plans, plans
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.tree import Cut, Node
from stockroom.core.cutting.worth import NOTHING_KEPT, BarRule, LeftoverRule, Rule
from stockroom.errors import BadValueError, ImportProblem
from stockroom.intake.cutlist import read_blanks, read_pieces
from stockroom.intake.lists import Listed
from stockroom.picking import picked
from stockroom.text import safe
from stockroom.units import count_of, size_text

FORMAT = "stockroom.cuts/1"
SIZE = "width_mm=width_dmm/10 height_mm=height_dmm/10"
TRIMS = "left=left_dmm/10 bottom=bottom_dmm/10 right=right_dmm/10 top=top_dmm/10"
LYING = """
    what=part.what code=part.code x_mm=x_dmm/10 y_mm=y_dmm/10 width_mm=part.width_dmm/10
    height_mm=part.height_dmm/10 turned=part.turned
"""
PLAN = """
    left_out[](code=0 count=1) cost/100 leftover_value/100 value/100 bound/100 seed iterations
    stopped
"""


@dataclass(frozen=True, slots=True)
class TrySaid:
    """How a cut plan is tried.

    Attributes
    ----------
    turn : bool
        Whether pieces may turn where their list does not say.
    ignore_leftovers : bool
        Plan for the cost of the blanks alone.
    most : bool
        The most from one blank, instead of all pieces.
    effort : int
        Steps of the search.
    spent : callable or None
        Part of the time allowed that is gone, 0 to 1.
    unit : str or None
        Unit of sizes that name none.
    """

    saw: Saw
    turn: bool = True
    ignore_leftovers: bool = False
    most: bool = False
    effort: int = EFFORT
    spent: Callable[[], float] | None = None
    seed: int = 0
    unit: str | None = None


def try_cuts(
    pieces: tuple[bytes, str], blanks: tuple[bytes, str], said: TrySaid
) -> Iterator[tuple[str, CutPlan]]:
    """Yield each plan of each material, better and better, with the material's name.

    Parameters
    ----------
    pieces, blanks : (bytes, str)
        The two lists and their names.

    Raises
    ------
    ImportProblem
        Where a list cannot be read, has rows with problems, or must say a unit first.
    BadValueError
        Where a figure cannot be, or pieces of a material have no blank of it.
    """
    wanted = read_pieces(pieces[0], name=pieces[1], unit=said.unit, turn=said.turn)
    there = read_blanks(blanks[0], name=blanks[1], unit=said.unit)
    _sound(wanted)
    _sound(there)
    for material in dict.fromkeys(material for material, _ in wanted.rows):
        some = tuple(piece for of, piece in wanted.rows if _same(of, material))
        from_ = tuple(blank for of, blank in there.rows if not of or _same(of, material))
        if not from_:
            raise BadValueError(
                f"There is no blank of {safe(material)}.",
                "Pieces are cut from their own material only.",
                "Add a blank of it, or leave its pieces out.",
            )
        for plan in _plans(some, from_, said):
            yield material, plan


def _plans(
    pieces: tuple[CutPiece, ...], blanks: tuple[Blank, ...], said: TrySaid
) -> Iterator[CutPlan]:
    request = Request(pieces, blanks, said.saw)
    rule: Rule = BarRule() if is_bars(request) else LeftoverRule()
    if said.ignore_leftovers or said.most:
        rule = NOTHING_KEPT
    how: dict[str, Any] = {
        "rule": rule, "effort": said.effort, "seed": said.seed, "spent": said.spent,
    }  # fmt: skip
    return most_plans(request, **how) if said.most else plans(request, **how)


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()


def _sound(cut_list: Listed[Any]) -> None:
    if cut_list.problems:
        raise ImportProblem(
            f"{cut_list.name} has {count_of(len(cut_list.problems), 'problem')}.",
            "Nothing was planned.",
            "Mend the rows named and try again.",
            problems=cut_list.problems,
        )
    if cut_list.asks:
        raise ImportProblem(f"{cut_list.name} was not planned.", " ".join(cut_list.asks))


def plan_value(plan: CutPlan) -> dict[str, Any]:
    """Return a plan as plain data in millimetres, of the shape `stockroom.cuts/1`."""
    kerf = plan.request.saw.kerf_dmm
    return {
        "complete": plan.complete,
        "blanks": [_blank_value(one, kerf) for one in plan.blanks],
        **picked(plan, PLAN),
    }


def _in_mm(item: Any, shape: str) -> dict[str, Any]:
    """What a shape names; whole millimetres as whole numbers."""
    return {
        name: int(value) if isinstance(value, float) and value.is_integer() else value
        for name, value in picked(item, shape).items()
    }


def _blank_value(one: CutBlank, kerf_dmm: int) -> dict[str, Any]:
    return {
        **_in_mm(one.blank, f"code {SIZE}"),
        "cost": one.blank.price / 100,
        "trim_mm": _in_mm(one.trims, TRIMS),
        "tree": _node_value(one.tree),
        "parts": [_in_mm(lain, LYING) for lain in one.parts(kerf_dmm)],
    }


def _node_value(node: Node) -> dict[str, Any]:
    if isinstance(node, Cut):
        children = [child for child in (node.low, node.high) if child is not None]
        return {
            **_in_mm(node, f"axis position_mm=at_dmm/10 {SIZE}"),
            "children": [_node_value(child) for child in children],
        }
    return _in_mm(node, f"what code {SIZE} turned")


def plan_lines(material: str, plan: CutPlan) -> Iterator[str]:
    """Yield a plan in words, a blank at a time.

    Parameters
    ----------
    material : str
        Its name, "" where there is only one.
    """
    kerf = plan.request.saw.kerf_dmm
    number = sum(piece.count for piece in plan.request.pieces) - sum(n for _, n in plan.left_out)
    named = f"{safe(material)}: " if material else ""
    yield f"{named}{count_of(number, 'piece')} from {count_of(len(plan.blanks), 'blank')}."
    for one in plan.blanks:
        blank = one.blank
        yield f"{safe(blank.code)}, {size_text(blank.width_dmm, blank.height_dmm)}"
        for lain in one.parts(kerf):
            part = lain.part
            if part.what == "waste":
                continue
            what = safe(part.code) if part.what == "piece" else "offcut to keep"
            turned = ", turned" if part.turned else ""
            yield f"  {what}: {size_text(part.width_dmm, part.height_dmm)}{turned}"
    for code, count in plan.left_out:
        yield f"No room for {count} of {safe(code)}."
    how = {
        "proven": "No plan is better.",
        "effort": f"The best of {plan.iterations} steps.",
        "time": f"The best of {plan.iterations} steps, when the time was up.",
    }
    yield how[plan.stopped]
