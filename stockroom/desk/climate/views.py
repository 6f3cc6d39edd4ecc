"""What pictures of places are drawn from: all places, one over a span, one's kinetic means."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal, NamedTuple

from stockroom import clock
from stockroom.core.climate.doors import Door, Unseen, doors, unseen
from stockroom.core.climate.readings import Readings, Usual, step_s, usable, usual_steps, window
from stockroom.core.climate.windows import (
    Window,
    gaps,
    logged,
    logged_share,
    window_of,
    window_table,
)
from stockroom.core.constants import ACTIVATION_ENERGY, DOOR_BEFORE, DOOR_LONGEST, MKT_ENERGY
from stockroom.core.records import Import, Place
from stockroom.desk.day import AtRisk, booked_prints, spells_at_risk
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.stock.views import ShelfLine, shelf_line
from stockroom.errors import BadValueError

if TYPE_CHECKING:
    from stockroom.intake.loggers import LogFile as LogFile

Span = Literal["week", "month", "year"]
SPAN_DAYS: dict[Span, int] = {"week": 7, "month": 30, "year": 365}
"""How many calendar days one picture of a place shows."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceLine:
    """A place, how many units stand there, and its last reading (s UTC, °C) if it has one."""

    place: Place
    units: int
    last: tuple[int, float] | None


def places(desk: Desk) -> list[PlaceLine]:
    """Return all places, those with limits first."""
    with reckoned(desk) as reckoning:
        lines = [_place_line(reckoning, place) for place in reckoning.places.values()]
    return sorted(lines, key=lambda line: (line.place.high_centi_c is None, line.place.code))


def _place_line(reckoning: Reckoning, place: Place) -> PlaceLine:
    log = usable(reckoning.airs.readings(place.code))
    last = (int(log.t_s[-1]), float(log.temp_c[-1])) if len(log) else None
    count = sum(unit.place == place.code for unit in reckoning.units.values())
    return PlaceLine(place, count, last)


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """A log over whole calendar days.

    Attributes
    ----------
    span, back : Span, int
        How long, and how many such spans before the one that ends today.
    from_s, to_s : int
        s UTC.
    readings : Readings
        The usable ones in it.
    step_s : float
        Their median step, s; 0 where there are fewer than two.
    logged_share : float
        Share of it that is logged, of what is not still to come.
    gaps : tuple of (from_s, to_s)
        Gaps of the log, s UTC.
    doors : tuple of Door
        Short rises, by a door or a defrost.
    unseen : Unseen or None
        Why no short rise could be seen in it.
    """

    span: Span
    back: int
    from_s: int
    to_s: int
    readings: Readings
    step_s: float
    logged_share: float
    gaps: tuple[tuple[int, int], ...]
    doors: tuple[Door, ...]
    unseen: Unseen | None


@dataclass(frozen=True, slots=True, eq=False)
class PlacePicture:
    """One place: its log over a span, what stands there, its warm spells and its files.

    `log` holds all usable readings, so that another span is shown without reading anew; `step_s`
    is the median step of those that were logged, s.
    """

    line: PlaceLine
    log: Readings
    step_s: float
    stretch: Stretch
    units: tuple[ShelfLine, ...]
    spells: tuple[AtRisk, ...]
    imports: tuple[Import, ...]
    now_s: int
    today: date
    zone: str

    @property
    def reaches_before(self) -> bool:
        """Whether there are readings before what is shown."""
        return bool(len(self.log)) and int(self.log.t_s[0]) < self.stretch.from_s

    def over(self, span: Span, back: int) -> "PlacePicture":
        """Return the same place over another span."""
        besides = [(found.spell.from_s, found.spell.to_s) for found in self.spells]
        days = _Days(span, back, self.today, self.now_s, self.zone)
        return replace(
            self, stretch=_stretch(self.log, usual_steps(logged(self.log)), days, besides)
        )


class _Days(NamedTuple):
    """Which days are asked for."""

    span: Span
    back: int
    today: date
    now_s: int
    zone: str


def _stretch(
    log: Readings, usual: Usual, days: _Days, besides: Sequence[tuple[int, int]]
) -> Stretch:
    span, back, today, now_s, zone = days
    after = today + timedelta(days=1 - back * SPAN_DAYS[span])
    from_s = clock.start_of_day_s(after - timedelta(days=SPAN_DAYS[span]), zone)
    to_s = clock.start_of_day_s(after, zone)
    part = window(log, from_s, to_s)
    past_s = max(from_s, min(to_s, now_s))
    # an hour before tells what it was; half an hour after, whether it came back
    around = window(log, from_s - DOOR_BEFORE.value, to_s + DOOR_LONGEST.value)
    near = window(logged(log), from_s, past_s, beyond=1)
    return Stretch(
        span,
        back,
        from_s,
        to_s,
        part,
        step_s(part),
        logged_share(near, from_s, past_s, usual),
        tuple(gaps(near, from_s, past_s, usual)),
        tuple(door for door in doors(around, besides=besides) if from_s <= door.from_s < to_s),
        unseen(part),
    )


def one_place(
    desk: Desk, said: str, back: int = 0, on: date | None = None, *, span: Span = "week"
) -> PlacePicture:
    """Return one place over a week, a month or a year, `back` such spans before this one.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    day = on or desk.today()
    with reckoned(desk, on) as reckoning:
        place = find(reckoning.view, Place, said)
        log = usable(reckoning.airs.readings(place.code))
        prints = booked_prints(reckoning, day)
        standing = [unit for unit in reckoning.units.values() if unit.place == place.code]
        spells = tuple(
            found
            for found in spells_at_risk(reckoning, prints)
            if found.spell.place.code == place.code
        )
        besides = [(found.spell.from_s, found.spell.to_s) for found in spells]
        usual = usual_steps(logged(log))
        days = _Days(span, back, day, reckoning.now_s, desk.zone)
        return PlacePicture(
            line=_place_line(reckoning, place),
            log=log,
            step_s=step_s(logged(log)),
            stretch=_stretch(log, usual, days, besides),
            units=tuple(shelf_line(reckoning, unit) for unit in standing),
            spells=spells,
            imports=tuple(
                item
                for item in reckoning.records.all(Import)
                if item.place == place.code and not item.withdrawn
            ),
            now_s=reckoning.now_s,
            today=day,
            zone=desk.zone,
        )


MKT_ENERGIES_J_MOL = (MKT_ENERGY.value, ACTIVATION_ENERGY.value)
"""The pharmacopoeia's, and ours where a material has none of its own."""


@dataclass(frozen=True, slots=True, eq=False)
class PlaceMeans:
    """A place's mean kinetic temperature over windows, each at `MKT_ENERGIES_J_MOL`."""

    place: Place
    windows: tuple[Window, ...]
    now_s: int
    today: date
    zone: str


def place_means(
    desk: Desk,
    said: str,
    on: date | None = None,
    *,
    from_day: date | None = None,
    to_day: date | None = None,
) -> PlaceMeans:
    """Return one place's mean kinetic temperature over the stated windows, or over some days.

    Parameters
    ----------
    said : str
        The place, by code or name.
    on : date, optional
        Reason as if it were this day.
    from_day, to_day : date, optional
        First and last day of one window instead of the stated ones; the log's own start, and
        now, where one of them is left out.

    Raises
    ------
    UnknownCodeError
        Where there is no such place.
    BadValueError
        Where the days are in the wrong order or still to come.
    """
    with reckoned(desk, on) as reckoning:
        now_s = reckoning.now_s
        place = find(reckoning.view, Place, said)
        log = reckoning.airs.readings(place.code)
    if from_day is None and to_day is None:
        windows = window_table(log, now_s, MKT_ENERGIES_J_MOL)
    else:
        begin_s = int(log.t_s[0]) if len(log) else now_s
        if from_day is not None:
            begin_s = clock.start_of_day_s(from_day, desk.zone)
        end_s = now_s
        if to_day is not None:
            end_s = min(now_s, clock.start_of_day_s(to_day + timedelta(days=1), desk.zone))
        if begin_s >= end_s:
            raise BadValueError(
                "There is no time between these two days.",
                "A window begins before it ends, and ends now at the latest; without a first day "
                "it begins with the log.",
                "Look at the two days.",
            )
        windows = [window_of(log, begin_s, end_s, MKT_ENERGIES_J_MOL, "these days")]
    return PlaceMeans(place, tuple(windows), now_s, on or desk.today(), desk.zone)
