"""How long a cold roll or pack stands shut before it may be opened, and before it is printed.

Transient conduction by eigen-functions (Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed.,
7.4 and 7.11; from memory), one direction at a time; the product of the directions is the answer
for a body that starts at one temperature and has the same air all round.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stockroom.core.climate.moisture import DewPoint
from stockroom.core.climate.warm_table import TableRow, above_zero, by_table, plausible_c
from stockroom.core.constants import (
    CORE_OUTER_DIAMETER,
    CORE_WALL,
    DEW_MARGIN,
    PAPER_CALIPER,
    READY_WITHIN,
    ROLL_CONDUCTIVITY,
    ROLL_CONDUCTIVITY_ALONG,
    ROLL_HEAT_CAPACITY,
    STACKED_TIME,
    WARM_UP_COEFFICIENT,
)
from stockroom.core.geometry import roll_outer_mm
from stockroom.errors import BadValueError
from stockroom.units import DMM_PER_M, DMM_PER_MM

Floats = NDArray[np.float64]

HOUR_S = 3_600.0

MODES = 40
"""Eigen-functions kept in each direction."""

EARLY = 2e-3
"""Fourier number below which heat has not crossed the body and `MODES` would not do."""

Roots = tuple[Floats, Floats, Floats]


@lru_cache(maxsize=256)
def modes(biot: float, ratio: float | None) -> Roots:
    """Return the eigen-functions of a body closed at its inner face, in the air at its outer one.

    Flat (`ratio` None): ``cos(z x)``, ``z tan z = Bi``. Hollow cylinder:
    ``J0(z x) Y1(z ratio) - Y0(z x) J1(z ratio)``; solid (`ratio` 0): ``J0(z x)``; both with
    ``-f'(1) = Bi f(1)``. The weight of each is its share of a first difference of 1.

    Parameters
    ----------
    biot : float
        h L / k; L is the outer radius, or the depth of a flat body.
    ratio : float or None
        Inner over outer radius, from 0 to below 1; None for a flat body.

    Returns
    -------
    (float64 array (MODES,), float64 array (MODES,), float64 array (MODES,))
        Roots z, rising; weights at the inner face (at the axis, if solid) and at the outer face.

    >>> zeta, inner, _ = modes(1.0, 0.0)
    >>> round(float(zeta[0]), 4), round(float(inner[0]), 4)
    (1.2558, 1.2071)
    """
    if ratio is None:
        number = np.arange(MODES, dtype=np.float64)
        sign = (-1.0) ** number
        zeta = _bisected(
            lambda z: sign * (z * np.sin(z) - biot * np.cos(z)),
            np.asarray(number * math.pi),
            np.asarray((number + 0.5) * math.pi),
        )
        flat = 4 * np.sin(zeta) / (2 * zeta + np.sin(2 * zeta))
        return _read_only(zeta, flat, flat * np.cos(zeta))
    hole = ratio
    from scipy.special import j0, j1, y0, y1

    def value(z: Floats, x: float) -> Floats:
        if not hole:
            return np.asarray(j0(z * x))
        return np.asarray(j0(z * x) * y1(z * hole) - y0(z * x) * j1(z * hole))

    def rest(z: Floats) -> Floats:
        slope = j1(z) if not hole else j1(z) * y1(z * hole) - y1(z) * j1(z * hole)
        return np.asarray(z * slope - biot * value(z, 1.0))

    # roots lie about pi / (1 - ratio) apart: eight looks between two of them miss none
    apart = math.pi / (1 - hole)
    looks = np.append(1e-6, np.arange(1, 8 * (MODES + 2)) * apart / 8)
    seen = np.sign(rest(looks))
    before = np.flatnonzero(seen[1:] != seen[:-1])[:MODES]
    sign = -seen[before]
    zeta = _bisected(lambda z: sign * rest(z), looks[before], looks[before + 1])
    outer, inner = value(zeta, 1.0), value(zeta, hole)
    norm = outer**2 * (1 + (biot / zeta) ** 2) - (hole * inner) ** 2
    weight = 2 * biot * outer / zeta**2 / norm
    return _read_only(zeta, weight * inner, weight * outer)


def _read_only(zeta: Floats, inner: Floats, outer: Floats) -> Roots:
    """The arrays, closed to writing: the cache hands them out again."""
    for array in (zeta, inner, outer):
        array.flags.writeable = False
    return zeta, inner, outer


def _bisected(rest: Callable[[Floats], Floats], low: Floats, high: Floats) -> Floats:
    """Roots of a function that is below zero at each low end and above it at each high one."""
    for _ in range(54):
        middle = (low + high) / 2
        below = rest(middle) < 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    return np.asarray((low + high) / 2)


@dataclass(frozen=True, slots=True)
class Way:
    """One direction of heat, from a closed inner face to a face in the air.

    Attributes
    ----------
    depth_m : float
        From face to face, m.
    conductivity : float
        W/(m K).
    inner_m : float or None
        Radius of the inner face, m; None where the faces are flat.
    """

    depth_m: float
    conductivity: float
    inner_m: float | None = None

    def left(self, t_s: ArrayLike, h: float, *, outer: bool = False) -> Floats:
        """Return the share of the first difference to the air left after `t_s` seconds.

        At the inner face, or at the outer one. While the heat has not yet crossed, the outer face
        is that of a half space under a surface of radius r: ``1 - (h/g) (1 - exp(y²) erfc(y))``,
        ``g = h - k/2r``, ``y = g sqrt(alpha t) / k`` (first order of I1/I0 in the transform).
        """
        from scipy.special import erfcx

        t = np.asarray(t_s, dtype=np.float64)
        flat = self.inner_m is None
        size_m = self.depth_m + (self.inner_m or 0.0)
        alpha = self.conductivity / ROLL_HEAT_CAPACITY.value
        biot = h * size_m / self.conductivity
        zeta, at_inner, at_outer = modes(biot, None if flat else (self.inner_m or 0.0) / size_m)
        weight = at_outer if outer else at_inner
        late = np.exp(np.multiply.outer(alpha * t / size_m**2, -(zeta**2))) @ weight
        fourier = alpha * t / self.depth_m**2
        reach = np.sqrt(np.minimum(fourier, EARLY)) * self.depth_m / size_m
        y = reach * (biot if flat else biot - 0.5)
        near_zero = np.abs(y) < 1e-6
        rise = np.where(
            near_zero, 2 / math.sqrt(math.pi), (1 - erfcx(y)) / np.where(near_zero, 1.0, y)
        )
        early = 1 - biot * reach * rise if outer else np.ones_like(t)
        return np.where(fourier < EARLY, early, late)


@dataclass(frozen=True, slots=True)
class Package:
    """A roll in its carton, warmed from outside through its side and its two ends.

    The core tube counts as wound paper, its bore as closed (end plugs, still air). That brackets
    a maker's published hours for rolls on a 3 inch core between 3 and 8 W/(m2 K); a roll without
    its tube is too quick for them at 3, one with its bore full of paper too slow at 8.

    Attributes
    ----------
    length_dmm, width_dmm : float
        Paper left on the roll and its width.
    caliper_mm, core_mm, wall_mm : float
        Thickness of the paper; outer diameter and wall of the core tube.
    """

    length_dmm: float
    width_dmm: float
    caliper_mm: float = PAPER_CALIPER.value
    core_mm: float = CORE_OUTER_DIAMETER.value
    wall_mm: float = CORE_WALL.value

    def __post_init__(self) -> None:
        above_zero(self.width_dmm, "width of a roll")
        outer_mm = roll_outer_mm(self.length_dmm / DMM_PER_MM, self.core_mm, self.caliper_mm)
        if not 0 <= self.wall_mm < math.inf or outer_mm <= 2 * self.bore_m * 1_000:
            raise BadValueError("There is no roll.", "Neither paper nor a core tube is there.")

    @property
    def bore_m(self) -> float:
        """Radius inside the core tube, m; 0 for a solid core."""
        return max(0.0, self.core_mm / 2 - self.wall_mm) / 1_000

    @property
    def ways(self) -> tuple[Way, ...]:
        """Across the layers, and along them to the ends."""
        outer_mm = roll_outer_mm(self.length_dmm / DMM_PER_MM, self.core_mm, self.caliper_mm)
        across = Way(outer_mm / 2_000 - self.bore_m, ROLL_CONDUCTIVITY.value, self.bore_m)
        return across, Way(self.width_dmm / 2 / DMM_PER_M, ROLL_CONDUCTIVITY_ALONG.value)

    @property
    def sides_dmm(self) -> tuple[float, float]:
        """Width and length, as a maker's table asks for them."""
        return self.width_dmm, self.length_dmm


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack of sheets lying on a bench, which closes its lower face: the coldest part.

    Attributes
    ----------
    thickness_mm, width_mm, height_mm : float
        Of the sheets together, in their box.
    """

    thickness_mm: float
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        for side_mm in (self.thickness_mm, self.width_mm, self.height_mm):
            above_zero(side_mm, "side of a pack")

    @property
    def ways(self) -> tuple[Way, ...]:
        """Down through the layers, and along them from the edges."""
        along = ROLL_CONDUCTIVITY_ALONG.value
        return (
            Way(self.thickness_mm / 1_000, ROLL_CONDUCTIVITY.value),
            Way(self.width_mm / 2_000, along),
            Way(self.height_mm / 2_000, along),
        )

    @property
    def sides_dmm(self) -> tuple[float, float]:
        """Shorter and longer side of the sheets, as a maker's table asks for them."""
        short, long = sorted((self.width_mm * DMM_PER_MM, self.height_mm * DMM_PER_MM))
        return short, long


Body = Package | Pack


def share_left(package: Body, h: float, t_s: ArrayLike, *, outer: bool = False) -> Floats:
    """Return the share of the first difference to the room left at the core, or at the surface.

    Parameters
    ----------
    package : Package or Pack
    h : float
        Surface coefficient, W/(m2 K).
    t_s : scalar or array
        Since it was taken out, s.
    outer : bool
        At the middle of the surface instead of at the core.
    """
    first, *others = package.ways
    share = first.left(t_s, h, outer=outer)
    for way in others:
        share = share * way.left(t_s, h)
    return share


def _until(package: Body, h: float, share: float) -> float:
    """Seconds until so much of the first difference is left at the core."""
    from scipy.optimize import brentq

    if share >= 1:
        return 0.0
    end_s = HOUR_S
    while float(share_left(package, h, end_s)) > share:
        end_s *= 2
    return float(brentq(lambda t: float(share_left(package, h, t)) - share, 0.0, end_s, xtol=0.1))


By = Literal["maker's table", "conduction"]
State = Literal["wait", "nothing to wait for", "room too damp"]


@dataclass(frozen=True, slots=True)
class WarmUp:
    """How long a package stays shut, and why.

    Attributes
    ----------
    state : str
        ``room too damp`` where the room itself is within `DEW_MARGIN` of its dew point: then no
        wait makes opening safe.
    safe_s : float or None
        Until it may be opened, s: its coldest part is `DEW_MARGIN` above the room's dew point,
        or the maker's hours are over. None where the room is too damp.
    ready_s : float
        Until it may be printed, s: its core is within `READY_WITHIN` of the room, or the maker's
        hours are over; never before it may be opened, where it may.
    by : str
        What `ready_s` rests on.
    beyond_table : bool
        Larger or colder than any row of the maker's table.
    stacked : bool
        Both times are half as long again, because packages stand close together.
    dew : DewPoint
        Of the room.
    from_c, room_c : float
        Of the package at the start, and of the room, °C.
    surface_coefficient : float
        W/(m2 K), as conduction used it.
    """

    state: State
    safe_s: float | None
    ready_s: float
    by: By
    beyond_table: bool
    stacked: bool
    dew: DewPoint
    from_c: float
    room_c: float
    surface_coefficient: float


def warm_up(
    package: Body,
    from_c: float,
    room_c: float,
    dew: DewPoint,
    *,
    rows: Sequence[TableRow] = (),
    stacked: bool = False,
    h: float = WARM_UP_COEFFICIENT.value,
) -> WarmUp:
    """Return how long a package must stand shut in a room.

    The maker's table decides where there is one; beyond its rows, and for a pack (whose rows do
    not tell how thick it is), never less than conduction. A slower surface coefficient never
    shortens a time.

    Parameters
    ----------
    package : Package or Pack
    from_c, room_c : float
        Of the package when taken out, and of the room, °C.
    dew : DewPoint
        Of the room's air, not of the store's.
    rows : sequence of TableRow
        The maker's table for this form of package; may be empty.
    stacked : bool
        Whether packages stand close together or on each other.
    h : float
        Surface coefficient, W/(m2 K); one fitted from a probe run, or the slow end of the usual.

    Raises
    ------
    BadValueError
        Where a temperature or the coefficient cannot be.

    >>> from stockroom.core.climate.moisture import dew_point
    >>> wait = warm_up(Package(500_000, 12_700), 4.0, 21.0, dew_point(21.0, 50.0))
    >>> wait.state, round(wait.safe_s / 3600, 1), round(wait.ready_s / 3600, 1)
    ('wait', 4.6, 11.8)
    """
    plausible_c(from_c, room_c, dew.temp_c)
    above_zero(h, "surface coefficient")
    open_c = dew.temp_c + DEW_MARGIN.value
    safe_s: float | None = None
    if room_c > open_c:
        safe_s = (
            0.0 if from_c >= open_c else _until(package, h, (room_c - open_c) / (room_c - from_c))
        )
    apart_k = abs(room_c - from_c)
    ready_s = _until(package, h, READY_WITHIN.value / apart_k) if apart_k else 0.0
    by: By = "conduction"
    beyond = False
    if rows and ready_s > 0 and from_c < room_c:
        told = by_table(rows, *package.sides_dmm, from_c)
        beyond, table_s = told.beyond, told.hours * HOUR_S
        least_s = ready_s if beyond or isinstance(package, Pack) else 0.0
        by = "maker's table" if table_s >= max(least_s, safe_s or 0.0) else "conduction"
        ready_s = max(table_s, least_s)
        safe_s = None if safe_s is None else max(safe_s, table_s)
    ready_s = max(ready_s, safe_s or 0.0)
    factor = STACKED_TIME.value if stacked else 1.0
    state: State = "wait" if ready_s else "nothing to wait for"
    return WarmUp(
        state="room too damp" if safe_s is None else state,
        safe_s=None if safe_s is None else factor * safe_s,
        ready_s=factor * ready_s,
        by=by,
        beyond_table=beyond,
        stacked=stacked,
        dew=dew,
        from_c=from_c,
        room_c=room_c,
        surface_coefficient=h,
    )
