"""Fixtures: stores on each database, a desk with a clock of its own, a small studio."""

import itertools
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from support import cluster
from support.commands import keep_commands
from support.studio import MONDAY_S, Clock, Studio, furnish
from support.workshop import Workshop, fit_out

from stockroom.desk.session import Desk

DATABASES = ["sqlite", *(["postgresql"] if cluster.available() else [])]
_numbers = itertools.count(1)
_worker = os.environ.get("PYTEST_XDIST_WORKER", "alone")
keep_commands()


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """The URL of a PostgreSQL server."""
    with cluster.server() as url:
        yield url


@pytest.fixture
def fresh_postgres(postgres: str) -> Iterator[Callable[[], str]]:
    """Make new, empty databases; they go when the test ends."""
    admin = sa.create_engine(
        sa.make_url(postgres).set(drivername="postgresql+psycopg"), isolation_level="AUTOCOMMIT"
    )
    made: list[str] = []

    def fresh() -> str:
        name = f"stockroom_test_{_worker}_{next(_numbers)}"
        with admin.connect() as connection:
            connection.exec_driver_sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
            connection.exec_driver_sql(f"CREATE DATABASE {name}")
        made.append(name)
        return sa.make_url(postgres).set(database=name).render_as_string(hide_password=False)

    yield fresh
    with admin.connect() as connection:
        for name in made:
            connection.exec_driver_sql(f"DROP DATABASE IF EXISTS {name} WITH (FORCE)")
    admin.dispose()


@pytest.fixture(params=DATABASES)
def store(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The name of an empty store, on each database in turn."""
    if request.param == "sqlite":
        return str(tmp_path / "studio.stockroom")
    fresh: Callable[[], str] = request.getfixturevalue("fresh_postgres")
    return fresh()


@pytest.fixture
def now() -> Clock:
    """A clock that stands until it is moved."""
    return Clock(MONDAY_S)


@pytest.fixture
def desk(tmp_path: Path, now: Clock) -> Iterator[Desk]:
    """A desk on an empty SQLite store."""
    opened = Desk.at(
        str(tmp_path / "studio.stockroom"), actor="ines", begin=True, zone="UTC", now_s=now
    )
    yield opened
    opened.close()


@pytest.fixture
def any_desk(store: str, now: Clock) -> Iterator[Desk]:
    """A desk on an empty store, on each database in turn."""
    opened = Desk.at(store, actor="ines", begin=True, zone="UTC", now_s=now)
    yield opened
    opened.close()


@pytest.fixture
def studio(desk: Desk) -> Studio:
    """A small studio on SQLite: a paper, a sheet, three places, two rolls, a pack."""
    return furnish(desk)


@pytest.fixture
def any_studio(any_desk: Desk) -> Studio:
    """The small studio, on each database in turn."""
    return furnish(any_desk)


@pytest.fixture
def shop(studio: Studio) -> Workshop:
    """A studio that mounts, on SQLite: film, board, profile and a build of all layers."""
    return fit_out(studio)


@pytest.fixture
def any_shop(any_studio: Studio) -> Workshop:
    """The studio that mounts, on each database in turn."""
    return fit_out(any_studio)
