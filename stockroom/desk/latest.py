"""How far the books and the day are: one short read, by which a screen sees what others did."""

from dataclasses import dataclass
from datetime import date

import sqlalchemy as sa

from stockroom.desk.session import Desk
from stockroom.store.engine import reading
from stockroom.store.view import HEAD


@dataclass(frozen=True, slots=True)
class Latest:
    """The seal of the head, which no act and no erasing leaves the same, and the workshop's day."""

    seal: str
    day: date


def latest(desk: Desk) -> Latest:
    """Return how far the books and the day are; waits for no other read of the desk.

    Raises
    ------
    StoreError
        Where the store does not answer.
    """
    with reading(desk.engine) as connection:
        seal: str = connection.execute(sa.select(HEAD.c.seal)).scalar_one()
    return Latest(seal, desk.today())
