"""The state that orders are planned on, from the books; what orders teach; the drafts."""

from datetime import date, timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader
from support.studio import Clock, code_of
from support.workshop import Workshop, new_cards

from stockroom.core.records import Order
from stockroom.core.supply.state import State, Ware, Work
from stockroom.desk.cutting import one_cut
from stockroom.desk.cutting.cards import accept_cuts, cut_card
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.cutting.sheets import CutsSaid, plan_cuts
from stockroom.desk.orders import claims, ordering
from stockroom.desk.orders.papers import (
    plan_calendar,
    plan_paper,
    plan_pdf,
    plan_texts,
    supply_texts,
)
from stockroom.desk.orders.plan import material_supply, place_draft, plan_orders, rows_of, severity
from stockroom.desk.orders.state import NOTICE_DAYS, lead_days_of, supply_state
from stockroom.desk.papers.printed import calendar_file
from stockroom.desk.reckoning import reckoned
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.stock.defining import change_material, change_terms
from stockroom.desk.work import attempts, booking
from stockroom.errors import BadValueError, RefusedError


def state_of(shop: Workshop) -> State:
    with reckoned(shop.desk) as reckoning:
        return supply_state(reckoning, shop.desk.today())


def ware_of(shop: Workshop, code: str) -> Ware:
    return next(ware for ware in state_of(shop).wares if ware.code == code)


def left_of(shop: Workshop, code: str) -> float:
    return sum(held.left for held in state_of(shop).stock if held.ware == code)


def leads(shop: Workshop, code: str) -> tuple[float, ...]:
    with reckoned(shop.desk) as reckoning:
        return lead_days_of(reckoning, reckoning.materials[code])


def placed(shop: Workshop, count: int, **more: object) -> str:
    done = ordering.order(shop.desk, shop.studio.sheet, count, **more)  # type: ignore[arg-type]
    return code_of(done, "order")


def comes(shop: Workshop, order: str, **more: object) -> None:
    receiving.receive_order(shop.desk, order, "Mounting room", **more)  # type: ignore[arg-type]


def test_rolls_count_between_leader_and_tail_and_what_may_not_be_used_not_at_all(
    shop: Workshop,
) -> None:
    """Two rolls of 50 m: of each 0.8 m are leader and tail (0.3 m and 0.5 m, the usual ones)."""
    shop.book(count=1)
    desk, s = shop.desk, shop.studio
    one = ware_of(shop, s.paper).capacity
    assert left_of(shop, s.paper) == pytest.approx(2 * one)
    counting.count(desk, s.second_roll, 100_000)
    assert left_of(shop, s.paper) == pytest.approx(one + one - 40.0)
    handling.hold(desk, s.second_roll, "dented")
    assert left_of(shop, s.paper) == pytest.approx(one)


def test_offcuts_and_cut_pieces_are_no_full_sheets(shop: Workshop) -> None:
    shop.book(count=1)
    desk, s = shop.desk, shop.studio
    before = left_of(shop, s.sheet)
    one_cut.cut(desk, s.pack, offcuts=[Part(13_000, 9_000)])
    assert left_of(shop, s.sheet) == before - 1


def test_what_is_cut_or_on_an_offcuts_card_is_wanted_no_more(shop: Workshop) -> None:
    """One of three pieces is on an offcut's card, then cut and put by: two are still to come."""
    one_cut.cut(shop.desk, shop.studio.pack, offcuts=[Part(13_000, 9_000)])
    job = shop.book("Small", count=3, width_dmm=6_000, height_dmm=4_000)

    def wanted() -> float:
        return sum(
            row.to_mount
            for row in state_of(shop).work
            if row.code == job and shop.studio.sheet in row.per_mount
        )

    assert wanted() == 3
    work = next(
        one
        for one in plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=60))
        if one.material.family == "sheet"
    )
    on_offcuts = sum(
        len([part for part in card.cut.parts(work.saw.kerf_dmm) if part.part.what == "piece"])
        for card in work.cards
        if card.unit is not None and card.unit.is_offcut
    )
    assert on_offcuts > 0
    cards = new_cards(accept_cuts(shop.desk, work))
    assert wanted() == 3 - on_offcuts
    for card in cards:
        cut_card(shop.desk, card)
    assert wanted() == 0


def test_a_print_that_is_good_waits_for_its_mount_and_may_still_be_made_again(
    shop: Workshop,
) -> None:
    job = shop.book(count=3)
    attempts.record(shop.desk, job, good=True, stage="print")
    (paper,) = [row for row in state_of(shop).work if shop.studio.paper in row.per_print]
    assert (paper.to_print, paper.to_mount) == (2, 1)
    (film,) = [row for row in state_of(shop).work if shop.film in row.per_mount]
    assert (film.to_print, film.to_mount) == (0, 3)


def test_a_job_entered_after_its_print_is_thought_known_weeks_before(shop: Workshop) -> None:
    today = shop.desk.today()
    shop.book("Old", print_on=today + timedelta(days=3), due_on=today + timedelta(days=30))
    soon = next(row for row in state_of(shop).history)
    assert soon.known == today.toordinal()
    late = shop.book("Late", print_on=today, due_on=today + timedelta(days=30),
                     start_on=today - timedelta(days=5))  # fmt: skip
    row = next(row for row in state_of(shop).history if row.code == late)
    assert row.known == today.toordinal() - 5 - NOTICE_DAYS


def test_terms_are_planned_with(shop: Workshop) -> None:
    shop.book()
    change_terms(
        shop.desk, shop.studio.sheet, order_minimum=6, order_multiple=4, order_cost_cents=12_000,
        breaks=["24=98", "8=110.50"], closed=[(date(2026, 12, 21), date(2027, 1, 6))],
    )  # fmt: skip
    ware = ware_of(shop, shop.studio.sheet)
    assert (ware.minimum, ware.multiple, ware.order_cost) == (6, 4, 120.0)
    assert [(step.least, step.cost) for step in ware.price_breaks] == [(8, 110.5), (24, 98.0)]
    assert ware.closed == ((date(2026, 12, 21).toordinal(), date(2027, 1, 6).toordinal()),)
    change_terms(shop.desk, shop.studio.sheet, breaks=[], closed=[])
    assert ware_of(shop, shop.studio.sheet).price_breaks == ()
    with pytest.raises(BadValueError, match="out of order"):
        change_terms(shop.desk, shop.studio.sheet, breaks=["8=110", "24=120"])
    with pytest.raises(BadValueError, match="ends before it begins"):
        change_terms(shop.desk, shop.studio.sheet, closed=[(date(2027, 1, 6), date(2026, 12, 21))])
    with pytest.raises(BadValueError, match="above zero"):
        change_terms(shop.desk, shop.studio.sheet, order_minimum=0)


def test_lead_times_are_learned_from_what_came_first_and_undone_with_it(
    shop: Workshop, now: Clock
) -> None:
    """Six sheets; four come after 9 days, two after 15: that is (36 + 30) / 6 = 11 days."""
    shop.book()
    change_material(shop.desk, shop.studio.sheet, lead_days=12)
    assert leads(shop, shop.studio.sheet) == (12.0,)
    order = placed(shop, 6)
    now.on(9)
    comes(shop, order, came=4, rest_to_come=True)
    assert leads(shop, shop.studio.sheet) == (12.0, 9.0)
    (way,) = state_of(shop).on_order
    assert way.units == 2
    now.on(6)
    comes(shop, order)
    assert leads(shop, shop.studio.sheet) == (12.0, 11.0)
    assert state_of(shop).on_order == ()
    counting.undo(shop.desk)
    counting.undo(shop.desk)
    assert leads(shop, shop.studio.sheet) == (12.0,)
    (way,) = state_of(shop).on_order
    assert way.units == 6


def test_another_quantity_than_was_ordered_and_a_rest_that_is_cancelled(
    shop: Workshop, now: Clock
) -> None:
    shop.book()
    before = left_of(shop, shop.studio.sheet)
    order = placed(shop, 6)
    now.on(5)
    comes(shop, order, came=2, rest_to_come=True)
    assert left_of(shop, shop.studio.sheet) == before + 2
    ordering.cancel_order(shop.desk, order)
    assert state_of(shop).on_order == ()
    assert leads(shop, shop.studio.sheet)[-1] == 5.0
    counting.undo(shop.desk)
    (way,) = state_of(shop).on_order
    assert way.units == 4


def test_a_late_supplier_moves_what_is_counted_on(shop: Workshop, now: Clock) -> None:
    """With the supplier's word two weeks later, hardly anything has come by the first day."""
    shop.book()
    change_material(shop.desk, shop.studio.sheet, lead_days=10)
    order = placed(shop, 4)
    due = shop.desk.today() + timedelta(days=10)

    def come_by(day: date) -> float:
        levels = material_supply(shop.desk, shop.studio.sheet).levels
        return next(level.comes for level in levels if level.day == day.toordinal())

    assert come_by(due + timedelta(days=4)) > 3.0
    claims.confirm_order(shop.desk, order, expected_on=due + timedelta(days=21))
    assert come_by(due + timedelta(days=4)) < 1.0
    assert come_by(due + timedelta(days=35)) > 3.5
    counting.undo(shop.desk)
    assert come_by(due + timedelta(days=4)) > 3.0


def test_figures_of_a_line_agree_with_its_rows(shop: Workshop) -> None:
    """Known need: pieces times what each try takes; there: what stands in the rows."""
    shop.book("One", count=2)
    shop.book("Two", count=3, print_on=date(2026, 3, 12))
    found = material_supply(shop.desk, shop.studio.sheet)
    rows, line = rows_of(found), found.planned.line
    until = date.fromordinal(line.until)
    known = sum(
        row["pieces"] * row["each_try"] for row in rows["work"] if row["from"] < until
    )  # fmt: skip
    assert line.known == pytest.approx(known)
    assert known == pytest.approx(5 * rows["work"][0]["each_try"])
    assert line.stock == pytest.approx(sum(row["left"] for row in rows["stock"]))
    first = found.levels[0]
    assert first.mean == pytest.approx(line.stock), "nothing is used before the first print"


def test_a_draft_holds_what_is_due_of_a_supplier_with_one_orders_cost(shop: Workshop) -> None:
    """Forty large pieces: both sheets and boards run out, of one supplier."""
    desk = shop.desk
    for material in (shop.studio.sheet, shop.board):
        change_material(desk, material, supplier="Tarn Sheets", lead_days=7, price_cents=9_900)
        change_terms(desk, material, order_cost_cents=5_000)
    day = desk.today() + timedelta(days=9)
    shop.book("Large", count=40, print_on=day, due_on=day + timedelta(days=2))
    plan = plan_orders(desk)
    (draft,) = [one for one in plan.drafts if one.supplier == "Tarn Sheets"]
    assert {item.material.code for item in draft.due} == {shop.studio.sheet, shop.board}
    assert draft.cost_cents == 5_000 + sum(item.cost_cents or 0 for item in draft.due)
    for item in draft.due:
        assert item.line.order_by == desk.today().toordinal()
        assert severity(item) == "lost client"
    text = "\n".join(plan_texts(plan))
    assert "Tarn Sheets: " in text
    assert ": a lost client)" in text
    assert "Cast acrylic 3 mm" in plan_paper(plan)
    assert plan_paper(plan, csv=True).splitlines()[0].startswith("supplier,code,material")
    sheet = PdfReader(BytesIO(plan_pdf(plan)))
    pages = [page.extract_text() for page in sheet.pages]
    (mine,) = [page for page in pages if "Tarn Sheets" in page]
    assert all(item.material.name in mine for item in draft.due)
    assert f"{sum(item.cost_cents or 0 for item in draft.due) / 100:.2f} EUR" in mine
    assert "late" not in mine, "what is the workshop's own stays there"
    assert "late" not in plan_paper(plan)
    assert plan_calendar(plan, desk.now_s()).count(b"BEGIN:VEVENT") >= 2


def test_nothing_due_is_said_and_makes_no_paper(shop: Workshop) -> None:
    plan = plan_orders(shop.desk)
    assert list(plan_texts(plan)) == ["No job takes any material, so nothing is planned."]
    with pytest.raises(RefusedError, match="Nothing is to be ordered"):
        plan_pdf(plan)
    with pytest.raises(RefusedError, match="No job takes"):
        material_supply(shop.desk, shop.studio.sheet)


def test_one_material_by_day_tells_its_levels_and_rows(shop: Workshop) -> None:
    shop.book("Large", count=3)
    order = placed(shop, 4, expected_on=shop.desk.today() + timedelta(days=8))
    text = "\n".join(supply_texts(material_supply(shop.desk, shop.studio.sheet)))
    assert "Known work:" in text
    assert "Large, 3 pieces" in text
    assert "On the way: 4, ordered Mon 2 Mar 2026, expected Tue 10 Mar 2026" in text
    ordering.cancel_order(shop.desk, order)
    again = "\n".join(supply_texts(material_supply(shop.desk, shop.studio.sheet)))
    assert "On the way" not in again


def test_a_price_that_is_not_known_is_said(shop: Workshop) -> None:
    shop.book()

    def notes() -> str:
        plan = plan_orders(shop.desk, material=shop.studio.paper)
        return " ".join(plan.orders[0].notes)

    assert "Its price is not known" in notes()
    change_material(shop.desk, shop.studio.paper, price_cents=64_000)
    assert "Its price is not known" not in notes()


def test_what_was_written_down_as_ordered_when_it_came_teaches_nothing(shop: Workshop) -> None:
    shop.book()
    comes(shop, placed(shop, 6))
    assert leads(shop, shop.studio.sheet) == (14.0,), "as written down"


def test_an_order_is_placed_and_comes_on_its_true_day(shop: Workshop, now: Clock) -> None:
    shop.book()
    then = now()
    now.on(20)
    order = placed(shop, 6, happened_s=then)
    with pytest.raises(RefusedError, match="nothing of it can have come"):
        comes(shop, order, happened_s=then - 5 * 86_400)
    comes(shop, order, happened_s=then + 8 * 86_400)
    assert leads(shop, shop.studio.sheet)[-1] == 8.0
    with pytest.raises(RefusedError, match="is an order"):
        counting.retime(shop.desk, _act_of(shop, "order"), then)


def _act_of(shop: Workshop, kind: str) -> int:
    return next(line.act.seq for line in counting.trail(shop.desk, 20) if line.act.kind == kind)


def test_one_job_tells_no_rate_and_only_its_own_need_is_ordered(shop: Workshop) -> None:
    """The first job of a shop: sheets for it and its repeats, none for a year ahead."""
    day = shop.desk.today() + timedelta(days=9)
    shop.book("First", count=40, print_on=day, due_on=day + timedelta(days=2))
    line = material_supply(shop.desk, shop.studio.sheet).planned.line
    assert "use unknown" in line.notes
    assert line.unknown == 0.0
    need = line.known + line.repeats
    assert need - line.stock < line.units <= 1.5 * need
    for number in range(3):
        shop.book(f"More {number}", print_on=day + timedelta(days=90 + number))
    assert "use unknown" not in material_supply(shop.desk, shop.studio.sheet).planned.line.notes


def test_what_does_not_fit_the_terms_is_taken_and_told(shop: Workshop) -> None:
    today = shop.desk.today()
    done = change_terms(shop.desk, shop.studio.sheet, order_minimum=6, order_multiple=2,
                        closed=[(today, today)])  # fmt: skip
    assert "at least 6, in multiples of 2" in " ".join(done.notes)
    placed_ = ordering.order(shop.desk, shop.studio.sheet, 3)
    told = " ".join(placed_.notes)
    assert "The least that is sold of Cast acrylic 3 mm is 6" in told
    assert "in multiples of 2" in told
    assert "is closed on Mon 2 Mar 2026" in told


def test_a_price_break_that_is_no_cheaper_is_refused(shop: Workshop) -> None:
    change_material(shop.desk, shop.studio.sheet, price_cents=11_800)
    with pytest.raises(BadValueError, match="no cheaper than one alone"):
        change_terms(shop.desk, shop.studio.sheet, breaks=["6=150"])


def test_a_late_order_is_told_to_be_asked_for(shop: Workshop, now: Clock) -> None:
    shop.book("Large", count=3)
    placed(shop, 4, expected_on=shop.desk.today() + timedelta(days=3))
    now.on(30)
    found = material_supply(shop.desk, shop.studio.sheet)
    assert found.levels[0].high <= found.planned.line.stock, "nothing of it is there today"
    assert "lasts" not in found.planned.sentence, "nobody knows how long"
    text = "\n".join(supply_texts(found))
    assert "late: ask the supplier" in text


def test_the_calendar_and_the_plan_name_the_same_day(shop: Workshop) -> None:
    """Of each material its earliest day to order by, once."""
    day = shop.desk.today() + timedelta(days=30)
    shop.book("Large", count=40, print_on=day, due_on=day + timedelta(days=2))
    plan = plan_orders(shop.desk)
    (sheet,) = [item for item in plan.orders if item.material.code == shop.studio.sheet]
    assert sheet.order_by is not None
    text = calendar_file(shop.desk, 60).decode().replace("\r\n ", "")
    wanted = [
        part
        for part in text.split("BEGIN:VEVENT")
        if "SUMMARY:Order " in part and "Cast acrylic 3 mm" in part
    ]
    assert len(wanted) == 1
    lacking = sheet.line.known + sheet.line.repeats - sheet.line.stock
    assert lacking < sheet.line.units < 2 * lacking, "nobody knows the use: for this job alone"
    assert f"SUMMARY:Order {sheet.line.units} sheets of Cast acrylic 3 mm" in wanted[0]
    assert f"DTSTART;VALUE=DATE:{sheet.order_by:%Y%m%d}" in wanted[0]


def rows_for(shop: Workshop, material: str) -> list[Work]:
    return [
        row for row in state_of(shop).work if material in row.per_print or material in row.per_mount
    ]


def test_bare_prints_lose_nothing_at_a_mount(shop: Workshop) -> None:
    """A hundred small prints without a build: repeats of spoiled prints alone, one in a hundred."""
    shop.book("Bare", count=100, width_dmm=3_000, height_dmm=2_000, build=None)
    (row,) = rows_for(shop, shop.studio.paper)
    assert not row.mounted
    line = material_supply(shop.desk, shop.studio.paper).planned.line
    assert line.repeats < 0.03 * line.known


def test_what_comes_cut_to_size_is_wanted_no_more(shop: Workshop) -> None:
    """Forty pieces come cut to the very size of the job's sheets; ten of them are one job's."""
    shop.book("Large", count=40)
    (row,) = rows_for(shop, shop.studio.sheet)
    assert row.to_mount == 40
    placed(shop, 30, width_dmm=12_200, length_dmm=8_200)
    (row,) = rows_for(shop, shop.studio.sheet)
    assert row.to_mount == 10
    assert state_of(shop).on_order == (), "no full sheets"
    placed(shop, 30, width_dmm=12_200, length_dmm=8_200)
    assert rows_for(shop, shop.studio.sheet) == []


def test_what_a_customer_brought_is_not_bought(shop: Workshop) -> None:
    job = shop.book("Theirs", count=20)
    theirs = code_of(
        receiving.receive(
            shop.desk,
            receiving.Delivery(
                material=shop.studio.paper, place="Cold store", owner="customer",
                label_date=date(2026, 6, 1),
            ),
        ),
        "unit",
    )  # fmt: skip
    before = ware_of(shop, shop.studio.paper).life_days
    (row,) = rows_for(shop, shop.studio.paper)
    booking.put_by(shop.desk, theirs, job, 100_000)
    after = rows_for(shop, shop.studio.paper)
    each = row.per_print[shop.studio.paper]
    assert row.to_print - sum(one.to_print for one in after) == int(10.0 / each) > 0
    assert min(before) > 200, "a customer's short date is no life of ours"


def test_a_narrow_roll_is_no_length_of_the_material(shop: Workshop) -> None:
    shop.book(count=1)
    before = left_of(shop, shop.studio.paper)
    receiving.receive(
        shop.desk,
        receiving.Delivery(
            material=shop.studio.paper, place="Cold store", width_dmm=6_000, length_dmm=300_000
        ),
    )
    assert left_of(shop, shop.studio.paper) == before


def test_work_that_may_come_is_no_history_and_one_old_job_no_rate(shop: Workshop) -> None:
    for number in range(4):
        shop.book(f"Maybe {number}", certainty="maybe")
    assert state_of(shop).history == ()
    for number in range(4):
        shop.book(f"Sure {number}")
    days = state_of(shop).history_days
    old = shop.desk.today() - timedelta(days=2_000)
    shop.book("Old", print_on=old, due_on=old + timedelta(days=9))
    assert state_of(shop).history_days == days


def test_a_lead_time_beyond_all_measure_is_refused(shop: Workshop) -> None:
    with pytest.raises(BadValueError, match="Lead time: 3000000 days cannot be"):
        change_material(shop.desk, shop.studio.sheet, lead_days=3_000_000)


def test_a_receipt_is_not_corrected_to_before_its_order(shop: Workshop, now: Clock) -> None:
    shop.book()
    before = now()
    now.on(10)
    order = placed(shop, 6)
    now.on(5)
    comes(shop, order)
    with pytest.raises(RefusedError, match="nothing of it can have come"):
        counting.retime(shop.desk, _act_of(shop, "receive"), before)


def test_a_draft_is_written_down_as_ordered_at_the_price_of_its_quantity(shop: Workshop) -> None:
    desk = shop.desk
    change_material(desk, shop.studio.sheet, supplier="Tarn Sheets", price_cents=9_900)
    change_terms(desk, shop.studio.sheet, breaks=["4=90"])
    day = desk.today() + timedelta(days=9)
    shop.book("Large", count=80, print_on=day, due_on=day + timedelta(days=2))
    (draft,) = [one for one in plan_orders(desk).drafts if one.supplier == "Tarn Sheets"]
    (item,) = draft.due
    with pytest.raises(RefusedError, match="Nothing is due of 'Nobody'"):
        place_draft(desk, "Nobody")
    (done,) = place_draft(desk, "tarn sh")
    with desk.reading() as view:
        order = view.get(Order, done.born[0])
    assert order is not None
    assert (order.count, order.supplier) == (item.line.units, "Tarn Sheets")
    assert order.price_cents == 9_000
    again = [one for one in plan_orders(desk).drafts if one.supplier == "Tarn Sheets"]
    assert again == [] or again[0].due[0].line.units < item.line.units
