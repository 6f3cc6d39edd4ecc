"""Warm spells: logging one that no logger saw, naming causes, and what each one cost."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from itertools import zip_longest
from typing import Any, Literal

import numpy as np

from stockroom.core.climate.excursions import COOLED, Excursion, days_lost, find
from stockroom.core.climate.lag import LONGEST_LAG_S
from stockroom.core.climate.readings import Readings, window
from stockroom.core.constants import WARM_SPELL_WORTH_A_WORD
from stockroom.core.records import Place, Spell, SpellWord
from stockroom.desk.climate.airs import covered
from stockroom.desk.lookup import everything
from stockroom.desk.lookup import find as find_record
from stockroom.desk.memory import RollLoss
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import EARLIEST_S, Decision, Desk, Done, checked_time, joined
from stockroom.errors import BadValueError
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY, UNITS

GROUP_S = SECONDS_PER_DAY
"""Spells of one place less than a day apart are one group, asked about once (our choice)."""
CAUSES = ("door left open", "power cut", "defrost", "repair", "delivery", "sensor moved", "other")
"""Words offered for the cause of a spell; any other word is taken too."""


def log_excursion(
    desk: Desk,
    place: str,
    *,
    last_right_s: int,
    last_right_centi_c: int | None = None,
    found_s: int | None = None,
    highest_centi_c: int,
    now_centi_c: int | None = None,
    cause: str = "",
    key: str | None = None,
) -> Done:
    """Log a warm spell that nobody's logger saw.

    Parameters
    ----------
    place : str
        The store, by code or name.
    last_right_s : int
        When it was last seen right, seconds UTC.
    last_right_centi_c : int, optional
        What it showed then, hundredths of °C; its set-point if left out.
    found_s : int, optional
        When it was found; now if left out.
    highest_centi_c : int
        The highest it showed.
    now_centi_c : int, optional
        What it shows now; the highest if left out.
    cause : str
        One word for it, if known already.

    Raises
    ------
    BadValueError
        Where the times or temperatures cannot be.
    """
    found = desk.now_s() if found_s is None else checked_time(found_s, desk.now_s())
    word = safe(cause, length=60)
    if not EARLIEST_S <= last_right_s < found - 1:
        raise BadValueError(
            "It must have been found after it was last seen right.",
            try_="Look at both times.",
        )
    if found - last_right_s > 60 * SECONDS_PER_DAY:
        raise BadValueError(
            "More than 60 days lie between last right and found.",
            "Nobody can say what happened in so long.",
            "Look at the dates; log a shorter spell for what is known.",
        )
    for centi_c in (last_right_centi_c, highest_centi_c, now_centi_c):
        if centi_c is not None:
            UNITS["centi_c"].check(centi_c, "Temperature")

    def build(decision: Decision) -> dict[str, Any]:
        stands = find_record(decision.view, Place, place)
        right = last_right_centi_c
        if right is None:
            right = stands.set_point_centi_c
        if right is None:
            right = min(highest_centi_c, 2100)
        now = highest_centi_c if now_centi_c is None else now_centi_c
        if max(highest_centi_c, now) <= right:
            raise BadValueError(
                f"{highest_centi_c / 100:g} °C is no warm spell of {stands.name}, which showed "
                f"{right / 100:g} °C when it was right.",
                try_="Look at the highest it showed.",
            )
        return {
            "code": decision.head.born(),
            "place": stands.code,
            "last_right_s": last_right_s,
            "last_right_centi_c": right,
            "found_s": found,
            "highest_centi_c": max(highest_centi_c, now),
            "now_centi_c": now,
            "word": _word(decision, stands.code, last_right_s, found, word) if word else None,
        }

    request = {
        "place": place,
        "last_right_s": last_right_s,
        "found_s": found_s,
        "highest": highest_centi_c,
        "now": now_centi_c,
        "right": last_right_centi_c,
    }
    return desk.act("spell", request, build, happened_s=min(found, desk.now_s()), key=key)


def _word(decision: Decision, place: str, from_s: int, to_s: int, word: str) -> dict[str, Any]:
    return {
        "code": decision.head.born(),
        "place": place,
        "from_s": from_s,
        "to_s": to_s,
        "cause": word,
    }


def name_cause(
    desk: Desk, place: str, from_s: int, to_s: int, cause: str, *, key: str | None = None
) -> Done:
    """Say in a word what a warm spell came from."""
    word = safe(cause, length=60)
    if not word:
        raise BadValueError("A word is missing.", try_=f"One of: {', '.join(CAUSES)}.")

    def build(decision: Decision) -> dict[str, Any]:
        return _word(decision, find_record(decision.view, Place, place).code, from_s, to_s, word)

    request = {"place": place, "from_s": from_s, "to_s": to_s, "cause": word}
    return desk.act("spell word", request, build, key=key, reason=word)


@dataclass(frozen=True, slots=True)
class WarmSpell:
    """A warm spell of a place, with what it cost each unit, worst first.

    `source` tells whether a logger saw it or a person logged it and its worst shape is assumed.
    """

    place: Place
    from_s: int
    to_s: int
    peak_c: float
    ongoing: bool
    source: Literal["logger", "by hand"]
    cause: str
    losses: tuple[RollLoss, ...]

    @property
    def worst_days(self) -> float:
        """The most that it cost any unit, days of life."""
        return self.losses[0].days if self.losses else 0.0

    @property
    def wants_a_word(self) -> bool:
        """Whether it cost so much that its cause should be known."""
        return not self.cause and self.worst_days > WARM_SPELL_WORTH_A_WORD.value


def name_worst_cause(
    desk: Desk, place: str | None, cause: str, *, on: date | None = None, key: str | None = None
) -> Done:
    """Say what the worst excursion without a cause came from, of one place or of any.

    Raises
    ------
    BadValueError
        Where none is without a word.
    """

    def do(_decision: Decision) -> list[Done]:
        with reckoned(desk, on) as reckoning:
            code = find_record(reckoning.view, Place, place).code if place else None
            silent = [spell for spell in warm_spells(reckoning, place=code) if not spell.cause]
        if not silent:
            raise BadValueError("No excursion is without a cause there.")
        worst = silent[0]
        return [name_cause(desk, worst.place.code, worst.from_s, worst.to_s, cause)]

    request = {"worst of": place, "cause": cause, "on": None if on is None else on.isoformat()}
    return joined(desk.as_one(request, do, key=key))


def warm_spells(
    reckoning: Reckoning, *, place: str | None = None, since_s: int = 0
) -> list[WarmSpell]:
    """Return the warm spells of the places that have limits, by days lost, worst first.

    Parameters
    ----------
    reckoning : Reckoning
        What is read once.
    place : str, optional
        Only of this place.
    since_s : int
        Only those that ended after this instant, seconds UTC.
    """
    words = reckoning.records.all(SpellWord)
    logged = reckoning.records.all(Spell)
    spells: list[WarmSpell] = []
    for stands in reckoning.places.values():
        if (place and stands.code != place) or _limit_c(stands) is None:
            continue
        spells += _of_place(reckoning, stands, logged, since_s)
    named = [
        replace(spell, cause=_word_given(words, spell.place.code, spell.from_s, spell.to_s))
        for spell in spells
    ]
    return sorted(named, key=lambda spell: (-spell.worst_days, -spell.from_s))


def _limit_c(place: Place) -> float | None:
    return None if place.high_centi_c is None else place.high_centi_c / 100


def _of_place(
    reckoning: Reckoning, place: Place, logged: list[Spell], since_s: int
) -> list[WarmSpell]:
    limit_c = _limit_c(place)
    if limit_c is None:
        return []
    log = reckoning.airs.readings(place.code)
    by_hand = [
        (spell.last_right_s, spell.found_s)
        for spell in logged
        if spell.place == place.code and not _seen(reckoning, spell)
    ]
    made = []
    for spell, losses in _found(reckoning, place, limit_c, since_s, log):
        assumed = any(start <= spell.to_s and spell.from_s <= end for start, end in by_hand)
        made.append(
            WarmSpell(
                place,
                spell.from_s,
                spell.to_s,
                spell.peak_c,
                spell.ongoing and not assumed,
                "by hand" if assumed else "logger",
                "",
                losses,
            )
        )
    return made


def _found(
    reckoning: Reckoning, place: Place, limit_c: float, since_s: int, log: Readings
) -> Iterator[tuple[Excursion, tuple[RollLoss, ...]]]:
    """The spells of a place that ended after an instant, with what they cost; kept in mind."""
    kept = reckoning.airs.in_mind(place.code)
    asked = (kept.number, limit_c)
    if kept.spells_of != asked:
        kept.spells_of, kept.spells, kept.losses = asked, find(log, limit_c), {}
    for spell, after in zip_longest(kept.spells, kept.spells[1:]):
        if spell.to_s < since_s or spell.from_s > reckoning.now_s:
            continue
        next_s = math.inf if after is None else float(after.from_s)
        yield spell, _losses(reckoning, place, spell, next_s, log)


def _seen(reckoning: Reckoning, spell: Spell) -> bool:
    """Whether a logger file taken in later tells what a spell logged by hand only guessed."""
    return covered(reckoning.airs.logged(spell.place), spell)


def _losses(
    reckoning: Reckoning, place: Place, spell: Excursion, next_s: float, log: Readings
) -> tuple[RollLoss, ...]:
    """Days of life that each unit lost, by how long it stood there during the spell.

    Units that stood there alike, lag alike and age alike lost alike: that is reckoned once. After
    it left, a unit is not followed.
    """
    stood = reckoning.stood_at(place.code)
    there = np.flatnonzero((stood.from_s < spell.to_s) & (stood.to_s > spell.from_s))
    units = [stood.units[at] for at in there.tolist()]
    alike = np.column_stack(
        (
            np.maximum(spell.from_s, stood.from_s[there]),
            np.minimum(spell.to_s, stood.to_s[there]),
            stood.rules[there],
        )
    )
    known = reckoning.airs.in_mind(place.code).losses
    if spell in known and np.array_equal(known[spell][0], alike) and known[spell][1] == units:
        return known[spell][2]
    climate = reckoning.airs.climate(place.code)
    near = window(log, spell.from_s, spell.to_s + COOLED * LONGEST_LAG_S, beyond=1)
    usual = reckoning.airs.in_mind(place.code).steps
    kinds, which = np.unique(alike, axis=0, return_inverse=True)
    cost = []
    for begin_s, end_s, tau_s, label_c, energy in kinds.tolist():
        left = spell.ongoing or end_s < spell.to_s
        part = replace(spell, from_s=int(begin_s), to_s=int(end_s), ongoing=left)
        cost.append(
            days_lost(
                part, near, climate, label_c, energy, tau_s,
                usual=usual, until_s=next_s,
            )
        )  # fmt: skip
    days: dict[str, float] = {}
    for unit, kind in zip(units, which.tolist(), strict=True):
        days[unit.code] = days.get(unit.code, 0.0) + cost[kind]
    losses = [RollLoss(reckoning.units[code], lost) for code, lost in days.items()]
    losses.sort(key=lambda loss: (-loss.days, loss.unit.code))
    known[spell] = (alike, units, tuple(losses))
    return known[spell][2]


def word_of(view: StoreView, place: str, from_s: int, to_s: int) -> str:
    """Return the word given for a spell of a place (its code), or for one of its group; else ""."""
    return _word_given(everything(view, SpellWord), place, from_s, to_s)


def _word_given(words: list[SpellWord], place: str, from_s: int, to_s: int) -> str:
    for word in words:
        near = word.from_s - GROUP_S <= to_s and from_s <= word.to_s + GROUP_S
        if word.place == place and near:
            return word.cause
    return ""
