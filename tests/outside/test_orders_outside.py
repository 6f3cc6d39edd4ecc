"""Orders against textbooks: reorder points, order quantities, losses, orders over time, issuing."""

from dataclasses import replace
from math import ceil

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar
from scipy.stats import norm, poisson
from support.counts import shortfall
from support.hindsight import lower_bound
from support.shop_rules import economic_quantity

from stockroom.core.losses import Tries
from stockroom.core.supply.engine import Attempts, Course, endless_finish, lived
from stockroom.core.supply.learn import Coming, Lead
from stockroom.core.supply.levels import lost_of_lots
from stockroom.core.supply.lines import reorder_point
from stockroom.core.supply.outlook import Outlook, outlook
from stockroom.core.supply.plan import best_quantity, quantities, unused
from stockroom.core.supply.state import Buy, Held, Losses, PriceBreak, State, Ware, Work
from stockroom.core.yields import MountYield, PrintYield

YEAR = 365.0


def steady(ware: Ware, a_year: float) -> Outlook:
    """Use of so much a year, without spread."""
    found = outlook(State(0, (ware,)), ware, seed=0, scenarios=1)
    return replace(found, per_day=a_year / YEAR, variance_per_day=0.0)


def test_the_economic_quantity() -> None:
    # EOQ-1: Snyder and Shen, Fundamentals of Supply Chain Theory, 2nd ed. 2019, example 3.1 (read
    # in a secondary source: the documentation of the library stockpyl), recomputed.
    assert economic_quantity(1300, 8, 0.225) == pytest.approx(304.0467800264368, rel=1e-12)
    # EOQ-5: Hopp and Spearman, Factory Physics, chapter 2 (slides; secondary), recomputed.
    assert economic_quantity(1000, 500, 35) == pytest.approx(169.03, abs=0.05)


def test_the_cost_of_a_quantity_is_the_textbooks() -> None:
    # EOQ-1 again: its cost a year, 68.41052550594829, by our enumeration of sizes; in whole units
    # the best is 304.
    ware = Ware("a", 1.0, 1.0, 8.0)
    state = State(0, (ware,), holding_rate=0.225)
    best = min(quantities(state, steady(ware, 1300), 0.0), key=lambda size: size.rate)
    assert best.units == 304
    assert best.rate * YEAR == pytest.approx(68.41052550594829, rel=1e-6)


def test_price_breaks_on_all_units() -> None:
    # EOQ-2: all-units discount, the form of Snyder and Shen's example 3.5 (documentation of the
    # library stockpyl; secondary), recomputed by enumeration: 500 units, 472 900 a year with the
    # goods; ours counts them above their cheapest price, 450 000.
    breaks = (PriceBreak(200, 475.0), PriceBreak(500, 450.0))
    ware = Ware("a", 1.0, 500.0, 200.0, price_breaks=breaks)
    state = State(0, (ware,), holding_rate=0.20)
    found = best_quantity(state, steady(ware, 1000), 0.0, 0.0)
    assert found.units == 500
    assert found.rate * YEAR + 450.0 * 1000 == pytest.approx(472_900, rel=1e-9)


@pytest.mark.parametrize(
    ("per_day", "spread", "lead", "lead_spread", "factor", "point", "within"),
    [
        # ROP-1: Russell and Taylor, Operations Management (on-line chapter; secondary), recomputed.
        (30, 5, 10, 0, 1.65, 326.09, 0.01),
        # ROP-2: Heizer and Render, chapter 12, lead time varies (secondary), recomputed; weeks.
        (60, 0, 6, 2, 1.28, 513.6, 0.1),
        # ROP-3: the same chapter, both vary (the book's 1 040 from memory), recomputed.
        (150, 16, 5, 1, 1.88, 1039.9, 0.1),
    ],
)
def test_the_reorder_point(
    per_day: float, spread: float, lead: float, lead_spread: float, factor: float, point: float,
    within: float,
) -> None:  # fmt: skip
    found = reorder_point(
        per_day, spread**2, Lead(lead, lead_spread / lead, 9), safety_factor=factor
    )
    assert found == pytest.approx(point, abs=within)


def test_what_is_left_of_an_amount_is_the_normal_loss_function() -> None:
    # LF-1: standard normal loss at 1.3 is 0.04552797 (documentation of the library stockpyl;
    # secondary). What is left of x is x less the mean and the loss: 1.3 + 0.04552797.
    ware = Ware("a", 1.0, 1.0, 1.0)
    found = replace(steady(ware, 0.0), per_day=100.0, variance_per_day=1.0)
    left = unused(np.array([101.3]), np.array([1.0]), found)
    assert left[0] == pytest.approx(1.3 + 0.04552797, abs=1e-7)


def one_ware(
    ware: Ware, uses: list[tuple[int, float]], stock: tuple[Held, ...], days: int
) -> Course:
    jobs = tuple(
        Work(f"j{day:02}", day, day, 1, 0, 1.0, {ware.code: amount}, {}, known=day)
        for day, amount in uses
    )
    return Course(
        wares=(ware,),
        days=days,
        counted_from=0,
        counted_to=days,
        jobs=jobs,
        attempts={job.code: Attempts((1,), (1,)) for job in jobs},
        lead_days={ware.code: (0,) * days},
        life_days={},
        warm={},
        ages_warm=frozenset(),
        stock=stock,
        holding_rate=YEAR * 0.02,
        late_fixed=1e9,
    )


def test_orders_over_time_that_know_all_of_it() -> None:
    # WW-1: Wagner and Whitin's problem, Snyder and Shen's example 3.9 (documentation of the
    # library stockpyl; secondary), recomputed: order cost 500, holding 2 a period, demands 90,
    # 120, 80, 70; the least cost is 1380. Our bound without waiting is that programme.
    ware = Ware("a", 1.0, 100.0, 500.0)
    made = one_ware(ware, [(0, 90.0), (1, 120.0), (2, 80.0), (3, 70.0)], (), 4)
    endless = {job.code: job.due for job in made.jobs}
    assert lower_bound(made, endless) == pytest.approx(1380.0)


def test_first_off_first_out_wastes_three_of_the_textbook_lots() -> None:
    # FE-1: our own example (recomputed): a lot of 10 on day 0, off on day 20, and one of 10 on day
    # 1, off on day 8; one used a day for 20 days. First off first out wastes 3 and lacks 3 (oldest
    # delivery first wastes 10 and lacks 10).
    ware = Ware("a", 1.0, 1.0, 0.0)
    uses = [(day, 1.0) for day in range(20)]
    made = one_ware(ware, uses, (Held("a", 10.0, 20),), 21)
    made = replace(made, lead_days={"a": (1,) * 21}, life_days={"a": (7.0,) * 21})

    def once(state: State) -> list[Buy]:
        return [Buy("a", 10)] if state.day == 0 else []

    bill, shop = lived(made, once, endless_finish(made))
    assert bill.wares["a"].expired == 3.0
    assert 20 - len(shop.uses) == 3


def test_compound_use_has_the_mean_and_variance_of_the_textbook() -> None:
    # Compound Poisson: mean = rate E[X], variance = rate E[X^2] (any textbook on probability;
    # from memory), here with jobs that take 2 or 4 and nothing lost.
    zeros = np.zeros(2)
    coming = Coming(
        5.0,
        10.0,
        zeros,
        zeros,
        np.array([2, 4]),
        zeros,
        zeros,
        np.ones(2),
        np.array([0.5, 0.5]),
        np.ones(2, bool),
    )
    mean, variance = coming.use(PrintYield(), MountYield(1e12, 1e-3))
    assert (mean, variance) == (pytest.approx(0.5 * 3), pytest.approx(0.5 * 10))


def normal(mean: float, spread: float) -> Outlook:
    """Use of one span, normal."""
    found = steady(Ware("a", 1.0, 1.0, 1.0), 0.0)
    return replace(found, per_day=mean, variance_per_day=spread**2)


def left(found: Outlook, amount: np.ndarray | float) -> np.ndarray:
    """What is left of amounts after the span, on average, by our loss function."""
    return unused(np.atleast_1d(np.asarray(amount, float)), np.array([1.0]), found)


def missed(found: Outlook, amount: np.ndarray | float) -> np.ndarray:
    """By how much amounts fall short of the use of the span, on average."""
    return left(found, amount) - (np.atleast_1d(np.asarray(amount, float)) - found.per_day)


LEAD_USE = normal(1300 / 12, 150 / 12**0.5)
"""Snyder and Shen's example 5.1: 1300 a year, spread 150, a month's lead time."""


def policy_cost(point: float, quantity: float) -> float:
    """Cost a year of ordering so many at a point: order cost 8, holding 0.225, backorders 7.5."""
    level = np.linspace(point, point + quantity, 20_001)
    rate = 0.225 * left(LEAD_USE, level) + 7.5 * missed(LEAD_USE, level)
    return (8 * 1300 + float(np.trapezoid(rate, level))) / quantity


def test_the_cost_of_a_reorder_point_and_quantity_by_our_loss_function() -> None:
    # RQ-1: Snyder and Shen's example 5.1 (documentation of the library stockpyl; secondary).
    assert policy_cost(126.8, 328.5) == pytest.approx(78.07116250928294, rel=1e-6)
    # RQ-2: their example 5.2: the best point for 300 is 129.4272799263067.
    found = minimize_scalar(lambda point: policy_cost(point, 300), bounds=(100, 160),
                            method="bounded", options={"xatol": 1e-7})  # fmt: skip
    assert found.x == pytest.approx(129.4272799263067, rel=1e-5)


def test_the_reorder_point_with_the_safety_of_two_costs() -> None:
    # RQ-4: Snyder and Shen's example 5.5 (as above): economic quantity and safety stock.
    factor = float(norm.ppf(7.5 / 7.725))
    lead = Lead(1.0, 0.0, 9)
    found = reorder_point(1300 / 12, 150**2 / 12, lead, safety_factor=factor)
    assert found == pytest.approx(190.3369966, rel=1e-8)
    # QR-2: Nahmias, Production and Operations Analysis, example 5.5 (answer from memory,
    # recomputed): N(100, 25), 98 % of cycles without a stock-out.
    found = reorder_point(100, 25**2, lead, safety_factor=float(norm.ppf(0.98)))
    assert found == pytest.approx(151.34, abs=0.5)


def test_points_and_quantities_that_rest_on_the_loss_function() -> None:
    use = normal(100, 25)
    # QR-3: Nahmias's example 5.6 (answer from memory, recomputed): fill rate 98 % with orders of
    # 100, so two are missed a cycle.
    point = brentq(lambda at: float(missed(use, at)[0]) - 2.0, 100, 200)
    assert point == pytest.approx(125.53, abs=0.5)
    # QR-1: Nahmias's example 5.4 (data from a secondary source, answer from memory, recomputed):
    # order cost 50, holding 2, a stock-out 25, 200 a year; both iterated until they stand.
    quantity = economic_quantity(200, 50, 2)
    for _ in range(50):
        point = float(norm.ppf(1 - quantity * 2 / (25 * 200), 100, 25))
        quantity = economic_quantity(200, 50 + 25 * float(missed(use, point)[0]), 2)
    assert (quantity, point) == (pytest.approx(110.77, abs=0.5), pytest.approx(142.57, abs=0.5))


def test_one_buy_for_a_span_by_its_two_costs() -> None:
    # NV-1: Snyder and Shen's example 4.3 (documentation of stockpyl; secondary): N(50, 8), 0.18
    # for what is left, 0.70 for what is missed.
    use = normal(50, 8)

    def cost(amount: float) -> float:
        return float(0.18 * left(use, amount)[0] + 0.70 * missed(use, amount)[0])

    found = minimize_scalar(cost, bounds=(30, 80), method="bounded", options={"xatol": 1e-9})
    assert found.x == pytest.approx(56.60395593, rel=1e-5)
    assert found.fun == pytest.approx(1.99760519, rel=1e-7)


@pytest.mark.parametrize(
    ("mean", "over", "under", "best", "cost"),
    [
        (50, 0.18, 0.70, 56, 1.79723521),  # NV-2: documentation of stockpyl (secondary)
        (6, 1.0, 4.0, 8, 3.57010695),  # NV-3: Snyder and Shen's example 4.7 (secondary), recomputed
    ],
)
def test_one_buy_where_whole_units_are_asked_for(
    mean: float, over: float, under: float, best: int, cost: float
) -> None:
    use = Tries(poisson.pmf(np.arange(200), mean), mean)
    level = under / (under + over)
    assert use.quantile(level) == best
    short = shortfall(use, best)
    assert over * (best - mean + short) + under * short == pytest.approx(cost, rel=1e-7)


def test_a_base_stock_serves_its_share() -> None:
    # BSH-1 and BSH-2: Hopp and Spearman, Factory Physics, 2.4.2 (a published notebook; secondary,
    # recomputed): Poisson(10) in the lead time; 14 serve 91.65 %; with costs 15 and 25, 11.
    use = Tries(poisson.pmf(np.arange(100), 10.0), 10.0)
    assert use.cdf(14) == pytest.approx(0.916541527, rel=1e-8)
    assert use.quantile(25 / 40) == 11


def test_what_goes_off_before_the_next_delivery_is_not_counted_on() -> None:
    # EW-1: our own example of the EWA rule of Broekmeulen and van Donselaar 2009 (the rule from
    # memory; recomputed): 4 with one day left and 6 that keep, 2 a day for four days: 2 go off.
    # With 3 of safety and batches of 2 that makes two batches where one would do without it.
    ware = Ware("a", 1.0, 1.0, 1.0, lead_days=(4.0,))
    work = tuple(
        Work(f"j{day}", day + 9, day, 0, 2, 1.0, {}, {"a": 1.0}, known=0) for day in range(4)
    )
    state = State(
        0, (ware,), stock=(Held("a", 4.0, 1.0), Held("a", 6.0)), work=work,
        losses=Losses(1e9, 0, 10**9, 0),
    )  # fmt: skip
    found = outlook(state, ware, seed=0, scenarios=50, ahead=4.0)
    off = lost_of_lots(found) * (found.supply.off_on <= 4.0)
    assert off.sum(axis=0) == pytest.approx(2.0)
    needed, safety, batch = 8.0, 3.0, 2
    for gone, batches in ((float(off.sum(axis=0).mean()), 2), (0.0, 1)):
        assert ceil((safety + needed - (10.0 - gone)) / batch) == batches
