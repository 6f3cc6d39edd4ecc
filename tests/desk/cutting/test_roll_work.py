"""Prints of several jobs share a roll; what is held, off, promised or too narrow is left out."""

from datetime import date

import pytest
from support.studio import code_of
from support.workshop import Workshop

from stockroom.core.cutting.strip import length_of
from stockroom.desk.work import attempts, booking
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.condition.checking import judge_strip
from stockroom.desk.cutting.sheets import CutsSaid
from stockroom.desk.stock.defining import change_material
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.cutting.rolls import RollWork, bands_of, plan_rolls, roll_lines, roll_value
from stockroom.errors import RefusedError


def planned(shop: Workshop, *jobs: str, **said: object) -> RollWork:
    (work,) = plan_rolls(shop.desk, CutsSaid(jobs=jobs, effort=80, **said))  # type: ignore[arg-type]
    return work


def small(shop: Workshop, name: str, count: int = 1, **more: object) -> str:
    return shop.book(name, **{"count": count, "width_dmm": 6_000, "height_dmm": 4_000, **more})


def used(work: RollWork) -> list[str]:
    return [plan.roll.code for plan in work.plans or ()]


def test_two_small_jobs_share_a_band_and_the_saving_is_told(shop: Workshop) -> None:
    work = planned(shop, small(shop, "One"), small(shop, "Two"))
    assert work.plans is not None
    (band,) = bands_of(work.plans[0])
    assert (band.from_dmm, band.to_dmm, len(band.parts)) == (0, 4_000, 2)
    assert (work.length_dmm, work.apart_dmm) == (4_500, 9_000)
    assert "0.45 m saved." in next(roll_lines(work))


def test_prints_that_no_cut_across_parts_are_told_with_their_places(shop: Workshop) -> None:
    """A tall print beside two low ones, 1.06 m; across the roll they cannot be cut apart first."""
    tall = shop.book("Tall", count=1, width_dmm=5_000, height_dmm=10_600)
    low = shop.book("Low", count=2, width_dmm=6_500, height_dmm=5_000)
    work = planned(shop, tall, low)
    assert work.plans is not None
    (band,) = bands_of(work.plans[0])
    assert (band.from_dmm, band.to_dmm, len(band.parts)) == (0, 10_600, 3)
    (line,) = [line for line in roll_lines(work) if line.startswith("    ")]
    places = [(lain.part.code, lain.x_dmm, lain.y_dmm) for lain in band.parts]
    assert (low, 5_500, 5_500) in places or (low, 0, 5_500) in places
    across = max(x for code, x, _ in places if code == low)
    assert f"Low 650 x 500 mm from 0.55 m, {across / 10_000:g} m in from the edge" in line


def test_prints_laid_as_a_whole_are_told_band_after_band(shop: Workshop) -> None:
    """Bands follow each other by one gap, and each print lies inside its own."""
    jobs = [
        shop.book(f"J{n}", count=2, width_dmm=3_000 + 700 * n, height_dmm=5_000 + 900 * n)
        for n in range(4)
    ]
    work = planned(shop, *jobs)
    assert work.plans is not None
    end = -500
    for band in bands_of(work.plans[0]):
        assert band.from_dmm >= end + 500
        assert min(lain.y_dmm for lain in band.parts) == 0
        assert (
            max(lain.y_dmm + lain.part.height_dmm for lain in band.parts)
            == band.to_dmm - band.from_dmm
        )
        end = band.to_dmm
    assert end == length_of(work.plans[0].plan)


def test_only_prints_that_are_still_wanted_are_laid(shop: Workshop) -> None:
    job = small(shop, "One", 3)
    attempts.record(shop.desk, job, good=True, stage="print")
    assert planned(shop, job).prints == 2


def test_the_shorter_roll_is_finished_first(shop: Workshop) -> None:
    counting.count(shop.desk, shop.studio.second_roll, 20_000)
    assert used(planned(shop, small(shop, "One"))) == [shop.studio.second_roll]


def test_a_job_comes_from_one_roll(shop: Workshop) -> None:
    """Two rolls of 5 m take two prints of 2 m each, not one job of four on both."""
    for code in (shop.studio.roll, shop.studio.second_roll):
        counting.count(shop.desk, code, 55_000)
    four = shop.book("Four", count=4, width_dmm=12_000, height_dmm=20_000)
    assert planned(shop, four).plans is None
    assert "no way was found to lay 4 prints" in next(roll_lines(planned(shop, four)))
    two = [shop.book(n, count=2, width_dmm=12_000, height_dmm=20_000) for n in ("A", "B")]
    assert sorted(used(planned(shop, *two))) == sorted([shop.studio.roll, shop.studio.second_roll])


def test_what_may_not_be_used_is_told_with_why(shop: Workshop) -> None:
    desk, s = shop.desk, shop.studio
    narrow = code_of(
        receiving.receive(
            desk,
            Delivery(material=s.paper, place="Cold store", width_dmm=6_100, length_dmm=100_000),
        ),
        "unit",
    )
    theirs = code_of(
        receiving.receive(desk, Delivery(material=s.paper, place="Cold store", owner="customer")),
        "unit",
    )
    handling.hold(desk, s.roll, "dented")
    work = planned(shop, small(shop, "One"), without=(s.second_roll,))
    assert {unit.code: why for unit, why in work.passed_over} == {
        narrow: "it is 610 mm wide",
        theirs: "it belongs to a customer",
        s.roll: "on hold: dented",
        s.second_roll: "left out, as you said",
    }
    assert work.plans is None


def test_a_roll_that_is_off_on_the_day_of_the_print_is_not_used(shop: Workshop) -> None:
    late = small(shop, "Late", print_on=date(2040, 3, 1), due_on=date(2040, 4, 1))
    assert {why for _, why in planned(shop, late).passed_over} == {"past its day then"}
    soon = small(shop, "Soon")
    assert planned(shop, soon).passed_over == ()


def test_what_is_put_by_for_other_work_is_taken_off(shop: Workshop) -> None:
    other = shop.book("Other", count=1)
    before = planned(shop, small(shop, "One"))
    booking.put_by(shop.desk, shop.studio.roll, other, 100_000)
    after = planned(shop, "One")
    rooms = [
        {plan.roll.code: plan.roll.length_dmm for plan in work.plans or ()}
        for work in (before, after)
    ]
    assert shop.studio.roll in rooms[0] or shop.studio.second_roll in rooms[0]
    assert rooms[1][shop.studio.roll] == 500_000 - 100_000 - (
        500_000 - rooms[0].get(shop.studio.roll, rooms[0].get(shop.studio.second_roll, 0))
    )


def test_a_print_from_a_lab_takes_no_paper_of_ours(shop: Workshop) -> None:
    lab = small(shop, "Lab", printed_by="outside lab")
    assert plan_rolls(shop.desk, CutsSaid(jobs=(lab,))) == []


def test_prints_as_data_lie_apart_on_each_roll(shop: Workshop) -> None:
    found = roll_value(planned(shop, small(shop, "One", 3), small(shop, "Two", 2)))
    count = 0
    for roll in found["rolls"]:
        boxes = [
            (p["x_mm"], p["y_mm"], p["x_mm"] + p["width_mm"], p["y_mm"] + p["height_mm"])
            for band in roll["bands"]
            for p in band["prints"]
        ]
        count += len(boxes)
        for at, (x, y, right, top) in enumerate(boxes):
            assert right <= 1_260
            for x2, y2, right2, top2 in boxes[at + 1 :]:
                assert right <= x2 or right2 <= x or top <= y2 or top2 <= y
    assert count == 5


def test_a_print_longer_than_the_printer_prints_is_not_laid_and_said(shop: Workshop) -> None:
    long = shop.book("Long", count=1, width_dmm=10_500, height_dmm=13_000)
    across = shop.book("Across", count=1, width_dmm=4_000, height_dmm=10_000)
    change_material(shop.desk, shop.studio.paper, longest_print_dmm=9_000)
    work = planned(shop, long, across)
    assert [job.code for job in work.jobs] == [across]
    assert "  Not laid: Long, 1050 x 1300 mm: longer than the printer prints." in list(
        roll_lines(work)
    )
    assert work.plans is not None
    ((lain,),) = [band.parts for band in bands_of(work.plans[0])]
    assert (lain.part.width_dmm, lain.part.height_dmm) == (10_000, 4_000)
    assert roll_value(work)["not_laid"][0]["job"] == long
    (none,) = plan_rolls(shop.desk, CutsSaid(jobs=(long,), effort=80))
    assert none.plans is None
    assert "nothing of this can be laid" in next(roll_lines(none))


def test_a_cancelled_job_is_not_laid_though_it_is_named(shop: Workshop) -> None:
    gone = small(shop, "Gone")
    booking.close_job(shop.desk, gone, "cancelled")
    with pytest.raises(RefusedError, match="Gone is cancelled"):
        planned(shop, gone)


def test_a_roll_that_wants_a_strip_is_used_only_where_no_other_will_do(shop: Workshop) -> None:
    desk, s = shop.desk, shop.studio
    counting.count(desk, s.second_roll, 20_000)
    judge_strip(desk, s.second_roll, "unsure")
    assert used(planned(shop, small(shop, "One"))) == [s.roll]
    work = planned(shop, "One", without=(s.roll,))
    assert used(work) == [s.second_roll]
    told = list(roll_lines(work))
    assert any(line.startswith("    Run a strip first. ") for line in told)
    assert roll_value(work)["rolls"][0]["strip_first"]


def test_a_roll_with_a_yellow_strip_is_not_used_and_it_is_said(shop: Workshop) -> None:
    desk, s = shop.desk, shop.studio
    judge_strip(desk, s.second_roll, "yellow")
    work = planned(shop, small(shop, "One"))
    assert used(work) == [s.roll]
    assert [unit.code for unit, _ in work.passed_over] == [s.second_roll]
