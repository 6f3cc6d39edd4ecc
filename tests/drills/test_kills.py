"""A process killed at any instant, or at any file operation, loses nothing and halves nothing."""

import os
import random
import signal
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from support.broken_off import (
    KINDS,
    InFile,
    OnServer,
    Place,
    Tried,
    all_kinds,
    see_repeat_is_one,
    see_whole_or_absent,
)
from support.deeds import DEEDS, Doer, Seeded, head
from support.disk import OK, Step, can_be_watched, watched
from support.drills import rounds
from support.studio import Clock
from support.workers import Say, fork, killed_at_random

from stockroom.core.books.fold import FOLDS
from stockroom.desk.session import Desk
from stockroom.errors import InputError, RefusedError, StoreDamagedError
from stockroom.store.mapping import lay_changes
from stockroom.store.view import Head

WITHIN = 5
"""The latest instant of a kill after the process is ready, in times that its act took before."""
STEPS = 90
"""The last file operation at which a process is killed: its opening and one to three acts."""


def worker(one: Tried, number: int) -> Callable[[Say], None]:
    """A process that does one act and then others for ever, and says each once it stands."""

    def work(say: Say) -> None:
        if number % 4:
            head(one.desk)  # opened already, else a kill mostly comes while it is
        say("ready")
        say(f"{one.act().seq} {one.key}")
        _acts_for_ever(one.desk, number, say)

    return work


def _acts_for_ever(desk: Desk, number: int, say: Say) -> None:
    choose, clock = Seeded(number), desk.now_s
    assert isinstance(clock, Clock)
    doer = Doer(desk, clock, choose, f"w{number}")
    while True:
        try:
            done = doer.do(choose.one(KINDS))
        except (RefusedError, InputError):
            continue
        say(f"{done.seq} {doer.name}-{doer.count}")


def killed_at_step(work: Callable[[Say], None], rng: random.Random) -> list[str]:
    """Have a worker kill itself at one of its file operations, which may be torn; hear it."""
    left, torn = rng.randrange(1, STEPS), rng.random()

    def last(step: Step) -> int:
        nonlocal left
        left -= 1
        if not left:
            step.tear(int(step.size * torn) if step.operation == "write" else 0)
            os.kill(os.getpid(), signal.SIGKILL)
        return OK

    def watched_work(say: Say) -> None:
        with watched(last):
            work(say)

    return [line for line in fork(watched_work).end() if line != "ready"]


def killed(one: Tried, number: int, rng: random.Random, place: Place) -> list[str]:
    """Kill a worker, every fifth time a second one too, while it brings the store back."""
    said: list[str] = []
    for _ in range(2 if number % 5 == 4 else 1):
        work = worker(one, number)
        one.desk.engine.dispose()
        if number % 2 and isinstance(place, InFile) and can_be_watched():
            said += killed_at_step(work, rng)
        else:
            said += killed_at_random(work, rng, WITHIN * one.took_s)
    return said


def see_all_whole(place: Place, count: int, seed: int) -> None:
    """Break off so many acts by kills, of each kind in turn, and see what is left of each."""
    rng, said, stood, began_s = random.Random(seed), 0, 0, time.monotonic()
    for number, one in enumerate(all_kinds(place, count, seed)):
        if isinstance(place, InFile):
            place.pages = rng.choice([20, 1_000])
        lines = killed(one, number, rng, place)
        see_whole_or_absent(one, lines)
        stood += head(one.desk) != one.before
        see_repeat_is_one(one)
        said += len(lines)
    sys.stdout.write(
        f"\n{count} kills on {place.engine.dialect.name}: {stood} of the acts stood, {said} acts "
        f"acknowledged; lost 0, doubled 0, half-done 0; {time.monotonic() - began_s:.1f} s\n"
    )
    assert count / 10 < stood < count, "a kill must mostly come neither too early nor too late"


@rounds(60, 1_500, 10_000)
def test_whatever_was_being_done_a_kill_leaves_it_whole_or_absent(
    rounds: int, tmp_path: Path
) -> None:
    see_all_whole(InFile(tmp_path / "studio.stockroom"), rounds, seed=1)


@pytest.mark.drill
@pytest.mark.postgres
def test_killed_clients_of_a_server_leave_it_whole_or_absent(
    fresh_postgres: Callable[[], str], tmp_path: Path
) -> None:
    see_all_whole(OnServer(fresh_postgres(), fresh_postgres(), tmp_path), 120, seed=2)


def test_every_kind_of_act_is_killed() -> None:
    """What the fold knows and what the drills do are the same kinds, whatever else they do."""
    assert set(FOLDS) <= set(DEEDS)


def see_found_out(place: Place, work: Callable[[Tried], Callable[[Say], None]]) -> None:
    """A worker with a fault is found out after a few kills."""
    rng = random.Random(4)
    for one in all_kinds(place, 200, seed=4):
        one.desk.engine.dispose()
        see_whole_or_absent(one, killed_at_random(work(one), rng, WITHIN * one.took_s))


def test_a_writer_that_acknowledges_too_early_is_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The harness itself is tried: an act said before its commit must turn up as lost."""
    append = Head.append

    def hasty(one: Tried) -> Callable[[Say], None]:
        def work(say: Say) -> None:
            def append_and_say(head: Head, act: object) -> object:
                changes = append(head, act)  # type: ignore[arg-type]
                say(f"{head.seq} {act.key}")  # type: ignore[attr-defined]
                time.sleep(0.002)
                return changes

            monkeypatch.setattr(Head, "append", append_and_say)
            worker(one, 1)(lambda line: say(line) if line == "ready" else None)

        return work

    with pytest.raises(AssertionError, match="acknowledged and lost"):
        see_found_out(InFile(tmp_path / "studio.stockroom"), hasty)


def test_a_writer_that_commits_by_halves_is_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The harness itself is tried: an act committed before its changes must turn up as a fault."""

    def halving(one: Tried) -> Callable[[Say], None]:
        def work(say: Say) -> None:
            def late(connection, seq, touches, movements):  # type: ignore[no-untyped-def]
                connection.exec_driver_sql("COMMIT")
                time.sleep(0.002)
                connection.exec_driver_sql("BEGIN IMMEDIATE")
                return lay_changes(connection, seq, touches, movements)

            monkeypatch.setattr("stockroom.store.view.lay_changes", late)
            worker(one, 1)(say)

        return work

    with pytest.raises((AssertionError, StoreDamagedError)):
        see_found_out(InFile(tmp_path / "studio.stockroom"), halving)
