"""What must be true of any store at any time, reckoned apart from the program where it can be."""

from collections import defaultdict

import sqlalchemy as sa

from stockroom.core.model import Unit
from stockroom.desk import keeping
from stockroom.desk.lookup import everything
from stockroom.desk.session import Desk

SIGNS = {"received": 1, "found": 1, "split to": 1, "moved": 0}
"""What a movement does to what is on hand; every other kind takes away."""


def see_truths(desk: Desk) -> int:
    """See that the chain holds, the refold is the store, and nothing came or went unbooked.

    Returns how many acts there are.
    """
    report = keeping.check(desk)
    assert report.faults == ()
    see_conservation(desk)
    return report.acts


def see_conservation(desk: Desk) -> None:
    """For each batch what came less what went is what is there, in amounts and in cents."""
    amounts: dict[str, int] = defaultdict(int)
    cents: dict[str, int] = defaultdict(int)
    with desk.reading() as view:
        moved = view.connection.execute(
            sa.text("SELECT lot, kind, qty, cost_cents FROM movement")
        ).all()
        units = everything(view, Unit)
    for lot, kind, qty, cost_cents in moved:
        sign = SIGNS.get(kind, -1)
        amounts[lot] += sign * qty
        cents[lot] += sign * cost_cents
    for unit in units:
        amounts[unit.lot] -= unit.qty
        cents[unit.lot] -= unit.cost_left_cents
    assert not {lot: gap for lot, gap in amounts.items() if gap}
    assert not {lot: gap for lot, gap in cents.items() if gap}


def acts_by_key(desk: Desk) -> dict[str, set[int]]:
    """Return the numbers of the acts done under each key; several of one command share theirs."""
    found: dict[str, set[int]] = defaultdict(set)
    with desk.reading() as view:
        for seq, key in view.connection.execute(sa.text("SELECT seq, key FROM act")):
            found[key.partition("/")[0]].add(seq)
    return found


def see_acknowledged(desk: Desk, said: list[str]) -> None:
    """Every act that was acknowledged ("number key") is in the books, under its number."""
    kept = {f"{seq} {key}" for key, seqs in acts_by_key(desk).items() for seq in seqs}
    lost = [line for line in said if line not in kept]
    assert not lost, f"acknowledged and lost: {lost}"
