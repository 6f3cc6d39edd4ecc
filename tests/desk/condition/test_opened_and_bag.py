"""An opened roll: its own clock, the damp air it was open in, the air in its bag, its state."""

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from support.studio import DAY_S, Clock, Studio

from stockroom.core.freshness.opened import borrowed_days
from stockroom.core.wording import sentence
from stockroom.desk.condition import checking
from stockroom.desk.stock import defining, handling
from stockroom.desk.climate import readings
from stockroom.desk.day import today
from stockroom.desk.figures import unit_figures
from stockroom.desk.condition.opened import opened_of, roll_state
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Desk


def log(desk: Desk, place: str, begin_s: int, days: int, rh: Any, temp_c: float = 21.0) -> None:
    """Take in half-hourly readings of a place."""
    t_s = begin_s + np.arange(days * 48 + 1) * 1_800
    rows = ["time UTC,temperature °C,humidity %"]
    for at_s in t_s.tolist():
        stamp = np.datetime64(at_s, "s").astype(str)
        rows.append(f"{stamp}Z,{temp_c:.1f},{rh(at_s):.0f}")
    readings.take_in_readings(desk, place, "\n".join(rows).encode(), f"{place}.csv")


def damp_hours(studio: Studio) -> float:
    with reckoned(studio.desk) as reckoning:
        found = opened_of(reckoning, reckoning.units[studio.roll])
    assert found is not None
    return found.damp_s / 3600


def state(studio: Studio) -> str:
    with reckoned(studio.desk) as reckoning:
        return roll_state(reckoning, reckoning.units[studio.roll])


def reasons(studio: Studio, days_ahead: int = 0) -> dict[str, str]:
    found = checking.ok(
        studio.desk, unit=studio.roll, width_dmm=9_000, height_dmm=6_000,
        day=studio.desk.today() + timedelta(days=days_ahead),
    )  # fmt: skip
    assert found.best is not None
    day = studio.desk.today()
    return {item.kind: sentence(item, day) for item in found.best.verdict.reasons}


def test_damp_hours_count_while_the_bag_is_open_and_not_in_it(studio: Studio, now: Clock) -> None:
    """Two damp days open, then re-bagged for two more: only the first two count."""
    begin_s = now.now_s
    handling.move(studio.desk, [studio.roll], studio.room)
    now.on(1)
    handling.open_unit(studio.desk, studio.roll)
    now.on(2)
    handling.rebag(studio.desk, studio.roll)
    now.on(2)
    log(studio.desk, studio.room, begin_s, 5, lambda _at: 70)
    assert damp_hours(studio) == pytest.approx(48, abs=0.1)
    assert "for 48 h" in reasons(studio)["damp air"]


def test_the_limit_is_the_users(studio: Studio, now: Clock) -> None:
    begin_s = now.now_s
    handling.move(studio.desk, [studio.roll], studio.room)
    handling.open_unit(studio.desk, studio.roll)
    now.on(2)
    log(studio.desk, studio.room, begin_s, 2, lambda _at: 64)
    assert damp_hours(studio) == pytest.approx(48, abs=1)
    defining.change_material(studio.desk, studio.paper, humidity_limit_pct=65)
    assert damp_hours(studio) == 0.0
    assert "damp air" not in reasons(studio)


def test_humidity_never_enters_the_age(studio: Studio, now: Clock) -> None:
    """The borrowed exponents stand among the inputs alone."""
    begin_s = now.now_s
    handling.move(studio.desk, [studio.roll], studio.room)
    handling.open_unit(studio.desk, studio.roll)
    now.on(3)
    log(studio.desk, studio.room, begin_s, 3, lambda _at: 45)
    with reckoned(studio.desk) as reckoning:
        dry = reckoning.usable_by(reckoning.units[studio.roll]).used_days
    log(studio.desk, studio.room, begin_s + 1, 3, lambda _at: 80)
    with reckoned(studio.desk) as reckoning:
        unit = reckoning.units[studio.roll]
        assert reckoning.usable_by(unit).used_days == pytest.approx(dry, rel=1e-3)
        found = opened_of(reckoning, unit)
    assert found is not None
    assert max(borrowed_days(found)) > 1
    _, figures = unit_figures(studio.desk, studio.roll)
    damp = next(figure for figure in figures if figure.name == "Damp air")
    assert "exponent" not in damp.value + damp.how
    lines = [item for item in damp.inputs if item.name.startswith("If an exponent")]
    assert lines
    assert all("not counted" in item.value and "borrowed" in item.source for item in lines)


def test_past_its_opened_life_a_strip_is_asked_and_a_clean_one_answers(
    studio: Studio, now: Clock
) -> None:
    defining.change_material(studio.desk, studio.paper, opened_life_days=30)
    handling.open_unit(studio.desk, studio.roll)
    now.on(30)
    assert "opened too long" not in reasons(studio)
    now.on(1)
    assert "once opened it keeps 30 days" in reasons(studio)["opened too long"]
    checking.judge_strip(studio.desk, studio.roll, "clean")
    assert "opened too long" not in reasons(studio)


def test_the_states_of_a_roll(studio: Studio, now: Clock) -> None:
    now.on(1)
    assert state(studio) == "sealed"
    handling.move(studio.desk, [studio.roll], studio.room)
    now.on(seconds=1_800)
    assert state(studio) == "sealed, out to warm"
    now.on(1)
    assert state(studio) == "sealed"
    handling.open_unit(studio.desk, studio.roll)
    assert state(studio) == "open-bagged"
    handling.move(studio.desk, [studio.roll], studio.magazine)
    assert state(studio) == "in the magazine"
    handling.rebag(studio.desk, studio.roll)
    assert state(studio) == "re-bagged with the room's air in it"


@pytest.mark.parametrize(("rh", "tone"), [(30, ""), (85, "ask")])
def test_the_air_of_the_room_is_in_the_bag(studio: Studio, now: Clock, rh: int, tone: str) -> None:
    """Dry air gives nothing up in the cold store; summer air at 28 °C does, and is told."""
    begin_s = now.now_s - DAY_S
    handling.move(studio.desk, [studio.roll], studio.room)
    now.on(2)
    handling.open_unit(studio.desk, studio.roll)
    handling.rebag(studio.desk, studio.roll)
    now.on(seconds=600)
    handling.move(studio.desk, [studio.roll], studio.store)
    log(studio.desk, studio.room, begin_s, 3, lambda _at: rh, temp_c=28.0)
    now.on(1)
    _, figures = unit_figures(studio.desk, studio.roll)
    bag = next(figure for figure in figures if figure.name == "Air in its bag")
    assert bag.tone == tone
    assert "28.0 °C" in " ".join(item.value for item in bag.inputs)
    told = [item for item in today(studio.desk).notices if "shut into its bag" in item.what]
    assert len(told) == (1 if tone else 0)


@pytest.mark.parametrize("minutes", [0, 5, 59])
def test_a_roll_opened_a_moment_ago_is_answered_for(
    studio: Studio, now: Clock, minutes: int
) -> None:
    """Ages are as of the last full hour; what was opened since has not been open a whole one."""
    now.on(1)
    now.on(seconds=3_600 - now.now_s % 3_600 + 60 * minutes)
    handling.open_unit(studio.desk, studio.roll)
    assert "opened too long" not in reasons(studio)
    assert damp_hours(studio) == 0.0
    assert today(studio.desk).prints == ()
    unit_figures(studio.desk, studio.roll)


def test_the_opened_clock_runs_to_the_day_of_the_print(studio: Studio, now: Clock) -> None:
    defining.change_material(studio.desk, studio.paper, opened_life_days=60)
    handling.open_unit(studio.desk, studio.roll)
    now.on(50)
    assert "opened too long" not in reasons(studio)
    assert "opened too long" not in reasons(studio, days_ahead=10)
    assert "open for 61 days" in reasons(studio, days_ahead=11)["opened too long"]


def test_a_roll_bagged_after_it_was_moved_holds_the_air_of_the_room(
    studio: Studio, now: Clock
) -> None:
    begin_s = now.now_s - DAY_S
    handling.move(studio.desk, [studio.roll], studio.room)
    now.on(2)
    handling.open_unit(studio.desk, studio.roll)
    handling.move(studio.desk, [studio.roll], studio.store)
    now.on(seconds=600)
    handling.rebag(studio.desk, studio.roll)
    log(studio.desk, studio.room, begin_s, 3, lambda _at: 85, temp_c=28.0)
    now.on(1)
    _, figures = unit_figures(studio.desk, studio.roll)
    bag = next(figure for figure in figures if figure.name == "Air in its bag")
    assert bag.tone == "ask"
    assert "28.0 °C" in " ".join(item.value for item in bag.inputs)


def test_openings_and_baggings_told_late_fall_into_their_place(studio: Studio, now: Clock) -> None:
    begin_s = now.now_s
    handling.move(studio.desk, [studio.roll], studio.room)
    handling.open_unit(studio.desk, studio.roll)
    now.on(4)
    handling.rebag(studio.desk, studio.roll)
    now.on(1)
    handling.open_unit(studio.desk, studio.roll, happened_s=begin_s + 2 * DAY_S)
    assert state(studio).startswith("re-bagged")
    handling.open_unit(studio.desk, studio.roll)
    now.on(3)
    handling.rebag(studio.desk, studio.roll, happened_s=begin_s + DAY_S)
    assert state(studio) == "open-bagged"
    log(studio.desk, studio.room, begin_s, 8, lambda _at: 70)
    assert damp_hours(studio) == pytest.approx(8 * 24, abs=0.1)


def test_a_roll_that_is_used_is_open_again(studio: Studio, now: Clock) -> None:
    handling.open_unit(studio.desk, studio.roll)
    handling.rebag(studio.desk, studio.roll)
    now.on(1)
    handling.use(studio.desk, studio.roll, 10_000)
    assert state(studio) == "open-bagged"
