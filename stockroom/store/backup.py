"""Backups: every act, file and reading as text lines; restoring refolds them into a new store."""

import base64
import gzip
import json
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import sqlalchemy as sa
from sqlalchemy.engine import Engine

from stockroom.core.books.chain import Act
from stockroom.core.books.fold import Books
from stockroom.errors import RefusedError, StoreDamagedError, StoreUnwritableError
from stockroom.store.blocks import BLOCK, SOURCE
from stockroom.store.check import chain_acts
from stockroom.store.engine import reading, store_trouble, writing
from stockroom.store.mapping import ACT
from stockroom.store.schema import META, create_in
from stockroom.store.view import HEAD, Head
from stockroom.text import safe

BACKUP_FORMAT = "stockroom.backup/1"


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup holds: how many acts, up to which hash."""

    path: str
    acts: int
    files: int
    blocks: int
    head: str


def back_up(engine: Engine, path: Path) -> BackupReport:
    """Write a whole backup of one state of the store; the chain is checked on the way.

    Raises
    ------
    StoreDamagedError
        Where the chain does not hold: no backup is made of damaged books.
    StoreUnwritableError
        Where the file cannot be written, or is there already.
    """
    if path.exists():
        raise RefusedError(
            f"{safe(path)} is there already.", "A backup never replaces another.", "Name a new one."
        )
    part = path.with_name(path.name + ".part")
    try:
        with store_trouble(), gzip.GzipFile(part, "wb", mtime=0) as file:
            report = _write(engine, file, path)
        part.replace(path)
    except OSError as error:
        raise StoreUnwritableError(
            f"The backup {safe(path)} cannot be written.",
            f"{error.strerror}.",
            "Name another folder.",
        ) from error
    finally:
        part.unlink(missing_ok=True)
    return report


def _write(engine: Engine, file: gzip.GzipFile, path: Path) -> BackupReport:
    with reading(engine) as connection:
        head = connection.execute(sa.select(HEAD)).one()
        meta = connection.execute(sa.select(META)).one()
        counts = {
            name: connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()
            for name, table in (("acts", ACT), ("files", SOURCE), ("blocks", BLOCK))
        }
        first = {
            "format": BACKUP_FORMAT,
            "schema": meta.schema_number,
            "zone": meta.workshop_zone,
            "currency": meta.currency,
            "seq": head.seq,
            "head": head.hash,
            "next_number": head.next_number,
            **counts,
        }
        _line(file, first)
        for act in chain_acts(connection):
            _line(file, {"act": {name: getattr(act, name) for name in Act.__slots__}})
        for name, table in (("file", SOURCE), ("block", BLOCK)):
            for row in connection.execute(sa.select(table)):
                plain = dict(row._mapping)
                plain["data"] = base64.b64encode(plain["data"]).decode()
                _line(file, {name: plain})
    return BackupReport(str(path), counts["acts"], counts["files"], counts["blocks"], head.hash)


def _line(file: gzip.GzipFile, value: dict[str, Any]) -> None:
    file.write((json.dumps(value, sort_keys=True, ensure_ascii=False) + "\n").encode())


def restore(path: Path, engine: Engine) -> BackupReport:
    """Make a new store from a backup by folding every act again.

    Raises
    ------
    RefusedError
        Where the store to restore into holds acts already.
    StoreDamagedError
        Where the backup is cut, changed, or none of ours.
    """
    with _opened(path) as file:
        lines = _lines(file, path)
        first = next(lines, {})
        if first.get("format") != BACKUP_FORMAT:
            raise _bad(path, "It does not begin as a backup of ours does.")
        with writing(engine) as connection:
            create_in(connection, first["zone"], first["currency"])
            head = Head(connection)
            if head.seq:
                raise RefusedError(
                    "There are books in that store already.",
                    "Restoring never replaces books.",
                    "Give --store a new file or an empty database.",
                )
            head.next_number = first["next_number"]
            counts = {"act": 0, "file": 0, "block": 0}
            books = Books()
            for line in lines:
                ((name, plain),) = line.items()
                counts[name] += 1
                if name == "act":
                    act = Act(**plain)
                    head.lay(act, books.do(act))
                else:
                    plain["data"] = base64.b64decode(plain["data"])
                    connection.execute((SOURCE if name == "file" else BLOCK).insert(), plain)
            expected = {"act": first["acts"], "file": first["files"], "block": first["blocks"]}
            if head.hash != first["head"] or counts != expected:
                raise _bad(path, "It is cut short, or was changed.")
    return BackupReport(str(path), counts["act"], counts["file"], counts["block"], head.hash)


@contextmanager
def _opened(path: Path) -> Iterator[IO[bytes]]:
    """A backup file open for reading; whatever goes wrong with it becomes one error."""
    try:
        with gzip.open(path, "rb") as file:
            yield file  # type: ignore[misc]
    except FileNotFoundError as error:
        raise _bad(path, "There is no such file.") from error
    except (EOFError, OSError, KeyError, TypeError, ValueError, zlib.error) as error:
        raise _bad(path, "It is cut short, or was changed.") from error


def _lines(file: IO[bytes], path: Path) -> Iterator[dict[str, Any]]:
    for raw in file:
        line = json.loads(raw)
        if not isinstance(line, dict):
            raise _bad(path, "A line in it is none of ours.")
        yield line


def _bad(path: Path, why: str) -> StoreDamagedError:
    return StoreDamagedError(
        f"{safe(path)} cannot be restored.", why, "Take another backup; nothing was changed."
    )
