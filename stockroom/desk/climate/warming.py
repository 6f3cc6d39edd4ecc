"""How long a cold roll or pack stands shut: from what it is, how cold it comes, and the room."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from stockroom import clock
from stockroom.core.care import own_or_ours
from stockroom.core.climate.warm_table import TableRow
from stockroom.core.climate.warmup import Body, Pack, Package, WarmUp, warm_up
from stockroom.core.constants import (
    COLD_BELOW,
    COLD_COUNTS,
    COLD_LINGERS,
    DEW_MARGIN,
    READY_WITHIN,
    STACKED_TIME,
    WARM_UP_COEFFICIENT,
)
from stockroom.core.records import Place, ProbeRun, Stay, Unit, WarmTime
from stockroom.core.verdict import is_cold
from stockroom.desk.climate.rooms import RoomAir, cold_air, room_air, stands_cold, warm_room
from stockroom.desk.reckoning import Reckoning
from stockroom.units import SECONDS_PER_DAY

LOOK_BACK_S = 7 * SECONDS_PER_DAY
"""A roll that left the cold longer ago is warm, s (our choice: no package waits for days)."""

_warm_up = lru_cache(maxsize=1_024)(warm_up)


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A surface coefficient, W/(m2 K), and what it rests on.

    Attributes
    ----------
    h : float
        W/(m2 K): the low end of the run's, for the quickest way is not the safe one.
    run : ProbeRun or None
        The probe run, if any.
    held : bool
        Whether the run, of another material, was quicker than is believed without one: `h` is
        then that.
    """

    h: float
    source: str
    run: ProbeRun | None = None
    held: bool = False


@dataclass(frozen=True, slots=True)
class Warming:
    """A cold package: how long it stands shut, from what, and when where it is out already.

    Attributes
    ----------
    body : Package or Pack
        By the length or the sheets that are left.
    cold : Place
        Where it stands, or stood until it was taken out.
    from_source : str
        Whence the temperature of that place is known.
    room : RoomAir
        Where it warms up.
    rows : tuple of TableRow
        The maker's table that stands, from `table_source`; empty without one.
    wait : WarmUp
        The two times, and by what they were reckoned.
    left_s : int or None
        When it left the cold, s UTC; None while it is still there.
    """

    unit: Unit
    body: Body
    cold: Place
    from_source: str
    room: RoomAir
    coefficient: Coefficient
    rows: tuple[TableRow, ...]
    table_source: str
    wait: WarmUp
    left_s: int | None

    @property
    def safe_s(self) -> float | None:
        """When it may be opened, s UTC; None in the cold, or where no wait makes it safe."""
        if self.left_s is None or self.wait.safe_s is None:
            return None
        return self.left_s + self.wait.safe_s

    @property
    def ready_s(self) -> float | None:
        """When it may be printed, s UTC; None while it is still in the cold."""
        return None if self.left_s is None else self.left_s + self.wait.ready_s

    @property
    def stacked_ready_s(self) -> float:
        """How long until it is printed where packages stand close together, s."""
        return self.wait.ready_s * (1.0 if self.wait.stacked else STACKED_TIME.value)

    def over(self, at_s: float) -> bool:
        """Return whether it is out and ready at an instant, s UTC."""
        return self.ready_s is not None and at_s >= self.ready_s


def warming_of(
    reckoning: Reckoning,
    unit: Unit,
    *,
    at_s: float | None = None,
    stacked: bool = False,
    room: str | None = None,
    cold: Place | None = None,
) -> Warming | None:
    """Return how a unit warms up: one in the cold if it were taken out now, or one that is out.

    Parameters
    ----------
    at_s : float, optional
        The instant looked at, s UTC; the one reckoned at if left out.
    stacked : bool
        Whether packages stand close together.
    room : str, optional
        Code of the place where it warms up; where it stands, or where it, or paper like it, last
        stood warm, if left out.
    cold : Place, optional
        As if it came from this place, wherever it stands.

    Returns
    -------
    Warming or None
        None for what its size does not tell, and for what has long been warm.

    Notes
    -----
    A place is cold where it is set or called so; else where what is logged there is below
    `COLD_BELOW`, or below that at which a roll may be opened in the room it comes into.
    """
    at_s = reckoning.now_s if at_s is None else at_s
    if not reckoning.material_of(unit).traits.warming_known:
        return None
    stays = [stay for stay in reckoning.stays_of(unit) if stay.from_s <= at_s]
    left_s: int | None = None
    if cold is None:
        cold, left_s = _cold_before(reckoning, unit, stays, at_s, room)
    if cold is None:
        return None
    body = package_of(reckoning, unit, at_s if left_s is None else left_s)
    if body is None:
        return None
    from_s = at_s if left_s is None else left_s
    from_c, from_source = _coldest(reckoning, stays, cold, from_s)
    if room is None:
        room = stays[-1].place if left_s is not None else warm_room(reckoning, unit, cold.code)
    air = room_air(reckoning, room, at_s)
    coefficient = coefficient_of(reckoning, unit)
    rows, table_source = table_of(reckoning, unit)
    wait = _warm_up(body, from_c, air.temp_c, air.dew, rows=rows, stacked=stacked, h=coefficient.h)
    return Warming(
        unit, body, cold, from_source, air, coefficient, rows, table_source, wait, left_s
    )  # fmt: skip


def package_of(reckoning: Reckoning, unit: Unit, at_s: float | None = None) -> Body | None:
    """Return what warms up of a unit: by the length left on a roll, by the sheets left in a pack.

    Parameters
    ----------
    at_s : float, optional
        As much as was left at this instant, s UTC; as much as is left now if left out.

    Returns
    -------
    Package, Pack or None
        None where its size does not tell, or where it is neither paper nor film.
    """
    material = reckoning.material_of(unit)
    if not material.traits.warming_known:
        return None
    thickness_um = material.thickness_um
    if thickness_um is None:
        thickness_um = material.traits.usual_um
    if not thickness_um or unit.width_dmm <= 0:
        return None
    left = amount_at(reckoning, unit, at_s)
    if unit.shape.wound and left > 0:
        return Package(
            left, unit.width_dmm, thickness_um / 1_000, own_or_ours(material, "core_dmm")
        )
    if unit.shape.flat and left > 0 and unit.length_dmm > 0:
        return Pack(left * thickness_um / 1_000, unit.width_dmm / 10, unit.length_dmm / 10)
    return None


def amount_at(reckoning: Reckoning, unit: Unit, at_s: float | None) -> int:
    """Return how much of a unit was left at an instant (dmm of a roll, sheets of a pack)."""
    if at_s is None:
        return unit.amount
    since = sum(qty for s, qty in reckoning.records.drawn.get(unit.code, ()) if s > at_s)
    return max(0, unit.amount - since // max(1, unit.measure))


def coefficient_of(reckoning: Reckoning, unit: Unit) -> Coefficient:
    """Return the surface coefficient of the last probe run, or else the slow end of the usual.

    A run with a roll of the same material counts before one with any other. Of a run the low end
    counts, which is the safe one; and a run with any other never makes it quicker than none.
    """
    runs = reckoning.records.all(ProbeRun)
    material = reckoning.material_of(unit)

    def place(run: ProbeRun) -> tuple[bool, int, int]:
        probed = reckoning.unit(run.unit)
        same = probed is not None and reckoning.material_of(probed).code == material.code
        return same, run.at_s, run.act

    if not runs:
        constant = WARM_UP_COEFFICIENT
        return Coefficient(constant.value, f"no probe run; {constant.source} ({constant.sure})")
    last = max(runs, key=place)
    same = place(last)[0]
    like = "this material" if same else "another material"
    source = f"probe run in {last.unit}, of {like}, {clock.moment_text(last.at_s, reckoning.zone)}"
    low, usual = last.low_milli / 1_000, WARM_UP_COEFFICIENT.value
    if same or low <= usual:
        return Coefficient(low, source, last)
    return Coefficient(usual, f"{source}, which makes it no quicker than no run", last, held=True)


def table_of(reckoning: Reckoning, unit: Unit) -> tuple[tuple[TableRow, ...], str]:
    """Return the rows of the maker's table that stands for a unit's material, and its source."""
    rows = standing_rows(reckoning.records.all(WarmTime), reckoning.material_of(unit).code)
    found = tuple(
        TableRow(row.width_dmm, row.length_dmm, row.from_centi_c / 100, row.minutes / 60)
        for row in rows
    )
    return found, rows[0].source if rows else ""


def standing_rows(rows: Sequence[WarmTime], material: str) -> list[WarmTime]:
    """Return the rows of a material's table that no later table replaced, smallest first."""
    standing = [row for row in rows if row.standing and row.material == material]
    return sorted(standing, key=lambda row: (row.width_dmm, row.length_dmm, -row.from_centi_c))


Cold = Callable[[Place, float], bool]
"""Whether a place was cold at an instant, s UTC."""


def _cold_before(
    reckoning: Reckoning, unit: Unit, stays: Sequence[Stay], at_s: float, room: str | None
) -> tuple[Place | None, int | None]:
    """The cold place it stands in, or stood in last, and when it left that; None if it never did.

    A stay too short to cool it is passed over, and one that ended long ago.
    """
    if not stays:
        return None, None
    here = reckoning.places[stays[-1].place]
    if is_cold(here):
        return here, None
    cold = _cold_for(reckoning, here, room or here.code, at_s)
    for index in reversed(range(len(stays) - 1)):
        left_s = stays[index + 1].from_s
        if left_s < at_s - LOOK_BACK_S:
            break
        place = reckoning.places[stays[index].place]
        if cold(place, left_s) and left_s - _came_s(reckoning, stays, index, cold) >= (
            COLD_COUNTS.value
        ):
            return place, left_s
    if room is None and not _cold_for_any(reckoning, here, at_s):
        return None, None
    there = warm_room(reckoning, unit, here.code) if room is None else room
    if there != here.code and _cold_for(reckoning, None, there, at_s)(here, at_s):
        return here, None
    return None, None


def _cold_for_any(reckoning: Reckoning, here: Place, at_s: float) -> bool:
    """Whether a place is cold for what comes into any other, or into a usual room."""
    others = [None, *(code for code in reckoning.places if code != here.code)]
    return any(_cold_for(reckoning, None, there, at_s)(here, at_s) for there in others)


def _cold_for(reckoning: Reckoning, here: Place | None, room: str | None, at_s: float) -> Cold:
    """What counts as cold for what comes into a room; where it now stands cold, only the colder."""
    if here is not None and stands_cold(reckoning, here, at_s):
        below_c = cold_air(reckoning, here, at_s)[0] - READY_WITHIN.value
        return lambda place, left_s: cold_air(reckoning, place, left_s)[0] < below_c
    opens_c = room_air(reckoning, room, at_s).dew.temp_c + DEW_MARGIN.value
    least_c = max(opens_c, COLD_BELOW.value)
    return lambda place, left_s: is_cold(place) or cold_air(reckoning, place, left_s)[0] < least_c


def _came_s(reckoning: Reckoning, stays: Sequence[Stay], index: int, cold: Cold) -> int:
    """When it came into the cold, from whichever cold place it came on from."""
    while index and cold(reckoning.places[stays[index - 1].place], stays[index].from_s):
        index -= 1
    return stays[index].from_s


def _coldest(
    reckoning: Reckoning, stays: Sequence[Stay], cold: Place, from_s: float
) -> tuple[float, str]:
    """How cold it is when it leaves: as its place, or as a colder one before, not long ago."""
    found = cold_air(reckoning, cold, from_s)
    for index, stay in enumerate(stays[:-1]):
        ended_s = stays[index + 1].from_s
        place = reckoning.places[stay.place]
        lately = from_s - COLD_LINGERS.value < ended_s <= from_s
        if not lately or place.code == cold.code:
            continue
        if ended_s - stay.from_s < COLD_COUNTS.value:
            continue
        before = cold_air(reckoning, place, ended_s)
        if before[0] < found[0]:
            found = before[0], f"{place.name}, where it stood before: {before[1]}"
    return found
