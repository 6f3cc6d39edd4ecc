"""A private PostgreSQL cluster on the loopback, where the server is installed."""

import os
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
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


@contextmanager
def server() -> Iterator[str]:
    """Give the URL of a server; start a private one, and stop it afterwards, if none is named."""
    named = os.environ.get(VARIABLE)
    if named:
        yield named
        return
    folder = binaries()
    assert folder is not None
    home = Path(tempfile.mkdtemp(prefix="stockroom-pg-"))
    if os.geteuid() == 0:
        shutil.chown(home, "postgres")
    data, port = home / "data", _free_port()
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "check": True, "cwd": home}
    subprocess.run(
        _as_server([str(folder / "initdb"), "-D", str(data), "-A", "trust", "-U", "stockroom",
                    "-E", "UTF8", "--locale=C.UTF-8", "--data-checksums"]),
        **quiet,
    )  # fmt: skip
    options = f"-p {port} -h 127.0.0.1 -k {home} -c max_connections=100"
    control = [str(folder / "pg_ctl"), "-D", str(data), "-w"]
    log = ["-l", str(home / "log")]
    subprocess.run(_as_server([*control, *log, "-o", options, "start"]), **quiet)
    try:
        yield f"postgresql://stockroom@127.0.0.1:{port}/postgres"
    finally:
        subprocess.run(_as_server([*control, "-m", "immediate", "stop"]), **quiet)
        shutil.rmtree(home, ignore_errors=True)
