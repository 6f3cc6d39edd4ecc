"""What a person does in one go is one transaction: decided under the lock, whole, undone whole."""

import threading
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta

import pytest
from support.workshop import Workshop

from stockroom.core.act_wording import act_brief
from stockroom.core.card import Card
from stockroom.core.model import Order, Place, PutBy
from stockroom.desk.work import attempts, jobs, booking
from stockroom.desk.cutting import cards
from stockroom.desk.stock import counting, defining
from stockroom.desk import keeping
from stockroom.desk.orders import ordering
from stockroom.desk.orders.claims import confirm_order
from stockroom.desk.cutting.sheets import CutsSaid, plan_cuts
from stockroom.desk.work.jobs import JobSaid
from stockroom.desk.lookup import everything
from stockroom.desk.orders.plan import place_draft
from stockroom.desk.session import Desk, Done
from stockroom.errors import (
    BadValueError,
    KeyReusedError,
    OrderedMeanwhileError,
    RefusedError,
    StockroomError,
)

PEOPLE = 6


def sold_by_two(shop: Workshop) -> None:
    """Sheets and boards of one supplier, and work that takes more than there is."""
    for code in (shop.studio.sheet, shop.board):
        defining.change_material(shop.desk, code, supplier="Tarn Sheets", price_cents=9_900)
    day = shop.desk.today() + timedelta(days=9)
    shop.book("Large", count=80, print_on=day, due_on=day + timedelta(days=2))


def orders(shop: Workshop) -> list[Order]:
    with shop.desk.reading() as view:
        return everything(view, Order)


def at_once(shop: Workshop, act: Callable[[Desk], object]) -> list[str]:
    """Let several people, each at a desk of their own, do the same at once; say what came of it."""
    desks = [
        Desk.at(_store(shop.desk), actor=f"p{number}", now_s=shop.desk.now_s)
        for number in range(PEOPLE)
    ]
    ready, said = threading.Barrier(PEOPLE), []

    def one(desk: Desk) -> None:
        ready.wait()
        try:
            act(desk)
            said.append("done")
        except StockroomError as error:
            said.append(type(error).__name__)

    people = [threading.Thread(target=one, args=(desk,)) for desk in desks]
    for person in people:
        person.start()
    for person in people:
        person.join()
    for desk in desks:
        desk.close()
    return sorted(said)


def _store(desk: Desk) -> str:
    url = desk.engine.url
    if url.get_backend_name() == "sqlite":
        assert url.database is not None
        return url.database
    return url.render_as_string(hide_password=False)


def test_six_prints_at_once_of_one_piece_are_one_print(any_shop: Workshop) -> None:
    """As one after another: the second finds that all pieces have their print."""
    job = any_shop.book(count=1)
    said = at_once(any_shop, lambda desk: attempts.record(desk, job, good=True, stage="print"))
    assert said == ["RefusedError"] * (PEOPLE - 1) + ["done"]
    assert len(any_shop.pieces(job)) == any_shop.job(job).good == 1


def test_six_mounts_at_once_draw_stock_once(any_shop: Workshop) -> None:
    job = any_shop.book(count=1)
    attempts.record(any_shop.desk, job, good=True, stage="print")
    attempts.record(any_shop.desk, job, good=True, stage="look")
    said = at_once(any_shop, lambda desk: attempts.record(desk, job, good=True, stage="mount"))
    assert said == ["RefusedError"] * (PEOPLE - 1) + ["done"]
    assert sum(used.part == "sheet" for used in any_shop.used()) == 1
    assert not keeping.check(any_shop.desk).faults


def test_six_people_send_one_draft(any_shop: Workshop) -> None:
    sold_by_two(any_shop)
    said = at_once(any_shop, lambda desk: place_draft(desk, "Tarn Sheets"))
    assert said.count("done") == 1
    assert len({order.material for order in orders(any_shop)}) == len(orders(any_shop))


def test_a_refusal_half_way_leaves_nothing(any_shop: Workshop) -> None:
    desk = any_shop.desk
    before = keeping.state(desk)

    def do(_bench: object) -> list[Done]:
        defining.define_place(desk, "Rack 1", "rack")
        return [jobs.book(desk, JobSaid(name="", width_dmm=1, height_dmm=1))]

    with pytest.raises(BadValueError):
        desk.as_one({"what": 1}, do)
    assert keeping.state(desk) == before
    defining.define_place(desk, "Rack 1", "rack")
    assert not keeping.check(desk).faults


def test_what_was_seen_of_acts_that_do_not_stand_is_forgotten(shop: Workshop) -> None:
    """The memory read a job inside a transaction that was refused afterwards."""
    desk = shop.desk

    def refused_at_last() -> None:
        with desk.deciding():
            job = shop.book("Never")
            assert attempts.plan_try(desk, job).job.name == "Never"
            raise RefusedError("not today")

    with pytest.raises(RefusedError, match="not today"):
        refused_at_last()
    again = shop.book("Other")
    assert attempts.plan_try(desk, again).job.name == "Other"


def test_a_draft_is_not_sent_twice_in_a_day(any_shop: Workshop) -> None:
    sold_by_two(any_shop)
    place_draft(any_shop.desk, "Tarn Sheets")
    with pytest.raises(RefusedError, match="was ordered today"):
        place_draft(any_shop.desk, "Tarn Sheets", along=True)
    assert len(orders(any_shop)) == 2


def test_more_is_ordered_the_same_day_where_that_is_said(shop: Workshop) -> None:
    sold_by_two(shop)
    place_draft(shop.desk, "Tarn Sheets")
    more = shop.desk.today() + timedelta(days=9)
    shop.book("More", count=200, print_on=more, due_on=more + timedelta(days=2))
    with pytest.raises(RefusedError, match="was ordered today"):
        place_draft(shop.desk, "Tarn Sheets")
    assert place_draft(shop.desk, "Tarn Sheets", again=True)


def test_what_was_cancelled_today_may_be_ordered_today(shop: Workshop) -> None:
    sold_by_two(shop)
    first, _ = place_draft(shop.desk, "Tarn Sheets")
    ordering.cancel_order(shop.desk, first.born[0])
    (again,) = place_draft(shop.desk, "Tarn Sheets")
    assert again.kind == "order"


def test_a_command_under_the_same_key_is_done_once(any_shop: Workshop) -> None:
    sold_by_two(any_shop)
    first = place_draft(any_shop.desk, "Tarn Sheets", key="morning")
    again = place_draft(any_shop.desk, "Tarn Sheets", key="morning")
    assert [one.seq for one in again] == [one.seq for one in first]
    assert all(one.repeated for one in again)
    with any_shop.desk.reading() as view:
        acts = [view.act(one.seq) for one in first]
    assert [act.key for act in acts if act] == ["morning/1", "morning/2"]


def test_the_same_key_for_another_command_is_refused(shop: Workshop) -> None:
    sold_by_two(shop)
    place_draft(shop.desk, "Tarn Sheets", key="morning")
    with pytest.raises(KeyReusedError):
        place_draft(shop.desk, "Tarn Sheets", again=True, key="morning")
    defining.define_place(shop.desk, "Rack 1", "rack", key="rack")
    with pytest.raises(KeyReusedError):
        place_draft(shop.desk, "Tarn Sheets", again=True, key="rack")


def test_a_command_keeps_its_key_from_what_is_done_alone(shop: Workshop) -> None:
    sold_by_two(shop)
    place_draft(shop.desk, "Tarn Sheets", key="morning")
    with pytest.raises(KeyReusedError):
        defining.define_place(shop.desk, "Rack 1", "rack", key="morning")
    assert all(one.repeated for one in place_draft(shop.desk, "Tarn Sheets", key="morning"))


def test_undo_under_the_same_key_takes_back_one_act(any_shop: Workshop) -> None:
    """Without a number, too: a repeat does not take aim at the next act."""
    for number in (1, 2):
        defining.define_place(any_shop.desk, f"Rack {number}", "rack")
    first = counting.undo(any_shop.desk, key="back")
    again = counting.undo(any_shop.desk, key="back")
    assert (again.seq, again.repeated) == (first.seq, True)
    with any_shop.desk.reading() as view:
        names = {place.name for place in everything(view, Place)}
    assert "Rack 1" in names
    assert "Rack 2" not in names


def test_what_a_draft_leaves_out_is_said(shop: Workshop) -> None:
    sold_by_two(shop)
    ordering.order(shop.desk, shop.studio.sheet, 1)
    (done,) = place_draft(shop.desk, "Tarn Sheets")
    assert "Left out, since some was ordered today" in " ".join(done.said)
    assert "--again" in " ".join(done.said)


def test_a_reading_does_not_wait_for_who_waits_for_the_lock(shop: Workshop) -> None:
    """A screen goes on reading while an act of its own stands in the queue."""
    from stockroom.store.engine import writing

    desk, waiting, read = shop.desk, threading.Event(), threading.Event()

    def act() -> None:
        waiting.set()
        defining.define_place(desk, "Rack 1", "rack")

    def look() -> None:
        with desk.reading():
            read.set()

    with writing(desk.engine):  # somebody else holds it
        people = [threading.Thread(target=work) for work in (act, look)]
        people[0].start()
        waiting.wait()
        time.sleep(0.1)
        people[1].start()
        assert read.wait(5)
    for person in people:
        person.join()


def test_what_was_read_before_does_not_decide(shop: Workshop) -> None:
    with shop.desk.reading(), pytest.raises(RuntimeError, match="reading of before"):
        defining.define_place(shop.desk, "Rack 1", "rack")


def test_a_refusal_that_is_passed_over_stops_the_whole(shop: Workshop) -> None:
    """Half an act must not stand because somebody went on after its refusal."""
    desk = shop.desk
    before = keeping.state(desk)

    def passed_over() -> None:
        with desk.deciding():
            defining.define_place(desk, "Rack 1", "rack")
            with suppress(BadValueError):
                jobs.book(desk, JobSaid(name="", width_dmm=1, height_dmm=1, material="x"))
            with suppress(RefusedError):
                attempts.record(desk, "Rack 1", good=True)

    with pytest.raises((RuntimeError, StockroomError)):
        passed_over()
    assert keeping.state(desk) == before


def test_nobody_gives_a_key_out_of_a_command(shop: Workshop) -> None:
    with pytest.raises(BadValueError, match="cannot be used"):
        defining.define_place(shop.desk, "Rack 1", "rack", key="morning/2")


def test_undoing_one_act_of_a_command_takes_all_of_it_back(any_shop: Workshop) -> None:
    sold_by_two(any_shop)
    first, second = place_draft(any_shop.desk, "Tarn Sheets")
    undone = counting.undo(any_shop.desk, first.seq)
    assert orders(any_shop) == []
    assert len(undone.said) >= 2
    counting.undo(any_shop.desk, undone.seq)  # and again: the undoing is one command too
    assert len(orders(any_shop)) == 2
    with pytest.raises(StockroomError, match="taken back"):
        counting.undo(any_shop.desk, second.seq)
    assert not keeping.check(any_shop.desk).faults


def test_a_command_is_not_undone_by_half(shop: Workshop) -> None:
    """One of its orders was moved since, so neither can be taken back alone."""
    sold_by_two(shop)
    first, second = place_draft(shop.desk, "Tarn Sheets")
    later = shop.desk.today() + timedelta(days=60)
    confirm_order(shop.desk, second.born[0], expected_on=later)
    with pytest.raises(StockroomError, match="cannot be undone yet"):
        counting.undo(shop.desk, first.seq)
    assert len(orders(shop)) == 2


def test_plans_of_two_materials_are_accepted_together_or_not_at_all(shop: Workshop) -> None:
    job = shop.book("Small", count=1, width_dmm=6_000, height_dmm=4_000)
    works = plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=60))
    assert len(works) == 2
    cards.accept_cuts(shop.desk, works[1])
    with pytest.raises(RefusedError, match="came or went since"):
        cards.accept_all_cuts(shop.desk, works, {"accept": 1})
    with shop.desk.reading() as view:
        assert {card.material for card in everything(view, Card)} == {works[1].material.code}


def test_two_accepted_plans_are_taken_back_by_one_undo(shop: Workshop) -> None:
    job = shop.book("Small", count=1, width_dmm=6_000, height_dmm=4_000)
    said = CutsSaid(jobs=(job,), effort=60)
    accepted = cards.accept_planned(shop.desk, said, key="cuts")
    assert len(accepted.done) == len(accepted.works) == 2
    again = cards.accept_planned(shop.desk, said, key="cuts")
    assert all(one.repeated for one in again.done)
    assert [view.card.code for view in again.cards] == [view.card.code for view in accepted.cards]
    counting.undo(shop.desk, accepted.done[0].seq)
    with shop.desk.reading() as view:
        assert everything(view, Card) == []


def test_a_plan_for_a_job_that_changed_since_is_refused(shop: Workshop) -> None:
    job = shop.book("Small", count=2, width_dmm=6_000, height_dmm=4_000)
    (work, _) = plan_cuts(shop.desk, CutsSaid(jobs=(job,), effort=60))
    jobs.change_job(shop.desk, job, JobSaid(count=1))
    with pytest.raises(RefusedError, match="changed since"):
        cards.accept_cuts(shop.desk, work)
    booking.close_job(shop.desk, job, "cancelled")
    with pytest.raises(RefusedError, match="changed since"):
        cards.accept_cuts(shop.desk, work)


def test_nothing_is_put_by_for_a_job_that_is_over(shop: Workshop) -> None:
    job = shop.book()
    booking.close_job(shop.desk, job, "cancelled")
    with pytest.raises(RefusedError, match="is cancelled"):
        booking.put_by(shop.desk, shop.studio.pack, job, 1)


def test_what_was_let_go_is_not_let_go_again(shop: Workshop) -> None:
    job = shop.book()
    booking.put_by(shop.desk, shop.studio.pack, job, 1)
    with shop.desk.reading() as view:
        (put,) = everything(view, PutBy)
    booking.let_go(shop.desk, put.code)
    with pytest.raises(RefusedError, match="not reserved"):
        booking.let_go(shop.desk, put.code)


def test_what_somebody_ordered_meanwhile_is_told_before_it_is_ordered_again(
    any_shop: Workshop,
) -> None:
    """Two forms were open on the same suggestion."""
    sheet = any_shop.studio.sheet
    first = ordering.order(any_shop.desk, sheet, 2, known=frozenset())
    with pytest.raises(OrderedMeanwhileError, match="2 of Cast acrylic 3 mm were ordered") as told:
        ordering.order(any_shop.desk, sheet, 2, known=frozenset())
    assert told.value.orders == {first.born[0]}
    ordering.order(any_shop.desk, sheet, 2, known=told.value.orders)
    assert len(orders(any_shop)) == 2


def test_the_history_tells_what_belongs_together(shop: Workshop) -> None:
    sold_by_two(shop)
    first, second = place_draft(shop.desk, "Tarn Sheets")
    lines = {line.act.seq: line.together for line in counting.trail(shop.desk)}
    assert (lines[first.seq], lines[second.seq]) == ((second.seq,), (first.seq,))
    assert lines[first.seq - 1] == ()


def test_undo_without_a_number_goes_on_after_a_redo(shop: Workshop) -> None:
    sold_by_two(shop)
    first, _ = place_draft(shop.desk, "Tarn Sheets")
    undone = counting.undo(shop.desk)
    counting.undo(shop.desk, undone.seq)
    counting.undo(shop.desk)
    assert orders(shop) == []
    assert first.seq not in {line.act.seq for line in counting.trail(shop.desk, 2)}


def test_a_customer_that_an_undo_does_not_bring_back_is_said(shop: Workshop) -> None:
    job = shop.book(client="The harbour gallery")
    changed = jobs.change_job(shop.desk, job, JobSaid(client="Wrong & Co"))
    assert "It was written down as: The harbour gallery." in " ".join(changed.said)
    assert "stays as it is written now" in " ".join(counting.undo(shop.desk).said)


def test_erasing_what_is_not_there_is_no_success(shop: Workshop) -> None:
    job = shop.book(client="The harbour gallery")
    assert jobs.erase_client(shop.desk, job).there
    assert not jobs.erase_client(shop.desk, job).there


def test_an_order_is_named_by_its_own_code_and_number(shop: Workshop) -> None:
    done = ordering.order(shop.desk, shop.studio.sheet, 3)
    (line,) = counting.trail(shop.desk, 1)
    assert act_brief(line.act) == f"order {done.born[0]}, 3 of {shop.studio.sheet}"
