"""What many do at once comes to the same as what they do one after another, for every kind of act.

All of a race look at the same books and stand at the door of the same lock before the first of
them goes in: whoever decides by what was read outside is found out each time. A second store goes
through the same one after another, and both must stay the same.
"""

import json
import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import partial
from pathlib import Path
from types import MethodType
from typing import cast

import pytest
from sqlalchemy.engine import Engine
from support.databases import DATABASES, copied_database
from support.deeds import DEEDS, Doer, Seeded, records
from support.studio import DAY_S, MONDAY_S, Clock, furnish
from support.studio_files import settle
from support.truths import see_truths
from support.workers import Say, Wait, let_in_together
from support.workshop import fit_out

from stockroom.desk.work import attempts
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import StockroomError
from stockroom.store.engine import make_engine, url_of

Call = Callable[[Desk, str], Done]
"""Something to be done at a desk, under a key."""
SEEDS = 12
"""So many choices are tried until one of a kind can be made."""
CHOSEN = (
    "try", "try again", "damage", "plan cuts", "drop cards", "plan cuts", "cut by card", "put by",
    "let go", "use", "count", "cut", "order", "receive an order", "close order", "close job",
    "build", "place", "undo", "redo",
)  # fmt: skip
"""The kinds of the default run: those by which two can take the same."""
AT_THE_LOCK = (
    "try", "plan cuts", "cut by card", "put by", "use", "receive an order", "close job", "undo",
)  # fmt: skip
"""Of these, those of which what the first did decides what becomes of the rest, each in its way."""


def choices(desk: Desk, clock: Clock, kind: str) -> Iterator[Call]:
    """Choose what may be done of a kind on the books as they stand, one way after the other."""
    for seed in range(SEEDS):
        with suppress(StockroomError):
            act = DEEDS[kind](Doer(desk, clock, Seeded(seed)), "chosen")
            assert isinstance(act, partial)
            yield _by_anybody(act)


def _by_anybody(act: "partial[Done]") -> Call:
    """What was chosen at one desk, to be done at any, under any key."""

    def call(desk: Desk, key: str) -> Done:
        more = {**act.keywords, "key": key}
        if isinstance(act.func, MethodType):
            return cast("Done", act.func.__func__(desk, *act.args, **more))
        return act.func(desk, *act.args[1:], **more)

    return call


class AtTheDoor(Desk):
    """A desk that waits before it takes the head for the first time."""

    wait: Wait | None = None

    @contextmanager
    def deciding(self) -> Iterator[Decision]:
        if self.wait is not None:
            self.wait, wait = None, self.wait
            wait()
        with super().deciding() as decision:
            yield decision


def outcome(desk: Desk, call: Call, key: str) -> str:
    """Do it, and return all that was told of it."""
    try:
        done = call(desk, key)
    except StockroomError as error:
        return json.dumps([type(error).__name__, str(error)])
    return json.dumps(["done", done.seq, done.repeated, done.said])


def at_once(engine: Engine, clock: Clock, call: Call, many: int) -> list[str]:
    """Let many do the same at once, having all looked before."""

    def person(number: int) -> Callable[[Say, Wait], None]:
        def work(say: Say, wait: Wait) -> None:
            desk = AtTheDoor(engine, actor="ines", now_s=clock)
            desk.wait = wait
            say(outcome(desk, call, f"p{number} {clock.now_s}"))

        return work

    engine.dispose()
    said = let_in_together([person(number) for number in range(many)])
    return sorted(line for lines in said for line in lines)


def one_by_one(engine: Engine, clock: Clock, call: Call, many: int) -> list[str]:
    """Let many do the same one after another, each at a desk of their own.

    Where it is refused to the first, nothing was changed, and nothing is returned.
    """
    said: list[str] = []
    for number in range(many):
        desk = Desk(engine, actor="ines", now_s=clock)
        said.append(outcome(desk, call, f"p{number} {clock.now_s}"))
        if not is_done(said[0]):
            return []
    return sorted(said)


def is_done(said: str) -> bool:
    """Whether what was told is that it was done."""
    return said.startswith('["done"')


def stocked(desk: Desk) -> None:
    """A workshop in which there is something to do of every kind."""
    shop = fit_out(furnish(desk))
    clock = desk.now_s
    assert isinstance(clock, Clock)
    doer = Doer(desk, clock, Seeded(7), "stocked")
    job = shop.book("Small", count=2, width_dmm=6_000, height_dmm=4_000)
    for kind in ("book", "order", "order", "order", "readings", "put by", "put by", "patch"):
        while not isinstance(doer.tries(kind), Done):
            pass
    attempts.record(desk, job, good=True, stage="print")
    shop.book("One", count=1)


@pytest.fixture
def twins(store: str, tmp_path: Path) -> Iterator[tuple[Engine, Engine]]:
    """Two stores that are the same."""
    desk = Desk.at(store, actor="ines", begin=True, now_s=Clock(MONDAY_S))
    stocked(desk)
    engine = desk.engine
    engine.dispose()
    if engine.dialect.name == "sqlite":
        settle(Path(store))
        shutil.copyfile(store, tmp_path / "twin.stockroom")
        twin = make_engine(url_of(str(tmp_path / "twin.stockroom")))
        yield engine, twin
        twin.dispose()
    else:
        with copied_database(store) as copy:
            twin = make_engine(url_of(copy))
            yield engine, twin
            twin.dispose()
    engine.dispose()


def raced(
    engines: tuple[Engine, Engine], kinds: Sequence[str], many: int
) -> tuple[set[str], set[str]]:
    """Race each kind in one store, do it one by one in the other, and see that both are the same.

    Returns the kinds of which one was done, and those of which one was refused.
    """
    clock, done, refused = Clock(MONDAY_S + 30 * DAY_S), set[str](), set[str]()
    racing, calm = (Desk(engine, actor="ines", now_s=clock) for engine in engines)
    for kind in kinds:
        clock.on(seconds=60)
        for call in choices(calm, clock, kind):
            if told := one_by_one(engines[1], clock, call, many):
                assert at_once(engines[0], clock, call, many) == told, kind
                assert records(racing) == records(calm), kind
                done.add(kind)
                refused |= {kind for said in told if not is_done(said)}
                break
    for desk in (racing, calm):
        see_truths(desk)
    return done, refused


LONG = (*CHOSEN, *sorted(DEEDS))


@pytest.mark.parametrize(
    ("store", "kinds", "many"),
    [
        *(
            pytest.param(database, kinds, 4, id=f"{database}-short")
            for database, kinds in zip(DATABASES, (CHOSEN, AT_THE_LOCK), strict=False)
        ),
        *(
            pytest.param(database, LONG, 16, id=f"{database}-long", marks=pytest.mark.drill)
            for database in DATABASES
        ),
    ],
    indirect=["store"],
)
def test_at_once_is_as_one_after_another(
    twins: tuple[Engine, Engine], kinds: Sequence[str], many: int
) -> None:
    """On PostgreSQL the default run races the kinds that the lock decides, on SQLite all chosen."""
    done, refused = raced(twins, kinds, many)
    nothing_to_do = set(kinds) - done
    assert len(nothing_to_do) <= len(set(kinds)) // 10, nothing_to_do
    assert len(refused) > len(CHOSEN) // 4
