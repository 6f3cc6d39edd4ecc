"""What pictures of places are drawn from: all places, and one over a week."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from stockroom import clock
from stockroom.core.climate.readings import Readings, usable, window
from stockroom.core.model import Import, Place
from stockroom.desk.checking import instant_of
from stockroom.desk.day import AtRisk, booked_prints, spells_at_risk
from stockroom.desk.lookup import everything, find
from stockroom.desk.pictures import ShelfLine, shelf_line
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.session import Desk
from stockroom.units import SECONDS_PER_DAY

if TYPE_CHECKING:
    from stockroom.intake.loggers import LogFile as LogFile

WEEK_S = 7 * SECONDS_PER_DAY
"""What one picture of a place shows, s."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceLine:
    """A place, how many units stand there, and its last reading (s UTC, °C) if it has one."""

    place: Place
    units: int
    last: tuple[int, float] | None


def places(desk: Desk) -> list[PlaceLine]:
    """Return all places, those with limits first."""
    with desk.reading() as view:
        reckoning = Reckoning(view, desk.now_s(), desk.zone, desk.memory)
        lines = [_place_line(reckoning, place) for place in reckoning.places.values()]
    return sorted(lines, key=lambda line: (line.place.high_centi_c is None, line.place.code))


def _place_line(reckoning: Reckoning, place: Place) -> PlaceLine:
    log = usable(reckoning.readings(place.code))
    last = (int(log.t_s[-1]), float(log.temp_c[-1])) if len(log) else None
    count = sum(unit.place == place.code for unit in reckoning.units.values())
    return PlaceLine(place, count, last)


@dataclass(frozen=True, slots=True, eq=False)
class PlacePicture:
    """One place: a week of readings, what stands there, its warm spells and its files."""

    line: PlaceLine
    from_s: int
    to_s: int
    readings: Readings
    units: tuple[ShelfLine, ...]
    spells: tuple[AtRisk, ...]
    imports: tuple[Import, ...]
    now_s: int
    today: date
    zone: str


def one_place(desk: Desk, said: str, weeks_back: int = 0, on: date | None = None) -> PlacePicture:
    """Return one place with a week of readings, `weeks_back` weeks before this one.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    day = on or desk.today()
    with desk.reading() as view:
        reckoning = Reckoning(view, instant_of(desk, on), desk.zone, desk.memory)
        place = find(view, Place, said)
        midnight_s = clock.start_of_day_s(day + timedelta(days=1), desk.zone)
        to_s = midnight_s - weeks_back * WEEK_S
        prints = booked_prints(reckoning, day)
        standing = [unit for unit in reckoning.units.values() if unit.place == place.code]
        return PlacePicture(
            line=_place_line(reckoning, place),
            from_s=to_s - WEEK_S,
            to_s=to_s,
            readings=window(usable(reckoning.readings(place.code)), to_s - WEEK_S, to_s),
            units=tuple(shelf_line(reckoning, unit) for unit in standing),
            spells=tuple(
                found
                for found in spells_at_risk(reckoning, prints)
                if found.spell.place.code == place.code
            ),
            imports=tuple(
                item
                for item in everything(view, Import)
                if item.place == place.code and not item.withdrawn
            ),
            now_s=reckoning.now_s,
            today=day,
            zone=desk.zone,
        )
