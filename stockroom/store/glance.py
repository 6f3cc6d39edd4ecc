"""The booked jobs read straight from a SQLite file, seals checked, before anything heavy loads."""

import sqlite3

from stockroom.core.books.chain import seal
from stockroom.core.model import Job
from stockroom.core.record import field_names
from stockroom.errors import BadValueError
from stockroom.plain_files import home_path

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
        address = f"{path.resolve().as_uri()}?mode=ro"
        connection = sqlite3.connect(address, uri=True, timeout=PATIENCE_S)
        try:
            rows = connection.execute(query).fetchall()
            (zone,) = connection.execute("SELECT workshop_zone FROM meta").fetchone()
        finally:
            connection.close()
        jobs = [_sealed(dict(zip(names, row[:-1], strict=True)), row[-1]) for row in rows]
    except (sqlite3.Error, OSError, ValueError, TypeError, KeyError):
        return None
    return jobs, str(zone)


def _sealed(plain: dict[str, object], sealed: str) -> Job:
    plain["series"] = bool(plain["series"])
    if seal(Job.kind, Job.sealed(plain)) != sealed:
        raise ValueError("the seal does not fit")
    return Job.from_plain(plain)
