"""A studio larger than any: ten thousand rolls, six places, five years of one-minute logs."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import numpy as np

from stockroom.core.climate.readings import Readings
from stockroom.desk.stock import defining, handling, receiving
from stockroom.desk.work import booking
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Decision, Desk
from stockroom.store import blocks
from support.studio import DAY_S, Clock, code_of

NOW_S = int(datetime(2026, 3, 2, 9, 5, tzinfo=UTC).timestamp())
PLACES = (
    ("Cold store", "cold store", 4.0), ("Small cold store", "cold store", 8.0),
    ("Freezer", "cold store", -18.0), ("Mounting room", "room", 21.0),
    ("Printer magazine", "magazine", 22.0), ("Paper room", "room", 16.0),
)  # fmt: skip


@dataclass(frozen=True)
class Large:
    """The desk, its clock, and what stands there."""

    desk: Desk
    clock: Clock
    places: list[str]
    papers: list[str]
    rolls: list[str]


def trace(set_c: float, from_s: int, to_s: int, step_s: int, seed: int) -> Readings:
    """Return a place's readings: compressor, day and year, short rises, weekends warm, drop-outs.

    In steps of 0.1 °C; one reading in a thousand is missing, and some hours or days are.
    """
    chance = np.random.default_rng(seed)
    t = np.arange(from_s, to_s, step_s, dtype=np.int64)
    n = len(t)
    year = 0.4 * np.sin(2 * np.pi * (t - from_s) / (365 * DAY_S))
    temp = set_c + 0.6 * (((t // 60) % 25) / 12.5 - 1) + 0.2 * np.sin(2 * np.pi * t / DAY_S) + year
    for at in chance.integers(0, n, n * step_s // (3 * DAY_S)):  # a door, every three days
        temp[at : at + 900 // step_s] += chance.uniform(2, 6)
    for at in chance.integers(0, n, n * step_s // (120 * DAY_S)):  # a warm weekend, thrice a year
        temp[at : at + 40 * 3600 // step_s] += chance.uniform(4, 10)
    keep = chance.random(n) > 0.001
    for at in chance.integers(0, n, n * step_s // (90 * DAY_S)):
        keep[at : at + int(chance.uniform(1, 40) * 3600) // step_s] = False
    return Readings.of(t[keep], np.round(temp[keep], 1))


def take_in(desk: Desk, place: str, readings: Readings, name: str) -> None:
    """Take readings in as one act, as a logger file's are."""

    def build(decision: Decision) -> dict[str, Any]:
        code = decision.head.born()
        rows = blocks.blocks_of(readings, place, code)
        blocks.write_source(decision.head, name, name, b"")
        blocks.write_blocks(decision.head, rows)
        return {
            "import": {
                "code": code, "place": place, "name": name, "sha256": name,
                "readings": len(readings), "from_s": int(readings.t_s[0]),
                "to_s": int(readings.t_s[-1]),
            },
            "understood": {},
            "blocks": {row["month"]: row["sha256"] for row in rows},
        }  # fmt: skip

    desk.act("readings", {"place": place, "sha256": name}, build, key=name)


def furnish(
    desk: Desk, clock: Clock, *, rolls: int, stays: int, years: float, step_s: int, jobs: int
) -> Large:
    """Fill an empty store; the clock ends at `NOW_S`."""
    chance = np.random.default_rng(7)
    span_s = int(years * 365 * DAY_S)
    begin_s = NOW_S - span_s
    clock.now_s = begin_s - DAY_S
    places = [
        code_of(
            defining.define_place(
                desk, name, kind, set_point_centi_c=int(set_c * 100),
                high_centi_c=int(set_c * 100) + 400,
            ),
            "place",
        )
        for name, kind, set_c in PLACES
    ]  # fmt: skip
    papers = []
    for number in range(40):
        made = defining.define_material(
            desk, f"Satin colour paper {number:02d}", "paper", "roll", width_dmm=12_700,
            length_dmm=500_000, thickness_um=240, label_temp_centi_c=1000 + 100 * (number % 3),
            supplier="Northlight Papers", lead_days=21,
        )  # fmt: skip
        papers.append(code_of(made, "material"))
    acts: list[tuple[int, str, Any]] = []
    batch = 50
    codes: list[str] = []
    for number in range(rolls // batch):
        came_s = int(begin_s + chance.uniform(0, 0.6) * span_s)
        acts.append((came_s, "came", number))
        for at_s in np.sort(chance.uniform(came_s + 3600, NOW_S - 3600, stays - 1)).tolist():
            acts.append((int(at_s), "move", number))
    delivered: dict[int, list[str]] = {}
    for at_s, what, number in sorted(acts):
        clock.now_s = at_s
        if what == "came":
            done = receiving.receive(
                desk,
                Delivery(
                    material=papers[number % len(papers)], place=places[number % 3], units=batch,
                    number=f"E-{number}", label_date=date(2030, 1, 1) + timedelta(days=number),
                ),
            )  # fmt: skip
            delivered[number] = [t.key for t in done.changes.touches if t.kind == "unit"]
            codes += delivered[number]
        else:
            handling.move(desk, delivered[number], places[int(chance.integers(len(places)))])
    clock.now_s = NOW_S
    for index, (_, _, set_c) in enumerate(PLACES):
        log = trace(set_c, begin_s, NOW_S - 1800, step_s, index)
        years_of = np.array_split(np.arange(len(log)), max(1, round(years)))
        for part, some in enumerate(years_of):
            cut = slice(int(some[0]), int(some[-1]) + 1)
            take_in(
                desk, places[index],
                Readings(log.t_s[cut], log.temp_c[cut], log.rh_pct[cut], log.flag[cut]),
                f"log-{index}-{part}",
            )  # fmt: skip
    today = desk.today()
    for number in range(jobs):
        booking.book(
            desk, f"Print {number:02d}", 15_000, 12_000, today + timedelta(days=1 + number % 20),
            papers[number % len(papers)],
        )  # fmt: skip
    return Large(desk, clock, places, papers, codes)
