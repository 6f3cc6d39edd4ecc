"""Every stock act does what a person would expect, on each database, and the books add up."""

from datetime import date

import pytest
from support.studio import DAY_S, Studio, code_of

from stockroom.core.model import Job, Lot, PutBy, Stay, Unit
from stockroom.desk.stock import counting, handling, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk import keeping
from stockroom.desk.work import booking
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.stock.receiving import Delivery
from stockroom.errors import (
    BadValueError,
    KeyReusedError,
    RefusedError,
    UndoRefusedError,
    UnknownCodeError,
)


def unit(studio: Studio, code: str) -> Unit:
    with studio.desk.reading() as view:
        found = view.get(Unit, code)
    assert found is not None
    return found


def checked(studio: Studio) -> None:
    report = keeping.check(studio.desk)
    assert report.faults == ()


def book(studio: Studio, name: str = "Salt flats") -> str:
    done = booking.book(studio.desk, name, 25_000, 12_500, date(2026, 3, 9), studio.paper)
    return code_of(done, "job")


def test_a_life_of_acts_refolds_to_the_same_books(any_studio: Studio) -> None:
    s, desk = any_studio, any_studio.desk
    job = book(s)
    put = code_of(booking.put_by(desk, s.roll, job, 58_000), "put_by")
    handling.move(desk, [s.roll, s.second_roll], "Printer magazine")
    handling.open_unit(desk, s.roll)
    handling.use(desk, s.roll, 29_000, job=job, good=1)
    handling.rebag(desk, s.roll)
    handling.lose(desk, s.second_roll, 15_000, "dented core")
    counting.count(desk, s.second_roll, 480_000, reason="measured", plus_minus_dmm=500)
    cut = one_cut.cut(
        desk, s.pack, pieces=[Part(25_000, 12_500)], offcuts=[Part(30_500, 7_700)], job=job
    )
    offcut = code_of(cut, "unit")
    handling.discard(desk, offcut, reason="scratched")
    handling.hold(desk, "E-7731", "complaint from another studio", batch=True)
    handling.release(desk, "E-7731", batch=True)
    handling.return_unit(desk, s.second_roll)
    assert unit(s, s.roll).remaining_dmm == 471_000
    assert unit(s, s.second_roll).state == "returned"
    assert unit(s, s.pack).count == 5
    assert unit(s, offcut).state == "discarded"
    with desk.reading() as view:
        left = view.get(PutBy, put)
        assert left is not None
        assert left.qty == 29_000 * 12_700
    checked(s)


def test_more_used_than_the_books_hold_is_booked_with_what_was_found(any_studio: Studio) -> None:
    s = any_studio
    counting.count(s.desk, s.roll, 22_000)
    done = handling.use(s.desk, s.roll, 29_000)
    kinds = {m.kind: m.qty for m in done.changes.movements}
    assert kinds == {"found": 7_000 * 12_700, "used": 29_000 * 12_700}
    assert unit(s, s.roll).state == "used"
    checked(s)


def test_a_finished_roll_can_be_found_again(studio: Studio) -> None:
    handling.use(studio.desk, studio.roll, 500_000)
    assert unit(studio, studio.roll).ended_s is not None
    counting.count(studio.desk, studio.roll, 12_000, reason="there was some on the core")
    assert unit(studio, studio.roll).state == "in stock"
    assert unit(studio, studio.roll).ended_s is None
    checked(studio)


def test_promises_are_refused_where_facts_are_not(any_studio: Studio) -> None:
    s = any_studio
    job = book(s)
    booking.put_by(s.desk, s.roll, job, 400_000)
    with pytest.raises(RefusedError, match="not that much free"):
        booking.put_by(s.desk, s.roll, job, 200_000)
    handling.hold(s.desk, s.second_roll, "dented")
    with pytest.raises(RefusedError, match="on hold"):
        booking.put_by(s.desk, s.second_roll, job)
    handling.lose(s.desk, s.roll, None, "fogged outer wraps")
    with pytest.raises(RefusedError, match="not in stock"):
        booking.put_by(s.desk, s.roll, job)
    checked(s)


def test_undo_restores_and_names_what_stands_in_its_way(any_studio: Studio) -> None:
    s = any_studio
    before = unit(s, s.roll)
    used = handling.use(s.desk, s.roll, 29_000)
    moved = handling.move(s.desk, [s.roll], "Printer magazine")
    with pytest.raises(UndoRefusedError, match=f"[Aa]ct {moved.seq}"):
        counting.undo(s.desk, used.seq)
    counting.undo(s.desk, moved.seq)
    undone = counting.undo(s.desk, used.seq)
    assert unit(s, s.roll) == before
    with pytest.raises(UndoRefusedError, match="taken back already"):
        counting.undo(s.desk, used.seq)
    counting.undo(s.desk, undone.seq)
    assert unit(s, s.roll).remaining_dmm == 471_000
    with pytest.raises(UndoRefusedError, match="done again"):
        counting.undo(s.desk, used.seq)
    with pytest.raises(UnknownCodeError):
        counting.undo(s.desk, 999)
    checked(s)


def test_what_was_born_by_an_undone_act_is_gone(any_studio: Studio) -> None:
    s = any_studio
    done = receiving.receive(s.desk, Delivery(material=s.sheet, place=s.room, count=2, number="Q"))
    code = code_of(done, "unit")
    counting.undo(s.desk)
    with s.desk.reading() as view:
        assert view.get(Unit, code) is None
        assert view.stays(code) == []
    checked(s)


def test_a_corrected_time_rebuilds_the_stay(any_studio: Studio) -> None:
    s = any_studio
    start = unit(s, s.roll).received_s
    s.desk.now_s.on(20)  # type: ignore[attr-defined]
    moved = handling.move(s.desk, [s.roll], "Printer magazine")
    counting.retime(s.desk, moved.seq, start + 5 * DAY_S, reason="it was moved the week before")
    with s.desk.reading() as view:
        stays = sorted(view.stays(s.roll), key=lambda stay: stay.from_s)
    assert [(stay.from_s, stay.to_s) for stay in stays] == [
        (start, start + 5 * DAY_S),
        (start + 5 * DAY_S, None),
    ]
    line = next(x for x in counting.trail(s.desk) if x.act.seq == moved.seq)
    assert line.occurred_s == start + 5 * DAY_S
    assert line.act.occurred_s == start + 20 * DAY_S
    checked(s)


def test_yesterdays_move_entered_late_lies_where_it_happened(studio: Studio) -> None:
    start = unit(studio, studio.roll).received_s
    studio.desk.now_s.on(10)  # type: ignore[attr-defined]
    handling.move(studio.desk, [studio.roll], "Mounting room")
    handling.move(studio.desk, [studio.roll], "Printer magazine", happened_s=start + DAY_S)
    assert unit(studio, studio.roll).place == studio.room
    with studio.desk.reading() as view:
        stays: list[Stay] = sorted(view.stays(studio.roll), key=lambda stay: stay.from_s)
    assert [stay.place for stay in stays] == [studio.store, studio.magazine, studio.room]
    checked(studio)


def test_the_same_key_is_a_repeat_or_a_refusal(any_studio: Studio) -> None:
    s = any_studio
    first = handling.use(s.desk, s.roll, 29_000, key="form-1")
    again = handling.use(s.desk, s.roll, 29_000, key="form-1")
    assert again.repeated
    assert again.seq == first.seq
    assert unit(s, s.roll).remaining_dmm == 471_000
    with pytest.raises(KeyReusedError, match="act"):
        handling.use(s.desk, s.roll, 28_000, key="form-1")


def test_expired_arrivals_are_taken_in_on_hold(studio: Studio) -> None:
    done = receiving.receive(
        studio.desk,
        Delivery(
            material=studio.paper, place=studio.store, number="OLD", label_date=date(2026, 1, 1)
        ),
    )
    assert "label date" in str(unit(studio, code_of(done, "unit")).held)


def test_two_unknown_batches_are_two(studio: Studio) -> None:
    for _ in range(2):
        receiving.receive(studio.desk, Delivery(material=studio.paper, place=studio.store))
    receiving.receive(
        studio.desk, Delivery(material=studio.paper, place=studio.store, number="E-7731")
    )
    with studio.desk.reading() as view:
        from stockroom.desk.lookup import everything

        lots = [lot for lot in everything(view, Lot) if lot.material == studio.paper]
    assert sorted(lot.number for lot in lots) == ["E-7731", "unknown", "unknown"]


def test_a_cut_that_makes_more_than_was_cut_is_refused(studio: Studio) -> None:
    with pytest.raises(RefusedError, match="come to more"):
        one_cut.cut(studio.desk, studio.pack, offcuts=[Part(30_500, 20_300), Part(10, 10)])
    assert unit(studio, studio.pack).count == 6
    checked(studio)


def test_a_mistyped_code_names_the_nearest(studio: Studio) -> None:
    wrong = studio.roll[:-1] + str((int(studio.roll[-1]) + 1) % 10)
    with pytest.raises(UnknownCodeError) as caught:
        handling.open_unit(studio.desk, wrong)
    assert studio.roll in caught.value.nearest
    assert "check digit" in str(caught.value)


def test_job_counts_follow_prints(studio: Studio) -> None:
    job = book(studio)
    handling.lose(studio.desk, studio.roll, 29_000, "yellow whites", job=job, prints=1)
    handling.use(studio.desk, studio.roll, 29_000, job=job, good=1)
    booking.close_job(studio.desk, job, "done")
    with studio.desk.reading() as view:
        found = view.get(Job, job)
    assert found is not None
    assert (found.good, found.lost, found.state) == (1, 1, "done")


@pytest.mark.parametrize("amount", [0, -5, 10**12])
def test_amounts_that_cannot_be_are_refused(studio: Studio, amount: int) -> None:
    with pytest.raises(BadValueError):
        handling.use(studio.desk, studio.roll, amount)
