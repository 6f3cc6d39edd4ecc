"""How a roll's white stands: what its last patches ask for, none of them hiding another."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from stockroom.core.freshness.drift import Drift, Quantity, Series

Judgement = Literal["fine", "watch", "act", "ask"]
Limits = Mapping[Quantity, tuple[float, float]]
"""By quantity, from where a drift is watched and from where one stops."""

_WEIGHT: dict[Judgement, int] = {"fine": 0, "watch": 1, "ask": 2, "act": 3}


@dataclass(frozen=True, slots=True)
class Standing:
    """What a roll's patches ask for, all series together.

    Attributes
    ----------
    judgement : str
        Nothing, to be watched, a strip, or to stop.
    lead : Drift
        The patch that asks for it; where nothing is asked, the last one.
    over_days : float or None
        The effective age at which a patch reached the limit to stop; None where none did.
    sound_days : float or None
        The effective age at the last patch before that one which was below it.
    """

    judgement: Judgement
    lead: Drift
    over_days: float | None = None
    sound_days: float | None = None


def standing(drifts: Sequence[Drift], odd: Collection[str], limits: Limits) -> Standing | None:
    """Return how a roll's white stands; None without patches.

    Readings of one series are judged in order of time, each series by itself, and the heaviest
    judgement is the roll's. A drift at the limit to stop stands until a later reading of that
    series, which tells paper from chemistry, is below it: neither a first patch of another
    series nor one without a control takes it back. A reading that goes with none of the others,
    one without a control, or one whose control was a roll that ages too, asks for a strip where
    what it moved by in all is worth watching.

    Parameters
    ----------
    drifts : sequence of Drift
        Of one roll, in order of time.
    odd : collection of str
        Keys of readings that go with none of the others.
    limits : mapping
        By quantity: (watch, act).
    """
    series: dict[Series, list[Drift]] = {}
    for drift in drifts:
        series.setdefault(drift.reading.series, []).append(drift)
    each = [_of_series(some, odd, *limits[one.quantity]) for one, some in series.items()]
    if not each:
        return None
    worst = max(each, key=lambda one: (_WEIGHT[one.judgement], one.lead.reading.at))
    over = [one for one in each if one.over_days is not None]
    if not over:
        return worst
    first = min(over, key=lambda one: one.over_days or 0.0)
    return Standing(worst.judgement, worst.lead, first.over_days, first.sound_days)


def _of_series(drifts: Sequence[Drift], odd: Collection[str], watch: float, act: float) -> Standing:
    stands: Drift | None = None
    asks: Drift | None = None
    over_days = sound_days = below_days = None
    for drift in drifts:
        moved, own = round(drift.raw, 6), round(drift.own, 6)
        if drift.reading.key in odd:
            asks = drift
        elif drift.counts and own >= act:
            if over_days is None:
                over_days, sound_days = drift.reading.age_days, below_days
            stands, asks = drift, None
        elif drift.counts and not (drift.at_least and moved >= watch):
            over_days = sound_days = None
            stands, asks, below_days = drift, None, drift.reading.age_days
        else:
            asks = drift if moved >= watch else None
    if stands is not None and over_days is not None:
        return Standing("act", stands, over_days, sound_days)
    if asks is not None:
        return Standing("ask", asks)
    if stands is not None and round(stands.own, 6) >= watch:
        return Standing("watch", stands)
    return Standing("fine", drifts[-1])
