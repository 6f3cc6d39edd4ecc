"""Cut plans reach the optima that others published, and never beat a bound that others proved."""

import pytest

from stockroom.core.cutting.bars import is_bars
from stockroom.core.cutting.plan import CutPlan, best_plan, most_plans
from stockroom.core.cutting.request import Blank, CutPiece, Request
from stockroom.core.cutting.worth import NOTHING_KEPT

Item = tuple[int, int, int, int]

# One sheet, cuts from edge to edge, pieces not turned, at most so many of each: width, height,
# value, number. The optimum of each was read in the result table (Res-2KP-G.csv, columns lb, ub)
# that goes with Wang, Baldacci, Liu, Wei (2025), An open-source efficient exact algorithm for the
# two-dimensional knapsack problem with guillotine constraints, European Journal of Operational
# Research 327(3) 735-753. First printed by: NGCUT, Beasley (1985), Operations Research 33(1);
# OF, Oliveira and Ferreira (1990), European Journal of Operational Research 44(2); CHL, Cung,
# Hifi and Le Cun (2000), International Transactions in Operational Research 7(3); hccut, Hifi
# (1997), Computers and Operations Research 24(8).
ONE_SHEET: dict[str, tuple[tuple[int, int], int, list[Item]]] = {
    "NGCUT1": ((10, 10), 164, [
        (8, 2, 40, 2), (2, 9, 43, 2), (3, 7, 35, 2), (10, 2, 27, 1), (5, 4, 23, 3),
    ]),
    "NGCUT3": ((10, 10), 247, [
        (4, 5, 60, 2), (3, 7, 52, 3), (8, 4, 79, 1), (9, 1, 21, 2), (4, 1, 9, 2), (7, 2, 20, 3),
        (1, 10, 14, 1), (4, 2, 11, 2), (3, 2, 7, 2), (6, 2, 13, 3),
    ]),
    "NGCUT5": ((15, 10), 358, [
        (12, 2, 72, 3), (11, 3, 91, 1), (2, 10, 36, 1), (9, 3, 48, 1), (11, 1, 15, 3),
        (10, 3, 34, 2), (12, 3, 37, 3),
    ]),
    "NGCUT7": ((20, 20), 430, [
        (1, 9, 26, 3), (20, 2, 104, 1), (16, 3, 113, 1), (18, 3, 127, 1), (3, 1, 4, 2),
    ]),
    "NGCUT9": ((20, 20), 924, [
        (17, 5, 252, 1), (7, 9, 166, 1), (12, 3, 92, 3), (1, 5, 10, 1), (11, 6, 123, 2),
        (20, 4, 139, 2), (1, 7, 12, 3), (11, 8, 145, 2), (7, 14, 161, 2), (14, 2, 45, 1),
    ]),
    "NGCUT11": ((30, 30), 1688, [
        (14, 7, 254, 2), (17, 11, 371, 3), (8, 5, 78, 2), (21, 2, 81, 3), (21, 8, 293, 1),
        (3, 23, 118, 3), (29, 5, 244, 1),
    ]),
    # The number of each is limited here: without limits OF1 is 2758, another problem.
    "OF1": ((70, 40), 2737, [
        (55, 9, 495, 1), (23, 21, 483, 3), (31, 15, 465, 1), (29, 14, 406, 4), (9, 39, 351, 4),
        (9, 36, 324, 2), (16, 19, 304, 3), (11, 16, 176, 2), (29, 5, 145, 1), (22, 4, 88, 2),
    ]),
    "CHL5": ((20, 20), 390, [
        (7, 14, 98, 2), (11, 8, 88, 2), (17, 5, 85, 1), (20, 4, 80, 2), (11, 6, 66, 2),
        (7, 9, 63, 1), (12, 3, 36, 3), (14, 2, 28, 1), (1, 7, 7, 3), (1, 5, 5, 1),
    ]),
    "hccut03": ((30, 30), 1178, [
        (12, 21, 450, 1), (17, 21, 570, 1), (6, 6, 49, 1), (9, 15, 166, 1), (5, 12, 69, 1),
        (16, 6, 92, 1), (5, 4, 17, 1),
    ]),
}  # fmt: skip


def the_most(name: str, **changed: object) -> CutPlan:
    (width, height), _, items = ONE_SHEET[name]
    pieces = tuple(
        CutPiece(f"p{at}", w, h, number, turn=bool(changed.get("turn")), value=value)
        for at, (w, h, value, number) in enumerate(items)
    )
    request = Request(pieces, (Blank("sheet", width, height, trimmed=False),))
    *_, last = most_plans(request, rule=NOTHING_KEPT, effort=20_000)
    return last


@pytest.mark.parametrize("name", ONE_SHEET)
def test_the_most_from_one_sheet_is_the_published_optimum_and_proven(name: str) -> None:
    plan = the_most(name)
    assert plan.value == ONE_SHEET[name][1]
    assert (plan.bound, plan.stopped) == (plan.value, "proven")


@pytest.mark.parametrize("name", ["NGCUT1", "NGCUT5", "OF1"])
def test_pieces_that_may_turn_are_worth_no_less(name: str) -> None:
    assert the_most(name, turn=True).value >= ONE_SHEET[name][1]


# Equal sheets, pieces not turned: Berkey and Wang (1987), Journal of the Operational Research
# Society 38(5), and Martello and Vigo (1998), Management Science 44(3), as kept in an open
# collection. No plan takes fewer sheets than the bound by dual feasible functions (Fekete and
# Schepers 2004, Mathematical Methods of Operations Research 60(2)); its figures here were
# computed apart from this project's code.
EQUAL_SHEETS: dict[str, tuple[int, int, list[tuple[int, int, int]]]] = {
    "CLASS01_020_01": (10, 8, [
        (5, 9, 1), (4, 2, 1), (10, 6, 1), (5, 7, 1), (6, 3, 1), (10, 7, 1), (1, 5, 1), (3, 5, 1),
        (6, 9, 1), (2, 4, 1), (6, 7, 1), (7, 2, 1), (8, 3, 3), (4, 10, 1), (4, 5, 1), (10, 3, 1),
        (7, 8, 1), (8, 7, 1),
    ]),
    "CLASS09_020_01": (100, 19, [
        (56, 75, 1), (97, 77, 1), (62, 73, 1), (98, 84, 1), (71, 50, 1), (76, 93, 1), (83, 55, 2),
        (97, 88, 1), (67, 71, 1), (64, 99, 1), (80, 89, 1), (85, 87, 1), (70, 60, 1), (57, 53, 1),
        (89, 85, 1), (84, 98, 1), (85, 61, 1), (62, 70, 1), (10, 42, 1),
    ]),
}  # fmt: skip


@pytest.mark.parametrize("name", EQUAL_SHEETS)
def test_equal_sheets_are_as_few_as_the_bound_allows(name: str) -> None:
    side, bound, items = EQUAL_SHEETS[name]
    pieces = tuple(CutPiece(f"p{at}", w, h, n, turn=False) for at, (w, h, n) in enumerate(items))
    request = Request(pieces, (Blank("sheet", side, side, None, trimmed=False),))
    plan = best_plan(request, rule=NOTHING_KEPT, effort=400)
    assert plan.complete
    assert len(plan.blanks) == bound


def test_sheets_of_several_sizes_hold_pieces_with_little_waste() -> None:
    # M1a of Hopper and Turton (2002), Studia Informatica 2(1), as kept in an open collection:
    # 2520 of pieces' area on sheets of six sizes; no plan can take less than the pieces' own area.
    stock = [
        (20, 20, 2), (10, 30, 3), (10, 10, 3), (20, 30, 2), (10, 20, 3), (10, 40, 3),
    ]  # fmt: skip
    items = [
        (1, 6, 2), (2, 8, 3), (6, 5, 2), (4, 9, 1), (8, 7, 4), (7, 5, 4), (3, 1, 1), (1, 4, 2),
        (2, 2, 3), (9, 5, 1), (2, 1, 1), (5, 6, 2), (6, 6, 1), (2, 6, 2), (5, 4, 3), (8, 8, 3),
        (5, 3, 3), (9, 9, 3), (5, 2, 3), (8, 2, 2), (6, 4, 3), (3, 3, 2), (4, 1, 3), (7, 1, 2),
        (6, 7, 2), (5, 9, 4), (7, 6, 2), (2, 3, 1), (4, 8, 1), (7, 4, 2), (5, 1, 3), (2, 9, 2),
        (7, 3, 2), (9, 7, 1), (8, 6, 2), (8, 5, 1), (2, 5, 2), (3, 6, 1), (7, 7, 2), (2, 4, 1),
        (8, 3, 1), (9, 3, 1), (2, 7, 2), (8, 4, 1), (6, 1, 1), (6, 2, 2), (1, 7, 1), (3, 9, 1),
        (3, 4, 1), (3, 2, 1), (1, 1, 1), (4, 2, 1), (4, 3, 1),
    ]  # fmt: skip
    pieces = tuple(CutPiece(f"p{at}", w, h, n) for at, (w, h, n) in enumerate(items))
    blanks = tuple(Blank(f"b{at}", w, h, n, trimmed=False) for at, (w, h, n) in enumerate(stock))
    plan = best_plan(Request(pieces, blanks), rule=NOTHING_KEPT, effort=600)
    area = sum(w * h * n for w, h, n in items)
    assert area == 2520
    assert plan.complete
    assert area <= plan.cost <= 1.04 * area


# Bars of one length, as few as possible: lengths of t60_00 (each bar takes three pieces, without
# any waste), its best number proven by construction. Falkenauer (1996), A hybrid grouping genetic
# algorithm for bin packing, Journal of Heuristics 2(1) 5-30; read in a public copy of the file
# binpack5 of the OR-Library, lengths scaled by 10.
T60_00 = (
    495, 474, 473, 472, 466, 450, 445, 444, 439, 430, 419, 414, 410, 395, 372, 370, 366, 366, 366,
    363, 361, 357, 355, 351, 350, 350, 347, 320, 315, 307, 303, 299, 298, 298, 292, 288, 287, 283,
    275, 275, 274, 273, 273, 272, 272, 271, 269, 269, 268, 263, 262, 261, 259, 258, 255, 254, 252,
    252, 252, 251,
)  # fmt: skip


def test_sixty_bars_of_triplets_take_the_published_twenty() -> None:
    pieces = tuple(
        CutPiece(f"{length} mm", length * 10, 100, T60_00.count(length), turn=False)
        for length in dict.fromkeys(T60_00)
    )
    request = Request(pieces, (Blank("bar", 10_000, 100, None, 1),))
    assert is_bars(request)
    found = best_plan(request, rule=NOTHING_KEPT, effort=400)
    assert (found.complete, found.cost, found.stopped) == (True, 20, "proven")
