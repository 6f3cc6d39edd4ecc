"""What a desk keeps in mind never outlives its cause: answers are those of a desk that forgets."""

import random
from datetime import timedelta

import numpy as np
import pytest
from support.deeds import DEEDS, Doer, Seeded
from support.logs import log
from support.studio import DAY_S, MONDAY_S, Clock, furnish

from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.windows import gaps
from stockroom.core.records import Place, Unit
from stockroom.core.wording import range_text
from stockroom.desk.climate import readings, spells
from stockroom.desk.day import reckon_today
from stockroom.desk.lookup import everything, in_stock
from stockroom.desk.memory import Memory
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.work import booking


def answers(view, now_s, memory):
    """All that a desk answers: today, each unit's life, each spell's cost."""
    reckoning = Reckoning(view, now_s, "UTC", memory)
    day = reckon_today(reckoning)
    lives = {}
    for unit in reckoning.units.values():
        if reckoning.material_of(unit).traits.ages:
            usable = reckoning.usable_by(unit)
            lives[unit.code] = (
                usable.likely, usable.earliest, usable.latest, round(usable.used_days, 6),
                round(usable.filled_life, 6), [round(s.earlier_days, 4) for s in usable.spreads],
            )  # fmt: skip
    found = [
        (s.place.code, s.from_s, s.to_s, s.cause, [(x.unit, round(x.days, 6)) for x in s.losses])
        for s in spells.warm_spells(reckoning)
    ]
    prints = [
        (line.job, line.order_rolls, [(a.roll.unit, a.verdict) for a in line.answers.rolls])
        for line in day.prints
    ]
    rest = [
        [(item.unit, item.by) for item in day.take_out],
        [(item.unit, item.back_to) for item in day.put_back],
        [(item.unit, item.ends) for item in day.going_off],
        day.reorder, day.arrivals, day.units_in_stock, day.notices,
    ]  # fmt: skip
    return lives, found, prints, rest


def same(desk, now_s):
    """What it knows by heart is what one finds who looks everything up."""
    with desk.reading() as view:
        by_heart = answers(view, now_s, desk.memory)
        looked_up = answers(view, now_s, Memory())
    for known, found in zip(by_heart, looked_up, strict=True):
        assert known == found


@pytest.mark.parametrize(
    "seed", [0, 1, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(2, 8))]
)
def test_after_any_act_it_answers_as_one_that_forgets(desk, now, seed):
    """Random histories over all acts, undo and late times among them, asked after each."""
    clock = now
    furnish(desk)
    doer = Doer(desk, clock, Seeded(seed))
    rng = random.Random(seed)
    for _ in range(25):
        doer.tries(rng.choice(list(DEEDS)))
        clock.on(seconds=rng.choice([0, 60, 1800, DAY_S]))
        same(desk, clock())


def test_a_log_taken_in_and_withdrawn_changes_what_is_known(desk, now):
    """Readings, a set-point and a spell by hand each make the ages anew, and back again."""
    clock = now
    studio = furnish(desk)
    booking.book(desk, "Salt flats", 15_000, 10_000, desk.today() + timedelta(days=9), studio.paper)
    clock.on(12)
    same(desk, clock())
    taken = readings.take_in_readings(desk, "Cold store", log(10, (3, 30, 20.0)), "a.csv")
    same(desk, clock())
    handling.move(desk, [studio.roll], "Mounting room")
    clock.on(1)
    handling.move(desk, [studio.roll], "Cold store")
    clock.on(2)
    same(desk, clock())
    defining.change_place(desk, "Cold store", set_point_centi_c=700)
    same(desk, clock())
    spells.log_excursion(
        desk, "Cold store", last_right_s=clock() - 7200, highest_centi_c=1900, cause="repair"
    )
    same(desk, clock())
    readings.withdraw_readings(desk, _import_of(desk, taken))
    same(desk, clock())
    clock.on(400)
    same(desk, clock())


def _import_of(desk, taken):
    from stockroom.core.records import Import

    with desk.reading() as view:
        return next(i.code for i in everything(view, Import) if i.last_act <= taken.done.seq)


def test_only_what_was_touched_is_read_again(desk, now):
    """After a move all other records are the very same objects."""
    studio = furnish(desk)
    with desk.reading() as view:
        before = desk.memory.records(view)
        assert desk.memory.records(view) is before
    handling.move(desk, [studio.roll], "Mounting room")
    with desk.reading() as view:
        after = desk.memory.records(view)
    assert after.kinds["unit"][studio.roll] is not before.kinds["unit"][studio.roll]
    assert after.kinds["unit"][studio.pack] is before.kinds["unit"][studio.pack]
    assert after.kinds["place"] is before.kinds["place"]
    assert [stay.place for stay in after.stays[studio.roll]] == [studio.store, studio.room]


def test_another_store_in_its_place_is_noticed(tmp_path):
    """A store restored from an older state does not get the answers of the newer one."""
    clock = Clock(MONDAY_S)
    from stockroom.desk.session import Desk

    desks = []
    for name in ("a", "b"):
        desk = Desk.at(str(tmp_path / name), begin=True, now_s=clock)
        studio = furnish(desk)
        desks.append(desk)
    handling.move(desks[0], [studio.roll], "Mounting room")
    keeping_seq = handling.move(desks[0], [studio.roll], "Cold store").seq
    handling.move(desks[1], [studio.second_roll], "Mounting room")
    handling.move(desks[1], [studio.second_roll], "Cold store")
    handling.move(desks[1], [studio.second_roll], "Mounting room")
    memory = Memory()
    with desks[0].reading() as view:
        assert memory.records(view).seq == keeping_seq
    with desks[1].reading() as view:
        known = memory.records(view)
        assert known.all(Unit) == everything(view, Unit)
        assert known.all(Place) == everything(view, Place)
        assert len(known.stays[studio.second_roll]) == 4
        assert in_stock(view)


def test_a_time_constant_is_that_of_the_length_it_had(desk, now):
    """Paper used since does not make the roll of last month a thinner one."""
    clock = now
    studio = furnish(desk)
    clock.on(10)
    handling.move(desk, [studio.roll], "Mounting room")
    with desk.reading() as view:
        reckoning = Reckoning(view, clock(), "UTC", desk.memory)
        before = reckoning.visits(reckoning.units[studio.roll])
    clock.on(1)
    handling.use(desk, studio.roll, 400_000)
    clock.on(1)
    handling.move(desk, [studio.roll], "Cold store")
    with desk.reading() as view:
        reckoning = Reckoning(view, clock(), "UTC", desk.memory)
        after = reckoning.visits(reckoning.units[studio.roll])
    assert [visit.tau_s for visit in after[:2]] == [visit.tau_s for visit in before]
    assert after[2].tau_s < after[1].tau_s / 2


def test_an_older_answer_still_being_read_spoils_no_newer_one(desk, now):
    """A question asked before a move ends after it: the roll keeps the day of where it is."""
    studio = furnish(desk)
    now.on(30)
    with desk.reading() as view:
        older = Reckoning(view, now(), "UTC", desk.memory)
        older.prepare()
    handling.move(desk, [studio.roll], "Mounting room")
    with desk.reading() as view:
        newer = Reckoning(view, now(), "UTC", desk.memory)
        newer.prepare()
        older.usable_by(older.units[studio.roll])
        warm = newer.usable_by(newer.units[studio.roll]).likely
        cold = newer.usable_by(newer.units[studio.second_roll]).likely
    assert (cold - warm).days > 200


def test_a_gap_that_stays_open_is_judged_anew_each_day(desk, now):
    """First a power cut, after three days a place without a logger: as one that forgets has it."""
    studio = furnish(desk)
    soon = desk.today() + timedelta(days=6)
    receiving.receive(
        desk,
        Delivery(
            material="Satin colour paper 127", place="Cold store", number="E-9", label_date=soon
        ),
    )
    now.on(2)
    readings.take_in_readings(desk, "Cold store", log(2), "log.csv")
    for _ in range(9):
        now.on(0.75)
        same(desk, now())
    handling.move(desk, [studio.roll], "Mounting room")
    for _ in range(5):
        now.on(0.9)
        same(desk, now())


def test_what_was_taken_back_or_retimed_counts_when_it_happened(desk, now):
    """A use undone later leaves no trace in the lag; one retimed counts from its true time."""
    studio = furnish(desk)
    now.on(5)
    handling.use(desk, studio.roll, 400_000)
    now.on(5)
    counting.undo(desk)
    handling.move(desk, [studio.roll], "Mounting room", happened_s=now() - 3 * DAY_S)
    used = handling.use(desk, studio.second_roll, 400_000)
    handling.move(desk, [studio.second_roll], "Mounting room", happened_s=now() - DAY_S)
    counting.retime(desk, used.seq, now() - 4 * DAY_S)
    with desk.reading() as view:
        reckoning = Reckoning(view, now(), "UTC", desk.memory)
        whole = [v.tau_s for v in reckoning.visits(reckoning.units[studio.roll])]
        thin = [v.tau_s for v in reckoning.visits(reckoning.units[studio.second_roll])]
    assert whole[0] == whole[1] == thin[0]
    assert thin[1] < whole[1] / 2


def test_a_spent_roll_does_not_get_younger(desk, now):
    """What was discarded keeps its day, however long ago."""
    studio = furnish(desk)
    now.on(10)
    handling.discard(desk, studio.roll)
    days = []
    for _ in range(3):
        now.on(100)
        with desk.reading() as view:
            reckoning = Reckoning(view, now(), "UTC", desk.memory)
            days.append(reckoning.usable_by(reckoning.unit(studio.roll)).likely)
    assert days[0] == days[1] == days[2]


def test_two_loggers_in_turn_need_not_tick_alike(desk, now):
    """An hourly log stays a log when one of quarter hours follows it."""
    furnish(desk)
    start_s = now() - 40 * DAY_S
    hourly, often = (
        b"time,temp C\n" + b"".join(
            b"%s,%.1f\n" % (str(np.datetime64(at, "s")).encode(), 4 + at // step % 3 / 10)
            for at in range(begin, end, step)
        )
        for begin, end, step in (
            (start_s, start_s + 15 * DAY_S, 3600), (start_s + 15 * DAY_S, now(), 900),
        )
    )  # fmt: skip
    readings.take_in_readings(desk, "Cold store", hourly, "a.csv")
    readings.take_in_readings(desk, "Cold store", often, "b.csv")
    with desk.reading() as view:
        reckoning = Reckoning(view, now(), "UTC", desk.memory)
        (code,) = (p.code for p in reckoning.places.values() if p.name == "Cold store")
        found = gaps(reckoning.airs.readings(code), start_s, now())
        assert found == []
        course = believed(
            reckoning.airs.readings(code), start_s, now() - 900, PlaceClimate(4.0),
            usual=reckoning.airs.in_mind(code).steps,
        )  # fmt: skip
        assert not course.filled.any()


def test_days_out_are_told_only_where_they_are_counted(desk, now):
    """A roll put by for a print tells its days out of the cold; once out of it, there are none."""
    studio = furnish(desk)
    job = booking.book(
        desk, "Salt flats", 15_000, 10_000, desk.today() + timedelta(days=9), studio.paper
    )
    code = next(t.key for t in job.changes.touches if t.kind == "job")
    booking.put_by(desk, studio.roll, code, 20_000)
    now.on(1)
    with reckoned(desk) as reckoning:
        put_by = reckoning.usable_by(reckoning.units[studio.roll])
        other = reckoning.usable_by(reckoning.units[studio.second_roll])
    assert (put_by.days_out, other.days_out) == (2.0, 0.0)
    assert other.likely > put_by.likely
    assert "but for 2 days out of it, for prints" in range_text(put_by, "Cold store")[0]
    handling.move(desk, [studio.roll], "Mounting room")
    with reckoned(desk) as reckoning:
        assert reckoning.usable_by(reckoning.units[studio.roll]).days_out == 0
