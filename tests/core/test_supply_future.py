"""The coming months run on common chances; the last buy of what is no longer made."""

from dataclasses import replace
from math import inf

import pytest

from stockroom.core.supply.engine import Attempts, Workshop
from stockroom.core.supply.future import Change, compare, future_course
from stockroom.core.supply.last_buy import last_buys
from stockroom.core.supply.state import Held, Losses, OnOrder, State, Ware, Work

DAY = 739_000
SHEET = Ware(
    "sheet", capacity=1.0, cost=100.0, order_cost=50.0, lead_days=(9.0, 10.0, 12.0, 11.0)
)  # fmt: skip
PAPER = Ware(
    "paper", 30.0, 600.0, 90.0, lead_days=(28.0, 33.0), life_days=(300.0, 340.0), contiguous=True
)


def job(code: str, known: int, pieces: int = 2) -> Work:
    return Work(
        code, DAY + known + 30, DAY + known + 14, pieces, 0, 1.5, {"paper": 1.2}, {"sheet": 0.5},
        DAY + known,
    )  # fmt: skip


STATE = State(
    DAY,
    (SHEET, PAPER),
    stock=(Held("sheet", 12.0), Held("paper", 25.0, DAY + 200.0), Held("paper", 20.0, DAY + 90.0)),
    on_order=(OnOrder("sheet", 6, DAY - 4, DAY + 8),),
    work=(
        Work("open", DAY + 20, DAY + 6, 3, 0, 1.5, {"paper": 1.2}, {}, DAY - 10),
        Work("open", DAY + 20, DAY + 8, 0, 3, 1.5, {}, {"sheet": 0.5}, DAY - 10),
    ),
    losses=Losses(60.0, 6, 40, 4),
    history=tuple(job(f"h{n}", -7 * n - 3) for n in range(50)),
    history_days=353.0,
)


def test_the_same_seed_is_the_same_course_and_another_is_not() -> None:
    one, same, other = (
        future_course(STATE, Change(), days=60, seed=[7, n]) for n in (0, 0, 1)
    )  # fmt: skip
    assert one == same
    assert one != other


def test_day_nought_is_today_and_what_is_known_stands_as_it_is() -> None:
    course = future_course(STATE, Change(), days=60, seed=[7, 0])
    (known,) = [one for one in course.jobs if one.code == "open"]
    assert (known.start, known.due, known.to_print) == (6, 20, 3)
    assert (known.per_print, known.per_mount) == ({"paper": 1.2}, {"sheet": 0.5})
    assert [held.off_on for held in course.stock] == [inf, 200.0, 90.0]
    ((arrives, order),) = course.coming
    assert 1 <= arrives <= 20
    assert (order.units, order.placed) == (6, -4)
    assert all(one.start < 0 for one in course.jobs if one.code.startswith("h"))


def test_a_change_leaves_all_other_chances_as_they_are() -> None:
    now = future_course(STATE, Change(), days=60, seed=[7, 3])
    longer = future_course(STATE, Change(lead=2.0), days=60, seed=[7, 3])
    assert (longer.jobs, longer.attempts, longer.life_days) == (
        now.jobs, now.attempts, now.life_days
    )  # fmt: skip
    ratio = sum(longer.lead_days["paper"]) / sum(now.lead_days["paper"])
    assert ratio == pytest.approx(2.0, abs=0.05)
    more = future_course(STATE, Change(volume=2.0), days=60, seed=[7, 3])
    fresh = {one.code for one in now.jobs if one.code.startswith("new")}
    assert fresh < {one.code for one in more.jobs}
    assert more.lead_days == now.lead_days
    worse = future_course(STATE, Change(losses=2.0), days=60, seed=[7, 3])
    for code, tries in now.attempts.items():
        for good, bad in zip(tries.prints, worse.attempts[code].prints, strict=True):
            assert bad & ~good == 0, "more losses turn no lost try into a good one"


def test_as_much_work_comes_as_came() -> None:
    """Fifty jobs in 353 days: in 40 courses of 135 days 19.1 each, within three errors."""
    count = [
        sum(one.code.startswith("new") for one in course.jobs)
        for course in (future_course(STATE, Change(), days=60, seed=[1, n]) for n in range(40))
    ]
    mean = sum(count) / len(count)
    assert mean == pytest.approx(50 / 353 * 135, abs=3 * (19.1 + 19.1**2 / 40) ** 0.5 / 40**0.5)


def test_nothing_changed_differs_in_nothing() -> None:
    found = compare(STATE, Change(), days=40, courses=2)
    assert found.now == found.changed
    assert found.more() == (0.0, 0.0)


def test_a_lost_supplier_makes_work_late_and_a_short_life_spoils() -> None:
    lost = compare(STATE, Change(lost=frozenset({"sheet", "paper"})), days=160, courses=3)
    assert lost.late_share(changed=True) > lost.late_share(changed=False) + 0.05
    short = compare(STATE, Change(life=0.4), days=90, courses=3)
    assert short.mean("expired", changed=True) > short.mean("expired", changed=False)
    one = compare(STATE, Change(life=0.4, lives_of=frozenset({"sheet"})), days=90, courses=2)
    assert one.now == one.changed, "sheets keep"


def test_a_last_buy_reaches_its_chance_with_the_fewest_units() -> None:
    found = last_buys(STATE, SHEET, days=365)
    for buy in found.buys:
        assert buy.enough >= buy.level - 0.002
    assert [buy.units for buy in found.buys] == sorted(buy.units for buy in found.buys)
    assert found.good_days == 365
    assert found.covered == pytest.approx(found.wanted), "sheets keep"
    best = found.buys[1]
    fewer = last_buys(STATE, replace(SHEET, multiple=1), days=365, levels=(best.level,)).buys[0]
    assert fewer.units == best.units
    assert best.lacking < found.buys[0].lacking
    assert best.unused > found.buys[0].unused


def test_what_goes_off_first_serves_no_later_year() -> None:
    """Lives of about 320 days: of three years' wants only the first year falls within."""
    found = last_buys(STATE, PAPER, days=3 * 365)
    assert 300 < found.good_days < 400
    assert found.covered < 0.45 * found.wanted
    frozen = last_buys(STATE, PAPER, days=3 * 365, life_factor=10.0)
    assert frozen.good_days == 3 * 365
    assert frozen.covered == pytest.approx(frozen.wanted)
    assert frozen.buys[2].units > 2 * found.buys[2].units


def test_what_is_printed_is_not_printed_again() -> None:
    """Ten pieces, nine printed and waiting for their mount: one print, ten mounts at first."""
    paper = Work("open", DAY + 20, DAY + 6, 1, 9, 1.5, {"paper": 1.2}, {}, DAY - 10)
    sheet = Work("open", DAY + 20, DAY + 8, 0, 5, 1.5, {}, {"sheet": 0.5}, DAY - 10)
    state = replace(STATE, work=(paper, sheet))
    course = future_course(state, Change(), days=60, seed=[7, 0])
    (known,) = [one for one in course.jobs if one.code == "open"]
    assert (known.to_print, known.to_mount) == (1, 9)
    assert known.per_mount == {"sheet": 0.25}, "half of the pieces have their sheet"
    assert len(course.attempts["open"].prints) == 10
    sure = replace(
        course,
        jobs=(known,),
        attempts={"open": Attempts(((1 << 40) - 1,) * 10, ((1 << 40) - 1,) * 10)},
        coming=(),
    )
    shop = Workshop(sure)
    shop.run(until=30)
    used = {code: sum(a for _, c, a, _ in shop.uses if c == code) for code in ("paper", "sheet")}
    assert used == {"paper": pytest.approx(1.2), "sheet": pytest.approx(2.5)}


def test_an_open_job_counts_once_in_what_is_learned() -> None:
    """The open job stands in the history too, as it does on the store."""
    told = Work("open", DAY + 20, DAY + 6, 3, 0, 1.5, {"paper": 1.2}, {"sheet": 0.5}, DAY - 10)
    state = replace(STATE, history=(*STATE.history, told))
    course = future_course(state, Change(), days=60, seed=[7, 0])
    assert sum(one.code == "open" for one in course.jobs) == 1
    assert sum(one.known < 0 for one in course.jobs) == len(state.history)


def test_lives_of_no_ware_change_none() -> None:
    nobody = Change(life=0.4, lives_of=frozenset())
    assert nobody.life_of("paper") == 1.0
    assert Change(life=0.4).life_of("paper") == 0.4
