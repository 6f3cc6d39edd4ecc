"""Many units through many places: the life each used, from look-ups and short curves."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import groupby, pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.bodies import LIKELY, Kind, PlaceAir, step_of
from stockroom.core.climate.course import Floats
from stockroom.core.climate.lag import SETTLED
from stockroom.core.climate.sums import Track
from stockroom.units import SECONDS_PER_DAY

_LEAST_K = 1e-4
"""A difference to the air that is not followed, K (our choice: 1e-5 of the rate)."""
_AT_ONCE = 1_000_000
"""Temperatures held at a time while curves are added up."""
_HALVINGS = 32
"""Halvings of a stay in search of an instant: ten years come down to less than a second."""


class Visit(NamedTuple):
    """A unit at a place: which one, its lag there (s, of the ladder), from when to when (s UTC)."""

    place: str
    tau_s: float
    from_s: float
    to_s: float


class Rule(NamedTuple):
    """One way to turn temperature into life: what is believed, label temperature, energy."""

    kind: Kind
    label_temp_c: float
    energy_j_mol: float


@dataclass(frozen=True, slots=True, eq=False)
class Aged:
    """What a unit has behind it after its visits.

    Attributes
    ----------
    used_days : float64 array (r,)
        Days of label life used, for each of its rules.
    ended_s : float64 array (r,)
        When its life was used up, s UTC; NaN where it was not.
    inside_c : dict
        The temperature inside it at the end, °C, for each kind of belief.
    filled_days, filled_s, total_s : float
        Of the life used by the first rule, and of the time, what rests on a belief; all the time.
    """

    used_days: Floats
    ended_s: Floats
    inside_c: Mapping[Kind, float] = field(default_factory=dict)
    filled_days: float = 0.0
    filled_s: float = 0.0
    total_s: float = 0.0

    @staticmethod
    def fresh(rules: Sequence[Rule], used_days: Floats | None = None) -> "Aged":
        """Return a unit that has been nowhere yet, with what it used before it came."""
        used = np.zeros(len(rules)) if used_days is None else used_days
        return Aged(used, np.full(len(rules), np.nan))


@dataclass(frozen=True, slots=True, eq=False)
class Journey:
    """What is asked of one unit: where it goes on from, where it stood since, and its rules.

    Attributes
    ----------
    visits : sequence of Visit
        In order of time.
    rules : tuple of Rule
    budget_days : float64 array (r,)
        The life it has for each rule; infinite where nobody asks when it ended.
    """

    start: Aged
    visits: Sequence[Visit]
    rules: tuple[Rule, ...]
    budget_days: Floats


def age(journeys: Sequence[Journey], airs: Mapping[str, PlaceAir]) -> list[Aged]:
    """Return what each unit has behind it at the end of its visits.

    All visits to one place by units that lag alike are reckoned together. The temperature inside
    is carried from visit to visit; a unit that was nowhere before comes as warm as one that has
    always stood there.

    Parameters
    ----------
    journeys : sequence of Journey
    airs : mapping
        The air of each place, over all visits there.
    """
    flat = _Flat(journeys, airs)
    flat.follow()
    flat.carry()
    flat.add_up()
    return flat.outcomes()


def over_time(
    visits: Sequence[Visit],
    airs: Mapping[str, PlaceAir],
    rules: tuple[Rule, ...],
    points: int = 200,
) -> tuple[Floats, Floats]:
    """Return instants (s UTC) and the life used up to each by each rule (days, shape (n, r)).

    Parameters
    ----------
    visits : sequence of Visit
        Of one unit, in order of time.
    airs : mapping
        The air of each place.
    rules : tuple of Rule
    points : int
        How many instants, evenly spread; the ends of visits come on top.
    """
    if not visits:
        return np.empty(0), np.empty((0, len(rules)))
    even_s = np.linspace(visits[0].from_s, visits[-1].to_s, points)
    parts = []
    for visit in visits:
        inner = even_s[(even_s > visit.from_s) & (even_s < visit.to_s)]
        knots = [visit.from_s, *inner.tolist(), visit.to_s]
        parts += [visit._replace(from_s=a, to_s=b) for a, b in pairwise(knots)]
    journey = Journey(Aged.fresh(rules), parts, rules, np.full(len(rules), np.inf))
    flat = _Flat([journey], airs)
    flat.carry()
    flat.add_up()
    ends_s = [part.to_s for part in parts]
    return np.array([visits[0].from_s, *ends_s]), np.vstack(
        [np.zeros(len(rules)), np.cumsum(flat.used, axis=0)]
    )


class _Flat:
    """All visits of all journeys in one row, reckoned in groups that lag alike in one place."""

    def __init__(self, journeys: Sequence[Journey], airs: Mapping[str, PlaceAir]) -> None:
        self.journeys, self.airs = journeys, airs
        self.first = np.cumsum([0, *(len(journey.visits) for journey in journeys)])
        visits = [visit for journey in journeys for visit in journey.visits]
        self.visits = visits
        self.owner = np.repeat(np.arange(len(journeys)), np.diff(self.first))
        self.from_s = np.array([visit.from_s for visit in visits], dtype=np.float64)
        self.to_s = np.array([visit.to_s for visit in visits], dtype=np.float64)
        self.kinds = list(
            dict.fromkeys(
                rule.kind for rules in {j.rules for j in journeys} for rule in rules
            )
        )  # fmt: skip
        width = max((len(journey.rules) for journey in journeys), default=0)
        self.begin_c = {kind: np.full(len(visits), np.nan) for kind in self.kinds}
        self.end_c = {kind: np.full(len(visits), np.nan) for kind in self.kinds}
        self.used = np.zeros((len(visits), width))
        self.filled_days = np.zeros(len(visits))
        self.filled_s = np.zeros(len(visits))

    def follow(self) -> None:
        """Follow the bodies that are asked for, all lags of a place over one reading of its air."""
        lags: dict[str, list[float]] = {}
        for place, tau_s in dict.fromkeys((visit.place, visit.tau_s) for visit in self.visits):
            lags.setdefault(place, []).append(tau_s)
        for place, taus in lags.items():
            for kind in self.kinds:
                for tau_s in taus:
                    self.airs[place].track(kind, tau_s)
            self.airs[place].forget()

    def carry(self) -> None:
        """Find the temperature inside at both ends of every visit, wave by wave."""
        counts = np.diff(self.first)
        for wave in range(int(counts.max(initial=0))):
            at = self.first[:-1][counts > wave] + wave
            for (place, tau_s), which in self._groups(at):
                for kind in self.kinds:
                    track = self.airs[place].track(kind, tau_s)
                    a, b = self.from_s[which], self.to_s[which]
                    settled_c = track.temp_at(a)
                    begin = self._begin(kind, which, wave)
                    begin = np.where(np.isnan(begin), settled_c, begin)
                    self.begin_c[kind][which] = begin
                    end = track.temp_at(b)
                    if tau_s:
                        end = end + (begin - settled_c) * np.exp(-(b - a) / tau_s)
                    self.end_c[kind][which] = end

    def _begin(self, kind: Kind, which: NDArray[np.int64], wave: int) -> Floats:
        """The temperature inside as it came, °C; NaN where nobody knows."""
        if wave:
            return self.end_c[kind][which - 1]
        owners = self.owner[which].tolist()
        return np.array([self.journeys[at].start.inside_c.get(kind, np.nan) for at in owners])

    def add_up(self) -> None:
        """Add up the life of every visit."""
        rules = [self.journeys[at].rules for at in self.owner.tolist()]
        everything = np.arange(len(self.visits))
        for (place, tau_s), which in self._groups(everything):
            air = self.airs[place]
            self.filled_s[which] = air.track(LIKELY, tau_s).filled_s(
                self.from_s[which], self.to_s[which]
            )
            by_rules: dict[tuple[Rule, ...], list[int]] = {}
            for at in which.tolist():
                by_rules.setdefault(rules[at], []).append(at)
            for asked, members in by_rules.items():
                some = np.array(members)
                days, filled = self._life(air, tau_s, asked, some, self.to_s[some])
                self.used[some, : len(asked)] = days
                self.filled_days[some] = filled
            air.forget()

    def _life(
        self,
        air: PlaceAir,
        tau_s: float,
        rules: tuple[Rule, ...],
        which: NDArray[np.int64],
        to_s: Floats,
    ) -> tuple[Floats, Floats]:
        """Return the life of some visits up to some instants, and the first rule's filled part."""
        a = self.from_s[which]
        days = np.zeros((len(which), len(rules)))
        filled = np.zeros(len(which))
        for kind in dict.fromkeys(rule.kind for rule in rules):
            columns = [at for at, rule in enumerate(rules) if rule.kind == kind]
            track = air.track(kind, tau_s)
            settled, bends = a.copy(), np.zeros(len(a), np.bool_)
            apart = np.zeros(len(a))
            if tau_s:
                apart = self.begin_c[kind][which] - track.temp_at(a)
                bends = np.abs(apart) > _LEAST_K
                settled[bends] = np.minimum(to_s, a + SETTLED * tau_s)[bends]
            for column in columns:
                rule = rules[column]
                sums = air.sums(kind, tau_s, rule.label_temp_c, rule.energy_j_mol)
                used, believed = sums.used_and_filled(settled, to_s)
                days[:, column] = used
                if column == 0:
                    filled += believed
            if bends.any():
                asked = [rules[column] for column in columns]
                curve, believed = _curves(
                    track, tau_s, a[bends], settled[bends], apart[bends], asked
                )
                days[np.ix_(np.flatnonzero(bends), np.array(columns))] += curve
                if columns[0] == 0:
                    filled[bends] += believed
        return days, filled

    def _groups(
        self, at: NDArray[np.int64]
    ) -> Iterable[tuple[tuple[str, float], NDArray[np.int64]]]:
        def key(index: int) -> tuple[str, float]:
            visit = self.visits[index]
            return visit.place, visit.tau_s

        for group, members in groupby(sorted(at.tolist(), key=key), key):
            yield group, np.array(list(members))

    def outcomes(self) -> list[Aged]:
        """Return what each unit has behind it; the life of each visit must be added up."""
        ended = self._ended()
        made = []
        for number, journey in enumerate(self.journeys):
            start, n_rules = journey.start, len(journey.rules)
            span = slice(self.first[number], self.first[number + 1])
            inside = start.inside_c
            if span.start < span.stop:
                inside = {kind: float(self.end_c[kind][span.stop - 1]) for kind in self.kinds}
            made.append(
                Aged(
                    start.used_days + self.used[span, :n_rules].sum(axis=0),
                    ended[number],
                    inside,
                    start.filled_days + float(self.filled_days[span].sum()),
                    start.filled_s + float(self.filled_s[span].sum()),
                    start.total_s + float((self.to_s[span] - self.from_s[span]).sum()),
                )
            )
        return made

    def _ended(self) -> list[Floats]:
        """When each life was used up; found by halving, for all at once that ended in a group."""
        ended = [journey.start.ended_s.copy() for journey in self.journeys]
        wanted: dict[tuple[str, float, tuple[Rule, ...]], list[tuple[int, int, float]]] = {}
        for number, journey in enumerate(self.journeys):
            if not len(journey.visits):
                continue
            first, last = self.first[number], self.first[number + 1]
            upto = journey.start.used_days + np.cumsum(
                self.used[first:last, : len(journey.rules)], axis=0
            )
            over = (upto[-1] >= journey.budget_days) & np.isnan(ended[number])
            for column in np.flatnonzero(over).tolist():
                at = int(np.argmax(upto[:, column] >= journey.budget_days[column]))
                before = upto[at - 1, column] if at else journey.start.used_days[column]
                left = float(journey.budget_days[column] - before)
                if left <= 0:
                    ended[number][column] = self.from_s[first + at]
                    continue
                visit = self.visits[first + at]
                key = (visit.place, visit.tau_s, (journey.rules[column],))
                wanted.setdefault(key, []).append((int(first + at), column, left))
        for (place, tau_s, rules), items in wanted.items():
            which = np.array([item[0] for item in items])
            asked = np.array([item[2] for item in items])
            low, high = self.from_s[which].copy(), self.to_s[which].copy()
            for _ in range(_HALVINGS):
                middle = (low + high) / 2
                days, _ = self._life(self.airs[place], tau_s, rules, which, middle)
                short = days[:, 0] < asked
                low, high = np.where(short, middle, low), np.where(short, high, middle)
            for (at, column, _), end_s in zip(items, high.tolist(), strict=True):
                ended[int(self.owner[at])][column] = end_s
        return ended


def _curves(
    track: Track, tau_s: float, a: Floats, b: Floats, apart_k: Floats, rules: Sequence[Rule]
) -> tuple[Floats, Floats]:
    """Return the life of bodies that come ``apart_k`` from the one that always stood there.

    Also what of it, by the first rule, rests on a belief. By the trapezoid in steps of `step_of`.
    """
    step_s = step_of(tau_s)
    most = max(1, int(np.ceil((b - a).max() / step_s)))
    days = np.zeros((len(a), len(rules)))
    filled = np.zeros(len(a))
    rows = max(1, _AT_ONCE // (most + 1))
    for begin in range(0, len(a), rows):
        some = slice(begin, begin + rows)
        from_s = a[some, None]
        at_s = np.minimum(from_s + step_s * np.arange(most + 1), b[some, None])
        piece = track.piece_at(at_s)
        temp_c = track.temp_in(piece, at_s) + apart_k[some, None] * np.exp(-(at_s - from_s) / tau_s)
        length_s = np.diff(at_s, axis=1)
        for column, rule in enumerate(rules):
            k = rate(temp_c, rule.label_temp_c, rule.energy_j_mol)
            life = (k[:, :-1] + k[:, 1:]) / 2 * length_s / SECONDS_PER_DAY
            days[some, column] = life.sum(axis=1)
            if column == 0:
                filled[some] = (life * track.course.filled[piece[:, :-1]]).sum(axis=1)
    return days, filled
