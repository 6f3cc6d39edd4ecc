"""Many people at once are promised nothing twice and nothing that is not there."""

import logging
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from sqlalchemy.engine import Engine
from support.deeds import Seeded
from support.drills import rounds
from support.studio import MONDAY_S, Clock, code_of, furnish
from support.truths import see_acknowledged, see_truths
from support.workers import Say, release_together

from stockroom.core.books.chain import Act
from stockroom.core.model import PutBy, Unit
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk.work import booking
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.lookup import everything
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk
from stockroom.errors import RefusedError
from stockroom.store.check import chain_acts
from stockroom.store.engine import BUSY_TIMEOUT_S, reading

LOG = logging.getLogger(__name__)
"""Tells the worst wait of a race; shown with --log-cli-level=INFO."""
PEOPLE = 16
SINGLES = 24
LEAST_ASKED_DMM, MOST_ASKED_DMM = 10_000, 40_000


@dataclass
class Plain:
    """The plainest books: one act after the other, only what is there and what is promised."""

    there: dict[str, int] = field(default_factory=dict)
    measure: dict[str, int] = field(default_factory=dict)
    promised: dict[str, dict[str, int]] = field(default_factory=lambda: defaultdict(dict))
    job_of: dict[str, str] = field(default_factory=dict)
    faults: list[str] = field(default_factory=list)

    def do(self, act: Act) -> None:
        """Follow an act; a promise of what is not there, or not free, is a fault."""
        said = act.payload
        if act.kind == "receive":
            for unit in said["units"]:
                self.born(unit, unit["form"])
        elif act.kind == "cut":
            self.there[said["unit"]] -= said["take"]
            for child in said["children"]:
                self.born({**child, "count": 1}, "sheet")
        elif act.kind == "put by":
            code, amount = said["unit"], said["amount"]
            self.promised[code][said["code"]] = amount
            self.job_of[said["code"]] = said["job"]
            if sum(self.promised[code].values()) > self.there[code]:
                self.faults.append(f"act {act.seq} promises more of {code} than is there")
        elif act.kind == "use":
            self.drawn(said["unit"], said["amount"], said["job"])
        elif act.kind == "count":
            self.there[said["unit"]] = said["amount"]
            self.drawn(said["unit"], 0, None)

    def born(self, unit: dict[str, Any], form: str) -> None:
        width, length = unit["width_dmm"], unit["length_dmm"]
        self.there[unit["code"]] = length if form == "roll" else unit["count"]
        self.measure[unit["code"]] = width if form == "roll" else width * length

    def drawn(self, code: str, amount: int, job: str | None) -> None:
        self.there[code] = max(0, self.there[code] - amount)
        promised = self.promised[code]
        for put in sorted(promised):
            if not self.there[code]:
                promised.clear()
                return
            if job is not None and self.job_of[put] == job:
                taken = min(amount, promised[put])
                promised[put] -= taken
                amount -= taken
                if not promised[put]:
                    del promised[put]


@dataclass(frozen=True)
class Bench:
    """Stock that can be oversold: a roll only promised, one that is used too, single sheets."""

    promised_roll: str
    used_roll: str
    singles: tuple[str, ...]
    jobs: tuple[str, ...]


def lay_out(desk: Desk) -> Bench:
    studio = furnish(desk)
    singles = []
    for _ in range(SINGLES // 2):
        delivery = Delivery(material=studio.sheet, place=studio.room, count=1, number="B-204")
        singles.append(code_of(receiving.receive(desk, delivery), "unit"))
    many = Delivery(material=studio.sheet, place=studio.room, count=SINGLES // 2, number="B-204")
    pack = code_of(receiving.receive(desk, many), "unit")
    for _ in range(SINGLES // 2):
        cut = one_cut.cut(desk, pack, offcuts=[Part(20_000, 10_000)])
        singles.append(code_of(cut, "unit"))
    booked = [
        booking.book(desk, f"Salt flats {n}", 9_000, 6_000, date(2026, 3, 9), studio.paper)
        for n in range(4)
    ]
    jobs = tuple(code_of(done, "job") for done in booked)
    return Bench(studio.roll, studio.second_roll, tuple(singles), jobs)


def person(engine: Engine, bench: Bench, number: int, acts: int) -> Callable[[Say], None]:
    """Someone who grabs; says "seq key" for each act done, "no" for each refused, and the wait.

    The engine has no connection open, but its statements are compiled already.
    """

    def work(say: Say) -> None:
        choose, worst_s = Seeded(number), 0.0
        desk = Desk(engine, actor=f"person {number}", now_s=Clock(MONDAY_S))
        for n in range(acts):
            key, job = f"p{number}-{n}", choose.one(bench.jobs)
            began_s = time.monotonic()
            try:
                match choose.number(0, 9):
                    case 0 | 1 | 2 | 3:
                        unit, amount = choose.one(bench.singles), None
                        done = booking.put_by(desk, unit, job, amount, key=key)
                    case 4 | 5 | 6:
                        asked = choose.number(LEAST_ASKED_DMM, MOST_ASKED_DMM)
                        done = booking.put_by(desk, bench.promised_roll, job, asked, key=key)
                    case 7:
                        asked = choose.number(LEAST_ASKED_DMM, MOST_ASKED_DMM)
                        done = booking.put_by(desk, bench.used_roll, job, asked, key=key)
                    case 8:
                        asked = choose.number(2_000, 12_000)
                        done = handling.use(desk, bench.used_roll, asked, job=job, key=key)
                    case _:
                        counted = choose.number(100_000, 500_000)
                        done = counting.count(desk, bench.used_roll, counted, key=key)
            except RefusedError:
                say("no")
            else:
                say(f"{done.seq} {key}")
            worst_s = max(worst_s, time.monotonic() - began_s)
        say(f"worst {worst_s}")

    return work


def race(store: str, acts: int) -> tuple[float, int]:
    """Let 16 people loose on one store; see that no promise was broken.

    Returns the worst wait in seconds, and how many acts were refused.
    """
    desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
    bench = lay_out(desk)
    people = [person(desk.engine, bench, n, acts // PEOPLE) for n in range(PEOPLE)]
    desk.engine.dispose()
    said = [line for lines in release_together(people) for line in lines]
    worst_s = max(float(line.split()[1]) for line in said if line.startswith("worst"))
    refused = said.count("no")
    done = [line for line in said if line != "no" and not line.startswith("worst")]
    assert len(done) + refused == acts // PEOPLE * PEOPLE
    see_truths(desk)
    see_acknowledged(desk, done)
    plain = Plain()
    with reading(desk.engine) as connection:
        for act in chain_acts(connection):
            plain.do(act)
    assert plain.faults == []
    see_the_same(desk, plain)
    free = plain.there[bench.promised_roll] - sum(plain.promised[bench.promised_roll].values())
    assert 0 <= free < MOST_ASKED_DMM, "the roll was not fought over to the end"
    taken = [code for code in bench.singles if plain.promised[code]]
    assert all(list(plain.promised[code].values()) == [1] for code in taken)
    assert len(taken) >= SINGLES - 3, "the single sheets were not fought over"
    desk.close()
    LOG.info("%d acts, %d refused; the worst wait was %.2f s", acts, refused, worst_s)
    return worst_s, refused


def see_the_same(desk: Desk, plain: Plain) -> None:
    """What stands in the store is what the plainest books come to."""
    with desk.reading() as view:
        units, puts = everything(view, Unit), everything(view, PutBy)
    assert {unit.code: unit.amount for unit in units} == plain.there
    promised: dict[str, dict[str, int]] = defaultdict(dict)
    for put in puts:
        if put.open:
            promised[put.unit][put.code] = put.qty // plain.measure[put.unit]
    assert promised == {code: puts for code, puts in plain.promised.items() if puts}


@rounds(240, 8_000, 200_000)
def test_sixteen_people_are_promised_nothing_twice(store: str, rounds: int) -> None:
    worst_s, refused = race(store, rounds)
    assert refused > rounds // 10
    assert worst_s < BUSY_TIMEOUT_S


def test_the_same_key_from_many_at_once_is_one_act(store: str) -> None:
    desk = Desk.at(store, begin=True, now_s=Clock(MONDAY_S))
    studio = furnish(desk)

    def sender(say: Say) -> None:
        own = Desk.at(store, now_s=Clock(MONDAY_S))
        done = handling.use(own, studio.roll, 29_000, key="form-1")
        say(f"{done.seq} {done.repeated}")

    said = [line for lines in release_together([sender] * PEOPLE) for line in lines]
    seqs = {line.split()[0] for line in said}
    assert len(said) == PEOPLE
    assert len(seqs) == 1
    assert sum(line.endswith("False") for line in said) == 1
    with desk.reading() as view:
        roll = view.get(Unit, studio.roll)
    assert roll is not None
    assert roll.remaining_dmm == 471_000
    see_truths(desk)
    desk.close()


def test_the_plainest_books_find_a_broken_promise() -> None:
    """The judge itself is tried: two promises of one sheet, and more of a roll than there is."""
    unit = {"width_dmm": 10, "length_dmm": 100, "count": 1}
    units = [{**unit, "code": "1", "form": "sheet"}, {**unit, "code": "2", "form": "roll"}]

    def act(seq: int, kind: str, payload: dict[str, Any]) -> Act:
        return Act(
            seq=seq, key=str(seq), kind=kind, occurred_s=0, recorded_s=0, actor="", payload=payload
        )

    plain = Plain()
    plain.do(act(1, "receive", {"units": units}))
    for seq, (code, amount) in enumerate([("1", 1), ("1", 1), ("2", 60), ("2", 41)], 2):
        put = {"unit": code, "amount": amount, "job": "9", "code": f"put {seq}"}
        plain.do(act(seq, "put by", put))
    assert [fault.split()[1] for fault in plain.faults] == ["3", "5"]
