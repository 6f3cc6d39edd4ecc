"""Draws of a layer are counted exactly: against closed forms, simulation and at their edges."""

import math
from functools import reduce

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.core.losses import MOST_REPEATS, TAIL, Tries, mounts_needed, prints_needed
from stockroom.core.making.chain import Chain, Kind, State, Step, Way, Yields, draws_needed
from stockroom.core.yields import MountYield, PrintYield
from stockroom.errors import BadValueError

PRINT, FILM, SHEET, BOARD = range(4)
BEGIN: State = (0, frozenset())
KNOWN = 1e8
"""So much evidence that a chance stands still."""


def takes(*layers: int) -> frozenset[int]:
    return frozenset(layers)


def lost(*layers: int) -> tuple[Way, ...]:
    """One way: always the same layers."""
    return (Way(1.0, takes(*layers)),)


PRINTING = Step((PRINT,), "print", lost(PRINT))
TWO_STEPS = Chain((PRINTING, Step((FILM, SHEET), "mount", lost(PRINT, FILM, SHEET))))
WHOLE = Chain(
    (
        PRINTING,
        Step((FILM,), "mount", (Way(0.4, takes(FILM)), Way(0.6, takes(PRINT, FILM)))),
        Step(
            (SHEET,),
            "mount",
            (Way(0.3, takes(SHEET)), Way(0.7, takes(PRINT, FILM, SHEET))),
        ),
        Step((BOARD,), "back", lost(PRINT, FILM, SHEET, BOARD)),
        Step((), "sure"),
    )
)
"""A bad sheet at unmasking takes only the sheet; film spoiled before it takes print and film, or
the film alone; a bad backing takes all."""


def known(
    prints: PrintYield | None = None,
    mounts: MountYield | None = None,
    backs: MountYield | None = None,
) -> Yields:
    return Yields(prints or PrintYield(), mounts or MountYield(), backs or MountYield(9.9, 0.1))


def fixed(rate_per_m2: float, mount: float, back: float) -> Yields:
    """Chances known for certain."""
    return known(
        PrintYield(rate_per_m2 * KNOWN, KNOWN),
        MountYield(mount * KNOWN, (1 - mount) * KNOWN),
        MountYield(back * KNOWN, (1 - back) * KNOWN),
    )


def apart(one: Tries, other: Tries) -> float:
    """Return the largest difference of the chances that so many are enough."""
    shared = min(len(one.pmf), len(other.pmf))
    return float(np.abs(np.cumsum(one.pmf[:shared]) - np.cumsum(other.pmf[:shared])).max())


@pytest.mark.parametrize("pieces", [1, 4, 12, 250])
@pytest.mark.parametrize(
    "mounts",
    [(9.0, 1.0), (26.0, 4.0), (300.0, 40.0), (3.0, 0.2), (5.0, 20.0), (1.5, 3.0), (0.8, 1.0)],
    ids=str,
)
def test_mounts_agree_with_their_closed_form(pieces: int, mounts: tuple[float, float]) -> None:
    mount_yield = MountYield(*mounts)
    found = draws_needed(TWO_STEPS, {BEGIN: pieces}, SHEET, 1.0, known(mounts=mount_yield))
    closed = mounts_needed(pieces, mount_yield)
    assert apart(found, closed) < 1e-6
    assert abs(found.tail - closed.tail) < 1e-6
    assert found.mean == pytest.approx(closed.mean, rel=1e-9)


@pytest.mark.parametrize(("pieces", "in_hand"), [(1, 0), (12, 0), (12, 4), (12, 12)])
@pytest.mark.parametrize("area_m2", [0.2, 3.1])
@pytest.mark.parametrize("prints", [(2.0, 15.0), (0.5, 10.0), (60.0, 100.0), (2.0, 5.0)], ids=str)
def test_prints_agree_with_their_closed_form(
    pieces: int, in_hand: int, area_m2: float, prints: tuple[float, float]
) -> None:
    print_yield = PrintYield(*prints)
    states = {BEGIN: pieces - in_hand, (1, takes(PRINT)): in_hand}
    found = draws_needed(TWO_STEPS, states, PRINT, area_m2, known(print_yield))
    closed = prints_needed(pieces, area_m2, print_yield, MountYield(), in_hand)
    assert apart(found, closed) < 1e-6
    assert found.mean == pytest.approx(closed.mean, rel=1e-9)


@pytest.mark.parametrize("area_m2", [0.2, 3.1])
def test_a_print_loss_that_can_take_more_is_averaged_over_the_rate_as_well(area_m2: float) -> None:
    # So rarely that the closed form still holds, but every print must now be followed in turn.
    base = 9
    rare = (Way(1 - 1e-9, takes(PRINT)), Way(1e-9, takes(PRINT, base)))
    longer = Chain((Step((base,), "sure"), Step((PRINT,), "print", rare), *TWO_STEPS.steps[1:]))
    found = draws_needed(longer, {BEGIN: 3}, PRINT, area_m2, known())
    closed = prints_needed(3, area_m2, PrintYield(), MountYield())
    assert apart(found, closed) < 1e-6
    assert found.mean == pytest.approx(closed.mean, rel=1e-6)


def test_no_mean_where_too_little_is_known() -> None:
    def mean(layer: int, area_m2: float, yields: Yields) -> float:
        return draws_needed(WHOLE, {BEGIN: 1}, layer, area_m2, yields).mean

    # Two steps hang on the mounting: the mean of what the first draws wants a beta above two.
    assert mean(FILM, 1.0, known(mounts=MountYield(2.01, 1))) < math.inf
    assert mean(FILM, 1.0, known(mounts=MountYield(2.0, 1))) == math.inf
    assert mean(SHEET, 1.0, known(mounts=MountYield(1.01, 1))) < math.inf
    assert mean(SHEET, 1.0, known(mounts=MountYield(1.0, 1))) == math.inf
    assert mean(BOARD, 1.0, known(mounts=MountYield(0.5, 1))) < math.inf
    assert mean(BOARD, 1.0, known(backs=MountYield(1.0, 1))) == math.inf
    assert mean(PRINT, 14.9, known()) < math.inf
    assert mean(PRINT, 15.0, known()) == math.inf
    assert mean(SHEET, 15.0, known()) < math.inf


def test_the_mean_is_that_of_the_table_where_its_tail_is_light() -> None:
    yields = known(PrintYield(20, 150), MountYield(90, 10), MountYield(99, 1))
    for layer in (PRINT, FILM, SHEET, BOARD):
        tries = draws_needed(
            WHOLE, {BEGIN: 5, (3, takes(PRINT, FILM, SHEET)): 2}, layer, 0.8, yields
        )
        table = float(np.arange(len(tries.pmf)) @ tries.pmf)
        assert tries.mean == pytest.approx(table, abs=3e-4)


def followed(
    chain: Chain,
    states: dict[State, int],
    chances: dict[Kind, np.ndarray],
    runs: int,
    rng: np.random.Generator,
) -> dict[int, np.ndarray]:
    """Count the draws of each layer by following every piece of every run, try by try."""
    layers = [layer for step in chain.steps for layer in step.draws]
    counts = {layer: np.zeros(runs, int) for layer in layers}
    for (begin, hand), pieces in states.items():
        run = np.repeat(np.arange(runs), pieces)
        at = np.full(len(run), begin)
        held = {layer: np.full(len(run), layer in hand) for layer in layers}
        while (at < len(chain.steps)).any():
            for number, step in enumerate(chain.steps):
                here = np.flatnonzero(at == number)
                for layer in step.draws:
                    missing = here[~held[layer][here]]
                    np.add.at(counts[layer], run[missing], 1)
                    held[layer][missing] = True
                passed = rng.random(len(here)) < chances[step.kind][run[here]]
                at[here[passed]] += 1
                bad = here[~passed]
                picked = rng.choice(
                    len(step.ways) or 1, len(bad), p=[w.share for w in step.ways] or None
                )
                for way_number, way in enumerate(step.ways):
                    spoilt = bad[picked == way_number]
                    for layer in way.takes:
                        held[layer][spoilt] = False
                for earlier in range(number - 1, -1, -1):
                    lacking = np.zeros(len(bad), bool)
                    for layer in chain.steps[earlier].draws:
                        lacking |= ~held[layer][bad]
                    at[bad[lacking]] = earlier
    return counts


@pytest.mark.parametrize("averaged", [False, True], ids=["known chances", "averaged chances"])
def test_every_layer_agrees_with_a_simulation_of_the_bench(averaged: bool) -> None:
    rng = np.random.default_rng(20_260_307)
    runs, area_m2 = 20_000, 1.3
    states: dict[State, int] = {
        BEGIN: 3,
        (0, takes(FILM)): 1,
        (2, takes(PRINT, FILM)): 1,
        (3, takes(PRINT, FILM, SHEET)): 1,
    }
    if averaged:
        yields = known()
        rate = rng.gamma(2, 1 / 15, runs)
        mount, back = rng.beta(9, 1, runs), rng.beta(9.9, 0.1, runs)
    else:
        yields = fixed(0.3, 0.8, 0.9)
        rate, mount, back = np.full(runs, 0.3), np.full(runs, 0.8), np.full(runs, 0.9)
    chances: dict[Kind, np.ndarray] = {
        "print": np.exp(-rate * area_m2),
        "mount": mount,
        "back": back,
        "sure": np.ones(runs),
    }
    counts = followed(WHOLE, states, chances, runs, rng)
    for layer in (PRINT, FILM, SHEET, BOARD):
        tries = draws_needed(WHOLE, states, layer, area_m2, yields)
        for n in range(int(counts[layer].min()) - 1, int(np.quantile(counts[layer], 0.999)) + 1):
            chance = tries.cdf(n)
            error = math.sqrt(max(chance * (1 - chance), 1 / runs) / runs)
            assert float((counts[layer] <= n).mean()) == pytest.approx(chance, abs=4 * error)
        mean_error = float(counts[layer].std()) / math.sqrt(runs)
        assert float(counts[layer].mean()) == pytest.approx(tries.mean, abs=4 * mean_error)


def test_what_a_way_takes_is_what_is_drawn_again() -> None:
    # Only the sheet is ever lost: print and film are drawn once a piece, the sheet 1/0.8 times.
    chain = Chain((PRINTING, Step((FILM,), "sure"), Step((SHEET,), "mount", lost(SHEET))))
    yields = fixed(1e-7, 0.8, 0.9)
    film = draws_needed(chain, {BEGIN: 4}, FILM, 1.0, yields)
    assert film.pmf.tolist() == pytest.approx([0, 0, 0, 0, 1])
    assert draws_needed(chain, {BEGIN: 4}, SHEET, 1.0, yields).mean == pytest.approx(5, rel=1e-6)
    # Film that is still in hand while a print is made anew is not drawn again.
    assert draws_needed(chain, {(0, takes(FILM)): 4}, FILM, 1.0, yields).pmf.tolist() == [1.0]


def test_yields_are_averaged_over_what_is_known_and_never_taken_at_their_mean() -> None:
    # The same job at 60 known mounting chances, weighed by what is known of them: Gauss and
    # Legendre's rule on the beta density, which shares nothing with the tables' own nodes.
    from scipy.stats import beta

    good, lost_ = 30.0, 4.0
    x, width = np.polynomial.legendre.leggauss(60)
    low = 0.45
    chances = low + (x + 1) / 2 * (1 - low)
    weights = width / 2 * (1 - low) * beta.pdf(chances, good, lost_)
    assert weights.sum() == pytest.approx(1, abs=1e-6)
    states = {BEGIN: 4, (2, takes(PRINT, FILM)): 2}
    backs = MountYield(0.97 * KNOWN, 0.03 * KNOWN)
    for layer in (FILM, SHEET, BOARD):
        found = draws_needed(
            WHOLE, states, layer, 1.0, known(mounts=MountYield(good, lost_), backs=backs)
        )
        mixed = np.zeros(400)
        for chance, weight in zip(chances, weights, strict=True):
            pmf = draws_needed(WHOLE, states, layer, 1.0, fixed(1e-9, chance, 0.97)).pmf
            mixed[: len(pmf)] += weight * pmf
        assert apart(found, Tries(mixed, 0.0)) < 3e-6
        at_mean = draws_needed(WHOLE, states, layer, 1.0, fixed(1e-9, good / (good + lost_), 0.97))
        if layer != BOARD:  # what is lost before a board is drawn takes none
            assert found.mean > 1.003 * at_mean.mean
            assert 1 - found.cdf(13) > 1.5 * (1 - at_mean.cdf(13))


@pytest.mark.parametrize("pieces", [1, 2])
def test_what_lies_beyond_the_longest_table_does_not_wrap_into_it(pieces: int) -> None:
    # Good once in two thousand: one in sixty of such jobs takes more tries than a table holds.
    from scipy.stats import nbinom

    chain = Chain((Step((SHEET,), "mount", lost(SHEET)),))
    found = draws_needed(chain, {BEGIN: pieces}, SHEET, 1.0, fixed(1.0, 0.0005, 0.9))
    assert len(found.pmf) == pieces + MOST_REPEATS
    exact = nbinom.pmf(np.arange(len(found.pmf)) - pieces, pieces, 0.0005)
    assert 1 - exact.sum() > 0.1
    assert found.pmf == pytest.approx(exact, rel=1e-3, abs=1e-8)
    assert found.tail == pytest.approx(1 - exact.sum(), abs=1e-5)


def test_as_many_pieces_as_are_taken_in_two_states_are_counted_out() -> None:
    chain = Chain((Step((SHEET,), "mount", lost(SHEET)),))
    states = {BEGIN: MOST_REPEATS, (0, takes(SHEET)): MOST_REPEATS}
    found = draws_needed(chain, states, SHEET, 1.0, fixed(1.0, 0.9, 0.9))
    assert found.mean == pytest.approx(MOST_REPEATS * (1 + 0.2 / 0.9), rel=1e-6)
    assert found.quantile(0.5) == pytest.approx(found.mean, abs=1)


@pytest.mark.parametrize("layer", [PRINT, FILM, SHEET, BOARD])
def test_less_than_what_is_drawn_in_any_case_has_no_chance_at_all(layer: int) -> None:
    states = {BEGIN: 9, (0, takes(FILM)): 2, (3, takes(PRINT, FILM, SHEET)): 3}
    certain = 9 + (2 if layer in (PRINT, SHEET) else 5 if layer == BOARD else 0)
    pmf = draws_needed(WHOLE, states, layer, 1.0, known()).pmf
    assert int((pmf > 0).argmax()) == certain
    assert pmf[certain] > 0.01


def test_layers_that_share_their_fate_share_their_table() -> None:
    states = {BEGIN: 2}
    assert draws_needed(TWO_STEPS, states, FILM, 1.0, known()) is draws_needed(
        TWO_STEPS, states, SHEET, 2.0, known()
    )
    apart_now = {BEGIN: 2, (0, takes(FILM)): 1}
    film = draws_needed(TWO_STEPS, apart_now, FILM, 1.0, known())
    assert film.mean < draws_needed(TWO_STEPS, apart_now, SHEET, 1.0, known()).mean


def test_all_pieces_of_a_job_share_their_chances() -> None:
    # Together they scatter more than as many jobs of one piece each.
    one = draws_needed(WHOLE, {BEGIN: 1}, SHEET, 1.0, known()).pmf
    separate = reduce(np.convolve, [one] * 8)
    together = draws_needed(WHOLE, {BEGIN: 8}, SHEET, 1.0, known())
    assert 1 - together.cdf(13) > 2 * (1 - separate[:14].sum())


def test_finished_pieces_need_nothing() -> None:
    everything = takes(PRINT, FILM, SHEET, BOARD)
    for layer in (PRINT, BOARD):
        done = draws_needed(WHOLE, {(5, everything): 7, BEGIN: 0}, layer, 1.0, known())
        assert (done.pmf.tolist(), done.mean) == ([1.0], 0.0)


hands = st.sampled_from(
    [
        BEGIN,
        (0, takes(FILM)),
        (1, takes(PRINT)),
        (2, takes(PRINT, FILM)),
        (3, takes(PRINT, FILM, SHEET)),
        (4, takes(PRINT, FILM, SHEET, BOARD)),
    ]
)


@settings(max_examples=30, deadline=None)
@given(
    st.dictionaries(hands, st.integers(0, 5), min_size=1, max_size=3),
    hands,
    st.sampled_from([PRINT, FILM, SHEET, BOARD]),
    st.floats(0.1, 3.1),
    st.builds(MountYield, st.floats(8, 60), st.floats(0.2, 6)),
)
def test_every_table_is_a_distribution_and_more_pieces_never_need_less(
    states: dict[State, int], another: State, layer: int, area_m2: float, mounts: MountYield
) -> None:
    yields = known(mounts=mounts)
    tries = draws_needed(WHOLE, states, layer, area_m2, yields)
    assert np.all(tries.pmf >= 0)
    assert not tries.pmf.flags.writeable
    assert tries.pmf.sum() + tries.tail == pytest.approx(1, abs=1e-9)
    assert tries.tail <= TAIL or len(tries.pmf) >= MOST_REPEATS
    levels = [tries.quantile(level) for level in (0.1, 0.5, 0.9, 0.99)]
    assert levels == sorted(levels)
    more = draws_needed(
        WHOLE, {**states, another: states.get(another, 0) + 1}, layer, area_m2, yields
    )
    assert more.mean >= tries.mean - 1e-9
    for n in range(len(tries.pmf)):
        assert more.cdf(n) <= tries.cdf(n) + 2 * TAIL
    assert draws_needed(WHOLE, dict(reversed(states.items())), layer, area_m2, yields) is tries


def test_impossible_chains_states_and_counts_are_refused() -> None:
    for broken in (
        lambda: Chain((PRINTING, PRINTING)),
        lambda: Chain((Step((0,), "mount", (Way(0.5, takes(0)),)),)),
        lambda: Chain((Step((0,), "mount", (Way(1.2, takes(0)), Way(-0.2, takes(0)))),)),
        lambda: Chain((Step((0,), "mount"),)),
        lambda: Chain((Step((0,), "sure", lost(0)),)),
        lambda: Chain((Step((0,), "mount", lost(1)),)),
        lambda: draws_needed(WHOLE, {BEGIN: 1}, 7, 1.0, known()),
        lambda: draws_needed(WHOLE, {BEGIN: -1}, PRINT, 1.0, known()),
        lambda: draws_needed(WHOLE, {BEGIN: MOST_REPEATS + 1}, PRINT, 1.0, known()),
        lambda: draws_needed(WHOLE, {(6, frozenset()): 1}, PRINT, 1.0, known()),
        lambda: draws_needed(WHOLE, {(2, takes(FILM)): 1}, PRINT, 1.0, known()),
        lambda: draws_needed(WHOLE, {BEGIN: 1}, PRINT, 0.0, known()),
    ):
        with pytest.raises(BadValueError):
            broken()
