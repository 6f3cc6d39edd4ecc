"""Steps of a piece that draw layers and lose them: how often a layer is still drawn, exactly."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

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
from stockroom.core.yields import MountYield, PrintYield, above_zero
from stockroom.errors import BadValueError

Complex = NDArray[np.complex128]

Kind = Literal["print", "mount", "back", "sure"]
"""What a step's chance hangs on: defects an area, face mounts, backings, or nothing."""

State = tuple[int, frozenset[int]]
"""Where a piece stands: the step it waits for and the layers in hand."""

DAMPING = 1e-7
"""What is left, in a table, of chances beyond its end (our choice)."""
FEWEST_NODES, MOST_NODES = 16, 200
"""Nodes over what is known of mounting; more where losses are heavy or pieces many (our choice)."""
_TOGETHER = 1 << 16
"""Complex numbers held at once while tables are summed."""


@dataclass(frozen=True, slots=True)
class Way:
    """One way a step can be lost.

    Attributes
    ----------
    share : float
        Share among the losses of the step, 0 to 1.
    takes : frozenset of int
        Layers it destroys; the others stay in hand.
    """

    share: float
    takes: frozenset[int]


@dataclass(frozen=True, slots=True)
class Step:
    """One step: the layers it draws, what its chance hangs on, and the ways it can be lost.

    Attributes
    ----------
    draws : tuple of int
        Layers drawn at an attempt, as far as they are not in hand.
    kind : str
        "print", "mount", "back", or "sure" for a step that never fails.
    ways : tuple of Way
        How it can be lost; none for a sure step.
    """

    draws: tuple[int, ...]
    kind: Kind
    ways: tuple[Way, ...] = ()


@dataclass(frozen=True, slots=True)
class Chain:
    """The steps of a piece in their order.

    An attempt draws the layers of its step that are not in hand. Passed, the piece goes to the
    next step. Lost, what the way takes leaves the hand and the piece goes back to the earliest
    step that lacks a layer, or stays where nothing is lacking.

    Raises
    ------
    BadValueError
        Where a layer is drawn by two steps, a way takes a layer that no step draws, or the
        shares of a step's ways do not add up to one.
    """

    steps: tuple[Step, ...]

    def __post_init__(self) -> None:
        drawn = [layer for step in self.steps for layer in step.draws]
        if len(drawn) != len(set(drawn)):
            raise BadValueError(
                "A layer is drawn by two steps.", "Give each layer to the step that draws it."
            )
        for number, step in enumerate(self.steps, 1):
            total = sum(way.share for way in step.ways)
            whole = total == 0 if step.kind == "sure" else math.isclose(total, 1, abs_tol=1e-9)
            if not whole or any(not way.share > 0 for way in step.ways):
                raise BadValueError(
                    f"The ways step {number} can be lost add up to {total:g}.",
                    "Give each a share above zero, 1 in all; a sure step has none.",
                )
            if any(not way.takes <= set(drawn) for way in step.ways):
                raise BadValueError(
                    f"Step {number} can lose a layer that no step draws.",
                    "Name only layers that the steps draw.",
                )

    def lacking(self, hand: frozenset[int], upto: int) -> int:
        """Return the earliest step up to this one that lacks a layer, or this one."""
        return next((i for i in range(upto) if not hand.issuperset(self.steps[i].draws)), upto)


@dataclass(frozen=True, slots=True)
class Yields:
    """What is known of the losses of printing, face mounting and backing."""

    prints: PrintYield
    mounts: MountYield
    backs: MountYield


def draws_needed(
    chain: Chain, states: Mapping[State, int], layer: int, area_m2: float, yields: Yields
) -> Tries:
    """Return how many times a layer is still drawn until all of a job's pieces are finished.

    All pieces of the job share the same true chances, which are not known: the count is averaged
    over what is known of them, never taken at their mean. Given the chances, the draws of one
    piece have the generating function z (I - zU)^-1 e, where U holds the chances that one draw
    is followed by another and e those that it was the last; pieces multiply. A table is the
    inverse transform on a circle just inside the unit circle, so that what lies beyond its end
    cannot wrap into it.

    Parameters
    ----------
    chain : Chain
        Steps of a piece.
    states : mapping of State to int
        How many pieces stand where; a state past the last step is finished.
    layer : int
        The layer counted.
    area_m2 : float
        Area of one print, m2.
    yields : Yields
        What is known of the losses.

    Returns
    -------
    Tries
        With the exact mean; infinite where so little is known that no mean exists.

    Raises
    ------
    BadValueError
        Where a state, a count or the area is impossible, or no step draws the layer.

    >>> mount = Step((1, 2), "mount", (Way(1.0, frozenset({0, 1, 2})),))
    >>> chain = Chain((Step((0,), "print", (Way(1.0, frozenset({0})),)), mount))
    >>> known = Yields(PrintYield(), MountYield(), MountYield())
    >>> draws_needed(chain, {(0, frozenset()): 1}, 0, 3.125, known).quantile(0.9)
    3
    """
    above_zero(area_m2, "area of a print")
    starts = _starts(chain, states)
    at = next((i for i, step in enumerate(chain.steps) if layer in step.draws), None)
    if at is None:
        raise BadValueError(f"No step draws layer {layer}.", "Name a layer that a step draws.")
    layer = _twin(chain, starts, at, layer)
    kinds = {step.kind for step in chain.steps}
    mounts = yields.mounts if "mount" in kinds else None
    backs = yields.backs if "back" in kinds else None
    walk = _walk(chain, starts)
    if "print" in kinds and not walk.print_retries:
        return _counted(walk, layer, area_m2, yields.prints, mounts, backs)
    if chain.steps[at].kind == "print":
        return _printed(walk, layer, area_m2, yields.prints, mounts, backs)
    return _counted(walk, layer, None, None, mounts, backs)


def _starts(chain: Chain, states: Mapping[State, int]) -> tuple[tuple[State, int], ...]:
    """Unfinished pieces by state, in a fixed order."""
    last = len(chain.steps)
    for (step, hand), pieces in states.items():
        if not 0 <= step <= last or (step < last and chain.lacking(hand, step) != step):
            raise BadValueError(
                f"A piece cannot wait for step {step + 1} of {last} with layers {sorted(hand)}.",
                "Every layer of the steps before must be in hand.",
            )
        if not 0 <= pieces <= MOST_REPEATS:
            raise BadValueError(
                f"{pieces} pieces cannot be counted out.", f"From 0 to {MOST_REPEATS} are taken."
            )
    waiting = ((state, n) for state, n in states.items() if n and state[0] < last)
    return tuple(sorted(waiting, key=lambda item: (item[0][0], sorted(item[0][1]))))


def _twin(chain: Chain, starts: tuple[tuple[State, int], ...], at: int, layer: int) -> int:
    """Return the first layer that is drawn and lost just as this one, so that tables are shared."""
    held = [hand for (_, hand), _ in starts]
    held += [way.takes for step in chain.steps for way in step.ways]
    return next(
        other
        for other in chain.steps[at].draws
        if all((other in layers) == (layer in layers) for layers in held)
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Walk:
    """The states some pieces can come to, and the moves between them.

    `moves` holds, by kind, what a pass and a loss lead to: chances from each state (rows) to
    each (columns); what leads past the last step is in no column.
    """

    chain: Chain
    states: tuple[State, ...]
    pieces: tuple[int, ...]
    moves: Mapping[Kind, tuple[Floats, Floats]]
    print_retries: bool

    def draws(self, layer: int) -> NDArray[np.bool_]:
        """Tell in which states an attempt draws a layer."""
        steps = self.chain.steps
        return np.array(
            [layer in steps[at].draws and layer not in hand for at, hand in self.states]
        )


@lru_cache(maxsize=512)
def _walk(chain: Chain, starts: tuple[tuple[State, int], ...]) -> _Walk:
    """Follow every way from the states in which pieces stand."""
    states = [state for state, _ in starts]
    numbers = {state: number for number, state in enumerate(states)}
    moves: list[tuple[Kind, int, int, int, float]] = []
    for here, (at, hand) in enumerate(states):  # grows while it is walked
        step = chain.steps[at]
        held = hand | frozenset(step.draws)
        leads: list[tuple[int, State, float]] = [(0, (at + 1, held), 1.0)]
        for way in step.ways:
            left = held - way.takes
            leads.append((1, (chain.lacking(left, at), left), way.share))
        for lost, state, share in leads:
            if state[0] == len(chain.steps):
                continue
            if state not in numbers:
                numbers[state] = len(states)
                states.append(state)
            moves.append((step.kind, lost, here, numbers[state], share))
    size = len(states)
    tables: dict[Kind, tuple[Floats, Floats]] = {
        step.kind: (np.zeros((size, size)), np.zeros((size, size))) for step in chain.steps
    }
    for kind, lost, here, there, share in moves:
        tables[kind][lost][here, there] += share
    again = all(here == there for kind, lost, here, there, _ in moves if kind == "print" and lost)
    pieces = tuple(n for _, n in starts) + (0,) * (size - len(starts))
    return _Walk(chain, tuple(states), pieces, tables, again)


@lru_cache(maxsize=1024)
def _printed(
    walk: _Walk,
    layer: int,
    area_m2: float,
    prints: PrintYield,
    mounts: MountYield | None,
    backs: MountYield | None,
) -> Tries:
    """Count the layers of a print that is simply printed again where it is spoilt.

    The mounts and backings tell how many good prints are wanted; the spoilt ones come on top.
    """
    wanted = _counted(walk, layer, None, None, mounts, backs, TAIL / 10)
    least = int((wanted.pmf > 0).argmax())
    rate, weight = _rate_grid(prints)
    spare = 1 - area_m2 / prints.area_m2  # E exp(rate A) = spare^-shape, where it exists
    more = spare**-prints.shape if spare > 0 else math.inf
    mean = wanted.mean * more if wanted.mean else 0.0
    return _print_tries(least, wanted.pmf[least:], -rate * area_m2, weight, mean)


@lru_cache(maxsize=1024)
def _counted(
    walk: _Walk,
    layer: int,
    area_m2: float | None,
    prints: PrintYield | None,
    mounts: MountYield | None,
    backs: MountYield | None,
    tail: float = TAIL,
) -> Tries:
    """Count the draws of a layer; without an area every print is taken to pass."""
    drawing = walk.draws(layer)
    most = sum(walk.pieces)
    if not drawing.any():
        return _frozen(np.ones(1), 0.0)
    known = {"print": prints, "mount": mounts, "back": backs}
    chances, weight = _nodes(known, area_m2, most)
    mean = _mean(walk, drawing, known, area_m2)
    first, again = _embedded(walk, drawing, chances)
    longest = most + MOST_REPEATS
    pmf = np.zeros(2 * longest)
    length = 1 << (2 * most + 31).bit_length()
    small = tail / (10 * len(weight))
    open_ = np.flatnonzero(weight > small)
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
        length = min(4 * length, 1 << (longest - 1).bit_length())
    return _frozen(_cut(pmf[:longest], tail), mean)


def _tables(first: Floats, again: Floats, pieces: tuple[int, ...], length: int) -> Floats:
    """Return the table of each node by an inverse transform, on a circle that damps the wrap."""
    radius = DAMPING ** (1 / length)
    z = radius * np.exp(-2j * np.pi * np.arange(length // 2 + 1) / length)
    last = 1 - again.sum(axis=2)[:, None]
    if again.shape[1] == 1:
        later: Complex = z[:, None] * last / (1 - z[:, None] * again[:, None, :, 0])
    else:
        left = np.eye(again.shape[1]) - z[:, None, None] * again[:, None]
        later = np.linalg.solve(left, (z[:, None] * last)[..., None])[..., 0]
    together = np.ones(later.shape[:2], complex)
    for state, count in enumerate(pieces):
        if count:
            one = np.einsum("nfk,nk->nf", later, first[:, state])
            one += (1 - first[:, state].sum(axis=1))[:, None]
            together *= _power(one, count)
    found: Floats = np.fft.irfft(together, length) / radius ** np.arange(length)
    return found.clip(0.0)


def _power(base: Complex, count: int) -> Complex:
    """Raise to a whole power by squaring: the library's own takes ten times as long."""
    if count == 1:
        return base
    half = _power(base, count // 2)
    return half * half * base if count % 2 else half * half


def _embedded(
    walk: _Walk, drawing: NDArray[np.bool_], chances: Mapping[str, Floats]
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


def _moves(walk: _Walk, chances: Mapping[str, Floats]) -> Floats:
    """Chances of each move for each node, (nodes, states, states)."""
    total = np.zeros((1, len(walk.states), len(walk.states)))
    for kind, (passed, lost) in walk.moves.items():
        chance = chances.get(kind, np.ones(1))[:, None, None]
        total = total + chance * passed + (1 - chance) * lost
    return total


def _mean(
    walk: _Walk,
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
