"""Damage, a full disk, a locked file: each is noticed and said, and no wrong figure is shown."""

import os
import resource
import shutil
import signal
import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from pathlib import Path
from tempfile import mkdtemp

import pytest
import sqlalchemy as sa
from sqlalchemy import event
from sqlmodel import SQLModel
from support.databases import DATABASES, new_database
from support.deeds import DEEDS, Doer, Seeded, head, records
from support.studio import MONDAY_S, Clock, furnish
from support.studio_files import begun, copied_studio, desk_at, settle
from support.truths import see_acknowledged, see_truths
from support.workers import Say, fork

from stockroom.core.books.chain import act_hash
from stockroom.core.model import RECORDS, Unit
from stockroom.desk.stock import defining, handling
from stockroom.desk import keeping
from stockroom.desk.lookup import everything
from stockroom.desk.session import Desk
from stockroom.errors import (
    InputError,
    RefusedError,
    StoreDamagedError,
    StoreError,
    StoreMissingError,
    StoreNewerError,
    StoreUnwritableError,
)
from stockroom.store import tables
from stockroom.store.check import check_whole
from stockroom.store.schema import workshop
from stockroom.store.view import Head, StoreView, sums_fault

KINDS = sorted(DEEDS)


# ---- a damaged file ----------------------------------------------------------------------------


@pytest.fixture
def worked(tmp_path: Path) -> Path:
    """A store in which some random acts were done."""
    path = tmp_path / "worked.stockroom"
    copied_studio(path)
    desk = desk_at(path)
    act_on(desk, 25, Seeded(8))
    desk.close()
    settle(path)
    return path


def act_on(desk: Desk, acts: int, choose: Seeded) -> None:
    clock = desk.now_s
    assert isinstance(clock, Clock)
    doer = Doer(desk, clock, choose, "worked")
    for _ in range(acts):
        doer.tries(choose.one(KINDS))


def test_a_damaged_index_is_found(worked: Path) -> None:
    """An index that names no row hides a record from those who look by it; rows stay sound."""
    raw = sqlite3.connect(worked)
    (page,) = raw.execute(
        "SELECT rootpage FROM sqlite_master WHERE name = 'ix_stay_unit'"
    ).fetchone()
    (size,) = raw.execute("PRAGMA page_size").fetchone()
    raw.close()
    image = bytearray(worked.read_bytes())
    start = (page - 1) * size
    entries = int.from_bytes(image[start + 3 : start + 5], "big")
    image[start + 3 : start + 5] = (entries - 1).to_bytes(2, "big")
    worked.write_bytes(image)
    desk = desk_at(worked)
    assert any("ix_stay_unit" in fault for fault in keeping.check(desk).faults)
    desk.now_s.on(3)  # type: ignore[attr-defined]
    with pytest.raises(StoreDamagedError, match="no figure is shown"):
        keeping.check_daily(desk)
    desk.close()


@pytest.mark.parametrize("content", [b"", b"not a database, but long enough for one" * 200])
def test_what_is_no_store_is_refused_and_left_alone(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "other.stockroom"
    path.write_bytes(content)
    with pytest.raises(StoreError):
        Desk.at(str(path))
    assert path.read_bytes() == content or not content
    if content:
        with pytest.raises(StoreDamagedError):
            Desk.at(str(path), begin=True)
        assert path.read_bytes() == content


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    raw = sqlite3.connect(path)
    raw.execute("CREATE TABLE something (a)")
    raw.commit()
    raw.close()
    for begin in (False, True):
        with pytest.raises(StoreMissingError):
            Desk.at(str(path), begin=begin)
    raw = sqlite3.connect(path)
    assert raw.execute("SELECT name FROM sqlite_master").fetchall() == [("something",)]
    raw.close()


def test_a_folder_and_nothing_at_all_are_refused(tmp_path: Path) -> None:
    for store in (tmp_path, tmp_path / "nowhere.stockroom"):
        with pytest.raises(StoreMissingError):
            Desk.at(str(store))
    assert list(tmp_path.iterdir()) == []


def test_a_newer_store_is_refused_and_untouched(store: str) -> None:
    desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
    furnish(desk)
    before = records(desk)
    run(desk, "UPDATE meta SET schema_number = 99")
    for begin in (False, True):
        with pytest.raises(StoreNewerError, match="newer version"):
            Desk.at(store, begin=begin)
    assert records(desk) == before
    run(desk, f"UPDATE meta SET schema_number = {tables.SCHEMA_NUMBER}")
    see_truths(desk)
    desk.close()


# ---- tampering by SQL --------------------------------------------------------------------------


@pytest.fixture(scope="module", params=DATABASES)
def kept(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Desk]:
    """A studio with some history, on each database; what is done to it is taken back each time."""
    with ExitStack() as stack:
        if request.param == "sqlite":
            store = str(tmp_path_factory.mktemp("kept") / "studio.stockroom")
        else:
            store = stack.enter_context(new_database(request.getfixturevalue("postgres")))
        desk = Desk.at(store, begin=True, zone="UTC", now_s=Clock(MONDAY_S))
        furnish(desk)
        begun(desk)
        act_on(desk, 40, Seeded(13))
        Doer(desk, Clock(MONDAY_S), Seeded(1), "more").do("strip")
        see_truths(desk)
        yield desk
        see_truths(desk)
        desk.close()


@contextmanager
def tampered(desk: Desk, *statements: str) -> Iterator[StoreView]:
    """Give the books as they are after what no act does; it is taken back in the end."""
    with desk.engine.connect() as connection, connection.begin() as transaction:
        if connection.dialect.name == "postgresql":
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
        else:
            connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
            query = "SELECT name FROM sqlite_master WHERE type = 'trigger'"
            for name in connection.execute(sa.text(query)).scalars().all():
                connection.exec_driver_sql(f"DROP TRIGGER {name}")
        for statement in statements:
            assert connection.exec_driver_sql(statement).rowcount, "nothing was changed"
        yield StoreView(connection)
        transaction.rollback()


EDITED_ROWS = {
    "unit": "UPDATE unit SET remaining_dmm = remaining_dmm + 1 WHERE form = 'roll'",
    "lot": "UPDATE lot SET label_date = '2029-01-01'",
    "material": "UPDATE material SET label_life_days = 9999",
    "place": "UPDATE place SET set_point_centi_c = 100",
    "stay": "UPDATE stay SET from_s = from_s - 86400",
    "job": "UPDATE job SET good = good + 1",
}


@pytest.mark.parametrize("kind", EDITED_ROWS)
def test_an_edited_record_is_refused_at_reading(kind: str, kept: Desk) -> None:
    record = next(item for item in RECORDS if item.kind == kind)
    with tampered(kept, EDITED_ROWS[kind]) as view:
        with pytest.raises(StoreDamagedError, match="seal"):
            everything(view, record)
        assert any("seal" in fault for fault in check_whole(view.connection).faults)


TAMPERED = {
    "actor of an act": "UPDATE act SET actor = 'nobody' WHERE seq = 7",
    "reason of an act": "UPDATE act SET reason = 'because' WHERE seq = 7",
    "time of an act": "UPDATE act SET occurred_s = occurred_s - 60 WHERE seq = 7",
    "time of writing": "UPDATE act SET recorded_s = recorded_s - 60 WHERE seq = 7",
    "payload of an act": "UPDATE act SET payload = replace(payload, '\"count\":6', '\"count\":5')",
    "blanks in a payload": "UPDATE act SET payload = payload || ' ' WHERE seq = 7",
    "payload that is none": "UPDATE act SET payload = '{' WHERE seq = 7",
    "kind of an act": "UPDATE act SET kind = 'open' WHERE seq = 7",
    "key of an act": "UPDATE act SET key = 'other' WHERE seq = 7",
    "hash of an act": "UPDATE act SET hash = prev WHERE seq = 7",
    "an act deleted": "DELETE FROM act WHERE seq = 7",
    "the first act deleted": "DELETE FROM act WHERE seq = 1",
    "the tail cut": "DELETE FROM act WHERE seq = (SELECT max(seq) FROM act)",
    "the head moved": "UPDATE chain_head SET seq = seq - 1",
    "the head's hash": "UPDATE chain_head SET hash = 'a'",
    "the next number": "UPDATE chain_head SET next_number = 1003",
    "a movement's amount": "UPDATE movement SET qty = qty + 1 WHERE act = 6",
    "a movement's cost": "UPDATE movement SET cost_cents = 1 WHERE act = 6",
    "a movement deleted": "DELETE FROM movement WHERE act = 6",
    "a touch changed": "UPDATE touch SET before = NULL WHERE before IS NOT NULL",
    "a touch deleted": "DELETE FROM touch WHERE act = 6",
    "a record deleted": "DELETE FROM strip",
    "a stay deleted": "DELETE FROM stay",
    "a file renamed to another hash": "UPDATE source_file SET sha256 = 'a' || sha256",
    "a file's bytes": "UPDATE source_file SET size = size + 1",
    "a block's place": "UPDATE block SET place = '10025'",
    "a block's span": "UPDATE block SET to_s = to_s + 1",
    "a block deleted": "DELETE FROM block",
}


@pytest.mark.parametrize("what", TAMPERED)
def test_tampering_is_found_by_a_check(what: str, kept: Desk) -> None:
    with tampered(kept, TAMPERED[what]) as view:
        assert found_by_check(view)


def test_acts_in_another_order_are_found(kept: Desk) -> None:
    swap = "UPDATE act SET seq = {} WHERE seq = {}"
    steps = [(9_000, 8), (8, 7), (7, 9_000)]
    with tampered(kept, *(swap.format(*step) for step in steps)) as view:
        assert found_by_check(view)


def test_an_act_rewritten_with_a_hash_of_its_own_is_found(kept: Desk) -> None:
    """Who can reckon hashes can rewrite one act, but not what the next one was bound to."""
    with kept.reading() as view:
        act = view.act(7)
        (previous,) = view.connection.execute(sa.text("SELECT prev FROM act WHERE seq = 7")).one()
    assert act is not None
    forged = act_hash(previous, replace(act, actor="nobody"))
    with tampered(
        kept, f"UPDATE act SET actor = 'nobody', hash = '{forged}' WHERE seq = 7"
    ) as view:
        assert view.act(7) is not None
        with pytest.raises(StoreDamagedError, match="broken at act 8"):
            check_whole(view.connection)


def test_a_tail_cut_with_the_head_set_back_is_found(kept: Desk) -> None:
    last = head(kept)[0]
    cut = (
        f"DELETE FROM touch WHERE act = {last}",
        f"UPDATE chain_head SET seq = {last - 1}, hash = (SELECT prev FROM act WHERE seq = {last})",
        f"DELETE FROM act WHERE seq = {last}",
    )
    with tampered(kept, *cut) as view:
        assert found_by_check(view)


def test_records_are_held_against_the_acts_where_the_sums_are_reckoned_anew(kept: Desk) -> None:
    """The sums are against slips; who reckons them anew still meets the fold."""
    with kept.reading() as view:
        stays = view.connection.execute(sa.text("SELECT seal FROM stay")).scalars().all()
    with tampered(kept, "DELETE FROM stay") as view:
        head_now = Head(view.connection)
        head_now.count([], stays)
        head_now.keep()
        assert sums_fault(view.connection) == ""
        faults = check_whole(view.connection).faults
    assert len([fault for fault in faults if "is not what the acts make it" in fault]) == len(stays)


def test_the_end_of_the_chain_is_held_against_its_last_act(kept: Desk) -> None:
    with tampered(kept) as view:
        head_now = Head(view.connection)
        head_now.hash = "0" * 64
        head_now.keep()
        with pytest.raises(StoreDamagedError, match="The end of the chain is not where"):
            check_whole(view.connection)


def found_by_check(view: StoreView) -> bool:
    try:
        return check_whole(view.connection).faults != ()
    except StoreDamagedError:
        return True


def test_an_edited_zone_or_currency_is_refused(kept: Desk) -> None:
    for said in ("currency = 'USD'", "workshop_zone = 'Asia/Tokyo'"):
        with (
            tampered(kept, f"UPDATE meta SET {said}") as view,
            pytest.raises(StoreDamagedError, match="seal"),
        ):
            workshop(view.connection)


def test_an_act_is_not_undone_from_a_changed_touch(kept: Desk) -> None:
    with kept.reading() as view:
        seqs = range(head(kept)[0], 0, -1)
        last = next(seq for seq in seqs if any(touch.before for touch in view.touches(seq)))
    more = "replace(before, '\"last_act\":', '\"last_act\":1')"
    with (
        tampered(kept, f"UPDATE touch SET before = {more} WHERE act = {last}") as view,
        pytest.raises(StoreDamagedError, match="seal"),
    ):
        view.touches(last)


# ---- tables that are only added to -------------------------------------------------------------


A_COLUMN = {
    "act": "actor",
    "touch": "kind",
    "movement": "unit",
    "source_file": "name",
    "block": "place",
}


@pytest.mark.parametrize("table", tables.ONLY_ADDED)
def test_only_added_tables_refuse_everything_else(table: str, kept: Desk) -> None:
    sql, column = SQLModel.metadata.tables[table], A_COLUMN[table]
    statements = [f"UPDATE {table} SET {column} = 'x'", f"DELETE FROM {table}"]
    names = ", ".join(c.name for c in sql.columns)
    keys = ", ".join(c.name for c in sql.primary_key)
    if kept.engine.dialect.name == "sqlite":
        statements.append(f"INSERT OR REPLACE INTO {table} SELECT {names} FROM {table}")
    else:
        statements.append(f"TRUNCATE {table} CASCADE")
    statements.append(
        f"INSERT INTO {table} ({names}) SELECT {names} FROM {table} WHERE true "
        f"ON CONFLICT ({keys}) DO UPDATE SET {column} = 'x'"
    )
    for statement in statements:
        with pytest.raises(sa.exc.DatabaseError, match="only ever added"):
            run(kept, statement)
    see_truths(kept)


def run(desk: Desk, statement: str) -> None:
    with desk.engine.begin() as connection:
        connection.exec_driver_sql(statement)


def test_a_replaced_act_that_no_trigger_saw_is_found(worked: Path) -> None:
    """Another program may leave recursive triggers off: then REPLACE passes them, not the chain."""
    raw = sqlite3.connect(worked)
    columns = [row[1] for row in raw.execute("PRAGMA table_info(act)")]
    chosen = ", ".join("'nobody'" if name == "actor" else name for name in columns)
    raw.execute(f"INSERT OR REPLACE INTO act SELECT {chosen} FROM act WHERE seq = 4")
    raw.commit()
    raw.close()
    desk = desk_at(worked)
    with desk.reading() as view:
        assert found_by_check(view)
    desk.close()


# ---- no room, no permission --------------------------------------------------------------------


def test_a_full_disk_changes_nothing_and_work_goes_on_after(tmp_path: Path) -> None:
    """The database may grow no further: at every size an act is whole or absent."""
    path = tmp_path / "studio.stockroom"
    copied_studio(path)
    desk = desk_at(path)
    pages = {"most": 0}

    def limit(connection: sqlite3.Connection, _record: object) -> None:
        if pages["most"]:
            connection.execute(f"PRAGMA max_page_count = {pages['most']}")

    event.listen(desk.engine, "connect", limit)
    with desk.engine.connect() as connection:
        size = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
    refused, choose = 0, Seeded(13)
    for extra in range(0, 6):
        desk.engine.dispose()
        pages["most"] = size + extra
        before = head(desk), records(desk)
        number = 0
        while number < 200:
            number += 1
            try:
                defining.define_place(desk, f"Rack {extra}.{number} " + "x" * 180, "rack")
            except StoreUnwritableError as error:
                refused += "full" in str(error)
                break
            before = head(desk), records(desk)
        assert (head(desk), records(desk)) == before
    assert refused == 6
    desk.engine.dispose()
    pages["most"] = 0
    act_on(desk, 10, choose)
    see_truths(desk)
    desk.close()


def test_a_write_that_fails_at_any_byte_leaves_nothing_by_halves(tmp_path: Path) -> None:
    """The file system refuses to let any file grow past a size: acts are whole or absent."""
    path = tmp_path / "studio.stockroom"
    copied_studio(path)
    desk, said, failures = desk_at(path), [], 0
    for number in range(24):
        log = path.with_name(path.name + "-wal")
        size = (log.stat().st_size if log.exists() else 0) + 1_500 * number

        def cramped(say: Say, number: int = number, size: int = size) -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (max(size, 33_000), resource.RLIM_INFINITY))
            clock, choose = Clock(MONDAY_S), Seeded(number)
            doer = Doer(desk_at(path, clock), clock, choose, f"c{number}")
            for _ in range(40):
                try:
                    done = doer.do(choose.one(KINDS))
                except (RefusedError, InputError):
                    continue
                except StoreUnwritableError:
                    say("no room")
                    return
                say(f"{done.seq} c{number}-{doer.count}")

        lines = fork(cramped).end()
        failures += lines.count("no room")
        said += [line for line in lines if line != "no room"]
        see_truths(desk)
        see_acknowledged(desk, said)
    assert failures > 5
    assert len(said) > 5
    desk.close()


def test_a_backup_without_room_says_so_and_leaves_no_part(tmp_path: Path) -> None:
    path = tmp_path / "studio.stockroom"
    copied_studio(path)

    def cramped(say: Say) -> None:
        desk = desk_at(path)
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (500, resource.RLIM_INFINITY))
        try:
            keeping.make_backup(desk, tmp_path / "studio.backup")
        except StoreUnwritableError as error:
            say(str(error))

    said = fork(cramped).end()
    assert "cannot be written" in said[0]
    assert not list(tmp_path.glob("*.backup*"))


NOBODY = 65_534
"""The user without rights: even the tests of an administrator then meet a locked file."""


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that every user may enter."""
    folder = Path(mkdtemp(prefix="stockroom-locked-"))
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.parametrize(("file_mode", "folder_mode"), [(0o444, 0o777), (0o444, 0o555), (0, 0o555)])
def test_a_file_that_may_not_be_written_is_left_alone(
    file_mode: int, folder_mode: int, open_folder: Path
) -> None:
    """A person without the right is told so; what may be read is right; nothing is changed."""
    path = open_folder / "studio.stockroom"
    studio = copied_studio(path)
    desk = desk_at(path)
    right_mm = records(desk)["unit", studio.roll].plain()["remaining_dmm"]
    desk.close()
    settle(path)
    right = path.read_bytes()
    path.chmod(file_mode)
    open_folder.chmod(folder_mode)

    def without_rights(say: Say) -> None:
        if os.geteuid() == 0:
            os.setgid(NOBODY)
            os.setuid(NOBODY)
        try:
            desk = Desk.at(str(path))
            with desk.reading() as view:
                say(f"read {view.get(Unit, studio.roll).remaining_dmm}")  # type: ignore[union-attr]
            handling.open_unit(desk, studio.second_roll)
            say("written")
        except StoreError as error:
            say(type(error).__name__)

    said = fork(without_rights).end()
    assert said in (
        [f"read {right_mm}", "StoreUnwritableError"],
        ["StoreUnwritableError"],
        ["StoreMissingError"],
    )
    open_folder.chmod(0o755)
    path.chmod(0o644)
    assert path.read_bytes() == right
    desk = desk_at(path)
    handling.open_unit(desk, studio.second_roll)
    see_truths(desk)
    desk.close()
