"""The air of each place: its readings, what is believed where there are none, what is ahead."""

import math

import numpy as np

from stockroom.core.climate.bodies import PlaceAir
from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.excursions import guessed
from stockroom.core.climate.readings import Readings, beneath, merge, usable, usual_steps, window
from stockroom.core.climate.spectrum import Spectrum
from stockroom.core.climate.sums import Track
from stockroom.core.constants import BRIDGE_LONGEST, REWARM_LONGEST, ROOM_TEMP, SEASON_LOGGED
from stockroom.core.freshness.ahead import SEASONS, YEAR_S, Ahead, KnownBy, seasonal, steady
from stockroom.core.model import Import, Place, Spell, Stay
from stockroom.desk.memory import Logged, Memory, Records
from stockroom.store.blocks import read_place
from stockroom.store.view import StoreView
from stockroom.units import SECONDS_PER_DAY

RECENT_S = 14 * SECONDS_PER_DAY
"""A place without a set-point is believed to stay as it was in these last days, s (our choice)."""


class Airs:
    """What is known of the air of all places, read when it is asked for.

    Parameters
    ----------
    records : Records
        The records at one head of the chain.
    view : StoreView
        The same state of the books, for the readings.
    now_s : int
        The instant reckoned at, s UTC.
    memory : Memory
        What is known from before.
    """

    def __init__(self, records: Records, view: StoreView, now_s: int, memory: Memory) -> None:
        self.records = records
        self.view = view
        self.now_s = now_s
        self.memory = memory
        self.places = records.by_key(Place)
        self._ahead: dict[str, Ahead] = {}
        self._places: dict[str, Logged] = {}
        self._first_stays: dict[str, int] | None = None

    def readings(self, place: str) -> Readings:
        """Return a place's readings: logged ones, and a spell logged by hand where nothing was."""
        return self.in_mind(place).readings

    def logged(self, place: str) -> Readings:
        """Return what loggers wrote of a place."""
        return self.in_mind(place).logged

    def in_mind(self, place: str) -> Logged:
        """Return what is kept in mind of a place, made anew where that no longer holds."""
        if place in self._places:
            return self._places[place]
        spells = [item for item in self.records.all(Spell) if item.place == place]
        standing = [item for item in self.records.all(Import) if item.place == place]
        revision = (tuple(standing), tuple(spells), self.climate(place))
        kept = self.memory.places.get(place)
        if kept is None or kept.revision != revision:
            logged, _ = read_place(self.view.connection, place)
            guesses = [readings_of_spell(spell) for spell in spells if not covered(logged, spell)]
            good = usable(logged)
            kept = Logged(
                revision=revision,
                number=self.memory.next_number(),
                logged=logged,
                readings=beneath(logged, merge(guesses)[0]) if guesses else logged,
                steps=usual_steps(good),
                last_s=float(good.t_s[-1]) if len(good) else -math.inf,
            )
            self.memory.places[place] = kept
        self._places[place] = kept
        return kept

    def stamp(self, place: str) -> tuple[int, float, bool]:
        """Return what a life reckoned at a place rests on beside the visits themselves.

        Its readings and beliefs, where its air begins, and whether by the end of the day nobody
        has logged it for so long that it counts as a place without a logger.
        """
        kept = self.in_mind(place)
        from_s, to_s = self._span(place)
        return kept.number, from_s, to_s - kept.last_s > REWARM_LONGEST.value

    def _span(self, place: str) -> tuple[float, float]:
        """From the first stay at a place to the end of the day, s UTC."""
        to_s = (self.now_s // SECONDS_PER_DAY + 1) * SECONDS_PER_DAY
        from_s = self._first_stay_s().get(place, to_s)
        return min(from_s, to_s - SECONDS_PER_DAY), to_s

    def air(self, place: str) -> PlaceAir:
        """Return the air of a place from the first stay there to the end of the day."""
        kept = self.in_mind(place)
        from_s, to_s = self._span(place)
        if kept.air_of != (from_s, to_s) or kept.air is None:
            kept.air = PlaceAir(kept.readings, self.climate(place), from_s, to_s, kept.steps)
            kept.air_of = (from_s, to_s)
        return kept.air

    def _first_stay_s(self) -> dict[str, int]:
        if self._first_stays is None:
            found: dict[str, int] = {}
            for stay in self.records.all(Stay):
                found[stay.place] = min(found.get(stay.place, stay.from_s), stay.from_s)
            self._first_stays = found
        return self._first_stays

    def climate(self, place: str) -> PlaceClimate:
        """Return what is believed of a place where there is no reading."""
        found = self.places[place]
        set_point, high = found.set_point_centi_c, found.high_centi_c
        return PlaceClimate(
            None if set_point is None else set_point / 100, None if high is None else high / 100
        )

    def temp_ahead_c(self, place: str) -> float:
        """Return a place's likely temperature ahead, °C: set-point, else as of late, else room."""
        return self._temp_ahead(place)[0]

    def _temp_ahead(self, place: str) -> tuple[float, KnownBy]:
        set_point_c = self.climate(place).set_point_c
        if set_point_c is not None:
            return set_point_c, "set-point"
        log = window(usable(self.readings(place)), -math.inf, self.now_s)
        if not len(log):
            return ROOM_TEMP.value, "usual room"
        last_s = float(log.t_s[-1])
        return float(np.mean(window(log, last_s - RECENT_S, last_s).temp_c)), "of late"

    def ahead(self, place: str) -> Ahead:
        """Return what is ahead of a unit that stays at a place."""
        if place not in self._ahead:
            self._ahead[place] = self._season(place) or steady(*self._temp_ahead(place))
        return self._ahead[place]

    def _season(self, place: str) -> Ahead | None:
        """A place's own last year, where it was logged throughout."""
        day_s = self.now_s - self.now_s % SECONDS_PER_DAY
        kept = self.in_mind(place)
        asked = (kept.number, day_s)
        if kept.season_of != asked:
            season = None
            year = window(self.readings(place), day_s - YEAR_S, day_s, beyond=1)
            if len(year):
                air = Track(
                    believed(
                        year, day_s - YEAR_S, day_s, self.climate(place),
                        usual=kept.steps,
                    )
                )  # fmt: skip
                months_s = day_s - YEAR_S + YEAR_S / SEASONS * np.arange(SEASONS + 1)
                filled_s = air.filled_s(months_s[:-1], months_s[1:])
                if filled_s.max() <= (1 - SEASON_LOGGED.value) * YEAR_S / SEASONS:
                    season = seasonal(Spectrum(air), day_s, (place, *asked))
            kept.season_of, kept.season = asked, season
        return kept.season


def covered(logged: Readings, spell: Spell) -> bool:
    """Return whether a log tells what happened during a spell, so that no guess is needed.

    It does where it reaches from before the spell was last right until after it was found, with
    no more than two hours between readings.
    """
    good = usable(logged)
    if not len(good):
        return False
    inside = window(good, spell.last_right_s, spell.found_s)
    around = good.t_s[0] <= spell.last_right_s and good.t_s[-1] >= spell.found_s
    if not around or not len(inside):
        return False
    edges = np.concatenate(([spell.last_right_s], inside.t_s, [spell.found_s]))
    return bool(np.diff(edges).max() <= BRIDGE_LONGEST.value)


def readings_of_spell(spell: Spell) -> Readings:
    """Return the readings that stand for a spell logged by hand: its worst shape."""
    return guessed(
        spell.last_right_s,
        spell.last_right_centi_c / 100,
        spell.found_s,
        spell.now_centi_c / 100,
        spell.highest_centi_c / 100,
    )
