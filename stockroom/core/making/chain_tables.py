"""Numbers behind a chain of steps: tables and means of draws, averaged over what is known."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stockroom.core.losses import (
    MOST_REPEATS,
    TAIL,
    Floats,
    Tries,
    _cut,
    _frozen,
    _print_tries,
    _rate_grid,
)
from stockroom.core.yields import MountYield, PrintYield

Complex = NDArray[np.complex128]

DAMPING = 1e-7
"""What is left, in a table, of chances beyond its end (our choice)."""
FEWEST_NODES, MOST_NODES = 16, 200
"""Nodes over what is known of mounting; more where losses are heavy or pieces many (our choice)."""
_TOGETHER = 1 << 14
"""Complex numbers held at once while tables are summed: few enough for a core's own memory."""


@dataclass(frozen=True, slots=True, eq=False)
class Walk:
    """The states some pieces can come to, by number, and the moves between them.

    Attributes
    ----------
    pieces : tuple of int
        How many pieces stand in each state now.
    moves : mapping of str to two float64 arrays (states, states)
        By kind, what a pass and what a loss lead to: chances from each state (rows) to each
        (columns); what leads past the last step is in no column.
    draws : mapping of int to bool array (states,)
        By layer, in which states an attempt draws it.
    least : mapping of int to int
        By layer, how often it is drawn in any case: once for each piece that lacks it.
    print_retries : bool
        Whether every spoilt print is simply printed again.
    """

    pieces: tuple[int, ...]
    moves: Mapping[str, tuple[Floats, Floats]]
    draws: Mapping[int, NDArray[np.bool_]]
    least: Mapping[int, int]
    print_retries: bool


@lru_cache(maxsize=1024)
def printed(
    walk: Walk,
    layer: int,
    area_m2: float,
    prints: PrintYield,
    mounts: MountYield | None,
    backs: MountYield | None,
) -> Tries:
    """Count the layers of a print that is simply printed again where it is spoilt.

    The mounts and backings tell how many good prints are wanted; the spoilt ones come on top.
    """
    wanted = counted(walk, layer, None, None, mounts, backs, TAIL / 10)
    least = walk.least[layer]
    rate, weight = _rate_grid(prints)
    spare = 1 - area_m2 / prints.area_m2  # E exp(rate A) = spare^-shape, where it exists
    more = spare**-prints.shape if spare > 0 else math.inf
    mean = wanted.mean * more if wanted.mean else 0.0
    return _print_tries(least, wanted.pmf[least:], -rate * area_m2, weight, mean)


@lru_cache(maxsize=1024)
def counted(
    walk: Walk,
    layer: int,
    area_m2: float | None,
    prints: PrintYield | None,
    mounts: MountYield | None,
    backs: MountYield | None,
    tail: float = TAIL,
) -> Tries:
    """Count the draws of a layer; without an area every print is taken to pass."""
    drawing = walk.draws[layer]
    most = sum(walk.pieces)
    if not drawing.any():
        return _frozen(np.ones(1), 0.0)
    known = {"print": prints, "mount": mounts, "back": backs}
    chances, weight = _nodes(known, area_m2, most)
    mean = _mean(walk, drawing, known, area_m2)
    first, again = _embedded(walk, drawing, chances)
    longest = most + MOST_REPEATS
    last = 1 << (longest - 1).bit_length()
    length = min(last, 1 << (2 * most + 31).bit_length())
    pmf = np.zeros(last)
    small = tail / (10 * len(weight))
    lightest = np.argsort(weight)
    open_ = np.sort(lightest[np.cumsum(weight[lightest]) > tail / 10])
    while len(open_):
        # Most nodes need a short table; only those that lose much go on to a longer one.
        block = max(1, _TOGETHER // (length * again.shape[1] ** 2))
        beyond = np.empty(len(open_))
        for at in range(0, len(open_), block):
            nodes = open_[at : at + block]
            tables = _tables(first[nodes], again[nodes], walk.pieces, length)
            beyond[at : at + block] = weight[nodes] * np.maximum(0, 1 - tables.sum(axis=1))
            enough = (beyond[at : at + block] <= small) | (length >= longest)
            pmf[:length] += weight[nodes[enough]] @ tables[enough]
        open_ = open_[beyond > small] if length < longest else open_[:0]
        length = min(4 * length, last)
    pmf[: walk.least[layer]] = 0.0  # no dust of the transform below what is drawn in any case
    return _frozen(_cut(pmf[:longest], tail), mean)


def _tables(first: Floats, again: Floats, pieces: tuple[int, ...], length: int) -> Floats:
    """Return the table of each node by an inverse transform, on a circle that damps the wrap."""
    radius = DAMPING ** (1 / length)
    z = radius * np.exp(-2j * np.pi * np.arange(length // 2 + 1) / length)
    last = 1 - again.sum(axis=2)[:, None]
    if again.shape[1] == 1:
        later: Complex = last / (1 / z[:, None] - again[:, None, :, 0])
    else:
        left = np.eye(again.shape[1]) - z[:, None, None] * again[:, None]
        later = np.linalg.solve(left, (z[:, None] * last)[..., None])[..., 0]
    together = np.ones(later.shape[:2], complex)
    for state, count in enumerate(pieces):
        if count:
            one = later[..., 0] * first[:, state, :1]
            for other in range(1, later.shape[2]):
                one += later[..., other] * first[:, state, other : other + 1]
            one += 1 - first[:, state].sum(axis=1, keepdims=True)
            together *= _power(one, count)
    found: Floats = np.fft.irfft(together, length)
    found *= radius ** -np.arange(float(length))
    return np.maximum(found, 0.0, out=found)


def _power(base: Complex, count: int) -> Complex:
    """Raise to a whole power by squaring: the library's own takes ten times as long."""
    if count == 1:
        return base
    half = _power(base, count // 2)
    return half * half * base if count % 2 else half * half


def _embedded(
    walk: Walk, drawing: NDArray[np.bool_], chances: Mapping[str, Floats]
) -> tuple[Floats, Floats]:
    """Look at a piece only when it draws the layer.

    Returns the chances of where it draws first, from each state, and where it draws next.
    """
    q = _moves(walk, chances)
    away = ~drawing
    between = np.eye(int(away.sum())) - q[:, away][:, :, away]
    reach = np.linalg.solve(between, q[:, away][:, :, drawing])
    again = q[:, drawing][:, :, drawing] + q[:, drawing][:, :, away] @ reach
    first = np.zeros((len(q), len(drawing), int(drawing.sum())))
    first[:, away] = reach
    first[:, drawing] = np.eye(int(drawing.sum()))
    return first, again


def _moves(walk: Walk, chances: Mapping[str, Floats]) -> Floats:
    """Chances of each move for each node, (nodes, states, states)."""
    total = np.zeros((1, len(walk.pieces), len(walk.pieces)))
    for kind, (passed, lost) in walk.moves.items():
        chance = chances.get(kind, np.ones(1))[:, None, None]
        total = total + chance * passed + (1 - chance) * lost
    return total


def _mean(
    walk: Walk,
    drawing: NDArray[np.bool_],
    known: Mapping[str, PrintYield | MountYield | None],
    area_m2: float | None,
) -> float:
    """Expected draws, by the fundamental matrix averaged over what is known.

    It grows as chance^-j where a chance is small. Taking that factor into the weight leaves a
    smooth function; where the weight then cannot be summed, no mean exists.
    """

    def expected(chances: Mapping[str, Floats]) -> Floats:
        still = np.eye(len(drawing)) - _moves(walk, chances)
        draws = np.linalg.solve(
            still, np.broadcast_to(drawing[:, None] * 1.0, (*still.shape[:2], 1))
        )
        return np.array(draws[..., 0] @ np.array(walk.pieces, float))

    tilted: dict[str, PrintYield | MountYield | None] = {}
    poles: dict[str, int] = {}
    factor = 1.0
    for kind, law in known.items():
        if law is None:
            continue
        small = {other: np.full(2, 0.5) for other, has in known.items() if has is not None}
        small[kind] = np.array([1e-4, 1e-5])
        ends = expected(small)
        power = poles[kind] = round(math.log10(ends[1] / ends[0])) if ends[0] else 0
        if isinstance(law, MountYield):
            if law.good <= power:
                return math.inf
            tilted[kind] = MountYield(law.good - power, law.lost)
            factor *= math.prod(
                (law.good + law.lost - n) / (law.good - n) for n in range(1, power + 1)
            )
        else:
            spare = law.area_m2 - power * (area_m2 or 0.0)
            if spare <= 0:
                return math.inf
            tilted[kind] = PrintYield(law.shape, spare)
            factor *= (law.area_m2 / spare) ** law.shape
    chances, weight = _nodes(tilted, area_m2, 0)
    smooth = expected(chances)
    for kind, power in poles.items():
        smooth = smooth * chances[kind] ** power
    return factor * float(weight @ smooth) / float(weight.sum())


def _nodes(
    known: Mapping[str, PrintYield | MountYield | None], area_m2: float | None, pieces: int
) -> tuple[dict[str, Floats], Floats]:
    """Chances to pass, by kind, and weights, at every combination of nodes."""
    axes: dict[str, tuple[Floats, Floats]] = {}
    for kind, law in known.items():
        if isinstance(law, MountYield):
            axes[kind] = _beta_nodes(law.good, law.lost, pieces)
        elif law is not None and area_m2 is not None:
            rate, weight = _rate_grid(law)
            axes[kind] = np.exp(-rate * area_m2), weight
    chances = np.meshgrid(*(chance for chance, _ in axes.values()), indexing="ij")
    weights = np.ones(1)
    for _, weight in axes.values():
        weights = np.multiply.outer(weights, weight)
    return {
        kind: chance.ravel() for kind, chance in zip(axes, chances, strict=True)
    }, weights.ravel()


@lru_cache(maxsize=256)
def _beta_nodes(a: float, b: float, pieces: int) -> tuple[Floats, Floats]:
    """Gauss nodes and weights of a beta distribution, from its three-term recurrence.

    With N nodes the least chance that is seen is about 1/N², and the chance below it has the
    power 2a of that: N grows until it is small. Many pieces look more closely: N grows with the
    root of their number against what is known.

    Source: Golub and Welsch 1969; recurrence of the Jacobi polynomials on 0 to 1.
    """
    from scipy.linalg import eigh_tridiagonal

    heavy = 10 ** min(4.0, 3.5 / a)
    close = math.sqrt(1 + pieces / (a + b))
    count = min(MOST_NODES, math.ceil(FEWEST_NODES * close * max(1.0, heavy / 2)))
    n = np.arange(1, count)
    s = a + b - 2 + 2 * n
    middle = np.empty(count)
    middle[0] = a / (a + b)
    middle[1:] = 0.5 + (a - 1 - (b - 1)) * (a + b - 2) / (2 * s * (s + 2))
    square = np.empty(count - 1)
    square[0] = a * b / ((a + b) ** 2 * (a + b + 1))
    m, t = n[1:], s[1:]
    square[1:] = m * (m + a - 1) * (m + b - 1) * (m + a + b - 2) / (t**2 * (t**2 - 1))
    nodes, vectors = eigh_tridiagonal(middle, np.sqrt(square))
    return np.clip(nodes, 1e-12, 1.0), vectors[0] ** 2
