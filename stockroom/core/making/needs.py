"""What jobs still need of one material in all, as a distribution of amounts."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockroom.core.losses import Floats, Tries
from stockroom.core.yields import share
from stockroom.errors import BadValueError

Complex = NDArray[np.complex128]
Integers = NDArray[np.int64]

LOST_TAIL = 1e-4
"""Chance that one need may leave outside its table, shared by its draws (our choice)."""
BEYOND = 1e-7
"""Bound on the chance beyond the end of a grid; told in the tail (our choice)."""
ROUNDING = 1e-5
"""Bound on the chance that rounding takes away more than is added for it (our choice)."""
MOST_STEPS = 4_096
"""Longest grid; where it is too short for exact amounts, repeats are rounded (our choice)."""
FINER, MANY_DRAWS = 16, 48
"""Few draws may have a grid up to so many times as long, as far as all together stay below the
work of that many draws on the usual one (our choice): rounding adds least where it shows most."""
_KEPT = 1 << 23
"""Complex numbers of transforms kept at once: 128 MB, and half as much again."""
_UP = np.geomspace(1e-4, 30, 80)
_EXPONENTS = np.concatenate([-_UP[::-1], [0.0], _UP])
_TILTS = np.array([0.15, 0.3, 0.5, 0.8, 1.0])
"""Exponents at which moments are kept, and those tried in a bound, against the normal law's."""


@dataclass(frozen=True, slots=True)
class Draw:
    """So many times an amount.

    Attributes
    ----------
    count : Tries
        How many times it is drawn.
    amount : int
        What each takes: tenths of a millimetre, or sheets.
    """

    count: Tries
    amount: int

    def __post_init__(self) -> None:
        if self.amount < 0:
            raise BadValueError(
                f"{self.amount} cannot be drawn each time.", "It must be zero or more."
            )


@dataclass(frozen=True, slots=True, eq=False)
class Need:
    """A total amount as chances of `least`, `least + step`, `least + 2 step` ...

    Attributes
    ----------
    least : int
        What is drawn in any case, and what is added for rounding.
    step : int
        Width of the grid, in the unit of the amounts.
    pmf : float64 array (n,)
        Chance of each; read only.
    mean : float
        Expected amount, exact; infinite where a count has no mean.
    """

    least: int
    step: int
    pmf: Floats
    mean: float

    def cdf(self, amount: float) -> float:
        """Return the chance that this amount is enough; never too high."""
        held = math.floor((amount - self.least) / self.step) + 1
        return min(1.0, float(self.pmf[: max(0, held)].sum()))

    def quantile(self, level: float) -> int:
        """Return the least amount that is enough with this chance, rounded up to the grid.

        Where the level lies outside the table, its length is returned: at least so much.
        """
        reached = np.cumsum(self.pmf) >= share(level) - 1e-12
        steps = int(reached.argmax()) if reached.any() else len(self.pmf)
        return self.least + steps * self.step


def total_need(draws: Iterable[Draw]) -> Need:
    """Return the total of independent draws.

    >>> one = Tries(np.array([0.0, 0.9, 0.1]), 1.1)
    >>> need = total_need([Draw(one, 12_700), Draw(one, 6_300)])
    >>> need.quantile(0.95), round(need.cdf(19_000), 2)
    (31700, 0.81)
    """
    return total_needs([list(draws)])[0]


def total_needs(batch: Sequence[Sequence[Draw]]) -> list[Need]:
    """Return the totals of many materials at once, each the sum of independent draws.

    What each draw takes in any case is added exactly; only repeats are summed, by the product of
    transforms. Where their common divisor makes too long a grid, they are rounded to a coarser
    one, and so much is added to the whole that rounding takes away more with a chance of at most
    `ROUNDING`. The grid is longer than any sum, or than a sum exceeded with a chance of at most
    `BEYOND`. Both are Chernoff's bounds, and both chances are taken off at the low end, where
    what wraps would come to lie: no amount is said to be enough more often than it is.

    Parameters
    ----------
    batch : sequence of sequences of Draw
        The draws of each material. Tables given as the same object are transformed once.

    Returns
    -------
    list of Need
        One for each material, in their order.
    """
    known: dict[tuple[int, float], _Repeats] = {}
    plans = [_plan(draws, known) for draws in batch]
    by_grid: dict[int, list[int]] = {}
    for number, plan in enumerate(plans):
        by_grid.setdefault(plan.length, []).append(number)
    found: dict[int, Need] = {}
    for length, numbers in by_grid.items():
        found.update(zip(numbers, _sums([plans[n] for n in numbers], length), strict=True))
    return [found[number] for number in range(len(batch))]


@dataclass(frozen=True, slots=True, eq=False)
class _Repeats:
    """What one table holds beyond what is drawn in any case, cut at a tail."""

    least: int
    pmf: Floats
    mean: float
    variance: float
    log_moments: Floats
    """Logarithm of E exp(s k) at each of `_EXPONENTS`."""


def _repeats(count: Tries, tail: float) -> _Repeats:
    least = int((count.pmf > 0).argmax())
    reached = np.cumsum(count.pmf) >= 1 - count.tail - tail
    pmf = count.pmf[least : max(least, int(reached.argmax())) + 1]
    k = np.arange(len(pmf))
    mean = float(k @ pmf)
    powers = _EXPONENTS[:, None] * k + np.log(np.maximum(pmf, 1e-300))
    highest = powers.max(axis=1)
    moments = highest + np.log(np.exp(powers - highest[:, None]).sum(axis=1))
    return _Repeats(least, pmf, mean, float(k**2 @ pmf) - mean**2, moments)


@dataclass(frozen=True, slots=True, eq=False)
class _Plan:
    """How the repeats of one material are to be summed."""

    least: int
    mean: float
    rows: list[_Repeats]
    strides: list[int]
    step: int
    top: int
    open_: float

    @property
    def length(self) -> int:
        return 1 << self.top.bit_length()


def _plan(draws: Sequence[Draw], known: dict[tuple[int, float], _Repeats]) -> _Plan:
    """Choose a grid for one material."""
    draws = [draw for draw in draws if draw.amount]
    tail = LOST_TAIL / max(1, len(draws))
    certain, mean = 0, 0.0
    rows: list[_Repeats] = []
    amounts: list[int] = []
    for draw in draws:
        key = (id(draw.count), tail)
        row = known.get(key)
        if row is None:
            row = known[key] = _repeats(draw.count, tail)
        certain += row.least * draw.amount
        mean += draw.count.mean * draw.amount
        rows.append(row)
        amounts.append(draw.amount)
    each = np.array(amounts, np.int64)
    longest = np.array([len(row.pmf) - 1 for row in rows], np.int64)
    variances = np.array([row.variance for row in rows])
    moments = np.array([row.log_moments for row in rows]).reshape(len(rows), len(_EXPONENTS))
    step = math.gcd(*each[longest > 0].tolist()) or 1
    most = MOST_STEPS * max(1, min(FINER, MANY_DRAWS // max(1, len(draws))))
    while True:
        strides = np.rint(each / step).astype(np.int64)
        top, open_ = int(longest @ strides), 0.0
        if top >= most:
            top, open_ = _bound(strides, longest, BEYOND, variances, moments)
        if top < most or strides.max() <= 1:
            break
        step = math.ceil(step * max(1.02, (top + 1) / most))
    lost = np.where(longest > 0, each - strides * step, 0)
    added = 0
    if lost.any():
        added, unsure = _bound(lost, longest, ROUNDING, variances, moments)
        open_ += unsure
    return _Plan(certain + added, mean, rows, strides.tolist(), step, top, open_)


def _bound(
    each: Integers, longest: Integers, chance: float, variances: Floats, moments: Floats
) -> tuple[int, float]:
    """Return what repeats of so much each do not exceed in all, and the chance that they do.

    The chance is the one given, by Chernoff's bound, or 0 where the longest counts give no more.
    The logarithm of a moment is convex in the exponent: a chord between two lies above it.
    """
    needed = -math.log(chance)
    spread = math.sqrt(max(float(each.astype(float) ** 2 @ variances), 1e-300))
    exponents = _TILTS[:, None] * math.sqrt(2 * needed) / spread
    s = exponents * each
    right = np.searchsorted(_EXPONENTS, s).clip(1, len(_EXPONENTS) - 1)
    left = right - 1
    part = (s - _EXPONENTS[left]) / (_EXPONENTS[right] - _EXPONENTS[left])
    draw = np.arange(len(each))
    logs = (1 - part) * moments[draw, left] + part * moments[draw, right]
    bounds = (logs.sum(axis=1) + needed) / exponents[:, 0]
    bounds[(np.abs(s) > _EXPONENTS[-1]).any(axis=1)] = np.inf
    likely, most = float(bounds.min()), int(longest @ each.clip(0))
    return (math.ceil(likely), chance) if likely < most else (most, 0.0)


def _sums(plans: Sequence[_Plan], length: int) -> Iterator[Need]:
    """Multiply transforms on one grid; those of a table and stride are kept for the next need.

    A table spread out by a stride has, at frequency j, the transform of the table at stride j. A
    table longer than the grid is cut there, and what is cut told in the tail.
    """
    frequencies = np.arange(length // 2 + 1)
    plain: dict[int, Complex] = {}
    spread: dict[tuple[int, int], Complex] = {}
    kept = max(1, _KEPT // length)
    for plan in plans:
        product = np.ones(len(frequencies), complex)
        for row, stride in zip(plan.rows, plan.strides, strict=True):
            key = (id(row), stride)
            found = spread.get(key)
            if found is None:
                whole = plain.get(id(row))
                if whole is None:
                    if len(plain) >= kept:
                        plain.clear()
                    whole = plain[id(row)] = np.fft.fft(row.pmf, length)
                if len(spread) >= kept:
                    spread.clear()
                found = spread[key] = whole.take((frequencies * stride) & (length - 1))
            product *= found
        pmf = np.maximum(np.fft.irfft(product, length), 0.0) if length > 1 else product.real
        pmf = pmf[: plan.top + 1]
        if plan.open_:
            pmf = np.diff(np.maximum(np.cumsum(pmf) - plan.open_, 0.0), prepend=0.0)
        pmf.flags.writeable = False
        yield Need(plan.least, plan.step, pmf, plan.mean)
