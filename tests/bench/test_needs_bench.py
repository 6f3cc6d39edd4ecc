"""Times of one job's draws, and of the total needs of two thousand materials.

Run with: python -m pytest -m bench tests/bench/test_needs_bench.py -s
"""

import sys
import time

import numpy as np
import pytest

from stockroom.core.losses import Tries
from stockroom.core.making import chain, chain_tables
from stockroom.core.making.chain import Chain, Step, Way, Yields, draws_needed
from stockroom.core.making.needs import Draw, total_need, total_needs
from stockroom.core.yields import MountYield, PrintYield

MATERIALS, JOBS = 2_000, 50
BEGIN = (0, frozenset[int]())
LAYERS = range(5)


def takes(*layers: int) -> frozenset[int]:
    return frozenset(layers)


WHOLE = Chain(
    (
        Step((0,), "print", (Way(1.0, takes(0)),)),
        Step((1,), "mount", (Way(0.4, takes(1)), Way(0.6, takes(0, 1)))),
        Step((2,), "mount", (Way(0.3, takes(2)), Way(0.7, takes(0, 1, 2)))),
        Step((3, 4), "back", (Way(1.0, takes(0, 1, 2, 3, 4)),)),
    )
)
KNOWN = Yields(PrintYield(), MountYield(), MountYield(9.9, 0.1))


def forget() -> None:
    for kept in (chain._walk, chain_tables.counted, chain_tables.printed, chain_tables._beta_nodes):
        kept.cache_clear()


def job_s(pieces: int) -> float:
    """Count all layers of a job once."""
    start = time.perf_counter()
    for layer in LAYERS:
        draws_needed(WHOLE, {BEGIN: pieces}, layer, 1.7, KNOWN)
    return time.perf_counter() - start


@pytest.mark.bench
def test_draws_of_one_job() -> None:
    """All five layers of a job of twelve pieces and of one, cold and warm."""
    job_s(2)
    took = {}
    for pieces in (12, 1):
        cold = []
        for _ in range(3):
            forget()
            cold.append(job_s(pieces))
        took[f"{pieces} cold"], took[f"{pieces} warm"] = min(cold), job_s(pieces)
    told = "; ".join(f"{what} {seconds * 1e3:.2f} ms" for what, seconds in took.items())
    sys.stdout.write(f"\nfive layers: {told}\n")
    assert took["12 cold"] <= 0.02
    assert took["12 warm"] <= 0.005
    assert took["1 cold"] <= 0.01


@pytest.mark.bench
def test_needs_of_two_thousand_materials() -> None:
    """Fifty jobs each, of sixty sizes without a common divisor, from 60 tables of counts."""
    chance = np.random.default_rng(1)
    tables: list[Tries] = [
        draws_needed(WHOLE, {BEGIN: pieces}, layer, area_m2, KNOWN)
        for pieces in range(1, 13)
        for layer, area_m2 in ((0, 0.3), (0, 0.8), (0, 1.7), (1, 1.0), (2, 1.0))
    ]
    sizes = chance.integers(3_000, 25_000, 60)
    picked = chance.integers(0, len(tables), (MATERIALS, JOBS))
    sized = sizes[chance.integers(0, len(sizes), (MATERIALS, JOBS))]
    batch = [
        [Draw(tables[t], int(amount)) for t, amount in zip(*row, strict=True)]
        for row in zip(picked, sized, strict=True)
    ]
    start = time.perf_counter()
    needs = total_needs(batch)
    all_s = time.perf_counter() - start
    one = []
    for draws in batch[:5]:
        start = time.perf_counter()
        total_need(draws)
        one.append(time.perf_counter() - start)
    told = [float((n.least + n.step * np.arange(len(n.pmf))) @ n.pmf) for n in needs]
    rounded = float(np.mean([all_in / n.mean - 1 for all_in, n in zip(told, needs, strict=True)]))
    tail = max(1 - need.pmf.sum() for need in needs)
    sys.stdout.write(
        f"\n{MATERIALS} materials of {JOBS} jobs {all_s:.2f} s; one alone {min(one) * 1e3:.1f} ms; "
        f"rounding adds {rounded:.1%}; tail at most {tail:.1e}\n"
    )
    assert all_s <= 2.0
    assert min(one) <= 0.02
