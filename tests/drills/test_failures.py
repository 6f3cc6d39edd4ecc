"""A disk that fails or is full, memory that runs out: an act is whole or absent, and it is said."""

import errno
import os
import random
import resource
import signal
import sqlite3
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import (
    ExitStack,
    closing,
    contextmanager,
    nullcontext,
    redirect_stderr,
    redirect_stdout,
    suppress,
)
from io import StringIO
from pathlib import Path
from typing import Any, NoReturn
from unittest import mock

import pytest
from sqlalchemy.engine import Connection
from support.broken_off import KINDS, InFile, Tried, see_repeat_is_one, see_whole_or_absent, tried
from support.deeds import head
from support.disk import FULL, OK, REFUSED, Step, can_be_watched, watched
from support.drills import rounds
from support.studio import MONDAY_S, Clock
from support.studio_files import copied_workshop, desk_at
from support.truths import see_truths
from support.workers import Say, fork

from stockroom.cli import run
from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.errors import RefusedError, StoreError, StoreUnwritableError
from stockroom.store.engine import writing

STEPS = 45
"""The last file operation that fails: those of opening a store and of most acts."""
LOG_GROWS = 33_000, 90_000
"""How large SQLite's log becomes in an act, at least the size of its index, bytes."""
BLOCK, LEFT = 400, 1 << 19
"""Memory is taken in blocks of such a size, and at most so much is left, bytes."""


UNCHANGED, NOT_KNOWN = "nothing was changed", "is not known"
"""What a refusal says of the act."""


class Ill:
    """A disk that refuses an operation, once or from then on.

    Parameters
    ----------
    step : int
        Which operation it refuses, the first is 1.
    for_ever : bool
        Whether it refuses all that come after, too.
    full : bool
        Whether it says that it is full, where that can be.
    syncs : bool
        Whether only syncs count until then.
    """

    def __init__(self, step: int, *, for_ever: bool, full: bool = False, syncs: bool = False):
        self.left = step
        self.for_ever = for_ever
        self.full = full
        self.syncs = syncs
        self.refused: list[Step] = []

    def __call__(self, step: Step) -> int:
        if self.syncs and step.operation != "sync" and self.left > 0:
            return OK
        self.left -= 1
        if self.left > 0 or (self.left < 0 and not self.for_ever):
            return OK
        self.refused.append(step)
        return FULL if self.full and step.operation == "write" else REFUSED[step.operation]

    def heal(self) -> None:
        """From now on it refuses nothing."""
        self.left, self.for_ever = 0, False


def outcome(one: Tried, refused: list[Step] | None) -> str:
    """Do the act on an ill disk; return what was acknowledged of it, or how it was refused."""
    refusal = None
    try:
        one.act()
    except StoreUnwritableError as error:
        refusal = error
    if refusal is None:
        assert not any(step.name.endswith("-wal") for step in refused or ()), "it went unnoticed"
        return one.line
    assert refused != [], "nothing was in its way"
    return next(said for said in (UNCHANGED, NOT_KNOWN) if said in refusal.what)


def ill_disk(rng: random.Random) -> Ill:
    """Choose what the disk refuses; every fourth refuses a sync first."""
    for_ever = rng.random() < 0.5
    if rng.random() < 0.25:
        return Ill(rng.randrange(1, 3), for_ever=for_ever, syncs=True)
    return Ill(rng.randrange(1, STEPS), for_ever=for_ever, full=rng.random() < 0.5)


def on_ill_disk(one: Tried, rng: random.Random) -> str:
    """Do an act on a disk that fails and, in the same process, once more when it is well."""
    ill = ill_disk(rng)
    with watched(ill):
        said = outcome(one, ill.refused)
        ill.heal()
        see_repeat_is_one(one)
        one.desk.engine.dispose()
    return said


def dying_on_ill_disk(one: Tried, rng: random.Random) -> str:
    """Do an act on a disk that fails, in a process that ends as it stands once it has heard so."""
    ill = ill_disk(rng)

    def work(say: Say) -> None:
        with watched(ill):
            say(outcome(one, ill.refused))

    (said,) = fork(work).end()
    return said


def on_full_disk(one: Tried, rng: random.Random) -> str:
    """Do an act in a process whose files may not grow past a size, by the word of the system."""
    size = rng.randrange(*LOG_GROWS)

    def work(say: Say) -> None:
        with full_disk(size):
            say(outcome(one, None))

    (said,) = fork(work).end()
    return said


def see_ill_disk(one: Tried, number: int, rng: random.Random) -> str:
    """Do an act on an ill disk, and see what is left of it; return what was said."""
    ways = [on_ill_disk, dying_on_ill_disk, on_ill_disk, on_full_disk]
    way = ways[number % len(ways)] if can_be_watched() else on_full_disk
    one.desk.engine.dispose()
    said = way(one, rng)
    if said == UNCHANGED and way is not on_ill_disk:
        assert head(one.desk) == one.before, "it said that nothing was changed"
    see_whole_or_absent(one, [said] if said == one.line else [])
    see_repeat_is_one(one)
    return said


@rounds(28, 290)
def test_an_ill_disk_leaves_an_act_whole_or_absent(rounds: int, tmp_path: Path) -> None:
    place, rng, began_s = InFile(tmp_path / "studio.stockroom"), random.Random(1), time.monotonic()
    outcomes: Counter[str] = Counter()
    for number in range(rounds):
        one = tried(place, rng.choice(KINDS), number)
        said = see_ill_disk(one, number, rng)
        outcomes[said if said in (UNCHANGED, NOT_KNOWN) else "done"] += 1
    sys.stdout.write(
        f"\n{rounds} acts on an ill or full disk: {dict(outcomes)}; half-done 0, silent 0; "
        f"{time.monotonic() - began_s:.1f} s\n"
    )
    assert outcomes[UNCHANGED] > rounds / 3
    assert outcomes[NOT_KNOWN] < rounds / 4
    place.file.clear()


@contextmanager
def little_memory(rng: random.Random) -> Iterator[None]:
    """Let the process take no more memory, and leave it some of what it has."""
    limit = resource.getrlimit(resource.RLIMIT_AS)
    pages = int(Path("/proc/self/statm").read_text().split()[0])
    hoard: list[bytearray] = []
    try:
        resource.setrlimit(resource.RLIMIT_AS, (pages * resource.getpagesize(), limit[1]))
        with suppress(MemoryError):
            while True:
                hoard.append(bytearray(BLOCK))
        for _ in range(min(len(hoard), rng.randrange(LEFT // BLOCK))):
            hoard.pop()
        yield
    finally:
        hoard.clear()
        resource.setrlimit(resource.RLIMIT_AS, limit)


def see_little_memory(one: Tried, rng: random.Random) -> str:
    """Do an act in a process that runs out of memory, then once more with enough; say how it went.

    Memory that ends outside the store's transactions is named by whoever shows the error.
    """

    def work(say: Say) -> None:
        said, opened = one.line, rng.random() < 0.8
        if opened:
            head(one.desk)  # else memory mostly runs out when the store is opened
        try:
            with little_memory(rng):
                one.act()
        except (StoreError, MemoryError) as error:
            said = str(getattr(error, "what", "")) or "memory ran out"
        say(said)
        if UNCHANGED in said:
            assert head(one.desk) == one.before
        see_repeat_is_one(one)
        one.desk.engine.dispose()

    one.desk.engine.dispose()
    lines = fork(work).end()
    see_whole_or_absent(one, [line for line in lines if line == one.line])
    see_repeat_is_one(one)
    return lines[0]


@rounds(8, 80)
def test_where_memory_runs_out_an_act_is_whole_or_absent(rounds: int, tmp_path: Path) -> None:
    place, rng, began_s = InFile(tmp_path / "studio.stockroom"), random.Random(2), time.monotonic()
    outcomes: Counter[str] = Counter()
    for number in range(rounds):
        one = tried(place, rng.choice(KINDS), number)
        said = see_little_memory(one, rng)
        outcomes["done" if said == one.line else said] += 1
    sys.stdout.write(
        f"\n{rounds} acts without memory: {dict(outcomes)}; half-done 0; "
        f"{time.monotonic() - began_s:.1f} s\n"
    )
    assert outcomes["done"] < rounds * 0.7
    place.file.clear()


def test_memory_that_ends_at_the_rollback_leaves_no_lock(tmp_path: Path) -> None:
    path = tmp_path / "studio.stockroom"
    copied_workshop(path)
    desk = desk_at(path)

    def hungry(*_what: object) -> NoReturn:
        raise MemoryError

    kept = []
    rollback = mock.patch.object(desk.engine.dialect, "do_rollback", hungry)
    close = mock.patch.object(Connection, "close", hungry)
    with rollback, close:
        try:
            with writing(desk.engine) as connection:
                kept.append(connection)  # as a traceback keeps it that somebody holds
                hungry()
        except StoreError as error:
            assert "not enough memory" in error.what  # noqa: PT017 - held, as above
            with closing(sqlite3.connect(path, timeout=0)) as other:
                other.execute("BEGIN IMMEDIATE")
    kept.pop().close()
    desk.close()


def test_the_console_says_that_memory_ran_out(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def hungry(*_words: object) -> int:
        raise MemoryError

    monkeypatch.setattr("stockroom.cli.base.run_words", hungry)
    assert run(["where"]) == 3
    assert "not enough memory" in capsys.readouterr().err


# ---- files that are written beside the store ---------------------------------------------------


CALLS = ("write", "fsync", "rename", "replace", "link")
"""What is done to files through Python, and may fail."""
WRITTEN = {"labels": b"%%EOF", "day-sheet": b"%%EOF", "calendar": b"END:VCALENDAR", "backup": b""}
"""Commands that write a file, and how that file ends where it is whole; a backup is restored."""


@contextmanager
def ill_calls(step: int, *, for_ever: bool) -> Iterator[list[str]]:
    """Have the step-th call of the system for a file fail, or all from then on; give which did."""
    left, failed = step, []

    def ill(name: str, call: Any) -> Any:
        def called(*what: Any, **how: Any) -> Any:
            nonlocal left
            left -= 1
            if left > 0 or (left < 0 and not for_ever):
                return call(*what, **how)
            failed.append(name)
            raise OSError(errno.EIO, os.strerror(errno.EIO))

        return called

    with ExitStack() as stack:
        for name in CALLS:
            stack.enter_context(mock.patch.object(os, name, ill(name, getattr(os, name))))
        yield failed


@contextmanager
def full_disk(size: int) -> Iterator[list[str]]:
    """Let no file of the process grow past a size; it is not to come back from it."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
    yield []


def see_file_whole(path: Path, end: bytes) -> None:
    """What stands under the name is all that was to be written."""
    if end:
        assert path.read_bytes().rstrip().endswith(end)
        return
    store = path.with_name("restored.stockroom")
    keeping.restore_backup(path, str(store))
    desk = desk_at(store)
    see_truths(desk)
    desk.close()
    for item in store.parent.glob(store.name + "*"):
        item.unlink()


@rounds(10, 100)
def test_a_file_that_cannot_be_written_is_whole_or_absent(rounds: int, tmp_path: Path) -> None:
    store, to = tmp_path / "studio.stockroom", tmp_path / "written"
    copied_workshop(store)
    rng, refused = random.Random(3), 0
    for number in range(rounds):
        command = rng.choice(sorted(WRITTEN))
        words = ["--store", str(store), command, str(to)]
        trouble = (
            full_disk(rng.randrange(1_500))
            if number % 3 == 0
            else ill_calls(rng.randrange(1, 4), for_ever=rng.random() < 0.5)
        )

        def work(say: Say, words: list[str] = words, trouble: Any = trouble) -> None:
            told = StringIO()
            with redirect_stdout(told), redirect_stderr(told), trouble as failed:
                code = run(words)
            say(f"{code} {'fsync' in failed}")
            say(told.getvalue().replace("\n", " "))

        said, told = fork(work).end()
        assert said in ("0 False", "3 False", "3 True"), told
        assert "did not foresee" not in told
        left = set(tmp_path.glob("*written*"))
        assert left <= {to}
        assert left or said != "0 False"
        refused += said != "0 False"
        if left:
            see_file_whole(to, WRITTEN[command])
            to.unlink()
        assert run(words) == 0
        see_file_whole(to, WRITTEN[command])
        to.unlink()
    assert refused > rounds / 3


# ---- stores that are begun or restored ---------------------------------------------------------


@rounds(4, 30)
def test_a_store_that_is_begun_or_restored_is_whole_or_absent(rounds: int, tmp_path: Path) -> None:
    first, backup, store = (tmp_path / name for name in ("first.stockroom", "backup", "a.store"))
    copied_workshop(first)
    desk = desk_at(first)
    keeping.make_backup(desk, backup)
    end = head(desk)
    desk.close()
    rng, broken = random.Random(4), 0
    for number in range(rounds):
        ill = Ill(rng.randrange(1, 300), for_ever=rng.random() < 0.5, full=rng.random() < 0.5)
        restoring = number % 2 == 1

        def make(restoring: bool = restoring) -> None:
            if restoring:
                keeping.restore_backup(backup, str(store))
            else:
                Desk.at(str(store), begin=True, now_s=Clock(MONDAY_S)).close()

        with watched(ill) if can_be_watched() else nullcontext(), suppress(StoreUnwritableError):
            make()
        broken += bool(ill.refused)
        with suppress(RefusedError):  # there are books in it already: then it is the whole of it
            make()
        desk = desk_at(store)
        assert head(desk)[0] == (end[0] if restoring else 0)
        see_truths(desk)
        desk.close()
        for item in tmp_path.glob(store.name + "*"):
            item.unlink()
    assert broken or not can_be_watched()
