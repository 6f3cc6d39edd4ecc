"""The air a roll comes into is the dampest of its day, and cold is what is logged as cold."""

from collections.abc import Sequence
from datetime import timedelta

import numpy as np
import pytest
from support.studio import DAY_S, MONDAY_S, Clock, Studio
from support.warmth import temperature_at

from stockroom.core.climate.moisture import dew_point
from stockroom.core.climate.warmup import Package
from stockroom.core.constants import COLD_BELOW, ROOM_HUMIDITY, ROOM_TEMP
from stockroom.core.figures import Figure
from stockroom.desk.stock import defining, handling
from stockroom.desk.work import booking
from stockroom.desk.climate import readings
from stockroom.desk.day import today
from stockroom.desk.figures import unit_figures
from stockroom.desk.figures.standing import standing
from stockroom.desk.climate.probe_runs import look_at_probe_run
from stockroom.desk.climate.pull_out import lately_moved
from stockroom.desk.reckoning import reckoned
from stockroom.desk.climate.rooms import RoomAir, cold_air, room_air, stands_cold, warm_room
from stockroom.desk.climate.warming import Warming, warming_of

HOUR_S = 3_600
Row = tuple[float, float, float | None]
"""Seconds from the beginning, °C, % RH."""


def log(studio: Studio, place: str, rows: Sequence[Row], from_s: int = MONDAY_S) -> None:
    """Take in readings of a place."""
    lines = ["time UTC,temperature °C,humidity %"]
    for after_s, temp_c, rh_pct in rows:
        stamp = np.datetime64(from_s + int(after_s), "s").astype(str)
        lines.append(f"{stamp}Z,{temp_c},{'' if rh_pct is None else rh_pct}")
    readings.take_in_readings(studio.desk, place, "\n".join(lines).encode(), f"{place}.csv")


def steady(temp_c: float, rh_pct: float | None, days: float, every_s: int = 1_800) -> list[Row]:
    """Readings that never change over some days up to the beginning."""
    return [(-n * every_s, temp_c, rh_pct) for n in range(round(days * DAY_S / every_s), -1, -1)]


def air_of(studio: Studio, place: str | None = None) -> RoomAir:
    with reckoned(studio.desk) as reckoning:
        return room_air(reckoning, place or studio.room)


def warming(studio: Studio, unit: str | None = None, room: str | None = None) -> Warming | None:
    with reckoned(studio.desk) as reckoning:
        found = reckoning.unit(unit or studio.roll)
        assert found is not None
        return warming_of(reckoning, found, room=room)


def figures(studio: Studio) -> dict[str, Figure]:
    _, told = unit_figures(studio.desk, studio.roll)
    return {figure.name: figure for figure in told if figure.group == "Warm-up"}


# --- the dew point of a room -----------------------------------------------------------------


def test_temperature_and_humidity_of_a_dew_point_are_read_at_once(studio: Studio) -> None:
    """A dry hot noon and a cool damp night make no damp noon."""
    rows = [(-8 * HOUR_S, 15.0, 80.0), (-4 * HOUR_S, 28.0, None), (-600, 28.0, 30.0)]
    log(studio, "Mounting room", rows)
    air = air_of(studio)
    assert air.temp_c == 28.0
    assert air.dew.temp_c == pytest.approx(dew_point(15.0, 80.0).temp_c, abs=1e-4)
    assert air.dew.temp_c < dew_point(28.0, 80.0).temp_c - 10


def test_the_dampest_of_the_last_day_counts_not_the_last_reading(studio: Studio) -> None:
    """It is told as the humidity of that water at the temperature of now, and from when."""
    rows = [(-23 * HOUR_S, 24.0, 65.0), (-2 * HOUR_S, 21.0, 50.0), (-600, 20.0, 52.0)]
    log(studio, "Mounting room", rows)
    air = air_of(studio)
    assert (air.temp_c, air.temp_source) == (20.0, "logged Mon 2 Mar 2026 08:50")
    assert air.dew.temp_c == pytest.approx(dew_point(24.0, 65.0).temp_c, abs=1e-4)
    assert 70 < air.humidity_pct < 85
    assert air.humidity_source == (
        "as damp as logged Sun 1 Mar 2026 10:00, 65 % at 24.0 °C, the dampest in 24 h"
    )
    shown = {item.name: item for item in figures(studio)["Safe to open"].inputs}
    assert shown["Humidity there"].source == air.humidity_source
    assert shown["Dew point"].value.startswith("17.0 °C: it opens at 19.8 °C")


def test_what_a_cooled_room_cannot_hold_is_not_in_its_air(studio: Studio) -> None:
    log(studio, "Mounting room", [(-20 * HOUR_S, 26.0, 80.0), (-600, 18.0, 60.0)])
    air = air_of(studio)
    assert (air.temp_c, air.humidity_pct) == (18.0, 100.0)
    assert air.dew.temp_c == pytest.approx(18.0, abs=0.01)
    told = warming(studio)
    assert told is not None
    assert told.wait.safe_s is None


def test_after_a_damp_log_has_ended_its_last_day_counts_on(studio: Studio, now: Clock) -> None:
    """Only its last day, told as old; the set-point is the temperature."""
    rows = [(0, 25.0, 90.0), (3 * DAY_S, 22.0, 72.0), (3 * DAY_S + HOUR_S, 21.0, 60.0)]
    now.on(30)
    log(studio, "Mounting room", rows)
    air = air_of(studio)
    assert (air.temp_c, air.temp_source) == (21.0, "its set-point")
    assert air.dew.temp_c == pytest.approx(dew_point(22.0, 72.0).temp_c, abs=1e-4)
    assert air.humidity_source == (
        "as damp as last logged Thu 5 Mar 2026 09:00, 72 % at 22.0 °C, the dampest of its last "
        "day: log it anew"
    )


def test_after_a_dry_log_has_ended_it_is_taken_for_damp(studio: Studio, now: Clock) -> None:
    log(studio, "Mounting room", steady(21.0, 35.0, 1))
    assert air_of(studio).humidity_pct == 35.0
    now.on(3)
    air = air_of(studio)
    assert (air.temp_c, air.humidity_pct) == (21.0, ROOM_HUMIDITY.value)
    assert air.humidity_source.endswith("drier when last logged, Mon 2 Mar 2026 09:00")


def test_a_log_of_temperatures_alone_keeps_the_humidity_known_before(
    studio: Studio, now: Clock
) -> None:
    now.on(10)
    log(studio, "Mounting room", [(0, 21.0, 75.0), (9.9 * DAY_S, 19.0, None)])
    air = air_of(studio)
    assert air.temp_c == 19.0
    assert air.dew.temp_c == pytest.approx(dew_point(21.0, 75.0).temp_c, abs=1e-4)
    assert "last logged Mon 2 Mar 2026 09:00" in air.humidity_source


def test_a_sheet_stands_in_the_same_reading_as_a_roll_comes_into(studio: Studio) -> None:
    log(studio, "Mounting room", [(-DAY_S, 23.0, 44.0)])
    with reckoned(studio.desk) as reckoning:
        stands = standing(reckoning, studio.room)
        later = standing(reckoning, studio.room, MONDAY_S + 1)
    assert stands is not None
    assert (stands.temp_c, stands.humidity_pct) == (23.0, 44.0)
    assert air_of(studio).temp_c == 23.0
    assert later is not None
    assert later.source == "its set-point"


# --- what is cold ----------------------------------------------------------------------------


@pytest.fixture
def cellar(studio: Studio) -> str:
    """A room that nobody set, logged at 4 °C for days, with a roll in it."""
    done = defining.define_place(studio.desk, "Cellar", "room")
    code = next(touch.key for touch in done.changes.touches if touch.kind == "place")
    handling.move(studio.desk, [studio.roll], "Cellar")
    studio.desk.now_s.on(4)  # type: ignore[attr-defined]
    log(studio, "Cellar", steady(4.0, 70.0, 4), MONDAY_S + 4 * DAY_S)
    return code


def test_a_room_logged_as_cold_is_a_cold_place(studio: Studio, cellar: str) -> None:
    """Its roll has a time to wait before it comes out, and a notice once it is out."""
    told = warming(studio)
    assert told is not None
    assert (told.left_s, told.cold.name, told.room.name) == (None, "Cellar", "Mounting room")
    assert (told.wait.from_c, told.from_source) == (4.0, "logged Fri 6 Mar 2026 09:00")
    assert told.wait.safe_s == pytest.approx(6.8 * HOUR_S, abs=400)
    assert figures(studio)["Safe to open"].value.endswith("after it comes out, in Mounting room")
    now = studio.desk.now_s
    handling.move(studio.desk, [studio.roll], "Mounting room")
    now.on(seconds=HOUR_S)  # type: ignore[attr-defined]
    handling.open_unit(studio.desk, studio.roll)
    (said,) = [item for item in today(studio.desk).notices if item.unit == studio.roll]
    assert (said.tone, "still too cold" in said.what) == ("bad", True)
    out = warming(studio)
    assert out is not None
    assert out.left_s == now.now_s - HOUR_S  # type: ignore[attr-defined]


def test_a_probe_is_taken_out_of_a_room_logged_as_cold(studio: Studio, cellar: str) -> None:
    """When it left is known by the books, and its run ends where it goes back."""
    desk, now = studio.desk, studio.desk.now_s
    out_s = now.on(seconds=2 * HOUR_S)  # type: ignore[attr-defined]
    handling.move(desk, [studio.roll], "Mounting room")
    back_s = now.on(seconds=20 * HOUR_S)  # type: ignore[attr-defined]
    log(studio, "Cellar", steady(4.0, 70.0, 1), back_s)
    handling.move(desk, [studio.roll], "Cellar")
    now.on(1)  # type: ignore[attr-defined]
    t_s = np.arange(out_s - HOUR_S, back_s + 5 * HOUR_S, 900)
    core_c, _ = temperature_at(
        Package(500_000, 12_700, 0.24), 4.0, 21.0, 4.0, np.clip(t_s - out_s, 0, None)
    )
    core_c[t_s > back_s] = 6.0
    lines = ["time UTC,temperature °C"] + [
        f"{np.datetime64(int(at_s), 's')}Z,{value:.1f}"
        for at_s, value in zip(t_s, core_c, strict=True)
    ]
    seen = look_at_probe_run(desk, studio.roll, "\n".join(lines).encode(), "core.csv", room_c=21.0)
    assert (seen.out_s, seen.out_source) == (out_s, "as booked")
    assert seen.until_s < back_s
    assert seen.fit.h == pytest.approx(4.0, rel=0.03)


def test_nothing_warms_up_in_a_room_logged_as_cold(studio: Studio, cellar: str) -> None:
    """Neither as the room it last stood in, nor as the first one there is."""
    with reckoned(studio.desk) as reckoning:
        unit = reckoning.units[studio.roll]
        assert stands_cold(reckoning, reckoning.places[cellar], reckoning.now_s)
        assert warm_room(reckoning, unit) == studio.room
        assert warm_room(reckoning, unit, studio.room) == studio.magazine


def test_an_open_window_makes_no_cold_store(studio: Studio) -> None:
    """One reading below does not, nor a cold morning in a room that is warm again."""
    log(studio, "Mounting room", [*steady(21.0, 50.0, 1)[:-1], (0, 8.0, 60.0)])
    log(studio, "Printer magazine", [*steady(9.0, 50.0, 1)[:-1], (0, 20.0, 40.0)])
    with reckoned(studio.desk) as reckoning:
        for place in (studio.room, studio.magazine):
            assert not stands_cold(reckoning, reckoning.places[place], reckoning.now_s)
        assert cold_air(reckoning, reckoning.places[studio.room], MONDAY_S)[0] == 8.0
        mean_c, source = cold_air(reckoning, reckoning.places[studio.magazine], MONDAY_S)
    assert mean_c == pytest.approx(9.2, abs=0.1)
    assert source == "mean of 24 h, last logged Mon 2 Mar 2026 09:00"


def test_a_cool_room_is_cold_for_a_damp_one(studio: Studio, now: Clock) -> None:
    """17 °C is above any cold store; in a room whose rolls open at 20 °C it waits all the same."""
    handling.move(studio.desk, [studio.roll, studio.second_roll], "Mounting room")
    now.on(20)
    log(studio, "Mounting room", steady(17.0, 55.0, 10), now.now_s)
    assert warming(studio, room=studio.magazine) is None
    log(studio, "Printer magazine", steady(24.0, 66.0, 1), now.now_s)
    told = warming(studio)
    assert told is not None
    assert COLD_BELOW.value < told.wait.from_c == 17.0
    assert (told.left_s, told.room.name) == (None, "Printer magazine")
    assert told.wait.safe_s is not None
    assert told.wait.safe_s > HOUR_S
    handling.move(studio.desk, [studio.roll], "Printer magazine")
    out = warming(studio)
    assert out is not None
    assert (out.left_s, out.cold.name) == (now.now_s, "Mounting room")


def test_from_a_cold_store_into_a_room_as_cold_nothing_warms_up(
    studio: Studio, cellar: str
) -> None:
    """Into a cool workshop it does, though that is logged below what counts as cold."""
    now = studio.desk.now_s
    handling.move(studio.desk, [studio.second_roll], "Cellar")
    told = warming(studio, studio.second_roll)
    assert told is not None
    assert (told.left_s, told.cold.name) == (None, "Cellar")
    defining.define_place(studio.desk, "Workshop", "room")
    log(studio, "Workshop", steady(13.0, 60.0, 1), now.now_s)  # type: ignore[attr-defined]
    handling.move(studio.desk, [studio.second_roll], "Workshop")
    told = warming(studio, studio.second_roll)
    assert told is not None
    assert (told.room.name, told.cold.name) == ("Workshop", "Cellar")
    assert told.left_s == now.now_s  # type: ignore[attr-defined]


def test_a_room_that_nobody_logged_or_set_is_no_freezer(studio: Studio) -> None:
    done = defining.define_place(studio.desk, "Hall", "room")
    code = next(touch.key for touch in done.changes.touches if touch.kind == "place")
    with reckoned(studio.desk) as reckoning:
        place = reckoning.places[code]
        assert cold_air(reckoning, place, MONDAY_S)[0] == ROOM_TEMP.value
        assert not stands_cold(reckoning, place, MONDAY_S)


def test_a_room_logged_as_cold_is_a_cold_store_for_what_stands_there(
    studio: Studio, cellar: str
) -> None:
    """A roll in it is not sent back, is not out, and is to be taken out for its print."""
    desk = studio.desk
    assert today(desk).put_back == ()
    with reckoned(desk) as reckoning:
        assert list(lately_moved(reckoning)) == []
    booking.book(desk, "Salt flats", 25_000, 12_500, desk.today() + timedelta(days=3), studio.paper)
    handling.hold(desk, studio.second_roll, "look again")
    (outing,) = today(desk).take_out
    assert (outing.unit.code, outing.place.code) == (studio.roll, cellar)
