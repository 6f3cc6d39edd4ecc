"""Readings and source files as compressed blocks with a hash, written once."""

import hashlib
import zlib
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime
from typing import Any

import numpy as np
import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom.core.books.chain import canonical
from stockroom.core.climate.readings import Readings, joined, merge, some_rows
from stockroom.core.records import Import
from stockroom.store.mapping import damaged, decoding, select_records, table_of
from stockroom.store.tables import BlockRow, SourceFileRow
from stockroom.store.view import Head
from stockroom.text import safe

BLOCK, SOURCE, IMPORT = table_of(BlockRow), table_of(SourceFileRow), table_of(Import)

MILLI = 1000
READING_BYTES = 8 + 4 + 2 + 1
"""What a reading takes in a block that is unpacked: seconds, temperature, humidity, flags."""
_PIECE_BYTES = 1_000_000
_NO_TEMP = np.iinfo(np.int32).min
_NO_RH = np.iinfo(np.int16).min


def pack(readings: Readings) -> bytes:
    """Return readings as bytes: seconds, thousandths of °C, tenths of %RH, flags; compressed."""
    temp = np.where(
        np.isnan(readings.temp_c), _NO_TEMP, np.rint(np.nan_to_num(readings.temp_c) * MILLI)
    )
    rh = np.where(np.isnan(readings.rh_pct), _NO_RH, np.rint(np.nan_to_num(readings.rh_pct) * 10))
    steps = np.diff(readings.t_s, prepend=np.int64(0))
    parts = (
        steps.astype("<i8").tobytes(),
        temp.astype("<i4").tobytes(),
        rh.astype("<i2").tobytes(),
        readings.flag.astype("u1").tobytes(),
    )
    return zlib.compress(b"".join(parts), 6)


def unpack(data: bytes, n: int) -> Readings:
    """Return the readings that `pack` was given (temperature to 0.001 °C).

    Raises
    ------
    ValueError
        Where there are not just `n` of them.
    """
    raw = b"".join(unpacked(data, READING_BYTES * n))
    steps = np.frombuffer(raw, "<i8", n)
    temp = np.frombuffer(raw, "<i4", n, 8 * n)
    rh = np.frombuffer(raw, "<i2", n, 12 * n)
    flag = np.frombuffer(raw, "u1", n, 14 * n)
    return Readings(
        np.cumsum(steps),
        np.where(temp == _NO_TEMP, np.nan, temp / MILLI),
        np.where(rh == _NO_RH, np.nan, rh / 10),
        flag.copy(),
    )


def unpacked(data: bytes, size: int) -> Iterator[bytes]:
    """Unpack `size` bytes piece by piece: what is packed may claim to be anything.

    Raises
    ------
    ValueError
        Where it is not just so many.
    """
    unpacker, left = zlib.decompressobj(), size
    while not unpacker.eof:
        try:
            piece = unpacker.decompress(data, min(left + 1, _PIECE_BYTES))
        except zlib.error as error:
            raise ValueError("it cannot be unpacked") from error
        left, data = left - len(piece), unpacker.unconsumed_tail
        if left < 0 or not (piece or data or unpacker.eof):
            break
        yield piece
    if left or not unpacker.eof or unpacker.unused_data:
        raise ValueError("it unpacks to another size")


def is_whole(data: bytes, size: int, sha256: str) -> bool:
    """Whether a file kept compressed is what its size and hash say."""
    found = hashlib.sha256()
    try:
        for piece in unpacked(data, size):
            found.update(piece)
    except ValueError:
        return False
    return found.hexdigest() == sha256


def blocks_of(readings: Readings, place: str, import_code: str) -> list[dict[str, Any]]:
    """Return the rows of an import's readings, one per calendar month (UTC)."""
    if not len(readings):
        return []
    months = readings.t_s.astype("datetime64[s]").astype("datetime64[M]")
    starts = np.flatnonzero(np.r_[True, months[1:] != months[:-1]])
    ends = np.r_[starts[1:], len(readings)]
    rows = []
    for start, end in zip(starts.tolist(), ends.tolist(), strict=True):
        part = some_rows(readings, slice(start, end))
        data = pack(part)
        rows.append(
            {
                "import_code": import_code,
                "month": datetime.fromtimestamp(int(part.t_s[0]), UTC).strftime("%Y-%m"),
                "place": place,
                "from_s": int(part.t_s[0]),
                "to_s": int(part.t_s[-1]),
                "n": len(part),
                "data": data,
            }
        )
        rows[-1]["sha256"] = block_hash(rows[-1])
    return rows


def block_hash(row: Mapping[str, Any]) -> str:
    """Return the SHA-256 of a block: which it is, what it spans, and its bytes."""
    names = ("import_code", "month", "place", "from_s", "to_s", "n")
    says = canonical({name: row[name] for name in names})
    return hashlib.sha256(says.encode() + row["data"]).hexdigest()


def verified_blocks(
    connection: Connection, *where: sa.ColumnElement[bool]
) -> Iterator[sa.Row[Any]]:
    """Return blocks by their start, each checked against its hash.

    Raises
    ------
    StoreDamagedError
        Where a block is not what was written.
    """
    query = sa.select(BLOCK).where(*where).order_by(BLOCK.c.from_s, BLOCK.c.import_code)
    with decoding("A block of readings"):
        for row in connection.execute(query):
            what = f"The readings of {safe(row.month)} in import {safe(row.import_code)}"
            with decoding(what):
                if block_hash(dict(row._mapping)) != row.sha256:
                    raise damaged(what)
            yield row


def write_blocks(head: Head, rows: list[dict[str, Any]]) -> None:
    """Add blocks."""
    if rows:
        head.connection.execute(BLOCK.insert(), rows)
        head.count(row["sha256"] for row in rows)


def write_source(head: Head, sha256: str, name: str, data: bytes) -> None:
    """Keep a file as it came, once."""
    query = sa.select(SOURCE.c.sha256).where(SOURCE.c.sha256 == sha256)
    if head.connection.execute(query).first() is None:
        row = {"sha256": sha256, "name": name, "size": len(data), "data": zlib.compress(data, 6)}
        head.connection.execute(SOURCE.insert(), row)
        head.count([sha256])


def source_faults(connection: Connection) -> tuple[set[str], list[str]]:
    """Return the hashes of the files kept, and what is wrong with any of them."""
    kept, faults = set(), []
    with decoding("A file that was taken in"):
        for row in connection.execute(sa.select(SOURCE).order_by(SOURCE.c.sha256)):
            kept.add(row.sha256)
            if not is_whole(row.data, row.size, row.sha256):
                faults.append(f"the file {safe(row.name, length=60)} is not as it was taken in")
    return kept, faults


def read_place(connection: Connection, place: str) -> tuple[Readings, int]:
    """Return all readings of a place from the imports that stand, and how many differed.

    Where two imports differ at one instant the warmer is kept and counted.

    Raises
    ------
    StoreDamagedError
        Where a block is not what was written.
    """
    standing = select_records(
        connection, Import, IMPORT.c.place == place, IMPORT.c.withdrawn == sa.false()
    )
    codes = [item.code for item in standing]
    by_import: dict[str, list[Readings]] = {code: [] for code in codes}
    for row in verified_blocks(connection, BLOCK.c.import_code.in_(codes)):
        by_import[row.import_code].append(unpack(row.data, row.n))
    runs = [joined(parts) for parts in by_import.values()]
    if any(len(run) != item.readings for run, item in zip(runs, standing, strict=True)):
        raise damaged(f"The number of readings of place {safe(place)}")
    return merge(runs)
