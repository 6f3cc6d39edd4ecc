"""How long a roll was open and in how damp an air, from its acts and the logs of its places."""

from stockroom import clock
from stockroom.core.care import own_or_ours
from stockroom.core.climate.moisture import BagAir, condenses_in_bag, time_above
from stockroom.core.freshness.opened import Opened
from stockroom.core.model import Unit
from stockroom.core.roll_state import state_of_roll
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.climate.rooms import RoomAir, cold_air, room_air
from stockroom.desk.climate.warming import warming_of

BAGGED_NEAR_S = 14_400
"""A roll that came out of a room this short before it was bagged took its air along, s (our
choice)."""


def opened_of(reckoning: Reckoning, unit: Unit) -> Opened | None:
    """Return how long a roll was open, and in how damp an air; None where it never was.

    Its bag counts as open from the first opening until now, or until it was last put back into it;
    what it lay shut in between is not known, and counts as open: the safe way.
    """
    if unit.opened_s is None or not unit.shape.wound:
        return None
    material = reckoning.material_of(unit)
    limit_pct = own_or_ours(material, "humidity_limit_pct")
    opened_s = unit.opened_s
    end_s = reckoning.aged_s if unit.bagged_s is None else min(unit.bagged_s, reckoning.aged_s)
    visits = [
        (visit.place, max(visit.from_s, opened_s), min(visit.to_s, end_s))
        for visit in reckoning.visits(unit)
        if max(visit.from_s, opened_s) < min(visit.to_s, end_s)
    ]
    stamps = tuple(reckoning.airs.in_mind(place).number for place, _, _ in visits)
    made_of = (unit, tuple(visits), stamps, limit_pct, material.opened_life_days)
    kept = reckoning.memory.opened.get(unit.code)
    if kept is not None and kept[0] == made_of:
        return kept[1]
    damp = [
        time_above(reckoning.airs.logged(place), limit_pct, from_s, to_s)
        for place, from_s, to_s in visits
    ]
    highest = [item.highest_pct for item in damp if item.highest_pct is not None]
    found = Opened(
        clock.local_date(unit.opened_s, reckoning.zone),
        material.opened_life_days,
        sum(to_s - from_s for _, from_s, to_s in visits),
        sum(item.logged_s for item in damp),
        sum(item.above_s for item in damp),
        max(highest, default=None),
        limit_pct,
    )
    reckoning.memory.opened[unit.code] = (made_of, found)
    return found


def air_in_bag(reckoning: Reckoning, unit: Unit) -> tuple[RoomAir, BagAir, float] | None:
    """Return the air a roll was re-bagged with, what the place makes of it, and that place's °C.

    Many move a roll and bag it a moment before or after: of the places where it stood within
    `BAGGED_NEAR_S` before its bagging, the one of the highest dew point counts.
    """
    if unit.condition != "re-bagged" or unit.bagged_s is None:
        return None
    near_s = unit.bagged_s - BAGGED_NEAR_S
    stood = [
        visit.place
        for visit in reckoning.visits(unit)
        if visit.from_s <= unit.bagged_s and visit.to_s > near_s
    ]
    place_c, _ = cold_air(reckoning, reckoning.places[unit.place], reckoning.now_s)
    airs = [room_air(reckoning, place, unit.bagged_s) for place in dict.fromkeys(stood)]
    airs = airs or [room_air(reckoning, None, unit.bagged_s)]
    bagged = [(air, condenses_in_bag(air.temp_c, air.humidity_pct, place_c)) for air in airs]
    room, found = max(bagged, key=lambda one: one[1].dew.temp_c)
    return room, found, place_c


def roll_state(reckoning: Reckoning, unit: Unit) -> str:
    """Return the state of a roll in a word or two."""
    warming = warming_of(reckoning, unit) if unit.shape.wound else None
    out = (
        warming is not None
        and warming.left_s is not None
        and reckoning.now_s < warming.left_s + warming.wait.ready_s
    )
    return state_of_roll(unit, reckoning.places[unit.place].place_kind, warming=out)
