"""Checking the store whole: the chain hash by hash, and every record against a fresh fold."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom.core.books.chain import GENESIS, Act, act_hash
from stockroom.core.books.fold import Books, refold, unbalanced_lots
from stockroom.core.model import RECORDS, Import, PutBy, Unit
from stockroom.errors import StockroomError, StoreDamagedError
from stockroom.store import blocks
from stockroom.store.mapping import ACT, MOVEMENT, TOUCH, act_of, movement_of, select_records
from stockroom.store.view import HEAD


@dataclass(frozen=True, slots=True)
class CheckReport:
    """What a whole check found: how much was looked at, and what is wrong."""

    acts: int
    records: int
    movements: int
    blocks: int
    head: str
    faults: tuple[str, ...]


def chain_acts(connection: Connection) -> Iterator[Act]:
    """Return the acts in order, each checked against its hash and the one before.

    Raises
    ------
    StoreDamagedError
        At the first act that does not fit, naming it.
    """
    previous, expected = GENESIS, 1
    rows = connection.execute(sa.select(ACT).order_by(ACT.c.seq))
    for row in rows:
        try:
            act = act_of(row)
            fits = act_hash(previous, act) == row.hash and row.prev == previous
        except (ValueError, TypeError):
            fits = False
        if not fits or row.seq != expected:
            raise _broken(expected)
        previous, expected = row.hash, expected + 1
        yield act
    head = connection.execute(sa.select(HEAD.c.seq, HEAD.c.hash)).one()
    if (head.seq, head.hash) != (expected - 1, previous):
        raise StoreDamagedError(
            "The end of the chain is not where it should be.",
            f"The books name act {head.seq} as the last; act {expected - 1} is.",
            "Restore the last backup.",
        )


def _broken(seq: int) -> StoreDamagedError:
    return StoreDamagedError(
        f"The chain is broken at act {seq}.",
        "That act, or its place in the order, was changed from outside.",
        "Restore the last backup; enter what came after it again.",
    )


def check_whole(connection: Connection) -> CheckReport:
    """Refold every act and compare with what stands in the tables.

    Raises
    ------
    StoreDamagedError
        Where the chain itself does not hold.
    """
    faults: list[str] = []
    books = refold(chain_acts(connection))
    records = 0
    for record in RECORDS:
        try:
            stored = {item.key: item for item in select_records(connection, record)}
        except StoreDamagedError as error:
            faults.append(error.what)
            continue
        folded = books.records[record.kind]
        records += len(folded)
        for key in sorted(stored.keys() | folded.keys()):
            if stored.get(key) != folded.get(key):
                faults.append(f"{record.kind.replace('_', ' ')} {key} is not what the acts make it")
    stored_rows = connection.execute(sa.select(MOVEMENT).order_by(MOVEMENT.c.act, MOVEMENT.c.n))
    stored_movements = [(row.act, movement_of(row)) for row in stored_rows]
    folded_movements = [(seq, item) for seq in books.acts for item in books.movements(seq)]
    if stored_movements != folded_movements:
        faults.append("the movements are not what the acts make them")
    faults += _touch_faults(connection, books)
    units = [unit for unit in books.records[Unit.kind].values() if isinstance(unit, Unit)]
    for lot, gap in unbalanced_lots(units, (item for _, item in stored_movements)).items():
        faults.append(f"batch {lot} does not add up: {gap:+d}")
    faults += _promise_faults(books.records)
    checked, block_faults = _check_blocks(connection, books)
    faults += block_faults
    head = connection.execute(sa.select(HEAD.c.hash)).scalar_one()
    return CheckReport(
        len(books.acts), records, len(stored_movements), checked, head, tuple(faults)
    )


def _touch_faults(connection: Connection, books: Books) -> list[str]:
    rows = connection.execute(sa.select(TOUCH).order_by(TOUCH.c.act, TOUCH.c.n))
    stored = [
        (row.act, row.kind, row.record_key, None if row.before is None else json.loads(row.before))
        for row in rows
    ]
    folded = [
        (seq, touch.kind, touch.key, touch.before.plain() if touch.before else None)
        for seq in books.acts
        for touch in books.touches(seq)
    ]
    return [] if stored == folded else ["what the acts touched is not what was written"]


def _promise_faults(records: dict[str, dict[str, Any]]) -> list[str]:
    """No put-by stands on a unit that is gone."""
    faults = []
    for put in records[PutBy.kind].values():
        unit = records[Unit.kind].get(put.unit)
        if put.open and (unit is None or unit.state != "in stock"):
            faults.append(f"{put.unit} is put by for job {put.job} but is not in stock")
    return faults


def _check_blocks(connection: Connection, books: Books) -> tuple[int, list[str]]:
    """Each block is what its act said, and reads as what it says."""
    said = {
        (act.payload["import"]["code"], month): sha256
        for act in books.acts.values()
        if act.kind == "readings"
        for month, sha256 in act.payload["blocks"].items()
    }
    columns = (blocks.BLOCK.c.import_code, blocks.BLOCK.c.month, blocks.BLOCK.c.sha256)
    stored = {(row[0], row[1]): row[2] for row in connection.execute(sa.select(*columns))}
    faults = [
        f"the readings of {month} in import {code} are not those that were taken in"
        for code, month in sorted(said.keys() | stored.keys())
        if said.get((code, month)) != stored.get((code, month))
    ]
    for place in sorted({item.place for item in select_records(connection, Import)}):
        try:
            blocks.read_place(connection, place)
        except StockroomError as error:
            faults.append(error.what)
    return len(stored), faults
