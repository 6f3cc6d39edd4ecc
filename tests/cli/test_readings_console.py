"""The console takes in a folder quietly for a scheduler, and says what a logger file holds."""

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from support.logs import START_S, log
from support.studio import Studio

from stockroom.cli import run

At = Callable[..., int]
PER_DAY = 96


@pytest.fixture
def at(studio: Studio, tmp_path: Path) -> At:
    """Run a command on the small studio's store."""
    store = str(tmp_path / "studio.stockroom")
    return lambda *words: run([*words, "--store", store])


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with a sub-folder for the cold store, in which a log lies."""
    put(tmp_path / "loggers" / "Cold store" / "b.csv", log(2))
    return tmp_path / "loggers"


def put(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data)
    os.utime(path, (START_S, START_S))


def test_a_folder_is_told_when_there_is_news_and_silent_when_not(
    at: At, studio: Studio, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert at("readings", "take-in", str(folder)) == 0
    told = capsys.readouterr()
    readings = f"{2 * PER_DAY + 1} readings, Mon 2 Mar 2026 09:00"
    assert f"Cold store/b.csv, Cold store: {readings}" in told.out
    assert told.err == ""
    assert at("readings", "take-in", str(folder)) == 0
    assert capsys.readouterr() == ("", "")
    put(folder / "Cold store" / "c.csv", log(3))
    assert at("readings", "take-in", str(folder)) == 0
    told = capsys.readouterr()
    assert "c.csv" in told.out
    assert "b.csv" not in told.out
    assert f"{2 * PER_DAY + 1} of its {3 * PER_DAY + 1} readings were known" in told.out


def test_what_is_refused_is_told_aside_with_its_line_and_code_2(
    at: At, studio: Studio, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = log(1).replace(b"2026-03-02T10:00", b"2026-13-02T10:00")
    put(folder / "Cold store" / "a broken.csv", broken)
    put(folder / "Attic" / "x.csv", log(1))
    assert at("readings", "take-in", str(folder)) == 2
    told = capsys.readouterr()
    assert "Cold store/b.csv" in told.out
    assert told.err.count("a broken.csv") >= 1
    assert "line 6" in told.err
    assert "No place is called 'Attic'" in told.err
    assert at("--json", "readings", "take-in", str(folder)) == 2
    value = json.loads(capsys.readouterr().out)
    assert value["format"] == "stockroom.taken-in-folder/1"
    assert value["taken"] == []
    assert value["skipped"] == [{"path": "Cold store/b.csv", "why": "taken in before"}]
    assert [item["path"] for item in value["refused"]] == ["Attic", "Cold store/a broken.csv"]
    assert "6" in str(value["refused"][1])


def test_a_folder_of_one_place_as_json(
    at: At, studio: Studio, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ("readings", "take-in", str(folder / "Cold store"), "--place", "Mounting room")
    assert at("--json", *words) == 0
    (item,) = json.loads(capsys.readouterr().out)["taken"]
    assert item.pop("act") > 0
    assert item == {
        "path": "b.csv", "place": studio.room, "readings": 2 * PER_DAY + 1,
        "from_s": START_S, "to_s": START_S + 2 * 86_400,
        "known": 0, "differing": 0, "largest_difference_c": 0.0,
        "elsewhere": [], "median_step_s": 900.0,
    }  # fmt: skip


def test_a_single_file_wants_its_place_and_tells_the_overlap(
    at: At, studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, data in (("one", log(2)), ("two", log(3, (1, 1, 6.25))), ("three", log(1))):
        put(tmp_path / f"{name}.csv", data)
    take = ("readings", "take-in")
    assert at(*take, str(tmp_path / "one.csv")) == 2
    assert "--place" in capsys.readouterr().err
    assert at(*take, str(tmp_path / "one.csv"), "--place", "Cold store") == 0
    assert "known" not in capsys.readouterr().out
    assert at("--json", *take, str(tmp_path / "two.csv"), "--place", "Cold store") == 0
    value = json.loads(capsys.readouterr().out)
    assert value["format"] == "stockroom.taken-in/1"
    assert (value["known"], value["differing"]) == (2 * PER_DAY + 1 - 4, 4)
    assert value["largest_difference_c"] == 2.2  # 6.25 is written as 6.2 in the file
    assert at(*take, str(tmp_path / "three.csv"), "--place", "Cold store") == 0
    assert f"Nothing new in it: all {PER_DAY + 1} readings" in capsys.readouterr().out


def test_a_look_tells_zone_order_ends_gaps_flags_and_a_step_too_long(
    at: At, studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [f"2026-03-02T{hour:02d}:00:00+02:00,4.1" for hour in range(20) if hour not in (7, 8)]
    rows[3] = rows[3].replace("4.1", "85.0")
    rows[5] = rows[5].replace("4.1", "999")
    rows.append(rows[4].replace("4.1", "4.6"))
    put(tmp_path / "log.csv", ("time,temperature °C\n" + "\n".join(rows) + "\n").encode())
    assert at("readings", "look", str(tmp_path / "log.csv")) == 0
    told = " ".join(capsys.readouterr().out.split())
    for said in (
        "year first", "Zone: UTC+02:00 (the times)",
        "First Mon 2 Mar 2026 00:00 UTC+02:00, last Mon 2 Mar 2026 19:00 UTC+02:00; step 60 min",
        "Gaps: 1, the longest 3.0 h", "2 readings: sensor fault code",
        "1 reading: same time twice",
        "Logging every 60 min is too coarse to tell what a door opening costs: 15 minutes or less",
    ):  # fmt: skip
        assert said in told, said
    assert at("--json", "readings", "look", str(tmp_path / "log.csv")) == 0
    value = json.loads(capsys.readouterr().out)
    assert value["flags"]["sensor fault code"] == 2
    assert value["too_coarse"] is True
    assert value["first"] == "Mon 2 Mar 2026 00:00 UTC+02:00"


def test_a_look_at_a_fine_log_has_no_hint(
    at: At, studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    put(tmp_path / "log.csv", log(1))
    assert at("readings", "look", str(tmp_path / "log.csv")) == 0
    told = capsys.readouterr().out
    assert "too coarse" not in told
    assert "Gaps: none" in told
    assert "Flags: none" in told


def test_a_folder_tells_doubts_and_takes_a_unit(
    at: At, studio: Studio, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An hourly log without a unit: refused with a word, then taken in as it is told."""
    hourly = tmp_path / "loggers"
    hourly.mkdir()
    rows = (
        f"2026-02-{day:02d} {hour:02d}:00,68.{hour % 3}" for day in (1, 2) for hour in range(24)
    )
    (hourly / "a.csv").write_text("\n".join(["time,temp", *rows]))
    os.utime(hourly / "a.csv", (0, 0))
    words = ("readings", "take-in", str(hourly), "--place", "Mounting room")
    assert at(*words) == 2
    assert "--fahrenheit" in capsys.readouterr().err
    assert at(*words, "--fahrenheit") == 0
    out = capsys.readouterr().out
    assert "48 readings" in out
    assert "every 60 min is too coarse" in " ".join(out.split())
    assert at("readings", "look", str(hourly / "a.csv"), "--fahrenheit") == 0
    assert "(the workshop's)" in capsys.readouterr().out
