"""A backup is one state of the books, restores to the same books, and is refused if touched."""

import gzip
import json
import os
import random
import sqlite3
import time
import tracemalloc
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlalchemy.engine import Connection
from support import cluster
from support.deeds import DEEDS, Doer, Seeded, head, records
from support.drills import rounds
from support.studio import MONDAY_S, Clock, furnish
from support.studio_files import begun, copied_studio, desk_at
from support.truths import see_truths
from support.workers import Say, at_work, release_together

from stockroom.core.books.chain import seal
from stockroom.desk.stock import defining, handling
from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.errors import (
    BadValueError,
    InputError,
    RefusedError,
    StoreDamagedError,
    StoreError,
    StoreNewerError,
    StoreUnwritableError,
)
from stockroom.intake.files import sha256_hex
from stockroom.store import backup as backup_module
from stockroom.store.blocks import write_source
from stockroom.store.engine import writing
from stockroom.store.mapping import ACT, lay
from stockroom.store.view import Head, find_by_key

KINDS = sorted(DEEDS)
DATABASES = ["sqlite", *(["postgresql"] if cluster.available() else [])]
MOST_BACKUPS = 100
"""Backups made at most until the writers have been seen at work."""
WRITERS = 8


@pytest.fixture
def new_store(tmp_path: Path, request: pytest.FixtureRequest) -> Callable[[str], str]:
    """Name empty stores on a database."""
    numbers = iter(range(1_000))

    def named(database: str) -> str:
        if database == "postgresql":
            fresh: Callable[[], str] = request.getfixturevalue("fresh_postgres")
            return fresh()
        return str(tmp_path / f"new-{next(numbers)}.stockroom")

    return named


def worked_in(store: str) -> Desk:
    desk = Desk.at(store, begin=True, zone="UTC", currency="CHF", now_s=Clock(MONDAY_S))
    furnish(desk)
    begun(desk)
    return desk


def writer(store: str, number: int) -> Callable[[Say], None]:
    """A process that acts until it is killed."""

    def work(say: Say) -> None:
        choose, clock = Seeded(number), Clock(MONDAY_S)
        doer = Doer(desk_at(store, clock), clock, choose, f"w{number}")
        say("ready")
        while True:
            doer.tries(choose.one(KINDS))

    return work


@pytest.mark.parametrize("database", DATABASES)
def test_a_backup_under_eight_writers_restores_to_one_state(
    database: str, new_store: Callable[[str], str], tmp_path: Path
) -> None:
    store = new_store(database)
    desk = worked_in(store)
    start = head(desk)[0]
    with at_work([writer(store, number) for number in range(WRITERS)]):
        reports = [keeping.make_backup(desk, tmp_path / "0.backup")]
        for n in range(1, MOST_BACKUPS):
            reports.append(keeping.make_backup(desk, tmp_path / f"{n}.backup"))
            if n >= 2 and reports[-1].acts > reports[0].acts:
                break
            time.sleep(0.2)
    assert start <= reports[0].acts < reports[-1].acts
    for n, report in enumerate(reports):
        into = new_store("sqlite")
        restored = keeping.restore_backup(tmp_path / f"{n}.backup", into)
        assert (restored.head, restored.acts) == (report.head, report.acts)
        opened = desk_at(into)
        assert see_truths(opened) == report.acts
        assert head(opened)[1] == report.head
        assert (opened.zone, opened.currency) == ("UTC", "CHF")
        opened.close()
    desk.close()


@pytest.mark.parametrize("into", DATABASES)
@pytest.mark.parametrize("of", DATABASES)
def test_a_backup_moves_between_databases_and_back(
    of: str, into: str, new_store: Callable[[str], str], tmp_path: Path
) -> None:
    desk = worked_in(new_store(of))
    report = keeping.make_backup(desk, tmp_path / "first.backup")
    other_store = new_store(into)
    keeping.restore_backup(tmp_path / "first.backup", other_store)
    other = desk_at(other_store)
    assert head(other) == head(desk)
    assert head(other)[1] == report.head
    assert records(other) == records(desk)
    see_truths(other)
    keeping.make_backup(other, tmp_path / "second.backup")
    first, second = (tmp_path / f"{name}.backup" for name in ("first", "second"))
    assert first.read_bytes() == second.read_bytes()
    handling.open_unit(other, next(key for kind, key in records(other) if kind == "unit"))
    see_truths(other)
    desk.close()
    other.close()


def test_the_same_books_make_the_same_bytes(tmp_path: Path) -> None:
    copied_studio(tmp_path / "studio.stockroom")
    desk = desk_at(tmp_path / "studio.stockroom")
    for name in ("one.backup", "another-name.gz"):
        keeping.make_backup(desk, tmp_path / name)
    desk.close()
    assert (tmp_path / "one.backup").read_bytes() == (tmp_path / "another-name.gz").read_bytes()


@pytest.fixture
def backup(tmp_path: Path) -> Path:
    """A backup of a small studio."""
    copied_studio(tmp_path / "backed-up.stockroom")
    desk = desk_at(tmp_path / "backed-up.stockroom")
    keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()
    return tmp_path / "studio.backup"


def see_refused(backup: Path, folder: Path) -> None:
    """The backup is refused with the one error, and no store comes of it."""
    before = sorted(folder.iterdir())
    with pytest.raises(StoreDamagedError, match="cannot be restored"):
        keeping.restore_backup(backup, str(folder / "fresh.stockroom"))
    assert sorted(folder.iterdir()) == before


def lines_of(backup: Path) -> list[dict[str, Any]]:
    return [json.loads(line) for line in gzip.decompress(backup.read_bytes()).splitlines()]


def write_lines(backup: Path, lines: list[Any]) -> None:
    text = "".join(json.dumps(line, sort_keys=True, ensure_ascii=False) + "\n" for line in lines)
    backup.write_bytes(gzip.compress(text.encode(), mtime=0))


def test_a_cut_backup_is_refused(backup: Path, tmp_path: Path) -> None:
    whole = backup.read_bytes()
    for length in [
        0,
        1,
        9,
        10,
        11,
        len(whole) // 3,
        len(whole) // 2,
        len(whole) - 9,
        len(whole) - 1,
    ]:
        backup.write_bytes(whole[:length])
        see_refused(backup, tmp_path)


def test_a_changed_byte_is_refused_or_changes_nothing(backup: Path, tmp_path: Path) -> None:
    """The nine bytes of a gzip header that say nothing of the content may change unseen."""
    whole, rng = backup.read_bytes(), random.Random(6)
    for position in [10, len(whole) - 5, *(rng.randrange(10, len(whole)) for _ in range(40))]:
        changed = bytearray(whole)
        changed[position] ^= 1 << rng.randrange(8)
        backup.write_bytes(changed)
        see_refused(backup, tmp_path)


def first(lines: list[Any], name: str) -> dict[str, Any]:
    """Return the first act, file or block among the lines."""
    found: dict[str, Any] = next(line[name] for line in lines if name in line)
    return found


CHANGES: dict[str, Callable[[list[Any]], Any]] = {
    "an act left out": lambda lines: lines.pop(3),
    "the last act left out": lambda lines: lines.pop(),
    "an act twice": lambda lines: lines.insert(3, lines[3]),
    "two acts swapped": lambda lines: lines.insert(3, lines.pop(4)),
    "another actor": lambda lines: lines[2]["act"].update(actor="nobody"),
    "another amount": lambda lines: lines[7]["act"]["payload"].update(price_cents=1),
    "a fraction": lambda lines: lines[7]["act"].update(occurred_s=1.5),
    "a field too many": lambda lines: lines[7]["act"].update(colour="red"),
    "a field too few": lambda lines: lines[7]["act"].pop("actor"),
    "an unknown line": lambda lines: lines.insert(3, {"thing": {}}),
    "a line that is a list": lambda lines: lines.insert(3, [1, 2]),
    "a line of two things": lambda lines: lines[3].update(more={}),
    "an empty line": lambda lines: lines.insert(3, {}),
    "another head": lambda lines: lines[0].update(head="0" * 64),
    "more acts promised": lambda lines: lines[0].update(acts=99),
    "no zone": lambda lines: lines[0].pop("zone"),
    "a zone that is a number": lambda lines: lines[0].update(zone=7),
    "a schema that is a word": lambda lines: lines[0].update(schema="one"),
    "another format": lambda lines: lines[0].update(format="other/1"),
    "readings changed": lambda lines: first(lines, "block").update(place="1"),
    "a file changed": lambda lines: first(lines, "file").update(data="AAAA"),
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_backup_packed_again_with_changes_is_refused(
    change: str, backup: Path, tmp_path: Path
) -> None:
    lines = lines_of(backup)
    CHANGES[change](lines)
    assert lines != lines_of(backup)
    write_lines(backup, lines)
    see_refused(backup, tmp_path)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"not a backup",
        gzip.compress(b"", mtime=0),
        gzip.compress(b"\xff\xfe\n", mtime=0),
        gzip.compress(b"null\n", mtime=0),
        gzip.compress(b"[" * 100_000 + b"\n", mtime=0),
        gzip.compress(b'{"format": "stockroom.backup/1"}\n', mtime=0),
    ],
)
def test_what_is_none_of_ours_is_refused(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "other.backup"
    path.write_bytes(content)
    see_refused(path, tmp_path)


def test_no_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    see_refused(tmp_path / "nowhere.backup", tmp_path)
    see_refused(tmp_path, tmp_path)


def test_a_backup_of_a_newer_version_is_left_alone(backup: Path, tmp_path: Path) -> None:
    lines = lines_of(backup)
    lines[0]["schema"] = 99
    write_lines(backup, lines)
    with pytest.raises(StoreNewerError, match="newer version"):
        keeping.restore_backup(backup, str(tmp_path / "fresh.stockroom"))
    assert not (tmp_path / "fresh.stockroom").exists()


def test_a_backup_never_replaces_a_file(backup: Path, tmp_path: Path) -> None:
    before = backup.read_bytes()
    desk = desk_at(tmp_path / "backed-up.stockroom")
    with pytest.raises(RefusedError, match="there already"):
        keeping.make_backup(desk, backup)
    assert backup.read_bytes() == before
    desk.close()


def test_restoring_never_replaces_books(store: str, backup: Path) -> None:
    desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
    furnish(desk)
    before = head(desk), records(desk)
    with pytest.raises(RefusedError, match="books in that store already"):
        keeping.restore_backup(backup, store)
    assert (head(desk), records(desk)) == before
    see_truths(desk)
    desk.close()


def test_an_empty_store_takes_the_zone_of_the_backup(store: str, tmp_path: Path) -> None:
    desk = worked_in(str(tmp_path / "chf.stockroom"))
    keeping.make_backup(desk, tmp_path / "chf.backup")
    desk.close()
    Desk.at(store, begin=True, zone="Asia/Tokyo", currency="JPY").close()
    keeping.restore_backup(tmp_path / "chf.backup", store)
    opened = desk_at(store)
    assert (opened.zone, opened.currency) == ("UTC", "CHF")
    opened.close()


def test_no_backup_is_made_of_damaged_books(tmp_path: Path) -> None:
    path = tmp_path / "studio.stockroom"
    copied_studio(path)
    raw = sqlite3.connect(path)
    raw.execute("DROP TRIGGER act_no_update")
    raw.execute("UPDATE act SET actor = 'nobody' WHERE seq = 4")
    raw.commit()
    raw.close()
    desk = desk_at(path)
    with pytest.raises(StoreDamagedError, match="broken at act 4"):
        keeping.make_backup(desk, tmp_path / "bad.backup")
    desk.close()
    assert not list(tmp_path.glob("bad.backup*"))


@pytest.mark.parametrize("name", ["no/such/folder/b", "n" * 300, "a\0b"])
def test_a_backup_that_cannot_be_written_says_so(name: str, tmp_path: Path) -> None:
    copied_studio(tmp_path / "studio.stockroom")
    desk = desk_at(tmp_path / "studio.stockroom")
    with pytest.raises((StoreUnwritableError, InputError)):
        keeping.make_backup(desk, tmp_path / name)
    desk.close()
    assert [p.name for p in tmp_path.iterdir() if "backup" in p.name] == []


def test_an_act_is_never_more_than_a_backup_gives_back(
    any_desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What a backup could not bring back is refused while it can still be split."""
    defining.define_place(any_desk, "Cold store", "cold store")
    before = keeping.state(any_desk)
    monkeypatch.setattr("stockroom.store.mapping.LARGEST_ACT", 200)
    with pytest.raises(BadValueError, match="too much for one act"):
        defining.define_place(any_desk, "R" * 190, "rack")
    assert keeping.state(any_desk) == before


def test_an_act_of_nothing_but_commas_is_more_than_a_backup_gives_back(any_desk: Desk) -> None:
    """What a line of a backup may hold is counted where the act is laid, in the same way."""
    defining.define_place(any_desk, "Cold store", "cold store")
    with writing(any_desk.engine) as connection:
        act = find_by_key(connection, connection.execute(sa.select(ACT.c.key)).scalar_one())
        assert act is not None
        marked = replace(act, seq=2, key="two", payload={"name": "," * backup_module.MOST_MARKS})
        with pytest.raises(BadValueError, match="too much for one act"):
            lay(connection, marked, Head(connection).hash, "0" * 64)


def backing_up(store: str, path: Path) -> Callable[[Say], None]:
    """A process that makes one backup, and says whether it is done or refused."""

    def work(say: Say) -> None:
        desk = desk_at(store)
        try:
            say(f"done {keeping.make_backup(desk, path).head}")
        except RefusedError as error:
            say(error.what)

    return work


def backups_to_one_name(store: str, folder: Path, rounds: int) -> list[int]:
    """Two at once to one name while a third acts; return how many acts each holds that is there."""
    acts = []
    for number in range(rounds):
        path = folder / f"{number}.backup"
        with at_work([writer(store, number)]):
            said = release_together([backing_up(store, path), backing_up(store, path)])
        told = {line for (line,) in said}
        report = keeping.check_backup(path)
        assert report.faults == ()
        assert told == {f"done {report.head}", f"{path} is there already."}
        acts.append(report.acts)
    assert len(list(folder.iterdir())) == rounds
    return acts


@pytest.mark.parametrize("database", DATABASES)
@rounds(3, 50)
def test_of_two_backups_to_one_name_one_is_done_and_restores(
    database: str, rounds: int, new_store: Callable[[str], str], tmp_path: Path
) -> None:
    store, folder = new_store(database), tmp_path / "backups"
    worked_in(store).close()
    folder.mkdir()
    acts = backups_to_one_name(store, folder, rounds)
    assert acts == sorted(acts)
    assert acts[0] < acts[-1]


def test_a_backup_that_the_disk_did_not_keep_is_not_acknowledged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A byte is another one after it was brought to the disk."""
    copied_studio(tmp_path / "studio.stockroom")
    desk, fsync = desk_at(tmp_path / "studio.stockroom"), os.fsync

    def spoilt(descriptor: int) -> None:
        fsync(descriptor)
        middle = os.fstat(descriptor).st_size // 2
        (byte,) = os.pread(descriptor, 1, middle)
        os.pwrite(descriptor, bytes([byte ^ 1]), middle)

    monkeypatch.setattr(os, "fsync", spoilt)
    with pytest.raises(StoreUnwritableError, match="it was not what had been written"):
        keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()
    assert not list(tmp_path.glob("studio.backup*"))


def test_what_packs_very_small_is_backed_up_and_restored(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A logger that stands at one figure packs to a three-hundredth; acts are bounded closer."""
    copied_studio(tmp_path / "studio.stockroom")
    desk, steady = desk_at(tmp_path / "studio.stockroom"), b"2026-03-03 12:00,4.0\n" * 300_000
    monkeypatch.setattr(backup_module, "MOST_BYTES", 1_000_000)
    with writing(desk.engine) as connection:
        last = Head(connection)
        write_source(last, sha256_hex(steady), "steady.csv", steady)
        last.keep()
    report = keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()
    size = (tmp_path / "studio.backup").stat().st_size
    assert len(steady) > backup_module.MOST_BYTES + backup_module.MOST_TIMES * size
    restored = keeping.restore_backup(tmp_path / "studio.backup", str(tmp_path / "fresh.stockroom"))
    assert (restored.head, restored.files) == (report.head, report.files)


def test_a_backup_that_would_not_be_restored_is_not_blamed_on_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copied_studio(tmp_path / "studio.stockroom")
    desk = desk_at(tmp_path / "studio.stockroom")
    monkeypatch.setattr(backup_module, "MOST_PACKED_BYTES", 0)
    monkeypatch.setattr(backup_module, "PACKED_TIMES", 0)
    with pytest.raises(StoreUnwritableError, match="unpacks to too much"):
        keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()


def test_too_little_memory_is_not_blamed_on_the_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copied_studio(tmp_path / "studio.stockroom")
    desk = desk_at(tmp_path / "studio.stockroom")

    def too_much(*_: object) -> None:
        raise MemoryError

    monkeypatch.setattr(backup_module, "bounded_json", too_much)
    with pytest.raises(StoreError, match="not enough memory"):
        keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()


def test_a_backup_of_less_than_it_promises_is_not_acknowledged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was counted was not all there when it came to be written."""
    copied_studio(tmp_path / "studio.stockroom")
    desk, lines = desk_at(tmp_path / "studio.stockroom"), backup_module._lines_of

    def fewer(connection: Connection) -> Iterator[dict[str, Any]]:
        return (line for line in lines(connection) if "block" not in line)

    monkeypatch.setattr(backup_module, "_lines_of", fewer)
    with pytest.raises(StoreUnwritableError, match="was not made"):
        keeping.make_backup(desk, tmp_path / "studio.backup")
    desk.close()
    assert not list(tmp_path.glob("studio.backup*"))


def test_checking_a_backup_finds_what_its_own_sums_do_not(backup: Path, tmp_path: Path) -> None:
    """An act's readings are not in it, and it does not promise them: every line of it is whole."""
    assert keeping.check_backup(backup).faults == ()
    lines = [line for line in lines_of(backup) if "block" not in line]
    lines[0]["blocks"] = 0
    write_lines(backup, lines)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(StoreDamagedError, match="are not there"):
        keeping.check_backup(backup)
    assert sorted(tmp_path.iterdir()) == before


def test_reading_a_backup_back_holds_a_line_of_it_at_a_time(backup: Path) -> None:
    """Ten times the readings and names take no more memory than once."""
    lines = lines_of(backup)
    block = next(line for line in lines if "block" in line)
    most = []
    for times in (1, 10):
        many = [*lines, *([block] * (times - 1))]
        many[0] = {**many[0], "blocks": times}
        for entry in range(400 * times):
            plain = {"job": str(entry), "reference": "x" * 150}
            many.append({"client": {**plain, "seal": seal("client", plain)}})
        many[0]["clients"] = 400 * times
        write_lines(backup, many)
        del many
        tracemalloc.start()
        backup_module._verified(backup)
        most.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert most[1] < 1.5 * most[0]
