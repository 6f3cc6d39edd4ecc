"""Bars: patterns of whole bars are as good as every way tried by hand, and lose no kerf."""

import random
from functools import cache
from itertools import pairwise

import pytest

from stockroom.core.cutting.bars import Pattern, bar_tree, best_patterns, is_bars
from stockroom.core.cutting.check import faults_of
from stockroom.core.cutting.plan import CutPlan, best_plan
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.tree import Cut, Part
from stockroom.core.cutting.worth import NOTHING_KEPT, BarRule, Rule, Worth

KERF, HIGH = 40, 300


def bar(length: int, code: str = "bar", count: int | None = None, cost: int | None = None) -> Blank:
    return Blank(code, length, HIGH, count, length if cost is None else cost, trimmed=False)


def piece(length: int, count: int = 1, code: str = "", **more: object) -> CutPiece:
    return CutPiece(code or f"{length}", length, HIGH, count, turn=False, **more)  # type: ignore[arg-type]


def asked(pieces: list[CutPiece], bars: list[Blank], kerf: int = KERF) -> Request:
    return Request(tuple(pieces), tuple(bars), Saw(kerf))


def plan(request: Request, rule: Rule = NOTHING_KEPT, effort: int = 60) -> CutPlan:
    return best_plan(request, rule=rule, effort=effort)


def left_of(found: CutPlan) -> list[int]:
    return sorted(
        lain.part.width_dmm
        for one in found.blanks
        for lain in one.parts(KERF)
        if lain.part.what == "offcut"
    )


def test_pieces_with_their_kerfs_between_fit_to_a_tenth_of_a_millimetre() -> None:
    exact = 3 * 10_000 + 2 * KERF
    assert len(plan(asked([piece(10_000, 3)], [bar(exact)])).blanks) == 1
    assert len(plan(asked([piece(10_000, 3)], [bar(exact - 1)])).blanks) == 2


def test_of_leftovers_one_long_is_kept_rather_than_two_short() -> None:
    """Two bars and four pieces: 2 + 2 leaves two of 1.9 m; 3 + 1 one of 0.9 and one of 2.9 m."""
    request = asked([piece(10_000, 4)], [bar(40_000, count=2)], kerf=0)
    found = plan(request, BarRule())
    assert len(found.blanks) == 1
    three = plan(asked([piece(10_000, 4)], [bar(39_000, count=2)], kerf=0), BarRule())
    assert left_of(three) == [9_000, 29_000]


@cache
def dearest(length: int, left: tuple[int, ...], kerf: int) -> list[tuple[int, tuple[int, ...]]]:
    """Every way to take some of the lengths from a bar: what is left of it, and of them."""
    found = [(length, left)]
    for at, size in enumerate(left):
        if at and size == left[at - 1]:
            continue
        if size <= length:
            rest = left[:at] + left[at + 1 :]
            found += dearest(max(0, length - size - kerf), rest, kerf)
    return list(dict.fromkeys(found))


def by_hand(lengths: tuple[int, ...], bars: tuple[tuple[int, int], ...], worth: Worth) -> int:
    """The least cost less leftovers over all ways, bars tried one after another."""
    best = {lengths: 0}
    for length, cost in bars:
        grown = dict(best)
        for left, paid in best.items():
            for room, rest in dearest(length, left, KERF):
                if rest == left:
                    continue
                net = paid + cost - (worth.of(room, HIGH) if room else 0)
                if rest not in grown or net < grown[rest]:
                    grown[rest] = net
        best = grown
    return best[()]


@pytest.mark.parametrize("seed", range(25))
def test_no_way_by_hand_is_better(seed: int) -> None:
    rng = random.Random(seed)
    kinds = rng.sample(range(3_000, 16_000, 500), 3)
    pieces = [piece(length, rng.randint(1, 2)) for length in kinds]
    lengths = tuple(sorted(p.width_dmm for p in pieces for _ in range(p.count)))
    offcuts = [bar(rng.randrange(4_000, 18_000, 700), f"o{n}", 1) for n in range(2)]
    new = bar(20_000)
    rule = rng.choice([BarRule(), NOTHING_KEPT])
    bars = [*offcuts, new]
    worth = Worth(rule, pieces, bars)
    if rule.share:
        bars = [*(bar(o.width_dmm, o.code, 1, worth.of(o.width_dmm, HIGH)) for o in offcuts), new]
    found = plan(asked(pieces, bars), rule, effort=200)
    assert found.complete
    each = [(b.width_dmm, b.price) for b in bars[:2]] + [(new.width_dmm, new.price)] * len(lengths)
    assert found.net == by_hand(lengths, tuple(each), worth)


def test_scarce_bars_are_never_cut_twice_and_forbidden_ones_never() -> None:
    bars = [bar(20_000, "old", 1, 1), bar(20_000, "new", None, 100)]
    found = plan(asked([piece(18_000, 3)], bars))
    assert sorted(one.blank.code for one in found.blanks) == ["new", "new", "old"]
    kept = plan(asked([piece(18_000, 1, blanks=("new",))], bars))
    assert [one.blank.code for one in kept.blanks] == ["new"]


def test_what_cannot_be_taken_is_left_out() -> None:
    found = plan(asked([piece(18_000, 3)], [bar(20_000, "only", 2)]))
    assert found.left_out == (("18000", 1),)


def test_a_pattern_that_holds_too_many_is_cut_with_fewer() -> None:
    """Two bars of two each for three pieces."""
    request = asked([piece(5_000, 3)], [bar(11_000)], kerf=0)
    worth = Worth(NOTHING_KEPT, request.pieces, request.blanks)
    bars = best_patterns(request, worth, [Pattern(0, ((0, 2),))])
    assert bars is not None
    assert sum(number for one in bars for _, number in one.takes) == 3


@pytest.mark.parametrize(
    ("pieces", "bars", "known"),
    [
        ([piece(900)], [bar(9_000)], True),
        ([CutPiece("a", 900, 200)], [bar(9_000)], False),
        ([CutPiece("a", 900, HIGH, turn=True)], [bar(9_000)], True),
        ([CutPiece("a", 200, HIGH, turn=True)], [bar(9_000)], False),
        ([piece(900, group="g")], [bar(9_000)], False),
        ([piece(900)], [bar(9_000), Blank("b", 900, 200)], False),
    ],
)
def test_bars_are_known_by_their_height(
    pieces: list[CutPiece], bars: list[Blank], known: bool
) -> None:
    assert is_bars(asked(pieces, bars)) is known


def test_a_bar_is_cut_longest_first_and_its_end_is_left() -> None:
    request = asked([piece(2_000), piece(3_000, 2)], [bar(10_000)])
    tree = bar_tree(request, Pattern(0, ((0, 1), (1, 2))), BarRule().usable)
    assert isinstance(tree, Cut)
    lengths = []
    node: Cut | Part | None = tree
    while isinstance(node, Cut):
        lengths.append(node.at_dmm)
        node = node.high
    assert lengths == [3_000, 3_000, 2_000]
    assert node == Part("waste", "", 10_000 - 8_000 - 3 * KERF, HIGH)


def test_two_leftovers_of_a_bar_are_never_worth_more_than_the_one_they_were_cut_from() -> None:
    worth = Worth(BarRule(), (), [bar(60_000)])
    lengths = range(0, 60_001, 333)
    assert all(worth.of(a, HIGH) <= worth.of(b, HIGH) for a, b in pairwise(lengths))
    rng = random.Random(1)
    for _ in range(2_000):
        one, other = rng.randrange(30_000), rng.randrange(30_000)
        assert worth.of(one, HIGH) + worth.of(other, HIGH) <= worth.of(one + other, HIGH)


def test_the_checker_reckons_the_worth_of_bars_by_itself() -> None:
    found = plan(asked([piece(10_000)], [bar(60_000)]), BarRule())
    opened = [(one.blank.code, one.trims, one.tree) for one in found.blanks]
    args = (found.left_out, found.cost)
    sound = faults_of(found.request, opened, *args, found.leftover_value, BarRule(), ())
    assert sound == []
    off = faults_of(found.request, opened, *args, found.leftover_value + 1, BarRule(), ())
    assert any("offcuts are worth" in fault for fault in off)


def test_the_same_bars_are_cut_the_same() -> None:
    rng = random.Random(5)
    pieces = [piece(length, 3) for length in rng.sample(range(3_000, 20_000, 111), 8)]
    bars = [*(bar(rng.randrange(5_000, 30_000), f"o{n}", 1) for n in range(6)), bar(60_000)]
    first, again = (plan(asked(pieces, bars), BarRule()) for _ in range(2))
    assert first.blanks == again.blanks
