"""What is still to be cut is planned from offcuts first; nothing bought that is there."""

from datetime import date

import pytest
from support.studio import Clock, code_of
from support.workshop import Workshop

from stockroom.desk.work import attempts, booking
from stockroom.desk.condition import surfaces
from stockroom.desk.cutting import one_cut
from stockroom.desk.stock import handling, receiving
from stockroom.desk.cutting.sheets import CutsSaid, CutWork, pins_of, plan_cuts
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.stock.receiving import Delivery
from stockroom.errors import BadValueError, UnknownCodeError

EFFORT = 60


def planned(shop: Workshop, *jobs: str, **said: object) -> dict[str, CutWork]:
    """Plan the cuts of some jobs, by the family of the material."""
    asked = CutsSaid(jobs=jobs, effort=EFFORT, **said)  # type: ignore[arg-type]
    return {work.material.family: work for work in plan_cuts(shop.desk, asked)}


def offcut(shop: Workshop, wide: int, high: int) -> str:
    """Cut an offcut off a sheet of acrylic."""
    done = one_cut.cut(shop.desk, shop.studio.pack, offcuts=[Part(wide, high)])
    return code_of(done, "unit")


def units(work: CutWork) -> list[str]:
    return [card.unit.code if card.unit else "new" for card in work.cards]


def test_an_offcut_that_takes_a_piece_is_cut_before_a_sheet_is_opened(shop: Workshop) -> None:
    small = offcut(shop, 13_000, 9_000)
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    work = planned(shop, job)["sheet"]
    assert units(work) == [small]
    assert (work.offcuts, work.sheets, work.to_buy) == (1, 0, 0)
    assert work.sheets_saved == 1
    assert work.plan is not None
    assert work.plan.complete


def test_a_piece_wants_its_allowance_on_every_edge(shop: Workshop) -> None:
    """The sheet of the build is 10 mm larger a side than the print: 620 x 420, to a tenth."""
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    just = offcut(shop, 6_200, 4_200)
    assert units(planned(shop, job)["sheet"]) == [just]
    handling.discard(shop.desk, just)
    offcut(shop, 6_199, 4_200)
    assert units(planned(shop, job)["sheet"]) == [shop.studio.pack]


def test_what_no_stock_serves_is_to_be_bought_and_told_by_which_day(shop: Workshop) -> None:
    job = shop.book(count=8, width_dmm=24_000, height_dmm=12_000, print_on=date(2026, 3, 30))
    work = planned(shop, job)["sheet"]
    assert (work.sheets, work.to_buy) == (6, 2)
    assert not work.left_out
    assert work.order_by == date(2026, 3, 16)  # 14 days before


def test_a_day_to_order_that_is_past_is_today(shop: Workshop) -> None:
    job = shop.book(count=8, width_dmm=24_000, height_dmm=12_000)
    assert planned(shop, job)["sheet"].order_by == date(2026, 3, 2)


def test_a_board_is_planned_by_itself_and_of_its_own_size(shop: Workshop) -> None:
    job = shop.book(count=2)
    work = planned(shop, job)["board"]
    assert {(item.width_dmm, item.height_dmm, item.count) for item in work.wanted} == {
        (12_000, 8_000, 2)
    }


def test_pieces_that_are_mounted_want_no_sheet_and_still_a_board(shop: Workshop) -> None:
    job = shop.book(count=2)
    for stage in ("print", "look", "mount"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    found = planned(shop, job)
    assert {family: work.pieces for family, work in found.items()} == {"sheet": 1, "board": 2}


def test_a_piece_lost_at_mounting_wants_a_sheet_again(shop: Workshop) -> None:
    job = shop.book(count=2)
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, job, good=True, stage="look")
    attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    assert planned(shop, job)["sheet"].pieces == 2


def test_only_sure_work_that_is_near_is_planned_by_itself(shop: Workshop) -> None:
    near = shop.book("Near", count=1)
    shop.book("Perhaps", count=1, certainty="maybe")
    shop.book("Far", count=1, print_on=date(2026, 5, 9), due_on=date(2026, 6, 9))
    work = planned(shop)["sheet"]
    assert [item.job.code for item in work.wanted] == [near]
    further = planned(shop, upto=date(2026, 5, 9))["sheet"]
    assert [item.job.name for item in further.wanted] == ["Near", "Far"]


def test_what_is_held_put_by_or_a_customers_is_not_cut_and_it_is_said(shop: Workshop) -> None:
    desk = shop.desk
    held, kept = offcut(shop, 13_000, 9_000), offcut(shop, 13_000, 9_001)
    other = shop.book("Other", count=1)
    handling.hold(desk, held, "scratched")
    booking.put_by(desk, kept, other)
    theirs = receiving.receive(
        desk,
        Delivery(
            material=shop.studio.sheet, place="Mounting room", count=1, width_dmm=13_000,
            length_dmm=9_002, owner="customer",
        ),
    )  # fmt: skip
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    work = planned(shop, job)["sheet"]
    assert units(work) == [shop.studio.pack]
    assert {unit.code: why for unit, why in work.passed_over} == {
        held: "on hold: scratched",
        kept: "put by for other work",
        code_of(theirs, "unit"): "it belongs to a customer",
    }


def test_what_was_put_by_for_the_work_itself_is_replaced(shop: Workshop) -> None:
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    booking.put_by(shop.desk, shop.studio.pack, job, 1)
    small = offcut(shop, 13_000, 9_000)
    work = planned(shop, job)["sheet"]
    assert units(work) == [small]
    assert [put.unit for put in work.replaces] == [shop.studio.pack]


def test_a_face_is_not_cut_from_a_sheet_whose_mask_is_off(shop: Workshop) -> None:
    small = offcut(shop, 13_000, 9_000)
    surfaces.look_over(shop.desk, small, mask_back="off")
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    assert units(planned(shop, job)["sheet"]) == [shop.studio.pack]


def test_a_unit_is_left_out_and_a_job_pinned_as_it_is_said(shop: Workshop) -> None:
    first, second = offcut(shop, 13_000, 9_000), offcut(shop, 14_000, 9_500)
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    assert units(planned(shop, job)["sheet"]) == [first]
    without = planned(shop, job, without=(first,))["sheet"]
    assert units(without) == [second]
    assert [why for unit, why in without.passed_over] == ["left out, as you said"]
    assert units(planned(shop, job, pins={job: second})["sheet"]) == [second]


def test_a_pin_to_what_is_too_small_leaves_the_piece_out(shop: Workshop) -> None:
    small = offcut(shop, 5_000, 4_000)
    job = shop.book(count=1, width_dmm=6_000, height_dmm=4_000)
    work = planned(shop, job, pins={job: small})["sheet"]
    assert [(item.job.code, count) for item, count in work.left_out] == [(job, 1)]
    assert work.sheets_saved == 0


def test_of_two_offcuts_alike_the_older_goes_first(shop: Workshop, now: Clock) -> None:
    old = offcut(shop, 13_000, 9_000)
    now.on(days=40)
    offcut(shop, 13_000, 9_000)
    job = shop.book(
        count=1, width_dmm=6_000, height_dmm=4_000, print_on=date(2026, 4, 20),
        due_on=date(2026, 5, 4),
    )  # fmt: skip
    assert units(planned(shop, job)["sheet"]) == [old]


def test_a_layer_that_must_lie_along_the_sheet_is_not_turned(shop: Workshop) -> None:
    """A sheet lies with its length upwards; a board whose long edge follows it stands so too."""
    from stockroom.desk.work import builds
    from stockroom.desk.work.builds import LayerSaid

    made = builds.define_build(
        shop.desk, "Grained", [LayerSaid("board", shop.board, turn="long edge")]
    )
    job = shop.book(count=1, build=code_of(made, "build"), width_dmm=14_900, height_dmm=6_000)
    work = planned(shop, job)["board"]
    (item,) = work.wanted
    assert (item.width_dmm, item.height_dmm, item.may_turn) == (6_000, 14_900, False)


def test_a_piece_larger_than_every_blank_is_left_out_and_named(shop: Workshop) -> None:
    job = shop.book(count=1, width_dmm=31_000, height_dmm=4_000)
    work = planned(shop, job)["sheet"]
    assert not work.cards
    assert [count for _, count in work.left_out] == [1]


@pytest.mark.parametrize("typed", ["11121", "=11405", "11121=", "a b"])
def test_a_pin_that_pins_nothing_says_how_one_is_typed(typed: str) -> None:
    with pytest.raises(BadValueError, match="11121=11405"):
        pins_of([typed])


def test_a_job_or_unit_that_is_not_there_is_named(shop: Workshop) -> None:
    with pytest.raises(UnknownCodeError, match="99999"):
        planned(shop, "99999")
    job = shop.book()
    with pytest.raises(UnknownCodeError, match="88888"):
        planned(shop, job, without=("88888",))


def test_the_same_work_is_planned_the_same(shop: Workshop) -> None:
    offcut(shop, 13_000, 9_000)
    job = shop.book(count=3, width_dmm=6_000, height_dmm=4_000)
    first, again = planned(shop, job)["sheet"], planned(shop, job)["sheet"]
    assert first.plan is not None
    assert again.plan is not None
    assert first.plan.blanks == again.plan.blanks


def test_a_sheet_that_is_there_is_cut_before_one_is_bought(shop: Workshop) -> None:
    """Sheet and sheet to buy have one size; whatever the search meets first, stock is taken."""
    job = shop.book(count=6, width_dmm=24_000, height_dmm=12_000)
    for seed in range(5):
        assert units(planned(shop, job, seed=seed)["sheet"]) == [shop.studio.pack] * 6


def test_panels_of_one_work_come_from_one_sheet_where_it_is_said(shop: Workshop) -> None:
    """Four panels fit one offcut beside a sheet; together they come from the sheet alone."""
    offcut(shop, 6_200, 4_200)
    for name in ("Left", "Right"):
        shop.book(name, count=1, width_dmm=6_000, height_dmm=4_000, work="Diptych")
    apart = planned(shop, "Left", "Right")["sheet"]
    assert len(apart.cards) == 2
    one = planned(shop, "Left", "Right", together=("diptych",))["sheet"]
    assert units(one) == [shop.studio.pack]
    assert one.plan is not None
    assert one.plan.complete


def test_a_cut_piece_serves_one_of_two_layers_alike(shop: Workshop) -> None:
    """Face and back of one sheet and size: of eight parts four are cut, so four are wanted."""
    from stockroom.desk.work import builds
    from stockroom.desk.work.builds import LayerSaid

    layers = [LayerSaid("sheet", shop.studio.sheet), LayerSaid("board", shop.studio.sheet)]
    made = builds.define_build(shop.desk, "Both sides", layers)
    job = shop.book(count=4, build=code_of(made, "build"), width_dmm=6_000, height_dmm=4_000)
    for _ in range(4):
        booking.put_by(shop.desk, offcut(shop, 6_000, 4_000), job)
    assert planned(shop, job)["sheet"].pieces == 4
