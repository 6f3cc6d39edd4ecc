"""Bringing a store's schema into being, or forward, and refusing one from the future."""

from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from stockroom.core.books.chain import seal
from stockroom.errors import StoreDamagedError, StoreMissingError, StoreNewerError
from stockroom.store.engine import reading, shown_url, writing
from stockroom.store.mapping import damaged, decoding, table_of
from stockroom.store.tables import ONLY_ADDED, SCHEMA_NUMBER, MetaRow
from stockroom.store.view import HEAD, first_head

META = table_of(MetaRow)


def migrate(connection: Connection) -> None:
    """Run all migrations that the store has not had, on an open transaction."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations"))
    config.set_main_option("path_separator", "os")
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def create(engine: Engine, zone: str, currency: str) -> None:
    """Make an empty store, whole or not at all; one that is there already is left as it is."""
    with writing(engine) as connection:
        create_in(connection, zone, currency)


def create_in(connection: Connection, zone: str, currency: str) -> None:
    """Make an empty store on an open transaction, unless there is one already."""
    if connection.dialect.name == "postgresql":
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(71040)")
    if is_store(connection):
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
        **workshop_row(zone, currency),
    }
    connection.execute(META.insert(), meta)
    connection.execute(HEAD.insert(), first_head())


def workshop_row(zone: str, currency: str) -> dict[str, str]:
    """Return what the store says of its workshop, with a seal over it."""
    said = {"workshop_zone": zone, "currency": currency}
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
        if workshop_row(zone, currency)["seal"] == row.seal:  # type: ignore[union-attr]
            return zone, currency
    raise damaged("What the store says of its workshop")


def is_store(connection: Connection) -> bool:
    """Return whether the connection leads to a store of ours."""
    return sa.inspect(connection).has_table("chain_head")


def ready(engine: Engine) -> None:
    """See that the store is one we can read, and bring an older one forward.

    Raises
    ------
    StoreMissingError
        Where there is none.
    StoreNewerError
        Where a newer version of the program wrote it.
    """
    with reading(engine) as connection:
        number = _schema_number(connection, engine)
    if number < SCHEMA_NUMBER:
        with writing(engine) as connection:
            migrate(connection)
            connection.execute(META.update().values(schema_number=SCHEMA_NUMBER))


def _schema_number(connection: Connection, engine: Engine) -> int:
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
        raise StoreDamagedError("The store does not say which schema it has.")
    if number > SCHEMA_NUMBER:
        raise StoreNewerError(
            f"The store in {shown_url(engine.url)} was written by a newer version.",
            f"It has schema {number}; this version knows up to {SCHEMA_NUMBER}.",
            "Install the newer version. Nothing was changed.",
        )
    return number


def trigger_statements(dialect: str) -> list[str]:
    """Return the SQL that makes tables of acts refuse everything but INSERT."""
    if dialect == "sqlite":
        return [
            f"CREATE TRIGGER {table}_no_{verb.lower()} BEFORE {verb} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are only ever added'); END"
            for table in ONLY_ADDED
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
            for table in ONLY_ADDED
        ),
    ]


def triggers(connection: Connection) -> set[str]:
    """Return the names of the triggers that stand in the store."""
    query: Any = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if connection.dialect.name == "sqlite"
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal"
    )
    return set(connection.execute(sa.text(query)).scalars())
