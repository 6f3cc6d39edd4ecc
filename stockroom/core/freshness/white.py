"""Paper white: what measured, processed patches say of a roll's life, the process taken out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stockroom.core.climate.course import Floats
from stockroom.core.constants import (
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
from stockroom.core.freshness.drift import Drift, Quantity, Series, WhiteReading, own_drift
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

RUN_S = 43_200
"""Readings of one roll beside one control within so long are of one run, s (our choice)."""


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


def white_lives(
    papers: Sequence[Paper], readings: Sequence[WhiteReading], kept: "Kept | None" = None
) -> dict[str, WhiteLife]:
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
    kept : dict, optional
        What was heard of each roll before; used where it is of the same readings, and renewed.

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
        mine = [drift for drift in drifts.get(paper.unit, ()) if _tells(drift, paper)]
        if len(mine) >= 2 or _against_others(mine):
            heard[paper.unit] = _kept(paper, mine, kept)
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
    sound_days: float | None = None,
) -> Counted | None:
    """Return the whole life that counts, days; None where the label stands as it is.

    The white shortens at once. It lengthens only by a person's word, and never beyond what it
    showed when that was given. Where a patch that is not odd reached the act limit at an effective
    age of `over_days`, life is over by then, however little else was measured, and lasted until
    `sound_days`, when the patch before it was below the limit.

    >>> def told(days):
    ...     return WhiteLife(days, days * 0.8, days * 1.3, (), (), {}, 0.5, 0)
    >>> decided(told(500.0), 730.0).likely, decided(told(900.0), 730.0)
    (500.0, None)
    >>> decided(told(900.0), 730.0, 850.0).likely
    850.0
    """
    if over_days is not None:
        over = min(over_days, label_days)
        low = life.low_days if sound_days is None else sound_days
        return Counted(over, min(low, over), over)
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


# --- a roll by itself, then with the others ---------------------------------------------------


@dataclass(frozen=True, slots=True, eq=False)
class _Own:
    """What a roll's own readings say, odd ones left out."""

    heard: Heard
    odd: tuple[str, ...]
    residuals: dict[str, float]
    centre: float
    variance: float


Kept = dict[str, tuple[object, _Own]]
"""What was heard of rolls, with what it was made of."""


def _kept(paper: Paper, drifts: Sequence[Drift], kept: Kept | None) -> _Own:
    """What a roll's readings say, heard anew only where they changed."""
    if kept is None:
        return _heard(paper, drifts)
    made_of = (paper.label_days, tuple(paper.act.items()), tuple(drifts))
    known = kept.get(paper.unit)
    if known is None or known[0] != made_of:
        known = kept[paper.unit] = (made_of, _heard(paper, drifts))
    return known[1]


def _tells(drift: Drift, paper: Paper) -> bool:
    """Whether a reading bears on the life: one that is "at least so much" only where it is a lot.

    A roll that serves as control yellows too. Of what it hides nothing is known, so a small
    drift beside it is no sign of a long life.
    """
    if not drift.counts:
        return False
    return not drift.at_least or drift.own >= paper.act[drift.reading.series.quantity] / 2


def _against_others(drifts: Sequence[Drift]) -> bool:
    """Whether one reading alone tells something: it is held against another roll's first patch."""
    return any(drift.telling == "counts" for drift in drifts)


def _tracks(drifts: Sequence[Drift]) -> dict[Series, list[list[Drift]]]:
    """The readings by series, those of one run together: they share strip, process and hands."""
    found: dict[Series, list[list[Drift]]] = {}
    for drift in drifts:
        runs = found.setdefault(drift.reading.series, [])
        last = runs[-1][0].reading if runs else None
        if (
            last is not None
            and drift.reading.at_s - last.at_s <= RUN_S
            and drift.reading.control == last.control
        ):
            runs[-1].append(drift)
        else:
            runs.append([drift])
    return found


def _track(paper: Paper, series: Series, runs: Sequence[Sequence[Drift]]) -> Track:
    """A run counts as one reading: its mean, of all its spots."""
    spots = min(sum(drift.reading.spots for drift in run) for run in runs)
    return Track(
        np.array([np.mean([drift.own for drift in run]) for run in runs]),
        np.array([run[0].reading.age_days for run in runs]),
        runs[0][0].base.age_days,
        noise_sd(series.quantity, spots),
        paper.act[series.quantity],
    )


def _heard(paper: Paper, drifts: Sequence[Drift]) -> _Own:
    """Hear a roll's readings, leaving out one at a time those that go with none of the rest."""
    by_series = _tracks(drifts)
    stated = [_track(paper, series, runs) for series, runs in by_series.items()]
    keys = [[[one.reading.key for one in run] for run in runs] for runs in by_series.values()]
    counted = [np.ones(len(track.drift)) for track in stated]
    total = sum(len(track.drift) for track in stated)
    odd: list[str] = []
    left_out = 0
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
        if weight >= WHITE_OUTLIER.value or left_out >= total // 3:
            break
        counted[number][place] = 0.0
        left_out += 1
        odd += keys[number][place]
    centre, variance = _moments(posterior(heard, 0.0, LIFE_SD))
    flat = {
        key: float(off)
        for runs, offs in zip(keys, residuals, strict=True)
        for run, off in zip(runs, offs, strict=True)
        for key in run
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
