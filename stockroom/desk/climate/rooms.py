"""The air a cold roll leaves and the air it comes into: logged, set, or taken for granted."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar, cast

import numpy as np

from stockroom import clock
from stockroom.core.climate.moisture import DewPoint, dew_point, dew_point_c, rh_at
from stockroom.core.climate.readings import Readings, usable, window
from stockroom.core.constants import (
    COLD_BELOW,
    COLD_UNKNOWN,
    READING_COUNTS,
    ROOM_HUMIDITY,
    ROOM_TEMP,
)
from stockroom.core.records import Place, Stay, Unit
from stockroom.core.verdict import is_cold
from stockroom.desk.reckoning import Reckoning

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class RoomAir:
    """The air of a room, and whence its temperature and its humidity are known.

    Attributes
    ----------
    name : str
        Of the room.
    temp_c, humidity_pct : float
        °C as it was last, and the % relative humidity that the dampest air of the day would have
        at that temperature: together they make the dew point.
    temp_source, humidity_source : str
        A reading with its time, a set-point, or what is taken for granted.
    """

    name: str
    temp_c: float
    humidity_pct: float
    temp_source: str
    humidity_source: str

    @property
    def dew(self) -> DewPoint:
        """Its dew point, or its frost point below 0 °C."""
        return dew_point(self.temp_c, self.humidity_pct)


def room_air(reckoning: Reckoning, place: str | None, at_s: float | None = None) -> RoomAir:
    """Return the air of a room at an instant: logged within a day, else what is believed of it.

    A package stands shut for hours and a room's water comes and goes, so its dew point is the
    highest of the day before, each from a temperature and a humidity read at once. Once a log has
    ended, the dampest of its last day counts on, and never for less than an unlogged room.

    Parameters
    ----------
    place : str or None
        Code of the room; None for a usual one.
    at_s : float, optional
        The instant, s UTC; the one reckoned at if left out.
    """
    at_s = reckoning.now_s if at_s is None else at_s
    return _once(reckoning, ("air", place, at_s), lambda: _air(reckoning, place, at_s))


def _once(reckoning: Reckoning, asked: tuple[object, ...], make: Callable[[], T]) -> T:
    """What was asked of one reckoning, made the first time: many units stand in few places."""
    if asked not in reckoning.asked:
        reckoning.asked[asked] = make()
    return cast(T, reckoning.asked[asked])


def _air(reckoning: Reckoning, place: str | None, at_s: float) -> RoomAir:
    usual = f"{ROOM_HUMIDITY.source} ({ROOM_HUMIDITY.sure})"
    temp_c, temp_source = ROOM_TEMP.value, f"{ROOM_TEMP.source} ({ROOM_TEMP.sure})"
    if place is None:
        return RoomAir("a room", temp_c, ROOM_HUMIDITY.value, temp_source, usual)
    found = reckoning.places[place]
    if found.set_point_centi_c is not None:
        temp_c, temp_source = found.set_point_centi_c / 100, "its set-point"
    day = read_lately(reckoning, place, at_s)
    if len(day):
        temp_c, temp_source = float(day.temp_c[-1]), _logged(reckoning, day.t_s[-1])
    dampest = _dampest(day)
    if dampest is not None:
        pct = _pct_at(temp_c, dampest)
        if dampest.at_s == day.t_s[-1]:
            source = f"{_logged(reckoning, dampest.at_s)}, the dampest in 24 h"
        else:
            source = f"as damp as {_told(reckoning, dampest)}, the dampest in 24 h"
        return RoomAir(found.name, temp_c, pct, temp_source, source)
    dampest = _dampest(_last_day(reckoning, place, at_s))
    if dampest is None:
        return RoomAir(found.name, temp_c, ROOM_HUMIDITY.value, temp_source, usual)
    pct = _pct_at(temp_c, dampest)
    source = (
        f"as damp as last {_told(reckoning, dampest)}, the dampest of its last day: log it anew"
    )
    if pct < ROOM_HUMIDITY.value:
        last = clock.moment_text(dampest.at_s, reckoning.zone)
        pct, source = ROOM_HUMIDITY.value, f"{usual}; drier when last logged, {last}"
    return RoomAir(found.name, temp_c, pct, temp_source, source)


def read_lately(reckoning: Reckoning, place: str, at_s: float) -> Readings:
    """Return the readings of a place that count as now at an instant, s UTC: those of a day."""
    return usable(window(reckoning.airs.readings(place), at_s - READING_COUNTS.value, at_s))


@dataclass(frozen=True, slots=True)
class _Damp:
    """A reading of damp air."""

    at_s: int
    temp_c: float
    humidity_pct: float


def _dampest(log: Readings) -> _Damp | None:
    """The reading of the highest dew point, the last of equals; None without any humidity."""
    known = np.flatnonzero(np.isfinite(log.rh_pct) & (log.rh_pct > 0))
    if not len(known):
        return None
    temp_c, pct = log.temp_c[known], np.minimum(log.rh_pct[known], 100.0)
    dew_c = dew_point_c(temp_c, pct)
    last = int(np.flatnonzero(dew_c == dew_c.max())[-1])
    return _Damp(int(log.t_s[known[last]]), float(temp_c[last]), float(pct[last]))


def _last_day(reckoning: Reckoning, place: str, at_s: float) -> Readings:
    """The last day of a place's readings with humidity before an instant, however long ago."""
    log = usable(window(reckoning.airs.readings(place), -np.inf, at_s))
    known = np.flatnonzero(np.isfinite(log.rh_pct) & (log.rh_pct > 0))
    if not len(known):
        return window(log, -np.inf, -np.inf)
    last_s = float(log.t_s[known[-1]])
    return window(log, last_s - READING_COUNTS.value, last_s)


def _pct_at(temp_c: float, damp: _Damp) -> float:
    """The humidity that damp air has at another temperature, %; what it cannot hold settles."""
    if damp.temp_c == temp_c:
        return damp.humidity_pct
    return min(100.0, float(rh_at(dew_point(damp.temp_c, damp.humidity_pct), temp_c)))


def _told(reckoning: Reckoning, damp: _Damp) -> str:
    return f"{_logged(reckoning, damp.at_s)}, {damp.humidity_pct:.0f} % at {damp.temp_c:.1f} °C"


def _logged(reckoning: Reckoning, at_s: int) -> str:
    return f"logged {clock.moment_text(int(at_s), reckoning.zone)}"


def warm_room(reckoning: Reckoning, unit: Unit, apart: str | None = None) -> str | None:
    """Return where a unit would warm up: where it, or else its kind, stood last out of the cold.

    Where none of it was ever out: the first room that is not cold; None where there is none.

    Parameters
    ----------
    reckoning, unit
        What is read once, and which unit.
    apart : str, optional
        Code of a place it is to leave: not there.
    """
    warm = [
        place
        for place in reckoning.places.values()
        if place.code != apart and not stands_cold(reckoning, place, reckoning.now_s)
    ]
    codes = {place.code for place in warm}
    own = _last_warm(reckoning, [unit], codes)
    if own is not None:
        return own
    material = reckoning.material_of(unit).code
    alike = _once(
        reckoning,
        ("alike", material, apart),
        lambda: _last_warm(reckoning, reckoning.units_of(material), codes),
    )
    if alike is not None:
        return alike
    order = {"room": 0, "magazine": 1}
    warm.sort(key=lambda place: order.get(place.place_kind, 2))
    return warm[0].code if warm else None


def _last_warm(reckoning: Reckoning, units: Sequence[Unit], warm: set[str]) -> str | None:
    found: Stay | None = None
    for unit in units:
        for stay in reckoning.records.stays.get(unit.code, ()):
            later = found is None or (stay.from_s, stay.act) > (found.from_s, found.act)
            if later and stay.place in warm:
                found = stay
    return None if found is None else found.place


def stands_cold(reckoning: Reckoning, place: Place, at_s: float) -> bool:
    """Return whether a place is cold at an instant, s UTC: set or called so, or logged so.

    By what is logged there, it is where both the last reading and the mean of the day before are
    below `COLD_BELOW`: an open window makes no cold store.
    """
    if is_cold(place):
        return True
    return _once(
        reckoning, ("stands cold", place.code, at_s), lambda: _logged_cold(reckoning, place, at_s)
    )


def _logged_cold(reckoning: Reckoning, place: Place, at_s: float) -> bool:
    day = read_lately(reckoning, place.code, at_s)
    return bool(len(day)) and max(day.temp_c[-1], day.temp_c.mean()) < COLD_BELOW.value


def cold_air(reckoning: Reckoning, place: Place, at_s: float) -> tuple[float, str]:
    """Return how cold a place is that something comes from, °C, and whence it is known.

    The colder of its last reading and the mean of the day before; in a cold place its set-point
    where that is colder still, for a door that stands open warms the logger before the rolls.
    """
    return _once(
        reckoning, ("cold air", place.code, at_s), lambda: _cold_air(reckoning, place, at_s)
    )


def _cold_air(reckoning: Reckoning, place: Place, at_s: float) -> tuple[float, str]:
    day = read_lately(reckoning, place.code, at_s)
    read: tuple[float, str] | None = None
    if len(day):
        logged = _logged(reckoning, day.t_s[-1])
        read = float(day.temp_c[-1]), logged
        mean_c = float(day.temp_c.mean())
        if mean_c < read[0] - 0.05:  # told to a tenth
            read = mean_c, f"mean of 24 h, last {logged}"
    if place.set_point_centi_c is not None:
        set_c = place.set_point_centi_c / 100
        if read is None:
            return set_c, "its set-point"
        if is_cold(place) and set_c < read[0]:
            return set_c, "its set-point, colder than its log"
    if read is not None:
        return read
    constant = COLD_UNKNOWN if is_cold(place) else ROOM_TEMP
    return constant.value, f"{constant.source} ({constant.sure})"
