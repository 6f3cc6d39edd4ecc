"""SQLite's own files under a watch: each write, sync, truncation and removal is seen beforehand.

The library that Python's sqlite3 uses is reached through ctypes, and told to open files through a
copy of its own file layer in which four methods come to us first. Nothing is compiled or installed,
and the program under test opens its stores as ever.
"""

import _sqlite3
import ctypes
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Literal

Operation = Literal["open", "write", "sync", "truncate", "grow index", "remove"]
OK, FULL = 0, 13
REFUSED: dict[Operation, int] = {
    "open": 14,
    "write": 778,
    "sync": 1034,
    "truncate": 1546,
    "grow index": 5386,
    "remove": 2570,
}
"""What SQLite hears when an operation fails on an ill disk: the extended codes of its manual."""


@dataclass(frozen=True)
class Step:
    """One operation on a file, about to be done.

    Parameters
    ----------
    operation : str
        What is about to be done.
    name : str
        The file's name without its folder; empty for a temporary one.
    at, size : int
        Where it is written, and how much, bytes; a truncation has its new length in `size`.
    """

    operation: Operation
    name: str
    at: int = 0
    size: int = 0
    _data: int = 0
    _write: Callable[[int], int] | None = None

    @property
    def data(self) -> bytes:
        """What is about to be written."""
        return ctypes.string_at(self._data, self.size)

    def tear(self, size: int) -> None:
        """Write only so many of the bytes, as a machine does that stops in the middle."""
        if self._write is not None and size:
            self._write(size)


Watcher = Callable[[Step], int]
"""Sees a step; returns `OK` to have it done, or the code that SQLite is to hear instead."""

_POINTER, _INT, _LONG = ctypes.c_void_p, ctypes.c_int, ctypes.c_int64
_OPEN = ctypes.CFUNCTYPE(_INT, _POINTER, _POINTER, _POINTER, _INT, _POINTER)
_REMOVE = ctypes.CFUNCTYPE(_INT, _POINTER, _POINTER, _INT)
_WRITE = ctypes.CFUNCTYPE(_INT, _POINTER, _POINTER, _INT, _LONG)
_TRUNCATE = ctypes.CFUNCTYPE(_INT, _POINTER, _LONG)
_SYNC = ctypes.CFUNCTYPE(_INT, _POINTER, _INT)
_CLOSE = ctypes.CFUNCTYPE(_INT, _POINTER)
_MAP = ctypes.CFUNCTYPE(_INT, _POINTER, _INT, _INT, _INT, _POINTER)


class _Layer(ctypes.Structure):
    """`sqlite3_vfs`: the file layer, as its header declares version 3."""

    _fields_ = [
        ("version", _INT),
        ("file_size", _INT),
        ("longest_name", _INT),
        ("next", _POINTER),
        ("name", ctypes.c_char_p),
        ("own", _POINTER),
        ("open", _POINTER),
        ("remove", _POINTER),
        ("others", _POINTER * 14),
    ]


class _Methods(ctypes.Structure):
    """`sqlite3_io_methods`: what can be done with an open file, version 3 of it."""

    _fields_ = [
        ("version", _INT),
        ("close", _POINTER),
        ("read", _POINTER),
        ("write", _POINTER),
        ("truncate", _POINTER),
        ("sync", _POINTER),
        ("others", _POINTER * 7),
        ("map", _POINTER),
        ("more", _POINTER * 5),
    ]


class _Watch:
    """The copied layer; its pointers are kept for as long as the process lives."""

    def __init__(self, library: ctypes.CDLL) -> None:
        self.sqlite = library
        self.watcher: Watcher = lambda _step: OK
        self.names: dict[int, str] = {}
        self._kept: list[Any] = []
        self._methods: dict[int, _Methods] = {}
        self.plain: int = library.sqlite3_vfs_find(None)
        layer = _Layer.from_buffer_copy(ctypes.string_at(self.plain, ctypes.sizeof(_Layer)))
        open_, remove = _OPEN(layer.open), _REMOVE(layer.remove)

        def opened(_layer: int, name: int, file: int, flags: int, said: int) -> int:
            text = Path(ctypes.string_at(name).decode()).name if name else ""
            refused = self.watcher(Step("open", text))
            if refused:
                return refused
            code = open_(self.plain, name, file, flags, said)
            slot = _POINTER.from_address(file)
            if code == OK and slot.value:
                self.names[file] = text
                slot.value = ctypes.addressof(self._watched(slot.value))
            return int(code)

        def removed(_layer: int, name: int, sync: int) -> int:
            text = Path(ctypes.string_at(name).decode()).name
            refused = self.watcher(Step("remove", text, size=sync))
            return refused or int(remove(self.plain, name, sync))

        layer.name = b"watched"
        layer.next = None
        layer.open = self._keep(_OPEN(opened))
        layer.remove = self._keep(_REMOVE(removed))
        self.layer = layer

    def _keep(self, function: Any) -> int:
        self._kept.append(function)
        return int(ctypes.cast(function, _POINTER).value or 0)

    def _watched(self, address: int) -> _Methods:
        """Return the methods at an address with ours before them."""
        if address in self._methods:
            return self._methods[address]
        methods = _Methods.from_buffer_copy(ctypes.string_at(address, ctypes.sizeof(_Methods)))
        write, truncate, sync = (
            shape(old)
            for shape, old in (
                (_WRITE, methods.write),
                (_TRUNCATE, methods.truncate),
                (_SYNC, methods.sync),
            )
        )

        def written(file: int, data: int, size: int, at: int) -> int:
            def torn(part: int) -> int:
                return int(write(file, data, part, at))

            step = Step("write", self.names[file], at, size, data, torn)
            return self.watcher(step) or int(write(file, data, size, at))

        def truncated(file: int, size: int) -> int:
            step = Step("truncate", self.names[file], size=size)
            return self.watcher(step) or int(truncate(file, size))

        def synced(file: int, flags: int) -> int:
            return self.watcher(Step("sync", self.names[file])) or int(sync(file, flags))

        methods.write = self._keep(_WRITE(written))
        methods.truncate = self._keep(_TRUNCATE(truncated))
        methods.sync = self._keep(_SYNC(synced))
        if methods.version >= 2 and methods.map:
            methods.map = self._keep(_MAP(self._mapped(_MAP(methods.map))))
        self._methods[address] = methods
        return methods

    def _mapped(self, map_: Any) -> Callable[[int, int, int, int, int], int]:
        def mapped(file: int, page: int, size: int, extend: int, to: int) -> int:
            step = Step("grow index", self.names[file], page * size, size)
            refused = self.watcher(step) if extend else OK
            return refused or int(map_(file, page, size, extend, to))

        return mapped


@cache
def _watch() -> _Watch | None:
    """The watch, or None where the library of this Python's sqlite3 cannot be reached."""
    try:
        library = ctypes.CDLL(getattr(_sqlite3, "__file__", None))
        library.sqlite3_vfs_find.restype = _POINTER
        library.sqlite3_vfs_register.argtypes = [_POINTER, _INT]
    except (AttributeError, OSError):
        return None
    return _Watch(library)


def can_be_watched() -> bool:
    """Return whether this Python's SQLite lets its files be watched."""
    return _watch() is not None


@contextmanager
def watched(watcher: Watcher) -> Iterator[None]:
    """Have every store that is opened within seen by a watcher; close them all before leaving."""
    watch = _watch()
    assert watch is not None
    watch.watcher = watcher
    watch.sqlite.sqlite3_vfs_register(ctypes.addressof(watch.layer), 1)
    try:
        yield
    finally:
        watch.sqlite.sqlite3_vfs_register(watch.plain, 1)
        watch.watcher = lambda _step: OK
