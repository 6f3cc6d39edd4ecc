"""Fixtures: stores on each database, a desk with a clock of its own, a small studio."""

import itertools
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from functools import cache
from pathlib import Path

import pytest
import sqlalchemy as sa
from support import cluster
from support.commands import keep_commands
from support.databases import DATABASES, new_database
from support.furnished import STAGES, Furnished, furnished
from support.studio import MONDAY_S, Clock, Studio
from support.workshop import Workshop

from seeds_demo.studio import open_demo
from stockroom.desk.session import Desk

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


@pytest.fixture(scope="session")
def kept_database(postgres: str) -> Iterator[Callable[[], str]]:
    """Make new, empty databases; they go when all tests have ended."""
    with ExitStack() as kept:
        yield lambda: kept.enter_context(new_database(postgres))


@pytest.fixture(scope="session")
def furnished_on(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Callable[[str, str], Furnished]:
    """Give the store of a database and stage, made when it is first asked for."""

    @cache
    def made(database: str, stage: str) -> Furnished:
        if database == "sqlite":
            return furnished(str(tmp_path_factory.mktemp(stage) / "made.stockroom"), stage)
        return furnished(request.getfixturevalue("kept_database")(), stage)

    return made


@pytest.fixture
def furnished_as(
    request: pytest.FixtureRequest, furnished_on: Callable[[str, str], Furnished]
) -> Callable[[str], Furnished]:
    """Give a database's store as full as the fullest of a test's fixtures asks."""
    asked = {name.removeprefix("any_") for name in request.fixturenames}
    stage = next(stage for stage in STAGES if stage in asked)
    return lambda database: furnished_on(database, stage)


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's store, told once; tests open copies of it."""
    path = tmp_path_factory.mktemp("demo") / "demo.stockroom"
    open_demo(path).close()
    return path


@pytest.fixture
def desk(furnished_as: Callable[[str], Furnished], tmp_path: Path, now: Clock) -> Iterator[Desk]:
    """A desk on an SQLite store, empty but for what other fixtures ask."""
    with furnished_as("sqlite").desk(tmp_path, now) as desk:
        yield desk


@pytest.fixture(params=DATABASES)
def any_desk(
    request: pytest.FixtureRequest,
    furnished_as: Callable[[str], Furnished],
    tmp_path: Path,
    now: Clock,
) -> Iterator[Desk]:
    """Such a desk on each database in turn."""
    with furnished_as(request.param).desk(tmp_path, now) as desk:
        yield desk


@pytest.fixture
def studio(desk: Desk, furnished_as: Callable[[str], Furnished]) -> Studio:
    """A small studio on SQLite: a paper, a sheet, three places, two rolls, a pack."""
    return furnished_as("sqlite").studio(desk)


@pytest.fixture
def any_studio(any_desk: Desk, furnished_as: Callable[[str], Furnished]) -> Studio:
    """The small studio, on each database in turn; its codes are the same on all."""
    return furnished_as("sqlite").studio(any_desk)


@pytest.fixture
def shop(studio: Studio, furnished_as: Callable[[str], Furnished]) -> Workshop:
    """A studio that mounts, on SQLite: film, board, profile and a build of all layers."""
    return furnished_as("sqlite").shop(studio)


@pytest.fixture
def any_shop(any_studio: Studio, furnished_as: Callable[[str], Furnished]) -> Workshop:
    """The studio that mounts, on each database in turn."""
    return furnished_as("sqlite").shop(any_studio)
