"""Paper white: what measured, processed patches say of a roll's life, the process taken out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np

from stockroom.core.climate.course import Floats
from stockroom.core.facts import (
    WHITE_DOUBT,
    WHITE_LIFE_SD_EMULSION,
    WHITE_LIFE_SD_MATERIAL,
    WHITE_OUTLIER,
    WHITE_SCATTER,
    WHITE_SCATTER_SD,
    WHITE_SPOT_SD_B,
    WHITE_SPOT_SD_DENSITY,
    WHITE_STRIP_SD_B,
    WHITE_STRIP_SD_DENSITY,
    WHITE_SUSPECT,
    WHITE_TAIL_SCALE,
    WHITE_TELLS,
)
from stockroom.core.freshness.growth import (
    LIFE_SD,
    LN_LIFE,
    Heard,
    Track,
    expected,
    hear,
    log_evidence,
    posterior,
    quantiles,
    tail_weight,
)
from stockroom.core.freshness.ways import Counted
from stockroom.units import SECONDS_PER_DAY

Quantity = Literal["b*", "density"]
Telling = Literal["baseline", "counts", "no control", "control unknown"]
Judgement = Literal["fine", "watch", "act", "ask"]


class Series(NamedTuple):
    """What makes two readings comparable: only those alike in all of it ever are."""

    quantity: Quantity
    instrument: str
    measuring: str
    backing: str


@dataclass(frozen=True, slots=True)
class WhiteReading:
    """One processed, unexposed patch, and the control of the same run.

    Attributes
    ----------
    key, unit, lot, material : str
        Its own code; the roll, its emulsion and its paper.
    at_s : int
        When, s UTC.
    age_days : float
        The roll's effective age then, days of label life.
    value : float
        b* or blue density of the patch.
    series : Series
    control : str
        What served as the control; "" for none.
    control_value : float or None
        The same quantity of the control.
    spots : int
        Places averaged.
    """

    key: str
    unit: str
    lot: str
    material: str
    at_s: int
    age_days: float
    value: float
    series: Series
    control: str = ""
    control_value: float | None = None
    spots: int = 1


@dataclass(frozen=True, slots=True)
class Drift:
    """One reading against the emulsion's first patch.

    Attributes
    ----------
    reading, base : WhiteReading
        The reading, and the emulsion's first patch of that series.
    telling : str
        Whether it counts, and if not why: without a control, or with one that nothing ties to the
        baseline's, nobody can tell paper from chemistry.
    raw : float
        Patch less first patch.
    process : float
        What the control moved by meanwhile: that is the process.
    own : float
        Raw less process: what the paper itself did.
    """

    reading: WhiteReading
    base: WhiteReading
    telling: Telling
    raw: float
    process: float = 0.0

    @property
    def own(self) -> float:
        """What the paper itself did."""
        return self.raw - self.process

    @property
    def counts(self) -> bool:
        """Whether it says something of the paper."""
        return self.telling in ("baseline", "counts")


@dataclass(frozen=True, slots=True)
class Paper:
    """What the label of a roll says: its whole life (days), and its act limit by quantity."""

    unit: str
    lot: str
    material: str
    label_days: float
    act: Mapping[Quantity, float]


@dataclass(frozen=True, slots=True, eq=False)
class WhiteLife:
    """What its white says of a roll's whole life, in days of label life.

    Attributes
    ----------
    median_days, low_days, high_days : float
        The likely life, and the interval that holds it with 90 %.
    drifts : tuple of Drift
        Every reading of it, first to last.
    odd : tuple of str
        Keys of readings that do not go with the rest; they are left out.
    residuals : mapping of str to float
        By reading, how many sd it lies off what the others lead to expect.
    narrowed : float
        How much narrower the interval is than before anything was measured, 0 to 1.
    pooled_from : int
        Other rolls of the paper whose readings weighed in.
    """

    median_days: float
    low_days: float
    high_days: float
    drifts: tuple[Drift, ...]
    odd: tuple[str, ...]
    residuals: Mapping[str, float]
    narrowed: float
    pooled_from: int

    @property
    def tells(self) -> bool:
        """Whether enough was measured for it to stand beside the label."""
        return self.narrowed >= WHITE_TELLS.value

    @property
    def last(self) -> Drift | None:
        """The last reading that says something of the paper."""
        told = [drift for drift in self.drifts if drift.counts]
        return told[-1] if told else None


def noise_sd(quantity: Quantity, spots: int) -> float:
    """Return the sd of one own drift: a patch and a control, each of so many averaged spots.

    >>> round(noise_sd("b*", 1), 3), round(noise_sd("b*", 4), 3)
    (0.148, 0.082)
    """
    spot, strip = (
        (WHITE_SPOT_SD_B, WHITE_STRIP_SD_B)
        if quantity == "b*"
        else (WHITE_SPOT_SD_DENSITY, WHITE_STRIP_SD_DENSITY)
    )
    return float(np.sqrt(2 * (spot.value**2 / max(1, spots) + strip.value**2)))


def own_drift(readings: Iterable[WhiteReading]) -> list[Drift]:
    """Return each reading against its emulsion's first patch, the process taken out.

    ``own = (patch - first patch) - (control - first control)``, in one series only. The first
    patch with a control is the emulsion's baseline. A control that is not the baseline's is tied
    to it where both were measured within a day; otherwise the reading counts for nothing.

    Parameters
    ----------
    readings : iterable of WhiteReading
        Of any rolls, in any order.

    Returns
    -------
    list of Drift
        In order of time.
    """
    ordered = sorted(readings, key=lambda item: (item.at_s, item.key))
    process = _process(ordered)
    bases: dict[tuple[str, Series], WhiteReading] = {}
    for item in ordered:
        if item.control_value is not None:
            bases.setdefault((item.lot, item.series), item)
    found = []
    for item in ordered:
        base = bases.get((item.lot, item.series), item)
        raw = item.value - base.value
        if item.control_value is None:
            found.append(Drift(item, base, "no control", raw))
        elif item is base:
            found.append(Drift(item, base, "baseline", 0.0))
        elif item.key in process and base.key in process and _tied(process, item, base):
            moved = process[item.key].offset - process[base.key].offset
            found.append(Drift(item, base, "counts", raw, moved))
        else:
            found.append(Drift(item, base, "control unknown", raw))
    return found


class _Process(NamedTuple):
    """How far the process stood from where a chain of controls began."""

    chain: int
    offset: float


def _tied(process: Mapping[str, _Process], item: WhiteReading, base: WhiteReading) -> bool:
    return process[item.key].chain == process[base.key].chain


def _process(ordered: Sequence[WhiteReading]) -> dict[str, _Process]:
    """Return for each reading with a control how far the process stood then.

    A control counts from its own first value. One that comes later is tied to another that was
    measured within a day of its first time; untied, it begins a chain of its own.
    """
    first: dict[tuple[Series, str], tuple[float, _Process]] = {}
    seen: dict[Series, list[tuple[int, str, _Process]]] = {}
    found: dict[str, _Process] = {}
    chains = 0
    for item in ordered:
        if item.control_value is None:
            continue
        about = (item.series, item.control)
        if about not in first:
            near = [
                (at_s, stood)
                for at_s, name, stood in seen.get(item.series, ())
                if name != item.control and item.at_s - at_s <= SECONDS_PER_DAY
            ]
            if near:
                begins = near[-1][1]
            else:
                chains += 1
                begins = _Process(chains, 0.0)
            first[about] = (item.control_value, begins)
        value, begins = first[about]
        stood = _Process(begins.chain, begins.offset + item.control_value - value)
        found[item.key] = stood
        seen.setdefault(item.series, []).append((item.at_s, item.control, stood))
    return found


def white_lives(papers: Sequence[Paper], readings: Sequence[WhiteReading]) -> dict[str, WhiteLife]:
    """Return what white says of the lives of rolls, those of one emulsion and paper leaning on
    each other a little.

    ``b(a) = b0 + D (a / L)^p`` with D the act limit; a grid over ln L and p, b0 integrated out,
    readings scattered by Student's t (`stockroom.core.freshness.growth`). Before its own readings
    the life of a roll is normal in its logarithm about the label's, with parts for the paper, the
    emulsion and the roll; what other rolls showed moves the first two (a Gaussian with one of
    them left out at a time).

    Parameters
    ----------
    papers : sequence of Paper
        Rolls to tell of; one without readings is told of where its emulsion has some.
    readings : sequence of WhiteReading
        Of any of these rolls.

    Returns
    -------
    dict
        By unit.
    """
    drifts: dict[str, list[Drift]] = {}
    for drift in own_drift(readings):
        drifts.setdefault(drift.reading.unit, []).append(drift)
    heard: dict[str, _Own] = {}
    for paper in papers:
        mine = drifts.get(paper.unit, [])
        if sum(drift.counts for drift in mine) >= 2 or _against_others(mine):
            heard[paper.unit] = _heard(paper, mine)
    by_material: dict[str, list[Paper]] = {}
    for paper in papers:
        by_material.setdefault(paper.material, []).append(paper)
    found: dict[str, WhiteLife] = {}
    for some in by_material.values():
        known = [paper for paper in some if paper.unit in heard]
        if known:
            found |= _pooled(some, known, heard, drifts)
        for paper in some:
            if paper.unit not in found and paper.unit in drifts:
                found[paper.unit] = _unmoved(paper, drifts[paper.unit])
    return found


def decided(
    life: WhiteLife,
    label_days: float,
    word_days: float | None = None,
    over_days: float | None = None,
) -> Counted | None:
    """Return the whole life that counts, days; None where the label stands as it is.

    The white shortens at once. It lengthens only by a person's word, and never beyond what it
    showed when that was given. Where a patch that is not odd reached the act limit at an effective
    age of `over_days`, life is over by then, however little else was measured.

    >>> def told(days):
    ...     return WhiteLife(days, days * 0.8, days * 1.3, (), (), {}, 0.5, 0)
    >>> decided(told(500.0), 730.0).likely, decided(told(900.0), 730.0)
    (500.0, None)
    >>> decided(told(900.0), 730.0, 850.0).likely
    850.0
    """
    if over_days is not None:
        over = min(over_days, label_days)
        return Counted(over, min(life.low_days, over), over)
    if not life.tells:
        return None
    most = label_days if word_days is None else max(label_days, word_days)
    if word_days is None and life.median_days >= label_days:
        return None
    likely = min(life.median_days, most)
    return Counted(
        likely,
        min(life.low_days, likely),
        max(likely, min(life.high_days, most)),
        word_days is not None and likely > label_days,
    )


def judged(drift: Drift | None, watch: float, act: float, *, odd: bool) -> Judgement:
    """Return what a last own drift asks for: nothing, to be watched, to stop, or a strip.

    >>> base = WhiteReading("1", "2", "3", "4", 0, 0.0, -2.4, Series("b*", "x", "M1", "white"))
    >>> [judged(Drift(base, base, "counts", raw), 0.7, 1.5, odd=False) for raw in (0.2, 0.7, 1.5)]
    ['fine', 'watch', 'act']
    >>> judged(Drift(base, base, "counts", 1.8), 0.7, 1.5, odd=True)
    'ask'
    """
    if odd:
        return "ask"
    if drift is None:
        return "fine"
    if not drift.counts:
        return "ask" if drift.raw >= watch else "fine"
    own = round(drift.own, 6)
    return "act" if own >= act else "watch" if own >= watch else "fine"


# --- a roll by itself, then with the others ---------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Own:
    """What a roll's own readings say, odd ones left out."""

    heard: Heard
    odd: tuple[str, ...]
    residuals: dict[str, float]
    centre: float
    variance: float


def _against_others(drifts: Sequence[Drift]) -> bool:
    """Whether one reading alone tells something: it is held against another roll's first patch."""
    return any(drift.telling == "counts" for drift in drifts)


def _tracks(paper: Paper, drifts: Sequence[Drift]) -> tuple[list[Track], list[list[str]]]:
    by_series: dict[Series, list[Drift]] = {}
    for drift in drifts:
        if drift.counts:
            by_series.setdefault(drift.reading.series, []).append(drift)
    tracks, keys = [], []
    for series, some in by_series.items():
        spots = min(drift.reading.spots for drift in some)
        tracks.append(
            Track(
                np.array([drift.own for drift in some]),
                np.array([drift.reading.age_days for drift in some]),
                some[0].base.age_days,
                noise_sd(series.quantity, spots),
                paper.act[series.quantity],
            )
        )
        keys.append([drift.reading.key for drift in some])
    return tracks, keys


def _heard(paper: Paper, drifts: Sequence[Drift]) -> _Own:
    """Hear a roll's readings, leaving out one at a time those that go with none of the rest."""
    stated, keys = _tracks(paper, drifts)
    counted = [np.ones(len(track.drift)) for track in stated]
    total = sum(len(track.drift) for track in stated)
    odd: list[str] = []
    while True:
        tracks, heard = _as_scattered(stated, counted, paper.label_days)
        residuals = _residuals(tracks, counted, heard, paper.label_days)
        worst, number, place = max(
            (
                (abs(float(off)), number, place)
                for number, offs in enumerate(residuals)
                for place, off in enumerate(offs)
                if counted[number][place]
            ),
            default=(0.0, 0, 0),
        )
        weight = float(tail_weight(np.array(worst)))
        if weight >= WHITE_OUTLIER.value or len(odd) >= total // 3:
            break
        counted[number][place] = 0.0
        odd.append(keys[number][place])
    centre, variance = _moments(posterior(heard, 0.0, LIFE_SD))
    flat = {
        key: float(off)
        for names, offs in zip(keys, residuals, strict=True)
        for key, off in zip(names, offs, strict=True)
    }
    return _Own(heard, tuple(odd), flat, centre, variance)


def _as_scattered(
    stated: Sequence[Track], counted: Sequence[Floats], label_days: float
) -> tuple[list[Track], Heard]:
    """The tracks at the scatter that the readings make likeliest, and what they say at any.

    An instrument and a pair of hands scatter as they do; the stated noise is where one begins.
    """
    number = float(sum(counts.sum() for counts in counted))
    tried: list[tuple[float, list[Track], Heard]] = []
    told = []
    for scale in WHITE_SCATTER:
        tracks = [replace(track, sd=track.sd * scale * WHITE_TAIL_SCALE.value) for track in stated]
        heard = hear(tracks, counted, label_days)
        off = float(np.log(scale))
        weight = -number * off - 0.5 * (off / WHITE_SCATTER_SD.value) ** 2
        tried.append((log_evidence(heard) + weight, tracks, heard))
        told.append(heard.log_chance + weight)
    _, tracks, heard = max(tried, key=lambda one: one[0])
    top = np.max(told, axis=0)
    return tracks, replace(heard, log_chance=top + np.log(np.exp(np.array(told) - top).sum(axis=0)))


def _residuals(
    tracks: Sequence[Track], counted: Sequence[Floats], heard: Heard, label_days: float
) -> list[Floats]:
    """How many sd each reading lies off what is expected; a suspect one, by the others alone."""
    found = []
    chance = posterior(heard, 0.0, LIFE_SD)
    for number, (track, (mean, spread)) in enumerate(
        zip(tracks, expected(heard, chance), strict=True)
    ):
        offs = (track.drift - mean) / np.sqrt(spread + track.sd**2)
        plain = (track.drift - mean) / track.sd
        for place in np.flatnonzero(tail_weight(plain) < WHITE_SUSPECT.value):
            others = [counts.copy() for counts in counted]
            others[number][place] = 0.0
            if not any(counts.any() for counts in others):
                continue
            alone = hear(tracks, others, label_days)
            middle, wide = expected(alone, posterior(alone, 0.0, LIFE_SD))[number]
            sd = float(np.sqrt(wide[place] + track.sd**2))
            offs[place] = (track.drift[place] - middle[place]) / sd
        found.append(offs)
    return found


def _moments(chance: Floats) -> tuple[float, float]:
    weights = chance.sum(axis=1)
    mean = float(weights @ LN_LIFE)
    return mean, float(weights @ (LN_LIFE - mean) ** 2)


def _pooled(
    some: Sequence[Paper],
    known: Sequence[Paper],
    heard: Mapping[str, _Own],
    drifts: Mapping[str, list[Drift]],
) -> dict[str, WhiteLife]:
    """The rolls of one paper, each seen before its own readings as the others lead to expect."""
    prior = LIFE_SD**2
    own_var = np.array([_likelihood_var(heard[paper.unit].variance) for paper in known])
    own_at = np.array(
        [
            heard[paper.unit].centre * var / heard[paper.unit].variance
            for paper, var in zip(known, own_var, strict=True)
        ]
    )
    shared = _covariance(known, known)
    np.fill_diagonal(shared, prior)
    inverse = np.linalg.inv(shared + np.diag(own_var))
    weighed = inverse @ own_at
    places = {paper.unit: place for place, paper in enumerate(known)}
    lots = {paper.lot for paper in known}
    found = {}
    for paper in some:
        if paper.unit in places:
            at = places[paper.unit]
            mean = float(own_at[at] - weighed[at] / inverse[at, at])
            var = float(np.clip(1 / inverse[at, at] - own_var[at], 1e-6, prior))
            own = heard[paper.unit]
            chance = posterior(own.heard, mean, float(np.sqrt(var)))
            low, middle, high = quantiles(chance, (0.05, 0.5, 0.95))
            odd, residuals, others = own.odd, own.residuals, len(known) - 1
        elif paper.lot in lots:
            to_known = _covariance([paper], known)[0]
            mean = float(to_known @ weighed)
            var = float(np.clip(prior - to_known @ inverse @ to_known, 1e-6, prior))
            reach = _REACH * float(np.sqrt(var))
            low, middle, high = mean - reach, mean, mean + reach
            odd, residuals, others = (), {}, len(known)
        else:
            continue
        label = paper.label_days
        doubt = _REACH * WHITE_DOUBT.value
        low = middle - float(np.hypot(middle - low, doubt))
        high = middle + float(np.hypot(high - middle, doubt))
        found[paper.unit] = WhiteLife(
            label * float(np.exp(middle)),
            label * float(np.exp(low)),
            label * float(np.exp(high)),
            tuple(drifts.get(paper.unit, ())),
            odd,
            residuals,
            max(0.0, 1 - float(high - low) / (2 * _REACH * LIFE_SD)),
            others,
        )
    return found


_REACH = 1.6448536269514722
"""Half of an interval that holds 90 % of a normal, in sd."""


def _likelihood_var(variance: float) -> float:
    """The variance of a roll's own readings alone, from that with the prior in it."""
    precision = 1 / variance - 1 / LIFE_SD**2
    return 1 / precision if precision > 1e-3 else 1e3


def _covariance(rows: Sequence[Paper], columns: Sequence[Paper]) -> Floats:
    """What the lives of different rolls of one paper share, in ln life squared."""
    same = np.array([[row.lot == column.lot for column in columns] for row in rows])
    shared: Floats = np.where(same, WHITE_LIFE_SD_EMULSION.value**2, 0.0)
    return shared + WHITE_LIFE_SD_MATERIAL.value**2


def _unmoved(paper: Paper, drifts: Sequence[Drift]) -> WhiteLife:
    """A roll of which nothing measured tells yet."""
    label = paper.label_days
    spread = float(np.exp(_REACH * LIFE_SD))
    return WhiteLife(label, label / spread, label * spread, tuple(drifts), (), {}, 0.0, 0)
