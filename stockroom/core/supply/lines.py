"""Order lines: by which day, how much, at what risk, and the figures behind each."""

from dataclasses import dataclass
from math import sqrt
from typing import Literal

import numpy as np

from stockroom.core.supply.learn import Floats, Lead, coming_of, yields_of
from stockroom.core.supply.outlook import (
    AGAIN_DAYS,
    Outlook,
    Short,
    lost_of_lots,
    outlook,
    series_apart,
    short_of,
)
from stockroom.core.supply.plan import (
    Knobs,
    Quantity,
    late_cost,
    order_for,
    size_for,
    usable_of,
)
from stockroom.core.supply.state import Held, State, Ware, apart

LOOK_AHEAD_DAYS = 60
"""Order-by days are told so far ahead (our choice)."""
LATER_DAYS = 7
"""The risk is told for today and for so many days later."""
HIGH = 0.95
APART_SHARE = 0.05
"""Where a series finds no lot that holds it in this share of scenarios, the line says so (ours)."""
MUCH_AT_RISK = 0.05
"""Where no order pays though a job is late with this chance, the line says so (our choice)."""
LONG_DAYS = 730
"""Where the least order lasts longer than two years, the line says so (our choice)."""
MUCH_WASTED = 0.10
"""Where more than this part of an order is expected to go off, the line says so (our choice)."""
SAFETY_FACTOR = 1.645
"""Standard deviations of safety stock: 95 % of normal demand (textbooks' usual level)."""

Note = Literal[
    "lead unknown",
    "lead zero",
    "closed",
    "shut now",
    "much goes off",
    "minimum goes off",
    "series apart",
    "least too dear",
    "lasts long",
    "use unknown",
]
"""What a line points out beside its figures."""


@dataclass(frozen=True, slots=True)
class OrderLine:
    """What is to be ordered of one ware, by when, and why.

    Attributes
    ----------
    order_by : int or None
        Last day on which ordering is worth no more than waiting; None, if not within
        `LOOK_AHEAD_DAYS`.
    risk_now, risk_later : float
        Chance that a job is late for want of it, if ordered today, and `LATER_DAYS` later; on the
        first day then on which the supplier takes orders.
    first : (str, int) or None
        The known job that most often finds nothing first, and the day it begins; None where work
        not known yet does, or nothing lacks.
    until : int
        Day by which an order placed at the look after the order-by day would have come with `HIGH`
        chance (after today, where none is due); the day after the repeats of the job that lacks
        first, where that is later.
    known, repeats, unknown : float
        Mean need until then: first tries of known jobs, their repeats, work not known yet.
    high : float
        The need that is not passed with `HIGH` chance.
    stock, goes_off, coming : float
        What is there and can be used, what of it is expected to go off unused until then, and
        what is on its way.
    reorder_point : float
        The classical one, for those who think in it.
    per_day, variance_per_day : float
        Mean use a day over the long run, and its variance.
    stock_days : float
        Days that stock lasts once the order comes.
    notes : tuple of str
    """

    ware: Ware
    units: int
    order_by: int | None
    risk_now: float
    risk_later: float
    first: tuple[str, int] | None
    until: int
    known: float
    repeats: float
    unknown: float
    high: float
    stock: float
    goes_off: float
    coming: float
    lead: Lead
    reorder_point: float
    per_day: float
    variance_per_day: float
    stock_days: float
    size: Quantity
    notes: tuple[Note, ...]

    @property
    def need(self) -> float:
        """Mean need until `until`."""
        return self.known + self.repeats + self.unknown


def order_lines(state: State, seed: int = 0, knobs: Knobs | None = None) -> list[OrderLine]:
    """Return a line for each ware, soonest order-by day first."""
    knobs = knobs or Knobs()
    lines = [order_line(mine, ware, seed=seed, knobs=knobs) for ware, mine in apart(state)]
    return sorted(lines, key=lambda line: (line.order_by is None, line.order_by or 0))


def discards(state: State) -> list[Held]:
    """Return what is off today, or shorter than its remnant rule lets it be."""
    wares = {ware.code: ware for ware in state.wares}
    return [
        held
        for held in state.stock
        if held.off_on <= state.day or held.left < wares[held.ware].remnant
    ]


def reorder_point(
    per_day: float,
    variance_per_day: float,
    lead: Lead,
    review_days: float = 0.0,
    safety_factor: float = SAFETY_FACTOR,
) -> float:
    """Return the classical reorder point: mean use over lead time and review, and safety stock.

    Safety stock is so many standard deviations of that use, use and lead time both normal and
    independent (Silver, Pyke and Thomas; any textbook).

    Parameters
    ----------
    per_day, variance_per_day : float
        Mean use a day, in any unit, and its variance.
    review_days : float
        Days between two looks at the stock; 0 where it is watched all the time.

    >>> round(reorder_point(30, 25, Lead(10, 0, 9), safety_factor=1.65), 2)
    326.09
    """
    days = lead.mean + review_days
    variance = variance_per_day * days + (per_day * lead.mean * lead.spread) ** 2
    return per_day * days + safety_factor * sqrt(variance)


def order_line(state: State, ware: Ware, *, seed: int, knobs: Knobs) -> OrderLine:
    """Return the line of one ware."""
    lead_found = outlook(state, ware, seed=seed, scenarios=1, ahead=0.0).lead
    ahead = lead_found.quantile(0.99) + state.review_days + 1 + LOOK_AHEAD_DAYS
    found = outlook(state, ware, seed=seed, scenarios=knobs.scenarios, ahead=ahead)
    short = short_of(found)
    now = order_for(state, ware, seed=seed, knobs=knobs)
    wanted = 0 if now is not None else _due_in(state, found, short, knobs)
    order_by, note = _open_day(state, ware, wanted)
    after = (0 if order_by is None else order_by - state.day) + state.review_days
    size, stock_days = size_for(state, found, short, found.arrival + after, knobs)
    first = _first_short(state, found, short)
    until = found.lead.quantile(HIGH) + after
    if first is not None and order_by is not None:
        until = max(until, first[1] - state.day + AGAIN_DAYS + 1)
    needed = _by(found, until, np.ones(len(found.needs.day), bool))
    usable = usable_of(found) * size.units
    off = discards(state)
    good = [one for one in state.stock if one not in off]
    coming = coming_of(state, ware.code)
    mean, variance = coming.use(*yields_of(state.losses)) if coming is not None else (0.0, 0.0)
    return OrderLine(
        ware=ware,
        units=size.units,
        order_by=order_by,
        risk_now=risk_of(found, short, _opens_in(state, ware, 0)),
        risk_later=risk_of(found, short, _opens_in(state, ware, LATER_DAYS)),
        first=first,
        until=state.day + int(np.ceil(until)),
        known=float(_by(found, until, (found.needs.job >= 0) & ~found.needs.again).mean()),
        repeats=float(_by(found, until, found.needs.again).mean()),
        unknown=float(_by(found, until, found.needs.job < 0).mean()),
        high=float(np.quantile(needed, HIGH)),
        stock=float(sum(one.left for one in good if one.ware == ware.code)),
        goes_off=_goes_off(found, until),
        coming=float(sum(one.units for one in state.on_order if one.ware == ware.code))
        * ware.capacity,
        lead=found.lead,
        reorder_point=reorder_point(mean, variance, found.lead, state.review_days),
        per_day=mean,
        variance_per_day=variance,
        stock_days=stock_days,
        size=size,
        notes=_notes(state, found, short, size, usable, order_by, note),
    )


def _opens_in(state: State, ware: Ware, days: int) -> int:
    """Days until the first day, so many days on or later, on which the supplier takes orders."""
    return int(ware.open_on(state.day + days)) - state.day


def _due_in(state: State, found: Outlook, short: Short, knobs: Knobs) -> int | None:
    """Days until waiting for the next look costs more than it saves; from tomorrow on.

    Days on which the supplier is closed are passed over. Where it is closed as far as is looked
    ahead, the first day on which it opens.
    """
    if not len(short.day):
        return None
    number, ware = found.needs.scenarios, found.ware
    for days in range(1, LOOK_AHEAD_DAYS + 1):
        if _opens_in(state, ware, days) != days:
            continue
        next_look = ware.open_on(state.day + days + state.review_days) - state.day - days
        at, later = found.arrival + days, found.arrival + days + next_look
        worse = late_cost(state, short, later, number) - late_cost(state, short, at, number)
        if worse.mean() <= 0:
            continue
        size, _ = size_for(state, found, short, later, knobs)
        if knobs.weight(found.lead) * float(worse.mean()) > next_look * size.rate:
            return days
    opens = _opens_in(state, ware, 1)
    shut = _opens_in(state, ware, 0) > 0 and opens > LOOK_AHEAD_DAYS
    return opens if shut and risk_of(found, short, opens) > 0 else None


def _open_day(state: State, ware: Ware, days: int | None) -> tuple[int | None, Note | None]:
    """The order-by day: the last one before the supplier closes, where the next look is too late.

    Where it is closed today, the first day on which it takes orders again.
    """
    if days is None:
        return None, None
    day = state.day + days
    if ware.open_on(state.day) > state.day:
        return int(ware.open_on(day)), "shut now"
    next_look = int(day + state.review_days)
    if ware.open_on(next_look) != next_look:
        return max(state.day, day, ware.open_before(next_look)), "closed"
    return day, None


def _first_short(state: State, found: Outlook, short: Short) -> tuple[str, int] | None:
    """The known job that finds nothing first in most scenarios, and the day it begins."""
    if not len(short.row):
        return None
    _, at = np.unique(short.scenario, return_index=True)
    jobs, counts = np.unique(found.needs.job[short.row[at]], return_counts=True)
    most = int(jobs[counts.argmax()])
    if most < 0:
        return None
    code = found.ware.code
    known = [job for job in state.work if code in job.per_print or code in job.per_mount]
    return known[most].name or known[most].code, max(state.day, known[most].start)


def risk_of(found: Outlook, short: Short, days: int) -> float:
    """Return the share of scenarios with a late job where the order is placed in so many days."""
    comes = np.minimum(found.arrival[short.scenario] + days, short.ready)
    hit = np.unique(short.scenario[comes - short.day - short.slack > 0])
    return len(hit) / found.needs.scenarios


def _by(found: Outlook, until: float, which: np.ndarray) -> Floats:
    """Each scenario's need of some uses before a day."""
    needs = found.needs
    amount = needs.amount * (which & (needs.day < until))
    return np.bincount(needs.scenario, amount, needs.scenarios).astype(float)


def _goes_off(found: Outlook, until: float) -> float:
    """Mean amount of what is there and on its way that goes off unused before a day."""
    lost = lost_of_lots(found) * (found.supply.off_on <= until)
    return float(lost.sum(axis=0).mean()) if len(lost) else 0.0


def _notes(
    state: State,
    found: Outlook,
    short: Short,
    size: Quantity,
    usable: float,
    order_by: int | None,
    closed: Note | None,
) -> tuple[Note, ...]:
    notes: list[Note] = []
    ware, lead, apart = found.ware, found.lead, series_apart(found)
    hit = len(np.unique(found.needs.scenario[apart])) / found.needs.scenarios
    if hit >= APART_SHARE:
        notes.append("series apart")
    if found.coming is None:
        notes.append("use unknown")
    if not lead.count:
        notes.append("lead unknown")
    elif lead.mean < 1:
        notes.append("lead zero")
    if closed is not None:
        notes.append(closed)
    if order_by is None:
        if risk_of(found, short, LOOK_AHEAD_DAYS) >= MUCH_AT_RISK:
            notes.append("least too dear")
        return tuple(notes)
    least = size.units == ware.legal(1)
    if size.wasted > MUCH_WASTED * usable:
        notes.append("minimum goes off" if least else "much goes off")
    elif least and found.coming is not None and size.covers_days > LONG_DAYS:
        notes.append("lasts long")
    return tuple(notes)
