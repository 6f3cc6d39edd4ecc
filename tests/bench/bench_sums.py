"""What comparing all rows with their sum costs: of one answer, and at fifty thousand units."""

import os
import resource
import sqlite3
import subprocess
import sys
import time
from pathlib import Path

import pytest
from support.databases import DATABASES, new_database

from seeds_demo.studio import open_demo
from stockroom.desk.session import Desk
from stockroom.store.view import sums_fault

pytestmark = pytest.mark.bench
ROOT = Path(__file__).parents[2]
UNITS, STAYS, MOVEMENTS, ACTS = 50_000, 150_000, 250_000, 200_000
"""A large shop after years."""
AGAIN = 20


def timed_s(desk: Desk) -> float:
    """Return the least CPU seconds of several comparisons."""
    least = float("inf")
    for _ in range(AGAIN):
        with desk.reading() as view:
            began = time.process_time()
            sums_fault(view.connection)
            least = min(least, time.process_time() - began)
    return least


def test_share_of_an_answer(tmp_path: Path) -> None:
    """The comparison against the whole process of `ok`, in CPU seconds."""
    path = tmp_path / "demo.stockroom"
    desk = open_demo(path)
    compared = timed_s(desk)
    desk.close()
    words = ["ok", "--job", "Salt flats", "--on", "2026-03-03", "--store", str(path)]
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    for _ in range(5):
        subprocess.run(
            [sys.executable, "-m", "stockroom", *words],
            cwd=ROOT, env=os.environ, capture_output=True, check=False,
        )  # fmt: skip
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    whole = (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) / 5
    share = compared / whole
    sys.stdout.write(f"compared in {compared * 1000:.1f} ms of {whole:.2f} s: {share:.2%}\n")


@pytest.mark.parametrize("database", DATABASES)
def test_fifty_thousand_units(
    database: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    if database == "sqlite":
        _large(str(tmp_path / "large.stockroom"))
        return
    with new_database(request.getfixturevalue("postgres")) as store:
        _large(store)


def _large(store: str) -> None:
    """Rows of the size that they have; what they hold is not looked at here."""
    desk = Desk.at(store, begin=True)
    if desk.engine.dialect.name == "sqlite":
        series = (
            "WITH RECURSIVE c(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM c WHERE i < {}) "
            "SELECT i FROM c"
        )
        with sqlite3.connect(store) as raw:  # it looks at no foreign keys
            for statement, n in _rows("lower(hex(randomblob(8)))", "0"):
                raw.execute(f"{statement} ({series.format(n)}) AS many")
        raw.close()
    else:
        with desk.engine.begin() as connection:
            connection.exec_driver_sql("SET LOCAL session_replication_role = replica")
            for statement, n in _rows("substr(md5(CAST(i AS VARCHAR)), 1, 16)", "false"):
                series = f"SELECT generate_series(1, {n}) AS i"
                connection.exec_driver_sql(f"{statement} ({series}) AS many")
    began = time.perf_counter()
    with desk.reading() as view:
        assert "not all" in sums_fault(view.connection)
    first = time.perf_counter() - began
    then, name = timed_s(desk), desk.engine.dialect.name
    sys.stdout.write(f"{name}: first {first:.2f} s, then {then:.2f} s CPU\n")
    desk.close()


def _rows(seal: str, no: str) -> list[tuple[str, int]]:
    code = "CAST(i AS VARCHAR)"
    return [
        (
            "INSERT INTO unit (last_act, seal, code, lot, form, place, width_dmm, length_dmm, "
            "remaining_dmm, count, plus_minus_dmm, factory_edges, state, condition, "
            "received_s, received_act, arrived_warm, cost_left_cents) "
            f"SELECT i, {seal}, {code}, '10101', 'roll', '10202', 12700, 500000, 500000, 1, 0, "
            f"0, 'in stock', 'sealed', 1772524800, i, {no}, 43200 FROM ",
            UNITS,
        ),
        (
            "INSERT INTO stay (last_act, seal, stay_key, unit, act, place, from_s) "
            f"SELECT i, {seal}, {code}, '10303', i, '10202', 1772524800 FROM ",
            STAYS,
        ),
        (
            "INSERT INTO movement (act, n, unit, lot, kind, qty, place_to, cost_cents, seal) "
            f"SELECT i, 0, '10303', '10101', 'used', 158750000, '10202', 43200, {seal} FROM ",
            MOVEMENTS,
        ),
        (
            "INSERT INTO act (seq, key, kind, occurred_s, recorded_s, actor, reason, ask, "
            "format, payload, prev, hash) "
            f"SELECT i, {code}, 'use', 1772524800, 1772524800, 'ines', '', {seal}, 1, "
            f"'{'x' * 300}', {seal}, {seal} FROM ",
            ACTS,
        ),
    ]
