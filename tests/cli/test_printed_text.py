"""Text that a terminal would obey never reaches one, whatever a restored backup or a file holds."""

import gzip
import json
import os
import pty
import tty
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from support.deeds import DEEDS, Doer, Seeded
from support.studio import MONDAY_S, Clock, furnish
from support.workers import fork
from support.workshop import fit_out

from stockroom.cli import base, run
from stockroom.core.books.chain import GENESIS, Act, act_hash, seal
from stockroom.core.records import Import, Job, Material, Place, Unit
from stockroom.desk import keeping
from stockroom.desk.lookup import everything
from stockroom.desk.session import Desk

EVIL = "\x1b]0;x\x07\x1b[31m\x9b2J\u202e\u2066\u200b\u2028\x7f\r"
"""Escapes of both kinds, a bell, what turns writing around or hides, what ends a line."""
FREE = frozenset(
    {"actor", "cause", "client_ref", "file", "instrument", "key", "name", "number", "reason",
     "source", "supplier", "what", "why", "work"}
)  # fmt: skip
"""Fields of acts that hold what a person wrote."""


def obeyed(said: bytes) -> set[str]:
    """What of a program's output a terminal would obey, or be misled by."""
    text = said.decode()
    return {c for c in text if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")} - {"\n"}


def poisoned(value: Any, field: str = "") -> Any:
    """The payload of an act with escapes behind all that a person wrote, and in all codes."""
    if isinstance(value, dict):
        return {name: poisoned(item, name) for name, item in value.items()}
    if isinstance(value, list):
        return [poisoned(item, field) for item in value]
    return value + EVIL if isinstance(value, str) and field in FREE else value


@dataclass(frozen=True)
class Restored:
    """A store restored from a backup full of escapes, and some codes in it."""

    path: Path
    backup: Path
    codes: dict[type, list[str]]

    def first(self, record: type) -> str:
        return self.codes[record][0]


@pytest.fixture(scope="module")
def restored(tmp_path_factory: pytest.TempPathFactory) -> Restored:
    """Everything done once, backed up, poisoned, bound into a chain anew, and restored."""
    folder = tmp_path_factory.mktemp("poisoned")
    clock = Clock(MONDAY_S)
    desk = Desk.at(str(folder / "s.stockroom"), begin=True, zone="UTC", now_s=clock)
    shop = fit_out(furnish(desk))
    shop.book()
    doer = Doer(desk, clock, Seeded(4), "x")
    for kind in DEEDS:
        doer.tries(kind)
    keeping.make_backup(desk, folder / "plain.backup")
    desk.close()
    lines = [
        json.loads(x) for x in gzip.decompress((folder / "plain.backup").read_bytes()).splitlines()
    ]
    last = GENESIS
    for line in lines:
        if "act" in line:
            line["act"] = poisoned(line["act"])
            last = act_hash(last, Act(**line["act"]))
        if "file" in line:
            line["file"]["name"] += EVIL
    job = next(
        line["act"]["payload"] for line in lines if line.get("act", {}).get("kind") == "book"
    )
    plain = {"job": job["code"], "reference": f"A client{EVIL}"}
    lines.append({"client": {**plain, "seal": seal("client", plain)}})
    lines[0] |= {"head": last, "clients": 1, "currency": f"EUR{EVIL}"}
    backup = folder / "evil.backup"
    backup.write_bytes(
        gzip.compress("".join(json.dumps(x) + "\n" for x in lines).encode(), mtime=0)
    )
    path = folder / "evil.stockroom"
    keeping.restore_backup(backup, str(path))
    desk = Desk.at(str(path), now_s=clock)
    with desk.reading() as view:
        kinds = (Import, Job, Material, Place, Unit)
        codes = {record: [item.key for item in everything(view, record)] for record in kinds}
        assert all(EVIL in item.name for item in everything(view, Material))
    desk.close()
    return Restored(path, backup, codes)


def listings(of: Restored) -> Iterator[list[str]]:
    """Every command that only tells, as a person would give it."""
    material, place, job = (of.first(record) for record in (Material, Place, Job))
    yield from (
        ["today"], ["offcuts"], ["labels", "-"], ["calendar", "-", "--days", "300"],
        ["check"], ["where"], ["excursion"], ["worth"], ["needs"], ["cost", job],
        ["spoilage", "--month", "2026-03"], ["undo", "--list"], ["order", "list"],
        ["order", "list", "--csv"], ["order", "list", "--text"], ["orders", "plan"],
        ["orders", "plan", "--csv"], ["orders", "plan", "--text"], ["supply", material],
        ["material", "list"], ["material", "care", material], ["place", "list"],
        ["place", "show", place], ["place", "mkt", place], ["unit", "list"], ["readings", "list"],
        ["build", "list"], ["job", "list"], ["job", "show", job], ["cuts", "list"],
        ["cuts", "plan"], ["cuts", "rolls"], ["cuts", "bars"],
        ["warm-table", material, "--show"], ["ok", "--job", job],
        ["offcut", "find", "100x100", "--material", material],
    )  # fmt: skip
    for code in of.codes[Unit][:3]:
        yield ["unit", "show", code]
        yield ["trace", code]


def wrong(of: Restored) -> Iterator[list[str]]:
    """Commands that are refused, the words given full of escapes, or what they name."""
    yield ["unit", "show", f"1{EVIL}"]
    yield [f"today{EVIL}"]
    yield ["today", f"--wrong{EVIL}"]
    yield ["use", of.first(Unit), f"{EVIL}m"]
    yield ["readings", "look", f"{EVIL}.csv"]
    yield ["ok", "--day", EVIL]
    yield ["restore", f"{EVIL}.backup"]
    yield ["hold", of.first(Unit), f"why{EVIL}", "--key", f"k{EVIL}"]


def at_a_terminal(commands: Sequence[Sequence[str]]) -> list[tuple[int, bytes]]:
    """Run commands at a terminal of their own, one after the other; return what each wrote."""
    master, slave = pty.openpty()
    tty.setraw(slave)  # so that no line end is changed on the way

    def work(say: Callable[[str], None]) -> None:
        os.close(master)
        for target in (0, 1, 2):
            os.dup2(slave, target)
        import sys

        sys.stdout = open(1, "w", closefd=False)  # noqa: SIM115 - the terminal itself
        sys.stderr = open(2, "w", closefd=False)  # noqa: SIM115
        for words in commands:
            code = run(words)
            sys.stdout.flush()
            sys.stderr.flush()
            os.write(1, f"\0{code}\0".encode())

    worker = fork(work)
    os.close(slave)
    seen = bytearray()
    try:
        while part := os.read(master, 65_536):
            seen += part
    except OSError:
        pass  # a terminal whose last program has ended
    os.close(master)
    worker.end()
    parts = bytes(seen).split(b"\0")
    return [(int(code), said) for said, code in zip(parts[::2], parts[1::2], strict=False)]


@pytest.mark.parametrize("as_json", [False, True], ids=["lines", "json"])
def test_no_listing_lets_an_escape_through_to_a_terminal(restored: Restored, as_json: bool) -> None:
    """All that only tells, on books whose every text is full of escapes."""
    more = ["--store", str(restored.path), "--on", "2026-03-03", *(["--json"] if as_json else [])]
    commands = [[*words, *more] for words in listings(restored)]
    told = at_a_terminal(commands)
    assert len(told) == len(commands)
    through = [
        (words[:3], found)
        for words, (code, said) in zip(commands, told, strict=True)
        if (
            found := obeyed(said.replace(b"\r\n", b"\n"))
            if said.startswith(b"BEGIN:V") or "--csv" in words
            else obeyed(said)
        )
    ]
    assert not through
    failed = [words[:3] for words, (code, said) in zip(commands, told, strict=True)
              if code not in (0, 1) or b"did not foresee" in said]  # fmt: skip
    assert not failed
    assert sum(b"\xef\xbf\xbd" in said or b"\\u001b" in said for _, said in told) > 20


def test_no_refusal_lets_an_escape_through_to_a_terminal(restored: Restored) -> None:
    """Errors and wrong usage repeat what was typed, cleaned."""
    commands = [[*words, "--store", str(restored.path)] for words in wrong(restored)]
    told = at_a_terminal(commands)
    assert [words[0] for words, (code, _) in zip(commands, told, strict=True) if not code] == []
    assert not [words for words, (_, said) in zip(commands, told, strict=True) if obeyed(said)]


def test_json_holds_the_same_value_with_what_a_terminal_obeys_escaped(
    restored: Restored, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["material", "list", "--json", "--store", str(restored.path)]) == 0
    said = capsys.readouterr().out
    assert not obeyed(said.encode())
    desk = Desk.at(str(restored.path), now_s=Clock(MONDAY_S))
    with desk.reading() as view:
        names = {item.name for item in everything(view, Material)}
    desk.close()
    assert {item["name"] for item in json.loads(said)["materials"]} == names
    assert any(EVIL in name for name in names)


def test_nothing_is_written_but_through_the_one_gate() -> None:
    """No command writes by itself: only the module with the gate does."""
    for path in Path(base.__file__).parent.glob("*.py"):
        if path.name != "base.py":
            assert "echo(" not in path.read_text(), path.name
            assert "print(" not in path.read_text().replace("def print(", ""), path.name


@pytest.mark.parametrize(
    "words", [["calendar"], ["orders", "plan", "--ics"], ["labels"], ["day-sheet"]]
)
def test_papers_hold_no_escapes(restored: Restored, tmp_path: Path, words: list[str]) -> None:
    """Calendars are text that other programs print; text in a PDF is that of its pages."""
    from pypdf import PdfReader

    to = tmp_path / "paper"
    assert run([*words, str(to), "--store", str(restored.path), "--on", "2026-03-03"]) == 0
    if words[-1] in ("calendar", "--ics"):
        assert not obeyed(to.read_bytes().replace(b"\r\n", b"\n"))
    else:
        text = "".join(page.extract_text() for page in PdfReader(to).pages)
        assert not obeyed(text.encode())
