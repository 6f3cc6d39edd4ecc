"""What must be true of any store at any time, reckoned apart from the program where it can be."""

from collections import defaultdict

import sqlalchemy as sa

from stockroom.core.records import Unit
from stockroom.desk import keeping
from stockroom.desk.groups import group_key
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


def asked(desk: Desk) -> dict[str, int]:
    """Return by the key that it was asked with the last act that each command did."""
    with desk.reading() as view:
        rows = view.connection.execute(sa.text("SELECT key, seq FROM act ORDER BY seq")).all()
    return {group_key(key) or key: seq for key, seq in rows}


def see_acknowledged(desk: Desk, said: list[str]) -> None:
    """Every act that was acknowledged ("number key") is in the books, under its number."""
    kept = {f"{seq} {key}" for key, seq in asked(desk).items()}
    lost = [line for line in said if line not in kept]
    assert not lost, f"acknowledged and lost: {lost}"
