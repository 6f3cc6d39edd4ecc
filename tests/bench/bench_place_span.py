"""How long a place's year of one-minute readings takes to be drawn, and to take its means.

Run with: python -m pytest -m bench tests/bench/bench_place_span.py -s
"""

import statistics
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from seeds_demo.studio import open_demo
from stockroom.core.climate.readings import Readings
from stockroom.core.climate.windows import window_table
from stockroom.desk.climate.views import MKT_ENERGIES_J_MOL, one_place
from tui.climate.lines import place_page

MINUTES = 525_600
ROUNDS = 7


def year(end_s: int) -> Readings:
    """A year by the minute: a compressor's swing, noise, ten doors a day, a gap, a warm spell."""
    t = end_s - MINUTES * 60 + np.arange(MINUTES) * 60
    temp = 4 + np.abs(t % 2400 - 1200) / 600 - 1
    temp += np.random.default_rng(1).normal(0, 0.1, MINUTES)
    for begin in range(200, MINUTES - 200, 144):
        temp[begin : begin + 10] += 6.0
    temp[300_000:302_000] = 15.0
    kept = np.ones(MINUTES, np.bool_)
    kept[100_000:101_000] = False
    return Readings.of(t[kept], temp[kept])


def seconds(work: Callable[[], object]) -> float:
    """The median of some runs, s."""
    taken = []
    for _ in range(ROUNDS):
        began_s = time.perf_counter()
        work()
        taken.append(time.perf_counter() - began_s)
    return statistics.median(taken)


@pytest.mark.bench
def test_a_year_by_the_minute(tmp_path: Path) -> None:
    desk = open_demo(tmp_path / "demo.stockroom")
    found = one_place(desk, "Cold store")
    desk.close()
    log = year(found.now_s)
    found = replace(found, log=log, step_s=60.0)
    whole = found.over("year", 0)
    turned_s = seconds(lambda: found.over("year", 0))
    drawn_s = {width: seconds(lambda w=width: place_page(whole, w)) for width in (76, 140)}
    means_s = seconds(lambda: window_table(log, found.now_s, MKT_ENERGIES_J_MOL))
    print(  # noqa: T201 - what a timing is for
        f"\n{len(log)} readings, {len(whole.stretch.doors)} short rises: span made ready in "
        f"{turned_s:.3f} s, drawn in {drawn_s[76]:.3f} s at 80 and {drawn_s[140]:.3f} s at 160 "
        f"columns, kinetic means in {means_s:.3f} s"
    )
    assert turned_s + max(drawn_s.values()) < 0.3
