"""A store of an earlier shape is refused, or brought forward once with a backup before."""

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from support.databases import DATABASES, new_database
from support.studio import MONDAY_S, Clock, furnish
from support.workers import Say, release_together

from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.desk.stock import defining
from stockroom.errors import StoreEarlyError, StoreUnwritableError
from stockroom.store import forward, schema
from stockroom.store.tables import FIRST_SCHEMA, SCHEMA_NUMBER

LATER = SCHEMA_NUMBER + 1
OPENERS = 8
MIGRATION = f'''
"""A later shape, for these tests alone."""
import sqlalchemy as sa
from alembic import op
revision, down_revision = "{LATER:04}", "{SCHEMA_NUMBER:04}"
def upgrade():
    op.create_table("later", sa.Column("id", sa.Integer(), primary_key=True))
'''


@pytest.fixture(params=DATABASES)
def filled(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A store of the present shape with a small studio in it, on each database in turn."""
    if request.param == "sqlite":
        yield _filled(str(tmp_path / "studio.stockroom"))
        return
    with new_database(request.getfixturevalue("postgres")) as store:
        yield _filled(store)


def _filled(store: str) -> str:
    desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
    furnish(desk)
    desk.close()
    return store


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A program of a later version: one migration more."""
    scripts = tmp_path / "migrations"
    shutil.copytree(schema.SCRIPTS, scripts, ignore=shutil.ignore_patterns("__pycache__"))
    (scripts / "versions" / f"{LATER:04}_later.py").write_text(MIGRATION)
    monkeypatch.setattr(schema, "SCRIPTS", scripts)
    for module in (schema, forward):
        monkeypatch.setattr(module, "SCHEMA_NUMBER", LATER)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def number_of(store: str) -> int:
    engine = schema_engine(store)
    with engine.connect() as connection:
        number: int = connection.execute(sa.text("SELECT schema_number FROM meta")).scalar_one()
    engine.dispose()
    return number


def schema_engine(store: str) -> sa.Engine:
    from stockroom.store.engine import make_engine, url_of

    return make_engine(url_of(store))


def set_back(store: str, number: int) -> None:
    engine = schema_engine(store)
    with engine.begin() as connection:
        connection.execute(sa.text(f"UPDATE meta SET schema_number = {number}"))
    engine.dispose()


@pytest.mark.parametrize("number", [1, FIRST_SCHEMA - 1])
def test_a_store_of_an_early_version_is_refused_and_not_stamped(filled: str, number: int) -> None:
    set_back(filled, number)
    for begin in (False, True):
        with pytest.raises(StoreEarlyError, match="made by an early version; it cannot be opened"):
            Desk.at(filled, begin=begin)
    assert number_of(filled) == number


def test_nothing_is_restored_into_a_store_of_an_early_version(filled: str, tmp_path: Path) -> None:
    """It is not called damaged."""
    desk = Desk.at(filled, now_s=Clock(MONDAY_S))
    keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()
    set_back(filled, FIRST_SCHEMA - 1)
    engine = schema_engine(filled)
    with engine.begin() as connection:
        connection.execute(sa.text("ALTER TABLE chain_head DROP COLUMN seal"))
    engine.dispose()
    with pytest.raises(StoreEarlyError):
        keeping.restore_backup(tmp_path / "studio.backup", filled)


def test_a_store_is_brought_forward_once_with_a_backup_before(
    filled: str, later: None, tmp_path: Path
) -> None:
    for _ in range(2):
        desk = Desk.at(filled, now_s=Clock(MONDAY_S))
        acts = keeping.check(desk).acts
        desk.close()
    assert number_of(filled) == LATER
    (backup,) = tmp_path.rglob(f"*.before-{LATER}")
    assert keeping.restore_backup(backup, str(tmp_path / "restored")).acts == acts


def test_eight_people_who_open_an_older_store_at_once_bring_it_forward_once(
    filled: str, later: None, tmp_path: Path
) -> None:
    def opener(number: int) -> Callable[[Say], None]:
        def work(say: Say) -> None:
            desk = Desk.at(filled, now_s=Clock(MONDAY_S))
            defining.define_place(desk, f"Rack {number}", "rack")
            say("opened")

        return work

    said = release_together([opener(number) for number in range(OPENERS)])
    assert said == [["opened"]] * OPENERS
    assert len(list(tmp_path.rglob(f"*.before-{LATER}"))) == 1
    desk = Desk.at(filled, now_s=Clock(MONDAY_S))
    assert keeping.check(desk).faults == ()
    desk.close()


def test_without_a_backup_nothing_is_brought_forward(
    filled: str, later: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise StoreUnwritableError("The disk is full.")

    monkeypatch.setattr("stockroom.store.forward.back_up", full)
    with pytest.raises(StoreUnwritableError):
        Desk.at(filled)
    assert number_of(filled) == SCHEMA_NUMBER


def test_a_migration_that_breaks_off_leaves_the_store_as_it_was(
    filled: str, later: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    migrate = schema.migrate

    def broken(connection: sa.Connection) -> None:
        migrate(connection)
        raise RuntimeError("broken off")

    with monkeypatch.context() as halved:
        halved.setattr(forward, "migrate", broken)
        with pytest.raises(RuntimeError):
            Desk.at(filled)
    assert number_of(filled) == SCHEMA_NUMBER
    Desk.at(filled).close()
    assert number_of(filled) == LATER


def test_a_store_of_the_first_early_shape_is_told_from_its_tables_alone(tmp_path: Path) -> None:
    """Nothing of today's tables but its number is asked for."""
    path = tmp_path / "early"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE meta (id INTEGER, schema_number INTEGER)")
        connection.execute("CREATE TABLE chain_head (id INTEGER, seq INTEGER, hash TEXT)")
        connection.execute("INSERT INTO meta VALUES (1, 1)")
    connection.close()
    with pytest.raises(StoreEarlyError):
        Desk.at(str(path), begin=True)
