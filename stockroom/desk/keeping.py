"""Keeping the books: checking them whole, backing up, restoring."""

from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa

from stockroom.desk.session import Desk
from stockroom.errors import StoreDamagedError, StoreUnwritableError
from stockroom.store import glance
from stockroom.store.backup import BackupReport, back_up, restore
from stockroom.store.check import CheckReport, chain_acts, check_whole, engine_faults
from stockroom.store.engine import make_engine, reading, shown_url, url_of, writing
from stockroom.store.schema import META
from stockroom.store.view import head_of
from stockroom.text import capital
from stockroom.units import SECONDS_PER_DAY


@dataclass(frozen=True, slots=True)
class StoreState:
    """How many acts there are, the last hash, and when the chain was last checked."""

    where: str
    zone: str
    currency: str
    acts: int
    head: str
    checked_s: int


def state(desk: Desk) -> StoreState:
    """Return how many acts the store holds, and the hash of the last."""
    with desk.reading() as view:
        head = head_of(view.connection)
        meta = view.connection.execute(sa.select(META)).one()
    return StoreState(desk.where, desk.zone, desk.currency, head.seq, head.hash, meta.checked_s)


def check(desk: Desk) -> CheckReport:
    """Check the chain and refold every act, comparing with what stands in the tables.

    Raises
    ------
    StoreDamagedError
        Where the chain does not hold.
    """
    with reading(desk.engine) as connection:
        report = check_whole(connection)
    if not report.faults:
        _note_checked(desk, report.acts)
    return report


def check_daily(desk: Desk) -> bool:
    """Check the chain if that was not done in the last day; return whether it was done now.

    Raises
    ------
    StoreDamagedError
        Where the chain does not hold: no figure is shown then.
    """
    with reading(desk.engine) as connection:
        checked_s = connection.execute(sa.select(META.c.checked_s)).scalar_one()
        if 0 <= desk.now_s() - checked_s < SECONDS_PER_DAY:
            return False
        found = engine_faults(connection)
        if found:
            raise StoreDamagedError(
                "The store is damaged; no figure is shown.",
                f"{capital(found[0])}.",
                "Restore the last backup: stockroom restore BACKUP --store NEW-FILE.",
            )
        count = sum(1 for _ in chain_acts(connection))
    _note_checked(desk, count)
    return True


def _note_checked(desk: Desk, acts: int) -> None:
    """Remember the check; a store that cannot be written is still one that was checked."""
    try:
        with writing(desk.engine) as connection:
            connection.execute(META.update().values(checked_s=desk.now_s(), checked_seq=acts))
    except StoreUnwritableError:
        return


def make_backup(desk: Desk, path: Path) -> BackupReport:
    """Write a whole backup; the chain is checked on the way."""
    return back_up(desk.engine, path)


def check_backup(path: Path) -> CheckReport:
    """Restore a backup into a store that lives in memory alone, and check that whole.

    Raises
    ------
    StoreDamagedError
        Where the backup is cut or changed.
    """
    engine = make_engine(sa.URL.create("sqlite", database=":memory:"))
    try:
        restore(path, engine)
        with reading(engine) as connection:
            return check_whole(connection)
    finally:
        engine.dispose()


def restore_backup(path: Path, store: str) -> BackupReport:
    """Make a new store from a backup.

    Raises
    ------
    RefusedError
        Where that store holds books already.
    StoreDamagedError
        Where the backup is cut or changed.
    """
    engine = make_engine(url_of(store))
    try:
        return restore(path, engine)
    finally:
        engine.dispose()


def demo_of(path: Path) -> str | None:
    """Return which demo's story a store says it tells (see `stockroom.store.glance.demo_of`)."""
    return glance.demo_of(path)


def where_is(store: str) -> str:
    """Return where a store is, without a password."""
    return shown_url(url_of(store))
