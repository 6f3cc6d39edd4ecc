"""Any history of any acts keeps the books whole, and an act taken back leaves no trace in them."""

import itertools
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import pytest
from hypothesis import HealthCheck, Phase, note, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from support import cluster
from support.deeds import DEEDS, Doer, Seeded, head, records
from support.studio import MONDAY_S, Clock, furnish
from support.studio_files import Reopened, copied_studio
from support.truths import see_truths

from stockroom.core.model import PutBy, Unit
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.lookup import everything
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk, Done
from stockroom.errors import InputError, KeyReusedError, RefusedError, StockroomError

T = TypeVar("T")
KINDS = sorted(DEEDS)
DATABASES = ["sqlite", *(["postgresql"] if cluster.available() else [])]
WRONG_AMOUNTS = [0, -1, -(10**9), 10**12, 2**31, 2**63, 10**30]


PICKS = st.integers(0, 2**32)
"""What decides an act: a number of its own, so that a history still fails with acts left out.

A search that draws each choice by itself returns to few of them; numbers spread evenly.
"""


def kind_of(pick: int) -> str:
    """Return the kind of act that a number decides on, and show it beside the number."""
    kind = Seeded(pick + 1).one(KINDS)
    note(kind)
    return kind


class History(RuleBasedStateMachine):
    """Acts of every kind against a store, beside the plainest model of what is there."""

    place: Reopened

    @initialize()
    def begin(self) -> None:
        copied_studio(self.place.path)
        self.desk = self.place.desk()
        self.number = 0
        self.end = head(self.desk)
        self.last: tuple[str, dict[str, Any]] | None = None

    def person(self, pick: int) -> Doer:
        self.number += 1
        clock = self.desk.now_s
        assert isinstance(clock, Clock)
        return Doer(self.desk, clock, Seeded(pick), f"h{self.number}")

    def do(self, kind: str, pick: int) -> None:
        """Do it; refused, it has changed nothing, and done it is one more act."""
        before = {unit.code: unit for unit in self.units()}
        try:
            done = self.person(pick).do(kind)
        except (RefusedError, InputError):
            assert head(self.desk) == self.end
            return
        seq, _, _ = self.end
        self.end = head(self.desk)
        assert self.end[0] == done.seq == seq + 1
        self.amounts_follow(done, before)

    def units(self) -> list[Unit]:
        with self.desk.reading() as view:
            return everything(view, Unit)

    def amounts_follow(self, done: Any, before: dict[str, Unit]) -> None:
        """What moved is what each unit has more or less than before."""
        now = {unit.code: unit for unit in self.units()}
        moved = dict.fromkeys(before.keys() | now.keys(), 0)
        for item in done.changes.movements:
            signs = {"received": 1, "found": 1, "split to": 1, "moved": 0}
            moved[item.unit] += signs.get(item.kind, -1) * item.qty
        for code, gained in moved.items():
            was = before[code].qty if code in before else 0
            has = now[code].qty if code in now else 0
            assert has - was == gained, code

    @rule(pick=PICKS)
    def act(self, pick: int) -> None:
        """Any act at all."""
        self.do(kind_of(pick), pick)

    @rule(pick=PICKS)
    def another_act(self, pick: int) -> None:
        """Any act at all, so that acts are done more often than they are tried in other ways."""
        self.do(kind_of(pick), pick)

    @rule(pick=PICKS)
    def done_and_taken_back(self, pick: int) -> None:
        """Undone at once, every record is exactly as it was; done again, as it was then."""
        before, kind = records(self.desk), kind_of(pick)
        try:
            done = self.person(pick).do(kind)
        except (RefusedError, InputError):
            return
        after = records(self.desk)
        undone = counting.undo(self.desk, done.seq)
        assert records(self.desk) == before
        counting.undo(self.desk, undone.seq)
        assert records(self.desk) == after
        self.end = head(self.desk)

    @rule(pick=PICKS, wrong=st.sampled_from(WRONG_AMOUNTS))
    def wrong_amount(self, pick: int, wrong: int) -> None:
        """An amount that cannot be is refused in words, whatever it is an amount of."""
        unit = self.person(pick).some(Unit).code
        delivery = Delivery(material=unit, place="Cold store", count=wrong)
        attempts: list[Callable[[], object]] = [
            lambda: handling.use(self.desk, unit, wrong),
            lambda: handling.lose(self.desk, unit, wrong, "scratch"),
            lambda: handling.use(self.desk, unit, 1, good=wrong or -1),
            lambda: counting.count(self.desk, unit, wrong or -2),
            lambda: counting.count(self.desk, unit, 1, plus_minus_dmm=wrong or -2),
            lambda: counting.undo(self.desk, wrong),
            lambda: counting.retime(self.desk, 1, wrong),
            lambda: receiving.receive(self.desk, delivery),
        ]
        with pytest.raises(StockroomError):
            Seeded(pick).one(attempts)()
        assert head(self.desk) == self.end

    @rule(pick=PICKS)
    def key_again(self, pick: int) -> None:
        """The same key with the same request is the same act; with another it is refused."""
        with self.desk.reading() as view:
            roll = view.having(Unit, "form", "roll")
        if not roll:
            return
        key = f"again-{self.person(pick).name}"
        first = handling.use(self.desk, roll[0].code, 10, key=key)
        again = handling.use(self.desk, roll[0].code, 10, key=key)
        assert (again.seq, again.repeated) == (first.seq, True)
        with pytest.raises(KeyReusedError):
            handling.use(self.desk, roll[0].code, 11, key=key)
        assert head(self.desk)[0] == first.seq
        self.end = head(self.desk)

    @invariant()
    def promises_are_kept(self) -> None:
        """Nothing is put by of a unit that is gone, and no unit is below nothing."""
        with self.desk.reading() as view:
            units = {unit.code: unit for unit in everything(view, Unit)}
            puts = everything(view, PutBy)
        for put in puts:
            assert not put.open or units[put.unit].state == "in stock", put
        for unit in units.values():
            assert (unit.state == "in stock") == (unit.amount > 0), unit
            assert unit.cost_left_cents >= 0

    def teardown(self) -> None:
        try:
            see_truths(self.desk)
        finally:
            self.place.clear()


def search(examples: int, steps: int, phases: Sequence[Phase] = tuple(Phase)) -> settings:
    return settings(
        phases=phases,
        max_examples=examples,
        stateful_step_count=steps,
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )


@pytest.fixture
def histories(tmp_path: Path) -> Iterator[type[History]]:
    """Histories that happen in a store of their own."""
    History.place = Reopened(tmp_path / "studio.stockroom")
    yield History
    History.place.clear()


def test_any_history_keeps_the_books_whole(histories: type[History]) -> None:
    """A history that fails here is found, but not made shorter: the long test below does that."""
    run_state_machine_as_test(histories, settings=search(20, 20, (Phase.generate,)))


@pytest.mark.slow
def test_many_long_histories_keep_the_books_whole(histories: type[History]) -> None:
    run_state_machine_as_test(histories, settings=search(150, 40))


def see_same_history(stores: list[str], seed: int, acts: int) -> None:
    """Do the same random acts on each store: all answer alike, and hold the same in the end."""
    doers = []
    for store in stores:
        clock, keys = Clock(MONDAY_S), map(str, itertools.count())
        desk = Desk.at(
            store, actor="ines", begin=True, zone="UTC", now_s=clock, new_key=partial(next, keys)
        )
        furnish(desk)
        doers.append(Doer(desk, clock, Seeded(seed), f"s{seed}"))
    which = Seeded(seed + 1)
    for _ in range(acts):
        kind = which.one(KINDS)
        answers = [doer.tries(kind) for doer in doers]
        assert len({str(answer) for answer in answers}) == 1, (kind, answers)
        refused = isinstance(answers[0], RefusedError | InputError)
        assert refused or isinstance(answers[0], Done), (kind, answers)
    for doer in doers:
        see_truths(doer.desk)
    ends = [(head(doer.desk), records(doer.desk)) for doer in doers]
    for doer in doers:
        doer.desk.close()
    assert all(end == ends[0] for end in ends)


def test_the_same_history_makes_the_same_books(store: str, tmp_path: Path) -> None:
    see_same_history([str(tmp_path / "beside.stockroom"), store], seed=11, acts=60)


@pytest.mark.slow
@pytest.mark.parametrize("database", DATABASES)
def test_many_same_histories_make_the_same_books(
    database: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    for seed in range(20):
        other = str(tmp_path / f"other-{seed}.stockroom")
        if database == "postgresql":
            other = request.getfixturevalue("fresh_postgres")()
        see_same_history([str(tmp_path / f"one-{seed}.stockroom"), other], seed, acts=150)
