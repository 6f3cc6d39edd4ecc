"""Backups: every act, file and reading as text lines; restoring refolds them into a new store."""

import base64
import gzip
import json
import os
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any, BinaryIO

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from stockroom.clock import local_date
from stockroom.core.books.chain import GENESIS, Act, act_hash, plain_act
from stockroom.core.books.fold import Books
from stockroom.errors import (
    ImportProblem,
    RefusedError,
    StockroomError,
    StoreDamagedError,
    StoreNewerError,
    StoreUnwritableError,
)
from stockroom.plain_files import MAX_FILE_BYTES, bounded_json, is_missing, open_plain
from stockroom.store.blocks import BLOCK, READING_BYTES, SOURCE, block_hash, is_whole, unpacked
from stockroom.store.check import chain_acts
from stockroom.store.engine import reading, store_trouble, writing
from stockroom.store.mapping import MOST_ACT_MARKS, UNREADABLE, damaged
from stockroom.store.schema import META, create_in, workshop, workshop_row
from stockroom.store.sums import sum_of
from stockroom.store.tables import SCHEMA_NUMBER
from stockroom.store.view import CLIENT, Head, client_fits, head_of
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY
from stockroom.writing import file_trouble, synced, whole_file

BACKUP_FORMAT = "stockroom.backup/1"

DIGEST_BYTES = {"act": 32, "file": 32, "block": 32, "client": 8}
"""Each entry holds a digest of so many bytes, which no packing makes smaller."""
LONGEST_LINE_BYTES, LINE_TIMES = 24_000_000, 4
"""Longest line: so many bytes, and so many times the whole file (our choice: an act that takes in
20 000 rolls has 15 million; a file that was taken in is packed already, so it hardly shrinks)."""
MOST_MARKS = MOST_ACT_MARKS + 100_000
"""Most brackets, commas and colons of a line (that act has 1.5 million)."""
MOST_BYTES, MOST_TIMES = 64_000_000, 50
"""All its lines together: so many bytes, and so many times the whole file (our choice: acts shrink
to a twentieth)."""
MOST_PACKED_BYTES, PACKED_TIMES = 1_000_000_000, 200
"""All that is packed in them, which is only streamed: as above (our choice: readings shrink to a
thirtieth; those of a logger that stands at one figure, to a three-hundredth; 1 GB is 30 million of
these, and takes 3 s)."""
MONTH_READINGS = 31 * SECONDS_PER_DAY
"""Most readings of a block, one each second of a month."""
_TOO_MUCH = "It unpacks to more than a backup of its size can hold."
_CHANGED = "It is cut short, or was changed."

Line = dict[str, Any]


@dataclass(frozen=True, slots=True)
class BackupReport:
    """What a backup holds: how many acts, up to which hash; and what is not in it.

    `left_out` counts customers' references that were changed from outside, and `some_missing`
    tells that some are gone: nothing tells what they were.
    """

    path: str
    acts: int
    files: int
    blocks: int
    head: str
    left_out: int = 0
    some_missing: bool = False


def back_up(engine: Engine, path: Path) -> BackupReport:
    """Write a whole backup of one state of the store; the chain is checked on the way.

    The same books make the same bytes, on either database. It is read back from the disk before it
    takes its name, and only this account may read it.

    Raises
    ------
    BadValueError
        Where there is no such folder.
    RefusedError
        Where the file is there already.
    StoreDamagedError
        Where the chain does not hold: no backup is made of damaged books.
    StoreUnwritableError
        Where the file cannot be written, or was not kept as it was written.
    """
    with whole_file(path, private=True) as file:
        with gzip.GzipFile("", "wb", mtime=0, fileobj=file) as packed:
            report = _write(engine, packed, path)
        synced(file)
        _see_kept(path, file, report)
    return report


def _see_kept(path: Path, file: BinaryIO, report: BackupReport) -> None:
    """Read a backup back, from the disk where the system lets us, before it is acknowledged."""
    if hasattr(os, "posix_fadvise"):
        os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
    what = f"The backup {safe(path)} was not made."
    try:
        if _verified(path, file)["head"] == report.head:
            return
    except StoreDamagedError as error:
        if error.why == _TOO_MUCH:
            raise StoreUnwritableError(
                what,
                "The books are whole, but it would not be restored: it unpacks to too much.",
                "Copy the store itself while nobody works in it.",
            ) from error
    raise StoreUnwritableError(
        what,
        "Read back, it was not what had been written.",
        "Name a folder on another disk; look whether this one is failing.",
    )


def _write(engine: Engine, file: gzip.GzipFile, path: Path) -> BackupReport:
    with reading(engine) as connection:
        head = head_of(connection)
        zone, currency = workshop(connection)
        files, blocks = (_count(connection, table) for table in (SOURCE, BLOCK))
        clients = len(_clients(connection))
        left_out = _count(connection, CLIENT) - clients
        seals = connection.execute(sa.select(CLIENT.c.seal)).scalars()
        some_missing = sum_of(seals) != int(head.clients_sum, 16)
        first: Line = {
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
        for line in chain([first], _lines_of(connection)):
            text = json.dumps(line, sort_keys=True, ensure_ascii=False)
            with file_trouble(path):
                file.write((text + "\n").encode())
    return BackupReport(str(path), head.seq, files, blocks, head.hash, left_out, some_missing)


def _count(connection: Connection, table: sa.Table) -> int:
    count: int = connection.execute(sa.select(sa.func.count()).select_from(table)).scalar_one()
    return count


def _lines_of(connection: Connection) -> Iterator[Line]:
    """Acts in their order, then files, blocks and references by their keys, each verified."""
    taken_in = _TakenIn()
    for act in chain_acts(connection):
        taken_in.said(act)
        yield {"act": plain_act(act)}
    bytewise = "C" if connection.dialect.name == "postgresql" else "BINARY"
    for name, table in (("file", SOURCE), ("block", BLOCK)):
        order = [sa.collate(column, bytewise) for column in table.primary_key]
        for row in connection.execute(sa.select(table).order_by(*order)):
            plain = dict(row._mapping)
            if not _fits(name, plain):
                raise damaged(f"A {name} of readings")
            yield {name: {**plain, "data": base64.b64encode(plain["data"]).decode()}}
            taken_in.came(name, plain)
    if taken_in.lacking:
        raise StoreDamagedError(
            f"No backup can be made: {taken_in.lacking}.",
            "The store was changed from outside, or the disk has damaged it.",
            "Restore the last backup; enter what came after it again.",
        )
    for client in _clients(connection):
        yield {"client": client}


class _TakenIn:
    """What acts took in of files and readings, held against those that are there."""

    def __init__(self) -> None:
        self.files: dict[str, str] = {}
        self.blocks: dict[tuple[str, str], str] = {}

    def said(self, act: Act) -> None:
        """Hear an act."""
        if act.kind == "readings":
            code, file = act.payload["import"]["code"], act.payload["import"]
            self.files[file["sha256"]] = code
            self.blocks |= {(code, month): sha for month, sha in act.payload["blocks"].items()}

    def came(self, name: str, plain: Line) -> None:
        """Take note of a file or a block that is there, as it was taken in."""
        if name == "file":
            self.files.pop(plain["sha256"], None)
        elif name == "block":
            key = plain["import_code"], plain["month"]
            if self.blocks.get(key) == plain["sha256"]:
                del self.blocks[key]

    @property
    def lacking(self) -> str:
        """What is not there, in words; "" where all is."""
        for code, month in self.blocks:
            return f"the readings of {safe(month)} in import {safe(code)} are not there"
        for code in self.files.values():
            return f"the file of import {safe(code)} is not there"
        return ""


def _clients(connection: Connection) -> list[Line]:
    """Customers' references as they were written; one that was changed since cannot be healed."""
    bytewise = "C" if connection.dialect.name == "postgresql" else "BINARY"
    rows = connection.execute(sa.select(CLIENT).order_by(sa.collate(CLIENT.c.job, bytewise)))
    return [plain for row in rows if _fits("client", plain := dict(row._mapping))]


def _fits(name: str, plain: Line) -> bool:
    """Whether a file, a block or a customer's reference is what its hash says."""
    try:
        if name == "client":
            return client_fits(plain)
        if name == "block":
            for _ in unpacked(plain["data"], READING_BYTES * plain["n"]):
                pass
            return block_hash(plain) == str(plain["sha256"])
        if name == "file":
            return is_whole(plain["data"], plain["size"], plain["sha256"])
        return False
    except (KeyError, TypeError, ValueError):
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
        lines = _lines(path)
        next(lines, None)
        for name, plain in map(_entry, lines):
            if name == "act":
                act = Act(**plain)
                try:
                    changes = books.do(act)
                except (StockroomError, *UNREADABLE, LookupError, ArithmeticError) as error:
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


def _verified(path: Path, file: BinaryIO | None = None) -> Line:
    """Return a backup's first line, once all that follows is what it promises.

    It is read line by line, from its file where that is open already.
    """
    with _reading_trouble(path):
        lines = _lines(path, file)
        first = next(lines, {})
        if first.get("format") != BACKUP_FORMAT:
            raise _bad(path, "It does not begin as a backup of ours does.")
        if first["schema"] > SCHEMA_NUMBER:
            raise StoreNewerError(
                f"{safe(path)} was written by a newer version.",
                f"It has schema {first['schema']}; this version knows up to {SCHEMA_NUMBER}.",
                "Install the newer version.",
            )
        expected = {"act": first["acts"], "file": first["files"], "block": first["blocks"]}
        expected["client"] = first.get("clients", 0)  # older backups have none
        said = [first["zone"], first["currency"], first["head"], first["next_number"]]
        if [type(item) for item in said] != [str, str, str, int]:
            raise _bad(path, _CHANGED)
        local_date(0, first["zone"])
        size = path.stat().st_size if file is None else os.fstat(file.fileno()).st_size
        if sum(DIGEST_BYTES[name] * count for name, count in expected.items()) > size:
            raise _bad(path, "It promises more than so small a file can hold.")
        counts, last, taken_in = dict.fromkeys(expected, 0), GENESIS, _TakenIn()
        left = MOST_PACKED_BYTES + PACKED_TIMES * size
        for name, plain in map(_entry, lines):
            counts[name] += 1
            left -= _unpacked_size(name, plain)
            if left < 0:
                raise _bad(path, _TOO_MUCH)
            if name == "act":
                act = Act(**plain)
                last = act_hash(last, act)
                whole = act.seq == counts["act"]
                taken_in.said(act)
            else:
                whole = _fits(name, plain)
                taken_in.came(name, plain)
            if not whole or counts[name] > expected[name]:
                raise _bad(path, _CHANGED)
        if counts != expected:
            raise _bad(path, _CHANGED)
        if last != first["head"]:
            raise _bad(path, _CHANGED)
        if taken_in.lacking:
            raise _bad(path, f"In it {taken_in.lacking}.")
    return first


@contextmanager
def _reading_trouble(path: Path) -> Iterator[None]:
    """Whatever is wrong with a backup that is read becomes one error; too little memory is not."""
    with store_trouble():
        try:
            yield
        except ImportProblem as error:
            why = "There is no such file." if is_missing(error) else f"{error.what} {error.why}"
            raise _bad(path, why) from error
        except (EOFError, OSError, *UNREADABLE, zlib.error) as error:
            raise _bad(path, _CHANGED) from error


def _lines(path: Path, file: BinaryIO | None = None) -> Iterator[Line]:
    """The lines of a backup, none longer, nor all together, than those of one of ours can be."""
    with (
        _reading_trouble(path),
        open_plain(path) if file is None else nullcontext(file) as packed,
        gzip.GzipFile(fileobj=packed, mode="rb") as unpacked_file,
    ):
        packed.seek(0)
        size = os.fstat(packed.fileno()).st_size
        longest, left = LONGEST_LINE_BYTES + LINE_TIMES * size, MOST_BYTES + MOST_TIMES * size
        while raw := unpacked_file.readline(min(longest, left) + 1):
            left -= len(raw)
            if len(raw) > longest or left < 0:
                raise _bad(path, _TOO_MUCH)
            line = bounded_json(raw, MOST_MARKS)
            if not isinstance(line, dict):
                raise _bad(path, "A line in it is none of ours.")
            yield line


def _unpacked_size(name: str, plain: Line) -> int:
    """How many bytes a file or a block claims to hold, each of a size that can be."""
    count, most = 0, 0
    if name == "file":
        count, most = plain["size"], MAX_FILE_BYTES
    elif name == "block":
        count, most = plain["n"] * READING_BYTES, MONTH_READINGS * READING_BYTES
    if type(count) is not int or not 0 <= count <= most:
        raise ValueError("no size of a file or a block")
    return count


def _entry(line: Line) -> tuple[str, Line]:
    """An act, a file, a block or a customer's reference, as a line of a backup has it."""
    ((name, plain),) = line.items()
    if "data" in plain:
        plain["data"] = base64.b64decode(plain["data"])
    return name, plain


def _bad(path: Path, why: str) -> StoreDamagedError:
    return StoreDamagedError(
        f"{safe(path)} cannot be restored.", why, "Take another backup; nothing was changed."
    )
