"""A server that is killed, stopped or cut off loses nothing, and everyone is told the truth."""

import logging
import os
import random
import select
import time
from collections import Counter
from collections.abc import Callable, Iterator

import pytest
from sqlalchemy.engine import Engine
from support import cluster
from support.databases import new_database
from support.deeds import DEEDS, Act, Doer, Seeded
from support.drills import rounds
from support.network import Mode, Network, network
from support.studio import DAY_S, MONDAY_S, Clock, furnish
from support.truths import acts_by_key, see_truths
from support.workers import Say, Worker, at_work

from stockroom.desk.session import Desk, Done
from stockroom.errors import CommitUnknownError, KeyReusedError, StockroomError, StoreError
from stockroom.store import postgres, settling
from stockroom.store.engine import url_of

LOG = logging.getLogger(__name__)
"""Tells how often what was told; shown with --log-cli-level=INFO."""

PEOPLE = 5
LONGEST_S = 10
"""How long is waited for people to do something, s."""
EACH_DATABASE = 5
"""Rounds on one database before a new one is taken, so that the whole check stays quick."""
KINDS = sorted(DEEDS)
HOWS = ("kill", "immediate", "fast")
"""Ways to end a server."""
AT_COMMIT: tuple[Mode, ...] = ("answer lost", "commit lost", "commit late")


def person(engine: Engine, name: str, number: int, stop: int) -> Callable[[Say], None]:
    """Someone who does random acts until `stop` can be read, and says of each what they were told.

    "did KEY NUMBER", "not KEY WHY", or "unknown KEY" before the same was asked again; "undone KEY"
    where it was done and taken back meanwhile.
    """

    def work(say: Say) -> None:
        clock = Clock(MONDAY_S + number * DAY_S)
        desk = Desk(engine, actor=name, now_s=clock, clock_is_right=True)
        doer = Doer(desk, clock, Seeded(number), name)
        say("ready")
        while not select.select([stop], [], [], 0)[0]:
            kind = doer.choose.one(KINDS)
            try:
                act = doer.decide(kind)
            except StockroomError:
                time.sleep(0.01)
                continue
            outcome, key = tried(act), f"{name}-{doer.count}"
            if isinstance(outcome, CommitUnknownError):
                assert key in outcome.try_
                say(f"unknown {key}")
                while isinstance(outcome, StoreError):
                    time.sleep(0.05)
                    outcome = tried(act)
            if isinstance(outcome, KeyReusedError):
                say(f"undone {key}")  # somebody took it back before it was asked again
            elif isinstance(outcome, Done):
                say(f"did {key} {outcome.seq}")
            else:
                say(f"not {key} {kind}: {' '.join(str(outcome).split())}")
                if isinstance(outcome, StoreError):
                    time.sleep(0.05)

    return work


def tried(act: Act) -> Done | StockroomError:
    """Do it, or return why not; done again it is the very same asked again."""
    try:
        return act()
    except StockroomError as error:
        return error


def hurt(
    server: cluster.Cluster, net: Network, people: list[Worker], rng: random.Random, number: int
) -> None:
    """Hurt the network, then the server, and let both be whole again."""
    how = HOWS[number % len(HOWS)]
    net.becomes(rng.choice(AT_COMMIT))
    hear_of(people, 3 * PEOPLE)
    time.sleep(rng.uniform(0, 0.05))
    net.becomes(rng.choice(("open", "silent", "cut")))
    time.sleep(rng.uniform(0, 0.6))
    if how == "kill":
        server.kill()
    else:
        server.stop(how)
    net.becomes("open")
    server.start()
    hear_of(people, 2 * PEOPLE)


def hear_of(people: list[Worker], acts: int) -> None:
    """Wait until people did so many acts more."""
    until_s = time.monotonic() + LONGEST_S
    while acts > 0 and (left_s := until_s - time.monotonic()) > 0:
        for fd in select.select([one.fd for one in people], [], [], left_s)[0]:
            said = next(one for one in people if one.fd == fd).hear()
            acts -= said.count(b"did ")


def see_that_all_were_told_the_truth(desk: Desk, said: list[str]) -> None:
    """What was told as done is there, what was told as not done is not, and there is no more."""
    acts = acts_by_key(desk)
    words = [line.split(maxsplit=2) for line in said]
    did = {key: int(seq) for word, key, *more in words if word == "did" for seq in more}
    not_done = {key: more for word, key, *more in words if word == "not"}
    lost = {key: seq for key, seq in did.items() if seq not in acts.get(key, ())}
    assert not lost, f"told as done, and lost: {lost}"
    there = {key: more for key, more in not_done.items() if key in acts}
    assert not there, f"told as not done, and there: {there}"
    undone = {key for word, key, *_ in words if word == "undone"}
    assert undone <= set(acts)
    silent = {key for key in acts if key.startswith("w")} - set(did) - undone
    assert not silent, f"there, and nobody was told: {silent}"
    see_truths(desk)


def one_round(
    server: cluster.Cluster, net: Network, desk: Desk, rng: random.Random, number: int
) -> list[str]:
    """Let people act while the server is hurt; return what each was told."""
    stop, ends = os.pipe()
    desk.engine.dispose()
    works = [
        person(desk.engine, f"w{number}-{who}", number * PEOPLE + who, stop)
        for who in range(PEOPLE)
    ]
    with at_work(works) as people:
        hurt(server, net, people, rng, number)
        os.write(ends, b".")  # nobody reads it, so all see it
        said = [line for one in people for line in one.end() if line != "ready"]
    os.close(stop)
    os.close(ends)
    return said


def warmed_up(desk: Desk) -> None:
    """Furnish a studio and do something of every kind, so that all statements are compiled."""
    furnish(desk)
    clock = Clock(MONDAY_S)
    doer = Doer(desk, clock, Seeded(0), "first")
    for kind in KINDS:
        doer.tries(kind)


@pytest.fixture(scope="module")
def server() -> Iterator[cluster.Cluster]:
    """A server of our own, which may be hurt."""
    with cluster.own() as found:
        yield found


@rounds(2, 50, 200)
@pytest.mark.postgres
def test_a_server_that_dies_loses_nothing_and_nobody_is_told_a_guess(
    server: cluster.Cluster, rounds: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(postgres, "SILENT_S", 0.5)
    rng, told, number = random.Random(rounds), Counter[str](), 0
    with network(server.port, share=0.5) as net:
        for first in range(0, rounds, EACH_DATABASE):
            with new_database(server.url) as store:
                desk = Desk.at(
                    str(url_of(store).set(port=net.port)), begin=True, now_s=Clock(MONDAY_S)
                )
                warmed_up(desk)
                said: list[str] = []
                for number in range(first, min(rounds, first + EACH_DATABASE)):
                    monkeypatch.setattr(settling, "PATIENCE_S", rng.choice([0.1, 20]))
                    said += one_round(server, net, desk, rng, number)
                    see_that_all_were_told_the_truth(desk, said)
                desk.close()
                told.update(line.split()[0] for line in said)
    LOG.info("%d rounds: %s", rounds, dict(told))
    assert told["did"] >= 4 * PEOPLE * rounds
    assert told["not"] > PEOPLE * rounds
    assert rounds < 10 or told["unknown"] > 0
