"""Steps of a piece that draw layers and lose them: how often a layer is still drawn, exactly."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np

from stockroom.core.losses import MOST_REPEATS, Floats, Tries
from stockroom.core.making.chain_tables import Walk, counted, printed
from stockroom.core.yields import MountYield, PrintYield, above_zero
from stockroom.errors import BadValueError

Kind = Literal["print", "mount", "back", "sure"]
"""What a step's chance hangs on: defects an area, face mounts, backings, or nothing."""

State = tuple[int, frozenset[int]]
"""Where a piece stands: the step it waits for and the layers in hand."""


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
        return counted(walk, layer, area_m2, yields.prints, mounts, backs)
    if chain.steps[at].kind == "print":
        return printed(walk, layer, area_m2, yields.prints, mounts, backs)
    return counted(walk, layer, None, None, mounts, backs)


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


@lru_cache(maxsize=512)
def _walk(chain: Chain, starts: tuple[tuple[State, int], ...]) -> Walk:
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
    tables: dict[str, tuple[Floats, Floats]] = {
        step.kind: (np.zeros((size, size)), np.zeros((size, size))) for step in chain.steps
    }
    for kind, lost, here, there, share in moves:
        tables[kind][lost][here, there] += share
    again = all(here == there for kind, lost, here, there, _ in moves if kind == "print" and lost)
    layers = [(at, layer) for at, step in enumerate(chain.steps) for layer in step.draws]
    return Walk(
        tuple(n for _, n in starts) + (0,) * (size - len(starts)),
        tables,
        {
            layer: np.array([here == at and layer not in hand for here, hand in states])
            for at, layer in layers
        },
        {layer: sum(n for (_, hand), n in starts if layer not in hand) for _, layer in layers},
        again,
    )
