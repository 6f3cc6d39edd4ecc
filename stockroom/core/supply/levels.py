"""What is there of one ware day by day where nothing more is ordered, in many scenarios."""

from dataclasses import dataclass

import numpy as np

from stockroom.core.supply.learn import Floats
from stockroom.core.supply.outlook import (
    SCENARIOS,
    Outlook,
    lost_of_lots,
    outlook,
    ready_of,
    series_apart,
)
from stockroom.core.supply.state import State, Ware

LOW, HIGH = 0.05, 0.95
"""The range that is told of a level: so much is passed with these chances."""


@dataclass(frozen=True, slots=True)
class Level:
    """What is there at the end of a day, less what is used and gone off until then.

    Attributes
    ----------
    middle, mean, low, high : float
        In the ware's measure; the level is above `low` with 95 %, above `high` with 5 %, above
        `middle` as likely as not.
    comes : float
        Mean amount that has come of orders until then.
    lacking : float
        Chance that some work until then found nothing.
    """

    day: int
    middle: float
    mean: float
    low: float
    high: float
    comes: float
    lacking: float


def levels_of(
    state: State, ware: Ware, days: int, *, seed: int = 0, scenarios: int = SCENARIOS
) -> list[Level]:
    """Return the levels of a ware at the end of each of so many days, from today on."""
    found = outlook(state, ware, seed=seed, scenarios=scenarios, ahead=float(days))
    needs = found.needs
    waits = np.flatnonzero((ready_of(found) > needs.day) | series_apart(found))
    first = np.full(scenarios, np.inf)
    np.minimum.at(first, needs.scenario[waits], needs.day[waits])
    told = []
    lost = lost_of_lots(found)
    for day in range(days):
        end = np.full(scenarios, float(day + 1))
        level = level_at(found, lost, end)
        come = found.supply.amount[:, None] * (
            (found.supply.arrives > 0) & (found.supply.arrives < end)
        )
        low, middle, high = np.quantile(level, [LOW, 0.5, HIGH])
        told.append(
            Level(
                state.day + day,
                float(middle),
                float(level.mean()),
                float(low),
                float(high),
                float(come.sum(axis=0).mean()) if len(come) else 0.0,
                float((first < end).mean()),
            )
        )
    return told


def level_at(found: Outlook, lost: Floats, day: Floats) -> Floats:
    """Return what is there just before a day of each scenario's own, at least nothing.

    Parameters
    ----------
    lost : float64 array (lots, scenarios)
        As `lost_of_lots` tells it.
    day : float64 array (scenarios,)
        Days from today.
    """
    supply = found.supply
    come = (supply.amount[:, None] * (supply.arrives < day)).sum(axis=0)
    off = (lost * (supply.off_on < day)).sum(axis=0)
    level: Floats = np.maximum(0.0, come - off - found.needs.by(day))
    return level
