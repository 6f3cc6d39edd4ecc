"""One act on a store, sure to be possible, to be broken off by a kill or an ill disk."""

import sqlite3
import time
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import cycle
from pathlib import Path
from typing import Protocol

import sqlalchemy as sa
from sqlalchemy import event
from sqlalchemy.engine import Engine

from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.errors import KeyReusedError, StockroomError
from stockroom.store.engine import make_engine, url_of
from support.deeds import DEEDS, Act, Doer, Seeded, head
from support.studio import DAY_S, MONDAY_S, Clock
from support.studio_files import Reopened, copied_workshop, desk_at
from support.truths import see_acknowledged, see_truths

KINDS = sorted(DEEDS)
LATER_S = MONDAY_S + 90 * DAY_S
"""When the acts of a drill are done, seconds UTC: after all that is in the store."""
End = tuple[int, str, int]
"""The end of a chain: number, hash, and the next number for a code."""


@dataclass(frozen=True)
class Tried:
    """An act that was done once on another copy of the store, so that it is sure to be possible.

    Attributes
    ----------
    kind, key : str
        What it is, and its key against doubling.
    desk : Desk
        A desk on the store as it was before the act, without an open connection.
    act : callable
        Does it; called again, it is a repeat of itself.
    before, after : tuple
        The end of the chain without it and with it.
    took_s : float
        How long it took, s: longer where the machine is busy.
    """

    kind: str
    key: str
    desk: Desk
    act: Act
    before: End
    after: End
    took_s: float

    @property
    def line(self) -> str:
        """What is said of it once it stands."""
        return f"{self.before[0] + 1} {self.key}"


class Place(Protocol):
    """Where one store after the other is laid."""

    engine: Engine

    def lay(self) -> None:
        """Lay a store in which every kind of act can be done, and close it."""


class InFile:
    """A place on SQLite; its log is brought into the file after so many pages."""

    def __init__(self, path: Path) -> None:
        self.file = Reopened(path)
        self.engine = self.file.engine
        self.pages = 1_000
        event.listen(self.engine, "connect", self._prepare)

    def lay(self) -> None:
        """Lay the store anew."""
        self.file.clear()
        copied_workshop(self.file.path)

    def _prepare(self, connection: sqlite3.Connection, _record: object) -> None:
        connection.execute(f"PRAGMA wal_autocheckpoint = {self.pages}")


class OnServer:
    """A place on PostgreSQL: one database, made again and again from another.

    Parameters
    ----------
    template, store : str
        URLs of two databases of one server that are ours alone.
    folder : Path
        Where a backup may stand.
    """

    def __init__(self, template: str, store: str, folder: Path) -> None:
        copied_workshop(folder / "workshop.stockroom")
        desk = desk_at(folder / "workshop.stockroom")
        keeping.make_backup(desk, folder / "workshop.backup")
        desk.close()
        keeping.restore_backup(folder / "workshop.backup", template)
        self.template, self.name = (sa.make_url(url).database for url in (template, store))
        self.engine = make_engine(url_of(store))
        self.admin = sa.create_engine(
            url_of(store).set(database="postgres"), isolation_level="AUTOCOMMIT"
        )

    def lay(self) -> None:
        """Lay the store anew."""
        self.engine.dispose()
        with self.admin.connect() as connection:
            connection.exec_driver_sql(f"DROP DATABASE {self.name} WITH (FORCE)")
            connection.exec_driver_sql(f"CREATE DATABASE {self.name} TEMPLATE {self.template}")


def tried(place: Place, kind: str, seed: int) -> Tried:
    """Choose an act of a kind by a seed, and lay the store on which it is to be done."""
    while True:
        place.lay()
        clock = Clock(LATER_S)
        desk = Desk(place.engine, actor="ines", now_s=clock, clock_is_right=True)
        doer = Doer(desk, clock, Seeded(seed), f"d{seed}")
        seed += 1_000_003
        try:
            act = doer.decide(kind)
            before = head(desk)
            began_s = time.monotonic()
            done = act()
            took_s = time.monotonic() - began_s
        except StockroomError:
            continue  # chosen badly: choose again
        assert (done.seq, done.repeated) == (before[0] + 1, False)
        after = head(desk)
        place.lay()
        return Tried(kind, f"{doer.name}-{doer.count}", desk, act, before, after, took_s)


def all_kinds(place: Place, count: int, seed: int) -> Iterator[Tried]:
    """So many acts, of each kind in turn, each on a store laid anew."""
    assert count >= len(KINDS)
    for number, kind in zip(range(count), cycle(KINDS), strict=False):
        yield tried(place, kind, seed + number)


def see_whole_or_absent(one: Tried, said: list[str]) -> None:
    """The act stands as it does where nothing broke off, or not at all; so does all after it."""
    see_truths(one.desk)
    see_acknowledged(one.desk, said)
    end = head(one.desk)
    with one.desk.reading() as view:
        found = view.connection.execute(
            sa.text("SELECT hash FROM act WHERE seq = :seq"), {"seq": one.before[0] + 1}
        ).scalar()
    assert end == one.before if found is None else found == one.after[1]


def see_repeat_is_one(one: Tried) -> None:
    """Asked again with the same key, it stands once, and nothing else has come of it.

    Where another act has taken it back since, it is refused.
    """
    before = head(one.desk)
    try:
        done = one.act()
        assert done.seq == one.before[0] + 1
        assert done.repeated == (before != one.before)
    except KeyReusedError:
        assert before[0] > one.after[0]
    assert head(one.desk) == (one.after if before == one.before else before)
