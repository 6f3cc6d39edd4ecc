"""The books as they stand in a store, seen and changed inside one transaction."""

from collections.abc import Iterable
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom.core.books.chain import GENESIS, Act, act_hash, seal
from stockroom.core.books.codes import FIRST_NUMBER, code_of
from stockroom.core.books.draft import Changes, Movement, Touch
from stockroom.core.books.fold import fold
from stockroom.core.records import PutBy, Stay
from stockroom.core.records.base import Record
from stockroom.errors import HEALING, StoreDamagedError
from stockroom.store.mapping import (
    ACT,
    MOVEMENT,
    TOUCH,
    act_of,
    columns,
    decoding,
    from_row,
    lay,
    lay_changes,
    moved,
    select_records,
    table_of,
    touch_of,
    with_key,
)
from stockroom.store.sums import WRAP, head_seal, kept, sum_of, told_fault
from stockroom.store.tables import ChainHeadRow, ClientRow
from stockroom.text import capital

R = TypeVar("R", bound=Record)

HEAD = table_of(ChainHeadRow)
STAY = table_of(Stay)
PUT_BY = table_of(PutBy)
CLIENT = table_of(ClientRow)


class StoreView:
    """A view of the books (see `stockroom.core.books.draft.View`) on an open transaction."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection

    def get(self, record: type[R], key: str) -> R | None:
        """Return the record with this key, its seal checked."""
        query = sa.select(*columns(record)).where(with_key(record, key))
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
        column = table_of(record).c[field]
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
        return [move for _, move in moved(self.connection, MOVEMENT.c.act == seq)]

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
        row = sealed_head(connection.execute(sa.select(HEAD).with_for_update()).first())
        self.connection = connection
        self.seq: int = row.seq
        self.hash: str = row.hash
        self.next_number: int = row.next_number
        self.touches: int = row.touches
        self.rows_sum = int(row.rows_sum, 16)
        self.clients_sum = int(row.clients_sum, 16)
        self.seal: str = row.seal
        """As it was when the head was taken."""

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
        come, gone = lay_changes(self.connection, act.seq, changes.touches, changes.movements)
        self.seq, self.hash = act.seq, hash_
        self.touches += len(changes.touches)
        self.count(come, gone)
        self.keep()

    def count(self, come: Iterable[str], gone: Iterable[str] = ()) -> None:
        """Count rows that were written or are gone, by their seals or SHA-256, into the sum."""
        self.rows_sum = (self.rows_sum + sum_of(come) - sum_of(gone)) % WRAP

    def write_client(self, job: str, reference: str) -> None:
        """Write a customer's reference on a job in place of the one there; an empty one is none."""
        old = self.connection.execute(sa.select(CLIENT.c.seal).where(CLIENT.c.job == job)).all()
        self.connection.execute(CLIENT.delete().where(CLIENT.c.job == job))
        come = []
        if reference:
            row = client_row(job, reference)
            self.connection.execute(CLIENT.insert(), row)
            come = [row["seal"]]
        self.clients_sum = (self.clients_sum + sum_of(come) - sum_of(r.seal for r in old)) % WRAP

    def keep(self) -> None:
        """Write the head as it is now, with its seal."""
        row: dict[str, int | str] = {
            "seq": self.seq,
            "hash": self.hash,
            "next_number": self.next_number,
            "touches": self.touches,
            "rows_sum": kept(self.rows_sum),
            "clients_sum": kept(self.clients_sum),
        }
        self.connection.execute(HEAD.update().values({**row, "seal": head_seal(row)}))


def first_head() -> dict[str, int | str]:
    """Return the row of an empty chain."""
    row: dict[str, int | str] = {
        "seq": 0,
        "hash": GENESIS,
        "next_number": FIRST_NUMBER,
        "touches": 0,
        "rows_sum": kept(0),
        "clients_sum": kept(0),
    }
    return {"id": 1, **row, "seal": head_seal(row)}


def sealed_head(row: sa.Row[Any] | None) -> sa.Row[Any]:
    """Return the row of the head, its own seal checked.

    Raises
    ------
    StoreDamagedError
        Where it was changed by anything but an act, or is gone.
    """
    what = "The end of the chain"
    with decoding(what):
        if row is not None and head_seal(dict(row._mapping)) == row.seal:
            return row
    raise StoreDamagedError(
        "The end of the chain is gone, or does not agree with its own seal.",
        "The store was changed from outside, or the disk has damaged it; no figure is shown.",
        "Restore the last backup; enter what came after it again.",
    )


def head_of(connection: Connection) -> sa.Row[Any]:
    """Return the row of the head as this transaction sees it, its own seal checked."""
    return sealed_head(connection.execute(sa.select(HEAD)).first())


def client_row(job: str, reference: str) -> dict[str, str]:
    """Return the row of a customer's reference on a job, with its seal."""
    row = {"job": job, "reference": reference}
    return {**row, "seal": seal("client", row)}


def client_fits(row: dict[str, Any]) -> bool:
    """Whether a customer's reference is as it was written, on the job it was written for."""
    return client_row(row["job"], row["reference"]) == row


def sums_fault(connection: Connection) -> str:
    """Return what the rows of a store do not add up to, or "" where they do.

    Raises
    ------
    StoreDamagedError
        Where the head, or a seal, is not what was written.
    """
    head = head_of(connection)
    with decoding("One of the rows"):
        return told_fault(
            dict(head._mapping),
            lambda query: connection.exec_driver_sql(query).scalar(),
            connection.dialect.name,
        )


def see_sums(connection: Connection) -> None:
    """Refuse a store in which a row is missing, doubled, or an older one.

    Raises
    ------
    StoreDamagedError
        Where the rows do not add up to what the head of the chain holds.
    """
    if fault := sums_fault(connection):
        no_act = "In no act are they: the last backup may hold them. To go on without: "
        raise StoreDamagedError(
            f"{capital(fault)}; no figure is shown.",
            "One is missing, or an older one was put back: from outside, or by the disk.",
            f"To see which: stockroom check. {no_act if 'customers' in fault else ''}{HEALING}",
        )


def find_by_key(connection: Connection, key: str) -> Act | None:
    """Return the act that came with a key."""
    row = connection.execute(sa.select(ACT).where(ACT.c.key == key)).first()
    return None if row is None else act_of(row)
