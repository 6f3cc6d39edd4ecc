"""Cut plans against a general packer, published values and bounds, on sets kept as JSON files.

The sets are not part of this tree; name the folder that holds them:

    STOCKROOM_CUTTING_SETS=FOLDER python -m pytest -m bench tests/bench/bench_cutting.py -s

A set is a JSON file with `instances`; DEVELOPERS.md ("Cutting") says what was measured on which.
The peer is rectpack (extra `bench`), the best of its guillotine runs: 6 ways x 3 rules of choosing
a bin x 3 orders of pieces x offcuts from small or from large x the sheet sizes alone and together.
It turns every piece, also those with grain, which favours it.
"""

import json
import os
import random
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from functools import cache
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from stockroom.core.cutting.plan import CutPlan, best_plan, most_plans, plans
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.strip import Roll, length_of, roll_plans, strip_plan
from stockroom.core.cutting.worth import NOTHING_KEPT, BarRule, LeftoverRule, Worth

pytestmark = pytest.mark.bench

FOLDER = os.environ.get("STOCKROOM_CUTTING_SETS", "")
MM = 10
MM2 = MM * MM


def say(line: str) -> None:
    sys.stdout.write(f"\n{line}\n")


@cache
def instances(name: str) -> list[dict[str, Any]]:
    if not FOLDER:
        pytest.fail(
            "The sets to measure on are not there: STOCKROOM_CUTTING_SETS names no folder. "
            "The head of this file says what belongs in it."
        )
    found = json.loads((Path(FOLDER) / f"{name}.json").read_text(encoding="utf-8"))
    return list(found["instances"])


def clock(seconds: float) -> Callable[[], float]:
    begun = time.perf_counter()
    return lambda: (time.perf_counter() - begun) / seconds


def from_stock(one: dict[str, Any]) -> Request:
    """A studio's day: offcuts and sheets, kerf and trim; costs are enlarged usable areas."""
    kerf, trim = one["kerf"], one["trim"]
    return Request(
        tuple(
            CutPiece(f"p{at}", w * MM, h * MM, n, turn=bool(turn))
            for at, (w, h, n, turn) in enumerate(one["pieces"])
        ),
        tuple(
            Blank(
                f"b{at}", w * MM, h * MM, n,
                (w - 2 * trim * full + kerf) * (h - 2 * trim * full + kerf) * MM2, bool(full),
            )
            for at, (w, h, n, full) in enumerate(one["stock"])
        ),
        Saw(kerf * MM, trim * MM),
    )  # fmt: skip


def from_bins(one: dict[str, Any], *, turn: bool) -> Request:
    """Bins of abstract sizes, without kerf or trim."""
    return Request(
        tuple(
            CutPiece(f"p{at}", w * MM, h * MM, n, turn) for at, (w, h, n) in enumerate(one["items"])
        ),
        tuple(
            Blank(f"b{at}", w * MM, h * MM, n, cost * MM2, trimmed=False)
            for at, (w, h, n, cost) in enumerate(one["stock"])
        ),
    )


def best_of(request: Request, seconds: float) -> CutPlan:
    for plan in plans(request, rule=NOTHING_KEPT, effort=10**9, spent=clock(seconds)):
        last = plan
    assert last.complete
    assert last.cost >= last.bound
    return last


def peer(request: Request, *, turn: bool = True) -> float | None:
    """The least cost of all runs of the general packer that place every piece."""
    best = min((cost for cost, _ in packed(request, turn=turn)), default=None)
    return best


def packed(request: Request, *, turn: bool = True) -> Iterator[tuple[float, Any]]:
    """Cost and packer of all runs of the general packer that place every piece."""
    import rectpack
    from rectpack import guillotine

    kerf = request.saw.kerf_dmm
    wanted = [
        (p.width_dmm + kerf, p.height_dmm + kerf) for p in request.pieces for _ in range(p.count)
    ]
    ways = [
        getattr(guillotine, f"Guillotine{fit}{split}")
        for fit in ("Bssf", "Baf")
        for split in ("Sas", "Slas", "Maxas")
    ]
    bins = (rectpack.PackingBin.BBF, rectpack.PackingBin.BFF, rectpack.PackingBin.BNF)
    orders = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE)
    few = [b for b in request.blanks if b.count is not None]
    many = [b for b in request.blanks if b.count is None]
    sheets = [[b] for b in many] + ([many] if len(many) > 1 else [])
    for way, rule, order, up, full in product(
        ways, bins, orders, (1, -1), sheets or [[]]
    ):  # fmt: skip
        stock: list[tuple[int, int, float, int]] = []
        for blank in [*sorted(few, key=lambda b: up * b.area_dmm2), *full]:
            w, h = request.saw.usable(blank)
            number = len(wanted) if blank.count is None else blank.count
            stock.append((w + kerf, h + kerf, blank.price, number))
        packer = rectpack.newPacker(rectpack.PackingMode.Offline, rule, way, order, rotation=turn)
        for at, (w, h, _, number) in enumerate(stock):
            packer.add_bin(w, h, count=number, bid=at)
        for w, h in wanted:
            packer.add_rect(w, h)
        packer.pack()
        if sum(len(one) for one in packer) == len(wanted):
            yield sum(stock[one.bid][2] for one in packer if len(one)), (packer, stock)


def told(name: str, values: Iterable[float]) -> float:
    found = list(values)
    mean = sum(found) / len(found)
    say(f"{name}: mean {mean:.4f}, worst {max(found):.4f}, of {len(found)}")
    return mean


@pytest.mark.parametrize("seconds", [10])
def test_the_most_from_one_sheet(seconds: float) -> None:
    hits, gaps, hard = [], [], []
    for one in instances("g2kp_classic"):
        request = Request(
            tuple(
                CutPiece(f"p{at}", w, h, n, turn=False, value=value)
                for at, (w, h, value, n) in enumerate(one["items"])
            ),
            (Blank("sheet", *one["sheet"], trimmed=False),),
        )
        for plan in most_plans(
            request, rule=NOTHING_KEPT, effort=10**9, spent=clock(seconds)
        ):  # fmt: skip
            last = plan
        assert last.value <= one["upper"] <= last.bound or last.value <= last.bound
        gap = 1 - last.value / one["best"]
        if one["family"].startswith("APT"):
            hard.append(gap)
        else:
            gaps.append(gap)
            hits.append(last.value >= one["best"])
    say(f"one sheet: {sum(hits)} of {len(hits)} at the published value")
    told("its gap", gaps)
    told("APT, gap", hard)


@pytest.mark.parametrize("seconds", [10, 30])
def test_waste_free_mixes_of_a_studio(seconds: float) -> None:
    told(
        f"studio_perfect, {seconds} s, over the optimum",
        (
            best_of(from_stock(one), seconds).cost / MM2 / one["optimum"] - 1
            for one in instances("studio_perfect")
        ),
    )


@pytest.mark.parametrize("name", ["studio_random", "studio_perfect"])
def test_a_studio_against_the_packer(name: str) -> None:
    ratios = []
    for one in instances(name):
        request = from_stock(one)
        theirs = peer(request)
        assert theirs is not None
        ratios.append(best_of(request, 10).cost / theirs)
    told(f"{name}, 10 s, stock area against the packer", ratios)
    assert max(ratios) <= 1


def test_bins_of_several_sizes() -> None:
    told(
        "vsbpp_m, 10 s, over the pieces' area",
        (
            best_of(from_bins(one, turn=True), 10).cost / MM2 / one["items_area"] - 1
            for one in instances("vsbpp_m")
        ),
    )


def test_equal_bins() -> None:
    ours = bound = worse = 0
    for one in instances("bpp_class"):
        request = from_bins(one, turn=False)
        used = len(best_of(request, 2).blanks)
        theirs = peer(request, turn=False)
        ours += used
        bound += one["dff_bound_bins_fixed"]
        each = request.blanks[0].price
        worse += theirs is not None and used > round(theirs / each)
    over = ours / bound - 1
    say(f"bpp_class, 2 s: {ours} bins, {over:.4f} over the bound; {worse} worse")
    assert not worse


def test_how_soon_a_plan_is_there() -> None:
    first, early = [], []
    for one in [*instances("studio_random"), *instances("studio_perfect")]:
        request = from_stock(one)
        begun = time.perf_counter()
        next(plans(request, rule=NOTHING_KEPT, effort=1))
        first.append(time.perf_counter() - begun)
        early.append(best_of(request, 1).cost / best_of(request, 30).cost - 1)
    told("first plan, s", first)
    told("plan at 1 s over that at 30 s", early)


SHEETS = ((3050, 2030), (2440, 1220))
KERF_MM, TRIM_MM = 4, 10
SHAPES = (1.0, 1.25, 4 / 3, 1.5, 1.5, 1.85)


def a_year(seed: int) -> list[tuple[CutPiece, ...]]:
    """Twelve periods of work: sizes of all kinds, small ones more often, some that may not turn."""
    rng = random.Random(seed)
    periods = []
    for _ in range(12):
        pieces = []
        for at in range(rng.randint(4, 9)):
            short = 5 * round(rng.triangular(200, 1250, 350) / 5)
            long_side = min(2_400, round(short * rng.choice(SHAPES)))
            turn = rng.random() > 0.15
            pieces.append(CutPiece(f"{at}", short * MM, long_side * MM, rng.randint(1, 4), turn))
        periods.append(tuple(pieces))
    return periods


def new_sheets() -> tuple[Blank, ...]:
    return tuple(Blank(f"{w} x {h}", w * MM, h * MM, None) for w, h in SHEETS)


DEAR = 1_000
"""How much dearer a new sheet is to the packer than an offcut: it buys as little as it can."""


def sheets_bought(year: list[tuple[CutPiece, ...]], seed: int) -> tuple[int, int]:
    """Area bought and area left at the end, by our plans, mm2; only past work is known."""
    rule, shelf, known, bought = LeftoverRule(), [], [], 0
    new = new_sheets()
    for pieces in year:
        known += pieces
        worth = Worth(rule, known, new)
        offcuts = [Blank(f"o{at}", *size, 1, worth.of(*size), trimmed=False)
                   for at, size in enumerate(shelf)]  # fmt: skip
        request = Request(pieces, (*offcuts, *new), Saw(KERF_MM * MM, TRIM_MM * MM))
        plan = best_plan(request, rule=rule, work=known, effort=4_000, seed=seed)
        assert plan.complete
        used = {one.blank.code for one in plan.blanks}
        bought += sum(one.blank.area_dmm2 for one in plan.blanks if one.blank.count is None)
        shelf = [size for at, size in enumerate(shelf) if f"o{at}" not in used]
        shelf += [
            (lain.part.width_dmm, lain.part.height_dmm)
            for one in plan.blanks
            for lain in one.parts(KERF_MM * MM)
            if lain.part.what == "offcut"
        ]
    return bought // MM2, sum(w * h for w, h in shelf) // MM2


def sheets_bought_by_the_packer(year: list[tuple[CutPiece, ...]]) -> tuple[int, int]:
    """The same with the packer: each period the run that buys least, its free sections kept."""
    rule, shelf, bought = LeftoverRule(), [], 0
    kerf = KERF_MM * MM
    new = tuple(replace(sheet, cost=DEAR * sheet.area_dmm2) for sheet in new_sheets())
    for pieces in year:
        offcuts = [Blank(f"o{at}", *size, 1, trimmed=False)
                   for at, size in enumerate(shelf)]  # fmt: skip
        request = Request(pieces, (*offcuts, *new), Saw(kerf, TRIM_MM * MM))
        _, (packer, stock) = min(packed(request), key=lambda run: run[0])
        kept = list(shelf)
        for one in packer:
            if not len(one):
                continue
            w, h, cost, _ = stock[one.bid]
            if cost >= DEAR * min(sheet.area_dmm2 for sheet in new):
                bought += cost // DEAR
            else:
                kept.remove((w - kerf, h - kerf))
            sections = [(s.width - kerf, s.height - kerf) for s in one._sections]
            kept += [size for size in sections if min(size) > 0 and rule.usable(*size)]
        shelf = kept
    return bought // MM2, sum(w * h for w, h in shelf) // MM2


def test_twelve_periods_with_their_offcuts() -> None:
    ratios = []
    for seed in range(5):
        year = a_year(seed)
        ours, left = sheets_bought(year, seed)
        theirs, their_left = sheets_bought_by_the_packer(year)
        say(
            f"rolling {seed}: bought {ours / 1e6:.1f} of {theirs / 1e6:.1f} m2, "
            f"left {left / 1e6:.1f} of {their_left / 1e6:.1f} m2"
        )
        ratios.append(ours / theirs)
    told("rolling, area bought against the packer", ratios)


def test_bars_of_a_studio() -> None:
    ratios = []
    for one in instances("studio_bars"):
        rule = BarRule()
        pieces = tuple(
            CutPiece(f"p{at}", length * MM, MM, n, turn=False)
            for at, (length, n) in enumerate(one["pieces"])
        )
        new = [
            Blank("new", length * MM, MM, None, 6_000_000) for length, n in one["stock"] if not n
        ]
        worth = Worth(rule, pieces, new)
        old = [
            Blank(f"o{at}", length * MM, MM, n, worth.of(length * MM, MM))
            for at, (length, n) in enumerate(one["stock"])
            if n
        ]
        request = Request(pieces, (*old, *new), Saw(one["kerf"] * MM))
        for plan in plans(request, rule=rule, effort=10**9, spent=clock(10)):
            last = plan
        ratios.append(last.net / 1000 / one["peer_bfd"])
    told("studio_bars, 10 s, against best-fit decreasing", ratios)


def test_bars_of_falkenauer() -> None:
    found = []
    for one in instances("bars_falkenauer"):
        pieces = tuple(
            CutPiece(f"p{at}", length * MM, MM, n, turn=False)
            for at, (length, n) in enumerate(one["items"])
        )
        request = Request(pieces, (Blank("bar", one["bar"] * MM, MM, None, 1),))
        found.append(best_of(request, 20).cost <= one["best"])
    say(f"Falkenauer, 20 s: {sum(found)} of {len(found)} at the published number")


def test_strips_made_without_waste() -> None:
    ratios = []
    for one in instances("strip_hopper"):
        pieces = tuple(
            CutPiece(f"p{at}", w * MM, h * MM, n, turn=False)
            for at, (w, h, n) in enumerate(one["items"])
        )
        wide = one["strip_width"] * MM
        plan = strip_plan(pieces, wide, 0, effort=10**9, spent=clock(5))
        ratios.append(length_of(plan) / MM / one["perfect_height"])
    told("strip_hopper, 5 s, over the perfect height", ratios)


def test_series_on_rolls() -> None:
    ratios, seconds = [], []
    for one in instances("studio_rolls"):
        series = [
            [CutPiece(f"{at} {n}", w * MM, h * MM, count) for n, (w, h, count) in enumerate(pieces)]
            for at, pieces in enumerate(one["series"])
        ]
        rolls = [Roll(str(code), length * MM) for code, length in one["rolls"]]
        begun = time.perf_counter()
        found = roll_plans(series, rolls, one["width"] * MM, one["gap"] * MM, effort=1_500)
        seconds.append(time.perf_counter() - begun)
        assert found is not None
        length = sum(length_of(item.plan) for item in found) / MM
        assert length >= one["area_bound"]
        ratios.append(length / one["peer_ffdh_per_series"])
    told("studio_rolls, 1 500 steps, against shelves per series", ratios)
    told("its seconds", seconds)
