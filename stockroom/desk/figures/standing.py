"""The air a unit stands in, now or when it was moved: logged lately, else set-point."""

import math
from dataclasses import dataclass

from stockroom import clock
from stockroom.core.expansion import Air
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.climate.rooms import read_lately


@dataclass(frozen=True, slots=True)
class Standing:
    """The air of a place at an instant: °C, % relative humidity where known, and how it is known.

    Attributes
    ----------
    place : str
        Its name.
    temp_c, humidity_pct : float, float or None
        The air.
    source : str
        A reading with its time, or the set-point.
    """

    place: str
    temp_c: float
    humidity_pct: float | None
    source: str

    @property
    def air(self) -> Air:
        """The air alone."""
        return Air(self.temp_c, self.humidity_pct)

    @property
    def text(self) -> str:
        """Temperature and humidity, as a person reads them."""
        if self.humidity_pct is None:
            return f"{self.temp_c:.1f} °C"
        return f"{self.temp_c:.1f} °C, {self.humidity_pct:.0f} % RH"


def standing(reckoning: Reckoning, place: str, at_s: float | None = None) -> Standing | None:
    """Return the air of a place at an instant, now if left out; None where nothing tells.

    The last reading before it counts for a day; after that the place's set-point does.
    """
    at_s = reckoning.now_s if at_s is None else at_s
    name = reckoning.places[place].name
    day = read_lately(reckoning, place, at_s)
    if len(day):
        humidity = float(day.rh_pct[-1])
        known = math.isfinite(humidity) and 0 <= humidity <= 100
        when = clock.moment_text(int(day.t_s[-1]), reckoning.zone)
        return Standing(name, float(day.temp_c[-1]), humidity if known else None, f"logged {when}")
    set_to = reckoning.places[place].set_point_centi_c
    return None if set_to is None else Standing(name, set_to / 100, None, "its set-point")
