"""What is needed of one ware and what is there for it, in many scenarios; only days with events.

The scenarios' chances are drawn from one table for each ware and seed, so that a plan does not
flicker from day to day and two orders are compared on the same scenarios.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Any
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from stockroom.core.supply.learn import Coming, Floats, Lead, coming_of, lead_of, yields_of
from stockroom.core.supply.state import OnOrder, State, Ware, Work
from stockroom.core.yields import MountYield, PrintYield

Ints = NDArray[np.int64]

SCENARIOS = 400
"""Scenarios of a plan where nothing is said (our choice)."""
AGAIN_DAYS = 3
"""Days after the first tries when repeats are thought to be made (our choice: one round)."""
END_LOST = 0.5
"""Part of a mean try's length that is lost at the end of each roll (our choice)."""
LEAST_CHANCE, MOST_WANTED, MOST_FAILURES = 0.05, 200, 2_000
"""Failures are summed term by term where success is no rarer, and neither more successes are wanted
nor more failures thought of (our choice: the first term is then no less than 1e-260, and 2,000
failures rarer than 1e-30)."""
LEAST_LATE_DAYS = 3.0
"""An order that is late is thought to come in so many days at least, on average (our choice)."""
GUIDE = 1_024
"""Buckets of a guide table for picking by weight (our choice)."""
_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class Needs:
    """Uses of one ware in all scenarios, by scenario and day.

    Attributes
    ----------
    scenario : int64 array (n,)
    day : float64 array (n,)
        From today on.
    slack : float64 array (n,)
        Days that the use may wait before its job is late.
    amount : float64 array (n,)
    total : float64 array (n,)
        Of this use and all before it in its scenario.
    begins : int64 array (scenarios + 1,)
        Where each scenario's uses begin.
    job : int64 array (n,)
        Number of the known job, below 0 for one that is not known yet.
    again : bool array (n,)
        Whether it is for repeats of a known job.
    """

    scenario: Ints
    day: Floats
    slack: Floats
    amount: Floats
    total: Floats
    begins: Ints
    job: Ints
    again: NDArray[np.bool_]

    @property
    def scenarios(self) -> int:
        """How many there are."""
        return len(self.begins) - 1

    def by(self, day: Floats) -> Floats:
        """Return what each scenario uses before a day of its own."""
        before = self.amount * (self.day < day[self.scenario])
        return np.bincount(self.scenario, before, self.scenarios).astype(float)


@dataclass(frozen=True, slots=True, eq=False)
class Supply:
    """What is there of a ware: lots by the day on which they go off, some still to arrive.

    Attributes
    ----------
    amount : float64 array (lots,)
    arrives, off_on : float64 array (lots, scenarios)
        Days from today; 0 for what is there, infinite for what keeps.
    of_lot : tuple of int
        Number of the supplier's lot that each is of.
    named : tuple of bool
        Whether it is on its way and its supplier named a day.
    """

    amount: Floats
    arrives: Floats
    off_on: Floats
    of_lot: tuple[int, ...] = ()
    named: tuple[bool, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """All that is drawn for one ware on one day.

    Attributes
    ----------
    coming : Coming or None
    horizon : float
        Days ahead that uses are drawn for.
    arrival : float64 array (scenarios,)
        When an order placed today would come.
    per_day : float
        Mean use a day over the long run.
    variance_per_day : float
        Its variance over the long run.
    per_try : float
        Mean amount of one try.
    series : tuple of int
        Numbers of the known jobs whose prints must come from one lot.
    """

    ware: Ware
    lead: Lead
    coming: Coming | None
    horizon: float
    needs: Needs
    supply: Supply
    arrival: Floats
    per_day: float
    variance_per_day: float
    per_try: float
    series: tuple[int, ...] = ()


def random_for(code: str, seed: int, stream: int) -> np.random.Generator:
    """Return the chances of one ware: the same for the same seed, whatever else is planned."""
    return np.random.default_rng([seed, crc32(code.encode()), stream])


def outlook(
    state: State, ware: Ware, *, seed: int, scenarios: int = SCENARIOS, ahead: float | None = None
) -> Outlook:
    """Draw what is needed of a ware and what is there for it.

    Parameters
    ----------
    ahead : float, optional
        Days ahead; as far as an order placed at the next review could take, if None.
    """
    lead = lead_of(ware.lead_days)
    if ahead is None:
        next_look = ware.open_on(state.day + state.review_days) - state.day
        ahead = lead.quantile(0.99) + next_look + 1
    horizon = ahead
    coming = coming_of(state, ware.code)
    levels = random_for(ware.code, seed, 1)
    known = [job for job in state.work if ware.code in job.per_print or ware.code in job.per_mount]
    yields = yields_of(state.losses)
    needs = _needs(state, ware, known, coming, horizon, scenarios, yields, seed)
    per_day, variance = coming.use(*yields) if coming is not None else (0.0, 0.0)
    per_try = coming.per_try if coming is not None else 0.0
    if not per_try and known:
        per_try = sum(_amounts(job, ware.code) for job in known) / len(known)
    chances = levels.random((len(state.on_order) + 1, scenarios))
    supply = _supply(state, ware, lead, chances, per_try)
    arrival = lead.draws(random_for(ware.code, seed, 2).random(scenarios))
    series = tuple(
        number
        for number, job in enumerate(known)
        if job.one_lot and ware.code in job.per_print and job.to_print + job.to_mount > 1
    )
    return Outlook(
        ware, lead, coming, horizon, needs, supply, arrival, per_day, variance, per_try, series
    )


def _amounts(job: Work, code: str) -> float:
    return job.per_print.get(code, 0.0) + job.per_mount.get(code, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class _Rows:
    """Uses that are drawn together: of one known job, or of all that may come."""

    scenario: Ints
    day: Floats | float
    slack: Floats | float
    amount: Floats
    job: int = -1
    again: bool = False


def _needs(
    state: State,
    ware: Ware,
    known: Sequence[Work],
    coming: Coming | None,
    horizon: float,
    scenarios: int,
    yields: tuple[PrintYield, MountYield],
    seed: int,
) -> Needs:
    rng = random_for(ware.code, seed, 0)
    defects = rng.gamma(yields[0].shape, 1 / yields[0].area_m2, scenarios)
    mount = rng.beta(yields[1].good, yields[1].lost, scenarios)
    rows: list[_Rows] = []
    everyone = np.arange(scenarios)
    if coming is not None:
        rows += _unknown(coming, horizon, defects, mount, rng)
    for number, job in enumerate(known):
        generator = random_for(f"{ware.code} {job.code}", seed, 3)
        begin = max(0.0, float(job.start - state.day))
        slack = max(0.0, job.due - state.day - begin - 2)
        tries, again = _tries(job, ware.code, defects, mount, generator)
        if begin < horizon:
            rows.append(_Rows(everyone, begin, slack, tries, number))
            some = np.flatnonzero(again > 0)
            left = max(0.0, slack - AGAIN_DAYS)
            rows.append(_Rows(some, begin + AGAIN_DAYS, left, again[some], number, again=True))
    return _sorted(rows, scenarios)


def _sorted(rows: Sequence[_Rows], scenarios: int) -> Needs:
    """All rows together, by scenario and day."""
    rows = [*rows, _Rows(np.zeros(0, np.int64), 0.0, 0.0, np.zeros(0))]

    def spread(values: list[Any]) -> Any:
        parts = zip(values, rows, strict=True)
        return np.concatenate([np.broadcast_to(one, row.amount.shape) for one, row in parts])

    scenario = spread([row.scenario for row in rows])
    day = spread([row.day for row in rows])
    order = np.argsort(scenario + day / (2 * day.max(initial=0.0) + 1), kind="stable")
    scenario = scenario[order]
    amount = spread([row.amount for row in rows])[order]
    counts = np.bincount(scenario, minlength=scenarios)
    begins = np.concatenate([[0], np.cumsum(counts)])
    running = np.concatenate([[0.0], np.cumsum(amount)])
    return Needs(
        scenario,
        day[order],
        spread([row.slack for row in rows])[order],
        amount,
        running[1:] - running[begins[:-1]][scenario],
        begins,
        spread([row.job for row in rows])[order],
        spread([row.again for row in rows])[order],
    )


def _tries(
    job: Work, code: str, defects: Floats, mount: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """What a job's first tries take of a ware, and its repeats, in each scenario."""
    number = len(defects)
    passes = np.maximum(1e-3, np.exp(-defects * job.area_m2))
    pieces = job.to_print + job.to_mount
    lost = np.zeros(number, np.int64)
    if pieces and job.mounted:
        lost = failures(np.full(number, pieces), mount, rng)
    first = np.zeros(number)
    again = np.zeros(number)
    if code in job.per_print:
        waiting = job.to_print + lost
        repeats = np.where(waiting > 0, failures(np.maximum(1, waiting), passes, rng), 0)
        first += job.to_print * job.per_print[code]
        again += (lost + repeats) * job.per_print[code]
    if code in job.per_mount:
        first += pieces * job.per_mount[code]
        again += lost * job.per_mount[code]
    return first, again


def failures(number: Ints, chance: Floats, rng: np.random.Generator) -> Ints:
    """Return how many tries fail before so many succeed: negative binomial, by its inverse.

    A piece that must be printed and mounted well succeeds with the product of both chances, each
    try being a print. The recurrence P(k) = P(k - 1) (n + k - 1) / k (1 - p) is summed for all at
    once until each level is reached; few steps, since most tries succeed.

    Parameters
    ----------
    number : int64 array (n,)
        Successes that are wanted, at least one.
    chance : float64 array (n,)
        Of success, each try.
    """
    found = np.zeros(len(number), np.int64)
    most = np.maximum(number, number * (1 - chance) / chance)
    rare = (chance < LEAST_CHANCE) | (most > MOST_WANTED)
    found[rare] = rng.negative_binomial(number[rare], chance[rare])
    level = rng.random(len(number))
    term = np.where(rare, 2.0, chance**number)
    at = np.flatnonzero(level >= term)
    level, term, wanted, miss = level[at] - term[at], term[at], number[at], 1 - chance[at]
    for step in range(1, MOST_FAILURES):
        if not len(at):
            break
        term = term * ((wanted + (step - 1)) / step * miss)
        found[at] = step
        on = np.flatnonzero(level >= term)
        at, level, term = at[on], level[on] - term[on], term[on]
        wanted, miss = wanted[on], miss[on]
    return found


def _picked(weight: Floats, levels: Floats) -> Ints:
    """Which of some things each level between 0 and 1 picks, by their weights, which sum to 1."""
    bounds = np.cumsum(weight)[:-1]
    guide = np.searchsorted(bounds, np.arange(GUIDE + 1) / GUIDE)
    bucket = (levels * GUIDE).astype(np.int64)
    found = guide[bucket]
    unsure = np.flatnonzero(found != guide[bucket + 1])
    found[unsure] = np.searchsorted(bounds, levels[unsure])
    return found


def _unknown(
    coming: Coming, horizon: float, defects: Floats, mount: Floats, rng: np.random.Generator
) -> list[_Rows]:
    scenarios = len(defects)
    rate = rng.gamma(coming.shape, 1 / coming.days, scenarios)
    number = rng.poisson(rate * horizon)
    scenario = np.repeat(np.arange(scenarios), number)
    like = _picked(coming.weight, rng.random(len(scenario)))
    day = rng.random(len(scenario)) * horizon + coming.notice[like]
    within = np.flatnonzero(day < horizon)
    scenario, like, day = scenario[within], like[within], day[within]
    pieces = np.maximum(1, coming.pieces[like])
    good = np.where(coming.mounted[like], mount[scenario], 1.0)
    passes = np.maximum(1e-3, np.exp(-defects[scenario] * coming.area_m2[like]))
    if not coming.per_mount.any():
        amount = coming.per_print[like] * (pieces + failures(pieces, passes * good, rng))
    else:
        mounts = pieces + failures(pieces, good, rng)
        amount = coming.per_mount[like] * mounts
        if coming.per_print.any():
            amount += coming.per_print[like] * (mounts + failures(mounts, passes, rng))
    slack = np.maximum(0.0, coming.due[like] - 2)
    return [_Rows(scenario, day, slack, amount)]


def _supply(state: State, ware: Ware, lead: Lead, levels: Floats, per_try: float) -> Supply:
    """Lots of stock by the day they go off, then what is on its way."""
    lost = END_LOST * per_try if ware.contiguous else 0.0
    ages = 1 + ware.warm_loss
    held = sorted(
        ((one.off_on - state.day) / ages, max(0.0, one.left - lost), one.lot)
        for one in state.stock
        if one.ware == ware.code and one.off_on > state.day and one.left >= ware.remnant
    )
    scenarios = levels.shape[1]
    amount = [left for _, left, _ in held]
    arrives = [np.zeros(scenarios) for _ in held]
    off_on = [np.full(scenarios, day) for day, _, _ in held]
    names = [lot or f"alone {at}" for at, (_, _, lot) in enumerate(held)]
    lives = ware.life_days
    mine = [order for order in state.on_order if order.ware == ware.code]
    for at, order in enumerate(mine):
        when = arrival_of(order, state.day, lead, levels[at])
        names.append(f"order {at}")
        amount.append(order.units * max(0.0, ware.capacity - lost))
        arrives.append(when)
        life = float(np.quantile(lives, 0.2)) if lives else inf
        off_on.append(when + life / ages)
    if not amount:
        none = np.zeros((0, scenarios))
        return Supply(np.zeros(0), none, none)
    numbers = {name: number for number, name in enumerate(dict.fromkeys(names))}
    of_lot = tuple(numbers[name] for name in names)
    named = (*(False for _ in held), *(order.expected is not None for order in mine))
    return Supply(np.array(amount), np.array(arrives), np.array(off_on), of_lot, named)


def arrival_of(order: OnOrder, day: int, lead: Lead, levels: Floats) -> Floats:
    """Return in how many days an order comes, one for each level between 0 and 1.

    Where the supplier names no day, as the lead time has it that it did not come so far. A day that
    is named holds or passes: only lateness spreads, as lead times do above their mean. What is past
    its day, or twice as long out as orders take, is thought to be as late again on average: who is
    late long is no surer tomorrow (exponential; our choice).

    Parameters
    ----------
    day : int
        Today.
    levels : float64 array
    """
    waited = float(day - order.placed)
    late = waited - 2 * lead.mean if order.expected is None else float(day - order.expected)
    if late > 0:
        left: Floats = -np.log1p(-np.minimum(levels, 1 - 1e-9)) * max(LEAST_LATE_DAYS, late)
        return np.maximum(1.0, left)
    if order.expected is None:
        return np.maximum(0.5, lead.draws(levels, waited) - waited)
    over = np.maximum(0.0, lead.draws(levels) - lead.mean)
    return np.maximum(1.0, float(order.expected - day) + over)


@dataclass(frozen=True, slots=True, eq=False)
class Short:
    """Uses that find nothing on their day, where nothing more is ordered.

    Attributes
    ----------
    scenario : int64 array (n,)
    day, slack : float64 array (n,)
    ready : float64 array (n,)
        Day on which what is on its way covers it; infinite where nothing does.
    amount : float64 array (n,)
        What nothing on its way covers, at most the use itself.
    delays : bool array (n,)
        Whether it stands for its job in its scenario, since a job is late once: its first use that
        nothing covers, or else its first.
    row : int64 array (n,)
        Which of the needs' rows each is.
    """

    scenario: Ints
    day: Floats
    slack: Floats
    ready: Floats
    amount: Floats
    delays: NDArray[np.bool_]
    row: Ints


def short_of(found: Outlook) -> Short:
    """Return the uses that find nothing on their day where nothing more is ordered.

    What goes off first is used first, and what goes off unused covers nothing later. What comes on
    a day that is named covers nothing before it. What is on its way without one is counted on from
    the start: on training courses, ordering against its lateness cost more than it saved. A series
    that no lot holds alone finds nothing at all: it waits for a new one.
    """
    needs = found.needs
    cover = _cover(found)
    ready = _ready(found, cover, np.flatnonzero(found.supply.named))
    apart = series_apart(found)
    at = np.flatnonzero((ready > needs.day) | apart)
    ready = np.where(apart[at], inf, ready[at])
    lacking = np.minimum(needs.amount[at], needs.total[at] - cover[at])
    lacking = np.where(apart[at], needs.amount[at], lacking)
    job = needs.job[at]
    delays = job < 0
    known = np.flatnonzero(~delays)
    known = known[np.argsort(ready[known] < inf, kind="stable")]
    pairs = needs.scenario[at[known]] * (int(needs.job.max(initial=0)) + 1) + job[known]
    delays[known[np.unique(pairs, return_index=True)[1]]] = True
    return Short(
        needs.scenario[at], needs.day[at], needs.slack[at], ready,
        np.where(ready < inf, 0.0, lacking), delays, at,
    )  # fmt: skip


def ready_of(found: Outlook) -> Floats:
    """Return the day on which each use is covered: 0 by what is there, infinite by nothing."""
    coming = np.flatnonzero((found.supply.arrives > 0).any(axis=1))
    return _ready(found, _cover(found), coming)


def _cover(found: Outlook) -> Floats:
    """What covers each use once all that is on its way has come, less what went off before it."""
    needs, supply = found.needs, found.supply
    cover = np.full(len(needs.day), float(supply.amount.sum()))
    lost = lost_of_lots(found)
    for lot in range(len(supply.amount)):
        if lost[lot].any():
            after = needs.day >= supply.off_on[lot][needs.scenario]
            cover = cover - np.where(after, lost[lot][needs.scenario], 0.0)
    return cover


def _ready(found: Outlook, cover: Floats, coming: Ints) -> Floats:
    """The day on which each use is covered, where some lots cover nothing before they come."""
    needs, supply = found.needs, found.supply
    ready = np.where(needs.total > cover + _ROUNDING, inf, 0.0)
    if not len(coming):
        return ready
    order = np.argsort(supply.arrives[coming], axis=0, kind="stable")
    arrives = np.take_along_axis(supply.arrives[coming], order, axis=0)
    amount = supply.amount[coming][order]
    for at in range(len(coming) - 1, -1, -1):
        cover = cover - amount[at][needs.scenario]
        waits = (ready == 0.0) & (needs.total > cover + _ROUNDING)
        ready = np.where(waits, arrives[at][needs.scenario], ready)
    return ready


def lost_of_lots(found: Outlook) -> Floats:
    """Return what of each lot goes off unused within the horizon, lots x scenarios.

    In each scenario what goes off first is used first, so that a lot loses what of it and of all
    that go off before it was not used by then, at most itself.
    """
    needs, supply = found.needs, found.supply
    scenarios = needs.scenarios
    lost = np.zeros(supply.off_on.shape)
    order = np.argsort(supply.off_on, axis=0, kind="stable")
    everyone = np.arange(scenarios)
    there, gone = np.zeros(scenarios), np.zeros(scenarios)
    for rank in order:
        off_on, amount = supply.off_on[rank, everyone], supply.amount[rank]
        if (off_on >= found.horizon).all():
            break
        there = there + amount
        within = off_on < found.horizon
        wasted = np.clip(there - gone - needs.by(off_on), 0.0, amount) * within
        lost[rank, everyone] = wasted
        gone = gone + wasted
    return lost


def series_apart(found: Outlook) -> NDArray[np.bool_]:
    """Return which uses are of a series that no lot holds alone, in each scenario.

    A lot holds what of it is there and good when the series begins; that other work may take some
    of it is not looked at.
    """
    needs, supply = found.needs, found.supply
    apart = np.zeros(len(needs.day), bool)
    for number in found.series:
        mine = np.flatnonzero(needs.job == number)
        if not len(mine):
            continue
        begin = float(needs.day[mine].min())
        wanted = np.bincount(needs.scenario[mine], needs.amount[mine], needs.scenarios)
        most = np.zeros(needs.scenarios)
        for lot in set(supply.of_lot):
            rows = [at for at, one in enumerate(supply.of_lot) if one == lot]
            good = (supply.arrives[rows] <= begin) & (supply.off_on[rows] > begin)
            most = np.maximum(most, (supply.amount[rows][:, None] * good).sum(axis=0))
        apart[mine] = (wanted > most + _ROUNDING)[needs.scenario[mine]]
    return apart
