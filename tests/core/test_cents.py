"""Money is whole cents: however a price is split, the parts sum to it and none is far from fair."""

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.core.books.cutting import split_cents
from stockroom.core.books.stock import share_of_cost
from stockroom.core.records import Unit

CENTS = st.integers(0, 10**12)
WEIGHTS = st.lists(st.integers(0, 10**12), min_size=1, max_size=12)


@settings(derandomize=True, database=None, max_examples=200)
@given(CENTS, WEIGHTS)
def test_parts_of_a_price_sum_to_it(cents: int, weights: list[int]) -> None:
    parts = split_cents(cents, weights)
    assert sum(parts) == cents
    total = sum(weights)
    if total:
        for part, weight in zip(parts, weights, strict=True):
            assert abs(part - Fraction(cents * weight, total)) < 1


@settings(derandomize=True, database=None, max_examples=200)
@given(CENTS, st.lists(st.integers(1, 500), min_size=1, max_size=20))
def test_a_roll_used_up_piece_by_piece_gives_all_its_cost(cents: int, cuts: list[int]) -> None:
    roll = Unit(code="1", lot="2", form="roll", place="3", width_dmm=12_700)
    left_dmm, left_cents, given_cents = sum(cuts), cents, 0
    for cut_dmm in cuts:
        unit = Unit(**{**roll.plain(), "remaining_dmm": left_dmm, "cost_left_cents": left_cents})
        share = share_of_cost(unit, cut_dmm * unit.measure)
        assert 0 <= share <= left_cents
        left_dmm, left_cents, given_cents = (
            left_dmm - cut_dmm,
            left_cents - share,
            given_cents + share,
        )
    assert (left_dmm, left_cents, given_cents) == (0, 0, cents)
