"""Today's rows tell when a roll comes out, when it opens, when it is ready, when it goes back."""

from dataclasses import replace
from datetime import date

import pytest
from rich.cells import cell_len
from support.lines import as_text, plain
from support.studio import DAY_S, MONDAY_S, Studio

from stockroom.desk.stock import handling
from stockroom.desk.work import booking
from stockroom.desk.day import today
from stockroom.desk.climate.pull_out import Outing
from tui.today.lines import outing_row, return_row, today_rows

DAY = date(2026, 3, 2)


@pytest.fixture
def outing(studio: Studio) -> Outing:
    """A roll to take out on Wednesday evening."""
    booking.book(studio.desk, "Salt flats", 25_000, 12_500, date(2026, 3, 5), studio.paper)
    (found,) = today(studio.desk).take_out
    return found


def lines(item: Outing, width: int = 76, zone: str = "UTC") -> list[str]:
    return [plain(line).rstrip() for line in outing_row(item, DAY, width, 60, zone).lines]


def test_a_roll_to_take_out_has_its_times_on_two_lines(outing: Outing) -> None:
    code = outing.unit.code
    assert lines(outing) == [
        f"Wed 4 Mar 17:00           roll {code} from Cold store, for Salt flats",
        "in 2 days                 safe to open 23:50, ready Thu 5 Mar 04:50",
    ]
    detail = " ".join(plain(line) for line in outing_row(outing, DAY, 76).detail)
    assert "take it out shut in its bag" in detail
    assert "Safe to open 23:50, ready Thu 5 Mar 04:50." in detail


def test_the_times_are_the_workshops(outing: Outing) -> None:
    first, second, *more = lines(outing, zone="Asia/Kolkata")
    assert first.startswith("Wed 4 Mar 22:30")
    assert "safe to open Thu 5 Mar 05:20, ready 10:20" in second
    # by those clocks it is too late
    told = " ".join(line.strip() for line in more)
    assert told == "Not ready by Thu 5 Mar 09:00, when its print begins."


def test_what_is_late_comes_out_now(outing: Outing) -> None:
    late = replace(
        outing, out_s=MONDAY_S, safe_s=MONDAY_S + 24_600, ready_s=MONDAY_S + 42_600, at_once=True
    )
    first, second = lines(late)
    assert first.startswith("now  ")
    assert second.strip() == "safe to open 15:50, ready 20:50"


@pytest.mark.parametrize("width", [50, 76, 120])
def test_a_warning_has_its_own_line_and_nothing_is_too_wide(outing: Outing, width: int) -> None:
    beside = replace(outing, beside=1)
    told = outing_row(beside, DAY, width)
    assert "2 rolls come out that" in plain(told.lines[2])
    assert told.lines[2][-1][1] == "ask"
    assert all(cell_len(plain(line)) <= width for line in told.lines)


def test_two_times_on_two_days_fit_a_small_screen(outing: Outing) -> None:
    later = replace(outing, safe_s=MONDAY_S + 10 * DAY_S, ready_s=MONDAY_S + 11 * DAY_S)
    assert "opens Thu 12 Mar 09:00, ready Fri 13 Mar 09:00" in lines(later)[1]
    assert "safe to open Thu 12 Mar 09:00" in lines(later, 120)[1]


def test_a_damp_room_is_said_instead_of_a_time(outing: Outing) -> None:
    assert outing.warming is not None
    wait = replace(outing.warming.wait, safe_s=None, state="room too damp")
    damp = replace(outing, safe_s=None, warming=replace(outing.warming, wait=wait))
    _, second, *more = lines(damp, 120)
    assert "ready Thu 5 Mar 04:50, but not to be opened there" in second
    told = " ".join(line.strip() for line in more)
    assert told.startswith("Mounting room is too damp")
    assert told.endswith("Dry or warm the room first.")


def test_a_roll_whose_size_tells_nothing_still_has_its_evening(outing: Outing) -> None:
    bare = replace(outing, safe_s=None, ready_s=None, warming=None)
    first, second = lines(bare)
    assert (first[:15], second) == ("Wed 4 Mar 17:00", "in 2 days")


def test_what_goes_back_has_its_hour(studio: Studio) -> None:
    handling.move(studio.desk, [studio.roll], "Mounting room")
    found = today(studio.desk)
    (back,) = found.put_back
    (line,) = return_row(back, DAY, 76, "UTC").lines
    assert plain(line).startswith("Mon 2 Mar 17:00           roll ")
    text = as_text(today_rows(found, 76))
    assert "Put back into the cold by" in text
    assert "warms up" not in text  # it came into the room and was never in the cold for long


def test_a_roll_that_is_out_to_warm_stands_in_its_own_part(studio: Studio) -> None:
    """It does not vanish once it is out: the morning says until when it stays shut."""
    desk = studio.desk
    booking.book(desk, "Salt flats", 25_000, 12_500, date(2026, 3, 5), studio.paper)
    studio.desk.now_s.on(2)  # type: ignore[attr-defined]
    handling.hold(desk, studio.second_roll, "dented")
    handling.move(desk, [studio.roll], "Mounting room")
    text = as_text(today_rows(today(desk), 76, 60, "UTC"))
    assert "Out to warm, ready by" in text
    assert f"roll {studio.roll} in Mounting room, for Salt flats" in text
    assert "shut until 15:50, ready 20:50" in text
