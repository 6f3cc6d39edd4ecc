"""Simulated rolls: the 90 % interval of life holds the true one, and one false patch moves little.

Each roll yellows by a true life and exponent; patch and control are read in the same run, by an
instrument and chemistry that both share.
"""

from dataclasses import dataclass, replace

import numpy as np
import pytest

from stockroom.core.freshness.drift import Series, WhiteReading
from stockroom.core.freshness.growth import LIFE_SD
from stockroom.core.freshness.standing import standing
from stockroom.core.freshness.white import Paper, WhiteLife, decided, white_lives

LABEL_DAYS = 730.0
ACT = 1.5
SERIES = Series("b*", "Bench spectro", "M1", "white")
EMULSION_STEP = 0.2


@dataclass(frozen=True)
class Case:
    """How the world differs from what the reckoning takes for granted; nothing by default."""

    exponent: float | None = None
    emulsion: bool = False
    shared_walk: float = 0.0
    unshared_a_year: float = 0.0


RIGHT = Case()
WRONG = {
    "early exponent": Case(exponent=0.8),
    "late exponent": Case(exponent=1.8),
    "emulsion effect": Case(emulsion=True),
    "instrument drift": Case(shared_walk=0.15, unshared_a_year=0.03),
}


def patches(
    rng: np.random.Generator, case: Case, life: float, step: int, noise: float, count: int
) -> list[WhiteReading]:
    """Return the readings of one roll, evenly spaced along its effective age.

    Quiet readings average four spots, as a person would; the noisy ones are a poorer instrument.
    """
    exponent = case.exponent or max(0.3, rng.normal(1.2, 0.25))
    age = np.arange(count) * float(step)
    spots = 4 if noise <= 0.05 else 1
    shared = np.cumsum(rng.normal(0, case.shared_walk, count)) if case.shared_walk else 0 * age
    white = -2.4 + ACT * (age / life) ** exponent + shared
    white = white + case.unshared_a_year * age / 365 + rng.normal(0, noise, count)
    control = -2.2 + shared + rng.normal(0, noise, count)
    return [
        WhiteReading(
            f"{n} b*", "roll", "lot", "paper", int(age[n] * 86_400), float(age[n]),
            float(white[n]), SERIES, "strip A", float(control[n]), spots,
        )
        for n in range(count)
    ]  # fmt: skip


def told(readings: list[WhiteReading]) -> WhiteLife:
    paper = Paper("roll", "lot", "paper", LABEL_DAYS, {"b*": ACT, "density": 0.02})
    return white_lives([paper], readings)["roll"]


def covered(case: Case, step: int, noise: float, rolls: int, seed: int = 1) -> float:
    """Return the share of rolls whose true life lies in the interval, %."""
    rng = np.random.default_rng(seed)
    hits = 0
    for number in range(rolls):
        shift = 0.0
        if case.emulsion:
            shift = EMULSION_STEP if number % 2 else -EMULSION_STEP
        life = LABEL_DAYS * float(np.exp(rng.normal(0, LIFE_SD) + shift))
        count = max(3, int(rng.uniform(0.3, 1.0) * life / step) + 1)
        found = told(patches(rng, case, life, step, noise, count))
        hits += found.low_days <= life <= found.high_days
    return 100 * hits / rolls


@pytest.mark.slow
@pytest.mark.parametrize("step", [30, 60])
@pytest.mark.parametrize("noise", [0.05, 0.1, 0.2])
def test_the_interval_covers_where_the_model_is_right(step: int, noise: float) -> None:
    assert 85 <= covered(RIGHT, step, noise, 300) <= 95


@pytest.mark.slow
@pytest.mark.parametrize("name", WRONG)
@pytest.mark.parametrize(("step", "noise"), [(30, 0.05), (30, 0.1), (60, 0.1), (60, 0.2)])
def test_the_interval_covers_where_the_model_is_wrong(name: str, step: int, noise: float) -> None:
    assert covered(WRONG[name], step, noise, 300) >= 80


def test_the_interval_covers_in_short() -> None:
    """The short form: fewer rolls, wider bounds (three sd of their counting)."""
    assert 78 <= covered(RIGHT, 60, 0.1, 60) <= 99
    assert covered(WRONG["late exponent"], 60, 0.1, 60) >= 66


def six(seed: int) -> list[WhiteReading]:
    rng = np.random.default_rng(seed)
    return patches(rng, RIGHT, 700.0, 75, 0.05, 6)


@pytest.mark.parametrize("place", range(1, 6))
def test_one_false_patch_among_six_moves_the_median_little_and_asks_for_a_strip(
    place: int,
) -> None:
    """+1.5 b* in any one patch after the first, over thirty rolls' worth of noise.

    Against the five good ones it moves nothing. Against six good ones the life moves by what the
    lost patch would have told: little, save for the last one, which tells most.
    """
    lost = []
    for seed in range(30):
        good = six(seed)
        false = replace(good[place], value=good[place].value + 1.5)
        after = told([false if n == place else item for n, item in enumerate(good)])
        without = told([item for n, item in enumerate(good) if n != place])
        assert after.odd == (false.key,)
        assert abs(after.median_days / without.median_days - 1) <= 0.04
        lost.append(abs(after.median_days / told(good).median_days - 1))
        stands = standing(after.drifts, after.odd, {"b*": (0.7, ACT)})
        assert stands is not None
        assert (stands.judgement == "ask") is (place == 5)
    assert place == 5 or np.median(lost) <= 0.06


def test_the_chemistry_is_not_taken_for_the_paper() -> None:
    """Patch and control both rise by 1.2: the paper has not moved, its life stays."""
    rng = np.random.default_rng(3)
    readings = patches(rng, Case(), 3_000.0, 60, 0.03, 6)
    moved = [
        WhiteReading(
            item.key, item.unit, item.lot, item.material, item.at_s, item.age_days,
            item.value + (1.2 if n >= 4 else 0.0), item.series, item.control,
            (item.control_value or 0.0) + (1.2 if n >= 4 else 0.0), item.spots,
        )
        for n, item in enumerate(readings)
    ]  # fmt: skip
    still, found = told(readings), told(moved)
    last = found.drifts[-1]
    assert last.process == pytest.approx(1.2, abs=0.15)
    assert abs(last.own) < 0.3
    assert found.median_days == pytest.approx(still.median_days, rel=1e-6)
    assert decided(found, LABEL_DAYS) is None
