"""Total needs agree with plain convolution, never fall short of it, and never wrap."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.counts import shortfall

from stockroom.core.losses import Tries, mounts_needed, prints_needed
from stockroom.core.making.chain import Chain, Step, Way, Yields, draws_needed
from stockroom.core.making.needs import (
    BEYOND,
    FINER,
    LOST_TAIL,
    MOST_STEPS,
    Draw,
    Need,
    total_need,
    total_needs,
)
from stockroom.core.yields import MountYield, PrintYield
from stockroom.errors import BadValueError

ROUNDED_MOST = 0.01
"""Most that rounding may add to a need, as a share."""
HEAVY_ROUNDED_MOST = 0.04
"""The same for few jobs where more than one mount in four is lost, and little is known of it."""


def tries(*chances: float) -> Tries:
    pmf = np.array(chances)
    return Tries(pmf, float(np.arange(len(pmf)) @ pmf))


def by_hand(draws: list[Draw]) -> np.ndarray:
    """Chance of each amount in single units, by adding shifted copies."""
    total = np.ones(1)
    for draw in draws:
        longer = np.zeros(len(total) + draw.amount * (len(draw.count.pmf) - 1))
        for count, chance in enumerate(draw.count.pmf):
            longer[count * draw.amount : count * draw.amount + len(total)] += chance * total
        total = longer
    return total


def mean_of(need: Need) -> float:
    return float((need.least + need.step * np.arange(len(need.pmf))) @ need.pmf)


def jobs(number: int, seed: int) -> list[Draw]:
    """Prints of many jobs, of lengths with no common divisor."""
    rng = np.random.default_rng(seed)
    sizes = rng.choice(np.arange(61, 250), number, replace=False)
    return [
        Draw(
            prints_needed(
                int(rng.integers(1, 13)),
                float(rng.choice((0.4, 1.0, 1.7))),
                PrintYield(8, 55),
                MountYield(26, 4),
            ),
            int(size),
        )
        for size in sizes
    ]


def test_few_draws_agree_with_plain_convolution() -> None:
    draws = [
        Draw(tries(0.1, 0.6, 0.3), 6),
        Draw(tries(0, 0, 0.5, 0.25, 0.25), 10),
        Draw(tries(0, 1), 7),
    ]
    need = total_need(draws)
    expected = by_hand(draws)
    assert (need.least, need.step) == (2 * 10 + 7, 2)
    for amount in range(len(expected) + 3):
        assert need.cdf(amount) == pytest.approx(expected[: amount + 1].sum(), abs=1e-12)
        spare = np.maximum(0, np.arange(len(expected)) - amount)
        assert shortfall(need, amount) == pytest.approx(float(spare @ expected), abs=1e-12)
    assert need.mean == pytest.approx(float(np.arange(len(expected)) @ expected))
    for level in (0.01, 0.5, 0.9, 0.99):
        assert need.quantile(level) == int((np.cumsum(expected) >= level - 1e-12).argmax())


def test_a_sum_just_longer_than_a_grid_does_not_wrap() -> None:
    # Both counts at their most: 128, where a grid of 128 steps would put it at 0.
    draws = [Draw(tries(0.5, *[0.0] * 63, 0.5), 1)] * 2
    need = total_need(draws)
    assert need.pmf[[0, 64, 128]] == pytest.approx((0.25, 0.5, 0.25))
    assert np.fft.irfft(np.fft.rfft(draws[0].count.pmf, 128) ** 2, 128)[0] == pytest.approx(0.5)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_many_jobs_are_never_told_too_low(seed: int) -> None:
    draws = jobs(40, seed)
    expected = np.cumsum(by_hand(draws))
    need = total_need(draws)
    most = sum((len(draw.count.pmf) - 1) * draw.amount for draw in draws)
    # The largest sum of all lies far beyond the grid: here a plain transform would wrap.
    assert most > need.least + 1.5 * need.step * len(need.pmf)
    assert need.step > 1
    assert len(need.pmf) <= MOST_STEPS
    amounts = np.arange(0, len(expected), 50)
    held = np.array([need.cdf(int(amount)) for amount in amounts])
    assert np.all(held <= expected[amounts] + 1e-12)
    assert need.pmf[0] <= 1e-9
    for level in (0.05, 0.5, 0.9, 0.95, 0.99):
        exact = int((expected >= level).argmax())
        assert exact <= need.quantile(level) <= exact * (1 + ROUNDED_MOST)
    assert need.mean < mean_of(need) <= (1 + ROUNDED_MOST) * need.mean


@pytest.mark.parametrize("number", [1, 2, 3, 6])
def test_few_jobs_are_rounded_finely_and_never_told_too_low(number: int) -> None:
    rng = np.random.default_rng(number)
    counts = [mounts_needed(int(n), MountYield(4.0, 1.5)) for n in rng.integers(4, 13, number)]
    draws = [
        Draw(count, int(size))
        for count, size in zip(counts, rng.choice(range(307, 500), number, False), strict=True)
    ]
    need, expected = total_need(draws), np.cumsum(by_hand(draws))
    assert len(need.pmf) <= FINER * MOST_STEPS
    for amount in range(0, len(expected), 101):
        assert need.cdf(amount) <= expected[amount] + 1e-12
    for level in (0.05, 0.5, 0.9, 0.99):
        exact = int((expected >= level).argmax())
        assert exact <= need.quantile(level) <= exact * (1 + HEAVY_ROUNDED_MOST)
    assert mean_of(need) <= (1 + HEAVY_ROUNDED_MOST) * need.mean
    if number == 1:  # one size is its own grid
        assert need.step == draws[0].amount
    else:  # more steps than many jobs get
        assert len(need.pmf) > 2 * MOST_STEPS


def test_what_every_piece_takes_is_added_exactly() -> None:
    # Repeats of twelve pieces are rounded to a grid, the twelve themselves never.
    mounted = Step((0,), "mount", (Way(1.0, frozenset({0})),))
    yields = Yields(PrintYield(), MountYield(), MountYield())
    count = draws_needed(Chain((mounted,)), {(0, frozenset()): 12}, 0, 1.0, yields)
    need = total_need([Draw(count, 12_703)])
    assert (need.least, need.step) == (12 * 12_703, 12_703)
    assert need.pmf[0] == pytest.approx(mounts_needed(12, MountYield()).pmf[12], abs=1e-6)


def test_what_is_not_in_the_table_is_told() -> None:
    draws = jobs(40, 4)
    need = total_need(draws)
    apart = sum(draw.count.tail for draw in draws)
    assert BEYOND < 1 - need.pmf.sum() <= LOST_TAIL + apart + BEYOND
    assert need.pmf.sum() <= 1
    assert need.quantile(1 - 1e-9) == need.least + need.step * len(need.pmf)


def test_a_batch_gives_what_each_gives_alone() -> None:
    batch = [jobs(12, seed) for seed in range(6)] + [[]] + [[Draw(tries(0.5, 0.5), 3)]]
    for draws, together in zip(batch, total_needs(batch), strict=True):
        alone = total_need(draws)
        assert (together.least, together.step) == (alone.least, alone.step)
        assert together.mean == alone.mean
        assert together.pmf.tolist() == alone.pmf.tolist()


def test_rounding_up_is_only_as_coarse_as_it_must_be() -> None:
    # Sheets, and one size of print: exact however many jobs there are.
    alike = [Draw(draw.count, 12_700) for draw in jobs(40, 5)]
    need = total_need(alike)
    assert need.step == 12_700
    # A count that can run to thousands is told coarsely, but never too low.
    heavy = mounts_needed(12, MountYield(2.0, 1.0))
    draws = [Draw(heavy, 140), *jobs(6, 6)]
    need = total_need(draws)
    assert len(heavy.pmf) > 4_000
    expected = np.cumsum(by_hand(draws))
    for amount in range(0, len(expected), 1_000):
        assert need.cdf(amount) <= expected[amount] + 1e-12
    assert math.isfinite(need.mean)


def test_a_count_without_a_mean_gives_none() -> None:
    unknown = mounts_needed(1, MountYield(1.0, 1.0))
    need = total_need([Draw(unknown, 5), Draw(tries(0, 1), 5)])
    assert need.mean == shortfall(need, 1_000) == shortfall(unknown, 1_000) == math.inf
    assert need.cdf(10) == pytest.approx(unknown.cdf(1), abs=1e-9)


def test_nothing_and_what_is_certain() -> None:
    nothing = total_need([])
    assert (nothing.quantile(0.99), nothing.mean, nothing.pmf.sum()) == (0, 0, 1)
    assert nothing.cdf(-1) == 0
    certain = total_need([Draw(tries(0, 0, 0, 1), 70), Draw(tries(0.5, 0.5), 0)])
    assert (certain.quantile(0.01), certain.quantile(0.99), certain.pmf.sum()) == (210, 210, 1)
    assert (certain.cdf(209), certain.cdf(210), shortfall(certain, 200)) == (0, 1, 10)
    with pytest.raises(BadValueError):
        Draw(tries(1.0), -1)
    with pytest.raises(BadValueError):
        nothing.quantile(1.0)


tables = st.lists(st.integers(0, 9), min_size=1, max_size=8).filter(any)
drawn = st.builds(
    lambda weights, amount: Draw(tries(*np.array(weights) / sum(weights)), amount),
    tables,
    st.integers(0, 40),
)


@settings(max_examples=60, deadline=None)
@given(st.lists(drawn, max_size=6), drawn)
def test_every_need_agrees_with_plain_convolution(draws: list[Draw], another: Draw) -> None:
    need, expected = total_need(draws), by_hand(draws)
    assert np.all(need.pmf >= 0)
    assert need.pmf.sum() <= 1 + 1e-9
    for amount in range(0, len(expected), 7):
        assert need.cdf(amount) == pytest.approx(expected[: amount + 1].sum(), abs=1e-9)
    levels = [need.quantile(level) for level in (0.1, 0.5, 0.9, 0.99)]
    assert levels == sorted(levels)
    more = total_need([*draws, another])
    assert more.mean >= need.mean
    for level in (0.1, 0.5, 0.9):
        assert more.quantile(level - 1e-9) >= need.quantile(level - 1e-6)
    assert shortfall(more, 30) >= shortfall(need, 30) - 1e-9
