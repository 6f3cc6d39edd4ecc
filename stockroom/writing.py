"""Files written whole or not at all, under a free name or over one of their own kind."""

import errno
import os
import secrets
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from stockroom.errors import BadValueError, ImportProblem, RefusedError, StoreUnwritableError
from stockroom.plain_files import open_plain
from stockroom.text import safe

BEGINS = {"PDF": b"%PDF-", "calendar": b"BEGIN:VCALENDAR"}
"""How the kinds of file begin that may be written over by one of the same kind."""


def write_whole(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write a file whole or not at all (see `whole_file`)."""
    with whole_file(path, replace=replace) as file:
        file.write(data)


@contextmanager
def whole_file(path: Path, *, replace: bool = False, private: bool = False) -> Iterator[BinaryIO]:
    """Give a file to write, which takes its name on leaving: whole and on the disk, or not at all.

    Until then it lies beside under a name that nobody can foresee.

    Parameters
    ----------
    path : Path
        The name that a person gave.
    replace : bool
        Whether a file of the same kind may be written over (see `BEGINS`); nothing else ever is.
    private : bool
        Whether this account alone may read it, whatever the umask.

    Raises
    ------
    BadValueError
        Where there is no such folder.
    RefusedError
        Where the name is taken, also by who took it in the meantime.
    StoreUnwritableError
        Where the disk or the folder does not let it be written.
    """
    see_free(path, replace=replace)
    part = path.with_name(f"{path.name[:40]}.{secrets.token_hex(8)}.part")
    new = os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
    with file_trouble(path):
        with os.fdopen(os.open(part, new, 0o600 if private else 0o666), "w+b") as file:
            try:
                yield file
                synced(file)
                take_name(part, path, replace=replace)
            finally:
                part.unlink(missing_ok=True)
        _sync_folder(path)


def synced(file: BinaryIO) -> None:
    """Bring all that was written to a file onto the disk."""
    file.flush()
    os.fsync(file.fileno())


def see_free(path: Path, *, replace: bool = False) -> None:
    """Refuse a name that is taken, be it by a link to nowhere, before work is done for it.

    Where it may be replaced, it is only seen that it can be a name in a folder that is there.
    """
    with file_trouble(path, ValueError):  # a name may hold what no name can
        if not path.parent.is_dir():
            raise BadValueError(
                f"There is no folder for {safe(path.name)}.", try_="Name a file in one."
            )
        with suppress(FileNotFoundError):
            path.lstat()
            if not replace:
                raise _taken(path)


def _taken(path: Path) -> RefusedError:
    return RefusedError(
        f"{safe(path)} is there already.",
        "It is not written over.",
        "Name another file, or remove that one.",
    )


@contextmanager
def file_trouble(path: Path, *also: type[Exception]) -> Iterator[None]:
    """Turn what the system says of a file that is written into what happened and what to try."""
    caught: tuple[type[Exception], ...] = (OSError, *also)
    try:
        yield
    except caught as error:
        raise StoreUnwritableError(
            f"{safe(path)} cannot be written.",
            f"{safe(getattr(error, 'strerror', None) or error)}.",
            "Name another folder.",
        ) from error


def take_name(part: Path, path: Path, *, replace: bool = False) -> None:
    """Give the file its name; a name that is taken is never lost to a race of two.

    Raises
    ------
    RefusedError
        Where it is taken, and not to be replaced or by a file of another kind.
    """
    try:
        os.link(part, path)
        return
    except FileExistsError:
        free = False
    except OSError:
        free = _reserved(path)  # a file system without hard links
    if not free and not replace:
        raise _taken(path)
    if not free:
        _see_same_kind(part, path)
    try:
        part.replace(path)
    except OSError:
        if free:
            path.unlink(missing_ok=True)
        raise


def _reserved(path: Path) -> bool:
    """Take a free name with an empty file; false where it is taken."""
    try:
        os.close(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW, 0o600))
    except FileExistsError:
        return False
    return True


def _see_same_kind(part: Path, path: Path) -> None:
    """Refuse to write over what is no file of the new one's kind; else keep who may read it."""
    kind, mode = _kind(part), path.lstat().st_mode
    if not stat.S_ISREG(mode):
        raise RefusedError(
            f"{safe(path)} is no file but a link, a folder or a device.",
            "Only a file is written over.",
            "Name another file.",
        )
    if kind is None or _kind(path) != kind:
        raise RefusedError(
            f"{safe(path)} is no {kind or 'file of ours'}.",
            "A file is written over by one of its own kind only.",
            "Name another file, or look what that one is.",
        )
    part.chmod(stat.S_IMODE(mode))


def _kind(path: Path) -> str | None:
    """What kind of file it is by how it begins; None for any other."""
    try:
        with open_plain(path) as file:
            begin = file.read(max(map(len, BEGINS.values())))
    except ImportProblem:
        return None
    return next((kind for kind, begins in BEGINS.items() if begin.startswith(begins)), None)


def _sync_folder(path: Path) -> None:
    """Bring a file's name onto the disk."""
    try:
        folder = os.open(path.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        if error.errno in (errno.EINVAL, errno.EBADF):
            return  # a file system that syncs no folders
        raise StoreUnwritableError(
            f"{safe(path)} is written, but the disk does not say that it keeps it.",
            f"{error.strerror}.",
            "Write it again under another name, in another folder.",
        ) from error
