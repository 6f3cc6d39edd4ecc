"""Cut plans at the console, without any store."""

import json
from pathlib import Path
from typing import Any

import pytest

from stockroom.cli.base import run

PIECES = "code,width_mm,height_mm,count,turn\nA,620,420,4,1\nB,1200,800,2,0\n"
BLANKS = "code,width_mm,height_mm,count,trim\nsheet,3050,2030,,1\nshelf,1820,800,1,0\n"


class Try:
    """Runs `cuts try` on two lists."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self.capsys = capsys

    def __call__(self, *words: str, pieces: str = PIECES, blanks: str = BLANKS) -> tuple[int, str]:
        for name, text in (("pieces.csv", pieces), ("blanks.csv", blanks)):
            (self.folder / name).write_text(text)
        code = run(
            ["cuts", "try", "--pieces", str(self.folder / "pieces.csv"), "--blanks",
             str(self.folder / "blanks.csv"), "--effort", "50", *words]
        )  # fmt: skip
        out = self.capsys.readouterr()
        return code, out.out + out.err

    def value(self, *words: str, **lists: str) -> dict[str, Any]:
        _, text = self("--json", *words, **lists)
        found: dict[str, Any] = json.loads(text)
        return found


@pytest.fixture
def trying(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Try:
    return Try(tmp_path, capsys)


def test_a_plan_is_told_blank_by_blank(trying: Try) -> None:
    code, text = trying("--kerf", "4", "--trim", "10")
    assert code == 0
    assert "6 pieces from 2 blanks." in text
    assert "sheet, 3050 x 2030 mm" in text
    assert "  B: 1200 x 800 mm" in text
    assert "offcut to keep" in text


def test_a_plan_as_data_lies_on_the_whole_blank_in_millimetres(trying: Try) -> None:
    found = trying.value("--kerf", "4", "--trim", "10")
    assert (found["format"], found["complete"], found["left_out"]) == ("stockroom.cuts/1", True, [])
    sheet = found["blanks"][0]
    assert (sheet["code"], sheet["cost"], sheet["trim_mm"]["left"]) == ("sheet", 6_191_500, 10)
    parts = [part for blank in found["blanks"] for part in blank["parts"]]
    assert sorted(p["code"] for p in parts if p["what"] == "piece") == ["A"] * 4 + ["B"] * 2
    assert min(part["x_mm"] for part in sheet["parts"]) == 10
    assert found["cost"] == sum(blank["cost"] for blank in found["blanks"])
    assert found["bound"] <= found["cost"]
    assert set(sheet["tree"]) == {"axis", "position_mm", "width_mm", "height_mm", "children"}


def test_pieces_left_out_are_named_and_the_exit_code_says_so(trying: Try) -> None:
    code, text = trying(pieces=PIECES + "huge,4000,3000,1,1\n")
    assert code == 1
    assert "No room for 1 of huge." in text


def test_two_materials_are_planned_apart(trying: Try) -> None:
    found = trying.value(
        pieces="code,width_mm,height_mm,material\nA,600,400,Clear\nB,600,400,White\n",
        blanks="code,width_mm,height_mm,count,material\nc,700,500,1,clear\nw,700,500,1,white\n",
    )
    assert [(one["material"], one["blanks"][0]["code"]) for one in found["materials"]] == [
        ("Clear", "c"),
        ("White", "w"),
    ]
    code, text = trying(
        pieces="code,width_mm,height_mm,material\nA,600,400,Clear\n",
        blanks="code,width_mm,height_mm,material\nw,700,500,White\n",
    )
    assert code == 2
    assert "There is no blank of Clear" in text


def test_the_most_from_one_blank(trying: Try) -> None:
    found = trying.value(
        "--most", "--no-turn",
        pieces="code,width_mm,height_mm,count,value\na,4,6,2,50\nb,8,2,1,40\nc,7,7,1,120\n",
        blanks="code,width_mm,height_mm,trim\nx,8,8,0\n",
    )  # fmt: skip
    assert (found["value"], found["bound"], found["stopped"]) == (140, 140, "proven")
    code, text = trying("--most")
    assert code == 2
    assert "one blank at a time" in text


@pytest.mark.parametrize(
    ("words", "lists", "said"),
    [
        ((), {"pieces": "code,width_mm,height_mm\nA,0,5\n"}, "pieces.csv has 1 problem"),
        ((), {"pieces": "code,width,height\nA,10,5\n"}, "In which unit"),
        ((), {"pieces": PIECES + "A,10,10,1,1\n"}, "stands twice"),
        ((), {"pieces": PIECES + "C,10,10,1000000,1\n"}, "too many for one plan"),
        (("--kerf", "-1"), {}, "not a width for the kerf"),
        (("--kerf", "nan"), {}, "not a width for the kerf"),
        (("--trim", "0.05"), {}, "to a tenth"),
        (("--unit", "ft"), {}, "no unit of a size"),
    ],
)
def test_what_cannot_be_planned_says_why(
    trying: Try, words: tuple[str, ...], lists: dict[str, str], said: str
) -> None:
    code, text = trying(*words, **lists)
    assert code == 2
    assert said in text
    assert "Traceback" not in text
