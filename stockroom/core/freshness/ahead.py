"""What is ahead of a unit: the temperatures it will stand at, and when its life then runs out."""

import math
from bisect import bisect_right
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.course import Floats
from stockroom.core.climate.spectrum import Spectrum
from stockroom.core.climate.visits import Rule
from stockroom.core.constants import HORIZON, ROOM_TEMP
from stockroom.units import SECONDS_PER_DAY

KnownBy = Literal["set-point", "last year", "of late", "usual room"]
"""What the temperature ahead is taken from."""

YEAR_S = 365.25 * SECONDS_PER_DAY
SEASONS = 12
"""Parts of a year that are told apart (our choice: as long as a month)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ahead:
    """What is ahead, as stretches of one ageing rate each; the last one is without end.

    Attributes
    ----------
    from_s : tuple of float
        Start of each stretch, s UTC, rising; the first one is not after the present.
    rates : callable
        Gives the days of life used a day in each stretch, by a rule: float64 array (m,).
    key : hashable
        What it was made of: two with the same key say the same.
    known_by : KnownBy
        What it is taken from.
    days_out : float
        How many days of it are spent out of the place.
    """

    from_s: tuple[float, ...]
    rates: Callable[[Rule], Floats]
    key: Hashable
    known_by: KnownBy = "set-point"
    days_out: float = 0.0
    _used: dict[Rule, tuple[list[float], list[float]]] = field(default_factory=dict)

    def runs_out_s(self, left_days: float, rule: Rule, now_s: float) -> float:
        """Return the instant at which a life is used up, s UTC; infinity for never.

        Parameters
        ----------
        left_days : float
            Days of label life left; where nothing is left it is used up now.
        now_s : float
            The present, s UTC.
        """
        if left_days <= 0:
            return now_s
        if rule not in self._used:
            k = self.rates(rule)
            used = np.cumsum(k[:-1] * np.diff(self.from_s)) / SECONDS_PER_DAY
            self._used[rule] = (k.tolist(), [0.0, *used.tolist()])
        rates, upto = self._used[rule]
        now = bisect_right(self.from_s, now_s) - 1
        goal = left_days + upto[now] + rates[now] * (now_s - self.from_s[now]) / SECONDS_PER_DAY
        at = bisect_right(upto, goal) - 1
        if rates[at] <= 0:
            return math.inf
        return self.from_s[at] + (goal - upto[at]) / rates[at] * SECONDS_PER_DAY


def steady(temp_c: float, known_by: KnownBy = "set-point") -> Ahead:
    """Return one temperature for ever; what the sensor is off counts here too.

    >>> from stockroom.core.climate.bodies import LIKELY
    >>> steady(10.0).runs_out_s(10.0, Rule(LIKELY, 10.0, 85_000), 0.0) / 86_400
    10.0
    """

    def rates(rule: Rule) -> Floats:
        temps_c = np.array([temp_c + rule.kind.offset_k])
        return rate(temps_c, rule.label_temp_c, rule.energy_j_mol)

    return Ahead((0.0,), rates, temp_c, known_by)


def seasonal(spectrum: Spectrum, now_s: float, key: Hashable) -> Ahead:
    """Return a place's last year over and over, month by month.

    Parameters
    ----------
    spectrum : Spectrum
        Of the place's air over the year up to `now_s`.
    now_s : float
        The present, s UTC.
    key : hashable
        What the spectrum was made of.
    """
    part_s = YEAR_S / SEASONS
    before_s = now_s - YEAR_S + part_s * np.arange(SEASONS + 1)
    years = math.ceil(HORIZON.value * SECONDS_PER_DAY / YEAR_S)
    from_s = tuple((now_s + part_s * np.arange(SEASONS * years)).tolist())

    def rates(rule: Rule) -> Floats:
        used = spectrum.life(
            before_s[:-1], before_s[1:], rule.label_temp_c, rule.energy_j_mol, rule.kind.offset_k
        )
        return np.tile(used / (part_s / SECONDS_PER_DAY), years)

    return Ahead(from_s, rates, key, "last year")


def with_outings(ahead: Ahead, outings: Sequence[tuple[float, float]]) -> Ahead:
    """Return what is ahead of a unit that is out of its place for a while, in a usual room.

    Parameters
    ----------
    ahead : Ahead
        Of its place.
    outings : sequence of (from_s, to_s)
        When it is out, s UTC, not overlapping the present's past.
    """
    bounds = {bound for outing in outings for bound in outing}
    knots = sorted({*ahead.from_s, *(at for at in bounds if at > ahead.from_s[0])})
    base = [bisect_right(ahead.from_s, at) - 1 for at in knots]
    out = np.array([any(begin <= at < end for begin, end in outings) for at in knots])

    def rates(rule: Rule) -> Floats:
        warm = rate(ROOM_TEMP.value, rule.label_temp_c, rule.energy_j_mol)
        return np.where(out, warm, ahead.rates(rule)[base])

    days_out = sum(end - begin for begin, end in outings) / SECONDS_PER_DAY
    return Ahead(tuple(knots), rates, (ahead.key, tuple(outings)), ahead.known_by, days_out)
