"""A PostgreSQL server: how long it is waited for, and what is asked of each connection to it."""

import time
from typing import Any

import psycopg
from psycopg.abc import PQGen
from sqlalchemy.engine import URL

CONNECT_S = 10
"""How long is waited for a connection to be made, s (our choice)."""
LOCK_S = 30
"""How long a writer waits for another one, s (our choice)."""
CUT_OFF_S = 30
"""After how long a network on which nothing passes any more counts as cut, s (our choice)."""
SILENT_S = 65
"""How long is waited for any sign of a server that is still connected, s (our choice); longer than
the two waits, for the queue and for its first, that a writer may have."""
HELD_S = 60
"""How long a writer may do nothing while it keeps all others out, s (our choice)."""

_PROBES = 4
_FIRST_PROBE_S = CUT_OFF_S // 3
_NEXT_PROBE_S = (CUT_OFF_S - _FIRST_PROBE_S) // _PROBES


def waits(url: URL) -> dict[str, int]:
    """Return how long our end of a connection waits, in libpq's words; the URL's own come first."""
    ours = {
        "connect_timeout": CONNECT_S,
        "keepalives_idle": _FIRST_PROBE_S,
        "keepalives_interval": _NEXT_PROBE_S,
        "keepalives_count": _PROBES,
        "tcp_user_timeout": CUT_OFF_S * 1_000,
    }
    return {word: value for word, value in ours.items() if word not in url.query}


def connect(_dialect: object, _record: object, given: Any, named: Any) -> psycopg.Connection[Any]:
    """Open a connection that is given up where its server says nothing any more."""
    return _Heard.connect(*given, **named)


class _Heard(psycopg.Connection[Any]):
    def wait(self, gen: PQGen[Any], *args: Any, **more: Any) -> Any:
        """Wait for an answer, but not for ever on a server that hangs with its network up."""
        return super().wait(self._heard(gen), *args, **more)

    def _heard(self, gen: PQGen[Any]) -> PQGen[Any]:
        """Pass on what is waited for; each sign of life is waited for anew."""
        since_s = time.monotonic()
        ready: Any = None
        while True:
            try:
                wanted = gen.send(ready)
            except StopIteration as end:
                return end.value
            ready = yield wanted
            if ready:
                since_s = time.monotonic()
            elif time.monotonic() - since_s > SILENT_S:
                self.close()
                raise psycopg.OperationalError(f"the server said nothing for {SILENT_S} s")


def prepare(connection: psycopg.Connection[Any], _record: object) -> None:
    """A commit is on the disk before it is acknowledged, whatever the server was set to.

    No lock is waited for for ever; and the server, too, notices where we are cut off, so that
    nobody who is gone keeps the others from writing.
    """
    connection.execute(
        "SELECT set_config('lock_timeout', %s, false),"
        " set_config('tcp_keepalives_idle', %s, false),"
        " set_config('tcp_keepalives_interval', %s, false),"
        " set_config('tcp_keepalives_count', %s, false),"
        " set_config('tcp_user_timeout', %s, false),"
        " CASE WHEN current_setting('synchronous_commit') = 'off'"
        " THEN set_config('synchronous_commit', 'on', false) END",
        (
            f"{LOCK_S}s", f"{_FIRST_PROBE_S}s", f"{_NEXT_PROBE_S}s", str(_PROBES), f"{CUT_OFF_S}s",
        ),
    )  # fmt: skip
    connection.commit()
