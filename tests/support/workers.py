"""Processes forked from a warm interpreter: let go together, heard over a pipe, killed."""

import os
import random
import signal
import sys
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import NoReturn

Say = Callable[[str], None]
Wait = Callable[[], None]
LONGEST_S = 600
"""A worker that was left behind ends after so long, s."""


class WorkerFailedError(Exception):
    """A forked process came upon what it was not made for."""


@dataclass
class Worker:
    """A forked process and what it says."""

    pid: int
    fd: int
    _heard: bytes = b""
    status: int | None = None

    def hear(self) -> bytes:
        """Wait until it says something more, and return that."""
        said = os.read(self.fd, 1 << 16)
        self._heard += said
        return said

    def kill(self) -> None:
        """Kill it outright, unless it has ended."""
        if self.status is None:
            os.kill(self.pid, signal.SIGKILL)

    def end(self) -> list[str]:
        """Return all the whole lines that it ever said, once it has ended; fail where it failed."""
        if self.status is None:
            while part := os.read(self.fd, 1 << 16):
                self._heard += part
            os.close(self.fd)
            _, self.status = os.waitpid(self.pid, 0)
        lines = self._heard.decode().split("\n")[:-1]
        failed = [line for line in lines if line.startswith("!")]
        if failed:
            raise WorkerFailedError("\n".join(failed))
        return lines


def fork(work: Callable[[Say], None]) -> Worker:
    """Start a process that does the work; it must open every connection itself."""
    read, write = os.pipe()
    with warnings.catch_warnings():
        # newer versions of Python warn of forking beside threads; none of ours holds a lock
        warnings.simplefilter("ignore", DeprecationWarning)
        pid = os.fork()
    if pid:
        os.close(write)
        return Worker(pid, read)
    os.close(read)
    _work(work, write)


@contextmanager
def at_work(works: list[Callable[[Say], None]]) -> Iterator[list[Worker]]:
    """Start workers and wait until each says something; kill them all on leaving."""
    workers = [fork(work) for work in works]
    try:
        for worker in workers:
            worker.hear()
        yield workers
    finally:
        for worker in workers:
            worker.kill()
        for worker in workers:
            worker.end()


def _work(work: Callable[[Say], None], write: int) -> NoReturn:
    """In the child: work, say, and never come back into the tests, nor outlive them for long."""
    signal.alarm(LONGEST_S)
    sys.dont_write_bytecode = True  # a disk that is made to fail must not leave half a module

    def say(line: str) -> None:
        os.write(write, (line + "\n").encode())

    status = 1
    try:
        work(say)
        status = 0
    except BaseException:
        say("!" + traceback.format_exc().replace("\n", "\n!"))
    finally:
        os._exit(status)


def let_in_together(works: list[Callable[[Say, Wait], None]]) -> list[list[str]]:
    """Start all, and let them through their doors at one instant; return what each one said.

    Each gets a door to wait at; whoever ends without it is not waited for.
    """
    closed, opens = os.pipe()

    def at_the_door(work: Callable[[Say, Wait], None]) -> Callable[[Say], None]:
        def start(say: Say) -> None:
            os.close(opens)

            def wait() -> None:
                say("ready")
                os.read(closed, 1)

            work(say, wait)

        return start

    workers = [fork(at_the_door(work)) for work in works]
    for worker in workers:
        worker.hear()
    os.close(closed)
    os.close(opens)
    return [[line for line in worker.end() if line != "ready"] for worker in workers]


def release_together(works: list[Callable[[Say], None]]) -> list[list[str]]:
    """Start all, let them go at one instant, and return what each one said."""

    def held(work: Callable[[Say], None]) -> Callable[[Say, Wait], None]:
        def start(say: Say, wait: Wait) -> None:
            wait()
            work(say)

        return start

    return let_in_together([held(work) for work in works])


def killed_at_random(work: Callable[[Say], None], rng: random.Random, within_s: float) -> list[str]:
    """Start a worker, kill it at a random instant after it is ready; return what it said."""
    worker = fork(work)
    worker.hear()
    time.sleep(rng.uniform(0, within_s))
    worker.kill()
    return [line for line in worker.end() if line != "ready"]
