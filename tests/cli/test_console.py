"""The console answers people and scripts: exit codes, JSON shapes, errors without a traceback."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
from support.studio import Studio

from stockroom.cli import run
from stockroom.desk.stock import counting
from stockroom.desk.session import Desk


@pytest.fixture
def at(studio: Studio, tmp_path: Path):
    """Run a command on the small studio's store."""
    store = str(tmp_path / "studio.stockroom")

    def call(*words: str) -> int:
        return run([*words, "--store", store])

    return call


def out_json(capsys: pytest.CaptureFixture[str]) -> dict:
    return json.loads(capsys.readouterr().out)


def test_ok_says_yes_with_reasons_and_code_0(at, studio, capsys) -> None:
    code = at("ok", "--unit", studio.roll, "--size", "2500x1250", "--day", "2026-03-05",
              "--on", "2026-03-02")  # fmt: skip
    told = capsys.readouterr().out
    assert code == 0
    assert "● yes" in told
    assert "50.0 m left, needs 2.85 m" in told
    assert "Take it out of Cold store by Wed 4 Mar 2026" in told


def test_ok_refuses_with_code_1_and_json_tells_why(at, studio, capsys) -> None:
    assert at("strip", studio.roll, "yellow") == 0
    assert "on hold: yellow strip" in capsys.readouterr().out
    code = at("--json", "ok", "--unit", studio.roll, "--size", "2500x1250", "--on", "2026-03-02")
    told = out_json(capsys)
    assert code == 1
    assert told["format"] == "stockroom.ok/1"
    assert told["answer"] == "no"
    assert told["rolls"][0]["reasons"][0]["kind"] == "yellow strip"


def test_global_options_stand_anywhere(at, studio, capsys) -> None:
    assert at("unit", "--json", "list") == 0
    assert {u["code"] for u in out_json(capsys)["units"]} == {
        studio.roll, studio.second_roll, studio.pack,
    }  # fmt: skip


def test_a_job_from_booking_to_undo(at, studio, capsys) -> None:
    assert at("book", "Salt flats", "--size", "2.5x1.25 m", "--day", "+6",
              "--material", "satin") == 0  # fmt: skip
    assert at("put-by", studio.roll, "--job", "Salt flats", "--amount", "5.8") == 0
    assert at("move", studio.roll, "--to", "magazine") == 2
    assert "Printer magazine" in capsys.readouterr().err
    assert at("move", studio.roll, "--to", "Printer") == 0
    assert at("use", studio.roll, "2.9", "--job", "Salt flats", "--good", "1") == 0
    assert "2.9 m used" in capsys.readouterr().out
    assert at("undo") == 0
    assert at("undo", "--list") == 0
    assert "(taken back by act" in capsys.readouterr().out
    assert at("check") == 0


def test_more_used_than_is_there_is_said(at, studio, capsys) -> None:
    assert at("count", studio.roll, "2.2 m", "--reason", "measured") == 0
    capsys.readouterr()
    assert at("use", studio.roll, "2.9 m") == 0
    assert "0.7 m more than the books held" in capsys.readouterr().out


def test_orders_in_plain_form(at, studio, capsys) -> None:
    assert at("tell-below", "Cast", "--count", "8") == 0
    capsys.readouterr()
    assert at("order", "list") == 0
    assert "Order 2 sheets of Cast acrylic 3 mm: 6 left, tell me below 8" in capsys.readouterr().out
    assert at("--json", "order", "place", "Cast", "2", "--expected", "+17") == 0
    order = out_json(capsys)["codes"][0]
    assert at("order", "list") == 0
    assert "Nothing is below its number" in capsys.readouterr().out
    assert at("receive", "Cast", "--place", "Mounting room", "--count", "2", "--order", order) == 0
    assert at("receive", "Cast", "--place", "Mounting room", "--count", "2", "--order", order) == 1


def test_offcut_find_tells_best_and_why_not(at, studio, capsys) -> None:
    assert at("cut", studio.pack, "--piece", "2500x1250", "--keep", "1000x700", "--keep",
              "500x400") == 0  # fmt: skip
    capsys.readouterr()
    assert at("--json", "offcut", "find", "620x420") == 0
    told = out_json(capsys)
    assert told["takes"][0]["unit"]["width_dmm"] == 10_000
    assert [item["kind"] for item in told["takes"]] == ["offcut", "sheet"]
    assert told["does_not"][0]["why"] == "too small"
    assert at("offcut", "find", "9000x9000") == 1


def test_excursion_logged_by_hand_is_costed_and_named(at, studio, capsys) -> None:
    assert at("excursion", "Cold store", "--last-right", "2026-03-02T06:00", "--found",
              "2026-03-02T12:00", "--highest", "18", "--now", "17") == 0  # fmt: skip
    capsys.readouterr()
    assert at("--json", "excursion", "Cold store") == 0
    (spell,) = out_json(capsys)["spells"]
    assert spell["source"] == "by hand"
    assert {loss["unit"] for loss in spell["days_lost"]} == {studio.roll, studio.second_roll}
    assert at("excursion", "Cold store", "--cause", "door left open") == 0
    assert at("excursion", "Cold store") == 0
    assert "door left open" in capsys.readouterr().out


def test_readings_look_then_take_in_twice(at, studio, tmp_path, capsys) -> None:
    rows = [f"2026-03-01T{h:02d}:{m:02d}:00Z,{4 + h / 10:.1f}" for h in range(24) for m in (0, 30)]
    file = tmp_path / "log.csv"
    file.write_text("time,temperature °C\n" + "\n".join(rows) + "\n", encoding="utf-8")
    assert at("readings", "look", str(file)) == 0
    assert "48 readings" in capsys.readouterr().out
    for expected in ("48 readings, Sun 1 Mar 2026 00:00", "was taken in before"):
        assert at("readings", "take-in", str(file), "--place", "Cold store") == 0
        assert expected in capsys.readouterr().out
    assert at("--json", "readings", "list") == 0
    (taken,) = out_json(capsys)["imports"]
    assert at("readings", "withdraw", taken["code"]) == 0
    assert at("readings", "withdraw", taken["code"]) == 1
    assert at("check") == 0


def test_stock_list_look_first_then_all_or_nothing(at, studio, tmp_path, capsys) -> None:
    file = tmp_path / "stock.csv"
    file.write_text(
        "material,family,form,width_mm,length_m,count,batch,label_date,place\n"
        "Pearl paper 111,paper,roll,1118,~9 m,1,unknown,,Cold store\n"
        "Satin colour paper 127,,,,30,1,E-7731,2027-12-01,Cold store\n",
        encoding="utf-8",
    )
    assert at("stock", "take-in", str(file), "--look") == 0
    assert "New materials: Pearl paper 111." in capsys.readouterr().out
    assert at("stock", "take-in", str(file), "--yes") == 0
    assert at("stock", "take-in", str(file), "--yes") == 0
    assert "stands already" in capsys.readouterr().out
    bad = tmp_path / "bad.csv"
    bad.write_text("material,family,form,width_mm,length_m\nNew one,,,1118,9\n", encoding="utf-8")
    assert at("stock", "take-in", str(bad), "--yes") == 2
    assert "The family is missing" in capsys.readouterr().err


def test_labels_and_backup(at, studio, tmp_path, capsys) -> None:
    assert at("labels", str(tmp_path / "l.pdf"), "--code", studio.roll) == 0
    assert (tmp_path / "l.pdf").read_bytes().startswith(b"%PDF")
    assert at("labels", "-") == 0
    assert studio.roll in capsys.readouterr().out
    assert at("day-sheet", str(tmp_path / "d.pdf")) == 0
    assert at("backup", str(tmp_path / "b.backup")) == 0
    assert at("backup", str(tmp_path / "b.backup")) == 1
    assert run(["restore", str(tmp_path / "b.backup"), "--store", str(tmp_path / "n.store")]) == 0
    assert run(["check", "--store", str(tmp_path / "n.store")]) == 0


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["today", "--store", "/nowhere/at/all.stockroom"], 3),
        (["today", "--store", "mysql://x/y"], 3),
        (["nonsense"], 2),
        (["ok", "--unit"], 2),
        (["--store"], 2),
        (["today", "--zone", "Mars/Olympus"], 2),
        (["today", "--store", ""], 2),
        (["place", "add", "Hall", "--set-point", "abc"], 2),
    ],
)
def test_trouble_is_said_without_a_traceback(words, code, capsys, monkeypatch, tmp_path) -> None:
    monkeypatch.setenv("STOCKROOM_STORE", str(tmp_path / "none.stockroom"))
    assert run(words) == code
    told = capsys.readouterr()
    assert "Traceback" not in told.err + told.out
    assert told.err


@pytest.mark.parametrize(
    "words",
    [
        ["use", "ROLL", "-5"],
        ["use", "ROLL", "0"],
        ["use", "ROLL", "nan"],
        ["use", "ROLL", "1e308"],
        ["receive", "Satin", "--place", "Cold store", "--length", "0"],
        ["receive", "Satin", "--place", "Cold store", "--units", "0"],
        ["receive", "Satin", "--place", "Cold store", "--price", "4.555"],
        ["excursion", "--last-right", "06:00", "--highest", "15"],
        ["book", "X", "--size", "12", "--day", "thu", "--material", "Satin"],
        ["book", "X", "--size", "1x1", "--day", "03/04/2026", "--material", "Satin"],
        ["book", "X", "--size", "1x1", "--day", "1979-01-01", "--material", "Satin"],
        ["excursion", "Cold store", "--last-right", "18:00", "--highest", "nan"],
        ["move", "ROLL", "--to", "Nowhere"],
        ["hold", "ROLL", "--reason", ""],
        ["strip", "ROLL", "greenish"],
        ["use", "ROLL", "1", "--happened", "2099-01-01"],
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_stored(at, studio, words, capsys) -> None:
    from stockroom.desk import keeping

    before = keeping.state(studio.desk)
    words = [studio.roll if word == "ROLL" else word for word in words]
    if words[0] == "use" and words[2].startswith("-"):
        words.insert(2, "--")
        assert run(["--store", studio.desk.where, *words]) == 2
    else:
        assert at(*words) == 2
    assert keeping.state(studio.desk) == before
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    assert told.out == ""


def test_hostile_names_are_stored_clean_and_shown_harmless(at, studio, capsys) -> None:
    name = "Ac\x1b[2Jme [/] \u202eLtd " + "x" * 10_000
    assert at("material", "add", name, "--family", "paper", "--form", "roll", "--width", "600",
              "--length", "30") == 0  # fmt: skip
    assert at("material", "list") == 0
    told = capsys.readouterr().out
    assert "\x1b" not in told
    assert "\u202e" not in told
    assert "[/]" in told
    assert max(len(line) for line in told.splitlines()) < 300


def test_start_up_is_light() -> None:
    """Help loads neither numpy nor the database layer: it answers at once."""
    script = (
        "import sys\nfrom tui.main import app\nfrom stockroom.cli import run\n"
        "run(['--help'])\n"
        "heavy = {'numpy', 'pandas', 'scipy', 'sqlalchemy', 'sqlmodel', 'textual', 'reportlab'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stderr.strip() == "[]"
    assert done.stdout.startswith("Usage: stockroom")


def test_nothing_waits_for_an_answer_without_a_terminal(studio, tmp_path) -> None:
    file = tmp_path / "stock.csv"
    file.write_text(
        "material,family,form,width_mm,length_m,place\nPearl,paper,roll,1118,9,Cold store\n",
        encoding="utf-8",
    )
    words = ["stock", "take-in", str(file), "--store", studio.desk.where]
    done = subprocess.run(
        [sys.executable, "-m", "stockroom", *words], stdin=subprocess.DEVNULL,
        capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "\x1b" not in done.stdout


def test_a_desk_under_another_name_is_attributed(studio, tmp_path, capsys) -> None:
    from stockroom.desk.stock import counting

    assert run(["open", studio.roll, "--store", studio.desk.where, "--actor", "Jonas"]) == 0
    assert counting.trail(studio.desk, 1)[0].act.actor == "Jonas"
    assert isinstance(studio.desk, Desk)


def test_an_empty_amount_never_means_all(at, studio, capsys) -> None:
    """A script's empty variable must not write a whole roll off."""
    assert at("lose", studio.roll, "", "--cause", "scratch") == 2
    assert at("put-by", studio.roll, "--job", "x", "--amount", "") == 2
    assert at("unit", "show", studio.roll) == 0
    assert "50.0 m, 1270 mm wide, sealed, in stock" in capsys.readouterr().out


def test_rolls_given_as_a_pack_are_asked_about(at, studio, capsys) -> None:
    assert at("receive", "Satin", "--place", "Cold store", "--count", "3") == 2
    assert "Give --units 3" in capsys.readouterr().err
    assert at("tell-below", "Cast") == 2
    assert at("tell-below", "Cast", "--count", "1") == 0
    assert "tell me below 1" in capsys.readouterr().out


def test_a_spell_where_no_limit_is_set_is_not_passed_over(at, studio, capsys) -> None:
    words = ("--last-right", "2026-03-02T09:10", "--found", "2026-03-02T12:00", "--highest", "28")
    assert at("excursion", "Mounting room", *words) == 0
    assert "Mounting room has no upper limit" in capsys.readouterr().err


def test_a_print_is_booked_on_paper_for_a_day_to_come(at, studio, capsys) -> None:
    words = ("book", "Salt flats", "--size", "900x600")
    assert at(*words, "--day", "+3", "--material", "Cast") == 2
    assert "nothing is printed on it" in capsys.readouterr().err
    assert at(*words, "--day", "-3", "--material", "Satin") == 2
    assert "is past" in capsys.readouterr().err


class Typed(io.StringIO):
    """What a person types at a terminal."""

    def isatty(self) -> bool:
        return True


def test_undo_without_a_number_asks_or_refuses_where_somebody_else_acted(
    at, studio, capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert at("count", studio.roll, "40 m", "--actor", "Jo") == 0
    assert at("count", studio.second_roll, "30 m", "--actor", "Ines") == 0
    mine = counting.trail(studio.desk, 2)[1].act.seq
    assert at("undo", "--actor", "Jo") == 1
    refused = capsys.readouterr().err
    assert f"Ines acted since: Act {mine + 1} was: count {studio.second_roll}." in refused
    assert f"stockroom undo {mine}." in refused
    for typed, code in (("\n", 1), ("y\n", 0)):
        monkeypatch.setattr("sys.stdin", Typed(typed))
        assert at("undo", "--actor", "Jo") == code
        told = capsys.readouterr()
        assert f"Take back act {mine}, which is yours? [y/N]" in told.err
        assert (f"Act {mine} was: count {studio.roll}." in told.out) == (code == 0)
