"""What is ahead of a unit: the temperatures it will stand at, and when its life then runs out."""

import math
from bisect import bisect_right
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field

import numpy as np

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.course import Floats
from stockroom.core.climate.visits import Rule
from stockroom.units import SECONDS_PER_DAY


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    """What is ahead, as stretches of one ageing rate each; the last one is without end.

    Attributes
    ----------
    from_s : float64 array (m,)
        Start of each stretch, s UTC, rising.
    rates : callable
        Gives the days of life used a day in each stretch, by a rule: float64 array (m,).
    key : hashable
        What it was made of: two with the same key say the same.
    """

    from_s: Floats
    rates: Callable[[Rule], Floats]
    key: Hashable
    _used: dict[Rule, tuple[list[float], list[float]]] = field(default_factory=dict)

    def runs_out_s(self, left_days: float, rule: Rule) -> float:
        """Return the instant at which a life is used up, s UTC.

        Parameters
        ----------
        left_days : float
            Days of label life left at the start; nothing left ends there.
        rule : Rule
        """
        if left_days <= 0:
            return float(self.from_s[0])
        if rule not in self._used:
            k = self.rates(rule)
            used = np.cumsum(k[:-1] * np.diff(self.from_s)) / SECONDS_PER_DAY
            self._used[rule] = (k.tolist(), [0.0, *used.tolist()])
        rates, upto = self._used[rule]
        at = bisect_right(upto, left_days) - 1
        if rates[at] <= 0:
            return math.inf
        return float(self.from_s[at] + (left_days - upto[at]) / rates[at] * SECONDS_PER_DAY)


def steady(now_s: float, temp_c: float) -> Ahead:
    """Return one temperature for ever; what the sensor is off counts here too.

    >>> from stockroom.core.climate.bodies import LIKELY
    >>> steady(0.0, 10.0).runs_out_s(10.0, Rule(LIKELY, 10.0, 85_000)) / 86_400
    10.0
    """
    return planned([(now_s, temp_c)])


def planned(plan: Sequence[tuple[float, float]]) -> Ahead:
    """Return where it will stand: from when (s UTC, rising), at which temperature (°C)."""
    temps_c = np.array([temp_c for _, temp_c in plan])

    def rates(rule: Rule) -> Floats:
        return rate(temps_c + rule.kind.offset_k, rule.label_temp_c, rule.energy_j_mol)

    return Ahead(np.array([float(from_s) for from_s, _ in plan]), rates, tuple(plan))
