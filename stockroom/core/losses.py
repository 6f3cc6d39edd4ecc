"""Repeats as distributions: how many prints and mounts it takes, from what was lost before."""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stockroom.core.yields import MountYield, PrintYield, above_zero, share
from stockroom.errors import BadValueError

Floats = NDArray[np.float64]

TAIL = 1e-6
"""Chance left outside a table of tries (our choice)."""
MOST_REPEATS = 4_096
"""Longest table of repeats; a heavier tail than that is left outside and told (our choice)."""
_BLOCK, _NODES = 32, 256
"""Sizes of the blocks in which tables are summed (rows and columns; nodes)."""


@dataclass(frozen=True, slots=True, eq=False)
class Tries:
    """How many tries it takes in all, as chances.

    Attributes
    ----------
    pmf : float64 array (n,)
        Chance of exactly 0, 1, 2 ... tries; read only.
    mean : float
        Expected tries, exact, with what lies outside the table; infinite where so little is
        known that no mean exists.
    """

    pmf: Floats
    mean: float

    @property
    def tail(self) -> float:
        """Chance of more tries than the table holds."""
        return max(0.0, 1.0 - float(self.pmf.sum()))

    def cdf(self, tries: int) -> float:
        """Return the chance that so many tries are enough."""
        return min(1.0, float(self.pmf[: max(0, tries + 1)].sum()))

    def quantile(self, level: float) -> int:
        """Return the fewest tries that are enough with this chance.

        Where the level lies outside the table, the table's length is returned: at least so many.
        """
        # A level typed as 0.95 must not miss a sum that is 0.95 but for rounding.
        reached = np.cumsum(self.pmf) >= share(level) - 1e-12
        return int(reached.argmax()) if reached.any() else len(self.pmf)


@lru_cache(maxsize=512)
def mounts_needed(pieces: int, mount_yield: MountYield) -> Tries:
    """Return how many mounts it takes until so many pieces are finished.

    Each takes face film, sheet and board; the repeats are beta-negative-binomial.

    Parameters
    ----------
    pieces : int
        Pieces still to finish.
    mount_yield : MountYield
        What is known of mounting.

    >>> mounts_needed(4, MountYield(26, 4)).quantile(0.95)
    6
    """
    _whole(pieces, "pieces")
    a, b = mount_yield.good, mount_yield.lost
    lost = _lost_mounts(pieces, mount_yield)
    mean = pieces * (a + b - 1) / (a - 1) if a > 1 else math.inf
    return _tries(pieces, lost, mean if pieces else 0.0)


@lru_cache(maxsize=512)
def prints_needed(
    pieces: int,
    area_m2: float,
    print_yield: PrintYield,
    mount_yield: MountYield | None,
    good_prints_in_hand: int = 0,
) -> Tries:
    """Return how many prints it still takes until so many pieces are finished.

    A spoilt print is printed again, and so is the print of a lost mount: with F lost mounts and
    n waiting for a print, n + F good prints are wanted, and NB(n + F, p) spoilt ones come on
    top. Both chances are averaged over what is known of them, never taken at their mean: the
    lost mounts in closed form, the defect rate by the trapezoid rule on its logarithm.

    Parameters
    ----------
    pieces : int
        Pieces still to finish.
    area_m2 : float
        Area of one print, m2.
    print_yield : PrintYield
        What is known of printing.
    mount_yield : MountYield or None
        What is known of mounting; None where nothing is mounted.
    good_prints_in_hand : int
        How many of the pieces hold a good print already and wait to be mounted.

    Raises
    ------
    BadValueError
        Where a count or the area is impossible.

    >>> prints_needed(1, 3.125, PrintYield(), MountYield()).quantile(0.9)
    3
    """
    above_zero(area_m2, "area of a print")
    waiting = _waiting(pieces, good_prints_in_hand)
    if mount_yield is None:
        lost, mean_lost = np.ones(1), 0.0
    else:
        lost = _lost_mounts(pieces, mount_yield)
        mean_lost = mounts_needed(pieces, mount_yield).mean - pieces
    rate, weight = _rate_grid(print_yield)
    spare = 1 - area_m2 / print_yield.area_m2  # E exp(rate A) = spare^-shape, where it exists
    mean_tries = spare**-print_yield.shape if spare > 0 else math.inf
    wanted = waiting + mean_lost
    mean = wanted * mean_tries if wanted else 0.0
    return _print_tries(waiting, lost, -rate * area_m2, weight, mean)


def _lost_mounts(pieces: int, known: MountYield) -> Floats:
    """Chances of 0, 1, 2 ... mounts lost before the last piece is good (beta-negative-binomial)."""
    from scipy.special import betaln, gammaln

    if pieces == 0:
        return np.ones(1)
    lost = np.arange(MOST_REPEATS)
    ways = gammaln(pieces + lost) - gammaln(pieces) - gammaln(lost + 1)
    change = betaln(known.good + pieces, known.lost + lost) - betaln(known.good, known.lost)
    return _cut(np.exp(ways + change), TAIL / 10)


def _rate_grid(known: PrintYield) -> tuple[Floats, Floats]:
    """Defect rates a square metre and their weights: even steps of the logarithm.

    The integrand falls to nothing at both ends, so the trapezoid rule converges fast.
    """
    from scipy.special import gammainc, gammainccinv, gammaincinv

    low = math.log(max(float(gammaincinv(known.shape, TAIL / 10)), 1e-9))
    high = math.log(float(gammainccinv(known.shape, 1e-10)))
    steps = max(96, math.ceil((high - low) / 0.05))
    log_x = np.linspace(low, high, steps)
    log_weight = known.shape * log_x - np.exp(log_x)
    weight = np.exp(log_weight - log_weight.max())
    below = float(gammainc(known.shape, math.exp(low)))  # much of it where next to nothing is known
    weight *= (1 - below) / weight.sum()
    weight[0] += below
    return np.exp(log_x) / known.area_m2, weight


def _print_tries(waiting: int, lost: Floats, log_p: Floats, weight: Floats, mean: float) -> Tries:
    """Mix NB(r, p) over r = waiting + lost mounts (rows) and over the nodes of p.

    C(r+k-1, k) p^r q^k is summed over the nodes as a product of two matrices, block by block:
    each block is scaled to the likeliest p at its first row and column, so that no factor
    leaves the range of a double.
    """
    from scipy.special import gammaln, xlogy

    log_q = np.log(np.maximum(-np.expm1(log_p), 1e-300))
    first = max(waiting, 1)
    rows = lost[first - waiting :]
    total = np.zeros(first + len(rows) + MOST_REPEATS)
    total[0] = lost[0] if waiting == 0 else 0.0
    log_gamma = gammaln(np.arange(len(total) + 1))
    p_powers = np.exp(np.arange(_BLOCK)[:, None] * log_p)
    q_powers = _without_dust(np.exp(np.arange(_BLOCK)[:, None] * log_q)).T
    diagonal = np.add.outer(np.arange(_BLOCK), np.arange(_BLOCK)).ravel()
    end = 1
    for k0 in range(0, MOST_REPEATS if len(rows) else 0, _BLOCK):
        k = np.arange(k0, k0 + _BLOCK)
        for start in range(0, len(rows), _BLOCK):
            chance = rows[start : start + _BLOCK]
            r0 = first + start
            r = np.arange(r0, r0 + len(chance))[:, None]
            peak = xlogy(r0, r0 / (r0 + k0)) + xlogy(k0, k0 / (r0 + k0))
            middle = weight * np.exp(r0 * log_p + k0 * log_q - peak)
            terms = _product(_without_dust(p_powers[: len(chance)] * middle), q_powers)
            terms *= np.exp(log_gamma[r + k] - log_gamma[r] - log_gamma[k + 1] + peak)
            terms *= chance[:, None]
            sums = np.bincount(diagonal[: terms.size], terms.ravel())
            total[r0 + k0 : r0 + k0 + len(sums)] += sums
        end = first + k0 + _BLOCK  # below this, every row has had its say
        if lost.sum() - total[:end].sum() < TAIL / 2:
            break
    return _frozen(_cut(total[:end], TAIL), mean)


def _without_dust(factors: Floats) -> Floats:
    """Set to zero what is too small to count: products near the least double are very slow."""
    factors[factors < 1e-150] = 0.0
    return factors


def _product(left: Floats, right: Floats) -> Floats:
    """Multiply two matrices in pieces too small for the library to spread over threads.

    Threads that wait for a busy core cost more than the product, and one thread always sums in
    the same order.
    """
    parts = range(0, left.shape[1], _NODES)
    return sum(
        (left[:, at : at + _NODES] @ right[at : at + _NODES] for at in parts),
        start=np.zeros((left.shape[0], right.shape[1])),
    )


def _cut(chances: Floats, tail: float) -> Floats:
    """Cut a table where less than `tail` is left beyond, or leave it whole."""
    enough = np.cumsum(chances) > 1 - tail
    return chances[: int(enough.argmax()) + 1] if enough.any() else chances


def _tries(pieces: int, repeats: Floats, mean: float) -> Tries:
    return _frozen(_cut(np.concatenate([np.zeros(pieces), repeats]), TAIL), mean)


def _frozen(pmf: Floats, mean: float) -> Tries:
    pmf = pmf.copy()
    pmf.flags.writeable = False
    return Tries(pmf, mean)


def _waiting(pieces: int, in_hand: int) -> int:
    _whole(pieces, "pieces")
    _whole(in_hand, "good prints in hand")
    if in_hand > pieces:
        raise BadValueError(
            f"{in_hand} good prints for {pieces} pieces are too many.",
            "No more good prints can wait than pieces are to be finished.",
        )
    return pieces - in_hand


def _whole(value: int, what: str) -> None:
    if not 0 <= value <= MOST_REPEATS:
        raise BadValueError(
            f"{value} {what} cannot be counted out.", f"From 0 to {MOST_REPEATS} are taken."
        )
