"""A working process killed at any instant loses nothing acknowledged, and halves nothing."""

import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy.engine import Engine
from support.deeds import DEEDS, Doer, Seeded, head
from support.studio import DAY_S, MONDAY_S, Clock, furnish
from support.studio_files import copied_studio, desk_at
from support.truths import see_acknowledged, see_truths
from support.workers import Say, killed_at_random

from stockroom.desk.session import Desk, Done
from stockroom.errors import InputError, RefusedError, StoreDamagedError
from stockroom.store.mapping import lay_changes
from stockroom.store.view import Head

WITHIN_S = 0.025
"""The latest instant of a kill after the process is ready, s: several acts."""
EACH_STORE = 50
"""Kills on one store before a new one is taken, so that the whole check stays quick."""
KINDS = sorted(DEEDS)


def writer(engine: Engine, number: int) -> Callable[[Say], None]:
    """A process that does random acts for ever, and says each once it stands in the books.

    The engine has no connection open, but its statements are compiled already.
    """

    def work(say: Say) -> None:
        choose, clock = Seeded(number), Clock(MONDAY_S + number * DAY_S // 10)
        desk = Desk(engine, now_s=clock)
        doer = Doer(desk, clock, choose, f"w{number}")
        while not isinstance(doer.tries("book"), Done):
            pass  # the first act of a process is slow, and would leave no time for others
        say("ready")
        say(f"{head(desk)[0]} w{number}-{doer.count}")
        while True:
            try:
                done = doer.do(choose.one(KINDS))
            except (RefusedError, InputError):
                continue
            say(f"{done.seq} w{number}-{doer.count}")

    return work


def kills(count: int, new_store: Callable[[], str], rng: random.Random) -> int:
    """Kill that many writers, one after the other; check all truths after each.

    Returns how many acts were acknowledged.
    """
    acknowledged = 0
    for first in range(0, count, EACH_STORE):
        store, said = new_store(), []
        desk = desk_at(store, Clock(MONDAY_S))
        for number in range(first, min(count, first + EACH_STORE)):
            desk.engine.dispose()
            said += killed_at_random(writer(desk.engine, number), rng, WITHIN_S)
            see_truths(desk)
            see_acknowledged(desk, said)
        desk.close()
        acknowledged += len(said)
    return acknowledged


@pytest.fixture
def new_file(tmp_path: Path) -> Callable[[], str]:
    """Make furnished stores on SQLite."""
    numbers = iter(range(10_000))

    def made() -> str:
        path = tmp_path / f"studio-{next(numbers)}.stockroom"
        copied_studio(path)
        return str(path)

    return made


@pytest.fixture
def new_database(fresh_postgres: Callable[[], str]) -> Callable[[], str]:
    """Make furnished stores on PostgreSQL."""

    def made() -> str:
        store = fresh_postgres()
        desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
        furnish(desk)
        desk.close()
        return store

    return made


def test_fifty_killed_writers_lose_nothing(new_file: Callable[[], str]) -> None:
    assert kills(50, new_file, random.Random(1)) > 50


@pytest.mark.slow
def test_five_hundred_killed_writers_lose_nothing(new_file: Callable[[], str]) -> None:
    assert kills(500, new_file, random.Random(2)) > 500


@pytest.mark.slow
@pytest.mark.postgres
def test_three_hundred_killed_clients_lose_nothing(new_database: Callable[[], str]) -> None:
    assert kills(300, new_database, random.Random(3)) > 100


def test_a_writer_that_acknowledges_too_early_is_found_out(
    new_file: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The harness itself is tried: an act said before its commit must turn up as lost."""
    desk, rng = desk_at(new_file()), random.Random(4)
    append = Head.append

    def hasty(number: int) -> Callable[[Say], None]:
        def work(say: Say) -> None:
            def append_and_say(head: Head, act: object) -> object:
                changes = append(head, act)  # type: ignore[arg-type]
                say(f"{head.seq} {act.key}")  # type: ignore[attr-defined]
                time.sleep(0.002)
                return changes

            monkeypatch.setattr(Head, "append", append_and_say)
            writer(desk.engine, number)(lambda line: say(line) if line == "ready" else None)

        return work

    def kill_many() -> None:
        for number in range(200):
            desk.engine.dispose()
            see_acknowledged(desk, killed_at_random(hasty(number), rng, WITHIN_S))

    with pytest.raises(AssertionError, match="acknowledged and lost"):
        kill_many()
    desk.close()


def test_a_writer_that_commits_by_halves_is_found_out(
    new_file: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The harness itself is tried: an act committed before its changes must turn up as a fault."""
    desk, rng = desk_at(new_file()), random.Random(5)

    def halving(number: int) -> Callable[[Say], None]:
        def work(say: Say) -> None:
            def late(connection, seq, touches, movements):  # type: ignore[no-untyped-def]
                connection.exec_driver_sql("COMMIT")
                time.sleep(0.002)
                connection.exec_driver_sql("BEGIN IMMEDIATE")
                return lay_changes(connection, seq, touches, movements)

            monkeypatch.setattr("stockroom.store.view.lay_changes", late)
            writer(desk.engine, number)(say)

        return work

    def kill_many() -> None:
        for number in range(200):
            desk.engine.dispose()
            killed_at_random(halving(number), rng, WITHIN_S)
            see_truths(desk)

    with pytest.raises((AssertionError, StoreDamagedError)):
        kill_many()
    desk.close()
