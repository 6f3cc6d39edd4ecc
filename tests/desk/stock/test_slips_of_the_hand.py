"""A slip of the hand is refused in words before it costs a roll its life or its length."""

from datetime import date, timedelta

import pytest
from support.studio import DAY_S, Studio

from stockroom.core.model import Unit
from stockroom.desk.condition import checking
from stockroom.desk.stock import counting, handling
from stockroom.desk.cutting import one_cut
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering
from stockroom.desk.climate import readings, spells
from stockroom.desk.cutting.one_cut import Part
from stockroom.errors import BadValueError, ImportProblem, RefusedError


def unit_of(studio: Studio, code: str) -> Unit:
    with studio.desk.reading() as view:
        found = view.get(Unit, code)
    assert found is not None
    return found


def test_nothing_happens_to_a_roll_before_it_came(studio: Studio) -> None:
    """A move dated before the arrival would move the day its life is reckoned from."""
    desk = studio.desk
    with pytest.raises(RefusedError, match="came on Mon 2 Mar 2026 09:00"):
        handling.move(desk, [studio.roll], studio.magazine, happened_s=desk.now_s() - 60 * DAY_S)
    moved = handling.move(desk, [studio.roll], studio.magazine)
    with pytest.raises(RefusedError, match="retime"):
        counting.retime(desk, moved.seq, desk.now_s() - 60 * DAY_S)
    assert unit_of(studio, studio.roll).place == studio.magazine


def test_a_roll_cannot_have_come_after_it_was_moved(studio: Studio) -> None:
    desk = studio.desk
    came = unit_of(studio, studio.roll).received_act
    counting.retime(desk, came, desk.now_s() - 3 * DAY_S)
    handling.move(desk, [studio.roll], studio.magazine, happened_s=desk.now_s() - 2 * DAY_S)
    with pytest.raises(RefusedError, match="cannot have come after that"):
        counting.retime(desk, came, desk.now_s() - DAY_S)


def test_a_slip_of_the_decimal_point_is_refused(studio: Studio) -> None:
    """A little more than the books hold is a fact; four times a whole roll is not."""
    desk = studio.desk
    with pytest.raises(RefusedError, match=r"200\.0 m cannot have been on"):
        handling.use(desk, studio.roll, 2_000_000)
    handling.use(desk, studio.roll, 500_700)
    assert unit_of(studio, studio.roll).state == "used"
    with pytest.raises(RefusedError, match="Nothing is left"):
        handling.lose(desk, studio.roll, None, "scratch")


def test_a_part_larger_than_the_sheet_was_not_cut_from_it(studio: Studio) -> None:
    desk = studio.desk
    for part in (Part(50_000, 9_000), Part(21_000, 21_000)):
        with pytest.raises(RefusedError, match="cannot come out of 3050 x 2030 mm"):
            one_cut.cut(desk, studio.pack, pieces=[part])
        with pytest.raises(RefusedError, match="cannot come out of"):
            one_cut.cut(desk, studio.pack, offcuts=[part])
    with pytest.raises(BadValueError, match="What was cut"):
        one_cut.cut(desk, studio.pack)
    done = one_cut.cut(
        desk, studio.pack, pieces=[Part(9_000, 30_000)], offcuts=[Part(30_000, 11_000)]
    )
    assert any("3000 x 1100 mm kept, in Mounting room." in line for line in done.said)
    assert unit_of(studio, studio.pack).count == 5


def test_what_is_so_already_is_said_and_not_booked_again(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(RefusedError, match="is not on hold"):
        handling.release(desk, studio.roll)
    handling.hold(desk, "E-7731", "streaks", batch=True)
    with pytest.raises(RefusedError, match="its batch is") as refused:
        handling.release(desk, studio.roll)
    assert "stockroom release E-7731 --batch" in str(refused.value)
    released = handling.release(desk, "E-7731", batch=True)
    assert "Batch E-7731 may be used again." in released.said
    booking.book(desk, "Salt flats", 25_000, 12_500, date(2026, 3, 9), studio.paper)
    closed = booking.close_job(desk, "Salt flats", "done")
    assert any(line.startswith("Salt flats (") and "is done" in line for line in closed.said)
    with pytest.raises(RefusedError, match="is done already"):
        booking.close_job(desk, "Salt flats", "done")


def test_what_is_still_to_come_does_not_lie_in_the_past(studio: Studio) -> None:
    desk, yesterday = studio.desk, studio.desk.today() - timedelta(days=1)
    with pytest.raises(BadValueError, match="Sun 1 Mar 2026 is past"):
        ordering.order(desk, studio.sheet, 2, expected_on=yesterday)
    with pytest.raises(BadValueError, match="Sun 1 Mar 2026 is past"):
        checking.ok(desk, unit=studio.roll, width_dmm=100, height_dmm=100, day=yesterday)
    with pytest.raises(BadValueError, match="nothing is printed on it"):
        checking.ok(desk, material=studio.sheet, width_dmm=100, height_dmm=100)


def test_readings_still_to_come_are_not_taken_in(studio: Studio) -> None:
    """A year or a month too far is a wrong clock or a wrong order of day and month."""
    file = "time,temp C\n2027-03-01 10:00,4.0\n2027-03-01 10:15,4.1\n"
    with pytest.raises(ImportProblem, match="still to come, up to Mon 1 Mar 2027 10:15"):
        readings.take_in_readings(studio.desk, studio.store, file.encode(), "next-year.csv")


def test_a_cold_night_is_no_warm_spell(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(BadValueError, match="2 °C is no warm spell of Cold store"):
        spells.log_excursion(
            desk, studio.store, last_right_s=desk.now_s() - DAY_S, highest_centi_c=200
        )


def test_a_late_move_says_where_the_roll_stands_now(studio: Studio) -> None:
    desk = studio.desk
    counting.retime(desk, unit_of(studio, studio.roll).received_act, desk.now_s() - 3 * DAY_S)
    handling.move(desk, [studio.roll], studio.magazine)
    late = handling.move(desk, [studio.roll], studio.room, happened_s=desk.now_s() - DAY_S)
    assert late.said[1] == (
        f"{studio.roll} stood in Mounting room from then on, until it was moved again; "
        "now it stands in Printer magazine."
    )
