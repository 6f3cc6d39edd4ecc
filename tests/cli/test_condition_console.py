"""Sheets are looked over, faults written down, sizes ordered and goods kept, all at the console."""

import json
from pathlib import Path

import pytest
from support.studio import Studio

from stockroom.cli import run


@pytest.fixture
def at(studio: Studio, tmp_path: Path):
    """Run a command on the small studio's store."""
    store = str(tmp_path / "studio.stockroom")

    def call(*words: str) -> int:
        return run([*words, "--store", store])

    return call


def out_json(capsys: pytest.CaptureFixture[str]) -> dict:
    return json.loads(capsys.readouterr().out)


def test_a_sheet_looked_over_is_told_and_barred_from_a_face(at, studio, capsys) -> None:
    assert at("look-over", studio.pack, "--mask-back", "lifted", "--chipped", "top left") == 0
    assert "the masking of its back is lifted at an edge" in capsys.readouterr().out
    assert at("offcut", "find", "620x420") == 1
    told = capsys.readouterr().out
    assert "No offcut and no sheet takes 620 x 420 mm." in told
    assert "not for a face: the masking of its back is lifted at an edge" in " ".join(told.split())
    assert at("--json", "offcut", "find", "620x420", "--for", "back") == 0
    (taken,) = out_json(capsys)["takes"]
    assert (taken["unit"]["code"], taken["use"]) == (studio.pack, "back")
    assert any("lifted at an edge" in caution for caution in taken["cautions"])
    assert at("offcut", "find", "620x420", "--for", "window") == 2
    assert "face, back, jig" in capsys.readouterr().err
    assert at("look-over", studio.roll, "--grade", "back") == 1
    assert at("look-over", studio.pack, "--grade", "best") == 2
    assert "face, back, jig" in capsys.readouterr().err
    assert at("undo") == 0
    assert at("offcut", "find", "620x420") == 0
    assert "Nobody has looked it over since it came" in capsys.readouterr().out


def test_a_fault_is_written_down_in_metres_of_the_roll(at, studio, capsys) -> None:
    assert at("fault", studio.roll, "--from", "3.2", "--to", "3.25", "--what", "gel") == 0
    assert "gel, 3.2 m to 3.25 m from the start of the roll" in capsys.readouterr().out
    assert at("fault", studio.roll, "--from", "0", "--what", "torn end") == 0
    assert at("fault", studio.roll, "--from", "51", "--what", "gel") == 2
    assert "It came with 50.0 m" in capsys.readouterr().err
    assert at("fault", studio.pack, "--from", "1", "--what", "gel") == 1
    capsys.readouterr()
    assert at("--json", "unit", "show", studio.roll) == 0
    figures = {item["name"]: item for item in out_json(capsys)["figures"]}
    assert "gel from 3.2 m to 3.25 m" in figures["Faults ahead"]["value"]


def test_sheets_cut_to_size_are_ordered_and_arrive(at, studio, capsys) -> None:
    assert at("--json", "order", "place", "Cast", "2", "--size", "1210x810") == 0
    order = out_json(capsys)["codes"][0]
    assert at("order", "list") == 0
    assert "2 x Cast acrylic 3 mm, cut to 1210 x 810 mm" in capsys.readouterr().out
    assert at("today") == 0
    assert "2 x Cast acrylic 3 mm, cut to 1210 x 810 mm" in capsys.readouterr().out
    assert at("order", "place", "Satin", "2", "--size", "1210x810") == 2
    assert "not cut to size" in capsys.readouterr().err
    assert at("--json", "order", "arrived", order, "--place", "Mounting room") == 0
    assert len(out_json(capsys)["units"]) == 2
    assert at("unit", "list", "--material", "Cast") == 0
    assert capsys.readouterr().out.count("1210 x 810 mm, Mounting room") == 2


def test_film_in_the_cold_is_said_by_the_answer(at, studio, capsys) -> None:
    assert at("material", "add", "Clear film", "--family", "film", "--form", "roll",
              "--width", "1550", "--length", "50") == 0  # fmt: skip
    capsys.readouterr()
    assert at("receive", "Clear film", "--place", "Cold store") == 0
    assert "never kept in a cold store" in " ".join(capsys.readouterr().out.split())
    assert at("today") == 0
    assert "stands in Cold store" in capsys.readouterr().out


def test_a_small_good_with_its_kind_and_opened_life(at, studio, capsys) -> None:
    assert at("material", "add", "Silicone", "--family", "goods", "--form", "counted",
              "--tell-below", "3") == 0  # fmt: skip
    assert at("material", "care", "Silicone", "--goods-kind", "silicone",
              "--opened-life-days", "180") == 0  # fmt: skip
    capsys.readouterr()
    assert at("--json", "receive", "Silicone", "--place", "Mounting room", "--count", "4",
              "--label-date", "+600") == 0  # fmt: skip
    (code,) = out_json(capsys)["units"]
    assert at("open", code) == 0
    assert at("use", code, "1") == 0
    assert at("count", code, "2") == 0
    assert at("tell-below", "Silicone", "--count", "5") == 0
    capsys.readouterr()
    assert at("unit", "show", code, "--inputs") == 0
    told = capsys.readouterr().out
    assert "Kind: silicone" in told
    assert ", in 180 days, for it has been opened" in told
    assert at("order", "list") == 0
    assert "Order 3 of Silicone: 2 left, tell me below 5." in capsys.readouterr().out
    assert at("check") == 0
