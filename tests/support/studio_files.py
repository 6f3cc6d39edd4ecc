"""A furnished store as a file, made once and copied."""

import atexit
import shutil
import sqlite3
from functools import cache
from pathlib import Path
from tempfile import mkdtemp

from stockroom.desk import counting
from stockroom.desk.session import Desk
from stockroom.store.engine import make_engine, url_of
from support.deeds import Doer, Seeded
from support.studio import MONDAY_S, Clock, Studio, furnish


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
    return Desk.at(str(store), actor=actor, now_s=clock or Clock(MONDAY_S))


class Reopened:
    """One path at which one store after the other is laid; what is compiled is kept for all."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.engine = make_engine(url_of(str(path)))

    def desk(self) -> Desk:
        """Open a desk on what lies there now."""
        return Desk(self.engine, actor="ines", now_s=Clock(MONDAY_S))

    def clear(self) -> None:
        """Close it, and take away what lies there."""
        self.engine.dispose()
        for path in self.path.parent.glob(self.path.name + "*"):
            path.unlink()
