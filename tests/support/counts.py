"""Tries where both chances are known, and by how much an amount falls short: plain yardsticks."""

import math

import numpy as np

from stockroom.core.losses import MOST_REPEATS, TAIL, Floats, Tries, _cut, _print_tries, _tries
from stockroom.core.making.needs import Need


def mounts_needed_at(pieces: int, mount_pass: float) -> Tries:
    """Return how many mounts it takes where each comes out good with a known chance."""
    return _tries(pieces, _lost_at(pieces, mount_pass), pieces / mount_pass)


def prints_needed_at(
    pieces: int, print_pass: float, mount_pass: float = 1.0, good_prints_in_hand: int = 0
) -> Tries:
    """Return how many prints it still takes where both chances are known."""
    waiting = pieces - good_prints_in_hand
    lost = _lost_at(pieces, mount_pass)
    mean = (waiting + pieces * (1 / mount_pass - 1)) / print_pass
    return _print_tries(waiting, lost, np.array([math.log(print_pass)]), np.ones(1), mean)


def _lost_at(pieces: int, mount_pass: float) -> Floats:
    """Chances of 0, 1, 2 ... mounts lost where each is good with a known chance."""
    from scipy.special import gammaln

    if pieces == 0 or mount_pass == 1:
        return np.ones(1)
    lost = np.arange(MOST_REPEATS)
    ways = gammaln(pieces + lost) - gammaln(pieces) - gammaln(lost + 1)
    chances = np.exp(ways + pieces * math.log(mount_pass) + lost * math.log1p(-mount_pass))
    return _cut(chances, TAIL / 10)


def shortfall(table: Tries | Need, amount: float) -> float:
    """Return by how much an amount falls short on average, E max(0, need - amount)."""
    least, step = (table.least, table.step) if isinstance(table, Need) else (0, 1)
    spare = np.maximum(0.0, amount - least - step * np.arange(len(table.pmf)))
    return max(0.0, table.mean - amount + float(spare @ table.pmf))
