"""A machine whose clock is behind another's acts tells what stands, without a surprise."""

import re
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from support.deeds import DEEDS, Doer, Seeded
from support.studio import DAY_S, MONDAY_S, Clock, furnish
from support.workshop import fit_out

from stockroom import clock
from stockroom.cli import run
from stockroom.core.records import Job, Material, Place, Unit
from stockroom.desk.lookup import everything
from stockroom.desk.session import Desk

BEHIND_S = 365 * DAY_S
BACKWARDS = re.compile(r"(?<![\w.\d])-\d+(?:\.\d+)? (?:days?|h|min|s|months?)\b")


@pytest.fixture(scope="module")
def worked(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[list[str]]]:
    """A store in which something of every kind was done, and all that tells of it."""
    path = tmp_path_factory.mktemp("ahead") / "studio.stockroom"
    now = Clock(MONDAY_S)
    desk = Desk.at(str(path), begin=True, zone="UTC", now_s=now)
    fit_out(furnish(desk)).book()
    doer = Doer(desk, now, Seeded(4), "x")
    for kind in DEEDS:
        doer.tries(kind)
    with desk.reading() as view:
        codes = {
            of: [one.key for one in everything(view, of)] for of in (Job, Material, Place, Unit)
        }
    desk.close()
    return path, list(_telling(codes))


def _telling(codes: dict[type, list[str]]) -> Iterator[list[str]]:
    yield from (
        ["today"], ["offcuts"], ["check"], ["excursion"], ["worth"], ["needs"], ["order", "list"],
        ["orders", "plan"], ["undo", "--list"], ["readings", "list"], ["job", "list"],
        ["cuts", "plan"], ["spoilage"], ["unit", "list"], ["material", "list"], ["place", "list"],
    )  # fmt: skip
    yield from (["unit", "show", code] for code in codes[Unit])
    yield from (["place", "show", code] for code in codes[Place])
    yield from (["cost", code] for code in codes[Job][:1])
    yield from (["supply", code] for code in codes[Material][:2])


def test_a_clock_behind_the_last_act_tells_all_without_a_surprise(
    worked: tuple[Path, list[list[str]]], monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    """No crash, and no stretch of time runs backwards."""
    path, telling = worked
    connection = sqlite3.connect(path)
    (last_s,) = connection.execute("SELECT max(recorded_s) FROM act").fetchone()
    connection.close()
    monkeypatch.setattr(clock, "now_s", lambda: last_s - BEHIND_S)
    for words in telling:
        code = run([*words, "--store", str(path)])
        out, err = capsys.readouterr()
        assert code in (0, 1), (words, err)
        assert not BACKWARDS.search(out), (words, out)
