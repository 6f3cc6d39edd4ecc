"""A row that is missing, doubled or an older one is noticed before a figure is shown of it."""

import gzip
import json
import random
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from shutil import copyfile

import pytest
import sqlalchemy as sa
from sqlalchemy.engine import Connection
from support.databases import DATABASES, new_database
from support.deeds import DEEDS, Doer, Seeded, records
from support.studio import MONDAY_S, Clock, furnish
from support.studio_files import settle

from stockroom.core.books.chain import seal
from stockroom.core.records import RECORD_OF_KIND
from stockroom.desk import keeping
from stockroom.desk.glance import glance
from stockroom.desk.session import Desk
from stockroom.desk.work import jobs
from stockroom.desk.work.jobs import JobSaid
from stockroom.errors import StoreDamagedError
from stockroom.store import tables
from stockroom.store.mapping import table_of, to_row
from stockroom.store.sums import CLIENTS, ROWS
from stockroom.store.view import HEAD, client_row, head_seal

TABLES = [name for name, _ in ROWS]
LEAST_ROUNDS, MOST_ROUNDS = 5, 40
"""How often each kind of act is tried, until each has left a record behind."""


def test_the_sums_run_over_every_sealed_row() -> None:
    """But those of the head itself, and of what the acts touched, which is counted."""
    known = tables.SQLModel.metadata.tables
    sealed = {name for name, table in known.items() if {"seal", "sha256"} & {*table.columns.keys()}}
    summed = dict((*ROWS, *CLIENTS))
    assert sealed - {"meta", "chain_head", "touch"} == summed.keys()
    assert all(column in known[name].columns for name, column in summed.items())


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled store as one file, made once."""
    path = tmp_path_factory.mktemp("template") / "studio.stockroom"
    fill(str(path))
    settle(path)
    return path


@pytest.fixture(scope="module", params=DATABASES)
def worked(
    request: pytest.FixtureRequest, template: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[str]:
    """A store with something of every kind of record, a customer, readings and a file.

    On PostgreSQL it is restored from a backup of the one that was filled.
    """
    folder = tmp_path_factory.mktemp("worked")
    copy = str(copyfile(template, folder / "studio.stockroom"))
    if request.param == "sqlite":
        yield copy
        return
    with new_database(request.getfixturevalue("postgres")) as store:
        desk = Desk.at(copy)
        keeping.make_backup(desk, folder / "backup")
        desk.close()
        keeping.restore_backup(folder / "backup", store)
        yield store


def fill(store: str) -> None:
    clock = Clock(MONDAY_S)
    desk = Desk.at(store, begin=True, now_s=clock)
    studio = furnish(desk)
    said = JobSaid(name="Ebb", width_dmm=6_000, height_dmm=4_000, material=studio.paper)
    for number in range(3):
        jobs.book(desk, JobSaid(**{**_plain(said), "client": f"customer {number}"}))
    doer = Doer(desk, clock, Seeded(5))
    for number in range(MOST_ROUNDS):
        for kind in sorted(DEEDS):
            doer.tries(kind)
        missing = set(RECORD_OF_KIND) - {kind for kind, _ in records(desk)}
        if number >= LEAST_ROUNDS and not missing:
            break
    assert not missing, "a kind of record that no deed leaves behind"
    desk.close()


def _plain(said: JobSaid) -> dict[str, object]:
    return {name: getattr(said, name) for name in JobSaid.__slots__}


class Spoiled:
    """A store that is changed from outside for one test, and put right afterwards."""

    def __init__(self, store: str) -> None:
        self.desk = Desk.at(store, now_s=Clock(MONDAY_S + 10**8), whole=False)
        self.store = store

    def __enter__(self) -> Connection:
        self.connection = self.desk.engine.connect()
        if self.connection.dialect.name == "postgresql":
            self.connection.exec_driver_sql("SET session_replication_role = replica")
        else:
            driver = self.connection.connection.driver_connection
            assert driver is not None
            driver.execute("PRAGMA foreign_keys = OFF")
            for name in self._triggers():
                self.connection.exec_driver_sql(f"DROP TRIGGER {name}")
        return self.connection

    def _triggers(self) -> list[str]:
        query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        return list(self.connection.execute(sa.text(query)).scalars())

    def __exit__(self, *_: object) -> None:
        self.connection.rollback()
        self.connection.close()
        self.desk.close()


def refused(connection: Connection) -> bool:
    """Whether a process that opens the books now would refuse to show a figure."""
    from stockroom.store.view import see_sums

    try:
        see_sums(connection)
    except StoreDamagedError:
        return True
    return False


@pytest.mark.parametrize("table", TABLES)
def test_a_deleted_row_is_noticed(worked: str, table: str) -> None:
    with Spoiled(worked) as connection:
        assert not refused(connection)
        key = "ctid" if connection.dialect.name == "postgresql" else "rowid"
        row = f'SELECT {key} FROM "{table}" LIMIT 1'
        gone = connection.exec_driver_sql(f'DELETE FROM "{table}" WHERE {key} = ({row})')
        assert gone.rowcount == 1
        assert refused(connection)


def test_an_older_row_with_a_seal_of_its_own_is_noticed(worked: str) -> None:
    """What acts touched is kept as it was before: each such row put back is found."""
    tried = 0
    with Spoiled(worked) as connection:
        touches = connection.execute(
            sa.text("SELECT kind, record_key, before FROM touch WHERE before IS NOT NULL")
        ).all()
        for touch in random.Random(1).sample(touches, min(60, len(touches))):
            record = RECORD_OF_KIND[touch.kind]
            row = to_row(record.from_plain(json.loads(touch.before)))
            table = table_of(record)
            key = table.c[record.key_field]
            with connection.begin_nested() as back:
                here = key == row[record.key_field]
                stands = connection.execute(sa.select(table.c.seal).where(here)).scalar()
                if stands not in (None, row["seal"]):  # gone, or undone to just this
                    connection.execute(table.update().where(here).values(row))
                    tried += 1
                    assert refused(connection), touch
                back.rollback()
    assert tried > 10


def test_a_movement_that_costs_three_times_as_much_is_noticed(worked: str) -> None:
    """Its seal is as it was, so the sum holds: it is found where it is read."""
    from stockroom.store.mapping import moved

    with Spoiled(worked) as connection:
        connection.exec_driver_sql("UPDATE movement SET cost_cents = 3 * cost_cents + 1")
        assert not refused(connection)
        with pytest.raises(StoreDamagedError):
            moved(connection)


def test_a_movement_with_a_seal_made_for_it_is_noticed(worked: str) -> None:
    with Spoiled(worked) as connection:
        table = table_of(tables.MovementRow)
        row = dict(connection.execute(sa.select(table).limit(1)).one()._mapping)
        row["cost_cents"] += 1
        row["seal"] = seal("movement", {name: row[name] for name in row if name != "seal"})
        connection.execute(
            table.update().where(table.c.act == row["act"], table.c.n == row["n"]).values(row)
        )
        assert refused(connection)


def test_a_customer_taken_away_or_put_back_is_noticed(worked: str) -> None:
    with Spoiled(worked) as connection:
        connection.exec_driver_sql("DELETE FROM client WHERE reference = 'customer 1'")
        assert refused(connection)
        connection.rollback()
        table = table_of(tables.ClientRow)
        connection.execute(table.insert(), client_row("10010", "somebody else"))
        assert refused(connection)


def test_customers_moved_to_other_jobs_are_noticed(worked: str) -> None:
    with Spoiled(worked) as connection:
        names = [f"customer {number}" for number in range(3)]
        for name, other in zip(names, [*names[1:], names[0]], strict=True):
            connection.execute(
                sa.text("UPDATE client SET reference = :new WHERE reference = :old"),
                {"new": f"{other}.", "old": name},
            )
        faults = keeping.check_whole(connection).faults
        assert sum("the customer's reference" in fault for fault in faults) == 3


def test_a_head_set_back_is_noticed_before_anything_is_done(worked: str) -> None:
    with Spoiled(worked) as connection:
        connection.execute(HEAD.update().values(next_number=HEAD.c.next_number - 1))
        assert refused(connection)
        connection.rollback()
        row = dict(connection.execute(sa.select(HEAD)).one()._mapping) | {"seq": 1}
        connection.execute(HEAD.update().values(**row | {"seal": head_seal(row)}))
        with pytest.raises(StoreDamagedError):
            keeping.check_whole(connection)


def spoil(store: str) -> None:
    """Take a roll away for good."""
    changed(store, "DELETE FROM unit WHERE code = (SELECT max(code) FROM unit)")


@pytest.fixture
def filled(template: Path, tmp_path: Path) -> str:
    return str(copyfile(template, tmp_path / "studio.stockroom"))


@pytest.fixture
def spoiled(filled: str) -> str:
    spoil(filled)
    return filled


def test_no_desk_opens_on_it_and_no_glance_is_shown(spoiled: str) -> None:
    with pytest.raises(StoreDamagedError, match="not all that its acts wrote") as told:
        Desk.at(spoiled)
    assert "stockroom backup" in str(told.value)
    assert glance(spoiled) is None


def test_a_new_backup_restored_heals_it(spoiled: str, tmp_path: Path) -> None:
    desk = Desk.at(spoiled, whole=False)
    assert len(keeping.check(desk).faults) >= 2  # the sum, and which row
    keeping.make_backup(desk, tmp_path / "backup")
    desk.close()
    keeping.restore_backup(tmp_path / "backup", str(tmp_path / "healed"))
    healed = Desk.at(str(tmp_path / "healed"))
    assert keeping.check(healed).faults == ()
    with healed.reading() as view:
        assert len(jobs.clients(view)) >= 3
    healed.close()


def test_a_customer_that_was_changed_is_left_out_of_a_backup_and_counted(
    filled: str, tmp_path: Path
) -> None:
    changed(filled, "UPDATE client SET reference = 'X' WHERE reference = 'customer 1'")
    desk = Desk.at(filled, whole=False)
    with desk.reading() as view, pytest.raises(StoreDamagedError, match="customer's reference"):
        jobs.clients(view)
    assert keeping.make_backup(desk, tmp_path / "backup").left_out == 1
    desk.close()
    keeping.restore_backup(tmp_path / "backup", str(tmp_path / "healed"))
    Desk.at(str(tmp_path / "healed")).close()


def test_erasing_a_customer_leaves_nothing_of_the_text_in_the_sums(worked: str) -> None:
    desk = Desk.at(worked, now_s=Clock(MONDAY_S + 10**8))
    with desk.reading() as view:
        before = view.connection.execute(sa.select(HEAD)).one()
        (job,) = [job for job, name in jobs.clients(view).items() if name == "customer 2"]
    jobs.erase_client(desk, job)
    with desk.reading() as view:
        after = view.connection.execute(sa.select(HEAD)).one()
    assert after.rows_sum == before.rows_sum
    assert after.clients_sum != before.clients_sum
    assert keeping.check(desk).faults == ()
    jobs.change_job(desk, job, JobSaid(client="customer 2"))
    with desk.reading() as view:
        again = view.connection.execute(sa.select(HEAD)).one()
    assert again.clients_sum == before.clients_sum
    desk.close()


def changed(store: str, *statements: str) -> None:
    """Change a store from outside, its triggers dropped."""
    with sqlite3.connect(store) as connection:
        names = connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        for (name,) in names.fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            assert connection.execute(statement).rowcount
    connection.close()


def test_no_backup_is_acknowledged_that_lacks_readings(filled: str, tmp_path: Path) -> None:
    """It would restore into a store that shows no figure, and whose advice is another backup."""
    changed(filled, "DELETE FROM block WHERE month = (SELECT min(month) FROM block)")
    desk = Desk.at(filled, whole=False)
    with pytest.raises(StoreDamagedError, match="are not there"):
        keeping.make_backup(desk, tmp_path / "backup")
    desk.close()
    assert not (tmp_path / "backup").exists()


def test_a_backup_that_lacks_readings_is_not_restored(filled: str, tmp_path: Path) -> None:
    desk = Desk.at(filled)
    keeping.make_backup(desk, tmp_path / "backup")
    desk.close()
    first, *lines = gzip.decompress((tmp_path / "backup").read_bytes()).splitlines()
    number = next(n for n, line in enumerate(lines) if line.startswith(b'{"block"'))
    promised = json.loads(first)
    promised["blocks"] -= 1
    left = [json.dumps(promised).encode(), *lines[:number], *lines[number + 1 :]]
    (tmp_path / "lacking").write_bytes(gzip.compress(b"\n".join(left) + b"\n"))
    with pytest.raises(StoreDamagedError, match="are not there"):
        keeping.restore_backup(tmp_path / "lacking", str(tmp_path / "restored"))


def test_a_touch_that_is_gone_is_noticed_before_anything_is_undone_by_it(filled: str) -> None:
    changed(filled, "DELETE FROM touch WHERE act = (SELECT max(act) FROM touch)")
    with pytest.raises(StoreDamagedError, match="What the acts touched is not all there"):
        Desk.at(filled)


def test_customers_that_are_gone_are_told_by_the_backup_and_the_advice(
    filled: str, tmp_path: Path
) -> None:
    changed(filled, "DELETE FROM client WHERE reference = 'customer 1'")
    with pytest.raises(StoreDamagedError, match="In no act are they"):
        Desk.at(filled)
    desk = Desk.at(filled, whole=False)
    assert keeping.make_backup(desk, tmp_path / "backup").some_missing
    desk.close()


def test_a_head_that_is_gone_leads_to_the_last_backup(filled: str) -> None:
    changed(filled, "DELETE FROM chain_head")
    with pytest.raises(StoreDamagedError, match="Restore the last backup"):
        Desk.at(filled)
