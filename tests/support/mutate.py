"""Seed faults one at a time into a copy of the tree, and see that the test meant for each fails.

Run from the root of the tree, for all faults or for those named:

    .venv/bin/python tests/support/mutate.py
    .venv/bin/python tests/support/mutate.py "undo forgets what moved"

A fault holds on to the function, class or constant it lies within, wherever that stands, and to
what changes in it, however that is laid out. `--fit` only sees whether all of them still fit.
"""

import ast
import contextlib
import os
import re
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


WHERE = ("stockroom", "tui", "seeds_demo", "tests/support")
"""Where faults are seeded."""


@dataclass(frozen=True)
class Fault:
    """A fault to seed: within what, what stands there, what is put there, the test that must fail.

    `within` is a qualified name, such as `Head.count`. The test is told by its name alone, or with
    its file's where two have one name.
    """

    id: str
    within: str
    old: str
    new: str
    test: str


@dataclass(frozen=True)
class Spot:
    """Where a fault goes: a file, and from which of its characters to which."""

    path: Path
    start: int
    end: int

    def put(self, new: str) -> str:
        """Put other text there; return all that the file held before."""
        whole = self.path.read_text()
        self.path.write_text(whole[: self.start] + new.strip() + whole[self.end :])
        return whole


class Code:
    """A tree's functions, classes and constants by qualified name, and its tests by name."""

    def __init__(self, tree: Path) -> None:
        self.tree = tree
        self.named: dict[str, list[tuple[Path, int, int]]] = {}
        self.tests: dict[str, list[str]] = {}
        for folder in WHERE:
            for path in (tree / folder).rglob("*.py"):
                self._note(path, ast.parse(path.read_text()), "")
        for path in (tree / "tests").rglob("test_*.py"):
            told = path.relative_to(tree)
            for name in re.findall(r"^(?:async )?def (test_\w+)\(", path.read_text(), re.M):
                for called in (name, f"{path.stem}::{name}"):
                    self.tests.setdefault(called, []).append(f"{told}::{name}")

    def _note(self, path: Path, node: ast.AST, outer: str) -> None:
        for child in ast.iter_child_nodes(node):
            inner = outer
            if isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
                first = min([child.lineno, *(one.lineno for one in child.decorator_list)])
                self._keep(f"{outer}{child.name}", path, first, child)
                inner = f"{outer}{child.name}."
            elif isinstance(child, ast.Assign | ast.AnnAssign):
                target = child.targets[0] if isinstance(child, ast.Assign) else child.target
                for named in [one for one in ast.walk(target) if isinstance(one, ast.Name)][:1]:
                    self._keep(f"{outer}{named.id}", path, child.lineno, child)
            self._note(path, child, inner)

    def _keep(self, name: str, path: Path, first: int, node: ast.stmt) -> None:
        self.named.setdefault(name, []).append((path, first, node.end_lineno or first))

    def spot(self, fault: Fault) -> Spot:
        """Return where a fault goes.

        Raises
        ------
        LookupError
            Where what it changes stands nowhere within its function, or more than once.
        """
        found = [
            spot
            for path, first, last in self.named.get(fault.within, [])
            for spot in _spots(path, first, last, "".join(fault.old.split()))
        ]
        if len(found) != 1:
            raise LookupError(f"{len(found)} places within {fault.within} of {fault.id!r}")
        return found[0]

    def test(self, fault: Fault) -> str:
        """Return the test of a fault as pytest is told it.

        Raises
        ------
        LookupError
            Where there is no such test, or two.
        """
        name, bracket, case = fault.test.partition("[")
        found = self.tests.get(name, [])
        if len(found) != 1:
            raise LookupError(f"{len(found)} tests called {name}, for {fault.id!r}")
        return f"{found[0]}{bracket}{case}"


def _spots(path: Path, first: int, last: int, wanted: str) -> list[Spot]:
    """Where a text stands between two lines of a file, whatever its blanks and line ends."""
    lines = path.read_text().splitlines(keepends=True)
    begins = len("".join(lines[: first - 1]))
    part = "".join(lines[first - 1 : last])
    inked = [at for at, letter in enumerate(part) if not letter.isspace()]
    text = "".join(part[at] for at in inked)
    found = re.finditer(re.escape(wanted), text)
    return [
        Spot(path, begins + inked[hit.start()], begins + inked[hit.end() - 1] + 1) for hit in found
    ]


def faults() -> list[Fault]:
    """Return all faults."""
    return [Fault(**entry) for entry in tomllib.loads(FAULTS.read_text())["fault"]]


def misfits(code: Code, chosen: list[Fault]) -> list[str]:
    """Return what hinders faults from being seeded, a line for each."""
    said = []
    for fault in chosen:
        for find in (code.spot, code.test):
            try:
                find(fault)
            except LookupError as error:
                said.append(str(error))
    return said


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


def seed(code: Code, fault: Fault) -> str:
    """Seed one fault, run its test, take the fault out again; return what came of it."""
    spot = code.spot(fault)
    whole = spot.put(fault.new)
    try:
        came_of_it = run(code.tree, [code.test(fault)])
    finally:
        spot.path.write_text(whole)
    return {0: "MISSED", 1: "caught"}.get(came_of_it, "BROKEN")


def main(wanted: list[str]) -> int:
    """Seed the faults named, or all; return 0 where each was caught."""
    names = [name for name in wanted if name != "--fit"]
    chosen = [fault for fault in faults() if not names or fault.id in names]
    say = sys.stdout.write
    stale = misfits(Code(ROOT), chosen)
    if stale or "--fit" in wanted:
        say("".join(f"{line}\n" for line in stale))
        say(f"{len(chosen)} faults looked at; {len(stale)} things do not fit.\n")
        return 1 if stale else 0
    with tempfile.TemporaryDirectory(prefix="stockroom-faults-") as folder:
        tree = Path(folder) / "tree"
        copy_tree(tree)
        code = Code(tree)
        if run(tree, sorted({code.test(fault) for fault in chosen})) != 0:
            say("The tests do not pass as they are; no fault was seeded.\n")
            return 1
        bad = 0
        for fault in chosen:
            began_s = time.monotonic()
            outcome = seed(code, fault)
            bad += outcome != "caught"
            say(f"{outcome:7} {time.monotonic() - began_s:5.1f} s  {fault.id}\n")
            sys.stdout.flush()
    say(f"{len(chosen) - bad} of {len(chosen)} faults caught.\n")
    return 1 if bad or not chosen else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
