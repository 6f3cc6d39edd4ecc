"""Cut plans: what fits fits to a tenth of a millimetre, and the rules of saw and piece hold."""

import json
import random
import subprocess
import sys
import time
from collections import Counter
from dataclasses import replace
from itertools import pairwise

import pytest

from stockroom.core.cutting.plan import CutPlan, best_plan, most_plans, plans
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.tidy import tidied
from stockroom.core.cutting.tree import Cut, Node, Part, cuts, lying
from stockroom.core.cutting.worth import NOTHING_KEPT, LeftoverRule, Worth
from stockroom.desk.cutting.from_lists import plan_value
from stockroom.errors import BadValueError, PlanFaultyError

KERF = 40
SAW = Saw(kerf_dmm=KERF, trim_dmm=100)
SHEET = Blank("sheet", 30_500, 20_300, None)


def plan(
    pieces: list[CutPiece], blanks: list[Blank], saw: Saw = SAW, *, effort: int = 60, seed: int = 0
) -> CutPlan:
    return best_plan(
        Request(tuple(pieces), tuple(blanks), saw), rule=NOTHING_KEPT, effort=effort, seed=seed
    )


@pytest.mark.parametrize("number", [1, 2, 5])
def test_pieces_that_fit_exactly_fit_with_one_kerf_less_than_pieces(number: int) -> None:
    length = number * 3_000 + (number - 1) * KERF
    pieces = [CutPiece("a", 3_000, 5_000, number, turn=False)]
    saw = Saw(KERF)
    assert plan(pieces, [Blank("b", length, 5_000)], saw).complete
    short = plan(pieces, [Blank("b", length - 1, 5_000)], saw)
    assert short.left_out == (("a", 1),)


def test_a_piece_fits_inside_the_trims_to_a_tenth_of_a_millimetre() -> None:
    blank = Blank("b", 10_000, 8_000)
    assert plan([CutPiece("a", 9_800, 7_800)], [blank]).complete
    assert not plan([CutPiece("a", 9_801, 7_800)], [blank]).complete
    offcut = Blank("b", 10_000, 8_000, trimmed=False)
    assert plan([CutPiece("a", 10_000, 8_000)], [offcut]).complete


def test_an_edge_with_only_waste_on_it_is_not_trimmed() -> None:
    (one,) = plan([CutPiece("a", 9_800, 7_000)], [Blank("b", 10_000, 8_000)]).blanks
    assert (one.trims.left_dmm, one.trims.bottom_dmm) == (100, 100)
    assert (one.trims.right_dmm, one.trims.top_dmm) == (100, 0)


def test_a_piece_with_grain_lies_as_it_is_wanted() -> None:
    blank = Blank("b", 5_000, 10_000)
    assert plan([CutPiece("a", 9_000, 4_000)], [blank]).complete
    assert not plan([CutPiece("a", 9_000, 4_000, turn=False)], [blank]).complete


def test_of_blanks_of_one_size_the_cheapest_are_opened() -> None:
    """Also those that the search did not happen to try: 30 dear ones stand beside 2 cheap."""
    dear = [Blank(f"dear {n}", 5_000, 5_000, 1, cost=101) for n in range(30)]
    cheap = [Blank(f"cheap {n}", 5_000, 5_000, 1, cost=100) for n in range(2)]
    for seed in range(5):
        found = plan([CutPiece("a", 4_000, 4_000, 2)], [*dear, *cheap], effort=1, seed=seed)
        assert {one.blank.code for one in found.blanks} == {"cheap 0", "cheap 1"}


def test_a_piece_from_some_blanks_only_comes_from_those() -> None:
    blanks = [Blank("near", 5_000, 5_000, cost=1), Blank("far", 5_000, 5_000, cost=9)]
    (one,) = plan([CutPiece("a", 4_000, 4_000, blanks=("far",))], blanks).blanks
    assert one.blank.code == "far"


def test_a_long_sheet_is_cut_across_first_where_the_saw_is_short() -> None:
    pieces = [CutPiece("a", 9_000, 6_000, 4)]
    saw = Saw(KERF, 100, longest_dmm=21_000)
    (one,) = plan(pieces, [SHEET], saw).blanks
    first, *_ = cuts(one.tree)
    assert first.axis == "x"
    assert all(cut.length_dmm <= 21_000 for cut in cuts(one.tree))
    assert not plan([CutPiece("a", 22_000, 19_000)], [SHEET], Saw(KERF, 100, 18_000)).complete


def test_panels_of_a_group_come_from_one_sheet() -> None:
    panels = [
        CutPiece("left", 12_000, 9_000, group="g"),
        CutPiece("right", 12_000, 9_000, group="g"),
    ]
    other = CutPiece("other", 18_000, 9_000)
    found = plan([*panels, other], [SHEET, Blank("offcut", 13_000, 9_500, trimmed=False)])
    on = [
        {lain.part.code for lain in one.parts(KERF) if lain.part.what == "piece"}
        for one in found.blanks
    ]
    assert found.complete
    assert any({"left", "right"} <= codes for codes in on)
    alone = plan(panels, [Blank("a", 13_000, 9_500, 2, trimmed=False)])
    assert dict(alone.left_out) == {"left": 1, "right": 1}


def test_the_cheaper_blank_is_taken_where_both_serve() -> None:
    blanks = [SHEET, Blank("offcut", 10_000, 9_000, trimmed=False)]
    (one,) = plan([CutPiece("a", 9_000, 8_000)], blanks).blanks
    assert one.blank.code == "offcut"


def test_a_large_leftover_is_kept_whole_where_leftovers_count() -> None:
    pieces = [CutPiece("a", 6_000, 4_000, 3), CutPiece("b", 14_000, 9_000)]
    request = Request((pieces[0],), (SHEET,), SAW)
    found = best_plan(request, rule=LeftoverRule(), work=pieces, effort=200)
    offcuts = [
        lain.part for one in found.blanks for lain in one.parts(KERF) if lain.part.what == "offcut"
    ]
    assert max(part.width_dmm * part.height_dmm for part in offcuts) > 0.75 * SHEET.area_dmm2
    assert found.leftover_value > 0
    assert found.net == found.cost - found.leftover_value


def test_two_leftovers_are_never_worth_more_than_the_one_they_were_cut_from() -> None:
    rng = random.Random(5)
    work = [
        CutPiece(str(n), rng.randint(2_000, 15_000), rng.randint(2_000, 12_000)) for n in range(20)
    ]
    worth = Worth(LeftoverRule(), work, [SHEET])
    for _ in range(20_000):
        w, h = rng.randint(1_000, 30_000), rng.randint(1_000, 20_000)
        at = rng.randint(1, w)
        assert worth.of(at, h) + worth.of(max(w - at - KERF, 0), h) <= worth.of(w, h)
    assert worth.of(1_999, 20_000) == worth.of(3_000, 3_999) == 0
    assert worth.of(3_000, 4_000) > 0


def random_request(rng: random.Random) -> Request:
    pieces = tuple(
        CutPiece(
            f"p{n}",
            rng.randint(500, 16_000),
            rng.randint(500, 12_000),
            rng.randint(1, 4),
            turn=rng.random() < 0.7,
            group=rng.choice(["", "", "", "g"]),
        )
        for n in range(rng.randint(1, 9))
    )
    blanks = tuple(
        Blank(
            f"b{n}",
            rng.randint(3_000, 30_500),
            rng.randint(3_000, 20_300),
            rng.choice([1, 2, None]),
            rng.choice([None, 0, 5_000_000]),
            trimmed=rng.random() < 0.5,
        )
        for n in range(rng.randint(1, 6))
    )
    saw = Saw(
        rng.choice([0, 1, 32, 40]), rng.choice([0, 20, 100]), rng.choice([None, None, 20_000])
    )
    return Request(pieces, blanks, saw)


def test_a_thousand_random_plans_pass_the_checker() -> None:
    rng = random.Random(11)
    for seed in range(1_000):
        request = random_request(rng)
        rule = rng.choice([NOTHING_KEPT, LeftoverRule()])
        nets = [
            (sum(n for _, n in found.left_out), found.net)
            for found in plans(request, rule=rule, effort=4, seed=seed)
        ]
        assert nets == sorted(nets, reverse=True)


def test_plans_never_cost_less_than_the_bound() -> None:
    rng = random.Random(12)
    whole = 0
    for seed in range(150):
        request = random_request(rng)
        found = best_plan(request, rule=NOTHING_KEPT, effort=10, seed=seed)
        if found.complete:
            whole += 1
            assert found.cost >= found.bound
            assert (found.stopped == "proven") == (found.cost == found.bound)
    assert whole > 30


def value(effort: int = 40) -> str:
    rng = random.Random(3)
    pieces = tuple(
        CutPiece(f"p{n}", rng.randint(2_000, 9_000), rng.randint(2_000, 9_000), 2)
        for n in range(12)
    )
    blanks = (SHEET, *(Blank(f"o{n}", 9_000 + n, 8_000, trimmed=False) for n in range(6)))
    request = Request(pieces, blanks, SAW)
    return json.dumps(plan_value(best_plan(request, rule=LeftoverRule(), effort=effort, seed=9)))


def test_the_same_question_has_the_same_answer_twice_and_in_another_process() -> None:
    code = "from core.test_cutting_plans import value; print(value(), end='')"
    there = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd="tests",
        env={"PYTHONHASHSEED": "77", "PYTHONPATH": "."},
    ).stdout  # fmt: skip
    assert value() == value() == there


def test_a_plan_that_the_time_ended_says_so_and_is_whole() -> None:
    rng = random.Random(8)
    pieces = tuple(
        CutPiece(f"p{n}", rng.randint(2_000, 9_000), rng.randint(2_000, 9_000)) for n in range(60)
    )
    offcuts = tuple(
        Blank(f"o{n}", rng.randint(4_000, 14_000), rng.randint(4_000, 14_000), trimmed=False)
        for n in range(40)
    )
    asked = 0

    def spent() -> float:
        nonlocal asked
        asked += 1
        return asked / 20

    found = best_plan(
        Request(pieces, (SHEET, *offcuts), SAW), rule=LeftoverRule(), effort=10**6, spent=spent
    )
    assert (found.stopped, found.complete, found.iterations) == ("time", True, 20)


def test_the_most_from_one_blank_takes_the_most_valuable_pieces_that_fit() -> None:
    # Two of a and one of b fill the blank whole; their values are the most by enumeration.
    pieces = (
        CutPiece("a", 4_000, 6_000, 2, value=50, turn=False),
        CutPiece("b", 8_000, 2_000, 1, value=40, turn=False),
        CutPiece("c", 7_000, 7_000, 1, value=120, turn=False),
    )
    request = Request(pieces, (Blank("offcut", 8_000, 8_000, trimmed=False),))
    *_, found = most_plans(request, rule=NOTHING_KEPT, effort=200)
    assert (found.value, found.bound, found.stopped) == (140, 140, "proven")
    assert dict(found.left_out) == {"c": 1}
    with pytest.raises(BadValueError, match="one blank at a time"):
        next(most_plans(Request(pieces, (SHEET, Blank("x", 9, 9))), rule=NOTHING_KEPT))


@pytest.mark.parametrize("plans", [20, pytest.param(60, marks=pytest.mark.slow)])
def test_the_most_keeps_kerf_trim_turns_and_the_saws_longest_cut(plans: int) -> None:
    rng = random.Random(21)
    for seed in range(plans):
        pieces = tuple(
            CutPiece(
                f"p{n}", rng.randint(500, 6_000), rng.randint(500, 6_000), rng.randint(1, 3),
                turn=rng.random() < 0.5, value=rng.randint(1, 900),
            )
            for n in range(rng.randint(1, 7))
        )  # fmt: skip
        saw = Saw(rng.choice([0, 32]), rng.choice([0, 100]), rng.choice([None, 9_000]))
        request = Request(pieces, (Blank("b", 12_000, 8_000),), saw)
        values = [
            found.value for found in most_plans(request, rule=LeftoverRule(), effort=30, seed=seed)
        ]
        assert values == sorted(values)
        assert values[-1] > 0


@pytest.mark.parametrize(
    ("pieces", "blanks", "said"),
    [
        ([], [SHEET], "nothing to cut"),
        ([CutPiece("a", 0, 5_000)], [SHEET], "A side of piece a"),
        ([CutPiece("a", 5_000, -1)], [SHEET], "A side of piece a"),
        ([CutPiece("a", 5_000, 5_000, 0)], [SHEET], "wanted 0 times"),
        ([CutPiece("a", 5_000, 5_000)] * 2, [SHEET], "stands twice"),
        ([CutPiece("a", 5_000, 5_000, 1_000_000)], [SHEET], "too many for one plan"),
        ([CutPiece("a", 5_000, 5_000, value=-1)], [SHEET], "value below zero"),
        ([CutPiece("a", 5_000, 5_000)], [Blank("b", 9_000, 9_000, -1)], "there -1 times"),
        ([CutPiece("a", 5_000, 5_000)], [Blank("b", 9_000, 9_000, 1, -5)], "cost below zero"),
        ([CutPiece("a", 5_000, 5_000)], [], "nothing to cut from"),
    ],
)
def test_what_cannot_be_planned_is_refused(
    pieces: list[CutPiece], blanks: list[Blank], said: str
) -> None:
    with pytest.raises(BadValueError, match=said):
        Request(tuple(pieces), tuple(blanks))


def test_a_piece_larger_than_every_blank_is_left_out_and_the_rest_is_planned() -> None:
    request = Request((CutPiece("huge", 40_000, 9_000), CutPiece("a", 5_000, 5_000)), (SHEET,), SAW)
    found = best_plan(request, rule=NOTHING_KEPT, effort=10)
    assert found.left_out == (("huge", 1),)


def test_a_piece_too_narrow_for_the_saw_is_refused() -> None:
    with pytest.raises(BadValueError, match="too narrow"):
        Request((CutPiece("a", 400, 9_000),), (SHEET,), Saw(narrowest_dmm=500))


def test_a_plan_that_the_checker_faults_is_never_told(monkeypatch: pytest.MonkeyPatch) -> None:
    from stockroom.core.cutting import plan as planning
    from stockroom.core.cutting.tree import Cut

    whole = planning.tidied

    def a_tenth_off(*args: object) -> object:
        node = whole(*args)  # type: ignore[arg-type]
        return replace(node, at_dmm=node.at_dmm + 1) if isinstance(node, Cut) else node

    monkeypatch.setattr(planning, "tidied", a_tenth_off)
    with pytest.raises(PlanFaultyError, match="did not pass its check"):
        plan([CutPiece("a", 4_000, 3_000)], [SHEET])


def test_neighbouring_leftovers_come_off_as_one() -> None:
    """Two pieces on a board leave one strip beside them, not two."""
    saw = Saw(KERF, 100)
    board = Blank("board", 15_000, 30_500, None)
    keeps = LeftoverRule()
    found = best_plan(
        Request((CutPiece("a", 12_000, 8_000, 2, turn=False),), (board,), saw),
        rule=keeps,
        effort=60,
    )
    (one,) = found.blanks
    kept = [
        (lain.part.width_dmm, lain.part.height_dmm)
        for lain in one.parts(KERF)
        if lain.part.what == "offcut"
    ]
    assert len(kept) == 2
    assert len(list(cuts(one.tree))) == 3


@pytest.mark.parametrize("seed", range(40))
def test_a_tidied_tree_has_the_same_pieces_fewer_cuts_and_leftovers_worth_no_less(
    seed: int,
) -> None:
    tree, width, height = any_tree(random.Random(seed))
    keeps = LeftoverRule(least_side_dmm=600, least_area_dmm2=400_000)
    tidy = tidied(tree, KERF, keeps.usable)
    assert (tidy.width_dmm, tidy.height_dmm) == (width, height)

    def pieces(node: Node) -> Counter[tuple[str, int, int]]:
        return Counter(
            (lain.part.code, lain.part.width_dmm, lain.part.height_dmm)
            for lain in lying(node, KERF)
            if lain.part.what == "piece"
        )

    work = (CutPiece("w", 2_000, 900), CutPiece("v", 900, 4_000))
    worth = Worth(keeps, work, [Blank("b", width, height, None)])

    def left(node: Node) -> int:
        return sum(
            worth.of(lain.part.width_dmm, lain.part.height_dmm)
            for lain in lying(node, KERF)
            if lain.part.what == "offcut"
        )

    assert pieces(tidy) == pieces(tree)
    assert len(list(cuts(tidy))) <= len(list(cuts(tree)))
    assert left(tidy) >= left(tree)
    assert tidied(tidy, KERF, keeps.usable) == tidy
    assert all(_sound(cut) for cut in cuts(tidy))


def test_leftovers_are_not_joined_by_a_cut_longer_than_the_saws() -> None:
    row = Cut("x", 3_000, 4_000, 1_000, Part("piece", "a", 3_000, 1_000),
              Part("offcut", "", 960, 1_000))  # fmt: skip
    two = Cut("y", 1_000, 4_000, 2_040, row, row)
    keeps = LeftoverRule(least_side_dmm=1, least_area_dmm2=1).usable
    assert tidied(two, KERF, keeps, 2_039) == two
    joined = tidied(two, KERF, keeps, 2_040)
    assert isinstance(joined, Cut)
    assert joined.high == Part("offcut", "", 960, 2_040)


def _sound(cut: Cut) -> bool:
    """Whether both sides of a cut and the kerf come to what was cut."""
    whole = cut.width_dmm if cut.axis == "x" else cut.height_dmm
    across = cut.height_dmm if cut.axis == "x" else cut.width_dmm
    sides = [cut.low] if cut.high is None else [cut.low, cut.high]
    along = [side.width_dmm if cut.axis == "x" else side.height_dmm for side in sides]
    fits = all((s.height_dmm if cut.axis == "x" else s.width_dmm) == across for s in sides)
    reaches = sum(along) + KERF == whole if cut.high is not None else 0 < whole - along[0] <= KERF
    return fits and reaches and along[0] == cut.at_dmm


def any_tree(rng: random.Random) -> tuple[Node, int, int]:
    """A random tree of cuts, with rows that often end alike."""

    def node(wide: int, tall: int, depth: int) -> Node:
        axis = rng.choice("xy")
        whole = wide if axis == "x" else tall
        if not depth or whole < 800:
            what = rng.choice(["piece", "offcut", "waste"])
            return Part(what, f"p{wide}" if what == "piece" else "", wide, tall)  # type: ignore[arg-type]
        at = rng.choice([whole // 2, whole // 3, 400, whole - 20])
        rest = whole - at - KERF
        low = (at, tall) if axis == "x" else (wide, at)
        high = (rest, tall) if axis == "x" else (wide, rest)
        return Cut(
            axis, at, wide, tall,  # type: ignore[arg-type]
            node(*low, depth - 1), node(*high, depth - 1) if rest > 0 else None,
        )  # fmt: skip

    return node(9_000, 7_000, 5), 9_000, 7_000


def test_sixty_pieces_on_forty_offcuts_stop_at_once_with_the_best_so_far() -> None:
    """Between two looks at the clock there is never a fifth of a second (asked), nor after it.

    The search takes the same steps each time, so that of each wait the shortest of three counts:
    a wait of its own is there every time, one for the machine's other work is not.
    """
    rng = random.Random(3)
    pieces = [CutPiece(f"p{at}", rng.randrange(2_000, 12_000), rng.randrange(2_000, 12_000))
              for at in range(60)]  # fmt: skip
    offcuts = [
        Blank(f"o{at}", rng.randrange(4_000, 15_000), rng.randrange(4_000, 20_000), trimmed=False)
        for at in range(40)
    ]
    request = Request(tuple(pieces), (*offcuts, SHEET), SAW)

    def waits() -> list[float]:
        looks = [time.perf_counter()]

        def spent() -> float:
            looks.append(time.perf_counter())
            return 1.0 if len(looks) > 200 else 0.0

        found = best_plan(request, rule=LeftoverRule(), effort=10**9, spent=spent)
        looks.append(time.perf_counter())
        assert (found.complete, found.stopped) == (True, "time")
        return [after - before for before, after in pairwise(looks)]

    assert max(map(min, zip(waits(), waits(), waits(), strict=True))) < 0.2
