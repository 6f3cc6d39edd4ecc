"""Losses and repeats agree with published answers and with a general statistics library."""

import numpy as np
import pytest
from support.counts import mounts_needed_at, prints_needed_at

from stockroom.core.losses import Tries, mounts_needed, prints_needed
from stockroom.core.yields import MountYield, PrintYield

KNOWN = 1e8
"""So much evidence that a learned rate stands still: the averaged formulas turn into plain ones."""


def variance(tries: Tries) -> float:
    counts = np.arange(len(tries.pmf))
    return float(counts**2 @ tries.pmf) - float(counts @ tries.pmf) ** 2


def test_no_defect_where_few_are_expected() -> None:
    # Poisson, mean 0.171: 0.843 without any (published worked answer, secondary copy).
    assert PrintYield(0.171 * KNOWN, KNOWN).pass_probability(1) == pytest.approx(0.843, abs=5e-4)


def test_units_with_no_defect_at_one_each() -> None:
    # 500 units, one defect a unit: 184 with none (published worked answer, secondary copy).
    one_each = PrintYield(KNOWN, KNOWN)
    assert 500 * one_each.pass_probability(1) == pytest.approx(184, abs=0.5)


@pytest.mark.parametrize(
    ("level", "good", "starts"),
    [
        (0.95, (1, 2, 3, 5, 8, 10, 12, 20), (2, 3, 5, 7, 11, 13, 16, 25)),
        (0.90, (1, 2, 3, 5, 8, 10, 12, 20), (1, 3, 4, 7, 10, 13, 15, 24)),
        (0.99, (1, 2, 3, 5, 8, 10, 12, 20), (2, 4, 5, 8, 12, 14, 17, 27)),
    ],
)
def test_starts_for_so_many_good_pieces(
    level: float, good: tuple[int, ...], starts: tuple[int, ...]
) -> None:
    # Exact binomial arithmetic, P(Bin(N, 0.9) >= n) >= level, and SciPy's negative binomial.
    from scipy.stats import binom, nbinom

    for n, listed in zip(good, starts, strict=True):
        found = mounts_needed_at(n, 0.9).quantile(level)
        assert found == listed
        assert binom.sf(n - 1, found, 0.9) >= level - 1e-12
        assert found == n or binom.sf(n - 1, found - 1, 0.9) < level
        assert found == n + int(nbinom.ppf(level - 1e-12, n, 0.9))


def test_one_lost_in_ten_takes_a_ninth_more_of_every_mounted_layer() -> None:
    # Common practice, no source: a lost piece starts again from a new print.
    assert mounts_needed_at(1, 0.9).mean == pytest.approx(10 / 9, rel=1e-12)
    assert mounts_needed_at(90, 0.9).mean == pytest.approx(100, rel=1e-12)
    assert prints_needed_at(1, 1.0, 0.9).mean == pytest.approx(10 / 9, rel=1e-12)


def test_seven_prints_of_one_large_piece_are_not_beyond_belief() -> None:
    # Common practice, no source: a 2.5 m wide print was made seven times before it was right.
    tries = prints_needed(1, 2.5 * 1.25, PrintYield(), MountYield())
    assert 0.01 <= 1 - tries.cdf(6) <= 0.2
    assert tries.quantile(0.5) == 1


@pytest.mark.parametrize(
    ("n", "p", "m", "means", "levels"),
    [
        (4, 0.8, 0.9, (4.4444, 5.5556), {"mounts": {0.95: 6}, "prints": {0.95: 8, 0.99: 10}}),
        (12, 0.95, 0.9, (13.3333, 14.0351), {"mounts": {0.95: 16}, "prints": {0.95: 17}}),
    ],
)
def test_print_and_mount_with_rework(
    n: int,
    p: float,
    m: float,
    means: tuple[float, float],
    levels: dict[str, dict[float, int]],
) -> None:
    # Arithmetic: mounts = n + NB(n, m), prints = n + NB(n, p m); recomputed and simulated.
    from scipy.stats import nbinom

    mounts, prints = mounts_needed_at(n, m), prints_needed_at(n, p, m)
    assert (mounts.mean, prints.mean) == pytest.approx(means, abs=1e-4)
    assert {level: mounts.quantile(level) for level in levels["mounts"]} == levels["mounts"]
    assert {level: prints.quantile(level) for level in levels["prints"]} == levels["prints"]
    for tries, chance in ((mounts, m), (prints, p * m)):
        repeats = np.arange(len(tries.pmf)) - n
        assert tries.pmf == pytest.approx(nbinom.pmf(repeats, n, chance), abs=2e-7)


def test_variance_of_mounts_and_prints_with_rework() -> None:
    # Arithmetic: n (1 - x) / x² with x = m and x = p m.
    assert variance(mounts_needed_at(4, 0.9)) == pytest.approx(0.4938, abs=3e-4)
    assert variance(prints_needed_at(4, 0.8, 0.9)) == pytest.approx(2.1605, abs=6e-4)


def test_means_are_the_fundamental_row_of_the_absorbing_chain() -> None:
    # Arithmetic: states PRINT and MOUNT with p 0.8, m 0.9; (I - Q)^-1 has the row
    # (1.388889, 1.111111).
    q = np.array([[0.2, 0.8], [0.1, 0.0]])
    row = np.linalg.inv(np.eye(2) - q)[0]
    assert row == pytest.approx((1.388889, 1.111111), abs=1e-6)
    assert prints_needed_at(1, 0.8, 0.9).mean == pytest.approx(row[0], rel=1e-12)
    assert mounts_needed_at(1, 0.9).mean == pytest.approx(row[1], rel=1e-12)


def test_seven_or_more_prints_at_known_chances() -> None:
    # Arithmetic: n 1, p 0.6, m 0.9: (1 - 0.54)^6.
    tries = prints_needed_at(1, 0.6, 0.9)
    assert 1 - tries.cdf(6) == pytest.approx(0.009474, abs=1e-6)
    assert (tries.quantile(0.95), tries.quantile(0.99)) == (4, 6)


def test_mounting_after_seventeen_good_and_three_lost() -> None:
    # Arithmetic, beta-negative-binomial.
    learned = MountYield(9, 1).updated(17, 3)
    assert learned.mean == pytest.approx(0.866667, abs=1e-6)
    tries = mounts_needed(4, learned)
    assert tries.pmf[4:6] == pytest.approx((0.580425, 0.273141), abs=1e-6)
    assert tries.quantile(0.95) - 4 == 2


def test_repeats_of_mounting_agree_with_a_library() -> None:
    # SciPy 1.12 and later, scipy.stats.betanbinom.
    from scipy.stats import betanbinom

    tries = mounts_needed(4, MountYield(26, 4))
    repeats = np.arange(len(tries.pmf)) - 4
    assert tries.pmf[4:] == pytest.approx(betanbinom.pmf(repeats[4:], 4, 26, 4), rel=1e-6)


def test_printing_after_six_defects_on_forty_square_metres() -> None:
    # Arithmetic, gamma-Poisson: Gamma(2, 15 m2) and 6 defects on 40 m2.
    learned = PrintYield(2, 15).updated(6, 40)
    assert learned.mean_per_m2 == pytest.approx(0.145455, abs=1e-6)
    assert learned.pass_probability(4.5) == pytest.approx(0.533047, abs=1e-6)
    assert learned.pass_probability(0.48) == pytest.approx(0.932846, abs=1e-6)
    assert prints_needed(1, 4.5, learned, None).pmf[1] == pytest.approx(0.533047, abs=1e-6)
