"""Erasing whose work a job is, so that the text stands nowhere in the store's own files."""

import sqlite3
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from stockroom.errors import StoreError
from stockroom.store.engine import store_trouble
from stockroom.store.view import CLIENT
from stockroom.text import safe

PATIENCE_S = 5
"""How long others are waited for who still read what was erased, s (our choice)."""

_AGAIN = "close other screens, let backups end, and erase it again."


def lay_anew(connection: Connection) -> None:
    """Lay the rows of all customers anew on SQLite, where one was erased in this transaction.

    Where rows moved between pages, shreds of them stay behind; only pages that are given up whole
    are overwritten whole.
    """
    if connection.dialect.name == "sqlite":
        others = [dict(row._mapping) for row in connection.execute(sa.select(CLIENT))]
        connection.execute(CLIENT.delete())
        if others:
            connection.execute(CLIENT.insert(), others)


def sweep(engine: Engine) -> tuple[str, ...]:
    """Take what was erased out of the log and from between the rows, after its transaction.

    Returns
    -------
    tuple of str
        Where it may still stand: sentences for a person.
    """
    swept = _sweep_sqlite if engine.dialect.name == "sqlite" else _sweep_postgresql
    left = ["Backups made before still hold it, and so may copies and snapshots of the disk."]
    try:
        with store_trouble(), engine.connect() as connection:
            try:
                left += swept(connection)
            finally:
                connection.invalidate()  # it was set otherwise than those that work
    except StoreError as error:
        left.append(f"The store's own files may hold it ({error.why}): {_AGAIN}")
    return tuple(left)


def _sweep_sqlite(connection: Connection) -> list[str]:
    raw = connection.connection.dbapi_connection
    assert isinstance(raw, sqlite3.Connection)
    raw.execute(f"PRAGMA busy_timeout = {PATIENCE_S * 1000}")
    (busy, _, _) = raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
    return [f"The log beside the store holds it, since another reads there: {_AGAIN}"] * busy


def _sweep_postgresql(connection: Connection) -> list[str]:
    """A table written anew leaves no dead rows, but those that an older reader may still see."""
    told: list[tuple[str, str, str]] = []

    def hear(notice: Any) -> None:
        """A notice is gone with its statement, so its words are kept."""
        said = (notice.severity_nonlocalized, notice.message_primary, notice.message_detail or "")
        told.append(said)

    raw: Any = connection.connection.dbapi_connection
    raw.add_notice_handler(hear)
    alone = connection.execution_options(isolation_level="AUTOCOMMIT")
    alone.exec_driver_sql(f"SET lock_timeout = '{PATIENCE_S}s'")
    alone.exec_driver_sql("VACUUM (FULL, VERBOSE) client")
    left = [
        "The server's write-ahead log holds it until it is used again; its archives and standbys "
        "may for longer."
    ]
    refused = [what for how, what, _ in told if how == "WARNING"]
    if refused:
        left.append(f"The server would not write the table anew: {safe(refused[0])}.")
    elif not any(detail.startswith("0 ") for *_, detail in told):
        left.append(f"Another still reads a state of the books that holds it: {_AGAIN}")
    return left
