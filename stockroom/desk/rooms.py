"""The air a cold roll leaves and the air it comes into: logged, set, or taken for granted."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from stockroom import clock
from stockroom.core.climate.moisture import DewPoint, dew_point
from stockroom.core.climate.readings import usable
from stockroom.core.facts import COLD_UNKNOWN, READING_COUNTS, ROOM_HUMIDITY, ROOM_TEMP
from stockroom.core.model import Place, Stay, Unit
from stockroom.core.verdict import is_cold
from stockroom.desk.reckoning import Reckoning


@dataclass(frozen=True, slots=True)
class RoomAir:
    """The air of a room, and whence its temperature and its humidity are known.

    Attributes
    ----------
    name : str
        Of the room.
    temp_c, humidity_pct : float
        °C and % relative humidity.
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

    Parameters
    ----------
    reckoning : Reckoning
    place : str or None
        Code of the room; None for a usual one.
    at_s : float, optional
        The instant, s UTC; the one reckoned at if left out.
    """
    at_s = reckoning.now_s if at_s is None else at_s
    usual = f"{ROOM_HUMIDITY.source} ({ROOM_HUMIDITY.sure})"
    if place is None:
        source = f"{ROOM_TEMP.source} ({ROOM_TEMP.sure})"
        return RoomAir("a room", ROOM_TEMP.value, ROOM_HUMIDITY.value, source, usual)
    found = reckoning.places[place]
    temp_c, temp_source = ROOM_TEMP.value, f"{ROOM_TEMP.source} ({ROOM_TEMP.sure})"
    if found.set_point_centi_c is not None:
        temp_c, temp_source = found.set_point_centi_c / 100, "its set-point"
    humidity_pct, humidity_source = ROOM_HUMIDITY.value, usual
    if (read := _last_read(reckoning, place, at_s, "temp")) is not None:
        temp_c, temp_source = read
    if (read := _last_read(reckoning, place, at_s, "humidity")) is not None:
        humidity_pct, humidity_source = read
    return RoomAir(found.name, temp_c, humidity_pct, temp_source, humidity_source)


def warm_room(reckoning: Reckoning, unit: Unit) -> str | None:
    """Return where a unit would warm up: where it, or else its kind, stood last out of the cold.

    Where none of it was ever out: the first room that is not cold; None where there is none.
    """
    own = _last_warm(reckoning, [unit])
    if own is not None:
        return own
    alike = _last_warm(reckoning, reckoning.units_of(reckoning.material_of(unit).code))
    if alike is not None:
        return alike
    warm = [place for place in reckoning.places.values() if not is_cold(place)]
    order = {"room": 0, "magazine": 1}
    warm.sort(key=lambda place: order.get(place.place_kind, 2))
    return warm[0].code if warm else None


def _last_warm(reckoning: Reckoning, units: Sequence[Unit]) -> str | None:
    found: Stay | None = None
    for unit in units:
        for stay in reckoning.records.stays.get(unit.code, ()):
            warm = not is_cold(reckoning.places[stay.place])
            if warm and (found is None or (stay.from_s, stay.act) > (found.from_s, found.act)):
                found = stay
    return None if found is None else found.place


def cold_air(reckoning: Reckoning, place: Place, at_s: float) -> tuple[float, str]:
    """Return how cold a cold place is, °C, and whence it is known: its last reading or set-point.

    The colder of the two, for a door that stands open warms the logger before the rolls.
    """
    set_to = None if place.set_point_centi_c is None else place.set_point_centi_c / 100
    read = _last_read(reckoning, place.code, at_s, "temp")
    if read is not None and (set_to is None or read[0] <= set_to):
        return read
    if set_to is not None:
        return set_to, "its set-point" + (", colder than its last reading" if read else "")
    return COLD_UNKNOWN.value, f"{COLD_UNKNOWN.source} ({COLD_UNKNOWN.sure})"


def _last_read(
    reckoning: Reckoning, place: str, at_s: float, what: Literal["temp", "humidity"]
) -> tuple[float, str] | None:
    """The last reading of a place that still counts at an instant, and when it was."""
    log = usable(reckoning.airs.readings(place))
    low, high = np.searchsorted(log.t_s, (at_s - READING_COUNTS.value, at_s), side="right")
    values = (log.temp_c if what == "temp" else log.rh_pct)[low:high]
    known = np.flatnonzero(np.isfinite(values) & ((what == "temp") | (values > 0)))
    if not len(known):
        return None
    last = int(known[-1])
    when = clock.moment_text(int(log.t_s[low + last]), reckoning.zone)
    value = float(values[last])
    return (value if what == "temp" else min(value, 100.0)), f"logged {when}"
