"""A stretch of network before a server, which can be cut, or cut just as something is committed."""

import random
import signal
import socket
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from threading import Event, Thread
from typing import Literal

from support.workers import Say, fork

Mode = Literal["open", "silent", "cut", "answer lost", "commit lost", "commit late"]
MODES: tuple[Mode, ...] = ("open", "silent", "cut", "answer lost", "commit lost", "commit late")
"""All passes; nothing passes, and nobody is told; every connection is cut, and no new one made; at
a commit the client is cut off: once the server has it, before it has, or a while before."""
COMMIT = b"Q\0\0\0\x0bCOMMIT\0"
"""How a client asks a PostgreSQL server to commit."""
LATE_S = 0.3
"""How much later a late commit comes to the server, s."""


@dataclass(frozen=True)
class Network:
    """A stretch of network: the port of its near end, and the way to hurt it."""

    port: int
    orders: socket.socket

    def becomes(self, mode: Mode) -> None:
        """Let things pass otherwise from now on."""
        self.orders.sendall(bytes([MODES.index(mode)]))
        self.orders.recv(1)


@contextmanager
def network(server_port: int, *, share: float | None = None, seed: int = 0) -> Iterator[Network]:
    """Lay a stretch of network to a server on this machine, in a process of its own.

    Parameters
    ----------
    server_port : int
        Where the server listens.
    share : float or None
        The share of commits at which a client is cut off, while that is the mode; None for the
        next one alone.
    seed : int
        Chooses them.
    """
    near = socket.create_server(("127.0.0.1", 0))
    ours, theirs = socket.socketpair()

    def work(say: Say) -> None:
        signal.alarm(0)
        ours.close()
        stretch = _Stretch(server_port, share, random.Random(seed))
        Thread(target=stretch.let_in, args=(near,), daemon=True).start()
        say("ready")
        while order := theirs.recv(1):
            stretch.becomes(MODES[order[0]])
            theirs.sendall(order)

    worker = fork(work)
    port = int(near.getsockname()[1])
    near.close()
    theirs.close()
    worker.hear()
    try:
        yield Network(port, ours)
    finally:
        worker.kill()
        worker.end()
        ours.close()


class _Stretch:
    def __init__(self, server_port: int, share: float | None, rng: random.Random) -> None:
        self.server_port, self.share, self.rng = server_port, share, rng
        self.mode: Mode = "open"
        self.heard = Event()
        self.heard.set()
        self.ends: set[socket.socket] = set()

    def becomes(self, mode: Mode) -> None:
        self.mode = mode
        if mode == "silent":
            self.heard.clear()
            return
        if mode == "cut":
            for end in list(self.ends):
                _shut(end)
        self.heard.set()

    def let_in(self, near: socket.socket) -> None:
        while True:
            client, _ = near.accept()
            try:
                if self.mode == "cut":
                    raise ConnectionRefusedError
                server = socket.create_connection(("127.0.0.1", self.server_port))
            except OSError:
                client.close()
                continue
            self.ends |= {client, server}
            Thread(target=self.asked, args=(client, server), daemon=True).start()
            Thread(target=self.answered, args=(client, server), daemon=True).start()

    def asked(self, client: socket.socket, server: socket.socket) -> None:
        with suppress(OSError):
            while data := client.recv(1 << 16):
                self.heard.wait()
                mode = self.mode
                hurts = mode in ("answer lost", "commit lost", "commit late")
                if hurts and COMMIT in data and self.is_chosen():
                    _shut(client)
                    if mode == "commit lost":
                        break
                    if mode == "commit late":
                        time.sleep(LATE_S)
                    server.sendall(data)
                    return  # the server is let go once it has answered
                server.sendall(data)
        self.heard.wait()
        _shut(server)

    def is_chosen(self) -> bool:
        if self.share is None:
            self.mode = "open"
            return True
        return self.rng.random() < self.share

    def answered(self, client: socket.socket, server: socket.socket) -> None:
        with suppress(OSError):
            while data := server.recv(1 << 16):
                self.heard.wait()
                client.sendall(data)
        _shut(client)
        self.ends -= {client, server}
        client.close()
        server.close()


def _shut(end: socket.socket) -> None:
    with suppress(OSError):
        end.shutdown(socket.SHUT_RDWR)
