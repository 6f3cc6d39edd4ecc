"""What a person names to be read: plain files alone, and JSON no larger than can be borne."""

import json
import os
import stat
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, BinaryIO

from stockroom.errors import BadValueError, ImportProblem
from stockroom.text import safe

MAX_FILE_BYTES = 200_000_000
"""Largest file read at once, bytes (our choice: about ten years of readings each minute)."""
MAX_LIST_BYTES = 20_000_000
"""Largest list of stock, jobs or pieces read, bytes (our choice: one has some thousand rows)."""
MAX_MARKS = 1_000_000
"""Most brackets, commas and colons of one JSON text (our choice: a value takes one or two)."""

# a pipe that nobody writes to must not be waited for; what is opened must not become our terminal
_FLAGS = os.O_RDONLY
for _name in ("O_NONBLOCK", "O_NOCTTY", "O_BINARY"):
    _FLAGS |= getattr(os, _name, 0)

_opened: set[Path] = set()


def opens_store(path: Path) -> None:
    """Remember a SQLite file that this process opens: it is not read by any other way then."""
    _opened.add(path)


def store_files(path: Path) -> list[Path]:
    """Return a SQLite file, and its log and the log's index beside it."""
    return [Path(f"{path}{ending}") for ending in ("", "-wal", "-shm")]


def shown_name(name: str) -> str:
    """Return a file's name as a sentence can begin with it."""
    return safe(name, length=80) or "The file"


def home_path(text: str) -> Path:
    """Return a path as it was typed, ``~`` and ``~name`` at its begin being a person's home.

    Raises
    ------
    BadValueError
        Where nobody of that name has a home here.
    """
    try:
        return Path(text).expanduser()
    except RuntimeError as error:
        raise BadValueError(
            f"{safe(text, length=60)} cannot be found.",
            "It begins with the home of somebody whom this machine does not know.",
            "Type ~/ for your own home, or ./~ for a name that begins so.",
        ) from error


def open_plain(path: Path) -> BinaryIO:
    """Open a plain file for reading bytes; nothing else is waited for or read from.

    Whether it is one is asked of what was opened, not of its name, which another program may give
    to something else meanwhile.

    Raises
    ------
    ImportProblem
        Where it is missing, not readable, a folder, a device, a pipe or a socket, or of a store
        that this process has open.
    """
    name = shown_name(path.name)
    try:
        handle = os.open(path, _FLAGS)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else None
        raise ImportProblem(
            f"{name} cannot be opened.",
            f"The system says: {safe(reason or error)}.",
            "Look at the name, the folder and the rights.",
        ) from error
    found = os.fstat(handle)
    if _of_store(found):
        # never closed: that would give up all locks on it, those of SQLite too
        raise ImportProblem(
            f"{name} is the store itself.", "The books are not read so.", "Name another file."
        )
    if not stat.S_ISREG(found.st_mode):
        os.close(handle)
        raise ImportProblem(
            f"{name} is not a file.", "It is a folder or a device.", "Name the file itself."
        )
    return os.fdopen(handle, "rb")


def is_missing(error: ImportProblem) -> bool:
    """Whether a file could not be opened because there is none of that name."""
    return isinstance(error.__cause__, FileNotFoundError)


def _of_store(found: os.stat_result) -> bool:
    """Whether this is a file of a store that this process opened, whatever its name."""
    for path in [file for store in tuple(_opened) for file in store_files(store)]:
        with suppress(OSError):
            if os.path.samestat(path.stat(), found):
                return True
    return False


def read_plain(path: Path, *, most_bytes: int = MAX_FILE_BYTES) -> bytes:
    """Return the bytes of a plain file of bearable size.

    Parameters
    ----------
    path : Path
        The file.
    most_bytes : int
        The largest size taken, bytes; a larger file is refused unread, and one that grows beyond
        it while it is read is refused too.

    Raises
    ------
    ImportProblem
        Where it is missing, no plain file, not readable or too large.
    """
    name = shown_name(path.name)
    with open_plain(path) as stream:
        try:
            refuse_large(os.fstat(stream.fileno()).st_size, name, most_bytes)
            data = stream.read(most_bytes + 1)
        except OSError as error:
            raise ImportProblem(
                f"{name} cannot be read.",
                f"The system says: {safe(error.strerror or error)}.",
                "Copy it to another disk, and read it from there.",
            ) from error
    refuse_large(len(data), name, most_bytes)
    return data


def bounded_lines(stream: BinaryIO, most_bytes: int) -> Iterator[bytes]:
    """Yield lines; of one longer than `most_bytes` only its begin, a byte longer than that."""
    while line := stream.readline(most_bytes + 1):
        yield line
        while line and not line.endswith(b"\n"):
            line = stream.readline(most_bytes + 1)


def refuse_large(size: int, name: str, most_bytes: int) -> None:
    """Raise `ImportProblem` where a file of this size (bytes) is larger than is read at once."""
    if size > most_bytes:
        raise ImportProblem(
            f"{name} is too large: {size / 1e6:.3g} MB.",
            f"At most {most_bytes / 1e6:.3g} MB are read at once.",
            "Export it in shorter stretches, for example by year.",
        )


def marks(data: bytes) -> int:
    """Return how many brackets, commas and colons JSON has: no fewer than it holds values.

    >>> marks(b'{"a": [1]}')
    3
    """
    return sum(map(data.count, (b"[", b"{", b",", b":")))


def bounded_json(data: bytes, most_marks: int = MAX_MARKS) -> Any:
    """Return what JSON says, once it is known to hold no more than can be borne.

    Parameters
    ----------
    data : bytes
    most_marks : int
        Most brackets, commas and colons in it.

    Raises
    ------
    ValueError
        Where it is no JSON, holds too much, or is nested too deep.

    >>> bounded_json(b'{"a": [1]}')
    {'a': [1]}
    """
    if marks(data) > most_marks:
        raise ValueError("It holds too many values")
    try:
        return json.loads(data)
    except RecursionError as error:
        raise ValueError("It is nested too deep") from error
