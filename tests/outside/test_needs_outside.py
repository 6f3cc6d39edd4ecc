"""Needs of a job, reject allowances and shortfalls agree with published answers and arithmetic."""

import math
from functools import cache

import numpy as np
import pytest
from support.counts import mounts_needed_at, shortfall

from stockroom.core.losses import Tries
from stockroom.core.making.chain import Chain, State, Step, Way, Yields, draws_needed
from stockroom.core.making.learning import Outcome, learned
from stockroom.core.making.needs import Draw, Need, total_need
from stockroom.core.yields import MountYield, PrintYield

KNOWN = 1e9
"""So much evidence that a chance stands still."""
BEGIN: State = (0, frozenset())
PRINT, FILM, SHEET = range(3)
PRINTED = Step((PRINT,), "print", (Way(1.0, frozenset({PRINT})),))
MOUNTED = Step((FILM, SHEET), "mount", (Way(1.0, frozenset({PRINT, FILM, SHEET})),))
LOOP = Chain((PRINTED, MOUNTED))
CASTING = Chain((Step((0,), "mount", (Way(1.0, frozenset({0})),)),))


def at_chances(print_pass: float, mount_pass: float) -> Yields:
    """Print chance of 1 m2 and mount chance, both known for certain."""
    prints = PrintYield(max(-math.log(print_pass), 1e-15) * KNOWN, KNOWN)
    return Yields(prints, MountYield(mount_pass * KNOWN, (1 - mount_pass) * KNOWN), MountYield())


def loop(pieces: int, layer: int, print_pass: float, mount_pass: float) -> Tries:
    return draws_needed(LOOP, {BEGIN: pieces}, layer, 1.0, at_chances(print_pass, mount_pass))


def variance(tries: Tries) -> float:
    counts = np.arange(len(tries.pmf))
    return float(counts**2 @ tries.pmf) - float(counts @ tries.pmf) ** 2


@pytest.mark.parametrize(
    ("n", "p", "m", "means", "levels"),
    [
        # RW-1 and RW-2: our arithmetic, mounts = n + NB(n, m), prints = n + NB(n, p m);
        # recomputed and simulated.
        (4, 0.8, 0.9, (4.4444, 5.5556), {(SHEET, 0.95): 6, (PRINT, 0.95): 8, (PRINT, 0.99): 10}),
        (12, 0.95, 0.9, (13.3333, 14.0351), {(SHEET, 0.95): 16, (PRINT, 0.95): 17}),
    ],
)
def test_print_and_mount_with_rework(
    n: int,
    p: float,
    m: float,
    means: tuple[float, float],
    levels: dict[tuple[int, float], int],
) -> None:
    from scipy.stats import nbinom

    mounts, prints = loop(n, SHEET, p, m), loop(n, PRINT, p, m)
    assert (mounts.mean, prints.mean) == pytest.approx(means, abs=1e-4)
    assert {key: loop(n, key[0], p, m).quantile(key[1]) for key in levels} == levels
    for tries, chance in ((mounts, m), (prints, p * m)):
        repeats = np.arange(len(tries.pmf)) - n
        assert tries.pmf == pytest.approx(nbinom.pmf(repeats, n, chance), abs=3e-7)


def test_variance_of_mounts_and_prints_with_rework() -> None:
    # RW-1: our arithmetic, n (1 - x) / x² with x = m and x = p m; recomputed.
    assert variance(loop(4, SHEET, 0.8, 0.9)) == pytest.approx(0.4938, abs=3e-4)
    assert variance(loop(4, PRINT, 0.8, 0.9)) == pytest.approx(2.1605, abs=6e-4)


def test_means_are_the_fundamental_row_of_the_absorbing_chain() -> None:
    # RW-3: our arithmetic, states PRINT and MOUNT with p 0.8, m 0.9: (1.388889, 1.111111).
    row = [loop(1, layer, 0.8, 0.9).mean for layer in (PRINT, SHEET)]
    assert row == pytest.approx((1.388889, 1.111111), abs=1e-6)


def test_seven_or_more_prints_at_known_chances() -> None:
    # RW-4: our arithmetic, n 1, p 0.6, m 0.9: (1 - 0.54)^6; recomputed.
    tries = loop(1, PRINT, 0.6, 0.9)
    assert 1 - tries.cdf(6) == pytest.approx(0.009474, abs=1e-6)
    assert (tries.quantile(0.95), tries.quantile(0.99)) == (4, 6)


def tried(kind: str, good: int, lost: int, area_m2: float) -> list[Outcome]:
    return [Outcome(0, kind, area_m2, n < good) for n in range(good + lost)]  # type: ignore[arg-type]


def test_mounting_after_seventeen_good_and_three_lost() -> None:
    # BB-1: our arithmetic, beta-negative-binomial; recomputed.
    yields = Yields(PrintYield(), MountYield(9, 1).updated(17, 3), MountYield())
    tries = draws_needed(LOOP, {BEGIN: 4}, SHEET, 1.0, yields)
    assert tries.pmf[4:6] == pytest.approx((0.580425, 0.273141), abs=1e-6)
    assert tries.quantile(0.95) - 4 == 2
    # A class of size holds what all taught once more, worth ten pieces.
    found = learned(tried("mount", 17, 3, 1.0), 0).yields_for(1.0).mounts
    assert found.good == pytest.approx(10 * 0.866667 + 17, abs=1e-5)
    assert found.good + found.lost == pytest.approx(30)


def test_printing_after_six_defects_on_forty_square_metres() -> None:
    # GP-1: our arithmetic, Gamma(2, 15 m2) and 6 defects on 40 m2; recomputed.
    prints = learned(tried("print", 26, 6, 1.25), 0).prints
    assert prints.mean_per_m2 == pytest.approx(0.145455, abs=1e-6)
    alone = Chain((PRINTED,))
    for area_m2, chance in ((4.5, 0.533047), (0.48, 0.932846)):
        yields = Yields(prints, MountYield(), MountYield())
        tries = draws_needed(alone, {BEGIN: 1}, PRINT, area_m2, yields)
        assert tries.pmf[1] == pytest.approx(chance, abs=1e-6)


def one_good_of(lot: int, good: float) -> float:
    """Chance that a lot holds a good piece: that so many tries are enough for one."""
    yields = at_chances(1.0, good)
    return draws_needed(CASTING, {BEGIN: 1}, 0, 1.0, yields).cdf(lot) if lot else 0.0


def allowance(good: float, runs: int, penalty: float) -> tuple[float, list[list[int]]]:
    """Cheapest plan of so many runs: 300 a run and 100 a piece, by going backwards."""
    plan: list[list[int]] = []

    @cache
    def cost(left: int) -> float:
        if left == 0:
            return penalty
        costs = [
            (300 if lot else 0) + 100 * lot + (1 - one_good_of(lot, good)) * cost(left - 1)
            for lot in range(9)
        ]
        best = min(costs)
        plan.append([lot for lot, c in enumerate(costs) if c == pytest.approx(best, abs=1e-3)])
        return best

    return cost(runs), plan[::-1]


def test_reject_allowance_of_one_piece_in_three_runs() -> None:
    # RA-1: Hillier and Lieberman, probabilistic dynamic programming; statement read in a
    # secondary source, answer recomputed (the book's own answer is from memory).
    cost, plan = allowance(0.5, 3, 1_600)
    assert cost == pytest.approx(675, abs=1e-3)
    assert plan == [[2], [2, 3], [3, 4]]


def test_reject_allowance_of_one_piece_in_two_runs() -> None:
    # RA-2: same book, exercise b; statement read in a secondary source, answer recomputed.
    cost, plan = allowance(2 / 3, 2, 1_600)
    assert cost == pytest.approx(573.2510, abs=1e-3)
    assert plan == [[2], [3]]


def test_reject_allowance_of_four_castings() -> None:
    # RA-3: facilities planning, reject allowance; statement read in a secondary source,
    # recomputed. 15,000 a casting, 120,000 for four good ones.
    enough = draws_needed(CASTING, {BEGIN: 4}, 0, 1.0, at_chances(1.0, 0.9))
    profits = [120_000 * enough.cdf(made) - 15_000 * made for made in range(4, 9)]
    assert profits == pytest.approx([18_732, 35_224.8, 28_098, 14_672.6, -51.8], abs=0.1)
    assert profits.index(max(profits)) + 4 == 5


def poisson(mean: float) -> Tries:
    from scipy.stats import poisson as law

    return Tries(law.pmf(np.arange(200), mean), mean)


def test_shortfall_of_a_poisson_count() -> None:
    # LF-2: Poisson(15) at 18: 0.51760953 (documentation of an open inventory library for
    # Snyder and Shen, Fundamentals of Supply Chain Theory; secondary).
    assert shortfall(poisson(15), 18) == pytest.approx(0.51760953, abs=1e-8)
    scaled = total_need([Draw(poisson(15), 250)])
    assert shortfall(scaled, 18 * 250) / 250 == pytest.approx(0.51760953, abs=1e-6)
    # Two independent Poisson counts add up to one.
    both = total_need([Draw(poisson(6), 1), Draw(poisson(9), 1)])
    assert shortfall(both, 18) == pytest.approx(0.51760953, abs=1e-6)
    assert both.quantile(0.95) == 22


def test_shortfall_of_a_negative_binomial_count() -> None:
    # LF-3: NB(4, 0.2) at 14: 4.44730463 (same source; secondary), and the chain's own table of
    # lost pieces at known chances.
    from scipy.stats import nbinom

    table = Tries(nbinom.pmf(np.arange(600), 4, 0.2), 16.0)
    assert shortfall(table, 14) == pytest.approx(4.44730463, abs=1e-8)
    tries = draws_needed(CASTING, {BEGIN: 4}, 0, 1.0, at_chances(1.0, 0.2))
    assert shortfall(tries, 4 + 14) == pytest.approx(4.44730463, abs=1e-5)


def test_shortfall_of_a_normal_need() -> None:
    # LF-1: standard normal at 1.3: 0.04552797 (same source; secondary), on a fine grid.
    steps_a_sd = 5_000
    x = np.arange(-8 * steps_a_sd, 8 * steps_a_sd + 1) / steps_a_sd
    pmf = np.exp(-(x**2) / 2) / math.sqrt(2 * math.pi) / steps_a_sd
    need = Need(-8 * steps_a_sd, 1, pmf, 0.0)
    found = shortfall(need, 1.3 * steps_a_sd) / steps_a_sd
    assert found == pytest.approx(0.04552797, abs=1e-8)


@pytest.mark.parametrize(
    ("level", "starts"),
    [
        (0.90, (1, 3, 4, 7, 10, 13, 15, 24)),
        (0.95, (2, 3, 5, 7, 11, 13, 16, 25)),
        (0.99, (2, 4, 5, 8, 12, 14, 17, 27)),
    ],
)
def test_starts_for_a_yield_of_nine_in_ten(level: float, starts: tuple[int, ...]) -> None:
    """RA-4: the fewest starts of which at least n come out good, exact binomial (own reckoning)."""
    needed = [mounts_needed_at(n, 0.9).quantile(level) for n in (1, 2, 3, 5, 8, 10, 12, 20)]
    assert tuple(needed) == starts
