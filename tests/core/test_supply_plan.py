"""When to order and how much: what is lacking, which sizes are legal, the same bits again."""

from dataclasses import replace
from math import inf

import numpy as np
import pytest
from scipy.stats import nbinom

from stockroom.core.supply.learn import Lead, coming_of, lead_of, lives_of
from stockroom.core.supply.lines import order_lines
from stockroom.core.supply.outlook import arrival_of, failures, outlook, short_of
from stockroom.core.supply.plan import best_quantity, order_plan, quantities
from stockroom.core.supply.state import Buy, Held, Losses, OnOrder, PriceBreak, State, Ware, Work

SHEET = Ware("sheet", 1.0, 30.0, 40.0, minimum=4, multiple=4, lead_days=(10.0,) * 40)
SURE = Losses(printed_m2=1e7, mounts_good=10_000_000)
"""Nothing is ever lost: needs are what the jobs' first tries take."""


def work(code: str, start: int, sheets: int, due: int | None = None) -> Work:
    ends = start + 4 if due is None else due
    return Work(code, ends, start, 0, sheets, 1.0, {}, {"sheet": 1.0})


def state(**changes: object) -> State:
    return replace(State(100, (SHEET,), losses=SURE), **changes)


def test_nothing_is_ordered_where_all_is_there() -> None:
    assert order_plan(state(stock=(Held("sheet", 8.0),), work=(work("a", 110, 8),))) == []


def test_one_too_few_is_ordered_once_it_could_not_wait_for_the_next_look() -> None:
    lacking = state(stock=(Held("sheet", 8.0),), work=(work("a", 110, 9),))
    assert order_plan(lacking) == [Buy("sheet", 4)]
    assert order_plan(replace(lacking, day=60)) == [], "fifty days ahead there is time"


def test_the_order_covers_what_is_known_to_be_lacking() -> None:
    assert order_plan(state(work=(work("a", 108, 9),))) == [Buy("sheet", 12)]


def test_what_is_on_its_way_in_time_is_not_ordered_again() -> None:
    found = state(work=(work("a", 112, 4),), on_order=(OnOrder("sheet", 4, 98),))
    assert order_plan(found) == []
    assert order_plan(replace(found, on_order=())) == [Buy("sheet", 4)]


def test_stock_that_goes_off_before_the_work_does_not_count() -> None:
    there = state(stock=(Held("sheet", 4.0, 109),), work=(work("a", 110, 4),))
    assert order_plan(there) == [Buy("sheet", 4)]
    assert order_plan(replace(there, stock=(Held("sheet", 4.0, 111),))) == []


def test_warmth_to_come_shortens_the_stock_that_is_there() -> None:
    warm = replace(SHEET, warm_loss=0.5)
    there = state(stock=(Held("sheet", 4.0, 111),), work=(work("a", 110, 4),))
    assert order_plan(replace(there, wares=(warm,))) == [Buy("sheet", 4)]


def test_a_supplier_that_closes_is_ordered_from_before() -> None:
    early = state(work=(work("a", 120, 4),))
    assert order_plan(early) == []
    closing = replace(SHEET, closed=((102, 130),))
    assert order_plan(replace(early, wares=(closing,))) == [Buy("sheet", 4)]
    shut = replace(SHEET, closed=((95, 130),))
    assert order_plan(replace(early, wares=(shut,))) == [], "closed today, nothing can be ordered"


def test_first_off_first_used_and_what_is_wasted_covers_nothing_later() -> None:
    rolls = (Held("sheet", 10.0, 120), Held("sheet", 10.0, 108))
    daily = tuple(work(f"j{day}", 100 + day, 1) for day in range(20))
    found = outlook(state(stock=rolls, work=daily), SHEET, seed=1, scenarios=3, ahead=20.0)
    short = short_of(found)
    assert np.bincount(short.scenario, short.amount).tolist() == [2.0, 2.0, 2.0]
    assert set(short.day) == {18.0, 19.0}


def test_a_known_job_is_late_once_though_its_repeats_lack_too() -> None:
    poor = Losses(printed_m2=10.0, mounts_good=500, mounts_lost=500)
    jobs = (work("a", 105, 6), work("b", 106, 6))
    found = outlook(state(losses=poor, work=jobs), SHEET, seed=1, scenarios=50, ahead=30.0)
    short = short_of(found)
    assert len(short.day) > 150, "first tries and repeats"
    assert np.bincount(short.scenario, short.delays).tolist() == [2.0] * 50


def test_the_same_state_and_seed_give_the_same_bits() -> None:
    history = tuple(replace(work(f"h{day}", day, 1 + day % 5), known=day - 9) for day in range(90))
    found = state(history=history, history_days=100.0, stock=(Held("sheet", 10.0),))
    one = outlook(found, SHEET, seed=3)
    other = outlook(found, SHEET, seed=3)
    assert one.needs.amount.tobytes() == other.needs.amount.tobytes()
    assert one.arrival.tobytes() == other.arrival.tobytes()
    more = outlook(replace(found, wares=(SHEET, replace(SHEET, code="other"))), SHEET, seed=3)
    assert one.needs.day.tobytes() == more.needs.day.tobytes(), "others do not disturb it"
    assert one.arrival.tobytes() != outlook(found, SHEET, seed=4).arrival.tobytes()


def test_work_that_is_not_known_yet_comes_at_the_rate_of_the_history() -> None:
    history = tuple(replace(work(f"h{day}", day, 2), known=day - 9) for day in range(0, 100, 2))
    found = state(history=history, history_days=100.0)
    seen = outlook(found, SHEET, seed=3, scenarios=2_000, ahead=59.0)
    mean = seen.needs.amount.sum() / 2_000
    assert mean == pytest.approx(50.0 / 92 * 2 * 50, rel=0.12), (
        "half a job a day, known nine before"
    )
    assert seen.per_day == pytest.approx(1.0, rel=0.12)


def test_work_of_long_ago_counts_less() -> None:
    old = tuple(replace(work(f"o{day}", day, 2), known=day) for day in range(20))
    late = tuple(replace(work(f"n{day}", day, 2), known=day) for day in range(980, 1000))
    past = state(day=1000, history_days=1000.0, history=old)
    fresh = replace(past, history=late)
    dying, alive = coming_of(past, "sheet"), coming_of(fresh, "sheet")
    assert dying is not None
    assert alive is not None
    assert dying.shape / dying.days < 0.3 * alive.shape / alive.days


def test_a_price_break_is_taken_where_it_pays() -> None:
    history = tuple(replace(work(f"h{day}", day, 1), known=day) for day in range(100))
    cheap = replace(SHEET, price_breaks=(PriceBreak(120, 24.0),))
    found = state(history=history, history_days=100.0)
    dear = best_quantity(found, outlook(found, SHEET, seed=0), 0.0, 0.0)
    broken = best_quantity(found, outlook(found, cheap, seed=0), 0.0, 0.0)
    assert dear.units == 68, "the square root of 2 x 365 x 40 / 6.6, in fours"
    assert broken.units == 120


def test_much_that_goes_off_makes_an_order_small() -> None:
    history = tuple(replace(work(f"h{day}", day, 1), known=day) for day in range(100))
    found = state(history=history, history_days=100.0)
    keeps = best_quantity(found, outlook(found, SHEET, seed=0), 0.0, 0.0)
    soon = replace(SHEET, life_days=(10.0, 12.0))
    goes = best_quantity(found, outlook(found, soon, seed=0), 0.0, 0.0)
    assert goes.units < keeps.units
    assert goes.wasted > 0
    assert all(size.wasted == 0 for size in quantities(found, outlook(found, SHEET, seed=0), 0.0))


def test_what_is_known_to_lack_is_ordered_though_no_history_tells_of_use() -> None:
    found = best_quantity(state(), outlook(state(), SHEET, seed=0), 101.0, 0.0)
    assert found.units == 104


def test_a_lead_time_is_learned_and_an_open_order_only_takes_longer() -> None:
    lead = lead_of([30, 40, 50])
    assert lead.mean == 40
    assert 0.2 < lead.spread < 0.35
    draws = Lead(20.0, 0.3, 5).draws(np.linspace(0.001, 0.999, 50), waited=25.0)
    assert draws.min() >= 25.0
    assert lead_of([]).count == 0
    assert lead_of([0, 0]).quantile(0.9) < 1


def test_lives_that_are_thought_likely_lie_about_those_seen() -> None:
    assert lives_of(SHEET) is None
    one = lives_of(replace(SHEET, life_days=(100.0,)))
    assert one is not None
    assert (one.min(), one.max()) == (80.0, 100.0)
    many = lives_of(replace(SHEET, life_days=(100.0, 200.0, 300.0)))
    assert many is not None
    assert many.min() < 100 < 200 < many.max() <= 350


def test_an_order_is_legal() -> None:
    assert [SHEET.legal(units) for units in (0, 4, 5, 9)] == [4, 4, 8, 12]
    assert replace(SHEET, minimum=6).legal(1) == 8
    assert SHEET.price(100) == 30.0
    assert replace(SHEET, price_breaks=(PriceBreak(8, 20.0),)).price(8) == 20.0
    assert Held("sheet", 1.0).off_on == inf


@pytest.mark.parametrize(
    ("number", "chance"), [(1, 0.9), (12, 0.85), (3, 0.4), (150, 0.92), (200, 0.98), (5, 0.01)]
)
def test_failures_before_so_many_successes_are_negative_binomial(
    number: int, chance: float
) -> None:
    """Against scipy's: Kolmogorov's distance of 40,000 draws, below its 99.9 % bound."""
    draws = 40_000
    rng = np.random.default_rng(4)
    found = failures(np.full(draws, number), np.full(draws, chance), rng)
    upto = np.arange(found.max() + 1)
    seen = np.cumsum(np.bincount(found)) / draws
    distance = np.abs(seen - nbinom.cdf(upto, number, chance)).max()
    assert distance < 1.95 / draws**0.5


def test_a_good_piece_needs_a_print_and_a_mount_that_succeed() -> None:
    """Prints per piece through both chances at once, or one after the other: the same law."""
    draws = 60_000
    rng = np.random.default_rng(6)
    pieces, mount, prints = np.full(draws, 4), np.full(draws, 0.9), np.full(draws, 0.8)
    once = pieces + failures(pieces, mount * prints, rng)
    mounts = pieces + failures(pieces, mount, rng)
    twice = mounts + failures(mounts, prints, rng)
    assert once.mean() == pytest.approx(twice.mean(), rel=0.01)
    assert once.var() == pytest.approx(twice.var(), rel=0.05)
    assert once.mean() == pytest.approx(4 / 0.72, rel=0.01)


def series_of(*stock: Held, one_lot: bool = True, pieces: int = 4) -> State:
    """A series of four prints of 2 m, ten days ahead, and rolls that together hold it."""
    paper = Ware("paper", 30.0, 600.0, 90.0, lead_days=(6.0,) * 40, contiguous=True)
    job = Work("s", 125, 110, pieces, 0, 1.0, {"paper": 2.0}, {}, 100, one_lot)
    return State(100, (paper,), stock=stock, work=(job,), losses=SURE)


def test_a_series_that_no_lot_holds_alone_waits_for_a_new_one() -> None:
    """Two rolls of 7 m (a metre of each is its end): together enough, of two emulsions not."""
    two = (Held("paper", 7.0, lot="a"), Held("paper", 7.0, lot="b"))
    short = short_of(outlook(series_of(*two), series_of().wares[0], seed=0, ahead=30.0))
    assert len(np.unique(short.scenario)) == 400
    assert np.bincount(short.scenario, short.amount) == pytest.approx(8.0)
    for held, one_lot in (
        (two, False),
        ((Held("paper", 7.0, lot="a"), Held("paper", 7.0, lot="a")), True),
        ((Held("paper", 9.1, lot="a"), Held("paper", 1.0, lot="b")), True),
    ):
        one = series_of(*held, one_lot=one_lot)
        assert len(short_of(outlook(one, one.wares[0], seed=0, ahead=30.0)).day) == 0


def test_rolls_of_unknown_lots_are_not_taken_for_one() -> None:
    one = series_of(Held("paper", 7.0), Held("paper", 7.0))
    assert len(short_of(outlook(one, one.wares[0], seed=0, ahead=30.0)).day) > 0
    single = series_of(Held("paper", 7.0), Held("paper", 7.0), pieces=1)
    assert len(short_of(outlook(single, single.wares[0], seed=0, ahead=30.0)).day) == 0


def test_a_series_apart_is_said_and_ordered_in_time() -> None:
    (line,) = order_lines(series_of(Held("paper", 7.0, lot="a"), Held("paper", 7.0, lot="b")))
    assert "series apart" in line.notes
    assert line.order_by is not None
    (whole,) = order_lines(series_of(Held("paper", 14.0, lot="a")))
    assert (whole.order_by, whole.notes) == (None, ("use unknown",))


def test_an_order_past_its_day_is_still_to_come_and_the_later_the_less_sure() -> None:
    """Forty days late: nothing of it today, and as likely after a month as before."""
    levels = np.linspace(0.005, 0.995, 100)
    lead = Lead(12.0, 0.3, 5)
    late = arrival_of(OnOrder("sheet", 6, 100, 110), 150, lead, levels)
    assert late.min() >= 1.0
    assert np.median(late) == pytest.approx(40 * np.log(2), rel=0.05)
    soon = arrival_of(OnOrder("sheet", 6, 100, 110), 112, lead, levels)
    assert np.median(soon) < 4
    unnamed = arrival_of(OnOrder("sheet", 6, 100), 150, lead, levels)
    assert np.median(unnamed) == pytest.approx(26 * np.log(2), rel=0.05)


def test_a_day_that_is_named_is_hardly_early() -> None:
    levels = np.linspace(0.005, 0.995, 100)
    named = arrival_of(OnOrder("sheet", 6, 100, 140), 101, Lead(12.0, 0.3, 5), levels)
    assert named.min() == 39.0
    assert np.median(named) < 40.0
    assert named.max() > 45.0


def on_its_way(day: int, pieces: int = 5, due: int | None = None) -> tuple[State, Ware]:
    """Nothing there, six sheets expected on a day, a job ten days ahead."""
    ware = replace(SHEET, lead_days=(10.0,) * 40)
    job = work("a", 110, pieces, due)
    one = state(wares=(ware,), work=(job,), on_order=(OnOrder("sheet", 6, 95, day),))
    return one, ware


def test_what_comes_too_late_covers_nothing_before_it_comes() -> None:
    """Expected on day 150 for a job on day 110: it finds nothing, though six cover its five."""
    one, ware = on_its_way(150)
    short = short_of(outlook(one, ware, seed=0, ahead=60.0))
    assert len(np.unique(short.scenario)) == 400
    assert (short.ready >= 50.0).all()
    assert short.amount.sum() == 0.0, "nothing more is lacking for good"
    early, _ = on_its_way(105)
    late = short_of(outlook(early, ware, seed=0, ahead=60.0))
    assert len(np.unique(late.scenario)) < 200, "five days early, lateness still spreads"


def test_an_order_that_would_come_sooner_is_placed_though_enough_is_on_its_way() -> None:
    """Due four days after day 110; what is on its way comes on day 150, a new order in ten."""
    one, _ = on_its_way(150)
    assert order_plan(one) == [Buy("sheet", 4)]
    (line,) = order_lines(one)
    assert line.risk_later > 0.9
    never, _ = on_its_way(112, due=200)
    assert order_plan(never) == [], "it can wait for what is on its way"


def test_a_job_that_lacks_for_good_is_late_for_that_and_not_for_what_is_only_late() -> None:
    """Six come on day 112, the job wants nine: it waits for three more, not for the six."""
    one, ware = on_its_way(112, pieces=9, due=200)
    short = short_of(outlook(one, ware, seed=0, ahead=60.0))
    for scenario in range(5):
        mine = short.scenario == scenario
        (stands,) = np.flatnonzero(mine & short.delays)
        assert short.ready[stands] == inf
