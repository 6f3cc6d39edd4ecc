"""The temperature of a package on its way to that of a room."""

from numpy.typing import ArrayLike

from stockroom.core.climate.course import Floats
from stockroom.core.climate.warmup import Body, share_left


def temperature_at(
    package: Body, from_c: float, room_c: float, h: float, t_s: ArrayLike
) -> tuple[Floats, Floats]:
    """Return the temperature at the core and at the middle of the surface, °C.

    `h` is the surface coefficient, W/(m2 K); `t_s` the time since it was taken out, s.
    """
    core, surface = share_left(package, h, t_s), share_left(package, h, t_s, outer=True)
    return room_c + (from_c - room_c) * core, room_c + (from_c - room_c) * surface
