"""Logger files and warm spells: taken in once, costed per roll, guessed worst until logged."""

import pytest
from support.logs import START_S, log
from support.studio import DAY_S, Studio

from stockroom.core.climate.ageing import rate
from stockroom.core.model import Import
from stockroom.desk.stock import handling
from stockroom.desk import keeping
from stockroom.desk.climate import readings, spells
from stockroom.desk.lookup import everything
from stockroom.desk.reckoning import Reckoning
from stockroom.errors import BadValueError, ImportProblem, RefusedError
from stockroom.store.blocks import read_place


def reckoning(studio: Studio) -> Reckoning:
    with studio.desk.reading() as view:
        made = Reckoning(view, studio.desk.now_s(), "UTC")
        for unit in made.units.values():
            if unit.form == "roll":
                made.usable_by(unit)
        made.spells = spells.warm_spells(made)  # type: ignore[attr-defined]
        return made


def later(studio: Studio, days: float) -> None:
    studio.desk.now_s.on(days)  # type: ignore[attr-defined]


def test_used_life_comes_from_the_log(any_studio: Studio) -> None:
    s = any_studio
    later(s, 30)
    readings.take_in_readings(s.desk, "Cold store", log(30), "log.csv")
    made = reckoning(s)
    roll = made.units[s.roll]
    used = made.usable_by(roll)
    assert used.used_days == pytest.approx(30 * rate(4.0, 10.0, 85_000), rel=1e-9)
    assert used.filled_share < 1e-3
    assert keeping.check(s.desk).faults == ()


def test_a_file_twice_changes_nothing_and_withdrawn_counts_no_more(any_studio: Studio) -> None:
    s = any_studio
    later(s, 10)
    data = log(10, (3, 30, 20.0))
    first = readings.take_in_readings(s.desk, "Cold store", data, "log.csv")
    again = readings.take_in_readings(s.desk, "Cold store", data, "other name.csv")
    assert again.done.repeated
    assert again.done.seq == first.done.seq
    assert len(reckoning(s).spells) == 1  # type: ignore[attr-defined]
    with s.desk.reading() as view:
        (taken,) = everything(view, Import)
    readings.withdraw_readings(s.desk, taken.code)
    assert reckoning(s).spells == []  # type: ignore[attr-defined]
    with pytest.raises(RefusedError):
        readings.withdraw_readings(s.desk, taken.code)
    anew = readings.take_in_readings(s.desk, "Cold store", data, "log.csv")
    assert not anew.done.repeated
    assert len(reckoning(s).spells) == 1  # type: ignore[attr-defined]
    assert keeping.check(s.desk).faults == ()


def test_overlapping_logs_that_differ_take_the_warmer_and_count(studio: Studio) -> None:
    later(studio, 10)
    readings.take_in_readings(studio.desk, "Cold store", log(10), "a.csv")
    readings.take_in_readings(studio.desk, "Cold store", log(10, (3, 30, 20.0)), "b.csv")
    made = reckoning(studio)
    assert made.airs.readings(studio.store).temp_c.max() == 20.0
    with studio.desk.reading() as view:
        assert read_place(view.connection, studio.store)[1] == 30 * 4


def test_a_spell_costs_each_roll_what_it_stood_there(studio: Studio) -> None:
    later(studio, 3.5)
    handling.move(studio.desk, [studio.second_roll], "Mounting room")
    later(studio, 6.5)
    readings.take_in_readings(studio.desk, "Cold store", log(10, (3, 48, 20.0)), "log.csv")
    (spell,) = reckoning(studio).spells  # type: ignore[attr-defined]
    lost = {loss.unit.code: loss.days for loss in spell.losses}
    full = 2 * (rate(20.0, 10.0, 85_000) - rate(4.0, 10.0, 85_000))
    assert lost[studio.roll] == pytest.approx(full, rel=0.1)
    assert 0 < lost[studio.second_roll] < 0.35 * full
    assert spell.losses[0].unit.code == studio.roll
    assert spell.wants_a_word


def test_door_openings_do_not_age_the_core(studio: Studio) -> None:
    later(studio, 10)
    readings.take_in_readings(studio.desk, "Cold store", log(10, (3, 0.5, 15.0)), "log.csv")
    (spell,) = reckoning(studio).spells  # type: ignore[attr-defined]
    assert spell.worst_days < 0.05
    assert not spell.wants_a_word


def test_logged_by_hand_the_worst_is_assumed_until_a_log_tells_better(studio: Studio) -> None:
    later(studio, 10)
    spells.log_excursion(
        studio.desk, "Cold store", last_right_s=START_S + 5 * DAY_S, found_s=START_S + 7 * DAY_S,
        highest_centi_c=2000, now_centi_c=1800, cause="power cut",
    )  # fmt: skip
    (guess,) = reckoning(studio).spells  # type: ignore[attr-defined]
    assert guess.source == "by hand"
    assert guess.cause == "power cut"
    assert guess.losses[0].days == pytest.approx(
        2 * (rate(20.0, 10.0, 85_000) - rate(4.0, 10.0, 85_000)), rel=0.12
    )
    readings.take_in_readings(studio.desk, "Cold store", log(10, (5.5, 20, 14.0)), "log.csv")
    (seen,) = reckoning(studio).spells  # type: ignore[attr-defined]
    assert seen.source == "logger"
    assert seen.peak_c == 14.0
    assert 0 < seen.losses[0].days < guess.losses[0].days / 3
    assert seen.cause == "power cut"


def test_one_word_serves_a_group_of_spells(studio: Studio) -> None:
    later(studio, 10)
    t0 = START_S + 3 * DAY_S
    readings.take_in_readings(studio.desk, "Cold store", log(10, (3, 40, 18.0)), "log.csv")
    spells.name_cause(studio.desk, "Cold store", t0 - 3600, t0 - 1800, "door left open")
    (spell,) = reckoning(studio).spells  # type: ignore[attr-defined]
    assert spell.cause == "door left open"
    assert not spell.wants_a_word


@pytest.mark.parametrize(
    ("last_right_s", "found_s", "highest"),
    [
        (START_S, START_S - 60, 2000),
        (START_S - 90 * DAY_S, START_S, 2000),
        (START_S - 60, START_S, 9900),
    ],
)
def test_spells_that_cannot_be_are_refused(
    studio: Studio, last_right_s: int, found_s: int, highest: int
) -> None:
    with pytest.raises(BadValueError):
        spells.log_excursion(
            studio.desk, "Cold store", last_right_s=last_right_s, found_s=found_s,
            highest_centi_c=highest,
        )  # fmt: skip


def test_a_log_whose_day_order_cannot_be_known_is_refused(studio: Studio) -> None:
    data = b"date;temp\n03/04/2026 08:00;4.0\n"
    before = keeping.state(studio.desk)
    with pytest.raises(ImportProblem) as caught:
        readings.take_in_readings(studio.desk, "Cold store", data, "log.csv")
    assert "--day-first" in caught.value.try_
    assert keeping.state(studio.desk) == before


def test_an_offcut_stood_where_its_roll_did(studio: Studio) -> None:
    from stockroom.desk.cutting import one_cut
    from stockroom.desk.cutting.one_cut import Part

    later(studio, 20)
    done = one_cut.cut(studio.desk, studio.roll, take_dmm=10_000, offcuts=[Part(12_700, 10_000)])
    (piece,) = [t.key for t in done.changes.touches if t.kind == "unit" and t.before is None]
    made = reckoning(studio)
    assert made.usable_by(made.units[piece]).used_days == pytest.approx(
        made.usable_by(made.units[studio.roll]).used_days, rel=1e-6
    )


def test_a_unit_that_nobody_states_is_asked_for(studio: Studio) -> None:
    """68 degrees in a cold store are °F or a fire: nothing is stored until someone says which."""
    data = b"time,temp\n" + b"".join(
        b"2026-03-01 %02d:%02d,68.%d\n" % (at // 4, at % 4 * 15, at % 10) for at in range(40)
    )
    with pytest.raises(ImportProblem, match="°C or °F"):
        readings.take_in_readings(studio.desk, "Cold store", data, "a.csv")
    with studio.desk.reading() as view:
        assert everything(view, Import) == []
    taken = readings.take_in_readings(studio.desk, "Cold store", data, "a.csv", unit="°F")
    assert taken.readings == 40
    made = reckoning(studio)
    log = made.airs.readings(studio.store)
    assert 20.0 <= log.temp_c.min() <= log.temp_c.max() <= 20.6


def test_the_same_file_for_another_place_is_doubted(studio: Studio) -> None:
    """One logger cannot have stood in two places: the second time that is said."""
    first = readings.take_in_readings(studio.desk, "Cold store", log(0.5), "a.csv")
    again = readings.take_in_readings(studio.desk, "Mounting room", log(0.5), "a.csv")
    assert first.elsewhere == ()
    assert again.elsewhere == ("Cold store",)
