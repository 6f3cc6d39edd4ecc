"""A server that hangs, is busy or is cut off is not waited for for ever, and that is said."""

import socket
import time
from collections.abc import Callable

import pytest
from support.network import network
from support.studio import MONDAY_S, Clock

from stockroom.desk.stock import defining
from stockroom.desk.session import Desk
from stockroom.errors import StoreMissingError, StoreUnwritableError
from stockroom.store import postgres as server
from stockroom.store.engine import make_engine, reading, url_of, writing

pytestmark = pytest.mark.postgres


def at(store: str, *, begin: bool = False) -> Desk:
    return Desk.at(store, begin=begin, now_s=Clock(MONDAY_S))


def test_both_ends_notice_within_half_a_minute_that_they_are_cut_off(
    fresh_postgres: Callable[[], str],
) -> None:
    desk = at(fresh_postgres(), begin=True)
    with writing(desk.engine) as connection:
        ours = connection.connection.dbapi_connection.info.get_parameters()  # type: ignore[union-attr]
        theirs = {
            name: connection.exec_driver_sql(f"SHOW {name}").scalar()
            for name in ("tcp_keepalives_idle", "tcp_keepalives_interval", "tcp_keepalives_count",
                         "tcp_user_timeout", "lock_timeout", "idle_in_transaction_session_timeout")
        }  # fmt: skip
    desk.close()
    wait = ("keepalives_idle", "keepalives_interval", "keepalives_count")
    idle_s, every_s, count = (int(ours[name]) for name in wait)
    assert idle_s + every_s * count == 30
    assert (ours["tcp_user_timeout"], ours["connect_timeout"]) == ("30000", "10")
    assert [theirs[f"tcp_{name}"] for name in wait] == [str(n) for n in (idle_s, every_s, count)]
    assert theirs["tcp_user_timeout"] == "30000"
    assert theirs["lock_timeout"] == "30s"
    assert theirs["idle_in_transaction_session_timeout"] == "1min"


def test_what_a_person_wrote_into_the_address_comes_first() -> None:
    url = url_of("postgresql://ines@127.0.0.1/studio?connect_timeout=3")
    assert "connect_timeout" not in server.waits(url)
    assert server.waits(url)["tcp_user_timeout"] == 30_000


def test_a_writer_that_waits_too_long_is_told_that_somebody_else_writes(
    fresh_postgres: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(server, "LOCK_S", 0.2)
    store = fresh_postgres()
    desk, other = at(store, begin=True), at(store)
    with (
        other.deciding(),
        pytest.raises(StoreUnwritableError, match="Somebody else is writing") as caught,
    ):
        defining.define_place(desk, "Rack 1", "rack", key="rack")
    assert caught.value.exit_code == 3
    assert "not known" in caught.value.why
    assert not defining.define_place(desk, "Rack 1", "rack", key="rack").repeated
    desk.close()
    other.close()


def test_a_writer_that_stops_half_way_keeps_nobody_out_for_long(
    fresh_postgres: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its own act is not done, and it is told so."""
    store = fresh_postgres()
    desk, other = at(store, begin=True), at(store)
    monkeypatch.setattr(server, "HELD_S", 1)

    def stop_half_way() -> None:
        with desk.deciding():
            defining.define_place(desk, "Rack 1", "rack")
            defining.define_place(other, "Rack 2", "rack")
            defining.define_place(desk, "Rack 3", "rack")

    with pytest.raises(StoreMissingError, match="nothing was changed"):
        stop_half_way()
    defining.define_place(desk, "Rack 1", "rack")
    desk.close()
    other.close()


def test_a_server_that_says_nothing_is_given_up(
    postgres: str, fresh_postgres: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its network is up, so nothing but time tells."""
    monkeypatch.setattr(server, "SILENT_S", 0.3)
    with network(url_of(postgres).port or 0) as net:
        url = url_of(fresh_postgres()).set(port=net.port)
        desk = at(url.render_as_string(hide_password=False), begin=True)
        with pytest.raises(StoreMissingError, match="does not answer") as caught:
            look_while(desk, lambda: net.becomes("silent"))
        assert "said nothing" in caught.value.why
        net.becomes("open")
        with desk.reading():
            pass
        desk.close()


def look_while(desk: Desk, hurt: Callable[[], None]) -> None:
    with desk.reading() as view:
        hurt()
        view.act(1)


def test_a_server_that_takes_no_connection_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "CONNECT_S", 2)  # the least that libpq knows
    with socket.create_server(("127.0.0.1", 0)) as deaf:
        engine = make_engine(url_of(f"postgresql://ines@127.0.0.1:{deaf.getsockname()[1]}/studio"))
        began_s = time.monotonic()
        with pytest.raises(StoreMissingError, match="does not answer"), reading(engine):
            pass
        assert time.monotonic() - began_s < 4


def test_a_connection_that_was_dropped_meanwhile_fails_no_read(
    postgres: str, fresh_postgres: Callable[[], str]
) -> None:
    with network(url_of(postgres).port or 0) as net:
        url = url_of(fresh_postgres()).set(port=net.port)
        desk = at(url.render_as_string(hide_password=False), begin=True)
        net.becomes("cut")
        net.becomes("open")
        with desk.reading() as view:
            assert view.act(1) is None
        desk.close()
