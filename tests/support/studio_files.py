"""A furnished store as a file, made once and copied."""

import atexit
import shutil
import sqlite3
from dataclasses import replace
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from stockroom.desk.stock import counting
from stockroom.desk.session import Desk, Done
from stockroom.store.engine import make_engine, url_of
from support.deeds import Doer, Seeded
from support.studio import MONDAY_S, Clock, Studio, furnish
from support.workshop import fit_out


@cache
def _template() -> tuple[Path, Studio]:
    folder = Path(mkdtemp(prefix="stockroom-template-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    path = folder / "studio.stockroom"
    desk = Desk.at(str(path), actor="ines", begin=True, zone="UTC", now_s=Clock(MONDAY_S))
    studio = furnish(desk)
    begun(desk)
    desk.close()
    settle(path)
    return path, studio


@cache
def _workshop_file() -> Path:
    path = _template()[0].with_name("workshop.stockroom")
    studio = copied_studio(path)
    desk = desk_at(path)
    shop = fit_out(replace(studio, desk=desk))
    for name in ("Salt flats", "Low tide"):
        shop.book(name)
    clock = desk.now_s
    assert isinstance(clock, Clock)
    doer = Doer(desk, clock, Seeded(5), "fitted")
    clock.on(20)
    kinds = ("plan cuts", "readings", "strip", "try", "try", "damage", "put by", "put by", "spell")
    for kind in (*kinds, "hold", "fault", "place"):
        while not isinstance(doer.tries(kind), Done):
            pass  # refused: choose again
    counting.undo(desk, key="fitted-undone")
    desk.close()
    settle(path)
    return path


def copied_workshop(path: Path) -> None:
    """Lay a store at a path in which every kind of act can be done (its desk is closed)."""
    shutil.copyfile(_workshop_file(), path)


def begun(desk: Desk) -> None:
    """Do something of most kinds, so that there is something to change, close and take back."""
    clock = desk.now_s
    assert isinstance(clock, Clock)
    doer = Doer(desk, clock, Seeded(5), "begun")
    kinds = ("book", "book", "order", "order", "readings", "put by", "put by", "cut", "spell")
    for kind in (*kinds, "open"):
        doer.do(kind)
    counting.undo(desk, key="begun-undone")


def settle(path: Path) -> None:
    """Bring all that was committed from the log into the file itself."""
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    connection.close()


def copied_studio(path: Path) -> Studio:
    """Lay a furnished store at a path; return its codes (its desk is closed)."""
    template, studio = _template()
    shutil.copyfile(template, path)
    return studio


def desk_at(store: Path | str, clock: Clock | None = None, actor: str = "ines") -> Desk:
    """Open a desk on a store that is there."""
    return Desk.at(str(store), actor=actor, now_s=clock or Clock(MONDAY_S), clock_is_right=True)


class Reopened:
    """One path at which one store after the other is laid; what is compiled is kept for all."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.engine = make_engine(url_of(str(path)))

    def desk(self) -> Desk:
        """Open a desk on what lies there now."""
        return Desk(self.engine, actor="ines", now_s=Clock(MONDAY_S), clock_is_right=True)

    def clear(self) -> None:
        """Close it, and take away what lies there."""
        self.engine.dispose()
        for path in self.path.parent.glob(self.path.name + "*"):
            path.unlink()
