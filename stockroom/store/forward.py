"""Bringing a store of an older schema forward: by one process at a time, after a backup."""

from itertools import chain, count
from pathlib import Path

from sqlalchemy.engine import Engine

from stockroom.settings import default_store
from stockroom.store.backup import back_up
from stockroom.store.engine import reading, writing
from stockroom.store.schema import META, alone, migrate, schema_number
from stockroom.store.tables import SCHEMA_NUMBER


def ready(engine: Engine) -> None:
    """See that the store is one we can read, and bring an older one forward.

    Raises
    ------
    StoreMissingError
        Where there is none.
    StoreNewerError, StoreEarlyError
        Where a newer version of the program wrote it, or one that was never released.
    StoreUnwritableError
        Where it is to be brought forward, and no backup can be written before.
    """
    with reading(engine) as connection:
        number = schema_number(connection, engine)
    if number < SCHEMA_NUMBER:
        with writing(engine) as connection:
            alone(connection)
            if schema_number(connection, engine) < SCHEMA_NUMBER:  # nobody was quicker
                _back_up_before(engine)
                migrate(connection)
                connection.execute(META.update().values(schema_number=SCHEMA_NUMBER))


def _back_up_before(engine: Engine) -> None:
    """Write a backup beside the store, or among the data of the program, before it changes shape.

    Tables of acts, files, blocks and customers are read as they are declared now: a migration that
    changes one of these must bring its own way to back up what was there.
    """
    path = default_store().parent / str(engine.url.database)
    if engine.dialect.name == "sqlite":
        path = Path(str(engine.url.database))
    path.parent.mkdir(parents=True, exist_ok=True)
    endings = chain([""], (f"-{number}" for number in count(2)))
    names = (path.with_name(f"{path.name}.before-{SCHEMA_NUMBER}{more}") for more in endings)
    back_up(engine, next(name for name in names if not name.exists()))
