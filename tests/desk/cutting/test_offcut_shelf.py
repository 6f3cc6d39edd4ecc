"""The offcut shelf says what each offcut suits, when it was last seen, and which to let go."""

from datetime import date, timedelta

import pytest
from support.studio import Clock, code_of
from support.workshop import Workshop, new_cards

from stockroom.desk.work import attempts, booking
from stockroom.desk.condition import surfaces
from stockroom.desk.cutting import one_cut
from stockroom.desk.stock import handling
from stockroom.desk.cutting.cards import accept_cuts, cut_card
from stockroom.desk.cutting.sheets import CutsSaid, plan_cuts
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.stock.defining import change_material
from stockroom.desk.cutting.offcuts import ShelfOffcut, shelf, shelf_lines
from stockroom.errors import UnknownCodeError

MONDAY = date(2026, 3, 2)


@pytest.fixture
def shop(shop: Workshop) -> Workshop:
    change_material(shop.desk, shop.studio.sheet, price_cents=20_000)
    return shop


def offcut(shop: Workshop, wide: int = 13_000, high: int = 9_000) -> str:
    return code_of(one_cut.cut(shop.desk, shop.studio.pack, offcuts=[Part(wide, high)]), "unit")


def on_shelf(shop: Workshop, **how: object) -> dict[str, ShelfOffcut]:
    return {item.unit.code: item for item in shelf(shop.desk, **how)}  # type: ignore[arg-type]


def lines(shop: Workshop) -> str:
    return "\n".join(shelf_lines(shelf(shop.desk), shop.desk.today()))


def small_job(shop: Workshop, name: str = "Small", **more: object) -> str:
    return shop.book(name, **{"count": 1, "width_dmm": 6_000, "height_dmm": 4_000, **more})


def test_an_offcut_names_the_booked_work_that_can_be_cut_from_it(shop: Workshop) -> None:
    wide, narrow = offcut(shop), offcut(shop, 4_000, 9_000)
    small_job(shop)
    found = on_shelf(shop)
    assert [item.job.name for item in found[wide].suits] == ["Small"]
    assert found[narrow].suits == ()
    assert "Suits Small; last seen Mon 2 Mar 2026, today" in lines(shop)


def test_a_piece_that_must_not_turn_suits_no_offcut_that_lies_across(shop: Workshop) -> None:
    from stockroom.desk.work import builds
    from stockroom.desk.work.builds import LayerSaid

    made = builds.define_build(
        shop.desk, "Grained", [LayerSaid("sheet", shop.studio.sheet, turn="long edge")]
    )
    across, along = offcut(shop, 9_000, 5_000), offcut(shop, 5_000, 9_000)
    small_job(shop, build=code_of(made, "build"))
    found = on_shelf(shop)
    assert (len(found[across].suits), len(found[along].suits)) == (0, 1)


def test_an_offcut_whose_mask_is_off_suits_no_face(shop: Workshop) -> None:
    code = offcut(shop)
    small_job(shop)
    surfaces.look_over(shop.desk, code, mask_back="off")
    item = on_shelf(shop)[code]
    assert (item.suits, item.fits) == ((), 0)
    assert "masks: front on, back off" in lines(shop)


def test_promised_offcuts_say_for_whom_and_are_never_let_go(shop: Workshop, now: Clock) -> None:
    code = offcut(shop, 1_900, 3_000)
    job = small_job(shop)
    booking.put_by(shop.desk, code, job)
    now.on(days=500)
    item = on_shelf(shop)[code]
    assert (item.put_by, item.let_go) == (("Small",), "")
    assert "Put by for Small" in lines(shop)


def test_an_offcut_on_a_card_says_so_and_a_cut_piece_is_no_offcut(shop: Workshop) -> None:
    code = offcut(shop)
    job = small_job(shop)
    (work, _) = plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=20))
    (card,) = new_cards(accept_cuts(shop.desk, work))
    assert on_shelf(shop)[code].card == card
    cut_card(shop.desk, card)
    assert {item.unit.measure for item in shelf(shop.desk)}.isdisjoint({6_200 * 4_200})
    attempts.record(shop.desk, job, good=True, stage="print")


def test_one_below_the_least_that_is_kept_is_let_go_at_once(shop: Workshop) -> None:
    code = offcut(shop, 1_900, 9_000)
    assert "200 mm a side" in on_shelf(shop)[code].let_go
    assert "To let go" in lines(shop)


def test_one_that_nothing_fits_is_let_go_after_a_year_not_before(
    shop: Workshop, now: Clock
) -> None:
    code = offcut(shop, 3_000, 9_000)
    now.on(days=364)
    assert on_shelf(shop)[code].let_go == ""
    now.on(days=1)
    assert on_shelf(shop)[code].let_go.startswith("here for 365 days; nothing made")


def test_one_is_let_go_where_its_space_costs_more_than_it_saves(shop: Workshop) -> None:
    code = offcut(shop)
    small_job(shop)
    item = on_shelf(shop)[code]
    assert item.let_go == ""
    dear = on_shelf(shop, space_cents=100_000)[code]
    assert dear.space_cents is not None
    assert item.space_cents is not None
    assert dear.worth_cents == item.worth_cents
    assert dear.space_cents == pytest.approx(item.space_cents * 100_000 / 300)
    assert dear.let_go.startswith("its space costs")


def test_the_wait_is_the_turn_at_the_pace_of_the_work(shop: Workshop) -> None:
    """Two pieces fit, both booked within 90 days: each offcut ahead is half of 90 days more."""
    smaller, larger = offcut(shop, 6_300, 4_300), offcut(shop)
    small_job(shop, count=2)
    found = on_shelf(shop)
    year = 90 / 365
    assert (found[smaller].ahead, found[larger].ahead) == (0, 1)
    assert found[smaller].wait_years == pytest.approx(year / 2)
    assert found[larger].wait_years == pytest.approx(year)
    assert found[larger].space_cents == pytest.approx(300 * 1.17 * year)


def test_the_worth_of_one_that_all_work_fits_is_its_share_of_a_new_sheet(shop: Workshop) -> None:
    """share 0.8 x 200.00 x (1.3 x 0.9) / (3.05 x 2.03), all of the work fitting."""
    code = offcut(shop)
    small_job(shop)
    worth = on_shelf(shop)[code].worth_cents
    assert worth == pytest.approx(0.8 * 20_000 * 1.17 / 6.1915, abs=1)


def test_without_a_price_only_a_long_wait_speaks_against_it(shop: Workshop) -> None:
    change_material(shop.desk, shop.board, price_cents=None)
    board = one_cut.cut(shop.desk, boards(shop), offcuts=[Part(13_000, 9_000)])
    code = code_of(board, "unit")
    shop.book("Boards", count=1)
    item = on_shelf(shop)[code]
    assert (item.worth_cents, item.let_go) == (None, "")


def boards(shop: Workshop) -> str:
    from stockroom.core.model import Lot, Unit
    from stockroom.desk.lookup import everything

    with shop.desk.reading() as view:
        lots = {lot.code for lot in view.having(Lot, "material", shop.board)}
        return next(unit.code for unit in everything(view, Unit) if unit.lot in lots)


def test_last_seen_is_the_last_time_anybody_had_it_in_hand(shop: Workshop, now: Clock) -> None:
    code = offcut(shop)
    now.on(days=10)
    assert on_shelf(shop)[code].seen_on == MONDAY
    handling.move(shop.desk, [code], "Cold store")
    assert on_shelf(shop)[code].seen_on == MONDAY + timedelta(days=10)


def test_an_empty_shelf_says_so_and_a_material_that_is_not_there_is_named(shop: Workshop) -> None:
    assert lines(shop) == "No offcuts on the shelf."
    with pytest.raises(UnknownCodeError, match="Glass"):
        shelf(shop.desk, material="Glass")
