"""The books as they stand in a store, seen and changed inside one transaction."""

from typing import TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom.core.books.chain import GENESIS, Act, act_hash
from stockroom.core.books.codes import FIRST_NUMBER, code_of
from stockroom.core.books.draft import Changes, Movement, Touch
from stockroom.core.books.fold import fold
from stockroom.core.model import PutBy, Stay
from stockroom.core.record import Record
from stockroom.store.mapping import (
    ACT,
    MOVEMENT,
    TOUCH,
    act_of,
    columns,
    from_row,
    key_column,
    key_value,
    lay,
    lay_changes,
    movement_of,
    select_records,
    table_of,
    touch_of,
)
from stockroom.store.tables import TABLE_OF_KIND, ChainHeadRow, PutByRow, StayRow

R = TypeVar("R", bound=Record)

HEAD = table_of(ChainHeadRow)
STAY = table_of(StayRow)
PUT_BY = table_of(PutByRow)


class StoreView:
    """A view of the books (see `stockroom.core.books.draft.View`) on an open transaction."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection

    def get(self, record: type[R], key: str) -> R | None:
        """Return the record with this key, its seal checked."""
        kind = record.kind
        query = sa.select(*columns(kind)).where(key_column(kind) == key_value(kind, key))
        row = self.connection.execute(query).first()
        return None if row is None else from_row(record, row)

    def stays(self, unit: str) -> list[Stay]:
        """Return the unit's stays."""
        return select_records(self.connection, Stay, STAY.c.unit == unit)

    def put_bys(self, unit: str) -> list[PutBy]:
        """Return what of the unit is put by and still open."""
        return select_records(
            self.connection, PutBy, PUT_BY.c.unit == unit, PUT_BY.c.open == sa.true()
        )

    def having(self, record: type[R], field: str, value: str) -> list[R]:
        """Return the records of a kind that hold a value in a field."""
        column = table_of(TABLE_OF_KIND[record.kind]).c[field]
        return select_records(self.connection, record, column == value)

    def act(self, seq: int) -> Act | None:
        """Return an act."""
        row = self.connection.execute(sa.select(ACT).where(ACT.c.seq == seq)).first()
        return None if row is None else act_of(row)

    def touches(self, seq: int) -> list[Touch]:
        """Return what an act touched."""
        query = sa.select(TOUCH).where(TOUCH.c.act == seq).order_by(TOUCH.c.n)
        return [touch_of(row) for row in self.connection.execute(query)]

    def movements(self, seq: int) -> list[Movement]:
        """Return what an act moved."""
        query = sa.select(MOVEMENT).where(MOVEMENT.c.act == seq).order_by(MOVEMENT.c.n)
        return [movement_of(row) for row in self.connection.execute(query)]

    def last_touch(self, kind: str, key: str) -> int:
        """Return the last act that touched a record, or 0."""
        query = sa.select(sa.func.max(TOUCH.c.act)).where(
            TOUCH.c.kind == kind, TOUCH.c.record_key == key
        )
        return self.connection.execute(query).scalar() or 0

    def undoing(self, seq: int) -> int | None:
        """Return the act that took this one back, whether or not it still stands."""
        query = sa.select(ACT.c.seq).where(ACT.c.undoes == seq)
        return self.connection.execute(query).scalar()

    def undone_by(self, seq: int) -> int | None:
        """Return the act that takes this one back, if that one still stands."""
        by = self.undoing(seq)
        return None if by is None or self.undone_by(by) is not None else by


class Head:
    """The end of the chain, held by this transaction alone until it ends."""

    def __init__(self, connection: Connection) -> None:
        row = connection.execute(
            sa.select(HEAD.c.seq, HEAD.c.hash, HEAD.c.next_number).with_for_update()
        ).one()
        self.connection = connection
        self.seq: int = row.seq
        self.hash: str = row.hash
        self.next_number: int = row.next_number

    def born(self) -> str:
        """Return a code that was never given before."""
        self.next_number += 1
        return code_of(self.next_number - 1)

    def append(self, act: Act) -> Changes:
        """Fold an act into the store and bind it to the chain."""
        changes = fold(act, StoreView(self.connection))
        self.lay(act, changes)
        return changes

    def lay(self, act: Act, changes: Changes) -> None:
        """Write an act and what it changed."""
        hash_ = act_hash(self.hash, act)
        lay(self.connection, act, self.hash, hash_)
        lay_changes(self.connection, act.seq, changes.touches, changes.movements)
        self.seq, self.hash = act.seq, hash_
        self.connection.execute(
            HEAD.update().values(seq=self.seq, hash=self.hash, next_number=self.next_number)
        )


def first_head() -> dict[str, int | str]:
    """Return the row of an empty chain."""
    return {"id": 1, "seq": 0, "hash": GENESIS, "next_number": FIRST_NUMBER}


def find_by_key(connection: Connection, key: str) -> Act | None:
    """Return the act that came with a key."""
    row = connection.execute(sa.select(ACT).where(ACT.c.key == key)).first()
    return None if row is None else act_of(row)
