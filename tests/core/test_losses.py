"""Repeats are counted exactly: against plain sums, against simulation, and at their edges."""

import math
from functools import reduce

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from support.counts import mounts_needed_at, prints_needed_at

from stockroom.core.losses import MOST_REPEATS, TAIL, Tries, mounts_needed, prints_needed
from stockroom.core.yields import MountYield, PrintYield
from stockroom.errors import BadValueError

PRIOR, MOUNTING = PrintYield(), MountYield()


def spread(tries: Tries) -> tuple[float, float]:
    counts = np.arange(len(tries.pmf))
    mean = float(counts @ tries.pmf)
    return mean, float(counts**2 @ tries.pmf) - mean**2


def by_hand(first: int, pieces: int, p: float, m: float, longest: int) -> list[float]:
    """Chances of so many prints, by adding up every way mounts and prints can be lost."""
    chances = [0.0] * longest
    for f in range(longest):
        lost = math.comb(pieces + f - 1, f) * m**pieces * (1 - m) ** f
        r = first + f
        if r == 0:
            chances[0] += lost
            continue
        for k in range(longest - r):
            chances[r + k] += lost * math.comb(r + k - 1, k) * p**r * (1 - p) ** k
    return chances


@pytest.mark.parametrize(("pieces", "in_hand"), [(1, 0), (4, 0), (4, 1), (3, 3)])
def test_known_chances_agree_with_a_plain_double_sum(pieces: int, in_hand: int) -> None:
    tries = prints_needed_at(pieces, 0.7, 0.85, in_hand)
    expected = by_hand(pieces - in_hand, pieces, 0.7, 0.85, 60)
    shared = min(len(expected), len(tries.pmf))
    assert tries.pmf[:shared] == pytest.approx(expected[:shared], abs=2e-7)
    assert spread(tries)[0] == pytest.approx(tries.mean, abs=1e-4)


def test_without_prints_in_hand_the_two_stages_are_one_with_both_chances() -> None:
    two_stage = prints_needed_at(250, 0.8, 0.9)
    one_stage = mounts_needed_at(250, 0.72)
    shared = min(len(two_stage.pmf), len(one_stage.pmf))
    assert two_stage.pmf[:shared] == pytest.approx(one_stage.pmf[:shared], abs=1e-7)


@pytest.mark.parametrize(
    ("known", "area_m2"), [(PRIOR, 3.125), (PrintYield(8, 55), 0.48), (PrintYield(300, 4_000), 1)]
)
def test_one_unmounted_print_agrees_with_adaptive_quadrature(
    known: PrintYield, area_m2: float
) -> None:
    from scipy.integrate import quad
    from scipy.stats import gamma

    tries = prints_needed(1, area_m2, known, None)
    law = gamma(known.shape, scale=1 / known.area_m2)
    assert tries.pmf[1] == pytest.approx(known.pass_probability(area_m2), abs=1e-7)
    for n in (1, 2, 3, 5, 8, 12):
        if n >= len(tries.pmf):
            break
        chance, _ = quad(
            lambda rate, n=n: (
                math.exp(-rate * area_m2)
                * (-math.expm1(-rate * area_m2)) ** (n - 1)
                * law.pdf(rate)
            ),
            0,
            law.isf(1e-13),
            limit=200,
            epsabs=1e-11,
        )
        assert tries.pmf[n] == pytest.approx(chance, abs=1e-7)


def test_many_unmounted_prints_agree_with_adaptive_quadrature() -> None:
    from scipy.integrate import quad
    from scipy.stats import gamma, nbinom

    tries = prints_needed(250, 1.0, PRIOR, None)
    law = gamma(PRIOR.shape, scale=1 / PRIOR.area_m2)
    for n in (252, 260, 280, 320, 400):
        chance, _ = quad(
            lambda rate, n=n: nbinom.pmf(n - 250, 250, math.exp(-rate)) * law.pdf(rate),
            0,
            1.5,
            limit=400,
            points=[math.log(n / 250)],
        )
        assert tries.pmf[n] == pytest.approx(chance, rel=1e-4)


@pytest.mark.parametrize(("pieces", "in_hand"), [(6, 0), (6, 2), (6, 6)])
def test_the_exact_mean_is_that_of_the_table_where_its_tail_is_light(
    pieces: int, in_hand: int
) -> None:
    tries = prints_needed(pieces, 0.4, PRIOR, MountYield(90, 10), in_hand)
    assert spread(tries)[0] == pytest.approx(tries.mean, abs=2e-4)


def test_averaged_chances_agree_with_a_simulation_of_the_bench() -> None:
    rng = np.random.default_rng(20_260_307)
    runs, pieces, in_hand, area_m2 = 200_000, 4, 1, 3.125
    rate = rng.gamma(PRIOR.shape, 1 / PRIOR.area_m2, runs)
    good = rng.beta(MOUNTING.good, MOUNTING.lost, runs)
    wanted = pieces - in_hand + rng.negative_binomial(pieces, good)
    prints = wanted + rng.negative_binomial(wanted, np.exp(-rate * area_m2))
    tries = prints_needed(pieces, area_m2, PRIOR, MOUNTING, in_hand)
    for n in range(3, 25):
        share = float((prints <= n).mean())
        assert tries.cdf(n) == pytest.approx(share, abs=5 * 0.5 / math.sqrt(runs))


def test_averaging_gives_a_fatter_tail_than_the_mean_plugged_in() -> None:
    plugged = prints_needed_at(4, math.exp(-PRIOR.mean_per_m2 * 3.125), MOUNTING.mean)
    averaged = prints_needed(4, 3.125, PRIOR, MOUNTING)
    assert averaged.quantile(0.99) > plugged.quantile(0.99)
    assert averaged.mean > plugged.mean


def test_evidence_at_the_same_rate_shrinks_the_extra_towards_the_plugged_in_figure() -> None:
    quantiles = []
    for square_metres in (0, 30, 300, 30_000):
        learned = PRIOR.updated(PRIOR.mean_per_m2 * square_metres, square_metres)
        mounting = MOUNTING.updated(0.9 * square_metres, 0.1 * square_metres)
        quantiles.append(prints_needed(4, 3.125, learned, mounting).quantile(0.95))
    plugged = prints_needed_at(4, math.exp(-PRIOR.mean_per_m2 * 3.125), 0.9).quantile(0.95)
    assert quantiles == sorted(quantiles, reverse=True)
    assert quantiles[0] > quantiles[-1] == plugged


yields = st.builds(PrintYield, st.floats(0.5, 60), st.floats(10, 400))
mountings = st.builds(MountYield, st.floats(5, 80), st.floats(0.2, 20))


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 12), st.integers(0, 12), st.floats(0.02, 4), yields, mountings)
def test_every_table_is_a_distribution_that_starts_at_the_prints_still_wanted(
    pieces: int, in_hand: int, area_m2: float, printing: PrintYield, mounting: MountYield
) -> None:
    in_hand = min(in_hand, pieces)
    tries = prints_needed(pieces, area_m2, printing, mounting, in_hand)
    assert np.all(tries.pmf >= 0)
    assert tries.pmf.sum() <= 1 + 1e-9
    assert not tries.pmf[: pieces - in_hand].any()
    assert len(tries.pmf) <= pieces + 2 * MOST_REPEATS
    assert tries.tail <= TAIL or len(tries.pmf) >= MOST_REPEATS
    assert tries.mean >= spread(tries)[0] - 1e-6
    levels = [tries.quantile(level) for level in (0.1, 0.5, 0.9, 0.99)]
    assert levels == sorted(levels)
    if levels[2] < len(tries.pmf):
        assert tries.cdf(levels[2]) >= 0.9 - 1e-9
        assert tries.cdf(levels[2] - 1) < 0.9
    assert prints_needed(pieces, area_m2, printing, mounting, in_hand) is tries


def test_repeats_of_single_pieces_add_up_where_the_chances_are_known() -> None:
    one = mounts_needed_at(1, 0.8).pmf
    four = reduce(np.convolve, [one] * 4)
    together = mounts_needed_at(4, 0.8).pmf
    assert together == pytest.approx(four[: len(together)], abs=2e-6)


def test_nothing_to_do_and_nothing_lost() -> None:
    assert prints_needed(0, 1.0, PRIOR, MOUNTING).pmf.tolist() == [1.0]
    assert mounts_needed(0, MOUNTING).mean == 0
    assert mounts_needed(0, MountYield(0.5, 5)).mean == 0
    sure = prints_needed_at(3, 1.0, 1.0)
    assert (sure.quantile(0.999), sure.mean, sure.cdf(2), sure.cdf(3)) == (3, 3.0, 0.0, 1.0)
    assert prints_needed_at(3, 1.0, 1.0, good_prints_in_hand=3).quantile(0.999) == 0


def test_a_print_in_hand_is_only_printed_again_when_its_mount_is_lost() -> None:
    in_hand = prints_needed(1, 3.125, PRIOR, MOUNTING, 1)
    assert in_hand.cdf(0) == pytest.approx(MOUNTING.mean, abs=1e-6)


def test_so_little_known_that_there_is_no_mean_and_the_tail_is_told() -> None:
    vague = prints_needed(1, 20.0, PRIOR, MOUNTING)
    assert vague.mean == math.inf
    assert vague.tail > TAIL
    assert vague.pmf[-1] > 0.95 * vague.pmf[-30]  # the table ends before its sums are incomplete
    assert vague.quantile(1 - vague.tail / 2) == len(vague.pmf)
    assert mounts_needed(2, MountYield(0.9, 4)).mean == math.inf


def test_a_rate_of_which_next_to_nothing_is_known_keeps_its_weight_at_zero() -> None:
    barely = PrintYield(0.01, 1.0)
    tries = prints_needed(1, 1.0, barely, None)
    assert tries.pmf[1] == pytest.approx(barely.pass_probability(1.0), abs=1e-3)


def test_a_table_handed_out_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="read-only"):
        mounts_needed(2, MOUNTING).pmf[0] = 1.0


def test_impossible_counts_and_chances_are_refused() -> None:
    for broken in (
        lambda: PrintYield(0, 1),
        lambda: PrintYield(1, math.nan),
        lambda: MountYield(-1, 1),
        lambda: PRIOR.updated(-1, 2),
        lambda: MOUNTING.updated(1, math.inf),
        lambda: PRIOR.pass_probability(-1),
        lambda: mounts_needed(-1, MOUNTING),
        lambda: mounts_needed(MOST_REPEATS + 1, MOUNTING),
        lambda: prints_needed(1, 0.0, PRIOR, MOUNTING),
        lambda: prints_needed(1, 1.0, PRIOR, MOUNTING, 2),
    ):
        with pytest.raises(BadValueError):
            broken()
