"""Bench cards: accepting holds what is cut, one word records the cut, and all of it comes back."""

import json
from io import BytesIO

import pytest
from pypdf import PdfReader
from support.studio import Clock, code_of
from support.workshop import Workshop, new_cards

from stockroom.core.card import Card
from stockroom.core.model import Lot, PutBy, Unit
from stockroom.desk.work import attempts, jobs, booking
from stockroom.desk.stock import counting, handling
from stockroom.desk.cutting import one_cut
from stockroom.desk import keeping
from stockroom.desk.cutting.cards import (
    CardView,
    accept_cuts,
    cards,
    cut_card,
    drop_cards,
    one_card,
    part_sizes,
)
from stockroom.desk.cutting.sheets import CutsSaid, CutWork, plan_cuts
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.work.jobs import JobSaid
from stockroom.desk.lookup import everything, find
from stockroom.desk.papers.printed import day_sheet
from stockroom.errors import BadValueError, RefusedError, UnknownCodeError

EFFORT = 60


def planned(shop: Workshop, *jobs: str, family: str = "sheet") -> CutWork:
    works = plan_cuts(shop.desk, CutsSaid(jobs=jobs, effort=EFFORT))
    return next(work for work in works if work.material.family == family)


def accepted(shop: Workshop, *jobs: str) -> list[CardView]:
    done = accept_cuts(shop.desk, planned(shop, *jobs))
    return [one_card(shop.desk, code) for code in new_cards(done)]


def small_job(shop: Workshop, name: str = "Small", count: int = 1) -> str:
    return shop.book(name, count=count, width_dmm=6_000, height_dmm=4_000)


def offcut(shop: Workshop, wide: int = 13_000, high: int = 9_000) -> str:
    return code_of(one_cut.cut(shop.desk, shop.studio.pack, offcuts=[Part(wide, high)]), "unit")


def puts(shop: Workshop) -> list[tuple[str, str, int]]:
    with shop.desk.reading() as view:
        return sorted((p.unit, p.job, p.qty) for p in everything(view, PutBy) if p.open)


def children(shop: Workshop, parent: str) -> list[Unit]:
    with shop.desk.reading() as view:
        found = [unit for unit in everything(view, Unit) if unit.parent == parent]
    return sorted(found, key=lambda unit: unit.code)


def checked(shop: Workshop) -> None:
    assert keeping.check(shop.desk).faults == ()


def test_accepting_puts_the_whole_blank_by_for_its_jobs(any_shop: Workshop) -> None:
    shop = any_shop
    blank = offcut(shop)
    first, second = small_job(shop, "One"), small_job(shop, "Two", count=2)
    (view,) = accepted(shop, first, second)
    assert view.unit.code == blank
    held = puts(shop)
    assert [(unit, job) for unit, job, _ in held] == sorted([(blank, first), (blank, second)])
    assert sum(qty for *_, qty in held) == 13_000 * 9_000
    by_job = {job: qty for _, job, qty in held}
    assert by_job[second] == pytest.approx(2 * by_job[first], abs=2)
    checked(shop)


def test_what_is_on_a_card_is_not_wanted_again_and_its_blank_not_offered(shop: Workshop) -> None:
    blank = offcut(shop)
    job, other = small_job(shop), small_job(shop, "Other")
    accepted(shop, job)
    assert not [
        work
        for work in plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=EFFORT))
        if work.material.family == "sheet"
    ]
    work = planned(shop, other)
    assert [card.unit.code for card in work.cards if card.unit] == [shop.studio.pack]
    assert (blank, "it is on a bench card already") in [
        (unit.code, why) for unit, why in work.passed_over
    ]


def test_what_was_put_by_before_is_free_again(shop: Workshop) -> None:
    job = small_job(shop)
    booking.put_by(shop.desk, shop.studio.pack, job, 1)
    blank = offcut(shop)
    accepted(shop, job)
    assert [unit for unit, *_ in puts(shop)] == [blank]


def test_a_plan_made_before_stock_changed_is_refused(shop: Workshop) -> None:
    blank = offcut(shop)
    work = planned(shop, small_job(shop))
    handling.lose(shop.desk, blank, None, "broken")
    with pytest.raises(RefusedError, match="no longer as it was"):
        accept_cuts(shop.desk, work)
    assert not cards(shop.desk)


def test_a_plan_accepted_twice_is_refused(shop: Workshop) -> None:
    """There are sheets enough for both; the pieces are wanted once."""
    work = planned(shop, small_job(shop))
    accept_cuts(shop.desk, work)
    with pytest.raises(RefusedError, match="came or went since"):
        accept_cuts(shop.desk, work)
    assert len(cards(shop.desk)) == 1


def test_a_plan_of_what_must_be_bought_is_not_accepted(shop: Workshop) -> None:
    job = shop.book(count=1, width_dmm=24_000, height_dmm=12_000)
    handling.lose(shop.desk, shop.studio.pack, None, "broken")
    with pytest.raises(RefusedError, match="nothing of Cast acrylic 3 mm in stock"):
        accept_cuts(shop.desk, planned(shop, job))


def test_done_as_planned_pieces_and_offcuts_are_born(any_shop: Workshop) -> None:
    shop = any_shop
    blank = offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    done = cut_card(shop.desk, view.card.code)
    assert any("620 x 420 mm for Small, in Mounting room." in line for line in done.said)
    assert not [line for line in done.said if line.startswith("Put by")]
    born = children(shop, blank)
    sizes = sorted((unit.width_dmm, unit.length_dmm) for unit in born)
    assert sizes == sorted((part.width_dmm, part.height_dmm) for part in view.layout.parts)
    parent = shop.unit(blank)
    assert (parent.state, parent.count) == ("cut up", 0)
    assert {unit.lot for unit in born} == {parent.lot}
    assert {unit.place for unit in born} == {parent.place}
    piece = next(unit for unit in born if unit.measure == 6_200 * 4_200)
    assert puts(shop) == [(piece.code, job, 6_200 * 4_200)]
    assert one_card(shop.desk, view.card.code).card.state == "cut"
    works = plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=EFFORT))
    assert [work.material.family for work in works] == ["board"]
    checked(shop)


def test_areas_and_money_of_a_cut_come_to_those_of_the_blank(shop: Workshop) -> None:
    blank = offcut(shop)
    before = shop.unit(blank)
    (view,) = accepted(shop, small_job(shop))
    done = cut_card(shop.desk, view.card.code)
    out = [move for move in done.changes.movements if move.unit == blank]
    assert sum(move.qty for move in out) == before.qty
    assert sum(move.cost_cents for move in out) == before.cost_left_cents
    assert {move.kind for move in out} == {"split off", "cut waste"}
    assert sum(unit.cost_left_cents for unit in children(shop, blank)) == sum(
        move.cost_cents for move in out if move.kind == "split off"
    )


def test_the_mount_takes_the_piece_that_was_cut_for_it(shop: Workshop) -> None:
    blank = offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    cut_card(shop.desk, view.card.code)
    piece = next(unit for unit in children(shop, blank) if unit.measure == 6_200 * 4_200)
    for stage in ("print", "look", "mount"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    used = next(used for used in shop.used() if used.part == "sheet")
    assert (used.unit, used.fate) == (piece.code, "in")
    assert shop.unit(piece.code).state == "used"
    assert not [put for put in puts(shop) if put[0] == piece.code]
    checked(shop)


def test_a_cut_piece_is_not_cut_up_for_another_job(shop: Workshop) -> None:
    offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    cut_card(shop.desk, view.card.code)
    other = shop.book("Tiny", count=1, width_dmm=2_000, height_dmm=1_500)
    work = planned(shop, other)
    pieces = {unit for unit, *_ in puts(shop)}
    assert not pieces & {card.unit.code for card in work.cards if card.unit}


def test_a_piece_cut_for_a_job_serves_its_first_piece_and_is_no_blank_for_the_second(
    shop: Workshop,
) -> None:
    """It has the very size that the second piece wants too."""
    offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    cut_card(shop.desk, view.card.code)
    (piece,) = {unit for unit, *_ in puts(shop)}
    jobs.change_job(shop.desk, job, jobs.JobSaid(count=2))
    work = planned(shop, job)
    assert piece not in {card.unit.code for card in work.cards if card.unit}
    assert piece not in {unit.code for unit, _ in work.passed_over}
    assert piece not in {put.unit for put in work.replaces}


def test_a_part_that_broke_is_lost_and_its_piece_wanted_again(any_shop: Workshop) -> None:
    shop = any_shop
    blank = offcut(shop)
    job = small_job(shop, count=2)
    (view,) = accepted(shop, job)
    number = next(part.number for part in view.layout.parts if part.what == "piece")
    done = cut_card(shop.desk, view.card.code, broken=[number])
    lost = [move.qty for move in done.changes.movements if move.kind == "lost"]
    assert lost == [6_200 * 4_200]
    assert len([unit for unit in children(shop, blank) if unit.measure == 6_200 * 4_200]) == 1
    assert planned(shop, job).pieces == 1
    checked(shop)


def test_a_true_size_is_kept_and_a_piece_too_small_is_wanted_again(shop: Workshop) -> None:
    blank = offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    number = next(part.number for part in view.layout.parts if part.what == "piece")
    cut_card(shop.desk, view.card.code, sizes={number: (6_150, 4_200)})
    assert (6_150, 4_200) in {(u.width_dmm, u.length_dmm) for u in children(shop, blank)}
    assert planned(shop, job).pieces == 1


def test_true_sizes_of_more_than_there_was_are_refused(shop: Workshop) -> None:
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    with pytest.raises(BadValueError, match="larger than the sheet with 1 = 1300 x 900 mm"):
        cut_card(shop.desk, view.card.code, sizes={1: (13_000, 9_000)})
    assert not children(shop, blank)


def test_a_true_size_longer_than_the_sheet_the_way_it_lies_is_refused(shop: Workshop) -> None:
    """1300 mm across and 900 mm up: a strip of 1000 mm may lie across it, not upright."""
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    with pytest.raises(BadValueError, match="Part 1 cannot be 500 x 1000 mm"):
        cut_card(shop.desk, view.card.code, sizes={1: (5_000, 10_000)})
    assert not children(shop, blank)


def test_a_piece_cut_a_little_large_is_cut_and_not_planned_again(shop: Workshop) -> None:
    offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    piece = view.layout.parts[0]
    large = (piece.width_dmm + 10, piece.height_dmm + 100)
    rest = {2: (6_200, 4_600), 3: (6_700, 9_000)}
    assert [part.what for part in view.layout.parts] == ["piece", "offcut", "offcut"]
    cut_card(shop.desk, view.card.code, sizes={1: large, **rest})
    works = plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=EFFORT))
    assert [work for work in works if work.material.family == "sheet"] == []
    assert [held for _, held, _ in puts(shop)] == [job]


def test_a_piece_far_too_large_is_a_sheet_to_cut_from(shop: Workshop) -> None:
    """A sheet put by for a job is cut for it only where it is within 10 mm of its size."""
    job = small_job(shop)
    wanted = planned(shop, job).wanted[0]
    blank = offcut(shop, wanted.width_dmm + 101, wanted.height_dmm)
    booking.put_by(shop.desk, blank, job)
    (card,) = planned(shop, job).cards
    assert card.unit is not None
    assert card.unit.code == blank


def test_a_piece_cut_too_small_is_kept_free_told_and_cut_again(shop: Workshop) -> None:
    blank = offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    piece = view.layout.parts[0]
    done = cut_card(
        shop.desk, view.card.code, sizes={1: (piece.width_dmm - 1, piece.height_dmm)}
    )  # fmt: skip
    small = children(shop, blank)[0]
    assert puts(shop) == []
    assert [f"Part 1 is smaller than its job wants, so {small.code}" in n for n in done.notes] == [
        True
    ]
    assert planned(shop, job).pieces == 1
    checked(shop)


def test_what_a_plan_offers_of_a_stack_is_free_to_accept(shop: Workshop) -> None:
    """Another job holds a part of the stack, and own cards more: no plan counts on those."""
    other, job = small_job(shop, "Other"), small_job(shop, "Own")
    booking.put_by(shop.desk, shop.studio.pack, other, 1)
    accepted(shop, job)
    with shop.desk.reading() as view:
        pack = find(view, Unit, shop.studio.pack)
    left = pack.count - 2
    jobs.change_job(shop.desk, job, JobSaid(count=150))
    work = planned(shop, job)
    own = sum(card.unit is not None for card in work.cards)
    assert own == left
    assert work.to_buy > 0
    accept_cuts(shop.desk, work)
    checked(shop)


def test_what_is_cut_stands_where_it_is_said(shop: Workshop) -> None:
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    cut_card(shop.desk, view.card.code, place="Cold store")
    assert {unit.place for unit in children(shop, blank)} == {shop.studio.store}


def test_a_number_that_is_not_on_the_card_is_refused(shop: Workshop) -> None:
    offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    with pytest.raises(BadValueError, match="has no part 9"):
        cut_card(shop.desk, view.card.code, broken=[9])


def test_a_card_is_cut_once(shop: Workshop) -> None:
    offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    cut_card(shop.desk, view.card.code)
    with pytest.raises(RefusedError, match="is cut already"):
        cut_card(shop.desk, view.card.code)


def test_a_card_whose_sheet_went_elsewhere_says_so(shop: Workshop) -> None:
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    handling.lose(shop.desk, blank, None, "broken")
    assert one_card(shop.desk, view.card.code).gone == f"{blank} is lost"
    with pytest.raises(RefusedError, match="Drop the card and plan again"):
        cut_card(shop.desk, view.card.code)


def test_a_cut_is_taken_back_as_one_act(any_shop: Workshop) -> None:
    shop = any_shop
    blank = offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    before = puts(shop), shop.unit(blank)
    done = cut_card(shop.desk, view.card.code)
    counting.undo(shop.desk, done.seq)
    assert (puts(shop), shop.unit(blank).count) == (before[0], before[1].count)
    assert shop.unit(blank).state == "in stock"
    assert not children(shop, blank)
    assert one_card(shop.desk, view.card.code).gone == ""
    cut_card(shop.desk, view.card.code)
    checked(shop)


def test_accepting_is_taken_back_with_what_it_replaced(shop: Workshop) -> None:
    job = small_job(shop)
    booking.put_by(shop.desk, shop.studio.pack, job, 1)
    before = puts(shop)
    offcut(shop)
    done = accept_cuts(shop.desk, planned(shop, job))
    assert puts(shop) != before
    counting.undo(shop.desk, done.seq)
    assert puts(shop) == before
    assert not cards(shop.desk)
    checked(shop)


def test_dropped_cards_free_what_they_held(any_shop: Workshop) -> None:
    shop = any_shop
    job = shop.book(count=3, width_dmm=24_000, height_dmm=12_000)
    views = accepted(shop, job)
    assert [view.unit.code for view in views] == [shop.studio.pack] * 3
    drop_cards(shop.desk, [views[0].card.code, views[1].card.code])
    assert len(puts(shop)) == 1
    assert [view.card.code for view in cards(shop.desk)] == [views[2].card.code]
    assert planned(shop, job).pieces == 2
    with pytest.raises(RefusedError, match="dropped before"):
        drop_cards(shop.desk, [views[0].card.code])
    checked(shop)


def test_sheets_of_a_stack_are_cut_one_card_at_a_time(shop: Workshop) -> None:
    job = shop.book(count=3, width_dmm=24_000, height_dmm=12_000)
    first, second, _ = accepted(shop, job)
    assert shop.unit(shop.studio.pack).count == 6
    cut_card(shop.desk, first.card.code)
    assert shop.unit(shop.studio.pack).count == 5
    assert one_card(shop.desk, second.card.code).gone == ""
    held = {unit for unit, *_ in puts(shop)}
    assert len(held) == 2  # the stack, and the piece that is cut


def test_a_piece_of_a_cancelled_job_is_free_when_it_is_cut(shop: Workshop) -> None:
    offcut(shop)
    job = small_job(shop)
    (view,) = accepted(shop, job)
    booking.close_job(shop.desk, job, "cancelled")
    cut_card(shop.desk, view.card.code)
    assert not puts(shop)


def test_pieces_of_a_batch_on_hold_are_not_promised(shop: Workshop) -> None:
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    with shop.desk.reading() as reading:
        lot = reading.get(Lot, shop.unit(blank).lot)
    assert lot is not None
    handling.hold(shop.desk, lot.code, "clouded", batch=True)
    cut_card(shop.desk, view.card.code)
    assert not puts(shop)


def test_a_job_that_grew_wants_only_what_is_not_on_a_card(shop: Workshop) -> None:
    offcut(shop)
    job = small_job(shop)
    accepted(shop, job)
    jobs.change_job(shop.desk, job, jobs.JobSaid(count=3))
    assert planned(shop, job).pieces == 2


def test_a_card_keeps_its_cuts_as_they_were_planned(shop: Workshop) -> None:
    offcut(shop)
    work = planned(shop, small_job(shop))
    done = accept_cuts(shop.desk, work)
    (code,) = new_cards(done)
    with shop.desk.reading() as view:
        card = view.get(Card, code)
    assert card is not None
    kept = json.loads(card.cuts)
    assert kept["size"] == [13_000, 9_000]
    layout = one_card(shop.desk, code).layout
    assert layout.tree == work.cards[0].cut.tree
    assert layout.trims == work.cards[0].cut.trims


def test_a_card_that_is_not_there_is_named(shop: Workshop) -> None:
    with pytest.raises(UnknownCodeError, match="99999"):
        cut_card(shop.desk, "99999")
    with pytest.raises(BadValueError, match="Which cards"):
        drop_cards(shop.desk, [])


@pytest.mark.parametrize("typed", ["620x415", "x=620x415", "2=0x415", "2=620x-1"])
def test_a_size_that_cannot_be_is_refused(typed: str) -> None:
    with pytest.raises(BadValueError):
        part_sizes([typed])


def test_a_repeat_under_the_same_key_changes_nothing(shop: Workshop) -> None:
    offcut(shop)
    work = planned(shop, small_job(shop))
    accept_cuts(shop.desk, work, key="k")
    again = accept_cuts(shop.desk, work, key="k")
    assert again.repeated
    assert len(cards(shop.desk)) == 1


def test_closed_cards_are_listed_where_asked(shop: Workshop) -> None:
    offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    cut_card(shop.desk, view.card.code)
    assert not cards(shop.desk)
    assert [one.gone for one in cards(shop.desk, every=True)] == ["it is cut"]


def test_the_hour_of_a_cut_is_kept(shop: Workshop, now: Clock) -> None:
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))
    now.on(days=1)
    done = cut_card(shop.desk, view.card.code, happened_s=now() - 3_600)
    assert done.occurred_s == now() - 3_600
    assert {unit.received_s for unit in children(shop, blank)} == {now() - 3_600}


def test_the_day_sheet_has_a_box_for_each_part_of_an_open_card(shop: Workshop) -> None:
    blank = offcut(shop)
    (view,) = accepted(shop, small_job(shop))

    def sheet() -> str:
        pages = PdfReader(BytesIO(day_sheet(shop.desk))).pages
        return " ".join("".join(page.extract_text() for page in pages).split())

    boxes = " ".join(f"[__]{part.number}" for part in view.layout.parts)
    assert f"offcut {blank}, Mounting room: [__]as planned broken: {boxes}" in sheet()
    cut_card(shop.desk, view.card.code)
    assert "as planned" not in sheet()
