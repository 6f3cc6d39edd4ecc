"""The plan of orders: what is ordered today, how much, why; and by which day the rest."""

from dataclasses import dataclass
from math import ceil, sqrt

import numpy as np
from numpy.typing import NDArray

from stockroom.core.supply.learn import Floats, Lead, lives_of
from stockroom.core.supply.outlook import END_LOST, SCENARIOS, Outlook, Short, outlook, short_of
from stockroom.core.supply.state import DAYS_PER_YEAR, Buy, State, Ware, apart


@dataclass(frozen=True, slots=True)
class Knobs:
    """The few numbers that are tuned, on training courses alone.

    Attributes
    ----------
    late_weight : float
        How much of the late cost counts against waiting, at a lead time of `NOTICE_DAYS`: waiting
        also shows more of the work to come, but less of it the longer an order takes.
    known_level : float
        An order covers what is needed until the next could come with at least this chance.
    """

    late_weight: float = 1.6
    known_level: float = 0.8
    scenarios: int = SCENARIOS

    def weight(self, lead: Lead) -> float:
        """Return how much of the late cost counts against waiting, for a lead time.

        With the root of the lead time (our choice, tuned on training courses): work is known weeks
        ahead, so that what waiting shows comes too late where an order takes longer than that.
        """
        return self.late_weight * sqrt(lead.mean / NOTICE_DAYS)


@dataclass(frozen=True, slots=True)
class Quantity:
    """How many units an order has, and what it costs a day.

    Attributes
    ----------
    rate : float
        Order cost, holding, waste and price against the cheapest, for each day it covers.
    wasted : float
        Amount expected to go off unused.
    """

    units: int
    covers_days: float
    rate: float
    wasted: float


NOTICE_DAYS = 30.0
"""A lead time that is as long as work is known ahead, at which the weight is as said (ours)."""
MOST_DAYS = 550.0
"""No order is weighed that covers more days than these (our choice)."""
MOST_SIZES = 2_000
"""Sizes of an order that are weighed; where more would be legal, evenly spread in ratio."""


def late_cost(state: State, short: Short, arrival: Floats, scenarios: int) -> Floats:
    """Return what jobs that wait cost in each scenario, if an order arrives then.

    What is on its way may serve them sooner.
    """
    late = np.minimum(arrival[short.scenario], short.ready) - short.day - short.slack
    cost = np.where((late > 0) & short.delays, state.late_fixed + state.late_per_day * late, 0.0)
    return np.bincount(short.scenario, cost, scenarios).astype(float)


def quantities(
    state: State, found: Outlook, stock_days: float, least: float = 0.0
) -> list[Quantity]:
    """Return legal sizes of an order, fewest first, each with what it costs a day.

    Order cost, price above the cheapest, waste, and holding from the arrival on: the stock there
    lasts so long, and half the order for as long as it covers (Harris 1913).

    Parameters
    ----------
    stock_days : float
        Days that what is there lasts once the order comes.
    least : float
        Amount that the largest size covers at least.
    """
    ware = found.ware
    usable = usable_of(found)
    per_day = max(found.per_day, 1e-9)
    units = _sizes(ware, max(per_day * MOST_DAYS, least) / usable)
    price = np.array([ware.price(int(number)) for number in units])
    amount = (units * usable).astype(np.float64)
    lives = lives_of(ware)
    wasted = np.zeros(len(units))
    if lives is not None:
        left = lives / (1 + ware.warm_loss) - stock_days
        wasted = unused(amount[:, None], left, found).mean(axis=1)
    covers = np.maximum(amount - wasted, 1e-9) / per_day
    held = price * units * state.holding_rate / DAYS_PER_YEAR * (covers / 2 + stock_days)
    cheapest = min([ware.cost, *(step.cost for step in ware.price_breaks)])
    cost = ware.order_cost + held + wasted * price / usable + units * (price - cheapest)
    return [
        Quantity(int(number), float(days), float(rate), float(lost))
        for number, days, rate, lost in zip(units, covers, cost / covers, wasted, strict=True)
    ]


def usable_of(found: Outlook) -> float:
    """Return what of one unit can be used on average: the end of a roll fits no try."""
    ware = found.ware
    lost = END_LOST * found.per_try if ware.contiguous else 0.0
    return max(0.1 * ware.capacity, ware.capacity - lost)


def _sizes(ware: Ware, most: float) -> NDArray[np.int64]:
    step, least = max(1, ware.multiple), ware.legal(1)
    steps = max(1, ceil((most - least) / step) + 1)
    if steps <= MOST_SIZES:
        return least + step * np.arange(steps)
    spread = np.geomspace(1, steps, MOST_SIZES).astype(int) - 1
    breaks = [ware.legal(one.least) for one in ware.price_breaks]
    return np.unique(np.concatenate([least + step * spread, np.array(breaks, int)]))


def unused(amount: Floats, days: Floats, found: Outlook) -> Floats:
    """Return the expected rest of an amount after so many days of normal use: its loss function.

    Parameters
    ----------
    amount, days : float64 array
        Broadcast against each other.
    found : Outlook
        Its mean and variance of use a day.
    """
    from scipy.special import ndtr

    days = np.maximum(days, 0.0)
    mean = found.per_day * days
    spread = np.sqrt(found.variance_per_day * days) + 1e-9
    z = (amount - mean) / spread
    density = np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    rest: Floats = np.clip((amount - mean) * ndtr(z) + spread * density, 0.0, amount)
    return rest


def best_quantity(state: State, found: Outlook, least: float, stock_days: float) -> Quantity:
    """Return the size with the least cost a day, or the fewest units that cover an amount."""
    sizes = quantities(state, found, stock_days, least)
    best = min(sizes, key=lambda size: size.rate)
    usable = usable_of(found)
    enough = (size for size in sizes if size.units >= best.units and size.units * usable >= least)
    return next(enough, max(sizes[-1], best, key=lambda size: size.units))


def size_for(
    state: State, found: Outlook, short: Short, until: Floats, knobs: Knobs
) -> tuple[Quantity, float]:
    """Return the size of an order, and how many days stock lasts when it comes.

    Where nobody knows how often the ware is used, the order covers all known work that is drawn.

    Parameters
    ----------
    until : float64 array (scenarios,)
        What is lacking by then is covered at least, with the chance that the knobs say.
    """
    there = float(found.supply.amount.sum()) / max(found.per_day, 1e-9)
    stock_days = max(0.0, there - float(found.arrival.mean())) if found.per_day else 0.0
    if found.coming is None:
        until = np.full_like(until, np.inf)
    least = _lacking(short, until, found.needs.scenarios, knobs.known_level)
    return best_quantity(state, found, least, stock_days), stock_days


def order_for(state: State, ware: Ware, *, seed: int, knobs: Knobs) -> Buy | None:
    """Return what is to be ordered of a ware today, or nothing."""
    if ware.open_on(state.day) > state.day:
        return None
    found = outlook(state, ware, seed=seed, scenarios=knobs.scenarios)
    number = found.needs.scenarios
    short = short_of(found)
    if not len(short.day):
        return None
    now = found.arrival
    next_look = ware.open_on(state.day + state.review_days) - state.day
    later = now + next_look
    worse = late_cost(state, short, later, number) - late_cost(state, short, now, number)
    size, _ = size_for(state, found, short, later, knobs)
    if knobs.weight(found.lead) * float(worse.mean()) <= next_look * size.rate:
        return None
    return Buy(ware.code, size.units)


def _lacking(short: Short, until: Floats, scenarios: int, level: float) -> float:
    """What is lacking by a day with this chance at most."""
    before = short.amount * (short.day < until[short.scenario])
    return float(np.quantile(np.bincount(short.scenario, before, scenarios), level))


def order_plan(state: State, seed: int = 0, knobs: Knobs | None = None) -> list[Buy]:
    """Return what is to be ordered today."""
    knobs = knobs or Knobs()
    bought = (order_for(mine, ware, seed=seed, knobs=knobs) for ware, mine in apart(state))
    return [buy for buy in bought if buy is not None]
