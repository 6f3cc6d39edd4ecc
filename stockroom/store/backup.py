"""Backups: every act, file and reading as text lines; restoring refolds them into a new store."""

import base64
import gzip
import hashlib
import json
import os
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from stockroom.core.books.chain import GENESIS, Act, act_hash
from stockroom.core.books.fold import Books
from stockroom.errors import (
    RefusedError,
    StockroomError,
    StoreDamagedError,
    StoreNewerError,
    StoreUnwritableError,
)
from stockroom.store.blocks import BLOCK, SOURCE, block_hash
from stockroom.store.check import chain_acts
from stockroom.store.engine import reading, writing
from stockroom.store.schema import META, create_in, workshop, workshop_row
from stockroom.store.tables import SCHEMA_NUMBER
from stockroom.store.view import CLIENT, HEAD, Head, client_row, sealed_head
from stockroom.text import safe

BACKUP_FORMAT = "stockroom.backup/1"

Line = dict[str, Any]


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup holds: how many acts, up to which hash; and what is not in it.

    `left_out` counts customers' references that were changed from outside: nothing tells what
    they were.
    """

    path: str
    acts: int
    files: int
    blocks: int
    head: str
    left_out: int = 0


def back_up(engine: Engine, path: Path) -> BackupReport:
    """Write a whole backup of one state of the store; the chain is checked on the way.

    The same books make the same bytes, on either database.

    Raises
    ------
    RefusedError
        Where the file is there already.
    StoreDamagedError
        Where the chain does not hold: no backup is made of damaged books.
    StoreUnwritableError
        Where the file cannot be written.
    """
    with _file_trouble(path):
        if path.exists():
            raise RefusedError(
                f"{safe(path)} is there already.",
                "A backup never replaces another.",
                "Name a new one.",
            )
        part = path.with_name(path.name + ".part")
        try:
            with part.open("wb") as raw:
                with gzip.GzipFile("", "wb", mtime=0, fileobj=raw) as file:
                    report = _write(engine, file, path)
                raw.flush()
                os.fsync(raw.fileno())
            part.replace(path)
        finally:
            part.unlink(missing_ok=True)
    return report


@contextmanager
def _file_trouble(path: Path) -> Iterator[None]:
    """Turn what goes wrong with a backup's own file into what happened and what to try."""
    try:
        yield
    except (OSError, ValueError) as error:
        raise StoreUnwritableError(
            f"The backup {safe(path)} cannot be written.",
            f"{safe(getattr(error, 'strerror', None) or error)}.",
            "Name another folder.",
        ) from error


def _write(engine: Engine, file: gzip.GzipFile, path: Path) -> BackupReport:
    with reading(engine) as connection:
        head = sealed_head(connection.execute(sa.select(HEAD)).one())
        zone, currency = workshop(connection)
        files, blocks = (_count(connection, table) for table in (SOURCE, BLOCK))
        clients = len(_clients(connection))
        left_out = _count(connection, CLIENT) - clients
        lines = iter(
            [
                {
                    "format": BACKUP_FORMAT,
                    "schema": SCHEMA_NUMBER,
                    "zone": zone,
                    "currency": currency,
                    "seq": head.seq,
                    "head": head.hash,
                    "next_number": head.next_number,
                    "acts": head.seq,
                    "files": files,
                    "blocks": blocks,
                    "clients": clients,
                }
            ]
        )
        for some in (lines, _lines_of(connection)):
            for line in some:
                text = json.dumps(line, sort_keys=True, ensure_ascii=False)
                with _file_trouble(path):
                    file.write((text + "\n").encode())
    return BackupReport(str(path), head.seq, files, blocks, head.hash, left_out)


def _count(connection: Connection, table: sa.Table) -> int:
    count: int = connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()
    return count


def _lines_of(connection: Connection) -> Iterator[Line]:
    """Acts in their order, then files, blocks and references by their keys, each verified."""
    for act in chain_acts(connection):
        yield {"act": {name: getattr(act, name) for name in Act.__slots__}}
    bytewise = "C" if connection.dialect.name == "postgresql" else "BINARY"
    for name, table in (("file", SOURCE), ("block", BLOCK)):
        order = [sa.collate(column, bytewise) for column in table.primary_key]
        for row in connection.execute(sa.select(table).order_by(*order)):
            plain = dict(row._mapping)
            if not _fits(name, plain):
                raise StoreDamagedError(
                    f"A {name} of readings is not what was taken in.",
                    "The store was changed from outside, or the disk has damaged it.",
                    "Run: stockroom check. Then restore the last backup.",
                )
            yield {name: {**plain, "data": base64.b64encode(plain["data"]).decode()}}
    for client in _clients(connection):
        yield {"client": client}


def _clients(connection: Connection) -> list[Line]:
    """Customers' references as they were written; one that was changed since cannot be healed."""
    bytewise = "C" if connection.dialect.name == "postgresql" else "BINARY"
    rows = connection.execute(sa.select(CLIENT).order_by(sa.collate(CLIENT.c.job, bytewise)))
    return [plain for row in rows if _fits("client", plain := dict(row._mapping))]


def _fits(name: str, plain: Line) -> bool:
    """Whether a file, a block or a customer's reference is what its hash says."""
    try:
        if name == "client":
            return client_row(plain["job"], plain["reference"]) == plain
        if name == "block":
            return block_hash(plain) == str(plain["sha256"])
        data = zlib.decompress(plain["data"])
        whole: bool = hashlib.sha256(data).hexdigest() == plain["sha256"]
        return whole and len(data) == int(plain["size"])
    except (KeyError, TypeError, ValueError, zlib.error):
        return False


def restore(path: Path, engine: Engine) -> BackupReport:
    """Make a new store from a backup by folding every act again.

    The whole backup is read and verified before the store is touched.

    Raises
    ------
    RefusedError
        Where the store to restore into holds acts already.
    StoreDamagedError
        Where the backup is cut, changed, or none of ours.
    StoreNewerError
        Where a newer version of the program wrote it.
    """
    first = _verified(path)
    books = Books()
    with writing(engine) as connection:
        create_in(connection, first["zone"], first["currency"])
        head = Head(connection)
        if head.seq:
            raise RefusedError(
                "There are books in that store already.",
                "Restoring never replaces books.",
                "Give --store a new file or an empty database.",
            )
        connection.execute(META.update().values(**workshop_row(first["zone"], first["currency"])))
        head.next_number = first["next_number"]
        for name, plain in _entries(path):
            if name == "act":
                act = Act(**plain)
                try:
                    changes = books.do(act)
                except StockroomError as error:
                    raise _bad(path, f"Act {act.seq} cannot be folded.") from error
                head.lay(act, changes)
            elif name == "client":
                head.write_client(plain["job"], plain["reference"])
            else:
                connection.execute((SOURCE if name == "file" else BLOCK).insert(), plain)
                head.count([plain["sha256"]])
        head.keep()
        if head.hash != first["head"]:
            raise _bad(path, "It was changed while it was read.")
    return BackupReport(str(path), first["acts"], first["files"], first["blocks"], head.hash)


def _verified(path: Path) -> Line:
    """Return a backup's first line, once all that follows is what it promises."""
    with _reading_trouble(path):
        first = next(_lines(path), {})
        if first.get("format") != BACKUP_FORMAT:
            raise _bad(path, "It does not begin as a backup of ours does.")
        if first["schema"] > SCHEMA_NUMBER:
            raise StoreNewerError(
                f"{safe(path)} was written by a newer version.",
                f"It has schema {first['schema']}; this version knows up to {SCHEMA_NUMBER}.",
                "Install the newer version.",
            )
        counts, last = {"act": 0, "file": 0, "block": 0, "client": 0}, GENESIS
        for name, plain in _entries(path):
            counts[name] += 1
            if name == "act":
                act = Act(**plain)
                last = act_hash(last, act)
                whole = act.seq == counts["act"]
            else:
                whole = _fits(name, plain)
            if not whole:
                raise _bad(path, "It is cut short, or was changed.")
        expected = {"act": first["acts"], "file": first["files"], "block": first["blocks"]}
        expected["client"] = first.get("clients", 0)  # older backups have none
        said = [first["zone"], first["currency"], first["head"], first["next_number"]]
        if counts != expected or [type(item) for item in said] != [str, str, str, int]:
            raise _bad(path, "It is cut short, or was changed.")
        if last != first["head"]:
            raise _bad(path, "It is cut short, or was changed.")
    return first


@contextmanager
def _reading_trouble(path: Path) -> Iterator[None]:
    """Whatever goes wrong with a backup that is read becomes one error."""
    try:
        yield
    except FileNotFoundError as error:
        raise _bad(path, "There is no such file.") from error
    except (EOFError, OSError, KeyError, TypeError, ValueError, AttributeError) as error:
        raise _bad(path, "It is cut short, or was changed.") from error
    except (zlib.error, RecursionError, MemoryError) as error:
        raise _bad(path, "It is cut short, or was changed.") from error


def _lines(path: Path) -> Iterator[Line]:
    with _reading_trouble(path), gzip.open(path, "rb") as file:
        for raw in file:
            line = json.loads(raw)
            if not isinstance(line, dict):
                raise _bad(path, "A line in it is none of ours.")
            yield line


def _entries(path: Path) -> Iterator[tuple[str, Line]]:
    """Acts, files and blocks of a backup, in its order."""
    lines = _lines(path)
    next(lines, None)
    for line in lines:
        ((name, plain),) = line.items()
        if "data" in plain:
            plain["data"] = base64.b64decode(plain["data"])
        yield name, plain


def _bad(path: Path, why: str) -> StoreDamagedError:
    return StoreDamagedError(
        f"{safe(path)} cannot be restored.", why, "Take another backup; nothing was changed."
    )
