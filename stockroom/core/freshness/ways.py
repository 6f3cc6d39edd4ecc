"""The ways in which things may have been: the likely one, and each cause of doubt moved alone."""

from dataclasses import dataclass, replace
from functools import cache
from typing import Literal

import numpy as np

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.bodies import LIKELY, Kind
from stockroom.core.climate.course import Floats
from stockroom.core.climate.visits import Aged, Rule
from stockroom.core.constants import (
    ACTIVATION_ENERGY,
    ACTIVATION_ENERGY_HIGH,
    ACTIVATION_ENERGY_LOW,
    SENSOR_SPREAD,
    WARM_ARRIVAL_LIKELY,
    WARM_ARRIVAL_LONGEST,
    WARM_ARRIVAL_TEMP,
)
from stockroom.core.freshness.label import LabelLife
from stockroom.units import SECONDS_PER_DAY

Cause = Literal[
    "activation energy", "sensor", "gaps", "label temperature", "warm arrival", "paper white"
]


@dataclass(frozen=True, slots=True)
class Counted:
    """The life a unit counts as having come with, by its measured white, days of label life.

    Attributes
    ----------
    likely, low, high : float
        In place of the label's, and what it may have been.
    word : bool
        Whether a person said that it may go beyond the label's.
    """

    likely: float
    low: float
    high: float
    word: bool = False


@dataclass(frozen=True, slots=True)
class Ways:
    """The likely way first, then one for each end of each cause of doubt.

    Attributes
    ----------
    rules : tuple of Rule
        How each way turns temperature into life.
    warm_s : tuple of float
        How long, by each way, the unit was warm before it came, s.
    causes : dict
        Which of the ways belong to which cause.
    readings : tuple of int
        Which way belongs to each way to read the label's temperature.
    white_days : tuple of float
        The life it has by each way, where its white was measured; empty: the label's.
    """

    rules: tuple[Rule, ...]
    warm_s: tuple[float, ...]
    causes: dict[Cause, tuple[int, ...]]
    readings: tuple[int, ...]
    white_days: tuple[float, ...] = ()

    def before_days(self) -> Floats:
        """Return the life used before it came, by each way, days."""
        rates = [
            rate(WARM_ARRIVAL_TEMP.value, rule.label_temp_c, rule.energy_j_mol)
            for rule in self.rules
        ]
        days: Floats = np.array(rates) * np.array(self.warm_s) / SECONDS_PER_DAY
        return days

    def budgets(self, label: LabelLife) -> Floats:
        """Return the life it has by each way, days."""
        if self.white_days:
            return np.array(self.white_days)
        return np.full(len(self.rules), label.days)

    def fresh(self, label: LabelLife, came_s: float) -> Aged:
        """Return the unit as it came; one that came expired had ended by its label before."""
        aged = Aged.fresh(self.rules, self.before_days())
        budgets = self.budgets(label)
        over = budgets <= 0
        aged.ended_s[over] = came_s + budgets[over] * SECONDS_PER_DAY
        return aged


def ways_of(
    label: LabelLife,
    energy_j_mol: float | None,
    *,
    arrived_warm: bool,
    white: Counted | None = None,
) -> Ways:
    """Return the ways in which a unit's life may have gone.

    Parameters
    ----------
    label : LabelLife
        The life it came with; two readings of its temperature are two ways.
    energy_j_mol : float or None
        The user's own activation energy; None: the interval of it is a cause of doubt.
    arrived_warm : bool
        Whether it came warm, nobody knows for how long.
    white : Counted or None
        The life it counts as having come with by its white; its two ends are a cause of doubt.
    """
    temps_c = tuple(reading.temp_c for reading in label.readings)
    ways = _ways(temps_c, energy_j_mol, arrived_warm)
    return ways if white is None else _by_white(ways, white)


@cache
def _ways(label_temps_c: tuple[float, ...], own: float | None, arrived_warm: bool) -> Ways:
    energy = own or ACTIVATION_ENERGY.value
    label_c = label_temps_c[0]
    likely_warm_s = WARM_ARRIVAL_LIKELY.value if arrived_warm else 0.0
    rules = [Rule(LIKELY, label_c, energy)]
    warm_s = [likely_warm_s]
    causes: dict[Cause, tuple[int, ...]] = {}

    def add(cause: Cause, more: list[Rule], warm: tuple[float, ...] = ()) -> None:
        causes[cause] = tuple(range(len(rules), len(rules) + len(more)))
        rules.extend(more)
        warm_s.extend(warm or [likely_warm_s] * len(more))

    spread_k = SENSOR_SPREAD.value
    add("sensor", [Rule(Kind("likely", at_k), label_c, energy) for at_k in (-spread_k, spread_k)])
    if len(label_temps_c) > 1:
        add("label temperature", [Rule(LIKELY, temp_c, energy) for temp_c in label_temps_c[1:]])
    if own is None:
        ends = (ACTIVATION_ENERGY_LOW.value, ACTIVATION_ENERGY_HIGH.value)
        add("activation energy", [Rule(LIKELY, label_c, end) for end in ends])
    add("gaps", [Rule(Kind(gaps), label_c, energy) for gaps in ("best", "worst")])
    if arrived_warm:
        add("warm arrival", [rules[0]] * 2, (0.0, WARM_ARRIVAL_LONGEST.value))
    return Ways(
        tuple(rules), tuple(warm_s), causes, (0, *causes.get("label temperature", ()))
    )  # fmt: skip


def _by_white(ways: Ways, white: Counted) -> Ways:
    """The same ways with the life that the white tells, and a way for each end of that."""
    known = len(ways.rules)
    return replace(
        ways,
        rules=(*ways.rules, ways.rules[0], ways.rules[0]),
        warm_s=(*ways.warm_s, ways.warm_s[0], ways.warm_s[0]),
        causes={**ways.causes, "paper white": (known, known + 1)},
        white_days=(*[white.likely] * known, white.low, white.high),
    )
