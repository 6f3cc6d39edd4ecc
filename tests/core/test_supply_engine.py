"""A workshop lived day by day: stock in order of age, rolls that are whole, late beyond endless."""

from functools import partial
from math import inf

import pytest
from support.hindsight import clairvoyant, lower_bound
from support.shop_rules import netting, textbook, thumb
from support.studio_year import Family, a_course

from stockroom.core.supply.engine import Attempts, Course, Workshop, endless_finish, lived
from stockroom.core.supply.plan import Knobs, order_plan
from stockroom.core.supply.state import Buy, Held, State, Ware, Work

PAPER = Ware("paper", 10.0, 100.0, 50.0, minimum=2, remnant=0.9, contiguous=True)
SHEET = Ware("sheet", 1.0, 30.0, 40.0, minimum=4, multiple=4)


def job(code: str, start: int, pieces: int, paper_m: float, due: int | None = None) -> Work:
    ends = start + 5 if due is None else due
    return Work(code, ends, start, pieces, 0, 1.0, {"paper": paper_m}, {"sheet": 1.0}, known=0)


def course(
    jobs: list[Work],
    stock: list[Held],
    *,
    good: int = 0b1111,
    lead: int = 6,
    days: int = 40,
    warm: dict[int, float] | None = None,
) -> Course:
    return Course(
        wares=(PAPER, SHEET),
        days=days,
        counted_from=0,
        counted_to=days,
        jobs=tuple(jobs),
        attempts={
            one.code: Attempts((good,) * one.to_print, (0b1111,) * one.to_print) for one in jobs
        },
        lead_days={"paper": (lead,) * days, "sheet": (lead,) * days},
        life_days={"paper": (30.0,) * days},
        warm=warm or {},
        ages_warm=frozenset({"paper"}),
        stock=tuple(stock),
    )


def nothing(state: State) -> list[Buy]:
    return []


def test_what_goes_off_first_is_used_first_and_the_rest_goes_off() -> None:
    stock = [Held("paper", 10.0, 30), Held("paper", 10.0, 12), Held("sheet", 4.0)]
    made = course([job("a", 3, 2, 2.0)], stock)
    bill, shop = lived(made, nothing, endless_finish(made))
    assert bill.wares["paper"].expired == pytest.approx((6.0 + 10.0) * 10.0)
    assert [use[:3] for use in shop.uses] == [
        (3, "paper", 2.0), (3, "paper", 2.0), (4, "sheet", 1.0), (4, "sheet", 1.0),
    ]  # fmt: skip
    assert shop.finished == {"a": 4}
    young = Workshop(made)
    young.run(until=13)
    assert young.bill.wares["paper"].expired == pytest.approx(6.0 * 10.0)


def test_a_print_comes_from_one_roll_and_a_short_end_is_thrown_away() -> None:
    made = course([job("a", 1, 1, 5.5)], [Held("paper", 5.0, inf), Held("paper", 6.0, inf)])
    bill, shop = lived(made, nothing, endless_finish(made))
    assert [unit.left for unit in shop.stock["paper"]] == [5.0]
    assert bill.wares["paper"].scrapped == pytest.approx(0.5 * 10.0)


def test_warmth_takes_life_and_expiry_comes_so_much_sooner() -> None:
    stock = [Held("paper", 10.0, 20)]
    cold, warm = course([], stock), course([], stock, warm={5: 8.0})
    for made, day in ((cold, 20), (warm, 12)):
        shop = Workshop(made)
        shop.run(until=day)
        assert shop.stock["paper"]
        shop.run(until=day + 1)
        assert not shop.stock["paper"]


def test_an_order_comes_after_its_lead_with_what_it_costs() -> None:
    made = course([], [])

    def policy(state: State) -> list[Buy]:
        return [Buy("sheet", 5)] if state.day == 3 else []

    shop = Workshop(made)
    shop.run(policy, until=9)
    assert not shop.stock["sheet"]
    shop.run(policy, until=10)
    assert [unit.left for unit in shop.stock["sheet"]] == [8.0], "five are not sold, eight are"
    assert shop.bill.wares["sheet"].ordering == 40.0
    assert shop.leads["sheet"] == [6.0]


def test_a_job_is_late_only_beyond_what_endless_material_would_have_made_it() -> None:
    stock = [Held("paper", 10.0, inf), Held("sheet", 4.0)]
    losing = course([job("a", 1, 1, 1.0, due=2)], stock, good=0b100)
    bill, shop = lived(losing, nothing, endless_finish(losing))
    assert shop.finished["a"] > 2
    assert (bill.late_jobs, bill.late) == (0, 0.0)
    dry = course([job("a", 1, 1, 1.0, due=2)], stock[:1])
    bill, _ = lived(dry, nothing, endless_finish(dry))
    assert (bill.jobs, bill.late_jobs) == (1, 1)
    assert bill.late == 250 + 60 * (40 - 2), "never finished counts as finished at the end"


def test_a_copy_lives_on_apart() -> None:
    made = course([job("a", 5, 1, 2.0)], [Held("paper", 10.0, inf), Held("sheet", 4.0)])
    shop = Workshop(made)
    shop.run(until=5)
    other = shop.copy()
    other.run()
    assert other.finished == {"a": 6}
    assert not shop.finished
    assert shop.stock["paper"][0].left == 10.0


@pytest.mark.parametrize(
    "family",
    [
        Family(),
        *(
            pytest.param(one, marks=pytest.mark.slow)
            for one in (Family(life=0.7), Family(minimum=2))
        ),
    ],
)
def test_no_way_of_ordering_is_under_the_bound_and_hindsight_is_under_all(family: Family) -> None:
    made = a_course(11, family)
    endless = endless_finish(made)
    bound = lower_bound(made, endless)
    hindsight = lived(made, clairvoyant(made), endless)[0]
    assert 0 < bound <= hindsight.total
    quick = partial(order_plan, knobs=Knobs(scenarios=20))
    for policy in (netting, textbook, thumb, quick):
        assert lived(made, policy, endless)[0].total > hindsight.total, policy


def test_the_studio_year_costs_what_the_protocol_lets_it() -> None:
    """A short form of the bench: two courses, so the limit is a wide one."""
    plain, planned, known = 0.0, 0.0, 0.0
    late = jobs = 0
    for seed in (1000, 1001):
        made = a_course(seed)
        endless = endless_finish(made)
        bill = lived(made, partial(order_plan, knobs=Knobs(scenarios=60)), endless)[0]
        planned += bill.total
        late, jobs = late + bill.late_jobs, jobs + bill.jobs
        plain += lived(made, netting, endless)[0].total
        known += lived(made, clairvoyant(made), endless)[0].total
    assert planned < 1.95 * known
    assert planned < plain
    assert late <= 0.02 * jobs


def test_a_change_of_lives_leaves_all_other_chances_as_they_are() -> None:
    one, other = a_course(3), a_course(3, Family(life=0.7))
    assert one.jobs == other.jobs
    assert one.attempts == other.attempts
    assert one.lead_days == other.lead_days
    assert other.life_days["film 130"][9] == pytest.approx(0.7 * one.life_days["film 130"][9])
