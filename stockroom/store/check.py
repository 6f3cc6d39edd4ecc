"""Checking the store whole: the chain hash by hash, and every record against a fresh fold."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom.core.books.chain import GENESIS, Act
from stockroom.core.books.codes import is_code
from stockroom.core.books.draft import Movement
from stockroom.core.books.fold import Books, refold, unbalanced_lots
from stockroom.core.records import RECORDS, Import, PutBy, Unit
from stockroom.errors import StoreDamagedError
from stockroom.store import blocks
from stockroom.store.mapping import ACT, TOUCH, act_of, moved, select_records, touch_of
from stockroom.store.view import CLIENT, client_fits, head_of, sums_fault
from stockroom.text import safe


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
        except StoreDamagedError as error:
            raise _broken(expected) from error
        if row.prev != previous or row.seq != expected:
            raise _broken(expected)
        previous, expected = row.hash, expected + 1
        yield act
    head = head_of(connection)
    if (head.seq, head.hash) != (expected - 1, previous):
        raise StoreDamagedError(
            "The end of the chain is not where it should be.",
            f"The books name act {head.seq} as the last; act {expected - 1} is.",
            "Restore the last backup.",
        )


def engine_faults(connection: Connection) -> list[str]:
    """Return what the database engine itself finds wrong with its file, where it can look."""
    if connection.dialect.name != "sqlite":
        return []
    found = connection.exec_driver_sql("PRAGMA integrity_check(10)").scalars().all()
    return [f"the file: {safe(line)}" for line in found if line != "ok"]


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
    faults = [*engine_faults(connection), *filter(None, [sums_fault(connection)])]
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
                faults.append(f"{record.noun} {key} is not what the acts make it")
    movements = [(seq, item) for seq in books.acts for item in books.movements(seq)]
    faults += _movement_faults(connection, movements)
    faults += _touch_faults(connection, books)
    units = [unit for unit in books.records[Unit.kind].values() if isinstance(unit, Unit)]
    for lot, gap in unbalanced_lots(units, (item for _, item in movements)).items():
        faults.append(f"batch {lot} does not add up: {gap:+d}")
    faults += _promise_faults(books.records)
    faults += _number_faults(connection, books)
    faults += _client_faults(connection)
    checked, block_faults = _check_blocks(connection, books)
    faults += block_faults
    head = head_of(connection)
    return CheckReport(len(books.acts), records, len(movements), checked, head.hash, tuple(faults))


def _movement_faults(connection: Connection, folded: list[tuple[int, Movement]]) -> list[str]:
    try:
        stored = moved(connection)
    except StoreDamagedError as error:
        return [error.what]
    return [] if stored == folded else ["the movements are not what the acts make them"]


def _touch_faults(connection: Connection, books: Books) -> list[str]:
    rows = connection.execute(sa.select(TOUCH).order_by(TOUCH.c.act, TOUCH.c.n))
    try:
        stored = [(row.act, touch_of(row)) for row in rows]
    except StoreDamagedError as error:
        return [error.what]
    folded = [
        (seq, replace(touch, after=None)) for seq in books.acts for touch in books.touches(seq)
    ]
    return [] if stored == folded else ["what the acts touched is not what was written"]


def _number_faults(connection: Connection, books: Books) -> list[str]:
    """The next number for a code lies above every number that was ever given."""
    given = [
        int(touch.key[:-1])
        for seq in books.acts
        for touch in books.touches(seq)
        if is_code(touch.key)
    ]
    if head_of(connection).next_number > max(given, default=0):
        return []
    return ["the next number for a code was given already"]


def _client_faults(connection: Connection) -> list[str]:
    """A customer's reference is as it was written, on the job it was written for."""
    return [
        f"the customer's reference on job {safe(row.job, length=40)} is not what was written"
        for row in connection.execute(sa.select(CLIENT).order_by(CLIENT.c.job))
        if not client_fits(dict(row._mapping))
    ]


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
    try:
        found = blocks.verified_blocks(connection)
        stored = {(row.import_code, row.month): row.sha256 for row in found}
        kept, faults = blocks.source_faults(connection)
    except StoreDamagedError as error:
        return 0, [error.what]
    faults += [
        f"the readings of {month} in import {code} are not those that were taken in"
        for code, month in sorted(said.keys() | stored.keys())
        if said.get((code, month)) != stored.get((code, month))
    ]
    faults += [
        f"the file of import {item.code} is gone"
        for item in books.records[Import.kind].values()
        if isinstance(item, Import) and item.sha256 not in kept
    ]
    return len(stored), faults
