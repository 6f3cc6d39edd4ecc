"""Warm spells: logging one that no logger saw, naming causes, and what each one cost."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from stockroom.core.climate.excursions import COOLED, Excursion, days_lost, find
from stockroom.core.climate.lag import LONGEST_LAG_S
from stockroom.core.climate.readings import Readings, window
from stockroom.core.climate.visits import Visit
from stockroom.core.facts import ACTIVATION_ENERGY, WARM_SPELL_WORTH_A_WORD
from stockroom.core.model import Place, Spell, SpellWord, Unit
from stockroom.desk.lookup import find as find_record
from stockroom.desk.reckoning import Reckoning, ages, covered
from stockroom.desk.session import EARLIEST_S, Bench, Desk, Done, checked_time
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY

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
    desk : Desk
        Where it is done.
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
    key : str, optional
        Against doubling.

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
        if centi_c is not None and not -6000 <= centi_c <= 7000:
            raise BadValueError(f"{centi_c / 100:g} °C cannot be.", try_="Give it in °C.")

    def build(bench: Bench) -> dict[str, Any]:
        stands = find_record(bench.view, Place, place)
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
            "code": bench.head.born(),
            "place": stands.code,
            "last_right_s": last_right_s,
            "last_right_centi_c": right,
            "found_s": found,
            "highest_centi_c": max(highest_centi_c, now),
            "now_centi_c": now,
            "word": _word(bench, stands.code, last_right_s, found, word) if word else None,
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


def _word(bench: Bench, place: str, from_s: int, to_s: int, word: str) -> dict[str, Any]:
    return {
        "code": bench.head.born(),
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

    def build(bench: Bench) -> dict[str, Any]:
        return _word(bench, find_record(bench.view, Place, place).code, from_s, to_s, word)

    request = {"place": place, "from_s": from_s, "to_s": to_s, "cause": word}
    return desk.act("spell word", request, build, key=key, reason=word)


@dataclass(frozen=True, slots=True)
class RollLoss:
    """What one spell cost one unit that stood there."""

    unit: Unit
    days: float


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
    named = [replace(spell, cause=_cause(spell, words)) for spell in spells]
    return sorted(named, key=lambda spell: (-spell.worst_days, -spell.from_s))


def _limit_c(place: Place) -> float | None:
    return None if place.high_centi_c is None else place.high_centi_c / 100


def _of_place(
    reckoning: Reckoning, place: Place, logged: list[Spell], since_s: int
) -> list[WarmSpell]:
    limit_c = _limit_c(place)
    if limit_c is None:
        return []
    log = reckoning.readings(place.code)
    by_hand = [
        (spell.last_right_s, spell.found_s)
        for spell in logged
        if spell.place == place.code and not _seen(reckoning, spell)
    ]
    found = [spell for spell in find(log, limit_c) if spell.from_s <= reckoning.now_s]
    made = []
    for spell in found:
        if spell.to_s < since_s:
            continue
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
                _losses(reckoning, place, spell, log),
            )
        )
    return made


def _seen(reckoning: Reckoning, spell: Spell) -> bool:
    """Whether a logger file taken in later tells what a spell logged by hand only guessed."""
    return covered(reckoning.logged(spell.place), spell)


def _losses(
    reckoning: Reckoning, place: Place, spell: Excursion, log: Readings
) -> tuple[RollLoss, ...]:
    """Days of life that each unit lost, by how long it stood there during the spell.

    Units that stood there alike, lag alike and age alike lost alike: that is reckoned once.
    """
    losses = []
    climate = reckoning.climate(place.code)
    known: dict[tuple[Excursion, float, float, float], float] = {}
    near = window(log, spell.from_s, spell.to_s + COOLED * LONGEST_LAG_S, beyond=1)
    usual_step_s = reckoning.step_s(place.code)
    for unit in reckoning.units.values():
        material = reckoning.material_of(unit)
        if not ages(material):
            continue
        parts = _parts_there(reckoning.visits(unit), place.code, spell)
        if not parts:
            continue
        label_c = reckoning.label_of(unit).readings[0].temp_c
        energy = material.energy_j_mol or ACTIVATION_ENERGY.value
        days = 0.0
        for part, tau_s in parts:
            key = (part, label_c, energy, tau_s)
            if key not in known:
                known[key] = days_lost(
                    part, near, climate, label_c, energy, tau_s, usual_step_s=usual_step_s
                )
            days += known[key]
        losses.append(RollLoss(unit, days))
    return tuple(sorted(losses, key=lambda loss: (-loss.days, loss.unit.code)))


def _parts_there(
    visits: Sequence[Visit], place: str, spell: Excursion
) -> list[tuple[Excursion, float]]:
    """The parts of a spell during which a unit stood there, with its lag (s) then.

    After it left it is not followed.
    """
    parts = []
    for visit in visits:
        from_s = max(spell.from_s, visit.from_s)
        to_s = min(spell.to_s, visit.to_s)
        if visit.place == place and from_s < to_s:
            left = spell.ongoing or to_s < spell.to_s
            part = replace(spell, from_s=int(from_s), to_s=int(to_s), ongoing=left)
            parts.append((part, visit.tau_s))
    return parts


def _cause(spell: WarmSpell, words: list[SpellWord]) -> str:
    """The word given for this spell, or for one of its group."""
    for word in words:
        if (
            word.place == spell.place.code
            and word.from_s - GROUP_S <= spell.to_s
            and spell.from_s <= word.to_s + GROUP_S
        ):
            return word.cause
    return ""
