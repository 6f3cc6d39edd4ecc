"""Seed faults one at a time into a copy of the tree, and see that the test meant for each fails.

Run from the root of the tree, for all faults or for those named:

    .venv/bin/python tests/support/mutate.py
    .venv/bin/python tests/support/mutate.py "undo forgets what moved"
"""

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
FAULTS = ROOT / "tests" / "mutations.toml"
LONGEST_S = 300
"""How long one test may take with a fault in place, s: a test that hangs has seen it too."""


@dataclass(frozen=True)
class Fault:
    """A fault to seed: where, what stands there, what is put there, and the test that must fail."""

    id: str
    file: str
    old: str
    new: str
    test: str


def faults() -> list[Fault]:
    """Return all faults."""
    return [Fault(**entry) for entry in tomllib.loads(FAULTS.read_text())["fault"]]


def copy_tree(to: Path) -> None:
    """Copy all that the tests need, and nothing built or hidden."""
    left_out = shutil.ignore_patterns(
        "__pycache__", "*.pyc", ".venv", ".git", ".hypothesis", ".*_cache", "dist", "build"
    )
    shutil.copytree(ROOT, to, ignore=left_out)


def run(tree: Path, tests: list[str]) -> int:
    """Run tests in a copy of the tree; return pytest's exit code (1: a test failed)."""
    # cached bytecode could hide a fault that leaves a file's size and second as they were
    clean = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", "-x", "-m", "", *tests]
    quiet = subprocess.DEVNULL
    ran = subprocess.Popen(
        command, cwd=tree, env=clean, stdout=quiet, stderr=quiet, start_new_session=True
    )
    try:
        return ran.wait(LONGEST_S)
    except subprocess.TimeoutExpired:
        ran.send_signal(signal.SIGINT)  # lets the test stop a server that it started
        with contextlib.suppress(subprocess.TimeoutExpired):
            ran.wait(30)
        return 1
    finally:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(ran.pid, signal.SIGKILL)  # also what a test left behind
        ran.wait()


def seed(tree: Path, fault: Fault) -> str:
    """Seed one fault, run its test, take the fault out again; return what came of it."""
    path = tree / fault.file
    whole = path.read_text()
    if whole.count(fault.old) != 1:
        return "STALE"
    path.write_text(whole.replace(fault.old, fault.new))
    try:
        code = run(tree, [fault.test])
    finally:
        path.write_text(whole)
    return {0: "MISSED", 1: "caught"}.get(code, "BROKEN")


def main(wanted: list[str]) -> int:
    """Seed the faults named, or all; return 0 where each was caught."""
    chosen = [fault for fault in faults() if not wanted or fault.id in wanted]
    say = sys.stdout.write
    with tempfile.TemporaryDirectory(prefix="stockroom-faults-") as folder:
        tree = Path(folder) / "tree"
        copy_tree(tree)
        if run(tree, sorted({fault.test for fault in chosen})) != 0:
            say("The tests do not pass as they are; no fault was seeded.\n")
            return 1
        bad = 0
        for fault in chosen:
            began_s = time.monotonic()
            outcome = seed(tree, fault)
            bad += outcome != "caught"
            say(f"{outcome:7} {time.monotonic() - began_s:5.1f} s  {fault.id}\n")
            sys.stdout.flush()
    say(f"{len(chosen) - bad} of {len(chosen)} faults caught.\n")
    return 1 if bad or not chosen else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
