"""The coming months run many times from a state: as things are, and with something changed."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import inf, sqrt
from zlib import crc32

import numpy as np

from stockroom.core.supply.engine import (
    Attempts,
    Bill,
    Course,
    endless_finish,
    lived,
)
from stockroom.core.supply.learn import Coming, Lead, coming_of, lead_of, lives_of, yields_of
from stockroom.core.supply.plan import Knobs, order_plan
from stockroom.core.supply.state import Held, OnOrder, State, Ware, Work

TRIES = 40
"""Tries of a piece that are drawn: with one in two lost, all fail once in 10^12 (our choice)."""
AFTER_DAYS = 75
"""Days that a course runs on after those that count, so that late work is finished (our choice)."""
SCENARIOS = 80
"""Scenarios of each plan inside a course: fewer than for a plan that is acted on (our choice)."""
MOST_VOLUME = 3.0
"""More work than so many times today's is not asked about (our choice)."""


@dataclass(frozen=True, slots=True)
class Change:
    """What is changed of the coming months; as it is where nothing is said.

    Attributes
    ----------
    lead, minimum, volume, losses, life : float
        Factors on lead times, least orders, how many jobs come, how much is lost, and lives from
        today on and on arrival.
    lives_of : frozenset of str or None
        Wares whose lives change; None for all.
    care : float
        Factor on how much a late job counts when orders are placed.
    lost : frozenset of str
        Wares that can no longer be ordered.
    """

    lead: float = 1.0
    minimum: float = 1.0
    volume: float = 1.0
    losses: float = 1.0
    life: float = 1.0
    lives_of: frozenset[str] | None = None
    care: float = 1.0
    lost: frozenset[str] = frozenset()

    def life_of(self, code: str) -> float:
        """Return the factor on a ware's lives."""
        return self.life if self.lives_of is None or code in self.lives_of else 1.0


@dataclass(frozen=True, slots=True)
class Compared:
    """What courses came to as things are and with a change, the same chances in both.

    Attributes
    ----------
    days : int
        Days that count.
    now, changed : tuple of Bill
        A course each.
    """

    days: int
    now: tuple[Bill, ...]
    changed: tuple[Bill, ...]

    def late_share(self, *, changed: bool) -> float:
        """Return the share of jobs that are late for want of material."""
        bills = self.changed if changed else self.now
        return sum(bill.late_jobs for bill in bills) / max(1, sum(bill.jobs for bill in bills))

    def mean(self, what: str, *, changed: bool) -> float:
        """Return the mean of a bill's figure: total, expired, holding, ordering, late."""
        bills = self.changed if changed else self.now
        return sum(float(getattr(bill, what)) for bill in bills) / max(1, len(bills))

    def more(self, what: str = "total") -> tuple[float, float]:
        """Return by how much a figure is larger with the change, and the half width of its range.

        The range holds the mean difference with 95 %, by the spread of the paired differences.
        """
        both = zip(self.now, self.changed, strict=True)
        found = np.array([float(getattr(b, what)) - float(getattr(a, what)) for a, b in both])
        if len(found) < 2:
            return float(found.mean()), inf
        return float(found.mean()), 1.96 * float(found.std(ddof=1)) / sqrt(len(found))


def compare(
    state: State, change: Change, *, days: int = 90, courses: int = 12, seed: int = 0
) -> Compared:
    """Run the coming days many times as things are and with a change, on common chances.

    Parameters
    ----------
    days : int
        Days that count, from today.
    """
    pairs = list(compared(state, change, days=days, courses=courses, seed=seed))
    return Compared(days, tuple(now for now, _ in pairs), tuple(other for _, other in pairs))


def compared(
    state: State, change: Change, *, days: int, courses: int, seed: int
) -> Iterator[tuple[Bill, Bill]]:
    """Yield the bills of each course, as things are and with the change.

    Parameters are as for `compare`.
    """
    for number in range(courses):
        yield (
            run_of(state, Change(), days=days, seed=[seed, number]),
            run_of(state, change, days=days, seed=[seed, number]),
        )


def run_of(state: State, change: Change, *, days: int, seed: Sequence[int]) -> Bill:
    """Return what one course of the coming days costs, ordered by the plan."""
    course = future_course(state, change, days=days, seed=seed)
    knobs = Knobs(scenarios=SCENARIOS)
    knobs = replace(knobs, late_weight=knobs.late_weight * change.care)
    bill, _ = lived(
        course, lambda now: order_plan(now, seed=0, knobs=knobs), endless_finish(course)
    )  # fmt: skip
    return bill


def future_course(state: State, change: Change, *, days: int, seed: Sequence[int]) -> Course:
    """Return one course of the coming days: day 0 is the state's day.

    Known jobs stand as they are; jobs not known yet are drawn like those of the past, at the rate
    that they came. Each stream of chance has its own
    generator, so that a change leaves the others as they are.

    Parameters
    ----------
    seed : sequence of int
    """
    runs = days + AFTER_DAYS
    wares, lead_days, life_days = [], {}, {}
    for ware in state.wares:
        changed, leads, lives = _ware(ware, change, runs, seed)
        wares.append(_on_day(changed, state.day, runs, ware.code in change.lost))
        lead_days[ware.code] = leads
        if lives:
            life_days[ware.code] = lives
    known = [_shifted(job, state.day) for job in _whole(state.work)]
    known = [replace(job, known=min(job.known, -1), start=max(job.start, 0)) for job in known]
    mine = {job.code for job in known}
    history = [_past(_shifted(job, state.day)) for job in state.history if job.code not in mine]
    fresh = list(_unknown(state, change, runs, seed))
    jobs = (*sorted(history, key=_order), *sorted(known, key=_order), *sorted(fresh, key=_order))
    rng = _generator(seed, "yields")
    prints, mounts = yields_of(state.losses)
    defects = rng.gamma(prints.shape, 1 / prints.area_m2) * change.losses
    lost = min(0.9, rng.beta(mounts.lost, mounts.good) * change.losses)
    return Course(
        wares=tuple(wares),
        days=runs,
        counted_from=0,
        counted_to=days,
        jobs=jobs,
        attempts={job.code: _attempts(job, defects, lost, seed) for job in (*known, *fresh)},
        lead_days=lead_days,
        life_days=life_days,
        warm={},
        ages_warm=frozenset(),
        stock=tuple(replace(held, off_on=_life(held, state, change)) for held in state.stock),
        losses=state.losses,
        history_days=state.history_days,
        holding_rate=state.holding_rate,
        late_fixed=state.late_fixed,
        late_per_day=state.late_per_day,
        coming=tuple(_coming(state, change, seed)),
    )


def _generator(seed: Sequence[int], stream: str) -> np.random.Generator:
    return np.random.default_rng([*seed, crc32(stream.encode())])


def _order(job: Work) -> tuple[int, str]:
    return job.known, job.code


def _shifted(job: Work, day: int) -> Work:
    return replace(job, due=job.due - day, start=job.start - day, known=job.known - day)


def _past(job: Work) -> Work:
    """A job of the past, which is only learned from: nothing of it is open on day 0."""
    known = min(job.known, -1)
    return job if job.start < 0 else replace(job, known=known, start=-1, due=max(-1, known))


def _whole(work: Sequence[Work]) -> list[Work]:
    """Jobs told in rows by material, each as one: all that it takes, its earliest and latest day.

    Pieces wait for their print as the row of their paper says, all others for their mount; where
    only some of them still lack a material, each takes its share of it.
    """
    rows: dict[str, list[Work]] = {}
    for row in work:
        rows.setdefault(row.code, []).append(row)
    found = []
    for mine in rows.values():
        pieces = max(row.to_print + row.to_mount for row in mine)
        to_print = max(row.to_print for row in mine)
        per_print: dict[str, float] = {}
        per_mount: dict[str, float] = {}
        for row in mine:
            per_print |= row.per_print
            share = (row.to_print + row.to_mount) / pieces
            for code, amount in row.per_mount.items():
                per_mount[code] = amount * share
        found.append(
            replace(
                mine[0],
                to_print=to_print,
                to_mount=pieces - to_print,
                start=min(row.start for row in mine),
                due=max(row.due for row in mine),
                per_print=per_print,
                per_mount=per_mount,
            )
        )
    return found


def _ware(
    ware: Ware, change: Change, runs: int, seed: Sequence[int]
) -> tuple[Ware, tuple[int, ...], tuple[float, ...]]:
    """A ware as changed; how long an order of each day takes, and how long it is good for."""
    lead = lead_of(ware.lead_days)
    rng = _generator(seed, f"lead {ware.code}")
    drawn = Lead(lead.mean * change.lead, lead.spread, lead.count).draws(rng.random(runs))
    leads = tuple(max(1, round(float(day))) for day in drawn)
    lives = lives_of(ware)
    drawn_lives: tuple[float, ...] = ()
    if lives is not None:
        levels = _generator(seed, f"life {ware.code}").integers(0, len(lives), runs)
        drawn_lives = tuple(max(1.0, float(lives[at]) * change.life_of(ware.code)) for at in levels)
    changed = replace(
        ware,
        minimum=max(1, round(ware.minimum * change.minimum)),
        lead_days=tuple(day * change.lead for day in ware.lead_days) or (lead.mean * change.lead,),
        life_days=tuple(day * change.life_of(ware.code) for day in ware.life_days),
    )
    return changed, leads, drawn_lives


def _on_day(ware: Ware, day: int, runs: int, lost: bool) -> Ware:
    """A ware with the days on which its supplier is closed, counted from the course's day 0."""
    closed = [(first - day, last - day) for first, last in ware.closed]
    return replace(ware, closed=tuple(closed) if not lost else ((0, runs + 1),))


def _life(held: Held, state: State, change: Change) -> float:
    """When a unit in stock is off: what is left of its life counts as the change says."""
    left = held.off_on - state.day
    return left * change.life_of(held.ware) if left > 0 else left


def _coming(state: State, change: Change, seed: Sequence[int]) -> Iterator[tuple[int, OnOrder]]:
    """What is on its way, each with the day on which it comes; a lost supplier still delivers."""
    wares = {ware.code: ware for ware in state.wares}
    for number, order in enumerate(state.on_order):
        if order.ware not in wares:
            continue
        lead = lead_of(wares[order.ware].lead_days)
        mean = lead.mean if order.expected is None else max(1.0, order.expected - order.placed)
        waited = float(state.day - order.placed)
        level = _generator(seed, f"coming {order.ware} {number}").random(1)
        took = Lead(mean * change.lead, lead.spread, lead.count).draws(level, waited)
        arrives = max(1, round(float(took[0]) - waited))
        yield arrives, OnOrder(order.ware, order.units, order.placed - state.day)


def _unknown(
    state: State, change: Change, runs: int, seed: Sequence[int]
) -> Iterator[Work]:  # fmt: skip
    """Jobs not known yet: when they become known, and which of the past each is like.

    As many are drawn as the largest volume has; each has a mark, and those whose mark lies within
    the volume asked for come.
    """
    found = _coming_jobs(state)
    if found is None:
        return
    coming, history = found
    rng = _generator(seed, "jobs")
    rate = rng.gamma(coming.shape) / coming.days
    number = int(rng.poisson(rate * runs * MOST_VOLUME))
    days = np.sort(rng.random(number) * runs)
    marks = rng.random(number) * MOST_VOLUME
    like = np.searchsorted(np.cumsum(coming.weight)[:-1], rng.random(number))
    for at, (day, mark, one) in enumerate(zip(days, marks, like, strict=True)):
        if mark >= change.volume:
            continue
        job, known = history[int(one)], int(day)
        begins = known + max(0, job.start - job.known)
        yield replace(
            job,
            code=f"new {at}",
            known=known,
            start=begins,
            due=begins + max(0, job.due - job.start),
            to_print=max(1, job.to_print + job.to_mount),
            to_mount=0,
        )


def _coming_jobs(state: State) -> tuple[Coming, list[Work]] | None:
    """All jobs of the past with their weights, as `coming_of` has them of one ware."""
    every = "every job"
    marked = [
        replace(job, per_mount={**job.per_mount, every: 1.0})
        for job in state.history
        if job.per_print or job.per_mount
    ]
    coming = coming_of(state, every, marked)
    if coming is None:
        return None
    return coming, [job for job in state.history if job.per_print or job.per_mount]


def _attempts(job: Work, defects: float, lost: float, seed: Sequence[int]) -> Attempts:
    """Which tries of each piece come out good; a job that is not mounted loses nothing there."""
    rng = _generator(seed, f"tries {job.code}")
    levels: Mapping[str, np.ndarray] = {
        kind: rng.random((job.to_print + job.to_mount, TRIES)) for kind in ("print", "mount")
    }
    good_print = levels["print"] < np.exp(-defects * job.area_m2)
    good_mount = levels["mount"] >= (lost if job.mounted else 0.0)
    return Attempts(_bits(good_print), _bits(good_mount))


def _bits(good: np.ndarray) -> tuple[int, ...]:
    return tuple(
        sum(1 << at for at, one in enumerate(row) if one) | (1 << TRIES - 1) for row in good
    )
