"""What a command writes never takes the place of something else; a backup is checked by itself."""

import gzip
import json
from collections.abc import Callable
from pathlib import Path

import pytest
from support.studio import MONDAY_S, Studio

from stockroom.cli import run
from stockroom.desk.work import jobs


@pytest.fixture
def at(studio: Studio, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., int]:
    """Run a command on the small studio's store, which has a print booked."""
    store = str(tmp_path / "studio.stockroom")
    monkeypatch.setattr("stockroom.clock.now_s", lambda: MONDAY_S)

    def call(*words: str) -> int:
        return run([*words, "--store", store])

    booked = call(
        "book", "Salt flats", "--size", "2.5x1.25 m", "--day", "2026-03-05", "--material", "satin"
    )
    assert booked == 0
    studio.desk.close()
    return call


def test_a_calendar_writes_over_a_calendar_never_over_books_or_a_backup(
    at: Callable[..., int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    store, backup = tmp_path / "studio.stockroom", tmp_path / "studio.backup"
    assert at("calendar", str(tmp_path / "studio.ics"), "--days", "7") == 0
    assert at("calendar", str(tmp_path / "studio.ics"), "--days", "7", "--replace") == 0
    assert at("backup", str(backup)) == 0
    capsys.readouterr()
    for path in (store, backup):
        before = path.read_bytes()
        assert at("calendar", str(path), "--days", "7", "--replace") == 1
        assert f"{path} is no calendar." in capsys.readouterr().err
        assert path.read_bytes() == before


@pytest.mark.parametrize("words", [("labels",), ("day-sheet",), ("backup",), ("calendar",)])
def test_no_command_writes_over_what_is_there(
    words: tuple[str, ...], at: Callable[..., int], tmp_path: Path
) -> None:
    mine, led_to = tmp_path / "mine", tmp_path / "led-to"
    mine.write_text("mine")
    led_to.symlink_to(tmp_path / "nowhere")
    for path in (mine, led_to):
        assert at(*words, str(path)) == 1
    assert mine.read_text() == "mine"
    assert led_to.is_symlink()
    assert {item.name for item in tmp_path.iterdir()} == {"mine", "led-to", "studio.stockroom"}


@pytest.mark.parametrize(
    "words",
    [("labels",), ("day-sheet",), ("calendar",), ("record", "10292"), ("orders", "plan", "--pdf")],
)
def test_a_name_that_cannot_be_is_refused_before_any_work(
    words: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Before so much as the store is looked at: there is none."""
    (tmp_path / "mine").write_text("mine")
    store = ("--store", str(tmp_path / "none.stockroom"))
    assert run([*words, str(tmp_path / "mine"), *store]) == 1
    assert run([*words, str(tmp_path / "none" / "mine"), *store]) == 2
    told = capsys.readouterr().err
    assert "is there already" in told
    assert "There is no folder for mine." in told


def test_both_papers_of_a_plan_are_written_or_neither(
    at: Callable[..., int], studio: Studio, tmp_path: Path
) -> None:
    (tmp_path / "orders.ics").write_text("mine")
    pdf, ics = tmp_path / "orders.pdf", tmp_path / "orders.ics"
    assert at("orders", "plan", "--pdf", str(pdf), "--ics", str(ics)) == 1
    assert not pdf.exists()


def test_a_backup_is_checked_whole_without_a_store(
    at: Callable[..., int], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    backup = tmp_path / "studio.backup"
    assert at("backup", str(backup)) == 0
    capsys.readouterr()
    before = sorted(tmp_path.iterdir())
    assert run(["check", str(backup), "--store", str(tmp_path / "none.stockroom")]) == 0
    told = capsys.readouterr().out
    assert "All of it holds." in told
    assert "acts, " in told
    assert at("check", "--json") == 0
    of_store = json.loads(capsys.readouterr().out)
    assert run(["check", str(backup), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == of_store
    lines = gzip.decompress(backup.read_bytes()).splitlines(keepends=True)
    backup.write_bytes(gzip.compress(b"".join(lines[:-1])))
    assert run(["check", str(backup)]) == 3
    assert "cut short, or was changed" in capsys.readouterr().err
    assert sorted(tmp_path.iterdir()) == before


def test_erasing_says_where_a_name_may_still_stand(
    at: Callable[..., int], studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    assert at("job", "change", "Salt flats", "--client", "Lumen Gallery") == 0
    capsys.readouterr()
    assert at("job", "erase-client", "Salt flats") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "is erased. Backups made before still hold it" in told
    with studio.desk.reading() as view:
        assert jobs.clients(view) == {}
