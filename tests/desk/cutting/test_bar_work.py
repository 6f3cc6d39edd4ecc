"""Frames are cut from lengths by plan: sides that are still wanted, begun lengths first."""

from datetime import date

import pytest
from support.workshop import Workshop

from stockroom.core.model import Lot, Unit
from stockroom.desk.work import attempts, booking
from stockroom.desk.stock import counting, handling
from stockroom.desk.cutting.bars import BarWork, bar_lines, bar_value, plan_bars
from stockroom.desk.cutting.sheets import CutsSaid
from stockroom.desk.stock.defining import change_material
from stockroom.desk.lookup import everything
from stockroom.errors import UnknownCodeError

TODAY = date(2026, 3, 2)


def planned(shop: Workshop, *jobs: str, **said: object) -> BarWork:
    (work,) = plan_bars(shop.desk, CutsSaid(jobs=jobs, effort=60, **said))  # type: ignore[arg-type]
    return work


def lengths(shop: Workshop) -> list[str]:
    with shop.desk.reading() as view:
        lots = {lot.code for lot in view.having(Lot, "material", shop.profile)}
        return sorted(unit.code for unit in everything(view, Unit) if unit.lot in lots)


def cut(work: BarWork) -> dict[str, list[int]]:
    return {
        one.blank.code: [lain.part.width_dmm for lain in one.parts(40) if lain.part.what == "piece"]
        for one in work.bars
    }


def test_a_frame_wants_two_of_each_side(shop: Workshop) -> None:
    work = planned(shop, shop.book(count=2))
    assert {(side.length_dmm, side.count) for side in work.sides} == {(12_000, 4), (8_000, 4)}
    assert work.plan is not None
    assert work.plan.complete
    assert work.to_buy == 0


def test_a_square_frame_wants_four_of_one(shop: Workshop) -> None:
    work = planned(shop, shop.book(count=1, width_dmm=8_000, height_dmm=8_000))
    assert [(side.length_dmm, side.count) for side in work.sides] == [(8_000, 4)]


def test_a_framed_piece_wants_no_more(shop: Workshop) -> None:
    job = shop.book(count=2)
    for stage in ("print", "mount", "back", "frame"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    assert {side.count for side in planned(shop, job).sides} == {2}


def test_a_begun_length_that_serves_is_cut_first(shop: Workshop) -> None:
    codes = lengths(shop)
    counting.count(shop.desk, codes[2], 41_000)
    work = planned(shop, shop.book(count=1))
    assert sorted(cut(work)[codes[2]]) == [8_000, 8_000, 12_000, 12_000]


def test_what_is_held_or_promised_to_others_is_not_cut(shop: Workshop) -> None:
    codes = lengths(shop)
    handling.hold(shop.desk, codes[0], "bent")
    other = shop.book("Other", count=1)
    booking.put_by(shop.desk, codes[1], other, 50_000)
    work = planned(shop, shop.book(count=4), without=(codes[2],))
    assert set(work.places) == {codes[1], codes[3]}
    assert {one.blank.code: one.blank.width_dmm for one in work.bars}[codes[3]] == 60_000
    begun = next((one for one in work.bars if one.blank.code == codes[1]), None)
    assert begun is None or begun.blank.width_dmm == 10_000


def test_what_is_missing_is_to_be_bought_by_a_day(shop: Workshop) -> None:
    change_material(shop.desk, shop.profile, lead_days=5)
    job = shop.book(count=8, print_on=date(2026, 3, 20))
    work = planned(shop, job)
    # 32 sides, 32 m: four lengths of 6 m are there
    assert work.to_buy >= 2
    assert work.order_by == date(2026, 3, 15)
    text = "\n".join(bar_lines(work, TODAY))
    assert f"Order {work.to_buy} lengths first, by Sun 15 Mar 2026, in 13 days." in text
    assert "A new length, 6000 mm: " in text


def test_a_side_longer_than_any_length_is_named(shop: Workshop) -> None:
    job = shop.book(count=1, width_dmm=61_000, height_dmm=8_000, printed_by="outside lab")
    work = planned(shop, job)
    assert "  No length for 2 of 6100 mm, Salt flats." in list(bar_lines(work, TODAY))


def test_a_plan_as_data_adds_up(shop: Workshop) -> None:
    found = bar_value(planned(shop, shop.book(count=2)))
    wanted = sum(side["length_mm"] * side["count"] for side in found["sides"])
    parts = [part for blank in found["plan"]["blanks"] for part in blank["parts"]]
    assert sum(part["width_mm"] for part in parts if part["what"] == "piece") == wanted == 8_000


def test_work_without_frames_has_no_plan_and_an_unknown_job_is_named(shop: Workshop) -> None:
    bare = shop.book("Bare", build=None)
    assert plan_bars(shop.desk, CutsSaid(jobs=(bare,))) == []
    with pytest.raises(UnknownCodeError, match="99999"):
        planned(shop, "99999")
