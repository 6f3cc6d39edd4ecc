"""The rule of ageing spelled out, stay by stay and reading by reading, to hold look-ups against."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockroom.core.climate.ageing import Scenario, Used, use
from stockroom.core.climate.bodies import PlaceAir, lag_class_s
from stockroom.core.climate.course import Course, Gaps, PlaceClimate, believed
from stockroom.core.climate.lag import inside
from stockroom.core.climate.readings import Readings, Usual
from stockroom.core.climate.visits import Journey, Visit, age
from stockroom.core.freshness.ahead import steady
from stockroom.core.freshness.label import LabelLife
from stockroom.core.freshness.usable_by import UsableBy, life_of, told
from stockroom.core.freshness.ways import ways_of


@dataclass(frozen=True, slots=True, eq=False)
class StayClimate:
    """One stay with what is known of the air there.

    Attributes
    ----------
    from_s, to_s : float
        The stay, s UTC.
    readings : Readings
        Of the place, reaching beyond the stay by at least one reading where there is one; empty
        where nothing was logged, then the air is what is believed of the place.
    place : PlaceClimate
    usual : float, Steps or None
        The median step of the place's whole log, s, by which a gap is told; None: that of the
        readings given.
    """

    from_s: float
    to_s: float
    readings: Readings
    place: PlaceClimate
    usual: Usual = None


def history_used(
    stays: Sequence[StayClimate], label_temp_c: float, scenario: Scenario, tau_s: float = 0.0
) -> list[Used]:
    """Return the life used in each stay of a unit.

    A roll carried out warms slowly, and put back it stays warm for hours: the temperature inside
    at the end of a stay is where the next one starts. The first stay starts at the temperature of
    its air. Gaps and places without readings are lagged like any other air.

    Parameters
    ----------
    stays : sequence of StayClimate
        In order of time, not overlapping.
    label_temp_c : float
        Temperature for which the label's life is stated, °C.
    scenario : Scenario
    tau_s : float
        Time constant of the unit, s; 0 gives `used_life` stay by stay.

    Raises
    ------
    ValueError
        Where stays overlap or a number cannot be.

    >>> from stockroom.core.climate.readings import EMPTY
    >>> cold, room = PlaceClimate(4.0), PlaceClimate(21.0)
    >>> stays = [StayClimate(0, 7_200, EMPTY, room), StayClimate(7_200, 86_400, EMPTY, cold)]
    >>> [round(used.days, 2) for used in history_used(stays, 10.0, Scenario(85_000))]
    [0.32, 0.42]
    """
    courses = history_courses(stays, scenario.gaps, scenario.offset_k, tau_s)
    return [use(course, label_temp_c, scenario.energy_j_mol) for course in courses]


def history_courses(
    stays: Iterable[StayClimate], gaps: Gaps = "likely", offset_k: float = 0.0, tau_s: float = 0.0
) -> list[Course]:
    """Return the temperature inside a unit over each of its stays.

    It does not depend on label or energy: made once, `use` reads it for any of them. Parameters
    and errors as in `history_used` and `Scenario`.
    """
    courses = []
    inside_c: float | None = None
    end_s = float("-inf")
    for stay in stays:
        if stay.from_s < end_s:
            raise ValueError("a unit cannot stand in two places at once: its stays overlap")
        end_s = stay.to_s
        course = believed(
            stay.readings, stay.from_s, stay.to_s, stay.place, gaps, offset_k, stay.usual
        )
        if len(course):
            course, inside_c = inside(course, tau_s, inside_c)
        courses.append(course)
    return courses


def usable_by(
    stays: Sequence[StayClimate],
    label: LabelLife,
    now_s: float,
    temp_ahead_c: float,
    *,
    tau_s: float = 0.0,
    energy_j_mol: float | None = None,
    arrived_warm: bool = False,
    zone: str = "UTC",
) -> UsableBy:
    """Return the day until which a unit can be used, with its range and what widens it.

    Parameters
    ----------
    stays : sequence of StayClimate
        Where it stood since it came, in order, up to `now_s`.
    label : LabelLife
        The life it came with.
    now_s : float
        The present, s UTC.
    temp_ahead_c : float
        Where it will stand from now on, °C.
    tau_s : float
        Its time constant, s; the nearest of the ladder counts.
    energy_j_mol : float or None
        The user's own activation energy; None for the interval.
    arrived_warm : bool
        Whether it came warm, nobody knows for how long.
    zone : str
        The workshop's time zone, in which days are told.

    Returns
    -------
    UsableBy
    """
    ways = ways_of(label, energy_j_mol, arrived_warm=arrived_warm)
    airs, visits = {}, []
    for number, stay in enumerate(stays):
        if stay.to_s > stay.from_s:
            airs[str(number)] = PlaceAir(
                stay.readings, stay.place, stay.from_s, stay.to_s, stay.usual
            )
            visits.append(Visit(str(number), lag_class_s(tau_s), stay.from_s, stay.to_s))
    (aged,) = age([Journey(ways.fresh(label, stays[0].from_s if stays else now_s), visits,
                           ways.rules, ways.budgets(label))], airs)  # fmt: skip
    ahead = steady(temp_ahead_c)
    life = life_of(aged, ways, label, ahead, now_s)
    return told(label, ways, life, now_s, zone, ahead)
