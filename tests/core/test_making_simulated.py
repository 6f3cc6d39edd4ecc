"""Simulated shops: the 95 % bound on prints holds as often as it says, whatever the true rates.

Each job's true defect rate and mounting chance are drawn from what is held before any try; its
prints are then made one by one.
"""

import math

import numpy as np
import pytest

from stockroom.core.making.chain import Chain, Step, Way, Yields, draws_needed
from stockroom.core.making.learning import learned
from stockroom.core.yields import PrintYield

SIZES_M2 = (0.2, 0.35, 0.5, 0.7, 1.0, 1.5, 2.0, 2.5, 3.1)
SIZE_SHARES = (0.16, 0.16, 0.16, 0.14, 0.12, 0.10, 0.08, 0.05, 0.03)
PIECES = tuple(range(1, 13))
PIECE_SHARES = tuple(share / sum(0.8**n for n in PIECES) for share in (0.8**n for n in PIECES))
"""A shop's mix (our choice): most jobs are small, of few pieces."""
LEVEL = 0.95

BEGIN = (0, frozenset[int]())
PRINTED = Step((0,), "print", (Way(1.0, frozenset({0})),))
CHAIN = Chain((PRINTED, Step((1, 2), "mount", (Way(1.0, frozenset({0, 1, 2})),))))
KNOWN: Yields = learned([], 0).yields_for(1.0)


def prints_made(
    pieces: np.ndarray, print_pass: np.ndarray, mount_pass: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """Make every job's pieces, print by print."""
    job = np.repeat(np.arange(len(pieces)), pieces)
    made = np.zeros(len(pieces), int)
    while len(job):
        np.add.at(made, job, 1)
        good = rng.random(len(job)) < print_pass[job]
        finished = good & (rng.random(len(job)) < mount_pass[job])
        job = job[~finished]
    return made


def covered(jobs: int, seed: int) -> tuple[float, float]:
    """Return how often the bound held, and how often it says it holds in this mix."""
    rng = np.random.default_rng(seed)
    size = rng.choice(len(SIZES_M2), jobs, p=SIZE_SHARES)
    pieces = rng.choice(PIECES, jobs, p=PIECE_SHARES)
    rate = rng.gamma(2.0, 1 / 15, jobs)  # the priors, written out
    mount_pass = rng.beta(9.0, 1.0, jobs)
    made = prints_made(pieces, np.exp(-rate * np.array(SIZES_M2)[size]), mount_pass, rng)
    held = said = 0.0
    for s, area_m2 in enumerate(SIZES_M2):
        for n in PIECES:
            here = made[(size == s) & (pieces == n)]
            tries = draws_needed(CHAIN, {BEGIN: n}, 0, area_m2, KNOWN)
            bound = tries.quantile(LEVEL)
            held += float((here <= bound).sum())
            said += tries.cdf(bound) * len(here)
    return held / jobs, said / jobs


def test_the_bound_on_prints_holds_as_often_as_it_says() -> None:
    held, said = covered(20_000, 1)
    error = math.sqrt(said * (1 - said) / 20_000)
    assert held == pytest.approx(said, abs=4 * error)
    assert 0.95 <= held <= 0.98


@pytest.mark.slow
def test_the_bound_on_prints_holds_as_often_as_it_says_in_half_a_million_jobs() -> None:
    held, said = covered(500_000, 2)
    error = math.sqrt(said * (1 - said) / 500_000)
    assert held == pytest.approx(said, abs=4 * error)
    assert 0.95 <= held <= 0.98


def test_a_piece_printed_seven_times_is_not_beyond_belief() -> None:
    tries = draws_needed(CHAIN, {BEGIN: 1}, 0, 2.5 * 1.25, KNOWN)
    seven_or_more = 1 - tries.cdf(6)
    rng = np.random.default_rng(3)
    runs = 20_000
    rate, mount_pass = rng.gamma(2.0, 1 / 15, runs), rng.beta(9.0, 1.0, runs)
    made = prints_made(np.ones(runs, int), np.exp(-rate * 3.125), mount_pass, rng)
    error = math.sqrt(seven_or_more / runs)
    assert float((made >= 7).mean()) == pytest.approx(seven_or_more, abs=4 * error)
    assert seven_or_more >= 0.01
    # Taken at the mean rate it would seem far rarer.
    plugged = math.exp(-PrintYield().mean_per_m2 * 3.125) * 0.9
    assert (1 - plugged) ** 6 < seven_or_more / 2
