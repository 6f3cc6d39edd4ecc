"""A SQLite file opened to work in, or only to look where this account cannot write."""

import os
import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, NamedTuple

from stockroom.errors import StoreError, StoreUnwritableError
from stockroom.plain_files import opens_store, store_files
from stockroom.text import safe

OPENING_S = 2.0
"""How long a file that others are just opening or closing is tried for, s (our choice)."""
WORKING = (
    "PRAGMA journal_mode = WAL",
    "PRAGMA synchronous = FULL",
    "PRAGMA foreign_keys = ON",
    "PRAGMA recursive_triggers = ON",
    "PRAGMA secure_delete = ON",
)
"""WAL and FULL: a commit survives a crash and a power cut. Triggers hold on REPLACE too. What is
deleted is overwritten."""
ROOMLESS = (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_IOERR, sqlite3.SQLITE_FULL,
            sqlite3.SQLITE_CANTOPEN)  # fmt: skip
"""What SQLite says where it cannot lay its log beside the file."""


class State(NamedTuple):
    """A file as it was seen: its number, size in bytes, last writing in ns, and owner."""

    number: int
    size: int
    written_ns: int
    owner: int


class Looking(sqlite3.Connection):
    """A connection that only reads, for one transaction; it leaves nothing beside the file.

    Where all of the books are in the file itself, it is read without a lock, since a lock needs a
    file beside it. So it is watched: what was read while another account wrote is no state of the
    books, and is refused.
    """

    path: Path
    why: str
    state: State | None = None

    @contextmanager
    def undisturbed(self) -> Iterator[None]:
        """Refuse what is read in here where the file was written to meanwhile.

        Raises
        ------
        StoreError
            Where it was.
        """
        try:
            yield
        finally:
            if self.state is not None and _state(self.path) != self.state:
                raise StoreError(
                    "The store was written to while it was read.",
                    "This account cannot write there, so it reads without a lock.",
                    "Try again.",
                )

    def refuse(self) -> None:
        """Say why nothing can be written.

        Raises
        ------
        StoreUnwritableError
            Always.
        """
        raise StoreUnwritableError(
            "The store can be read, but not written; nothing was changed.",
            f"{self.why}.",
            "Look at free space, and at the write permission of the file and its folder.",
        )


def opened(path: Path, **options: Any) -> sqlite3.Connection:
    """Open a file to work in; where this account cannot, to look at.

    A file that is not there is made, for this account alone: the log beside it is as private.

    Parameters
    ----------
    **options
        Of `sqlite3.connect`.

    Raises
    ------
    StoreUnwritableError
        Where it cannot even be looked at.
    """
    path = path.resolve()
    opens_store(path)
    with suppress(FileExistsError):
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    if not may_write(path):
        return look(path, "This account may not write the file, or not beside it", **options)
    try:
        connection = working(str(path), **options)
    except sqlite3.OperationalError as error:
        if error.sqlite_errorcode & 0xFF not in ROOMLESS:
            raise
        detail = safe(error)
        return look(path, f"{detail[:1].upper()}{detail[1:]}", **options)
    _share(path)
    return connection


def working(database: str, **options: Any) -> sqlite3.Connection:
    """Open a file, or a database in memory, to work in."""
    connection: sqlite3.Connection = sqlite3.connect(database, **options)
    try:
        connection.isolation_level = None
        for pragma in WORKING:
            connection.execute(pragma)
    except BaseException:
        connection.close()
        raise
    return connection


def may_write(path: Path) -> bool:
    """Return whether this account may write the file, and lay its log beside it."""
    real = path.resolve()
    return os.access(real, os.W_OK) and os.access(real.parent, os.W_OK | os.X_OK)


def look(path: Path, why: str, **options: Any) -> Looking:
    """Open a file only to look at it; nothing is made beside it.

    Parameters
    ----------
    why : str
        Why it is only looked at.
    **options
        Of `sqlite3.connect`.

    Raises
    ------
    StoreUnwritableError
        Where that cannot be done.
    """
    path, until = path.resolve(), time.monotonic() + OPENING_S
    if not os.access(path, os.R_OK):
        raise StoreUnwritableError(
            f"This account may not read {safe(path)}.", try_="Ask its owner, or name another store."
        )
    _, log, _ = store_files(path)
    while True:
        state, found = _state(path), _state(log)
        try:
            if found is None or found.size == 0:  # all is in the file itself
                return _looking(path, why, state, "mode=ro&immutable=1", **options)
            return _looking(path, why, None, "mode=ro&readonly_shm=1", **options)
        except sqlite3.OperationalError as error:
            if found is None or found.size == 0:
                raise
            _clear(log, found, state)
            if time.monotonic() > until:
                raise StoreUnwritableError(
                    f"{safe(path)} cannot be looked at: its last acts are still in the log beside "
                    "it.",
                    f"This account cannot bring them in ({safe(error)}).",
                    "Let its owner open it once, with room on the disk: stockroom check.",
                ) from error
            time.sleep(0.02)  # its owner is just opening or closing it


def glanced(path: Path, **options: Any) -> Looking:
    """Open a file for one quick look, by an account that may write it or may not."""
    if may_write(path):
        return _looking(path.resolve(), "", None, "mode=ro", **options)
    return look(path, "", **options)


def _looking(path: Path, why: str, state: State | None, how: str, **options: Any) -> Looking:
    opens_store(path)
    address = f"{path.as_uri()}?{how}"
    connection: Looking = sqlite3.connect(address, uri=True, factory=Looking, **options)
    try:
        connection.isolation_level = None
        connection.path, connection.why, connection.state = path, why, state
        connection.execute("SELECT 1 FROM sqlite_master").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _state(path: Path) -> State | None:
    """What tells whether a file is still the same, and was not written to."""
    try:
        stat = path.stat()
    except FileNotFoundError:
        return None
    return State(stat.st_ino, stat.st_size, stat.st_mtime_ns, stat.st_uid)


def _clear(log: Path, found: State, store: State | None) -> None:
    """Take away the empty log that a look makes where the owner has just closed the file."""
    made = _state(log)
    if made is None or store is None or made.size or made.number == found.number:
        return
    if made.owner == os.geteuid() != store.owner:
        log.unlink(missing_ok=True)


def _share(path: Path) -> None:
    """What lies beside the store of a group belongs to that group, whoever opened it first."""
    store = path.stat()
    for beside in store_files(path)[1:]:
        with suppress(OSError):
            mine = beside.stat()
            if mine.st_uid == os.geteuid() != store.st_uid and mine.st_gid != store.st_gid:
                os.chown(beside, -1, store.st_gid)
