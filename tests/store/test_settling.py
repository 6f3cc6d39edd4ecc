"""An act whose connection is lost at its commit is told as done or not done, never as a guess."""

from collections.abc import Callable, Iterator
from datetime import date

import pytest
import sqlalchemy as sa
from sqlalchemy import event
from support.deeds import DEEDS, Doer, Seeded, head
from support.network import Mode, Network, network
from support.studio import MONDAY_S, Clock, Studio, furnish
from support.truths import see_truths

from stockroom.desk.stock import defining, handling
from stockroom.desk.orders import ordering
from stockroom.desk.session import Desk, Done
from stockroom.errors import CommitUnknownError, StockroomError, StoreMissingError
from stockroom.store import settling
from stockroom.store.engine import WRITE_OPTION, url_of, writing
from stockroom.store.view import find_by_key

TAKEN_DMM = 29_000


@pytest.fixture
def net(postgres: str) -> Iterator[Network]:
    """A stretch of network before the server."""
    port = url_of(postgres).port
    assert port is not None
    with network(port) as found:
        yield found


@pytest.fixture
def far(net: Network, fresh_postgres: Callable[[], str]) -> Iterator[Studio]:
    """A studio on the other side of it."""
    url = url_of(fresh_postgres()).set(port=net.port)
    desk = Desk.at(url.render_as_string(hide_password=False), begin=True, now_s=Clock(MONDAY_S))
    yield furnish(desk)
    net.becomes("open")
    desk.close()


def use(studio: Studio) -> Done:
    return handling.use(studio.desk, studio.roll, TAKEN_DMM, key="form 1")


def acts(desk: Desk, key: str) -> int:
    with desk.reading() as view:
        return int(find_by_key(view.connection, key) is not None)


@pytest.mark.postgres
@pytest.mark.parametrize("mode", ["answer lost", "commit late"])
def test_what_was_done_is_told_as_done(far: Studio, net: Network, mode: Mode) -> None:
    """A late commit reaches the server after somebody else could have looked."""
    before, _, _ = head(far.desk)
    net.becomes(mode)
    done = use(far)
    net.becomes("open")
    assert (done.seq, done.repeated) == (before + 1, False)
    assert head(far.desk)[0] == before + 1
    assert use(far).repeated
    see_truths(far.desk)


@pytest.mark.postgres
def test_what_was_not_done_is_told_as_not_done(far: Studio, net: Network) -> None:
    net.becomes("commit lost")
    with pytest.raises(StoreMissingError, match="nothing was done") as caught:
        use(far)
    net.becomes("open")
    assert caught.value.exit_code == 3
    assert not acts(far.desk, "form 1")
    assert not use(far).repeated


@pytest.mark.postgres
def test_while_the_store_stays_away_it_is_not_known_and_a_repeat_does_it_once(
    far: Studio, net: Network, monkeypatch: pytest.MonkeyPatch
) -> None:
    away(net, monkeypatch)
    before, _, _ = head(far.desk)
    net.becomes("answer lost")
    with pytest.raises(CommitUnknownError, match="not known yet") as caught:
        use(far)
    net.becomes("open")
    assert "--key 'form 1'; it will not be done twice" in caught.value.try_
    assert use(far).repeated
    assert head(far.desk)[0] == before + 1


@pytest.mark.postgres
def test_of_a_command_its_own_key_is_told(
    far: Studio, net: Network, monkeypatch: pytest.MonkeyPatch
) -> None:
    away(net, monkeypatch)
    net.becomes("answer lost")

    def two_orders(_bench: object) -> list[Done]:
        return [
            ordering.order(far.desk, far.sheet, count, expected_on=date(2026, 4, 1))
            for count in (1, 2)
        ]

    with pytest.raises(CommitUnknownError) as caught:
        far.desk.as_one({"of": "test"}, two_orders, key="morning")
    net.becomes("open")
    assert "--key morning;" in caught.value.try_
    again = far.desk.as_one({"of": "test"}, two_orders, key="morning")
    assert [one.repeated for one in again] == [True, True]


def away(net: Network, monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut the network as soon as something is looked up."""

    def writing_far(engine: sa.Engine) -> object:
        net.becomes("cut")
        return writing(engine)

    monkeypatch.setattr(settling, "writing", writing_far)
    monkeypatch.setattr(settling, "PATIENCE_S", 0.1)


@pytest.mark.postgres
def test_before_its_commit_a_lost_connection_is_nothing_done(far: Studio, net: Network) -> None:
    def cut_half_way() -> None:
        with far.desk.deciding():
            defining.define_place(far.desk, "Rack 1", "rack", key="rack")
            net.becomes("cut")
            defining.define_place(far.desk, "Rack 2", "rack")

    with pytest.raises(StoreMissingError, match="lost; nothing was changed"):
        cut_half_way()
    net.becomes("open")
    assert not acts(far.desk, "rack")


def test_every_deed_is_one_transaction(desk: Desk, now: Clock) -> None:
    """What it reads before could be old by then; a read after could deny an act that stands.

    Only a logger file's place is looked up first: nobody but an undo takes a place away.
    """
    furnish(desk)
    doer, opened = Doer(desk, now, Seeded(3)), []

    def note(connection: sa.Connection) -> None:
        opened.append(connection.get_execution_options().get(WRITE_OPTION, False))

    event.listen(desk.engine, "begin", note)
    seen: dict[str, list[bool]] = {}
    for kind in ("open", "terms", *sorted(DEEDS)):
        try:
            doer.count += 1
            do = DEEDS[kind](doer, f"one-{doer.count}")
        except StockroomError:
            continue
        opened.clear()
        if isinstance(tried(do), Done):
            seen[kind] = list(opened)
    assert {"open", "terms", "try", "receive an order", "white word"} <= set(seen)
    assert {kind: how for kind, how in seen.items() if how != [True]} == {}


def tried(do: Callable[[], Done]) -> Done | StockroomError:
    try:
        return do()
    except StockroomError as error:
        return error
