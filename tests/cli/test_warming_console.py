"""Warm-up tables, probe runs, waits and the calendar at the console, for people and scripts."""

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from icalendar import Calendar
from support.studio import MONDAY_S, Studio
from support.warmth import temperature_at

from stockroom.cli import base, run
from stockroom.core.climate.warmup import Package
from stockroom.desk.stock import handling

TABLE = "Width (mm);length_m;from_c;hours;remark\n1270;50;4;10,5;\n1270;50;-18;16;frozen\n"


@pytest.fixture
def at(studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Run a command on the small studio's store, at the studio's own time."""
    store = str(tmp_path / "studio.stockroom")
    monkeypatch.setattr(base.clock, "now_s", studio.desk.now_s)

    def call(*words: str) -> int:
        return run([*words, "--store", store])

    return call


@pytest.fixture
def table(tmp_path: Path) -> str:
    """A maker's table as a spreadsheet writes it."""
    path = tmp_path / "hours.csv"
    path.write_text(TABLE, encoding="utf-8")
    return str(path)


def out_json(capsys: pytest.CaptureFixture[str]) -> dict:
    return json.loads(capsys.readouterr().out)


def test_a_table_is_looked_at_taken_in_and_shown(at, studio, table, capsys) -> None:
    assert at("warm-table", "Satin", table, "--look") == 0
    told = capsys.readouterr().out
    assert "1270 mm, 50 m from 4 °C: 10.5 h" in told
    assert "Nothing was stored." in told
    assert at("warm-table", "Satin", "--show") == 0
    assert "no warm-up table is written down" in capsys.readouterr().out
    assert at("warm-table", "Satin", table) == 2
    assert "needs its source" in capsys.readouterr().err
    assert at("warm-table", "Satin", table, "--source", "data sheet of 2025") == 0
    assert "2 rows stand now, from data sheet of 2025." in capsys.readouterr().out
    assert at("--json", "warm-table", "Satin", "--show") == 0
    shown = out_json(capsys)
    assert (shown["format"], shown["source"]) == ("stockroom.warm-table/1", "data sheet of 2025")
    assert shown["rows"][0] == {"width_mm": 1270, "length_m": 50, "from_c": 4, "hours": 10.5}
    assert at("warm-table", "Satin") == 2


def test_a_table_with_faults_names_every_row(at, tmp_path, capsys) -> None:
    path = tmp_path / "faults.csv"
    path.write_text(
        "width_mm,length_m,from_c,hours\n1270,50,4,10\n0,50,4,10\n1270,x,4\n1270,x,4,10\n"
        "1270,50,4,11\n1270,50,4,900\n",
        encoding="utf-8",
    )
    assert at("warm-table", "Satin", str(path), "--source", "sheet") == 2
    told = capsys.readouterr().err
    for line in (
        "line 3: a width is above zero",
        "line 4: a cell is missing",
        "line 5: 'x' is not a length in m",
        "line 6: other hours than an earlier row",
        "line 7: a wait is above zero",
    ):
        assert line in told
    path.write_text("width_mm,length_m\n", encoding="utf-8")
    assert at("warm-table", "Satin", str(path), "--source", "sheet") == 2
    assert "Missing, or there twice: from_c, hours." in capsys.readouterr().err


def test_warm_up_answers_with_both_times_and_their_inputs(at, studio, table, capsys) -> None:
    assert at("warm-up", studio.roll) == 0
    told = capsys.readouterr().out
    assert "Safe to open: 6.8 h after it comes out, in Mounting room" in told
    assert "Ready to print: 11.8 h after it comes out, in Mounting room" in told
    assert "Dew point: 12.9 °C: it opens at 15.7 °C" in told
    assert at("--json", "warm-up", studio.roll) == 0
    alone = out_json(capsys)
    assert at("--json", "warm-up", studio.roll, "--stacked", "--room", "Printer magazine") == 0
    close = out_json(capsys)
    assert (alone["format"], alone["by"]) == ("stockroom.warm-up/1", "conduction")
    assert alone["ready_after_s"] == pytest.approx(42_473, abs=5)
    assert alone["stacked_ready_after_s"] == pytest.approx(1.5 * alone["ready_after_s"])
    assert (close["room"], close["stacked"]) == ("Printer magazine", True)
    assert close["ready_after_s"] > 1.4 * alone["ready_after_s"]
    assert at("warm-table", "Satin", table, "--source", "data sheet of 2025") == 0
    capsys.readouterr()
    assert at("--json", "warm-up", studio.roll) == 0
    by_table = out_json(capsys)
    assert (by_table["by"], by_table["ready_after_s"]) == ("maker's table", 10.5 * 3_600)
    assert at("warm-up", studio.pack) == 1
    assert "its size does not tell" in capsys.readouterr().err


def test_a_damp_room_answers_no(at, studio, tmp_path, capsys) -> None:
    path = tmp_path / "room.csv"
    stamp = datetime.fromtimestamp(MONDAY_S, UTC).isoformat()
    path.write_text(f"time,temperature °C,humidity %\n{stamp},21.0,92\n", encoding="utf-8")
    assert at("readings", "take-in", str(path), "--place", "Mounting room") == 0
    assert at("warm-up", studio.roll) == 1
    assert "no wait makes opening safe" in " ".join(capsys.readouterr().out.split())
    assert at("--json", "warm-up", studio.roll) == 1
    told = out_json(capsys)
    assert (told["state"], told["safe_after_s"]) == ("room too damp", None)


def test_a_probe_is_looked_at_then_written_down(at, studio, tmp_path, capsys) -> None:
    now = studio.desk.now_s
    handling.move(studio.desk, [studio.roll], "Mounting room")
    t_s = np.arange(0, 20 * 3_600, 900)
    core_c, _ = temperature_at(Package(500_000, 12_700), 4.0, 21.0, 4.4, t_s)
    lines = [
        f"{datetime.fromtimestamp(MONDAY_S + int(t), UTC).isoformat()},{value:.1f}"
        for t, value in zip(t_s, core_c, strict=True)
    ]
    path = tmp_path / "core.csv"
    path.write_text("time,temperature °C\n" + "\n".join(lines) + "\n", encoding="utf-8")
    now.on(1)
    assert at("probe", studio.roll, str(path), "--room", "Mounting room", "--look") == 2
    assert "Take in the room's own log" in capsys.readouterr().err
    words = ("probe", studio.roll, str(path), "--room", "Mounting room", "--room-c", "21")
    assert at(*words, "--look") == 0
    told = capsys.readouterr().out
    assert "Surface coefficient: 4.4" in told
    assert "Nothing was stored." in told
    assert at("--json", *words, "--look") == 0
    seen = out_json(capsys)
    assert seen["h_w_m2_k"] == pytest.approx(4.4, rel=0.02)
    assert (seen["format"], seen["out_known_by"]) == ("stockroom.probe/1", "as booked")
    assert at(*words) == 0
    assert "tells 4.4 W/(m² K)" in capsys.readouterr().out
    assert at(*words) == 0
    assert "stands already" in capsys.readouterr().out
    assert at("warm-up", studio.second_roll) == 0
    assert f"probe run in {studio.roll}" in capsys.readouterr().out


def test_today_tells_the_times(at, studio, capsys) -> None:
    assert at("book", "Salt flats", "--size", "2.5x1.25 m", "--day", "2026-03-05",
              "--material", "satin") == 0  # fmt: skip
    handling.move(studio.desk, [studio.second_roll], "Mounting room")
    capsys.readouterr()
    assert at("today") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "from Cold store by Wed 4 Mar 17:00, in 2 days, shut in its bag, for Salt flats" in told
    assert "safe to open 23:50, ready Thu 5 Mar 04:50; it stays shut till then" in told
    assert "to Cold store by Mon 2 Mar 17:00, today: each day" in told
    assert at("--json", "today") == 0
    found = out_json(capsys)
    (out,) = found["take_out"]
    (back,) = found["put_back"]
    evening_s = MONDAY_S + 2 * 86_400 + 8 * 3_600
    assert (out["out_s"], out["by"], out["at_once"]) == (evening_s, "2026-03-04", False)
    assert out["out_s"] < out["safe_s"] < out["ready_s"] < out["stacked_ready_s"]
    assert back["by_s"] == MONDAY_S + 8 * 3_600


def test_the_calendar_is_written_whole_or_said(at, studio, tmp_path, capsysbinary) -> None:
    assert at("calendar") == 2
    assert b"nothing to put in a calendar" in capsysbinary.readouterr().err
    assert at("book", "Salt flats", "--size", "2.5x1.25 m", "--day", "2026-03-05",
              "--material", "satin") == 0  # fmt: skip
    capsysbinary.readouterr()
    assert at("calendar") == 0
    said = capsysbinary.readouterr().out
    path = tmp_path / "studio.ics"
    assert at("calendar", str(path), "--days", "7") == 0
    assert b"1 entry in " in capsysbinary.readouterr().out
    assert path.read_bytes() == said
    assert len(Calendar.from_ical(said).walk("VEVENT")) == 1
    assert at("calendar", str(path)) == 1
    assert at("calendar", str(path), "--replace") == 0
    assert [item.name for item in tmp_path.iterdir() if item.suffix == ".part"] == []
