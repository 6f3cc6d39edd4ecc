"""Acts that one command did: they share its key with a number each, and are undone together."""

import re
from dataclasses import dataclass
from itertools import count, takewhile

from stockroom.core.books.chain import Act
from stockroom.store.view import StoreView, find_by_key

_NUMBERED = re.compile(r"(?s)(.+)/[1-9][0-9]*")


@dataclass(slots=True)
class Group:
    """What the acts of one command share: its key, and a digest of what was asked."""

    key: str
    ask: str
    done: int = 0

    def next_key(self) -> str:
        """Return the key of its next act: the command's, with a number from 1."""
        self.done += 1
        return f"{self.key}/{self.done}"


def group_key(key: str) -> str | None:
    """Return the key of the command that an act's key belongs to; None where it stands alone.

    >>> group_key("4f2c/12"), group_key("4f2c")
    ('4f2c', None)
    """
    found = _NUMBERED.fullmatch(key)
    return found[1] if found else None


def acts_of_group(view: StoreView, key: str) -> list[Act]:
    """Return the acts that came with a command's key, in their order."""
    numbered = (find_by_key(view.connection, f"{key}/{number}") for number in count(1))
    return [act for act in takewhile(bool, numbered) if act is not None]
