"""Stores begun and furnished once, then copied for each test: a copy takes a tenth of the time."""

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from stockroom.desk.session import Desk
from support.databases import copied_database
from support.studio import MONDAY_S, Clock, Studio, furnish
from support.studio_files import settle
from support.workshop import Workshop, fit_out

STAGES: dict[str, Callable[[Desk], Studio | Workshop | None]] = {
    "shop": lambda desk: fit_out(furnish(desk)),
    "studio": furnish,
    "desk": lambda desk: None,
}
"""How a begun store is furnished, by the fixture that asks for it, the fullest first."""


@dataclass(frozen=True)
class Furnished:
    """A store that nobody is connected to, and the codes of what stands in it."""

    store: str
    made: Studio | Workshop | None

    @contextmanager
    def desk(self, folder: Path, now: Clock) -> Iterator[Desk]:
        """Open a desk on a copy, in a folder or on the same server."""
        with self._copied(folder) as store:
            desk = Desk.at(store, actor="ines", now_s=now)
            yield desk
            desk.close()

    @contextmanager
    def _copied(self, folder: Path) -> Iterator[str]:
        if "://" in self.store:
            with copied_database(self.store) as copy:
                yield copy
            return
        copy = str(folder / "studio.stockroom")
        shutil.copyfile(self.store, copy)
        yield copy

    def studio(self, desk: Desk) -> Studio:
        """Return the codes of the small studio, at a desk on a copy."""
        made = self.made.studio if isinstance(self.made, Workshop) else self.made
        assert made is not None
        return replace(made, desk=desk)

    def shop(self, studio: Studio) -> Workshop:
        """Return the codes of the studio that mounts."""
        assert isinstance(self.made, Workshop)
        return replace(self.made, studio=studio)


def furnished(store: str, stage: str) -> Furnished:
    """Begin an empty store, and furnish it as far as a stage."""
    desk = Desk.at(store, actor="ines", begin=True, zone="UTC", now_s=Clock(MONDAY_S))
    made = STAGES[stage](desk)
    desk.close()
    if "://" not in store:
        settle(Path(store))
    return Furnished(store, made)
