"""An act by a clock that can hardly be right is refused, and no time in the books stops a read."""

import pytest
import sqlalchemy as sa
from support.studio import DAY_S, MONDAY_S, Studio

from stockroom.clock import local_date, moment_text
from stockroom.desk.stock import counting
from stockroom.desk.clock_check import AHEAD_S, BEHIND_S, clock_warning
from stockroom.desk.session import Desk
from stockroom.errors import RefusedError
from stockroom.store.mapping import ACT


def at(studio: Studio, now_s: int, *, clock_is_right: bool = False) -> Desk:
    """A desk on the same store whose machine shows another time."""
    return Desk(studio.desk.engine, now_s=lambda: now_s, clock_is_right=clock_is_right)


def last_s(studio: Studio) -> int:
    with studio.desk.engine.connect() as connection:
        return int(connection.execute(sa.select(sa.func.max(ACT.c.recorded_s))).scalar_one())


@pytest.mark.parametrize(
    ("by_s", "says"),
    [(-BEHIND_S - 1, "before the last act"), (AHEAD_S + 1, "more than ten years after")],
)
def test_a_clock_that_is_far_off_is_refused_unless_a_person_says_it_is_right(
    any_studio: Studio, by_s: int, says: str
) -> None:
    s = any_studio
    now_s = last_s(s) + by_s
    seq = counting.trail(s.desk, 1)[0].act.seq
    with pytest.raises(RefusedError, match=says) as caught:
        counting.count(at(s, now_s), s.roll, 400_000)
    assert "--clock-is-right" in caught.value.try_
    assert counting.trail(s.desk, 1)[0].act.seq == seq
    assert says in clock_warning(s.desk.engine, now_s, s.desk.zone)
    done = counting.count(at(s, now_s, clock_is_right=True), s.roll, 400_000)
    assert done.seq == seq + 1


@pytest.mark.parametrize("by_s", [-BEHIND_S, 0, AHEAD_S])
def test_a_clock_that_is_little_off_passes_without_a_word(studio: Studio, by_s: int) -> None:
    now_s = last_s(studio) + by_s
    assert clock_warning(studio.desk.engine, now_s, studio.desk.zone) == ""
    assert counting.count(at(studio, now_s), studio.roll, 400_000).seq


@pytest.mark.parametrize("year", [1970, 2101, 9999])
def test_outside_the_days_of_the_trade_nothing_is_reckoned_or_booked(
    studio: Studio, year: int
) -> None:
    now_s = int((year - 1970) * 365.2425 * DAY_S) + DAY_S
    with pytest.raises(RefusedError, match=f"{year}.*Nothing is reckoned"):
        clock_warning(studio.desk.engine, now_s, studio.desk.zone)
    with pytest.raises(RefusedError, match=str(year)):
        counting.count(at(studio, now_s, clock_is_right=True), studio.roll, 400_000)


def test_any_instant_that_a_row_can_hold_can_be_told() -> None:
    for instant_s in (-(2**63), -62_135_596_800, 0, MONDAY_S, 253_402_300_799, 2**63 - 1):
        for zone in ("UTC", "Pacific/Kiritimati", "Etc/GMT+12", "Europe/Berlin"):
            assert moment_text(instant_s, zone)
            assert 1 <= local_date(instant_s, zone).year <= 9999
