"""Whatever times stand in the books, and whatever day is asked for, every answer is in words."""

from datetime import UTC, datetime
from pathlib import Path

import pytest
from support.studio import MONDAY_S, Studio

from stockroom import clock
from stockroom.cli import run
from stockroom.desk.stock import handling
from stockroom.desk import session
from stockroom.desk.session import Desk

DAYS = ("0001-01-01", "1900-01-01", "1970-01-01", "9999-12-31")
FAR_S = int(datetime(9998, 12, 30, tzinfo=UTC).timestamp())


@pytest.mark.parametrize("now_s", [-FAR_S // 5, 0, 4_115_000_000, FAR_S])
def test_acts_at_any_time_can_be_read(
    studio: Studio,
    now_s: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    with monkeypatch.context() as unchecked:
        unchecked.setattr(session, "see_clock", lambda *_, **__: None)
        desk = Desk(studio.desk.engine, now_s=lambda: now_s)
        handling.open_unit(desk, studio.roll)
        handling.move(desk, [studio.roll, studio.second_roll], studio.magazine)
        handling.use(desk, studio.second_roll, 10_000)
    monkeypatch.setattr(clock, "now_s", lambda: MONDAY_S)
    for words in (
        ("unit", "show", studio.roll), ("unit", "show", studio.second_roll), ("today",),
        ("undo", "--list"), ("place", "show", "Printer magazine"), ("orders", "plan"),
    ):  # fmt: skip
        assert run([*words, "--store", str(tmp_path / "studio.stockroom")]) == 0, words
        told = capsys.readouterr()
        assert "did not foresee" not in told.err
    assert ("The clock says" in told.err) == (abs(now_s - MONDAY_S) > 86_400)


@pytest.mark.parametrize("day", DAYS)
def test_a_day_outside_the_trade_is_refused_in_words(
    studio: Studio, day: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    paper = "Satin colour paper 127"
    for words in (
        ("today", "--on", day),
        ("ok", "--unit", studio.roll, "--size", "2500x1250", "--day", day),
        ("book", "Dunes", "--size", "2500x1250", "--material", paper, "--day", day),
        ("receive", paper, "--place", "Cold store", "--label-date", day),
        ("order", "place", paper, "1", "--expected", day),
        ("needs", "--day", day),
        ("spoilage", "--month", day[:7]),
        ("cuts", "plan", "--upto", day),
        ("material", "terms", paper, "--closed", f"{day}..2030-01-01"),
        ("place", "mkt", "Cold store", "--from", day),
        ("retime", "6", f"{day}T12:00"),
        ("move", studio.roll, "--to", "Printer magazine", "--happened", f"{day}T12:00"),
    ):
        assert run([*words, "--store", str(tmp_path / "studio.stockroom")]) == 2, words
        assert "is outside 1980 to 2100" in capsys.readouterr().err, words


@pytest.mark.parametrize("year", [1970, 9999])
def test_by_a_clock_outside_the_trade_nothing_is_reckoned(
    studio: Studio,
    year: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    now_s = int(datetime(year, 6, 1, tzinfo=UTC).timestamp())
    monkeypatch.setattr(clock, "now_s", lambda: now_s)
    for words in (("today",), ("unit", "show", studio.roll), ("count", studio.roll, "40 m")):
        assert run([*words, "--store", str(tmp_path / "studio.stockroom")]) == 1
        assert f"Jun {year}" in capsys.readouterr().err


@pytest.mark.parametrize("year", [1970, 9999])
def test_by_such_a_clock_the_books_are_checked_and_backed_up_all_the_same(
    studio: Studio,
    year: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    now_s = int(datetime(year, 6, 1, tzinfo=UTC).timestamp())
    monkeypatch.setattr(clock, "now_s", lambda: now_s)
    for words in (("check",), ("backup", str(tmp_path / "studio.backup"))):
        assert run([*words, "--store", str(tmp_path / "studio.stockroom")]) == 0
        assert f"Jun {year}" in capsys.readouterr().err
    assert run(["check", str(tmp_path / "studio.backup")]) == 0


def test_the_option_is_taken_where_the_clock_is_right_after_all(
    studio: Studio,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(clock, "now_s", lambda: MONDAY_S - 2 * 86_400)
    words = ("count", studio.roll, "40 m", "--store", str(tmp_path / "studio.stockroom"))
    assert run(words) == 1
    assert "give --clock-is-right" in capsys.readouterr().err
    assert run(["unit", "list", *words[3:]]) == 0
    assert "before the last act" in capsys.readouterr().err
    assert run([*words, "--clock-is-right"]) == 0
    assert "The clock says" not in capsys.readouterr().err
