"""Connections to SQLite or PostgreSQL that never lose what was acknowledged."""

import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager, nullcontext
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import Connection, Engine

from stockroom.errors import (
    BadValueError,
    CommitUnknownError,
    StockroomError,
    StoreDamagedError,
    StoreError,
    StoreMissingError,
    StoreUnwritableError,
)
from stockroom.plain_files import home_path
from stockroom.store.opening import Looking, opened, working
from stockroom.text import capital, safe, without_secrets

BUSY_TIMEOUT_S = 30
"""How long a writer waits for another one, seconds (our choice)."""

WRITE_OPTION = "stockroom_write"


SHOWN_OPTIONS = ("host", "port", "sslmode", "application_name", "connect_timeout")
"""What of a URL's options is shown; all else may be a secret."""
PORTS = range(1, 65_536)
"""What a port can be."""

_SCHEME = re.compile(r"\s*(postgres\w*|sqlite\w*|file)(\+\w+)?(:|//)", re.IGNORECASE)
_SECRET = re.compile(r":[^/]*@|password\s*=", re.IGNORECASE)


def url_of(store: str) -> sa.URL:
    """Return the SQLAlchemy URL of a store named by a path or a URL.

    Raises
    ------
    BadValueError
        Where it names a store in memory, which would not stay.
    StoreMissingError
        Where the text is no path and no URL we know. What is said of it never holds the part of a
        URL that may be a password.

    >>> url_of("studio.stockroom").drivername
    'sqlite'
    """
    if "://" not in store:
        path = home_path(store)
        if not store.strip() or store.strip() == ":memory:":
            raise _fleeting()
        if "\0" in store or _SCHEME.match(store) or (_SECRET.search(store) and not path.exists()):
            raise _no_store(store)
        return sa.URL.create("sqlite", database=str(path))
    try:
        url = sa.make_url(store)
    except (sa.exc.ArgumentError, ValueError):  # the latter for a port that is no number
        raise _no_store(store) from None  # the cause would tell the password
    if url.drivername in ("postgresql", "postgres"):
        url = url.set(drivername="postgresql+psycopg")
    backend = url.get_backend_name()
    named = url.drivername in ("sqlite", "sqlite+pysqlite", "postgresql+psycopg")
    if not named or "\0" in store or (url.port not in PORTS and url.port is not None):
        raise _no_store(store)
    if backend == "postgresql" and set(f"{url.host}{url.database}") & set("@?&="):
        raise _no_store(store)  # a part stands where another belongs
    if backend == "sqlite":
        if url.host or url.username or url.password or url.port:
            raise _no_store(store)
        fleeting = url.query.get("mode") == "memory" or url.query.get("vfs") == "memdb"
        if not url.database or ":memory:" in url.database or fleeting:
            raise _fleeting()
    return url


def _no_store(store: str) -> StoreMissingError:
    return StoreMissingError(
        f"{_without_secrets(store)!r} names no store.",
        "A path, or a URL is wanted: sqlite:///PATH or postgresql://NAME@HOST:PORT/DATABASE, its "
        f"port from {PORTS[0]} to {PORTS[-1]}.",
        "Give --store a file name, such as studio.stockroom.",
    )


def _fleeting() -> BadValueError:
    return BadValueError(
        "A store in memory is gone when the command ends.",
        "Nothing that was entered into it would be kept.",
        "Give --store a file name, such as studio.stockroom.",
    )


def _without_secrets(store: str) -> str:
    """What of a mistyped store may be shown: its begin, and what follows the name and password.

    >>> _without_secrets("postgres//ines:secret@db.example/studio"), _without_secrets("http://x/y")
    ('postgres//…@db.example/studio', 'http://…')
    """
    start = re.match(r"\s*[\w+]*(:/+|//+)|", store)
    begins = start[0].strip() if start else ""
    before, at, after = store[len(begins) :].rpartition("@")
    if at and "?" not in before and "=" not in store:
        return safe(f"{begins}…@{after.partition('?')[0]}", length=60)
    return safe(f"{begins}…")


def shown_url(url: sa.URL) -> str:
    """Return where a store is, without its password."""
    if url.get_backend_name() == "sqlite":
        return url.database or ""
    shown = {name: url.query[name] if name in SHOWN_OPTIONS else "hidden" for name in url.query}
    return url.set(query=shown).render_as_string(hide_password=True)


def make_engine(url: sa.URL) -> Engine:
    """Return an engine with our transactions: one writer at a time, each commit on the disk."""
    if url.get_backend_name() == "sqlite":
        engine = sa.create_engine(url, connect_args={"timeout": BUSY_TIMEOUT_S})
        event.listen(engine, "do_connect", _opener())
        event.listen(engine, "connect", _note_file)
        event.listen(engine, "checkout", _see_same_file)
        event.listen(engine, "begin", _begin_sqlite)
        event.listen(engine, "checkin", _let_go)
        return engine
    from stockroom.store import postgres

    engine = sa.create_engine(
        url,
        isolation_level="READ COMMITTED",
        pool_pre_ping=True,
        connect_args=postgres.waits(url),
    )
    event.listen(engine, "do_connect", postgres.connect)
    event.listen(engine, "connect", postgres.prepare)
    event.listen(engine, "begin", _begin_postgresql)
    return engine


def _opener() -> Callable[..., sqlite3.Connection]:
    """Return what opens a file for one engine: made where it is not there, but once only."""
    was_there = False

    def open_sqlite(
        _dialect: object, _record: object, args: list[Any], options: dict[str, Any]
    ) -> sqlite3.Connection:
        nonlocal was_there
        (database,) = args
        if database == ":memory:" or options.get("uri"):
            return working(database, **options)
        if was_there and _file_number(Path(database)) is None:
            raise _gone(Path(database))
        _see_plain(Path(database))
        connection = opened(Path(database), **options)
        was_there = True
        return connection

    return open_sqlite


def _see_plain(path: Path) -> None:
    """Refuse a pipe, a device or a folder, on which a database would wait for ever."""
    if path.exists() and not path.is_file():
        raise StoreMissingError(
            f"{safe(path)} is not a file.",
            "It is a folder, a pipe or a device; a store is a file.",
            "Look at --store.",
        )


def _file_number(path: Path) -> tuple[int, int] | None:
    """Which file lies under a name; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _gone(path: Path) -> StoreMissingError:
    return StoreMissingError(
        f"The store is no longer at {safe(path)}; nothing was changed.",
        "It was moved or deleted while it was open.",
        "Put it back, and go on.",
    )


def _path_of(raw: sqlite3.Connection) -> Path | None:
    """The file that a connection works in; None for a database in memory."""
    return next((Path(row[2]) for row in raw.execute("PRAGMA database_list") if row[2]), None)


def _note_file(raw: sqlite3.Connection, record: Any) -> None:
    """Remember which file it is, however it is named."""
    path = _path_of(raw)
    record.info["file"] = None if path is None else (path, _file_number(path))


def _see_same_file(_raw: object, record: Any, _proxy: object) -> None:
    """Work in no file that was moved away, and open the one that took its place.

    Raises
    ------
    StoreMissingError
        Where no file is there any more: none is made, for the books are elsewhere.
    """
    noted = record.info.get("file")
    if noted is None:
        return
    path, number = noted
    now = _file_number(path)
    if now is None:
        raise _gone(path)
    if now != number:
        raise sa.exc.DisconnectionError("another file took its place")


def _let_go(connection: object, record: Any) -> None:
    """One that only looks is good for one transaction: by the next, who writes may be done."""
    if isinstance(connection, Looking):
        record.invalidate()


def _begin_sqlite(connection: Connection) -> None:
    """Take the write lock before anything is read that a write will rest on."""
    writing = connection.get_execution_options().get(WRITE_OPTION, False)
    raw = connection.connection.dbapi_connection
    if writing and isinstance(raw, Looking):
        raw.refuse()
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    """Let the others write again where a writer stops half-way."""
    from stockroom.store.postgres import HELD_S

    if connection.get_execution_options().get(WRITE_OPTION, False):
        connection.exec_driver_sql(f"SET LOCAL idle_in_transaction_session_timeout = '{HELD_S}s'")


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Open a transaction that only reads, and sees one state of the store throughout."""
    with store_trouble(), engine.connect() as connection:
        if engine.dialect.name == "postgresql":
            connection = connection.execution_options(isolation_level="REPEATABLE READ")
        raw = connection.connection.dbapi_connection
        watch = raw.undisturbed() if isinstance(raw, Looking) else nullcontext()
        with watch, connection.begin():
            yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Open a transaction that writes; committed whole on leaving, or not at all.

    Raises
    ------
    CommitUnknownError
        Where the connection is lost between the wish to commit and the answer.
    StoreUnwritableError
        Where it cannot be; also where the disk or the memory fails at the very end, so that it is
        not known whether it stands until the store is opened anew.
    """
    told, driver = False, None
    for held in [_HELD.pop() for _ in _HELD[:]]:
        _free_lock(held)
    with store_trouble():
        try:
            with engine.connect() as connection:
                driver = connection.connection.driver_connection
                connection = connection.execution_options(**{WRITE_OPTION: True})
                with connection.begin():
                    yield connection
                    told = True
        except MemoryError as error:
            _free_lock(driver)
            if told:
                raise _not_known(error) from error
            raise
        except sa.exc.DBAPIError as error:
            if error.connection_invalidated:
                raise _unknown() if told else _lost(error) from error
            if told and _may_come_back(engine, error) and not _log_emptied(engine):
                raise _not_known(error) from error
            raise


_HELD: list[Any] = []
"""Connections whose transaction could not be ended for want of memory."""


def _free_lock(driver: Any) -> None:
    """End a transaction that may still hold the lock: without memory, nobody else has done so.

    Where there is none even for that, the next who writes tries first.
    """
    try:
        driver.rollback()
    except MemoryError:
        _HELD.append(driver)
    except (AttributeError, sqlite3.Error):
        pass  # there was none yet, or it is closed


def _may_come_back(engine: Engine, error: Exception) -> bool:
    """Return whether a commit that failed may stand whole in SQLite's log.

    Then whoever opens the store after a crash would find it. Where a write failed, it does not.
    """
    code = getattr(getattr(error, "orig", None), "sqlite_errorcode", None)
    return engine.dialect.name == "sqlite" and code not in _WITHOUT_AN_END


def _log_emptied(engine: Engine) -> bool:
    """Empty SQLite's log, so that nothing in it comes back; return whether that could be done."""
    try:
        with closing(sqlite3.connect(str(engine.url.database), timeout=1)) as connection:
            (busy, *_) = connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            return not busy
    except (sqlite3.Error, MemoryError):
        return False


def _not_known(error: Exception) -> StoreUnwritableError:
    return StoreUnwritableError(
        "The store could not be written to the end; whether this stands is not known.",
        f"{_detail(error)}.",
        "Look at free space and at the disk; then at what stands: stockroom undo --list.",
    )


_WITHOUT_AN_END = (sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_BUSY)
"""How SQLite says that a commit was not written to its end, which alone makes it count."""
_UNWRITABLE = (
    "readonly",
    "read-only",
    "disk i/o",
    "is full",
    "no space left",
    "permission denied",
    "unable to open",
    "locked",
)
_LOCK_WAIT = "55P03"
"""How PostgreSQL calls a lock that was waited for too long."""
_DAMAGED = ("malformed", "not a database", "encrypted", "corrupt", "could not decode", "no such")


@contextmanager
def store_trouble() -> Iterator[None]:
    """Turn what a database driver raises into what happened, why, and what to try."""
    try:
        yield
    except (StockroomError, BrokenPipeError):
        raise  # ours already, or the reader of the output went away
    except MemoryError as error:
        raise StoreError(
            "There is not enough memory for that; nothing was changed.",
            try_="Close other programs, and do it again.",
        ) from error
    except (sa.exc.SQLAlchemyError, sqlite3.Error, OSError, UnicodeError, OverflowError) as error:
        raise _named(error) from error


def _detail(error: Exception) -> str:
    """Return what a driver said, fit to be shown."""
    raw = getattr(error, "orig", None) or error or type(error).__name__
    return capital(safe(without_secrets(raw), length=160))


def _lost(error: Exception) -> StockroomError:
    return StoreMissingError(
        "The connection to the store was lost; nothing was changed.",
        f"{_detail(error)}.",
        "Do it again once the store answers.",
    )


def _unknown() -> StockroomError:
    return CommitUnknownError(
        "Whether it is done is not known.",
        "The connection to the store was lost while it was written for good.",
        "Once the store answers, look at what stands: stockroom undo --list.",
    )


def _named(error: Exception) -> StockroomError:
    if isinstance(error, sa.exc.DataError | OverflowError | UnicodeEncodeError):
        return BadValueError(
            "A number or a text is more than the books can hold; nothing was changed.",
            try_="Look at the figures and their units.",
        )
    if getattr(getattr(error, "orig", None), "sqlstate", None) == _LOCK_WAIT:
        return StoreUnwritableError(
            "Somebody else is writing; nothing was changed.",
            "The books did not become free in time. Who holds them is not known.",
            "Try again in a minute; where that does not help, look for a Stockroom that hangs, on "
            "any machine, and end it.",
        )
    detail = _detail(error)
    lowered = detail.lower()
    if isinstance(error, UnicodeDecodeError) or any(word in lowered for word in _DAMAGED):
        return StoreDamagedError(
            "The store cannot be read.",
            f"The file is damaged, or no store of ours ({detail}).",
            "See that --store names the right file; else restore a backup: stockroom restore "
            "BACKUP --store NEW-FILE.",
        )
    if isinstance(error, OSError) or any(word in lowered for word in _UNWRITABLE):
        return StoreUnwritableError(
            "The store cannot be written; nothing was changed.",
            f"{detail}.",
            "Look at free space, write permission, and whether another program holds the file.",
        )
    if isinstance(error, sa.exc.OperationalError):
        return StoreMissingError(
            "The store does not answer.", f"{detail}.", "Look at its address, and that it runs."
        )
    return StoreError("The store did something unexpected.", f"{detail}.", "Run: stockroom check.")
