"""New, empty databases on a PostgreSQL server."""

import itertools
import os
from collections.abc import Iterator
from contextlib import contextmanager

import sqlalchemy as sa

from support import cluster

DATABASES = ["sqlite", *(["postgresql"] if cluster.available() else [])]
"""The databases there are to test on."""
_numbers = itertools.count(1)


@contextmanager
def new_database(server: str) -> Iterator[str]:
    """Make an empty database, and take it away afterwards."""
    with _made(server, "") as url:
        yield url


@contextmanager
def copied_database(store: str) -> Iterator[str]:
    """Make a database that is the same as one that nobody is connected to."""
    name = sa.make_url(store).database
    with _made(str(sa.make_url(store).set(database="postgres")), f" TEMPLATE {name}") as url:
        yield url


@contextmanager
def _made(server: str, like: str) -> Iterator[str]:
    name = f"stockroom_own_{os.getpid()}_{next(_numbers)}"
    admin = sa.create_engine(
        sa.make_url(server).set(drivername="postgresql+psycopg"),
        isolation_level="AUTOCOMMIT",
        pool_pre_ping=True,
    )
    with admin.connect() as connection:
        connection.exec_driver_sql(f"CREATE DATABASE {name}{like}")
    try:
        yield sa.make_url(server).set(database=name).render_as_string(hide_password=False)
    finally:
        with admin.connect() as connection:
            connection.exec_driver_sql(f"DROP DATABASE {name} WITH (FORCE)")
        admin.dispose()
