"""The plan of orders: what is ordered today, how much, why; and by which day the rest."""

from dataclasses import dataclass

import numpy as np

from stockroom.core.supply.learn import Floats, lives_of
from stockroom.core.supply.outlook import SCENARIOS, Outlook, Short, outlook, short_of
from stockroom.core.supply.state import DAYS_PER_YEAR, Buy, State, Ware


@dataclass(frozen=True, slots=True)
class Knobs:
    """The few numbers that are tuned, on training courses alone.

    Attributes
    ----------
    late_weight : float
        How much of the late cost counts against waiting: waiting also shows more of the work to
        come.
    known_level : float
        An order covers what is needed until the next could come with at least this chance.
    """

    late_weight: float = 1.6
    known_level: float = 0.8
    scenarios: int = SCENARIOS


@dataclass(frozen=True, slots=True)
class Quantity:
    """How many units an order has, and what it costs a day.

    Attributes
    ----------
    units : int
    covers_days : float
    rate : float
        Order cost, holding, waste and price against the cheapest, for each day it covers.
    wasted : float
        Amount expected to go off unused.
    """

    units: int
    covers_days: float
    rate: float
    wasted: float


MOST_UNITS_DAYS = 550.0
"""No order is weighed that covers more days than these (our choice)."""
MOST_SIZES = 60


def late_cost(state: State, short: Short, arrival: Floats, scenarios: int) -> Floats:
    """Return what jobs that wait for an order cost in each scenario, if it arrives then."""
    late = arrival[short.scenario] - short.day - short.slack
    cost = np.where((late > 0) & short.delays, state.late_fixed + state.late_per_day * late, 0.0)
    return np.bincount(short.scenario, cost, scenarios).astype(float)


def quantities(state: State, found: Outlook, stock_days: float) -> list[Quantity]:
    """Return the legal sizes of an order, each with what it costs a day.

    Parameters
    ----------
    state : State
    found : Outlook
    stock_days : float
        Days that what is there lasts once the order comes.
    """
    ware = found.ware
    lost = 0.5 * found.per_try if ware.contiguous else 0.0
    usable = max(0.1 * ware.capacity, ware.capacity - lost)
    per_day = max(found.per_day, 1e-9)
    lives = lives_of(ware)
    holding = ware.cost / ware.capacity * state.holding_rate / DAYS_PER_YEAR
    cheapest = min([ware.cost, *(step.cost for step in ware.price_breaks)])
    sizes = []
    units = ware.legal(1)
    for _ in range(MOST_SIZES):
        amount = units * usable
        wasted = 0.0
        if lives is not None:
            wasted = float(
                np.mean(_unused(amount, lives / (1 + ware.warm_loss) - stock_days, found))
            )
        used = max(amount - wasted, 1e-9)
        covers = used / per_day
        held = holding * units * ware.capacity * (covers / 2 + stock_days)
        cost = ware.order_cost + held + wasted * ware.cost / usable
        cost += units * (ware.price(units) - cheapest)
        sizes.append(Quantity(units, covers, cost / covers, wasted))
        if covers > MOST_UNITS_DAYS:
            break
        units += max(1, ware.multiple)
    return sizes


def _unused(amount: float, days: Floats, found: Outlook) -> Floats:
    """Expected rest of an amount after so many days: a normal use, its loss function."""
    from scipy.special import ndtr

    days = np.maximum(days, 0.0)
    mean = found.per_day * days
    spread = np.sqrt(found.variance_per_day * days) + 1e-9
    z = (amount - mean) / spread
    density = np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    rest: Floats = np.clip((amount - mean) * ndtr(z) + spread * density, 0.0, amount)
    return rest


def best_quantity(state: State, found: Outlook, least: float, stock_days: float) -> Quantity:
    """Return the size with the least cost a day, of those that cover at least an amount."""
    sizes = quantities(state, found, stock_days)
    best = min(sizes, key=lambda size: size.rate)
    lost = 0.5 * found.per_try if found.ware.contiguous else 0.0
    usable = max(0.1 * found.ware.capacity, found.ware.capacity - lost)
    for size in sizes:
        if size.units >= best.units and size.units * usable >= least:
            return size
    return sizes[-1] if sizes[-1].units * usable < least else best


def order_for(state: State, ware: Ware, *, seed: int, knobs: Knobs) -> Buy | None:
    """Return what is to be ordered of a ware today, or nothing."""
    found = outlook(state, ware, seed=seed, scenarios=knobs.scenarios)
    number = found.needs.scenarios
    short = short_of(found)
    if not len(short.day):
        return None
    now = found.arrival
    later = now + state.review_days
    worse = late_cost(state, short, later, number) - late_cost(state, short, now, number)
    there = float(found.supply.amount.sum()) / max(found.per_day, 1e-9)
    stock_days = max(0.0, there - float(found.arrival.mean()))
    least = _lacking(short, now + state.review_days, number, knobs.known_level)
    size = best_quantity(state, found, least, stock_days)
    if knobs.late_weight * float(worse.mean()) <= state.review_days * size.rate:
        return None
    return Buy(ware.code, size.units)


def _lacking(short: Short, until: Floats, scenarios: int, level: float) -> float:
    """What is lacking by a day with this chance at most."""
    before = short.amount * (short.day < until[short.scenario])
    return float(np.quantile(np.bincount(short.scenario, before, scenarios), level))


def order_plan(state: State, seed: int = 0, knobs: Knobs | None = None) -> list[Buy]:
    """Return what is to be ordered today."""
    knobs = knobs or Knobs()
    bought = (order_for(state, ware, seed=seed, knobs=knobs) for ware in state.wares)
    return [buy for buy in bought if buy is not None]
