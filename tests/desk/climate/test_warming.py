"""A cold roll comes out early enough, opens no sooner than is safe, by what is known of here."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from support.studio import DAY_S, MONDAY_S, Clock, Studio, code_of, furnish
from support.warmth import temperature_at

from stockroom import clock
from stockroom.core.climate.warm_table import TableRow
from stockroom.core.climate.warmup import Pack, Package
from stockroom.core.condition import ProbeRun, WarmTime
from stockroom.core.constants import ROOM_HUMIDITY, WARM_UP_COEFFICIENT
from stockroom.core.figures import Figure
from stockroom.desk.stock import defining, handling, receiving
from stockroom.desk.work import booking
from stockroom.desk.climate import readings
from stockroom.desk.stock.counting import undo
from stockroom.desk.day import today
from stockroom.desk.figures import unit_figures
from stockroom.desk.lookup import everything
from stockroom.desk.papers.printed import day_sheet
from stockroom.desk.climate.probe_runs import look_at_probe_run, note_probe_run
from stockroom.desk.climate.pull_out import Outing, out_at_s
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Desk
from stockroom.desk.climate.warm_tables import set_warm_table, warm_table
from stockroom.desk.climate.warming_text import cautions
from stockroom.desk.climate.warming import Warming, package_of, warming_of
from stockroom.errors import BadValueError, ImportProblem, RefusedError

HOUR_S = 3_600
THURSDAY = date(2026, 3, 5)
READY_S = 42_600
"""50 m of paper from 4 to 21 °C take 11.8 h at 3 W/(m2 K), told as 11 h 50 min."""
ROWS = [(12_700, 500_000, 400, 600), (12_700, 500_000, -1_800, 960)]
"""10 h from 4 °C, 16 h from -18 °C, for up to 50 m."""


def warming(studio: Studio, unit: str | None = None, **how: object) -> Warming:
    """How a unit of the small studio warms up."""
    with reckoned(studio.desk) as reckoning:
        found = reckoning.unit(unit or studio.roll)
        assert found is not None
        told = warming_of(reckoning, found, **how)  # type: ignore[arg-type]
    assert told is not None
    return told


def log_of(t_s: np.ndarray, temp_c: np.ndarray, rh_pct: float | None = None) -> bytes:
    """A logger file of some readings."""
    head = "time,temperature °C" + ("" if rh_pct is None else ",humidity %")
    tail = "" if rh_pct is None else f",{rh_pct}"
    lines = [
        f"{datetime.fromtimestamp(int(at), UTC).isoformat()},{value:.2f}{tail}"
        for at, value in zip(t_s, temp_c, strict=True)
    ]
    return "\n".join([head, *lines, ""]).encode()


def log_room(studio: Studio, temp_c: float, rh_pct: float | None, hours: float = 2) -> None:
    """Take in a log of the mounting room over the last hours."""
    t_s = np.arange(MONDAY_S - hours * HOUR_S, MONDAY_S + 1, 900)
    data = log_of(t_s, np.full(len(t_s), temp_c), rh_pct)
    readings.take_in_readings(studio.desk, "Mounting room", data, "room.csv")


def out_of(desk: Desk, job: str = "Salt flats") -> Outing:
    """The one roll to take out for a job."""
    (found,) = [item for item in today(desk).take_out if item.job.name == job]
    return found


def figures(studio: Studio, unit: str) -> dict[str, Figure]:
    """The warm-up figures of a unit by name."""
    _, told = unit_figures(studio.desk, unit)
    return {figure.name: figure for figure in told if figure.group == "Warm-up"}


# --- a maker's table -------------------------------------------------------------------------


def test_a_table_is_replaced_whole_and_undone(studio: Studio) -> None:
    """Of two tables only the later one counts; taken back, the earlier one stands again."""
    desk = studio.desk
    set_warm_table(desk, studio.paper, ROWS, "sheet of 2024")
    assert warming(studio).wait.ready_s == 10 * HOUR_S
    # a single row of fewer hours: an old row that still stood would say 10 h
    done = set_warm_table(desk, "Satin", [(12_700, 500_000, 400, 900)], "sheet of 2025")
    assert any("sheet of 2024 no longer stand" in line for line in done.said)
    told = warming(studio)
    assert (told.wait.ready_s, told.wait.by) == (15 * HOUR_S, "maker's table")
    assert told.table_source == "sheet of 2025"
    _, rows = warm_table(desk, "Satin")
    assert [(row.minutes, row.source) for row in rows] == [(900, "sheet of 2025")]
    undo(desk, done.seq)
    assert warming(studio).wait.ready_s == 10 * HOUR_S
    with desk.reading() as view:
        assert sum(row.standing for row in everything(view, WarmTime)) == len(ROWS)


@pytest.mark.parametrize(
    ("rows", "source", "said"),
    [
        (ROWS, " ", "needs its source"),
        ([], "sheet", "not 0"),
        ([(0, 500_000, 400, 600)], "sheet", "Row 1: a width"),
        ([(12_700, 200_000_000, 400, 600)], "sheet", "Row 1: a length"),
        ([(12_700, 500_000, -9_000, 600)], "sheet", "Row 1: a cold place"),
        ([(12_700, 500_000, 400, 30_000)], "sheet", "Row 1: a wait"),
        ([*ROWS, (12_700, 500_000, 400, 700)], "sheet", "Row 3 tells other hours"),
    ],
)
def test_a_table_that_cannot_be_is_refused(studio, rows, source, said) -> None:
    with pytest.raises(BadValueError) as refused:
        set_warm_table(studio.desk, studio.paper, rows, source)
    assert said in refused.value.what


def test_a_table_is_for_what_is_kept_cold(studio: Studio) -> None:
    with pytest.raises(RefusedError):
        set_warm_table(studio.desk, studio.sheet, ROWS, "sheet")


# --- what warms up, and where ----------------------------------------------------------------


def test_the_length_left_warms_up_not_the_length_delivered(studio: Studio) -> None:
    """Drawn off since it left the cold counts by its time: the probe's roll is as it then was."""
    whole = warming(studio)
    assert whole.body == Package(500_000, 12_700, 0.24)
    handling.use(studio.desk, studio.roll, 400_000)
    drawn = warming(studio)
    assert drawn.body == Package(100_000, 12_700, 0.24)
    assert drawn.wait.ready_s < 0.6 * whole.wait.ready_s
    with reckoned(studio.desk) as reckoning:
        unit = reckoning.units[studio.roll]
        assert package_of(reckoning, unit, MONDAY_S - 1) == whole.body


def test_a_pack_warms_up_only_where_its_size_tells_it(studio: Studio) -> None:
    desk = studio.desk
    for name, thickness_um in (("Sheet paper", 250), ("Nameless sheets", None)):
        defining.define_material(
            desk, name, "paper", "sheet", width_dmm=5_080, length_dmm=4_060,
            thickness_um=thickness_um, label_life_days=400,
        )  # fmt: skip
    pack = code_of(
        receiving.receive(desk, Delivery(material="Sheet paper", place="Cold store", count=100)),
        "unit",
    )
    assert warming(studio, pack).body == Pack(25.0, 508.0, 406.0)
    with reckoned(desk) as reckoning:
        assert package_of(reckoning, reckoning.units[studio.pack]) is None  # acrylic
    bare = code_of(
        receiving.receive(desk, Delivery(material="Nameless", place="Cold store", count=9)), "unit"
    )
    assert warming(studio, bare).body == Pack(9 * 0.24, 508.0, 406.0)  # paper of usual thickness


def test_the_room_is_its_last_reading_within_a_day_else_taken_for_damp(studio: Studio) -> None:
    taken = warming(studio).room
    assert (taken.name, taken.temp_c) == ("Mounting room", 21.0)
    assert (taken.humidity_pct, taken.temp_source) == (ROOM_HUMIDITY.value, "its set-point")
    log_room(studio, 23.4, 41.0)
    logged = warming(studio).room
    assert (logged.temp_c, logged.humidity_pct) == (23.4, 41.0)
    assert logged.humidity_source == "logged Mon 2 Mar 2026 09:00, the dampest in 24 h"
    assert warming(studio, room=studio.magazine).room.name == "Printer magazine"
    studio.desk.now_s.on(1.1)  # type: ignore[attr-defined]
    stale = warming(studio).room
    assert (stale.temp_c, stale.humidity_pct) == (21.0, ROOM_HUMIDITY.value)
    assert stale.humidity_source.endswith("drier when last logged, Mon 2 Mar 2026 09:00")


def test_the_dew_point_is_the_rooms_not_the_stores(studio: Studio) -> None:
    """A damp store of 4 °C has its dew point near 4 °C; the room's is what water settles by."""
    t_s = np.arange(MONDAY_S - HOUR_S, MONDAY_S + 1, 900)
    store = log_of(t_s, np.full(len(t_s), 4.0), 95.0)
    readings.take_in_readings(studio.desk, "Cold store", store, "store.csv")
    log_room(studio, 21.0, 50.0)
    told = warming(studio)
    assert told.wait.dew.kind == "dew point"
    assert told.wait.dew.temp_c == pytest.approx(10.19, abs=0.01)
    core_c, _ = temperature_at(told.body, 4.0, 21.0, 3.0, told.wait.safe_s)
    assert float(core_c) == pytest.approx(10.19 + 2.8, abs=0.01)


def test_a_dry_cold_room_has_a_frost_point(studio: Studio) -> None:
    log_room(studio, 15.0, 20.0)
    shown = figures(studio, studio.roll)["Safe to open"].inputs
    assert warming(studio).wait.dew.kind == "frost point"
    assert [item.value for item in shown if item.name == "Frost point"] == [
        "-6.9 °C: it opens at -4.1 °C"
    ]
    assert warming(studio).wait.safe_s == 0


def test_no_wait_makes_opening_safe_in_a_damp_room(studio: Studio) -> None:
    desk = studio.desk
    log_room(studio, 21.0, 90.0)
    booking.book(desk, "Salt flats", 25_000, 12_500, THURSDAY, studio.paper)
    assert warming(studio).wait.safe_s is None
    outing = out_of(desk)
    assert outing.safe_s is None
    assert outing.ready_s is not None
    (said, *_) = cautions(outing, "UTC")
    assert "Dry or warm the room first" in said
    figure = figures(studio, outing.unit.code)["Safe to open"]
    assert (figure.tone, "no wait makes opening safe" in figure.value) == ("bad", True)


def test_a_place_called_cold_without_any_figure_is_taken_for_a_freezer(studio: Studio) -> None:
    defining.define_place(studio.desk, "Old chest", "cold store")
    handling.move(studio.desk, [studio.roll], "Old chest")
    studio.desk.now_s.on(5)  # type: ignore[attr-defined]
    assert warming(studio).wait.from_c == -18.0


def test_a_roll_just_moved_from_the_freezer_is_still_as_cold(studio: Studio) -> None:
    """A day later in a store of 4 °C it may still be colder than its place; two days on it is not.

    A moment in the freezer does not count.
    """
    desk, now = studio.desk, studio.desk.now_s
    defining.define_place(desk, "Freezer", "cold store", set_point_centi_c=-1_800)
    handling.move(desk, [studio.roll, studio.second_roll], "Freezer")
    now.on(seconds=600)  # type: ignore[attr-defined]
    handling.move(desk, [studio.second_roll], "Cold store")
    now.on(5)  # type: ignore[attr-defined]
    handling.move(desk, [studio.roll], "Cold store")
    now.on(1)  # type: ignore[attr-defined]
    assert warming(studio).wait.from_c == -18.0
    assert warming(studio, studio.second_roll).wait.from_c == 4.0
    now.on(1.1)  # type: ignore[attr-defined]
    assert warming(studio).wait.from_c == 4.0


# --- a probe run -----------------------------------------------------------------------------


@dataclass(frozen=True)
class Run:
    """A simulated probe run: when it was taken out, what it read, how long."""

    out_s: int
    data: bytes


def probe_run(h: float, body: Package, *, room_c: float = 21.0, hours: float = 20) -> Run:
    """A probe in the core from an hour before it was taken out, read to 0.1 K with noise."""
    out_s = MONDAY_S + 2 * HOUR_S
    t_s = np.arange(MONDAY_S + HOUR_S, out_s + hours * HOUR_S, 600)
    core_c, _ = temperature_at(body, 4.0, room_c, h, np.maximum(0.0, t_s - out_s))
    noise = np.random.default_rng(7).normal(0, 0.05, len(t_s))
    return Run(out_s, log_of(t_s, np.round(core_c + noise, 1)))


@pytest.fixture
def taken_out(studio: Studio) -> Run:
    """A roll of 30 m that was taken out as booked, with a probe in its core."""
    handling.use(studio.desk, studio.roll, 200_000)
    run = probe_run(5.2, Package(300_000, 12_700))
    now = studio.desk.now_s
    now.on(seconds=2 * HOUR_S)  # type: ignore[attr-defined]
    handling.move(studio.desk, [studio.roll], "Mounting room")
    now.on(2)  # type: ignore[attr-defined]
    return run


def test_a_probe_run_tells_the_coefficient_it_was_made_with(studio, taken_out) -> None:
    """From the file and the books alone: when it was taken out, how cold, how long the roll."""
    desk = studio.desk
    handling.use(desk, studio.roll, 250_000)  # long after: the run's roll had 30 m
    seen = look_at_probe_run(desk, studio.roll, taken_out.data, "core.csv", room_c=21.0)
    assert (seen.out_s, seen.out_source) == (taken_out.out_s, "as booked")
    assert seen.body == Package(300_000, 12_700, 0.24)
    assert seen.from_c == pytest.approx(4.0, abs=0.2)
    assert seen.fit.h == pytest.approx(5.2, rel=0.03)
    assert seen.fit.low < 5.2 < seen.fit.high
    assert not seen.poor
    with desk.reading() as view:
        assert everything(view, ProbeRun) == []
    done = note_probe_run(desk, studio.roll, taken_out.data, "core.csv", room_c=21.0)
    again = note_probe_run(desk, studio.roll, taken_out.data, "core.csv", room_c=21.0)
    assert (again.seq, again.repeated) == (done.seq, True)
    with desk.reading() as view:
        (run,) = everything(view, ProbeRun)
    assert run.h_milli == round(1_000 * seen.fit.h)
    assert (run.low_milli, run.high_milli) == (
        round(1_000 * seen.fit.low), round(1_000 * seen.fit.high),
    )  # fmt: skip
    assert run.rms_milli_k == round(1_000 * seen.fit.rms_k)
    assert seen.log.sha256 in run.file
    assert run.at_s == seen.until_s


def test_the_rooms_own_log_of_that_time_counts(studio, taken_out) -> None:
    """Without a log of that time nothing is guessed; a wrong temperature tells a wrong figure."""
    desk = studio.desk
    with pytest.raises(ImportProblem) as refused:
        look_at_probe_run(desk, studio.roll, taken_out.data, "core.csv", room="Mounting room")
    assert "tells 0 % of the probe run" in refused.value.what
    t_s = np.arange(MONDAY_S, MONDAY_S + DAY_S, 900)
    readings.take_in_readings(
        desk, "Mounting room", log_of(t_s, np.full(len(t_s), 21.0)), "room.csv"
    )
    wrong = look_at_probe_run(desk, studio.roll, taken_out.data, "core.csv", room_c=24.0)
    assert wrong.fit.h < 5.0
    seen = look_at_probe_run(desk, studio.roll, taken_out.data, "core.csv")
    assert (seen.room, seen.room_source) == ("Mounting room", "its own log")
    assert seen.fit.h == pytest.approx(5.2, rel=0.03)


def test_a_run_that_was_not_booked_wants_to_be_told_when(studio: Studio) -> None:
    """An hour in the cold before it spoils the fit, and that is said; with the time it is right."""
    run = probe_run(5.2, Package(500_000, 12_700))
    studio.desk.now_s.on(2)  # type: ignore[attr-defined]
    with pytest.raises(BadValueError) as refused:
        look_at_probe_run(studio.desk, studio.roll, run.data, "core.csv")
    assert "In which room" in refused.value.what
    told = look_at_probe_run(
        studio.desk, studio.roll, run.data, "core.csv", room_c=21.0, out_s=run.out_s
    )
    assert (told.out_source, told.fit.h) == ("as told", pytest.approx(5.2, rel=0.03))
    guessed = look_at_probe_run(studio.desk, studio.roll, run.data, "core.csv", room_c=21.0)
    assert guessed.out_source == "its first reading"
    assert guessed.poor
    with pytest.raises(BadValueError):
        look_at_probe_run(
            studio.desk, studio.roll, run.data, "core.csv", room_c=21.0, out_s=MONDAY_S - DAY_S
        )


def test_the_last_run_of_the_same_material_counts_first(studio, taken_out) -> None:
    desk = studio.desk
    assert warming(studio, studio.second_roll).coefficient.h == WARM_UP_COEFFICIENT.value
    defining.define_material(
        desk, "Gloss paper", "paper", "roll", width_dmm=10_160, length_dmm=300_000,
        label_life_days=700,
    )  # fmt: skip
    gloss = code_of(
        receiving.receive(desk, Delivery(material="Gloss paper", place="Cold store")), "unit"
    )
    note_probe_run(desk, studio.roll, taken_out.data, "core.csv", room_c=21.0)
    other = warming(studio, gloss).coefficient
    assert "of another material" in other.source
    payload = {"h_milli": 4_000, "low_milli": 3_900, "high_milli": 4_100, "rms_milli_k": 90}
    run = desk.act(
        "probe run", {"unit": gloss},
        lambda decision: {"code": decision.head.born(), "unit": gloss, "file": "x", **payload},
    )  # fmt: skip
    assert warming(studio, gloss).coefficient.h == 3.9
    own = warming(studio, studio.second_roll).coefficient
    assert "of this material" in own.source
    undo(desk, run.seq)
    assert "of another material" in warming(studio, gloss).coefficient.source


def note_run(desk: Desk, unit: str, low: int, best: int, high: int) -> None:
    """Write down a probe run, mW/(m2 K)."""
    payload = {"h_milli": best, "low_milli": low, "high_milli": high, "rms_milli_k": 90}
    desk.act(
        "probe run", {"unit": unit, "low": low},
        lambda decision: {"code": decision.head.born(), "unit": unit, "file": "x", **payload},
    )  # fmt: skip


def test_of_a_probe_run_the_slow_end_counts(studio: Studio) -> None:
    """The best coefficient would call it safe while the slow end says that it is not yet."""
    note_run(studio.desk, studio.roll, 3_600, 4_500, 5_800)
    told = warming(studio)
    assert (told.coefficient.h, told.coefficient.held) == (3.6, False)
    core_c, _ = temperature_at(told.body, 4.0, 21.0, 3.6, told.wait.safe_s)
    assert float(core_c) == pytest.approx(told.wait.dew.temp_c + 2.8, abs=0.01)
    shown = {item.name: item.value for item in figures(studio, studio.roll)["Safe to open"].inputs}
    assert shown["Surface coefficient"] == "3.6, the low end to 5.8 W/(m² K)"


def test_a_run_of_another_material_never_makes_it_quicker(studio: Studio) -> None:
    """Slower it may make it; quicker than with no run at all it does not."""
    desk = studio.desk
    defining.define_material(
        desk, "Gloss paper", "paper", "roll", width_dmm=10_160, length_dmm=300_000,
        label_life_days=700,
    )  # fmt: skip
    gloss = code_of(
        receiving.receive(desk, Delivery(material="Gloss paper", place="Cold store")), "unit"
    )
    without_s = warming(studio, gloss).wait.safe_s
    note_run(desk, studio.roll, 4_900, 5_200, 5_600)
    quick = warming(studio, gloss)
    assert (quick.coefficient.h, quick.coefficient.held) == (WARM_UP_COEFFICIENT.value, True)
    assert quick.wait.safe_s == without_s
    assert "makes it no quicker than no run" in quick.coefficient.source
    desk.now_s.on(1)  # type: ignore[attr-defined]
    note_run(desk, studio.roll, 2_000, 2_200, 2_500)
    slow = warming(studio, gloss)
    assert (slow.coefficient.h, slow.coefficient.held) == (2.0, False)
    assert slow.wait.safe_s > without_s  # type: ignore[operator]


# --- when it comes out -----------------------------------------------------------------------


def test_a_roll_goes_out_the_evening_before_even_where_a_table_says_less(studio: Studio) -> None:
    desk = studio.desk
    booking.book(desk, "Salt flats", 25_000, 12_500, THURSDAY, studio.paper)
    outing = out_of(desk)
    evening_s = clock.local_hour_s(date(2026, 3, 4), 17, "UTC")
    assert (outing.out_s, outing.by) == (evening_s, date(2026, 3, 4))
    assert outing.safe_s is not None
    assert outing.ready_s is not None
    assert evening_s + 4 * HOUR_S < outing.safe_s < outing.ready_s
    assert outing.ready_s == evening_s + READY_S
    set_warm_table(desk, studio.paper, [(12_700, 500_000, -1_800, 120)], "sheet")
    quick = out_of(desk)
    assert quick.out_s == evening_s
    assert quick.ready_s is not None
    assert quick.ready_s < outing.ready_s


def test_a_long_roll_in_a_freezer_comes_out_earlier(studio: Studio) -> None:
    """27 h until ready: out before the evening, so that it is ready when the print begins."""
    desk = studio.desk
    defining.define_place(desk, "Freezer", "cold store", set_point_centi_c=-1_800)
    defining.define_material(
        desk, "Long paper", "paper", "roll", width_dmm=12_700, length_dmm=1_000_000,
        thickness_um=240, label_life_days=730,
    )  # fmt: skip
    receiving.receive(desk, Delivery(material="Long paper", place="Freezer"))
    booking.book(desk, "Long wall", 25_000, 12_500, THURSDAY, "Long paper")
    outing = out_of(desk, "Long wall")
    assert outing.warming is not None
    morning_s = clock.local_hour_s(THURSDAY, 9, "UTC")
    assert outing.ready_s == morning_s
    assert 0 <= morning_s - outing.warming.wait.ready_s - outing.out_s < 600
    assert clock.moment_text(outing.out_s, "UTC") == "Wed 4 Mar 2026 06:00"


def test_what_should_be_out_already_comes_out_now_and_is_told_late(studio: Studio) -> None:
    desk, now_s = studio.desk, MONDAY_S
    booking.book(desk, "Salt flats", 25_000, 12_500, date(2026, 3, 2), studio.paper)
    outing = out_of(desk)
    assert outing.at_once
    assert (outing.out_s, outing.by) == (now_s, date(2026, 3, 2))
    assert outing.ready_s == now_s + READY_S
    assert any("Not ready by Mon 2 Mar 09:00" in text for text in cautions(outing, "UTC"))


def test_rolls_that_come_out_together_are_told_how_long_stacked(studio: Studio) -> None:
    desk = studio.desk
    defining.define_material(
        desk, "Gloss paper", "paper", "roll", width_dmm=12_700, length_dmm=500_000,
        thickness_um=240, label_life_days=700,
    )  # fmt: skip
    receiving.receive(desk, Delivery(material="Gloss paper", place="Cold store"))
    booking.book(desk, "Salt flats", 25_000, 12_500, THURSDAY, studio.paper)
    assert out_of(desk).beside == 0
    assert not any("stand them apart" in text for text in cautions(out_of(desk), "UTC"))
    booking.book(desk, "Night ferry", 25_000, 12_500, THURSDAY, "Gloss paper")
    first, second = today(desk).take_out
    assert (first.beside, second.beside) == (1, 1)
    assert first.warming is not None
    wait_s = first.warming.wait.ready_s
    assert warming(studio, stacked=True).wait.ready_s == pytest.approx(1.5 * wait_s)
    assert first.stacked_ready_s == pytest.approx(first.out_s + 1.5 * wait_s, abs=600)
    assert cautions(first, "UTC") == [
        "2 rolls come out that day: stand them apart, or count until Thu 5 Mar 10:50."
    ]
    booking.book(desk, "Salt spray", 25_000, 12_500, THURSDAY, studio.paper)
    assert {item.beside for item in today(desk).take_out} == {1}  # the same roll counts once


@pytest.mark.parametrize(
    ("print_on", "evening", "apart_h"),
    [
        (date(2026, 3, 29), "Sat 28 Mar 2026 17:00", 15),
        (date(2026, 10, 25), "Sat 24 Oct 2026 17:00", 17),
    ],
)  # fmt: skip
def test_evening_and_morning_are_by_the_clocks_on_the_wall(print_on, evening, apart_h) -> None:
    """Over the night on which the clocks change, 17:00 to 09:00 is 15 or 17 hours, not 16."""
    zone = "Europe/Berlin"
    out_s = out_at_s(print_on, 0, zone)
    assert clock.moment_text(out_s, zone) == evening
    morning_s = clock.local_hour_s(print_on, 9, zone)
    assert (morning_s - out_s) / HOUR_S == apart_h
    # what takes 15.5 h is not ready in a night that is an hour short: it comes out before 17:00
    early_s = out_at_s(print_on, 15.5 * HOUR_S, zone)
    assert early_s == min(out_s, morning_s - round(15.5 * HOUR_S))
    assert (early_s < out_s) == (apart_h == 15)


def test_the_workshops_zone_is_used_in_summer_too(tmp_path: Path) -> None:
    now = Clock(int(datetime(2026, 3, 27, 8, 0, tzinfo=UTC).timestamp()))
    desk = Desk.at(str(tmp_path / "b.stockroom"), begin=True, zone="Europe/Berlin", now_s=now)
    studio = furnish(desk)
    booking.book(desk, "Salt flats", 25_000, 12_500, date(2026, 3, 30), studio.paper)
    outing = out_of(desk)
    assert clock.moment_text(outing.out_s, "Europe/Berlin") == "Sun 29 Mar 2026 17:00"
    assert datetime.fromtimestamp(outing.out_s, UTC).hour == 15
    desk.close()


def test_what_goes_back_goes_back_by_the_evening(studio: Studio) -> None:
    desk = studio.desk
    handling.move(desk, [studio.roll], "Mounting room")
    (back,) = today(desk).put_back
    assert back.by_s == clock.local_hour_s(date(2026, 3, 2), 17, "UTC")
    desk.now_s.on(seconds=9 * HOUR_S)  # type: ignore[attr-defined]
    (late,) = today(desk).put_back
    assert late.by_s == MONDAY_S + 9 * HOUR_S


def test_a_roll_that_goes_back_first_is_as_cold_as_where_it_goes(studio: Studio) -> None:
    """Out in the room with a print in a week: it goes back today, and comes out cold again."""
    desk = studio.desk
    handling.move(desk, [studio.roll], "Mounting room")
    handling.hold(desk, studio.second_roll, "dented")
    booking.book(desk, "Salt flats", 25_000, 12_500, date(2026, 3, 9), studio.paper)
    outing = out_of(desk)
    assert (outing.unit.code, outing.place.name) == (studio.roll, "Cold store")
    assert outing.warming is not None
    assert (outing.warming.wait.from_c, outing.warming.left_s) == (4.0, None)
    assert outing.ready_s == outing.out_s + READY_S


def test_the_day_sheet_has_the_times(studio: Studio) -> None:
    booking.book(studio.desk, "Salt flats", 25_000, 12_500, THURSDAY, studio.paper)
    text = " ".join(
        page.extract_text() for page in PdfReader(BytesIO(day_sheet(studio.desk))).pages
    )
    told = " ".join(text.split())
    assert "by Wed 4 Mar 17:00, in 2 days" in told
    assert "ready Thu 5 Mar 04:50" in told


# --- out to warm -----------------------------------------------------------------------------


def test_a_roll_out_to_warm_tells_its_hours_until_they_are_over(studio: Studio) -> None:
    """Safe, then ready, then over; long after it is nothing but warm."""
    desk, now = studio.desk, studio.desk.now_s
    in_cold = figures(studio, studio.roll)
    assert in_cold["Safe to open"].value.endswith("h after it comes out, in Mounting room")
    now.on(2)  # type: ignore[attr-defined]
    handling.move(desk, [studio.roll], "Mounting room")
    left_s = now.now_s  # type: ignore[attr-defined]
    told = warming(studio)
    assert (told.left_s, told.cold.name) == (left_s, "Cold store")
    assert told.safe_s == pytest.approx(left_s + told.wait.safe_s)  # type: ignore[operator]
    assert told.ready_s == pytest.approx(left_s + told.wait.ready_s)
    assert not told.over(left_s)
    waits = figures(studio, studio.roll)["Safe to open"]
    assert (waits.value.startswith("from Wed 4 Mar"), waits.tone) == (True, "ask")
    assert notice(desk, studio.roll) == ""  # it has its own part of the morning
    now.on(seconds=8 * HOUR_S)  # type: ignore[attr-defined]
    assert notice(desk, studio.roll) == ""
    now.on(seconds=5 * HOUR_S)  # type: ignore[attr-defined]
    assert warming(studio).over(now.now_s)  # type: ignore[attr-defined]
    assert notice(desk, studio.roll).startswith("is warm: ready to print")
    now.on(2)  # type: ignore[attr-defined]
    assert notice(desk, studio.roll) == ""
    assert figures(studio, studio.roll) == {}
    now.on(7)  # type: ignore[attr-defined]
    with reckoned(desk) as reckoning:
        assert warming_of(reckoning, reckoning.units[studio.roll]) is None


def notice(desk: Desk, unit: str) -> str:
    """What is to be seen of a unit in the morning, without its name."""
    found = [item.what for item in today(desk).notices if item.unit == unit]
    return found[0].split(",", 2)[2].strip() if found else ""


def test_a_roll_opened_too_early_is_told_for_a_week(studio: Studio) -> None:
    desk, now = studio.desk, studio.desk.now_s
    now.on(2)  # type: ignore[attr-defined]
    handling.move(desk, [studio.roll, studio.second_roll], "Mounting room")
    now.on(seconds=2 * HOUR_S)  # type: ignore[attr-defined]
    handling.open_unit(desk, studio.roll)
    now.on(seconds=10 * HOUR_S)  # type: ignore[attr-defined]
    handling.open_unit(desk, studio.second_roll)
    assert notice(desk, studio.roll) == "was opened before it was safe"
    assert notice(desk, studio.second_roll) == ""
    handling.move(desk, [studio.roll], "Cold store")
    now.on(6)  # type: ignore[attr-defined]
    (said,) = [item for item in today(desk).notices if item.unit == studio.roll]
    assert (said.tone, "run a strip" in said.why) == ("bad", True)
    assert "left Cold store Wed 4 Mar 09:00 and was opened 11:00" in said.why
    now.on(2)  # type: ignore[attr-defined]
    assert notice(desk, studio.roll) == ""


def test_a_roll_taken_out_open_is_told_at_once(studio: Studio) -> None:
    desk, now = studio.desk, studio.desk.now_s
    handling.open_unit(desk, studio.roll)
    now.on(8)  # type: ignore[attr-defined]
    booking.book(desk, "Salt flats", 25_000, 12_500, date(2026, 3, 12), studio.paper)
    handling.hold(desk, studio.second_roll, "dented")
    assert "It stands open: bag it shut before it leaves the cold." in cautions(out_of(desk), "UTC")
    handling.move(desk, [studio.roll], "Mounting room")
    assert notice(desk, studio.roll) == "stands open and is still too cold: shut it again"


def test_every_figure_says_from_what_it_is_made(studio: Studio) -> None:
    set_warm_table(studio.desk, studio.paper, ROWS, "sheet of 2024")
    told = figures(studio, studio.roll)
    ready = {item.name: item for item in told["Ready to print"].inputs}
    assert ready["Size"].value == "50.0 m left, 152 mm across, 1270 mm wide"
    assert ready["Maker's table"].value.startswith("1270 mm, 50.0 m from 4 °C: 10 h")
    assert ready["Maker's table"].source == "sheet of 2024"
    (safe,) = [item for item in told["Safe to open"].inputs if item.name == "Maker's table"]
    assert safe.value == "1270 mm, 50.0 m from 4 °C: 10 h: the row for it; it decides"
    assert ready["Stacked"].value == "15 h: stand rolls apart, or count so long"
    assert all(item.source for figure in told.values() for item in figure.inputs)
    set_warm_table(studio.desk, studio.paper, [(10_160, 100_000, 400, 120)], "small")
    beyond = figures(studio, studio.roll)["Ready to print"]
    assert beyond.value.endswith("beyond the maker's table")
    assert any("larger or colder than any row" in item.value for item in beyond.inputs)
    assert TableRow(10_160, 100_000, 4, 2) in warming(studio).rows
