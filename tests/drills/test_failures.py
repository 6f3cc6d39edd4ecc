"""A disk that fails or is full, memory that runs out: an act is whole or absent, and it is said."""

import random
import resource
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from support.broken_off import (
    KINDS,
    InFile,
    Tried,
    see_repeat_is_one,
    see_whole_or_absent,
    tried,
)
from support.deeds import head
from support.disk import FULL, OK, REFUSED, Step, watched
from support.drills import rounds
from support.workers import Say, fork

from stockroom.errors import StoreError, StoreUnwritableError

STEPS = 45
"""The last file operation that fails: those of opening a store and of most acts."""
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


def outcome(one: Tried, ill: Ill) -> str:
    """Do the act on an ill disk; return what was acknowledged of it, or how it was refused."""
    refusal = None
    try:
        one.act()
    except StoreUnwritableError as error:
        refusal = error
    if refusal is None:
        assert not any(step.name.endswith("-wal") for step in ill.refused), "it went unnoticed"
        return one.line
    assert ill.refused, "nothing was in its way"
    return next(said for said in (UNCHANGED, NOT_KNOWN) if said in refusal.what)


def see_ill_disk(one: Tried, rng: random.Random, *, dies: bool) -> str:
    """Do an act on a disk that fails, then on one that is well; return its outcome at first.

    In one process; or in one that ends as it stands once it has heard of its failure.
    """
    for_ever = rng.random() < 0.5
    if rng.random() < 0.25:
        ill = Ill(rng.randrange(1, 3), for_ever=for_ever, syncs=True)
    else:
        ill = Ill(rng.randrange(1, STEPS), for_ever=for_ever, full=rng.random() < 0.5)

    def work(say: Say) -> None:
        with watched(ill):
            say(outcome(one, ill))
            if not dies:
                ill.heal()
                see_repeat_is_one(one)
                one.desk.engine.dispose()

    one.desk.engine.dispose()
    lines: list[str] = []
    if dies:
        lines = fork(work).end()
    else:
        work(lines.append)
    if dies and lines == [UNCHANGED]:
        assert head(one.desk) == one.before, "it said that nothing was changed"
    see_whole_or_absent(one, [line for line in lines if line == one.line])
    see_repeat_is_one(one)
    return lines[0]


@rounds(300, 300)
def test_an_ill_disk_leaves_an_act_whole_or_absent(rounds: int, tmp_path: Path) -> None:
    place, rng, began_s = InFile(tmp_path / "studio.stockroom"), random.Random(1), time.monotonic()
    outcomes: Counter[str] = Counter()
    for number in range(rounds):
        one = tried(place, rng.choice(KINDS), number)
        said = see_ill_disk(one, rng, dies=number % 3 == 2)
        outcomes[said if said in (UNCHANGED, NOT_KNOWN) else "done"] += 1
    sys.stdout.write(
        f"\n{rounds} acts on an ill or full disk: {dict(outcomes)}; half-done 0, silent 0; "
        f"{time.monotonic() - began_s:.1f} s\n"
    )
    assert outcomes[UNCHANGED] > rounds / 2
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


@rounds(100, 100)
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
