"""The booked jobs read straight from a SQLite file, seals checked, before anything heavy loads."""

import sqlite3
from contextlib import closing
from pathlib import Path

from stockroom.core.books.chain import seal
from stockroom.core.records import Job
from stockroom.core.records.base import about, field_names
from stockroom.errors import BadValueError, StockroomError, StoreError
from stockroom.plain_files import home_path
from stockroom.store.opening import glanced
from stockroom.store.sums import head_seal, told_fault
from stockroom.text import safe

PATIENCE_S = 0.1
"""How long a busy store is waited for, s: a glance that takes longer is none (our choice)."""


def read_jobs(store: str) -> tuple[list[Job], str] | None:
    """Return the jobs and the workshop's zone; None where that cannot be done at once.

    Only a path to a SQLite file can be read so; whatever is odd about it is left for the engine
    to tell.
    """
    try:
        path = home_path(store)
    except BadValueError:
        return None
    if "://" in store or not path.is_file():
        return None
    names = field_names(Job)
    query = f"SELECT {', '.join(names)}, seal FROM job"  # noqa: S608 - our own field names
    try:
        with closing(glanced(path, timeout=PATIENCE_S)) as connection, connection.undisturbed():
            connection.execute("BEGIN")
            _see_sums(connection)
            rows = connection.execute(query).fetchall()
            (zone,) = connection.execute("SELECT workshop_zone FROM meta").fetchone()
        jobs = [_sealed(dict(zip(names, row[:-1], strict=True)), row[-1]) for row in rows]
    except (StockroomError, sqlite3.Error, OSError, ValueError, TypeError, KeyError):
        return None
    return jobs, str(zone)


def demo_of(path: Path) -> str | None:
    """Return which demo's story a SQLite file says it tells.

    Returns
    -------
    str or None
        "" where it is a demo's store of another shape; None where it is no demo's.

    Raises
    ------
    StoreError
        Where it could not be read, so that nobody knows.
    """
    from stockroom.store.tables import SCHEMA_NUMBER

    if not path.is_file():
        return None
    try:
        with closing(glanced(path)) as connection, connection.undisturbed():
            number, demo = connection.execute("SELECT schema_number, demo FROM meta").fetchone()
    except (sqlite3.OperationalError, OSError) as error:
        if getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_ERROR:
            return None  # there is no such table in it
        raise StoreError(
            f"{safe(path)} could not be read.", f"The system says: {safe(error)}.", "Try again."
        ) from error
    except (sqlite3.Error, ValueError, TypeError):
        return None
    if not demo:
        return None
    return str(demo) if number == SCHEMA_NUMBER else ""


def _see_sums(connection: sqlite3.Connection) -> None:
    """Show nothing of a store in which a row is missing or an older one."""
    cursor = connection.execute("SELECT * FROM chain_head")
    named = zip((column[0] for column in cursor.description), cursor.fetchone(), strict=True)
    head = dict(named)
    fault = told_fault(head, lambda asked: connection.execute(asked).fetchone()[0])
    if head_seal(head) != head["seal"] or fault:
        raise ValueError("the rows are not all that the acts wrote")


def _sealed(plain: dict[str, object], sealed: str) -> Job:
    for name, known in about(Job).items():
        if known.holds is bool:
            plain[name] = bool(plain[name])
    if seal(Job.kind, plain) != sealed:
        raise ValueError("the seal does not fit")
    return Job.from_plain(plain)
