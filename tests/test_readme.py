"""The README tells the truth: its screen is the golden one, its examples print what they say."""

import re
import shlex
from pathlib import Path

import pytest

from stockroom.cli import run
from tui import main as composed

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
BLOCKS = re.findall(r"```console\n(.*?)```", README, re.DOTALL)


def steps() -> list[tuple[str, str]]:
    """Each command with the output the README gives it."""
    found = []
    for block in BLOCKS:
        for part in block.split("$ ")[1:]:
            command, _, output = part.partition("\n")
            found.append((command, output))
    return found


def test_examples_print_what_they_say(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert composed.app is not None
    assert len(steps()) >= 7
    for command, expected in steps():
        words = shlex.split(command)
        assert words[0] == "stockroom"
        run(words[1:])
        assert capsys.readouterr().out.strip() == expected.strip(), command


def test_the_screen_is_the_golden_one() -> None:
    golden = (ROOT / "tests" / "tui" / "goldens" / "today_80x24.txt").read_text(encoding="utf-8")
    assert golden.strip("\n") in README


def test_the_job_comes_first_in_one_paragraph() -> None:
    first = README.split("\n\n")[1]
    assert first.startswith("A fine-art print finisher makes large photographs")
