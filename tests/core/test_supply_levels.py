"""What is there day by day: falls by known work, rises by what comes, loses what goes off."""

import numpy as np
import pytest

from stockroom.core.supply.levels import levels_of
from stockroom.core.supply.outlook import lost_of_lots, outlook, short_of
from stockroom.core.supply.state import Held, OnOrder, State, Ware, Work

DAY = 739_000
SHEET = Ware("sheet", capacity=1.0, cost=100.0, order_cost=50.0, lead_days=(10.0, 10.0, 10.0))


def work(code: str, start: int, pieces: int, each: float = 1.0, due: int = 90) -> Work:
    return Work(code, DAY + due, DAY + start, 0, pieces, 1.0, {}, {"sheet": each}, DAY)


def test_known_work_takes_what_it_takes_on_its_day() -> None:
    """Ten sheets, four pieces on day 5: ten until then, then six less what repeats take."""
    state = State(DAY, (SHEET,), stock=(Held("sheet", 10.0),), work=(work("a", 5, 4),))
    levels = levels_of(state, SHEET, 20)
    assert [level.mean for level in levels[:5]] == [10.0] * 5
    assert levels[5].high == 6.0
    assert 5.0 < levels[12].mean < 6.0, "one mount in ten is lost, after a round of repeats"
    assert levels[12].lacking == pytest.approx(0.0, abs=0.02)


def test_what_goes_off_unused_is_gone_and_lacks_later() -> None:
    """Ten sheets that are off on day 8; two are used before: eight go off, work then lacks."""
    state = State(
        DAY, (SHEET,), stock=(Held("sheet", 10.0, DAY + 8.0),),
        work=(work("a", 5, 2), work("b", 12, 1)),
    )  # fmt: skip
    levels = levels_of(state, SHEET, 15)
    assert levels[7].mean > 7.0
    assert levels[8].mean == levels[8].high == 0.0
    assert (levels[11].lacking, levels[12].lacking) == (levels[8].lacking, 1.0)


def test_what_is_on_its_way_comes_about_its_day() -> None:
    state = State(
        DAY, (SHEET,), on_order=(OnOrder("sheet", 6, DAY - 3, DAY + 9),), work=(work("a", 30, 1),)
    )
    levels = levels_of(state, SHEET, 29)
    assert levels[2].comes < 0.6
    assert levels[28].comes > 5.9
    half = next(level.day - DAY for level in levels if level.comes > 3.0)
    assert 6 <= half <= 12


def test_a_level_is_never_below_nothing_and_its_range_holds_its_mean() -> None:
    state = State(
        DAY,
        (SHEET,),
        stock=(Held("sheet", 3.0),),
        work=tuple(work(f"j{n}", n, 1) for n in range(9)),
    )
    for level in levels_of(state, SHEET, 14):
        assert 0.0 <= level.low <= level.mean + 1e-9
        assert level.mean <= level.high + 1e-9


def test_the_chance_that_work_found_nothing_is_that_of_the_plan() -> None:
    state = State(
        DAY,
        (SHEET,),
        stock=(Held("sheet", 5.0),),
        work=tuple(work(f"j{n}", n, 1) for n in range(5)),
    )
    short = short_of(outlook(state, SHEET, seed=0, ahead=14.0))
    share = len(np.unique(short.scenario)) / 400
    assert levels_of(state, SHEET, 14)[-1].lacking == pytest.approx(share)
    assert 0.2 < share < 0.7


def test_a_delivery_that_goes_off_soon_leaves_what_keeps_alone() -> None:
    """Thirty that keep, twenty wanted on day 40; three come that are good for ten days."""
    ware = Ware("sheet", 1.0, 100.0, 50.0, lead_days=(8.0, 9.0), life_days=(10.0, 10.0))
    mine = (work("a", 40, 20),)
    kept = State(DAY, (ware,), stock=(Held("sheet", 30.0),), work=mine)
    more = State(
        DAY, (ware,), stock=(Held("sheet", 30.0),), work=mine, on_order=(OnOrder("sheet", 3, DAY),)
    )
    for state in (kept, more):
        assert levels_of(state, ware, 60)[-1].lacking < 0.08
    found = outlook(more, ware, seed=0, ahead=60.0)
    lost = lost_of_lots(found)
    assert (lost <= found.supply.amount[:, None] + 1e-9).all()
    assert lost[0].max() == 0.0, "what keeps does not go off"
    days = [levels_of(more, ware, ahead)[37].middle for ahead in (39, 60)]
    assert days[0] == days[1] == 30.0


def test_work_that_waits_for_a_delivery_finds_nothing_on_its_day() -> None:
    state = State(
        DAY, (SHEET,), on_order=(OnOrder("sheet", 6, DAY - 3, DAY + 20),), work=(work("a", 5, 3),)
    )
    levels = levels_of(state, SHEET, 40)
    assert (levels[4].lacking, levels[5].lacking) == (0.0, 1.0)


def test_work_waits_too_where_nobody_named_a_day() -> None:
    state = State(
        DAY, (SHEET,), on_order=(OnOrder("sheet", 6, DAY - 1),), work=(work("a", 2, 3),)
    )  # fmt: skip
    levels = levels_of(state, SHEET, 12)
    assert levels[1].lacking == 0.0
    assert levels[2].lacking > 0.9
