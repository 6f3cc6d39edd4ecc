"""Bringing a store's schema into being, or forward, and refusing one from the future."""

from collections.abc import Sequence
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from stockroom.core.books.chain import seal
from stockroom.errors import (
    StoreDamagedError,
    StoreEarlyError,
    StoreMissingError,
    StoreNewerError,
)
from stockroom.store.engine import reading, shown_url, writing
from stockroom.store.mapping import damaged, decoding, table_of
from stockroom.store.tables import FIRST_SCHEMA, SCHEMA_NUMBER, MetaRow
from stockroom.store.view import HEAD, first_head

META = table_of(MetaRow)
BROUGHT_FORWARD_S = 600
"""How long is waited for another one who makes a store or brings it forward, s (our choice)."""
SCRIPTS = Path(__file__).parent / "migrations"


def migrate(connection: Connection) -> None:
    """Run all migrations that the store has not had, on an open transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(SCRIPTS))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def create(engine: Engine, zone: str, currency: str, demo: str = "") -> None:
    """Make an empty store, whole or not at all; one that is there already is left as it is."""
    with reading(engine) as connection:
        if is_store(connection):
            return
    with writing(engine) as connection:
        create_in(connection, zone, currency, demo)


def alone(connection: Connection) -> None:
    """Wait until nobody else makes this store or brings it forward; SQLite's writers wait so."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql(f"SET LOCAL lock_timeout = '{BROUGHT_FORWARD_S}s'")
        # it does nothing while the backup before is written
        connection.exec_driver_sql("SET LOCAL idle_in_transaction_session_timeout = 0")
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(71040)")


def create_in(connection: Connection, zone: str, currency: str, demo: str = "") -> None:
    """Make an empty store on an open transaction, unless there is one already."""
    alone(connection)
    if is_store(connection):
        schema_number(connection, connection.engine)
        return
    if sa.inspect(connection).get_table_names():
        raise StoreMissingError(
            f"{shown_url(connection.engine.url)} holds something else.",
            "There are tables in it that are not ours.",
            "Give --store another file or database.",
        )
    migrate(connection)
    meta = {
        "id": 1,
        "schema_number": SCHEMA_NUMBER,
        "checked_s": 0,
        "checked_seq": 0,
        **workshop_row(zone, currency, demo),
    }
    connection.execute(META.insert(), meta)
    connection.execute(HEAD.insert(), first_head())


def workshop_row(zone: str, currency: str, demo: str = "") -> dict[str, str]:
    """Return what the store says of its workshop, or which demo's story it tells; with a seal."""
    said = {"workshop_zone": zone, "currency": currency, "demo": demo}
    return {**said, "seal": seal("meta", said)}


def workshop(connection: Connection) -> tuple[str, str]:
    """Return the workshop's time zone and currency, the seal over them checked.

    Raises
    ------
    StoreDamagedError
        Where they were changed.
    """
    row = connection.execute(sa.select(META)).first()
    with decoding("What the store says of its workshop"):
        zone, currency = row.workshop_zone, row.currency  # type: ignore[union-attr]
        if workshop_row(zone, currency, row.demo)["seal"] == row.seal:  # type: ignore[union-attr]
            return zone, currency
    raise damaged("What the store says of its workshop")


def is_store(connection: Connection) -> bool:
    """Return whether the connection leads to a store of ours."""
    return sa.inspect(connection).has_table("chain_head")


def schema_number(connection: Connection, engine: Engine) -> int:
    """Return which schema a store has, where it is one that can be read.

    Raises
    ------
    StoreMissingError
        Where there is none.
    StoreNewerError, StoreEarlyError
        Where a newer version of the program wrote it, or one that was never released.
    """
    try:
        number = connection.execute(sa.select(META.c.schema_number)).scalar()
    except sa.exc.DatabaseError as error:
        if "no such table" in str(error) or "does not exist" in str(error):
            raise StoreMissingError(
                f"There is no store in {shown_url(engine.url)}.",
                "The file or database is there, but holds nothing of ours.",
                "Look at --store, or begin one with: stockroom place add NAME.",
            ) from error
        raise
    if not isinstance(number, int):
        raise StoreDamagedError(
            "The store does not say which schema it has.",
            "The store was changed from outside, or the disk has damaged it; no figure is shown.",
            "Restore the last backup; enter what came after it again.",
        )
    if number < FIRST_SCHEMA:
        raise StoreEarlyError(
            f"The store in {shown_url(engine.url)} was made by an early version; it cannot be "
            "opened.",
            f"It has schema {number}; the first that is kept is {FIRST_SCHEMA}.",
            "Nothing was changed. Begin a new store, or restore a backup into one.",
        )
    if number > SCHEMA_NUMBER:
        raise StoreNewerError(
            f"The store in {shown_url(engine.url)} was written by a newer version.",
            f"It has schema {number}; this version knows up to {SCHEMA_NUMBER}.",
            "Install the newer version. Nothing was changed.",
        )
    return number


def trigger_statements(dialect: str, tables: Sequence[str]) -> list[str]:
    """Return the SQL that makes tables refuse everything but INSERT."""
    if dialect == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are only ever added'); END"
            for table in tables
            for verb in ("UPDATE", "DELETE")
        ]
    function = (
        "CREATE FUNCTION only_ever_added() RETURNS trigger LANGUAGE plpgsql AS "
        "$$BEGIN RAISE EXCEPTION 'rows of % are only ever added', TG_TABLE_NAME; END$$"
    )
    return [
        function,
        *(
            f"CREATE TRIGGER {table}_only_added BEFORE UPDATE OR DELETE OR TRUNCATE ON {table} "
            "FOR EACH STATEMENT EXECUTE FUNCTION only_ever_added()"
            for table in tables
        ),
    ]
