"""What is promised to one job is not free for the next, on the screen and when asked alone."""

from datetime import date

import pytest
from support.logs import log
from support.studio import DAY_S, Studio, code_of

from stockroom.core.model import Lot, Unit
from stockroom.desk.condition import checking
from stockroom.desk.stock import counting, defining, handling, opening_day, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering
from stockroom.desk.climate import readings, spells
from stockroom.desk.day import PrintLine, today
from stockroom.desk.stock.receiving import Delivery
from stockroom.errors import KeyReusedError, RefusedError

LIST = b"material,family,form,width_mm,length_m,place\nPearl,paper,roll,1118,9,Cold store\n"


def booked(s: Studio, name: str, day: int, count: int = 1, **more: object) -> str:
    done = booking.book(
        s.desk, name, 25_000, 12_500, date(2026, 3, day), s.paper, count=count, **more
    )  # type: ignore[arg-type]
    return code_of(done, "job")


def lines(s: Studio) -> dict[str, PrintLine]:
    return {line.job.name: line for line in today(s.desk).prints}


def answer(line: PrintLine) -> str:
    return line.answers.best.verdict.answer if line.answers.best else "none"


def left(s: Studio, first_m: float, second_m: float) -> None:
    for code, metres in ((s.roll, first_m), (s.second_roll, second_m)):
        counting.count(s.desk, code, round(metres * 10_000))


def test_putting_part_by_frees_nothing_of_what_the_job_needs(studio: Studio) -> None:
    left(studio, 7.0, 0)
    first = booked(studio, "A", 9, 2)
    booked(studio, "B", 10, 2)
    assert answer(lines(studio)["B"]) == "no"
    booking.put_by(studio.desk, studio.roll, first, 10_000)
    assert answer(lines(studio)["B"]) == "no"
    assert answer(lines(studio)["A"]) == "yes"


def test_what_goes_on_a_second_roll_is_counted_there(studio: Studio) -> None:
    left(studio, 7.0, 7.1)
    booked(studio, "A", 9, 4)
    booked(studio, "B", 10, 2)
    found = lines(studio)
    assert answer(found["A"]) == "yes"
    assert answer(found["B"]) == "no"


def test_asked_alone_it_answers_as_today_does(studio: Studio) -> None:
    left(studio, 7.0, 0)
    booked(studio, "A", 9, 2)
    job = booked(studio, "B", 10, 2)
    alone = checking.ok(studio.desk, job=job).best
    assert alone is not None
    assert alone.verdict.answer == answer(lines(studio)["B"]) == "no"
    wish = checking.ok(studio.desk, material=studio.paper, width_dmm=25_000, height_dmm=12_500,
                       day=date(2026, 3, 20))  # fmt: skip
    assert wish.best is not None
    assert wish.best.verdict.answer == "no"


def test_a_roll_of_another_paper_is_no_roll_for_the_job(studio: Studio) -> None:
    defining.define_material(studio.desk, "Gloss", "paper", "roll", width_dmm=12_700)
    done = receiving.receive(
        studio.desk, Delivery(material="Gloss", place="Cold store", length_dmm=300_000)
    )
    found = checking.ok(studio.desk, unit=code_of(done, "unit"), job=booked(studio, "A", 9))
    assert found.best is not None
    assert found.best.verdict.first.kind == "another paper"


def test_a_customers_stock_serves_only_the_customer(studio: Studio) -> None:
    theirs = receiving.receive(
        studio.desk,
        Delivery(material=studio.sheet, place=studio.room, count=5, owner="customer", number="K"),
    )
    roll = receiving.receive(
        studio.desk,
        Delivery(material=studio.paper, place=studio.store, owner="customer", number="K"),
    )
    ordering.tell_below(studio.desk, studio.sheet, 8)
    assert [line.have for line in today(studio.desk).reorder] == [6]
    taken, not_taken = one_cut.find_offcut(studio.desk, 6_200, 4_200)
    assert [item.unit.code for item in taken] == [studio.pack]
    assert {item.unit.code: item.why_not for item in not_taken} == {
        code_of(theirs, "unit"): "it belongs to a customer"
    }
    job = booked(studio, "A", 9)
    codes = {item.roll.unit.code for item in lines(studio)["A"].answers.rolls}
    assert codes == {studio.roll, studio.second_roll}
    booking.put_by(studio.desk, code_of(roll, "unit"), job)
    assert len(lines(studio)["A"].answers.rolls) == 3


def test_a_pack_that_is_all_put_by_is_not_offered(studio: Studio) -> None:
    job = booked(studio, "A", 9)
    booking.put_by(studio.desk, studio.pack, job, 5)
    assert one_cut.find_offcut(studio.desk, 6_200, 4_200)[0]
    booking.put_by(studio.desk, studio.pack, job, 1)
    taken, not_taken = one_cut.find_offcut(studio.desk, 6_200, 4_200)
    assert taken == []
    assert not_taken[0].why_not == "put by for A"


def test_film_past_its_date_does_not_count(studio: Studio) -> None:
    film = defining.define_material(
        studio.desk, "Film", "film", "roll", width_dmm=15_500, length_dmm=500_000, tell_below=1
    )
    receiving.receive(
        studio.desk,
        Delivery(material="Film", place="Mounting room", label_date=date(2026, 6, 1), number="F"),
    )
    assert code_of(film, "material") not in {
        line.material.code for line in today(studio.desk).reorder
    }
    later = today(studio.desk, date(2026, 6, 2))
    assert code_of(film, "material") in {line.material.code for line in later.reorder}


def test_paper_on_its_way_serves_the_job_that_lacks_it(studio: Studio) -> None:
    left(studio, 0, 0)
    booked(studio, "A", 9)
    assert lines(studio)["A"].order_rolls == 1
    ordering.order(studio.desk, studio.paper, 1)
    assert lines(studio)["A"].order_rolls == 0
    booked(studio, "B", 10, 20)
    assert lines(studio)["B"].order_rolls >= 1


def test_losses_in_the_books_ask_for_more_paper(studio: Studio) -> None:
    left(studio, 0, 0)
    job = booked(studio, "A", 9, 10)
    before = lines(studio)["A"].order_rolls
    for _ in range(12):
        handling.lose(studio.desk, studio.pack, 1, "bad print", job=job, prints=1)
    assert lines(studio)["A"].order_rolls > before


def test_a_fact_that_eats_what_was_put_by_is_booked_and_said(any_studio: Studio) -> None:
    s = any_studio
    first, other = booked(s, "A", 9), booked(s, "B", 10)
    booking.put_by(s.desk, s.roll, first, 490_000)
    done = handling.use(s.desk, s.roll, 480_000, job=other)
    assert f"{s.roll}: 49.0 m is put by for A, but only 2.0 m is left." in done.said


def test_what_was_taken_back_is_not_done_again_by_a_repeat(any_studio: Studio) -> None:
    s = any_studio
    used = handling.use(s.desk, s.roll, 29_000, key="form")
    counting.undo(s.desk, used.seq)
    with pytest.raises(KeyReusedError, match="taken back"):
        handling.use(s.desk, s.roll, 29_000, key="form")


def test_a_file_whose_act_was_taken_back_can_come_again(any_studio: Studio) -> None:
    s = any_studio
    for _ in range(2):
        done = opening_day.take_in_stock_list(s.desk, LIST, "stock.csv")
        assert not done.repeated
        assert opening_day.take_in_stock_list(s.desk, LIST, "stock.csv").repeated
        counting.undo(s.desk, done.seq)
    rows = "\n".join(f"2026-03-02T0{h}:00:00Z,4.0" for h in range(9))
    log = f"time,temperature °C\n{rows}\n".encode()
    for _ in range(2):
        taken = readings.take_in_readings(s.desk, "Cold store", log, "log.csv")
        assert not taken.done.repeated
        counting.undo(s.desk, taken.done.seq)


def test_a_batch_learns_its_dates_from_a_later_label(any_studio: Studio) -> None:
    s = any_studio
    receiving.receive(s.desk, Delivery(material=s.paper, place=s.store, number="N-1"))
    receiving.receive(
        s.desk,
        Delivery(material=s.paper, place=s.store, number="N-1", label_date=date(2027, 5, 1),
                 made_on=date(2025, 5, 1)),
    )  # fmt: skip
    with s.desk.reading() as view:
        from stockroom.desk.lookup import find

        lot = find(view, Lot, "N-1")
    assert (lot.made_on, lot.label_date) == (date(2025, 5, 1), date(2027, 5, 1))
    with pytest.raises(RefusedError, match="another label date"):
        receiving.receive(
            s.desk,
            Delivery(material=s.paper, place=s.store, number="N-1", label_date=date(2027, 6, 1)),
        )


def test_short_dated_and_damaged_arrivals_are_taken_in_on_hold(studio: Studio) -> None:
    done = receiving.receive(
        studio.desk,
        Delivery(material=studio.paper, place=studio.store, number="S",
                 label_date=date(2026, 4, 1), damaged=True),
    )  # fmt: skip
    with studio.desk.reading() as view:
        unit = view.get(Unit, code_of(done, "unit"))
    assert unit is not None
    assert unit.held == "came damaged; short-dated when it came, 30 days left"
    checking.judge_strip(studio.desk, unit.code, "yellow")
    with studio.desk.reading() as view:
        unit = view.get(Unit, unit.code)
    assert unit is not None
    assert str(unit.held).startswith("came damaged")
    assert str(unit.held).endswith("yellow strip")


def test_a_receipt_cannot_be_retimed_past_a_later_move(studio: Studio) -> None:
    with studio.desk.reading() as view:
        roll = view.get(Unit, studio.roll)
    assert roll is not None
    studio.desk.now_s.on(5)  # type: ignore[attr-defined]
    handling.move(studio.desk, [studio.roll], "Printer magazine")
    studio.desk.now_s.on(5)  # type: ignore[attr-defined]
    with pytest.raises(RefusedError):
        counting.retime(studio.desk, roll.received_act, roll.received_s + 8 * DAY_S)


def test_a_roll_out_for_an_hour_in_a_warm_spell_pays_for_the_rest(studio: Studio) -> None:
    start = studio.desk.now_s()
    studio.desk.now_s.on(4)  # type: ignore[attr-defined]
    handling.move(studio.desk, [studio.second_roll], "Mounting room")
    handling.move(
        studio.desk, [studio.second_roll], "Cold store", happened_s=studio.desk.now_s() + 3600
    )
    studio.desk.now_s.on(6)  # type: ignore[attr-defined]
    readings.take_in_readings(studio.desk, "Cold store", log(10, (3, 48, 20.0)), "log.csv")
    with studio.desk.reading() as view:
        from stockroom.desk.reckoning import Reckoning

        (spell,) = spells.warm_spells(Reckoning(view, studio.desk.now_s(), "UTC"))
    lost = {loss.unit.code: loss.days for loss in spell.losses}
    assert lost[studio.second_roll] > 0.75 * lost[studio.roll]
    assert start < spell.from_s
