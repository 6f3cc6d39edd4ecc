"""A studio's year drawn by chance, for trying ways of ordering on: our own, nobody's books.

Seven materials; three jobs a week; losses, deliveries, lives and warm spells as the yardstick's
protocol in DEVELOPERS.md tells them. Each stream of chance has a generator of its own, so that a
change of one (lives shorter, minimums larger) leaves the others as they are.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from stockroom.core.supply.engine import Attempts, Course
from stockroom.core.supply.state import Held, Losses, Ware, Work

WARES = (
    Ware("paper 127", 30.0, 640.0, 120.0, minimum=2, remnant=0.9, contiguous=True),
    Ware("paper 183", 30.0, 920.0, 120.0, minimum=2, remnant=0.9, contiguous=True),
    Ware("special 127", 15.0, 560.0, 180.0, minimum=2, remnant=0.9, contiguous=True),
    Ware("film 130", 50.0, 480.0, 100.0, minimum=2, remnant=0.9, contiguous=True),
    Ware("film 185", 50.0, 690.0, 100.0, minimum=2, remnant=0.9, contiguous=True),
    Ware("acrylic", 1.0, 240.0, 150.0, minimum=6, multiple=6),
    Ware("board", 1.0, 70.0, 90.0, minimum=10, multiple=10),
)
LEAD_MEANS = (37.0, 37.0, 55.0, 21.0, 21.0, 18.0, 6.5)
LEAD_SPREAD = 0.25
"""Standard deviation of a lead time as a part of its mean."""
LIVES = ((210.0, 420.0), (210.0, 420.0), (150.0, 330.0), (240.0, 480.0), (240.0, 480.0), None, None)
JOBS_PER_DAY = 3 / 7
MOST_PIECES = 12
AREA_M2 = (0.5, 4.5)
ASPECT = 1.4
URGENT = 0.2
DEFECTS_PER_M2, MOUNT_GOOD = 0.11, 0.90
WIDE_FROM_M2 = 2.0
SPECIAL = 0.25
SHEET_M2 = 6.2 * 0.9
MARGIN_M = 0.05
WORK_DAYS = 9
"""Days before the due day on which work begins, or at once where a job is known later."""
HISTORY_DAYS, DAYS, COUNTED_FROM, COUNTED_TO = 365, 530, 60, 460
TRIES = 48


@dataclass(frozen=True, slots=True)
class Family:
    """What is changed of the year: lives and minimums by a factor."""

    life: float = 1.0
    minimum: int = 1


def a_course(seed: int, family: Family | None = None) -> Course:
    """Return the course of one seed."""
    family = family or Family()
    streams = [np.random.default_rng([seed, number]) for number in range(6)]
    leads, lives, warm, stock_by, jobs_by, tries_by = streams
    wares = []
    lead_days, life_days = {}, {}
    for ware, mean, life in zip(WARES, LEAD_MEANS, LIVES, strict=True):
        shape = LEAD_SPREAD**-2
        drawn = np.maximum(1, np.rint(leads.gamma(shape, mean / shape, DAYS + 8))).astype(int)
        lead_days[ware.code] = tuple(drawn[8:].tolist())
        past_lives: tuple[float, ...] = ()
        all_lives = lives.uniform(*(life or (1, 2)), DAYS + 8) * family.life
        if life is not None:
            life_days[ware.code] = tuple(all_lives[8:].tolist())
            past_lives = tuple(all_lives[:8].tolist())
        wares.append(
            replace(
                ware,
                minimum=ware.minimum * family.minimum,
                multiple=ware.multiple * (family.minimum if ware.multiple > 1 else 1),
                lead_days=tuple(float(day) for day in drawn[:8]),
                life_days=past_lives,
            )
        )
    jobs = _jobs(jobs_by)
    attempts = {job.code: _attempts(job, tries_by) for job in jobs}
    return Course(
        wares=tuple(wares),
        days=DAYS,
        counted_from=COUNTED_FROM,
        counted_to=COUNTED_TO,
        jobs=jobs,
        attempts=attempts,
        lead_days=lead_days,
        life_days=life_days,
        warm=_warm(warm),
        ages_warm=frozenset(ware.code for ware in WARES if ware.code.startswith(("paper", "spec"))),
        stock=_stock(stock_by, family),
        losses=_counted(jobs, attempts),
        history_days=float(HISTORY_DAYS),
        history_warm=sum(_warm(warm, HISTORY_DAYS).values()),
    )


def _jobs(rng: np.random.Generator) -> tuple[Work, ...]:
    found = []
    weights = 1 / np.arange(1, MOST_PIECES + 1)
    day = float(-HISTORY_DAYS)
    number = 0
    while True:
        day += rng.exponential(1 / JOBS_PER_DAY)
        known = math.floor(day)
        if known >= DAYS:
            return tuple(found)
        number += 1
        notice = rng.integers(3, 9) if rng.random() < URGENT else rng.integers(10, 43)
        pieces = 1 + int(rng.choice(MOST_PIECES, p=weights / weights.sum()))
        area = float(np.exp(rng.uniform(*np.log(AREA_M2))))
        special = rng.random() < SPECIAL
        due = known + int(notice)
        found.append(_work(f"J{number:04}", known, due, pieces, area, special))


def _work(code: str, known: int, due: int, pieces: int, area: float, special: bool) -> Work:
    short = math.sqrt(area / ASPECT)
    long_side = short * ASPECT
    wide = short + MARGIN_M > 1.22 or area > WIDE_FROM_M2
    paper, width = ("paper 183", 1.83) if wide else ("paper 127", 1.27)
    if special and not wide:
        paper = "special 127"
    along = short if long_side + MARGIN_M <= width else long_side
    film = "film 185" if wide else "film 130"
    share = 1 / max(1, math.floor(SHEET_M2 / area))
    return Work(
        code=code,
        due=due,
        start=max(known, due - WORK_DAYS),
        to_print=pieces,
        to_mount=0,
        area_m2=area,
        per_print={paper: along + MARGIN_M},
        per_mount={film: 2 * (along + MARGIN_M), "acrylic": share, "board": share},
        known=known,
    )


def _attempts(job: Work, rng: np.random.Generator) -> Attempts:
    def bits(chance: float) -> tuple[int, ...]:
        good = rng.random((job.to_print, TRIES)) < chance
        return tuple(sum(1 << at for at in np.flatnonzero(row).tolist()) for row in good)

    return Attempts(bits(math.exp(-DEFECTS_PER_M2 * job.area_m2)), bits(MOUNT_GOOD))


def _warm(rng: np.random.Generator, days: int = DAYS) -> dict[int, float]:
    number = rng.poisson(3 * days / 365)
    return {int(rng.integers(0, days)): float(rng.uniform(8, 22)) for _ in range(number)}


def _stock(rng: np.random.Generator, family: Family) -> tuple[Held, ...]:
    """Some eight weeks' worth, part of its life gone."""
    begins = {"paper 127": 3, "paper 183": 4, "special 127": 2, "film 130": 3, "film 185": 3}
    found = [
        Held(code, ware.capacity, float(rng.uniform(0.3, 0.8)) * life[1] * family.life)
        for ware, life in zip(WARES, LIVES, strict=True)
        if life is not None
        for code, number in begins.items()
        if code == ware.code
        for _ in range(number)
    ]
    return (*found, Held("acrylic", 24.0), Held("board", 20.0))


def _counted(jobs: tuple[Work, ...], attempts: dict[str, Attempts]) -> Losses:
    """What was lost of the jobs that began before day 0."""
    printed, lost, good, spoiled = 0.0, 0, 0, 0
    for job in jobs:
        if job.start >= 0:
            continue
        for prints, mounts in zip(
            attempts[job.code].prints, attempts[job.code].mounts, strict=True
        ):
            tries = (mounts & -mounts).bit_length()  # mounts up to the first good one
            good, spoiled = good + 1, spoiled + tries - 1
            at = 0
            for _ in range(tries):
                rest = prints >> at
                step = (rest & -rest).bit_length()
                printed, lost, at = printed + step * job.area_m2, lost + step - 1, at + step
    return Losses(printed, lost, good, spoiled)
