"""Folding acts on cutting: units cut up, cut plans accepted and dropped."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from stockroom.core.books import stock
from stockroom.core.books.draft import Draft, MovementKind
from stockroom.core.records import Card, Unit
from stockroom.errors import RefusedError


def cut(draft: Draft, payload: dict[str, Any]) -> None:
    """Cut a length off a roll, or one sheet, into offcuts and pieces; the rest is cut waste."""
    pieces = [p["width_dmm"] * p["height_dmm"] * p["count"] for p in payload["pieces"]]
    told: list[tuple[int, MovementKind]] = [(area, "used") for area in pieces]
    told += [(area, "lost") for area in payload.get("lost", ())]
    unit = draft.need(Unit, payload["unit"])
    if payload.get("card"):
        draft.change(draft.need(Card, payload["card"]), state="cut")
    stock.free(draft, payload.get("let_go", ()))
    unit = cut_up(draft, unit, payload["take"], payload["children"], told)
    stock.draw_put_bys(draft, unit, sum(pieces), payload.get("job"))
    for item in payload.get("promises", ()):
        stock.promise(draft, item["code"], item["unit"], item["job"], item["qty"])


def cut_for(draft: Draft, code: str, cut: dict[str, Any], kind: MovementKind, job: str) -> None:
    """Cut one piece for a job out of a sheet; all of the sheet comes off what was put by for it."""
    unit = draft.need(Unit, code)
    taken = cut["take"] * unit.measure
    unit = cut_up(draft, unit, cut["take"], cut["children"], [(cut["area_dmm2"], kind)])
    stock.draw_put_bys(draft, unit, taken, job)


def cut_up(
    draft: Draft,
    unit: Unit,
    take: int,
    offcuts: Sequence[dict[str, Any]],
    pieces: Sequence[tuple[int, MovementKind]],
) -> Unit:
    """Cut so much of a unit into offcuts, and pieces told by their area; the rest is cut waste.

    Parameters
    ----------
    draft, unit
        Where, and of what.
    take : int
        A length (dmm), or a number of sheets.
    offcuts : sequence of dict
        What is kept, as units to be.
    pieces : sequence of (int, str)
        Areas of the pieces, dmm2, each with what it is: "used", or "lost".
    """
    taken = take * unit.measure
    if taken > unit.qty:
        draft.move(unit, "found", taken - unit.qty, place_to=unit.place)
        unit = stock.set_amount(draft, unit, take, "cut up")
    children = [_child(unit, item) for item in offcuts]
    waste = taken - sum(child.qty for child in children) - sum(area for area, _ in pieces)
    if waste < 0:
        raise RefusedError(
            f"The parts cut from {unit.code} come to more than was cut.",
            "A cut can only make less.",
            "Look at the sizes of the offcuts and pieces.",
        )
    cost = stock.share_of_cost(unit, taken)
    areas = [child.qty for child in children] + [area for area, _ in pieces]
    costs = split_cents(cost, [*areas, waste])
    for child, cents in zip(children, costs, strict=False):
        born = replace(
            child,
            cost_left_cents=cents,
            received_s=draft.act.occurred_s,
            received_act=draft.act.seq,
        )
        draft.put(born)
        stock.stand(draft, born, born.place)
        draft.move(unit, "split off", born.qty, place_from=unit.place, cost_cents=cents)
        draft.move(born, "split to", born.qty, place_to=born.place, cost_cents=cents)
    for (area, kind), cents in zip(pieces, costs[len(children) :], strict=False):
        draft.move(unit, kind, area, place_from=unit.place, cost_cents=cents)
    draft.move(unit, "cut waste", waste, place_from=unit.place, cost_cents=costs[-1])
    return stock.set_amount(draft, unit, unit.amount - take, "cut up", cost)


def _child(parent: Unit, item: dict[str, Any]) -> Unit:
    """An offcut: of a roll or sheet it is a sheet, of a length a length."""
    lengthwise = parent.shape.bar
    return Unit(
        **item,
        lot=parent.lot,
        parent=parent.code,
        form="length" if lengthwise else "sheet",
        remaining_dmm=item["length_dmm"] if lengthwise else 0,
        opened_s=parent.opened_s,
        opened_act=parent.opened_act,
        held=parent.held,
        arrived_warm=parent.arrived_warm,
    )


def split_cents(cents: int, weights: Sequence[int]) -> list[int]:
    """Split cents by weight so that the parts sum to the whole.

    >>> split_cents(100, [1, 1, 1])
    [33, 33, 34]
    """
    total = sum(weights)
    parts, given, weight_so_far = [], 0, 0
    for weight in weights:
        weight_so_far += weight
        upto = cents * weight_so_far // total if total else 0
        parts.append(upto - given)
        given = upto
    if parts:
        parts[-1] += cents - given
    return parts


def plan_cuts(draft: Draft, payload: dict[str, Any]) -> None:
    """Accept a cut plan: a bench card for each blank, and each blank put by for its jobs.

    What was put by before of the same material for these jobs is free again.
    """
    stock.free(draft, payload["let_go"])
    for item in payload["cards"]:
        draft.put(Card(**item, act=draft.act.seq))
    for item in payload["promises"]:
        stock.promise(draft, item["code"], item["unit"], item["job"], item["qty"])


def drop_cards(draft: Draft, payload: dict[str, Any]) -> None:
    """Cut nothing by some cards after all; what was put by for them is free again."""
    for code in payload["cards"]:
        draft.change(draft.need(Card, code), state="dropped")
    stock.free(draft, payload["let_go"])
