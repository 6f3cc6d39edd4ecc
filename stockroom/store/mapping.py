"""Records to rows and back; a row whose seal does not fit is never shown."""

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from graphlib import TopologicalSorter
from typing import Any, TypeVar

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom.core.books.chain import Act, act_hash, canonical, plain_act, seal
from stockroom.core.books.draft import Movement, Touch
from stockroom.core.records import RECORD_OF_KIND, RECORDS
from stockroom.core.records.base import Record, about, field_names, once, pointers
from stockroom.errors import HEALING, BadValueError, StoreDamagedError
from stockroom.plain_files import marks
from stockroom.store.tables import ROW_OF, ActRow, MovementRow, TouchRow
from stockroom.text import safe

R = TypeVar("R", bound=Record)


def table_of(held: type[Any]) -> sa.Table:
    """Return the SQL table of a kind of record, or of a row class."""
    table: sa.Table = ROW_OF.get(held, held).__table__
    return table


ACT, TOUCH, MOVEMENT = table_of(ActRow), table_of(TouchRow), table_of(MovementRow)


def damaged(what: str) -> StoreDamagedError:
    """Return the error for a row that does not agree with itself."""
    return StoreDamagedError(
        f"{what} does not agree with its own seal.",
        "The store was changed from outside, or the disk has damaged it; no figure is shown.",
        HEALING,
    )


UNREADABLE = (TypeError, ValueError, KeyError, AttributeError, RecursionError)
"""What goes wrong in making sense of a row that is not as it was written."""


@contextmanager
def decoding(what: str) -> Iterator[None]:
    """Turn whatever goes wrong in making sense of a row into the error for a damaged one."""
    try:
        yield
    except UNREADABLE as error:
        raise damaged(what) from error


@once
def columns(record: type[Record]) -> tuple[sa.Column[Any], ...]:
    """Return a record's columns in the order of its fields, the seal last."""
    table = table_of(record)
    return tuple(table.c[name] for name in (*field_names(record), "seal"))


def with_key(record: type[Record], key: str) -> sa.ColumnElement[bool]:
    """Return the condition that a row is the one with this key."""
    name = record.key_field
    value: str | int = about(record)[name].holds(key)
    return table_of(record).c[name] == value


def from_row(record: type[R], row: Sequence[Any]) -> R:
    """Return the record of a row, its seal checked.

    Raises
    ------
    StoreDamagedError
        Where the row was changed by anything but an act.
    """
    names = field_names(record)
    plain = dict(zip(names, row, strict=False))
    try:
        if seal(record.kind, plain) == row[-1]:
            return record.from_plain(plain)
    except UNREADABLE as error:
        raise _damaged_row(record, row) from error
    raise _damaged_row(record, row)


def _damaged_row(record: type[Record], row: Sequence[Any]) -> StoreDamagedError:
    return damaged(f"The row of {record.noun} {safe(row[0], length=40)}")


def to_row(record: Record) -> dict[str, Any]:
    """Return a record's row with its seal."""
    plain = record.plain()
    return {**plain, "seal": seal(record.kind, plain)}


def select_records(
    connection: Connection, record: type[R], *where: sa.ColumnElement[bool]
) -> list[R]:
    """Return all records that meet the conditions, in the order of their keys."""
    query = sa.select(*columns(record)).where(*where)
    rows = connection.execute(query).all()
    return sorted((from_row(record, row) for row in rows), key=_order)


def _order(record: Record) -> tuple[int, str]:
    return len(record.key), record.key


LARGEST_ACT, MOST_ACT_MARKS = 16_000_000, 2_900_000
"""Longest payload of an act, bytes, and most brackets, commas and colons of it (our choice): 20,000
rolls at once; a backup of it is read back line by line, each bounded in both (see `backup`)."""


def lay(connection: Connection, act: Act, previous: str, hash_: str) -> None:
    """Add an act to the chain.

    Raises
    ------
    BadValueError
        Where it is more than a backup could give back.
    """
    payload = canonical(act.payload)
    data = payload.encode()
    if len(data) > LARGEST_ACT or marks(data) > MOST_ACT_MARKS:
        raise BadValueError(
            "That is too much for one act; nothing was changed.",
            "An act is kept whole, and must fit a line of a backup.",
            "Split the list, and take in one part after the other.",
        )
    connection.execute(
        ACT.insert(),
        {**plain_act(act), "payload": payload, "prev": previous, "hash": hash_},
    )


def act_of(row: sa.Row[Any]) -> Act:
    """Return the act of a row, its hash on top of the one before checked.

    Raises
    ------
    StoreDamagedError
        Where the row was changed.
    """
    what = f"The row of act {safe(row.seq, length=40)}"
    with decoding(what):
        plain = {name: getattr(row, name) for name in Act.__slots__}
        act = Act(**{**plain, "payload": json.loads(row.payload)})
        if act_hash(row.prev, act) == row.hash and canonical(act.payload) == row.payload:
            return act
    raise damaged(what)


def lay_changes(
    connection: Connection, seq: int, touches: Sequence[Touch], movements: Sequence[Movement]
) -> tuple[list[str], list[str]]:
    """Write what an act changed: records as they are now, and as they were before.

    Returns
    -------
    (list of str, list of str)
        The seals of the rows that were written, and of those that are gone.
    """
    come: list[str] = []
    gone: list[str] = []
    if touches:
        rows = [
            {
                "act": seq,
                "n": n,
                "kind": touch.kind,
                "record_key": touch.key,
                "before": canonical(touch.before.plain()) if touch.before else None,
            }
            for n, touch in enumerate(touches)
        ]
        connection.execute(TOUCH.insert(), [{**row, "seal": seal("touch", row)} for row in rows])
    if movements:
        moved = [
            {
                "act": seq,
                "n": n,
                **{name: getattr(item, name) for name in Movement.__slots__},
            }
            for n, item in enumerate(movements)
        ]
        sealed = [{**row, "seal": seal("movement", row)} for row in moved]
        connection.execute(MOVEMENT.insert(), sealed)
        come += [row["seal"] for row in sealed]
    ordered = sorted(touches, key=lambda touch: _parents_first()[touch.kind])
    for touch in ordered:
        record = RECORD_OF_KIND[touch.kind]
        table = table_of(record)
        if touch.before is not None:
            gone.append(to_row(touch.before)["seal"])
        if touch.after is None:
            continue
        row = to_row(touch.after)
        come.append(row["seal"])
        if touch.before is None:
            connection.execute(table.insert(), row)
        else:
            connection.execute(table.update().where(with_key(record, touch.key)), row)
    for touch in reversed(ordered):
        if touch.after is None and touch.before is not None:
            record = RECORD_OF_KIND[touch.kind]
            connection.execute(table_of(record).delete().where(with_key(record, touch.key)))
    return come, gone


@cache
def _parents_first() -> dict[str, int]:
    """The order in which rows are written: a row comes after the rows that it points to."""
    parents = {record.kind: pointers(record).values() for record in RECORDS}
    return {kind: n for n, kind in enumerate(TopologicalSorter(parents).static_order())}


def touch_of(row: sa.Row[Any]) -> Touch:
    """Return a touch as it was stored, its seal checked; what came after it is not kept."""
    _sealed("touch", row)
    with decoding(f"A touch of act {row.act}"):
        record = RECORD_OF_KIND[row.kind]
        before = record.from_plain(json.loads(row.before)) if row.before is not None else None
        return Touch(row.kind, row.record_key, before, None)


def movement_of(row: sa.Row[Any]) -> Movement:
    """Return a movement of a row, its seal checked."""
    _sealed("movement", row)
    return Movement(*(getattr(row, name) for name in Movement.__slots__))


def moved(connection: Connection, *where: sa.ColumnElement[bool]) -> list[tuple[int, Movement]]:
    """Return movements that meet the conditions in their order, each with its act, seals checked.

    Raises
    ------
    StoreDamagedError
        Where a movement is not what its act wrote.
    """
    query = sa.select(MOVEMENT).where(*where).order_by(MOVEMENT.c.act, MOVEMENT.c.n)
    return [(row.act, movement_of(row)) for row in connection.execute(query)]


def _sealed(kind: str, row: sa.Row[Any]) -> None:
    plain = dict(row._mapping)
    what = f"A {kind} of act {safe(plain['act'], length=40)}"
    with decoding(what):
        if seal(kind, {name: plain[name] for name in plain if name != "seal"}) == row.seal:
            return
    raise damaged(what)
