"""How long a cold roll or pack stands shut: from what it is, how cold it comes, and the room."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from stockroom import clock
from stockroom.core.care import core_mm
from stockroom.core.climate.warmup import Body, Pack, Package, TableRow, WarmUp, warm_up
from stockroom.core.condition import ProbeRun, WarmTime
from stockroom.core.facts import (
    COLD_COUNTS,
    COLD_LINGERS,
    PAPER_CALIPER,
    STACKED_TIME,
    WARM_UP_COEFFICIENT,
)
from stockroom.core.model import Place, Stay, Unit
from stockroom.core.verdict import is_cold
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.rooms import RoomAir, cold_air, room_air, warm_room
from stockroom.units import SECONDS_PER_DAY

LOOK_BACK_S = 7 * SECONDS_PER_DAY
"""A roll that left the cold longer ago is warm, s (our choice: no package waits for days)."""
KEPT_COLD = ("paper", "film")
"""Families whose heat is known well enough to reckon how fast they warm."""

_warm_up = lru_cache(maxsize=1_024)(warm_up)


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A surface coefficient, W/(m2 K), and what it rests on; `run` is the probe run, if any."""

    h: float
    source: str
    run: ProbeRun | None = None


@dataclass(frozen=True, slots=True)
class Warming:
    """A cold package: how long it stands shut, from what, and when where it is out already.

    Attributes
    ----------
    unit : Unit
    body : Package or Pack
        By the length or the sheets that are left.
    cold : Place
        Where it stands, or stood until it was taken out.
    from_source : str
        Whence the temperature of that place is known.
    room : RoomAir
        Where it warms up.
    coefficient : Coefficient
    rows : tuple of TableRow
        The maker's table that stands, from `table_source`; empty without one.
    table_source : str
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
    reckoning : Reckoning
    unit : Unit
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
    """
    at_s = reckoning.now_s if at_s is None else at_s
    stays = [stay for stay in reckoning.stays_of(unit) if stay.from_s <= at_s]
    left_s: int | None = None
    if cold is None:
        cold, left_s = _cold_before(reckoning, stays, at_s)
    if cold is None or (left_s is not None and left_s < at_s - LOOK_BACK_S):
        return None
    body = package_of(reckoning, unit, at_s if left_s is None else left_s)
    if body is None:
        return None
    from_s = at_s if left_s is None else left_s
    from_c, from_source = _coldest(reckoning, stays, cold, from_s)
    if room is None:
        room = stays[-1].place if left_s is not None else warm_room(reckoning, unit)
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
    reckoning : Reckoning
    unit : Unit
    at_s : float, optional
        As much as was left at this instant, s UTC; as much as is left now if left out.

    Returns
    -------
    Package, Pack or None
        None where its size does not tell, or where it is neither paper nor film.
    """
    material = reckoning.material_of(unit)
    if material.family not in KEPT_COLD:
        return None
    thickness_um = material.thickness_um
    if thickness_um is None and material.family == "paper":
        thickness_um = round(PAPER_CALIPER.value * 1_000)
    if not thickness_um or unit.width_dmm <= 0:
        return None
    left = amount_at(reckoning, unit, at_s)
    if unit.form == "roll" and left > 0:
        return Package(left, unit.width_dmm, thickness_um / 1_000, core_mm(material))
    if unit.form == "sheet" and left > 0 and unit.length_dmm > 0:
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

    A run with a roll of the same material counts before one with any other.
    """
    runs = reckoning.records.all(ProbeRun)
    material = reckoning.material_of(unit)

    def place(run: ProbeRun) -> tuple[bool, int, int]:
        probed = reckoning.unit(run.unit)
        same = probed is not None and reckoning.material_of(probed).code == material.code
        return same, run.at_s, run.act

    if not runs:
        fact = WARM_UP_COEFFICIENT
        return Coefficient(fact.value, f"no probe run; {fact.source} ({fact.sure})")
    last = max(runs, key=place)
    like = "this material" if place(last)[0] else "another material"
    when = clock.moment_text(last.at_s, reckoning.zone)
    return Coefficient(
        last.h_milli / 1_000, f"probe run in {last.unit}, of {like}, {when}", last
    )  # fmt: skip


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


def _cold_before(
    reckoning: Reckoning, stays: Sequence[Stay], at_s: float
) -> tuple[Place | None, int | None]:
    """The cold place it stands in, or stood in last, and when it left that; None if it never did.

    A stay too short to cool it is passed over.
    """
    for index in reversed(range(len(stays))):
        stay = stays[index]
        place = reckoning.places[stay.place]
        if not is_cold(place):
            continue
        if index == len(stays) - 1:
            return place, None
        left_s = stays[index + 1].from_s
        if left_s - _came_s(reckoning, stays, index) >= COLD_COUNTS.value:
            return place, left_s
    return None, None


def _came_s(reckoning: Reckoning, stays: Sequence[Stay], index: int) -> int:
    """When it came into the cold, from whichever cold place it came on from."""
    while index and is_cold(reckoning.places[stays[index - 1].place]):
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
        if not lately or not is_cold(place) or place.code == cold.code:
            continue
        if ended_s - stay.from_s < COLD_COUNTS.value:
            continue
        before = cold_air(reckoning, place, ended_s)
        if before[0] < found[0]:
            found = before[0], f"{place.name}, where it stood before: {before[1]}"
    return found
