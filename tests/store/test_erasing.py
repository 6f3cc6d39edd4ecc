"""What is erased stands nowhere in the store's own files; where else it may stand is said."""

import random
import sqlite3
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.engine import Connection
from support.studio import MONDAY_S, Clock, Studio, code_of, furnish

from stockroom.desk.work import jobs
from stockroom.desk.work.jobs import JobSaid
from stockroom.desk.session import Desk
from stockroom.store import erasing
from stockroom.store.engine import make_engine, reading, url_of, writing
from stockroom.store.erasing import lay_anew, sweep
from stockroom.store.view import CLIENT, client_row

NAME = "Lumen Gallery, no. 7"


def booked(desk: Desk, client: str = NAME) -> str:
    said = JobSaid(
        name="Night ferry", width_dmm=12_000, height_dmm=8_000, print_on=date(2026, 3, 9),
        material="Satin colour paper 127", client=client,
    )  # fmt: skip
    return code_of(jobs.book(desk, said), "job")


def bytes_of(folder: Path) -> bytes:
    """All the bytes of all the files in a folder."""
    return b"".join(path.read_bytes() for path in folder.iterdir())


def rows_on_disk(store: str) -> bytes:
    """The bytes of the file in which a server keeps the customers' references."""
    engine = sa.create_engine(url_of(store), isolation_level="AUTOCOMMIT")
    with engine.connect() as connection:
        connection.exec_driver_sql("CHECKPOINT")
        read = "SELECT pg_read_binary_file(pg_relation_filepath('client'))"
        held = bytes(connection.exec_driver_sql(read).scalar_one())
    engine.dispose()
    return held


@pytest.mark.parametrize("changed", [False, True])
def test_an_erased_name_is_in_no_byte_of_the_store(
    changed: bool, studio: Studio, tmp_path: Path
) -> None:
    """Neither the name nor one that it replaced, in the file or the log, which another has open."""
    job = booked(studio.desk)
    other = sqlite3.connect(tmp_path / "studio.stockroom")
    other.execute("SELECT count(*) FROM client").fetchall()
    booked(studio.desk, "Second Gallery")
    if changed:
        jobs.change_job(studio.desk, job, JobSaid(client="Third Gallery"))
    assert NAME.encode() in bytes_of(tmp_path)
    erased = jobs.erase_client(studio.desk, job)
    left = bytes_of(tmp_path)
    assert NAME.encode() not in left
    assert b"Third Gallery" not in left
    assert b"Second Gallery" in left
    assert erased.job == job
    assert len(erased.left) == 1
    assert erased.left[0].startswith("Backups made before still hold it")
    other.close()


def shreds(path: Path, seed: int) -> list[str]:
    """Let hundreds of names come, change and go; return those that are gone and still there."""
    engine, chance = make_engine(url_of(str(path))), random.Random(seed)
    keys = [f"{number}" for number in chance.sample(range(10**6), 300)]

    def name(key: str, filling: str) -> dict[str, str]:
        return client_row(key, f"<{key}>" + filling * chance.randrange(150))

    with writing(engine) as connection:
        for key in keys:
            connection.execute(CLIENT.insert(), name(key, "x"))
        for key in chance.sample(keys, 200):
            connection.execute(CLIENT.update().where(CLIENT.c.job == key), name(key, "y"))
    gone = chance.sample(keys, 60)
    with writing(engine) as connection:
        for key in gone:
            connection.execute(CLIENT.delete().where(CLIENT.c.job == key))
            lay_anew(connection)
    sweep(engine)
    with reading(engine) as connection:
        stand = set(connection.execute(sa.select(CLIENT.c.job)).scalars())
    assert stand == set(keys) - set(gone)
    engine.dispose()
    held = path.read_bytes()
    return [key for key in gone if f"<{key}>".encode() in held]


def test_no_shred_of_a_name_stays_where_rows_moved_between_pages(tmp_path: Path) -> None:
    """In each of these histories one name stays where its row is merely deleted."""
    Desk.at(str(tmp_path / "empty"), begin=True, now_s=Clock(MONDAY_S)).close()
    for seed in (1, 3, 7):
        path = tmp_path / f"{seed}.stockroom"
        path.write_bytes((tmp_path / "empty").read_bytes())
        assert shreds(path, seed) == []


def test_who_holds_the_log_is_waited_for_and_then_said(
    studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(erasing, "PATIENCE_S", 0)
    job = booked(studio.desk)
    other = make_engine(studio.desk.engine.url)
    with reading(other) as connection:
        assert connection.execute(sa.select(CLIENT.c.reference)).scalars().all() == [NAME]
        left = jobs.erase_client(studio.desk, job).left
    assert left[1].startswith("The log beside the store holds it, since another reads there")
    assert NAME.encode() in bytes_of(tmp_path)
    with studio.desk.reading() as view:
        assert jobs.clients(view) == {}
    assert len(jobs.erase_client(studio.desk, job).left) == 1
    assert NAME.encode() not in bytes_of(tmp_path)
    other.dispose()


@pytest.fixture
def served(fresh_postgres: Callable[[], str]) -> str:
    """A store on a server with one job of a customer's."""
    store = fresh_postgres()
    desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
    furnish(desk)
    booked(desk, "Second Gallery")
    desk.close()
    return store


@pytest.mark.postgres
def test_an_erased_name_is_not_in_the_servers_table(served: str) -> None:
    desk = Desk.at(served, now_s=Clock(MONDAY_S))
    job = booked(desk)
    assert NAME.encode() in rows_on_disk(served)
    with desk.engine.begin() as connection:
        connection.exec_driver_sql("ANALYZE client")
        kept = "SELECT attname FROM pg_stats WHERE tablename = 'client'"
        assert "reference" not in connection.execute(sa.text(kept)).scalars().all()
    erased = jobs.erase_client(desk, job)
    held = rows_on_disk(served)
    assert NAME.encode() not in held
    assert b"Second Gallery" in held
    assert len(erased.left) == 2
    assert "The server's write-ahead log holds it" in erased.left[1]
    desk.close()


def see(connection: Connection) -> list[str]:
    return list(connection.execute(sa.select(CLIENT.c.reference)).scalars())


@pytest.mark.postgres
@pytest.mark.parametrize("reads", ["the names", "something else"])
def test_who_still_reads_an_older_state_on_the_server_is_said(
    reads: str, served: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One who has read the table keeps it from being written anew, any other keeps dead rows."""
    monkeypatch.setattr(erasing, "PATIENCE_S", 1)
    desk, other = Desk.at(served, now_s=Clock(MONDAY_S)), make_engine(url_of(served))
    job = booked(desk)
    with reading(other) as connection:
        if reads == "the names":
            assert NAME in see(connection)
        else:
            connection.execute(sa.text("SELECT 1 FROM meta")).one()
        left = jobs.erase_client(desk, job).left
        assert NAME.encode() in rows_on_disk(served)
    assert "close other screens, let backups end, and erase it again" in left[-1]
    with desk.reading() as view:
        assert NAME not in jobs.clients(view).values()
    assert len(jobs.erase_client(desk, job).left) == 2
    assert NAME.encode() not in rows_on_disk(served)
    other.dispose()
    desk.close()
