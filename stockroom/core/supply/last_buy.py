"""The last buy of a ware that is no longer made: how much for the years it can be kept."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from stockroom.core.supply.learn import lives_of
from stockroom.core.supply.outlook import outlook, short_of
from stockroom.core.supply.plan import usable_of
from stockroom.core.supply.state import DAYS_PER_YEAR, State, Ware

LEVELS = (0.5, 0.8, 0.9, 0.95)
"""Chances of having enough for which a quantity is told (our choice)."""
SCENARIOS = 1_000


@dataclass(frozen=True, slots=True)
class LastBuy:
    """One quantity to buy for the last time.

    Attributes
    ----------
    level : float
        The chance of having enough that was asked for.
    units : int
        The fewest units, as they are sold, that reach it.
    cost : float
        Their price, what the order costs, and holding them while they are used up.
    enough : float
        Chance that they cover all that is wanted while they are good.
    unused : float
        Mean amount that is left over or goes off.
    lacking : float
        Mean amount that is wanted while they are good and finds nothing.
    """

    level: float
    units: int
    cost: float
    enough: float
    unused: float
    lacking: float


@dataclass(frozen=True, slots=True)
class LastBuys:
    """Quantities by level, and what they rest on.

    Attributes
    ----------
    days : int
        How long the ware is wanted.
    good_days : float
        How long what is bought is good for, on average; `days` where it keeps longer.
    wanted : float
        Mean amount that is wanted beyond what is there and on its way, in all that time.
    covered : float
        Mean amount of it that falls into the time in which what is bought is good.
    buys : tuple of LastBuy
    """

    ware: Ware
    days: int
    good_days: float
    wanted: float
    covered: float
    buys: tuple[LastBuy, ...]


def last_buys(
    state: State,
    ware: Ware,
    *,
    days: int,
    life_factor: float = 1.0,
    levels: Sequence[float] = LEVELS,
    seed: int = 0,
) -> LastBuys:
    """Return how much to buy of a ware once, for all the time in which it is still wanted.

    What is there and on its way is used first. Work that may come is drawn at the rate of the past,
    which counts less with age, so that a ware that is asked for less and less has a low one.

    Parameters
    ----------
    days : int
        How long it is wanted.
    life_factor : float
        How much longer than lives on arrival tell it is good for, such as in a freezer.
    levels : sequence of float
        Chances of having enough.
    """
    found = outlook(state, ware, seed=seed, scenarios=SCENARIOS, ahead=float(days))
    short = short_of(found)
    lives = lives_of(ware)
    good = np.full(SCENARIOS, float(days))
    if lives is not None:
        drawn = np.random.default_rng([seed, 5]).integers(0, len(lives), SCENARIOS)
        good = np.minimum(days, found.arrival + lives[drawn] * life_factor)
    within = short.day < good[short.scenario]
    wanted = np.bincount(short.scenario, short.amount, SCENARIOS)
    covered = np.bincount(short.scenario, short.amount * within, SCENARIOS)
    usable = usable_of(found)
    held_days = float(good.mean()) / 2
    buys = []
    for level in levels:
        least = ceil(float(np.quantile(covered, level)) / usable - 1e-9)
        units = ware.legal(least) if least > 0 else 0
        amount = units * usable
        price = ware.price(units) * units
        holding = price * state.holding_rate / DAYS_PER_YEAR * held_days
        buys.append(
            LastBuy(
                level,
                units,
                price + holding + (ware.order_cost if units else 0.0),
                float((covered <= amount + 1e-9).mean()),
                float(np.maximum(0.0, amount - covered).mean()),
                float(np.maximum(0.0, covered - amount).mean()),
            )
        )
    return LastBuys(
        ware, days, float(good.mean()), float(wanted.mean()), float(covered.mean()), tuple(buys)
    )
