"""Invented places with their logs, to check ages by look-up against the rule spelled out."""

import numpy as np

from stockroom.core.climate.bodies import Kind, PlaceAir
from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.readings import Readings, step_s
from stockroom.core.climate.visits import Visit
from support.history import StayClimate
from support.studio import DAY_S

CLIMATES = {
    "store": PlaceClimate(4.0, 8.0),
    "room": PlaceClimate(21.0, 26.0),
    "freezer": PlaceClimate(-18.0, -12.0),
    "unlogged": PlaceClimate(16.0),
    "unset": PlaceClimate(),
}
DAYS = 60
KINDS = tuple(
    Kind(gaps, offset_k)
    for gaps, offset_k in (
        ("likely", 0.0), ("likely", -0.5), ("likely", 0.5), ("best", 0.0), ("worst", 0.0),
    )
)  # fmt: skip


def log(mean_c: float, seed: int, every_s: int, grid_k: float = 0.1) -> Readings:
    """Return two months of readings: swings, noise, warm hours, drop-outs, uneven stamps."""
    chance = np.random.default_rng(seed)
    n = DAYS * DAY_S // every_s
    t = np.arange(n) * every_s + chance.integers(0, every_s // 3, n)
    temp_c = mean_c + np.sin(t / 9_000) + 0.2 * chance.standard_normal(n)
    for at in chance.integers(0, n, 8):
        temp_c[at : at + 6 * 3600 // every_s] += chance.uniform(3, 14)
    keep = chance.random(n) > 0.01
    for at in chance.integers(0, n, 6):
        keep[at : at + int(chance.uniform(0.5, 60) * 3600) // every_s] = False
    return Readings.of(t[keep], np.round(temp_c[keep] / grid_k) * grid_k)


def logs() -> dict[str, Readings]:
    """Return each place's log; one place has none."""
    return {
        "store": log(4.0, 1, 60),
        "room": log(21.0, 2, 900),
        "freezer": log(-18.0, 3, 300),
        "unlogged": Readings.of([], []),
        "unset": log(12.0, 4, 600),
    }


def airs(of: dict[str, Readings], to_s: float) -> dict[str, PlaceAir]:
    """Return the air of each place from the beginning to an instant."""
    return {
        name: PlaceAir(readings, CLIMATES[name], 0.0, to_s, step_s(readings) or None)
        for name, readings in of.items()
    }


def stays(of: dict[str, Readings], visits: list[Visit]) -> list[StayClimate]:
    """Return visits as the rule spelled out wants them."""
    return [
        StayClimate(visit.from_s, visit.to_s, of[visit.place], CLIMATES[visit.place],
                    step_s(of[visit.place]) or None)
        for visit in visits
    ]  # fmt: skip
