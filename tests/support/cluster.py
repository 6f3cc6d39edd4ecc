"""A private PostgreSQL cluster on the loopback, where the server is installed."""

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

VARIABLE = "STOCKROOM_TEST_POSTGRES"
"""Environment variable with the URL of a server to test on, instead of a private one."""


def binaries() -> Path | None:
    """Return the folder with initdb and pg_ctl, or None where the server is not installed."""
    on_path = shutil.which("initdb")
    if on_path:
        return Path(on_path).parent
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    return found[-1].parent if found else None


def available() -> bool:
    """Return whether there is a PostgreSQL server to test on."""
    return bool(os.environ.get(VARIABLE)) or binaries() is not None


def _as_server(command: list[str]) -> list[str]:
    """The server refuses to run as root: step down to its own user."""
    if os.geteuid() != 0:
        return command
    found = shutil.which("runuser", path=f"{os.environ.get('PATH', '')}:/usr/sbin:/sbin")
    return [found or "runuser", "-u", "postgres", "--", *command]


def _free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


@dataclass(frozen=True)
class Cluster:
    """A server of our own, which may be stopped, killed and started again."""

    home: Path
    port: int

    @property
    def url(self) -> str:
        """Its address."""
        return f"postgresql://stockroom@127.0.0.1:{self.port}/postgres"

    def make(self) -> None:
        """Bring it into being."""
        self._run("initdb", "-D", self._data, "-A", "trust", "-U", "stockroom",
                  "-E", "UTF8", "--locale=C.UTF-8", "--data-checksums")  # fmt: skip

    def start(self) -> None:
        """Start it, and wait until it answers."""
        options = f"-p {self.port} -h 127.0.0.1 -k {self.home} -c max_connections=100"
        self._run("pg_ctl", "-D", self._data, "-w", "-l", str(self.home / "log"), "-o", options,
                  "start")  # fmt: skip

    def stop(self, how: str = "immediate") -> None:
        """Stop it: "fast" lets it tidy up, "immediate" does not."""
        self._run("pg_ctl", "-D", self._data, "-w", "-m", how, "stop")

    def kill(self) -> None:
        """Kill all its processes outright, and wait until they are gone."""
        first = int((self.home / "data" / "postmaster.pid").read_text().split()[0])
        os.kill(first, signal.SIGSTOP)  # or it would start others
        pids = [first, *_children(first)]
        for pid in pids:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
        while any(_runs(pid) for pid in pids):
            time.sleep(0.005)
        for left in (self.home / "data" / "postmaster.pid", *self.home.glob(".s.*.lock")):
            left.unlink()  # one that is dead and not yet buried seems to be there still

    @property
    def _data(self) -> str:
        return str(self.home / "data")

    def _run(self, program: str, *words: str) -> None:
        folder = binaries()
        assert folder is not None
        subprocess.run(
            _as_server([str(folder / program), *words]),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            check=True,
            cwd=self.home,
        )


def _stat(pid: int) -> list[str]:
    """State, parent and more of a process; nothing where it is gone."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return []


def _children(parent: int) -> list[int]:
    pids = [int(path.name) for path in Path("/proc").iterdir() if path.name.isdigit()]
    return [pid for pid in pids if _stat(pid)[1:2] == [str(parent)]]


def _runs(pid: int) -> bool:
    return _stat(pid)[:1] not in ([], ["Z"])


@contextmanager
def own() -> Iterator[Cluster]:
    """Give a running server of our own, and take it away afterwards."""
    home = Path(tempfile.mkdtemp(prefix="stockroom-pg-"))
    if os.geteuid() == 0:
        shutil.chown(home, "postgres")
    cluster = Cluster(home, _free_port())
    try:
        cluster.make()
        cluster.start()
        yield cluster
    finally:
        with contextlib.suppress(subprocess.CalledProcessError):  # stopped already
            cluster.stop()
        shutil.rmtree(home, ignore_errors=True)


@contextmanager
def server() -> Iterator[str]:
    """Give the URL of a server; start a private one, and stop it afterwards, if none is named."""
    named = os.environ.get(VARIABLE)
    if named:
        yield named
        return
    with own() as cluster:
        yield cluster.url
