"""An act is only taken back where nothing hangs on it, and no promise is made twice by it."""

from datetime import date

import pytest
from support.studio import Studio, code_of
from support.truths import see_truths

from stockroom.core.model import PutBy, Unit
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.work import booking
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Done
from stockroom.errors import UndoRefusedError


def last(studio: Studio, kind: str) -> int:
    """Return the number of the last act of a kind."""
    return next(x.act.seq for x in counting.trail(studio.desk) if x.act.kind == kind)


def booked(studio: Studio) -> tuple[Done, str]:
    done = booking.book(studio.desk, "Dunes", 25_000, 12_500, date(2026, 3, 9), studio.paper)
    return done, code_of(done, "job")


def see_refused(studio: Studio, seq: int, by: int, why: str) -> None:
    """The undo is refused: it says why, and names the act to undo first."""
    with pytest.raises(UndoRefusedError) as caught:
        counting.undo(studio.desk, seq)
    assert why in str(caught.value)
    assert f"Undo act {by} " in str(caught.value)
    see_truths(studio.desk)


def test_what_others_stand_on_is_not_taken_away(any_studio: Studio) -> None:
    s = any_studio
    see_refused(s, last(s, "material"), last(s, "receive"), "a batch stands on it")
    see_refused(s, 1, last(s, "receive") - 1, "a unit stands on it")
    job, code = booked(s)
    put = booking.put_by(s.desk, s.pack, code, 2)
    see_refused(s, job.seq, put.seq, "stock put by stands on it")
    see_refused(s, last(s, "receive"), put.seq, "stock put by stands on it")
    for seq in (put.seq, job.seq, last(s, "receive"), last(s, "material")):
        counting.undo(s.desk, seq)
    see_truths(s.desk)


def test_a_batch_with_a_later_delivery_is_not_taken_away(studio: Studio) -> None:
    first = receiving.receive(
        studio.desk, Delivery(material=studio.sheet, place=studio.room, number="B-9")
    )
    second = receiving.receive(
        studio.desk, Delivery(material=studio.sheet, place=studio.room, number="B-9")
    )
    see_refused(studio, first.seq, second.seq, "a unit stands on it")


def test_nothing_comes_back_without_what_it_needs(any_studio: Studio) -> None:
    s = any_studio
    board = defining.define_material(s.desk, "Backing board", "board", "sheet")
    code = code_of(board, "material")
    booked_on_it = booking.book(s.desk, "Dunes", 9_000, 9_000, date(2026, 3, 9), code)
    back = counting.undo(s.desk, booked_on_it.seq)
    gone = counting.undo(s.desk, board.seq)
    see_refused(s, back.seq, gone.seq, "the material it needs is gone")


def test_nothing_comes_back_under_a_name_that_is_taken(studio: Studio) -> None:
    s = studio
    rack = defining.define_place(s.desk, "Rack", "rack")
    back = counting.undo(s.desk, rack.seq)
    other = defining.define_place(s.desk, "Rack", "rack")
    see_refused(s, back.seq, other.seq, "another place has its name")
    renamed = defining.change_material(s.desk, s.paper, name="Satin 127")
    named_so = defining.define_material(s.desk, "Satin colour paper 127", "paper", "roll")
    see_refused(s, renamed.seq, named_so.seq, "another material has its name")


def test_what_was_let_go_is_not_promised_again_over_another(any_studio: Studio) -> None:
    s = any_studio
    _, code = booked(s)
    first = booking.put_by(s.desk, s.roll, code, 300_000)
    freed = booking.let_go(s.desk, code_of(first, "put_by"))
    second = booking.put_by(s.desk, s.roll, code, 300_000)
    see_refused(s, freed.seq, second.seq, "there would not be enough")
    counting.undo(s.desk, second.seq)
    counting.undo(s.desk, freed.seq)
    see_truths(s.desk)


def test_what_was_let_go_is_not_promised_of_a_unit_that_is_gone(studio: Studio) -> None:
    s = studio
    _, code = booked(s)
    put = booking.put_by(s.desk, s.roll, code, 300_000)
    closed = booking.close_job(s.desk, code, "cancelled")
    used = handling.use(s.desk, s.roll, 500_000)
    with pytest.raises(UndoRefusedError, match="there would not be enough"):
        counting.undo(s.desk, closed.seq)
    counting.undo(s.desk, used.seq)
    counting.undo(s.desk, closed.seq)
    with s.desk.reading() as view:
        again = view.get(PutBy, code_of(put, "put_by"))
    assert again is not None
    assert again.open
    see_truths(s.desk)


def test_what_was_found_again_and_put_by_is_not_unfound(studio: Studio) -> None:
    _, code = booked(studio)
    handling.use(studio.desk, studio.roll, 500_000)
    found = counting.count(studio.desk, studio.roll, 12_000)
    put = booking.put_by(studio.desk, studio.roll, code, 6_000)
    see_refused(studio, found.seq, put.seq, "there would not be enough")


def test_a_fact_may_be_taken_back_under_a_promise(studio: Studio) -> None:
    """An undo that only gives stock back, or leaves enough, needs no other act undone first."""
    _, code = booked(studio)
    used = handling.use(studio.desk, studio.roll, 29_000)
    booking.put_by(studio.desk, studio.roll, code, 58_000)
    counting.undo(studio.desk, used.seq)
    with studio.desk.reading() as view:
        roll = view.get(Unit, studio.roll)
    assert roll is not None
    assert roll.remaining_dmm == 500_000
    see_truths(studio.desk)


def test_a_promise_that_facts_had_overtaken_comes_back_as_it_stood(studio: Studio) -> None:
    """Closing a job frees what was put by; taken back at once, all is again as it was."""
    _, code = booked(studio)
    put = booking.put_by(studio.desk, studio.roll, code, 300_000)
    counting.count(studio.desk, studio.roll, 200_000, reason="measured")
    closed = booking.close_job(studio.desk, code, "cancelled")
    counting.undo(studio.desk, closed.seq)
    with studio.desk.reading() as view:
        again = view.get(PutBy, code_of(put, "put_by"))
    assert again is not None
    assert again.open
    see_truths(studio.desk)


def test_what_was_done_and_taken_back_in_between_is_in_nobodys_way(any_studio: Studio) -> None:
    """A move undone leaves the roll as it was: what was undone before it can be done again."""
    s = any_studio
    used = handling.use(s.desk, s.roll, 29_000)
    back = counting.undo(s.desk, used.seq)
    moved = handling.move(s.desk, [s.roll], "Printer magazine")
    see_refused(s, back.seq, moved.seq, "touches the same")
    counting.undo(s.desk, moved.seq)
    counting.undo(s.desk, back.seq)
    with s.desk.reading() as view:
        roll = view.get(Unit, s.roll)
    assert roll is not None
    assert roll.remaining_dmm == 471_000
    assert roll.last_act == used.seq
    see_truths(s.desk)


def test_the_act_to_undo_first_is_one_that_stands(studio: Studio) -> None:
    """What was moved and moved back by an undo hangs on its arrival, not on the undo."""
    moved = handling.move(studio.desk, [studio.pack], studio.room)
    counting.undo(studio.desk, moved.seq)
    see_refused(studio, last(studio, "material"), last(studio, "receive"), "stands on it")
    see_refused(studio, 2, last(studio, "receive"), "a unit stands on it")
