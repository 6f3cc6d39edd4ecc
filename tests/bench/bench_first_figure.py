"""How long until the first stored figure is painted, against a minimal app of the same library.

Run with: python -m pytest -m bench tests/bench/bench_first_figure.py -s
"""

import os
import pty
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

from seeds_demo.studio import DEMO_NOW_S, open_demo

ROOT = Path(__file__).parents[2]
MINIMAL = """
from textual.app import App
from textual.widgets import Static
class Minimal(App):
    def compose(self):
        yield Static("Salt flats")
Minimal().run()
"""
OURS = f"""
import sys
from pathlib import Path
path = Path(sys.argv[1])
def open_desk():
    from seeds_demo.studio import open_demo
    return open_demo(path)
def look():
    from stockroom.desk.glance import glance
    return glance(str(path), now_s=lambda: {DEMO_NOW_S})
from tui.app import run
run(open_desk, demo=True, glance=look if sys.argv[2] == "glance" else None)
"""


def seconds_until(code: str, words: list[str], wanted: bytes) -> float:
    """Start a program at a terminal of its own, and return when it had painted some text."""
    master, slave = pty.openpty()
    environment = {**os.environ, "TERM": "xterm-256color", "COLUMNS": "80", "LINES": "24"}
    start = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-c", code, *words],
        stdin=slave, stdout=slave, stderr=slave, cwd=ROOT, env=environment,
    )  # fmt: skip
    os.close(slave)
    seen = b""
    try:
        while wanted not in seen:
            seen += os.read(master, 65_536)
        return time.perf_counter() - start
    finally:
        process.kill()
        process.wait()
        os.close(master)


@pytest.mark.bench
def test_the_first_stored_figure_comes_soon(tmp_path: Path) -> None:
    path = tmp_path / "demo.stockroom"
    open_demo(path).close()
    minimal, glanced, answered = [], [], []
    for _ in range(5):
        minimal.append(seconds_until(MINIMAL, [], b"Salt flats"))
        glanced.append(seconds_until(OURS, [str(path), "glance"], b"Salt flats"))
        answered.append(seconds_until(OURS, [str(path), "none"], b"Fresh on the day"))
    base = statistics.median(minimal)
    first, full = statistics.median(glanced), statistics.median(answered)
    sys.stdout.write(
        f"\nminimal {base:.2f} s; first stored figure {first:.2f} s ({first / base:.1f} times); "
        f"first answer {full:.2f} s ({full / base:.1f} times)\n"
    )
    assert first < 2.5 * base
