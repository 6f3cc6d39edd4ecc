"""Ages by look-up against slices of a sorted pandas index, and today on ten thousand rolls.

Run with: python -m pytest -m bench tests/bench/bench_ages.py -s
"""

import sys
import time

import numpy as np
import pandas as pd
import pytest
from support.large import NOW_S, PLACES, furnish, trace
from support.studio import DAY_S, Clock

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.readings import Readings, gap_s, step_s
from stockroom.core.climate.sums import Sums, Track
from stockroom.core.constants import BRIDGE_DIFFERENCE, BRIDGE_LONGEST
from stockroom.desk.stock import handling
from stockroom.desk.day import today
from stockroom.desk.session import Desk

UNITS, STAYS, PEER_STAYS = 10_000, 5, 500
YEARS, STEP_S = 5, 60
BEGIN_S, END_S = NOW_S - YEARS * 365 * DAY_S, NOW_S - 1800
LABEL_C, ENERGY = 10.0, 85_000.0


class Peer:
    """One stay at a time: the slice of a sorted index, the rule on what it gives."""

    def __init__(self, log: Readings, set_c: float) -> None:
        index = pd.DatetimeIndex(log.t_s.astype("datetime64[s]"))
        self.temp_c = pd.Series(log.temp_c, index=index)
        self.set_c = set_c
        self.gap_s = gap_s(step_s(log))

    def used(self, from_s: float, to_s: float) -> float:
        """Return the life used over one stay; between two readings at either end."""
        ends = [pd.Timestamp(int(at), unit="s") for at in (from_s, to_s)]
        first = self.temp_c.index.searchsorted(ends[0])
        last = self.temp_c.index.searchsorted(ends[1], "right")
        around = self.temp_c.iloc[max(0, first - 1) : last + 1]
        t = around.index.to_numpy().astype("datetime64[s]").astype("int64").astype(float)
        temp = around.to_numpy()
        knot_s, knot_c = t.copy(), temp.copy()
        knot_s[0], knot_s[-1] = from_s, to_s
        knot_c[0] = np.interp(from_s, t[:2], temp[:2])
        knot_c[-1] = np.interp(to_s, t[-2:], temp[-2:])
        k = rate(knot_c, LABEL_C, ENERGY)
        length_s, step = np.diff(knot_s), np.diff(t)
        life = (k[:-1] + k[1:]) / 2 * length_s
        gap = step > self.gap_s
        near = (step <= BRIDGE_LONGEST.value) & (np.abs(np.diff(temp)) <= BRIDGE_DIFFERENCE.value)
        growth = np.log(k[1:] / k[:-1])
        with np.errstate(invalid="ignore", divide="ignore"):
            bridged = np.where(growth == 0, k[:-1], (k[1:] - k[:-1]) / growth) * length_s
        life = np.where(gap & near, bridged, life)
        life = np.where(gap & ~near, rate(self.set_c, LABEL_C, ENERGY) * length_s, life)
        return float(life.sum()) / DAY_S


@pytest.mark.bench
def test_ages_of_ten_thousand_units() -> None:
    """50,000 stays in six places over five years of minutes, against 500 of them sliced."""
    chance = np.random.default_rng(1)
    logs = [trace(set_c, BEGIN_S, END_S, STEP_S, n) for n, (_, _, set_c) in enumerate(PLACES)]
    place = chance.integers(0, len(PLACES), UNITS * STAYS)
    cuts = np.sort(chance.uniform(BEGIN_S + DAY_S, END_S - DAY_S, (UNITS, STAYS + 1)), axis=1)
    from_s, to_s = np.floor(cuts[:, :-1]).ravel(), np.floor(cuts[:, 1:]).ravel()

    start = time.perf_counter()
    sums = []
    for log, (_, _, set_c) in zip(logs, PLACES, strict=True):
        course = believed(log, BEGIN_S, END_S, PlaceClimate(set_c), usual=STEP_S)
        sums.append(Sums(Track(course), LABEL_C, ENERGY))
    build_s = time.perf_counter() - start

    took = []
    for _ in range(3):
        start = time.perf_counter()
        used = np.empty(UNITS * STAYS)
        for number, running in enumerate(sums):
            here = np.flatnonzero(place == number)
            used[here] = running.used(from_s[here], to_s[here])
        took.append(time.perf_counter() - start)
    ours_s = min(took) / len(used)

    peers = [Peer(log, set_c) for log, (_, _, set_c) in zip(logs, PLACES, strict=True)]
    some = chance.choice(UNITS * STAYS, PEER_STAYS, replace=False)
    start = time.perf_counter()
    sliced = np.array([peers[place[at]].used(from_s[at], to_s[at]) for at in some])
    peer_s = (time.perf_counter() - start) / PEER_STAYS

    apart = float(np.abs(used[some] / sliced - 1).max())
    sys.stdout.write(
        f"\n{UNITS * STAYS} stays, {sum(map(len, logs))} readings, build {build_s:.2f} s once\n"
        f"look-up {ours_s * 1e6:.2f} us a stay; pandas slice {peer_s * 1e3:.2f} ms a stay: "
        f"{peer_s / ours_s:.0f} times; worst relative difference {apart:.1e}\n"
    )
    assert apart <= 1e-9
    assert peer_s / ours_s >= 2_000


@pytest.mark.bench
def test_today_on_ten_thousand_rolls(tmp_path) -> None:  # type: ignore[no-untyped-def]
    """Five years of minutes in six places, thirty prints booked: cold, warm, after an act."""
    clock = Clock(NOW_S)
    desk = Desk.at(str(tmp_path / "large.stockroom"), begin=True, now_s=clock)
    large = furnish(desk, clock, rolls=UNITS, stays=STAYS, years=YEARS, step_s=STEP_S, jobs=30)
    desk.close()
    desk = Desk.at(str(tmp_path / "large.stockroom"), now_s=clock)
    took = {}

    def timed(what: str) -> None:
        start = time.perf_counter()
        found = today(desk)
        took[what] = time.perf_counter() - start
        assert len(found.prints) == 30
        assert found.units_in_stock == UNITS

    timed("cold")
    timed("unchanged")
    handling.move(desk, [large.rolls[17]], "Mounting room")
    timed("after a move")
    clock.on(seconds=3600)
    timed("an hour later")
    timed("unchanged again")
    figures = "; ".join(f"{what} {seconds:.2f} s" for what, seconds in took.items())
    sys.stdout.write(f"\n{figures}\n")
    assert took["unchanged"] <= 1.0
    assert took["after a move"] <= 1.0
    desk.close()
