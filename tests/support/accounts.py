"""Work done by another account that owns nothing, where the tests run as an administrator."""

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import mkdtemp

from support.workers import Say

OWNER, OTHER, GROUP = 64_001, 64_002, 64_003
"""Users and a group that no machine needs to know."""


def is_administrator() -> bool:
    """Return whether these tests may become whom they like."""
    return os.geteuid() == 0


def as_user(
    work: Callable[[Say], None], user: int = OTHER, groups: tuple[int, ...] = ()
) -> Callable[[Say], None]:
    """The work of a forked process as that user; as the one who runs the tests, where it must."""

    def done(say: Say) -> None:
        if is_administrator():
            os.setgroups(list(groups))
            os.setgid(user)
            os.setuid(user)
        work(say)

    return done


def given_to(path: Path, user: int = OWNER, group: int = OWNER) -> None:
    """Give a file or a folder, with all in it, to that user, where the tests may."""
    if is_administrator():
        for item in (path, *path.rglob("*")):
            os.chown(item, user, group)


@contextmanager
def shared_folder() -> Iterator[Path]:
    """A folder that every account may enter; it goes in the end."""
    folder = Path(mkdtemp(prefix="stockroom-shared-"))
    folder.chmod(0o755)
    try:
        yield folder
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)
