"""Commands of the console run one by one in forks of a fresh process: what each says and takes."""

import contextlib
import importlib
import io
import json
import os
import pkgutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

LONGEST_S = 60
"""A command that takes longer is ended, s."""


@dataclass(frozen=True)
class Took:
    """What a command said, and what it took.

    Attributes
    ----------
    code : int
        Its exit code; below zero where a signal ended it.
    said : bytes
        All that it wrote, data and errors.
    cpu_s : float
    peak_mb : float
        Most memory it held at once, that of the program itself with it.
    """

    code: int
    said: bytes
    cpu_s: float
    peak_mb: float


Measure = Callable[..., Took]


@contextlib.contextmanager
def measuring() -> Iterator[Measure]:
    """Start a process that is as large as the program is, and run commands in forks of it."""
    process = subprocess.Popen(
        [sys.executable, "-c", "from support.measured import serve; serve()"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None

    def measure(words: Sequence[str], **environment: str) -> Took:
        process.stdin.write(json.dumps([list(words), environment]) + "\n")  # type: ignore[union-attr]
        process.stdin.flush()  # type: ignore[union-attr]
        code, said, cpu_s, peak_mb = json.loads(process.stdout.readline())  # type: ignore[union-attr]
        return Took(code, said.encode("latin-1"), cpu_s, peak_mb)

    try:
        yield measure
    finally:
        process.stdin.close()
        process.stdout.close()
        process.wait()


def serve() -> None:
    """Run the commands that come in, a line each, until there are no more."""

    import stockroom
    from stockroom.cli import run
    from stockroom.desk.session import Desk
    from support.commands import keep_commands

    # all that is loaded once is loaded before anything is measured
    for name in ("alembic.command", "openpyxl", "scipy.optimize", "scipy.special"):
        importlib.import_module(name)
    for module in pkgutil.walk_packages(stockroom.__path__, "stockroom."):
        if "migrations" not in module.name and "__main__" not in module.name:
            importlib.import_module(module.name)
    keep_commands()

    with tempfile.TemporaryDirectory() as folder:
        store = str(Path(folder) / "warm.stockroom")
        Desk.at(store, begin=True).close()
        with contextlib.redirect_stdout(io.StringIO()):
            run(["today", "--store", store])
        for line in sys.stdin:
            words, environment = json.loads(line)
            answer = _forked(words, environment, Path(folder) / "said")
            sys.stdout.write(json.dumps(answer) + "\n")
            sys.stdout.flush()


def _forked(words: list[str], environment: dict[str, str], to: Path) -> list[object]:
    pid = os.fork()
    if not pid:
        _run(words, environment, to)
    _, status, used = os.wait4(pid, 0)
    code = os.waitstatus_to_exitcode(status)
    said = to.read_bytes().decode("latin-1")
    return [code, said, used.ru_utime + used.ru_stime, used.ru_maxrss / 1_000]


def _run(words: list[str], environment: dict[str, str], to: Path) -> None:
    """In the fork: run the command, all that it writes going to a file, and never come back."""
    code = 70
    try:
        signal.alarm(LONGEST_S)
        os.environ.update(environment)
        handle = os.open(to, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        nothing = os.open(os.devnull, os.O_RDONLY)
        for source, target in ((nothing, 0), (handle, 1), (handle, 2)):
            os.dup2(source, target)
        from stockroom.cli import run

        code = run(words)
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)
