"""A probe inside a warming roll: what its file tells of how fast rolls warm up here."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from stockroom import clock
from stockroom.core.books.chain import digest
from stockroom.core.climate.course import Floats
from stockroom.core.climate.probe import ProbeFit, fit_surface_coefficient
from stockroom.core.climate.readings import Readings, covers, usable, window
from stockroom.core.climate.warmup import Body
from stockroom.core.constants import COLD_COUNTS, SENSOR_SPREAD
from stockroom.core.records import Place, Unit
from stockroom.desk.climate.readings import look_at_readings
from stockroom.desk.climate.rooms import stands_cold
from stockroom.desk.climate.warming import package_of
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done, decided, standing_key
from stockroom.errors import BadValueError, ImportProblem, RefusedError
from stockroom.text import safe

if TYPE_CHECKING:
    from stockroom.intake.log_columns import Unit as Degrees
    from stockroom.intake.loggers import LogFile

ROOM_COVERED = 0.9
"""So much of a probe run the room's own log must tell (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class ProbeLook:
    """What a probe's file was understood to say.

    Attributes
    ----------
    log : LogFile
        The file.
    unit : str
        Code of the roll it was in.
    body : Package or Pack
        As it was when it was taken out.
    room, room_source : str
        Where it warmed up, and whence the air there is known.
    out_s, until_s : int
        When it was taken out, and the last reading that counts, s UTC.
    out_source : str
        Whence the first is known.
    from_c : float
        Of the roll when it was taken out, °C.
    readings : int
        How many count.
    fit : ProbeFit
        What they tell.
    """

    log: "LogFile"
    unit: str
    body: Body
    room: str
    room_source: str
    out_s: int
    until_s: int
    out_source: str
    from_c: float
    readings: int
    fit: ProbeFit

    @property
    def poor(self) -> bool:
        """Whether the readings lie further from the curve than a sensor is off."""
        return self.fit.rms_k > SENSOR_SPREAD.value


def look_at_probe_run(
    desk: Desk,
    unit: str,
    data: bytes,
    name: str,
    *,
    room: str | None = None,
    room_c: float | None = None,
    from_c: float | None = None,
    out_s: int | None = None,
    day_first: bool | None = None,
    zone: str | None = None,
    degrees: "Degrees | None" = None,
) -> ProbeLook:
    """Return what the file of a probe inside a warming roll tells, storing nothing.

    Parameters
    ----------
    unit : str
        The roll.
    data, name
        The whole logger file, and its name.
    room : str, optional
        Code or name of the room it warmed up in, whose own log is used; where it stood by the
        books, if left out.
    room_c : float, optional
        The room's temperature all the time, °C, where it was not logged.
    from_c : float, optional
        Of the roll when it was taken out, °C; the probe's own reading of then, if left out.
    out_s : int, optional
        When it was taken out, s UTC; when it left the cold by the books, or else the first
        reading, if left out.
    day_first, zone, degrees
        As for any logger file.

    Raises
    ------
    ImportProblem
        Where the file cannot be read, or the room's log does not tell that time.
    RefusedError
        Where the size of the unit does not tell how it warms.
    BadValueError
        Where the run fits no coefficient.
    """
    log = look_at_readings(desk, data, name, day_first=day_first, zone=zone, unit=degrees)
    if log.unit_in_doubt:
        raise ImportProblem(
            f"Nothing in {safe(name)} says whether it is in °C or °F, and it looks like °F.",
            try_="Say which it is: --celsius or --fahrenheit.",
        )
    with reckoned(desk) as reckoning:
        found = find(reckoning.view, Unit, unit)
        inside = usable(log.readings)
        out_at_s, out_source = _taken_out(reckoning, found, inside, out_s)
        body = package_of(reckoning, found, out_at_s)
        if body is None:
            raise RefusedError(
                f"The size of {found.code} does not tell how it warms up.",
                "A roll needs its width and length, a pack its thickness too; paper or film.",
                "Look at the code.",
            )
        back_s = _back_in_cold(reckoning, found, out_at_s)
        before = window(inside, -np.inf, out_at_s)
        after = window(inside, out_at_s, back_s)
        if from_c is None and len(before):
            from_c = float(before.temp_c[-1])
        t_s = np.append(float(out_at_s), after.t_s)
        inside_c = np.append(np.nan, after.temp_c)
        if len(after) and after.t_s[0] == out_at_s:
            t_s, inside_c = t_s[1:], inside_c[1:]
        air_c, named, source = _room_over(reckoning, found, t_s, room, room_c)
    fit = fit_surface_coefficient(t_s, inside_c, air_c, body, from_c)
    begins_c = float(after.temp_c[0]) if from_c is None else from_c
    counted = int(np.count_nonzero(np.isfinite(inside_c) & np.isfinite(air_c)))
    return ProbeLook(
        log, found.code, body, named, source, out_at_s, int(t_s[-1]), out_source, begins_c,
        counted, fit,
    )  # fmt: skip


@decided
def note_probe_run(
    desk: Desk,
    unit: str,
    data: bytes,
    name: str,
    *,
    room: str | None = None,
    room_c: float | None = None,
    from_c: float | None = None,
    out_s: int | None = None,
    day_first: bool | None = None,
    zone: str | None = None,
    degrees: "Degrees | None" = None,
    key: str | None = None,
) -> Done:
    """Write down what a probe inside a warming roll tells; the same file again changes nothing.

    Parameters and errors are those of `look_at_probe_run`.
    """
    seen = look_at_probe_run(
        desk, unit, data, name, room=room, room_c=room_c, from_c=from_c, out_s=out_s,
        day_first=day_first, zone=zone, degrees=degrees,
    )  # fmt: skip
    request = {
        "unit": seen.unit,
        "sha256": seen.log.sha256,
        "room": seen.room,
        "room_milli_c": None if room_c is None else round(room_c * 1_000),
        "from_milli_c": round(seen.from_c * 1_000),
        "out_s": seen.out_s,
    }
    if key is None:
        with desk.reading() as view:
            key = standing_key(view, f"probe run {digest([request, seen.until_s])}")

    def build(decision: Decision) -> dict[str, Any]:
        return {
            "code": decision.head.born(),
            "unit": find(decision.view, Unit, unit).code,
            "h_milli": round(seen.fit.h * 1_000),
            "low_milli": round(seen.fit.low * 1_000),
            "high_milli": round(seen.fit.high * 1_000),
            "rms_milli_k": round(seen.fit.rms_k * 1_000),
            "file": f"{safe(name, length=80)}, SHA-256 {seen.log.sha256}",
        }

    done = desk.act(
        "probe run", request, build, happened_s=seen.until_s, key=key, reason=safe(name)
    )
    return replace(done, notes=(*done.notes, *fit_lines(seen)))


def fit_lines(seen: ProbeLook) -> list[str]:
    """Return how sure the coefficient of a probe run is."""
    fit = seen.fit
    said = [
        f"From {fit.low:.1f} to {fit.high:.1f} W/(m² K); its {seen.readings} readings lie "
        f"{fit.rms_k:.2f} K from the curve."
    ]
    if seen.poor:
        said.append(
            f"That is more than a sensor is off ({SENSOR_SPREAD.value:g} K): look at when it was "
            "taken out, at the room, and whether the probe sat in the core."
        )
    return said


def _taken_out(
    reckoning: Reckoning, unit: Unit, inside: Readings, out_s: int | None
) -> tuple[int, str]:
    """When it was taken out: as told, as booked, or at the first reading."""
    first_s, last_s = int(inside.t_s[0]), int(inside.t_s[-1])
    if out_s is not None:
        if not first_s - COLD_COUNTS.value <= out_s < last_s:
            raise BadValueError(
                "The probe's file does not hold the time at which it was taken out.",
                f"It runs from {clock.moment_text(first_s, reckoning.zone)} to "
                f"{clock.moment_text(last_s, reckoning.zone)}.",
                "Look at the time, and at the zone of the file.",
            )
        return out_s, "as told"
    stays = reckoning.stays_of(unit)
    for before, after in zip(stays[-2::-1], stays[:0:-1], strict=True):
        at_s = after.from_s
        if not first_s - COLD_COUNTS.value <= at_s < last_s:
            continue
        from_cold = stands_cold(reckoning, reckoning.places[before.place], at_s)
        if from_cold and not stands_cold(reckoning, reckoning.places[after.place], at_s):
            return at_s, "as booked"
    return first_s, "its first reading"


def _back_in_cold(reckoning: Reckoning, unit: Unit, out_s: int) -> float:
    """When it went back into the cold after it was taken out; infinite where it did not."""
    for stay in reckoning.stays_of(unit):
        back_s = stay.from_s
        if back_s > out_s and stands_cold(reckoning, reckoning.places[stay.place], back_s):
            return float(stay.from_s - 1)
    return float(np.inf)


def _room_over(
    reckoning: Reckoning,
    unit: Unit,
    t_s: Floats,
    room: str | None,
    room_c: float | None,
) -> tuple[Floats, str, str]:
    """The room's temperature at some instants, NaN where its log is silent; its name; whence."""
    place = None if room is None else find(reckoning.view, Place, room)
    if room_c is not None:
        return np.full(len(t_s), room_c), place.name if place else "the room", "as told"
    if place is None:
        stood = [stay.place for stay in reckoning.stays_of(unit) if stay.from_s <= t_s[0]]
        place = reckoning.places[stood[-1]] if stood else None
        if place is None or stands_cold(reckoning, place, t_s[0]):
            raise BadValueError(
                "In which room did it warm up?",
                "The books do not say that it was out of the cold then.",
                "Name the room, or give its temperature.",
            )
    air = usable(reckoning.airs.logged(place.code))
    known = covers(air, t_s.astype(np.int64))
    if known.mean() < ROOM_COVERED:
        raise ImportProblem(
            f"The log of {place.name} tells {100 * known.mean():.0f} % of the probe run.",
            f"At least {100 * ROOM_COVERED:.0f} % are wanted.",
            "Take in the room's own log of that time first, or give its temperature.",
        )
    told = np.where(known, np.interp(t_s, air.t_s, air.temp_c), np.nan)
    return told, place.name, "its own log"
