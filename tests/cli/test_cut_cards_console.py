"""Cut plans of open work, bench cards and the offcut shelf at the console."""

import json
from pathlib import Path
from typing import Any

import pytest
from support.studio import code_of
from support.workshop import Workshop

from stockroom.cli.base import run
from stockroom.desk.cutting import one_cut
from stockroom.desk.cutting.one_cut import Part


class Console:
    """Runs commands on a small workshop with an offcut and a job."""

    def __init__(self, shop: Workshop, capsys: pytest.CaptureFixture[str]) -> None:
        self.store = shop.desk.where
        self.capsys = capsys
        done = one_cut.cut(shop.desk, shop.studio.pack, offcuts=[Part(13_000, 9_000)])
        self.offcut = code_of(done, "unit")
        self.roll = shop.studio.roll
        self.job = shop.book("Small", count=1, width_dmm=6_000, height_dmm=4_000)
        shop.desk.close()

    def __call__(self, *words: str) -> tuple[int, str]:
        code = run(["--store", self.store, "--on", "2026-03-02", *words])
        out = self.capsys.readouterr()
        return code, out.out + out.err

    def value(self, *words: str) -> dict[str, Any]:
        run(["--store", self.store, "--on", "2026-03-02", "--json", *words])
        found: dict[str, Any] = json.loads(self.capsys.readouterr().out)
        return found

    def accepted(self) -> str:
        found = self.value("cuts", "accept", "Small", "--material", "Cast")
        return str(found["cards"][0]["card"]["code"])


@pytest.fixture
def console(shop: Workshop, capsys: pytest.CaptureFixture[str]) -> Console:
    return Console(shop, capsys)


def test_a_plan_says_what_is_cut_from_what_and_what_it_saves(console: Console) -> None:
    code, text = console("cuts", "plan", "Small")
    assert code == 0
    assert "Cast acrylic 3 mm: 1 piece comes from 1 offcut, no sheet; offcuts save 1 sheet" in text
    assert f"Offcut {console.offcut}, 1300 x 900 mm, Mounting room" in text
    assert "620 x 420 mm  Small, sheet" in text
    assert "To take it: stockroom cuts accept" in text


def test_a_plan_as_data_names_pieces_blanks_and_days(console: Console) -> None:
    found = console.value("cuts", "plan", "Small")
    assert found["format"] == "stockroom.cut-work/1"
    sheet, board = found["materials"]
    assert (sheet["offcuts"], sheet["sheets"], sheet["to_buy"], sheet["sheets_alone"]) == (
        1, 0, 0, 1,
    )  # fmt: skip
    assert sheet["pieces"][0] == {
        "code": f"{console.job}/sheet", "job": console.job, "part": "sheet", "width_mm": 620.0,
        "height_mm": 420.0, "count": 1, "turn": True,
    }  # fmt: skip
    assert sheet["plan"]["blanks"][0]["code"] == console.offcut
    assert board["name"] == "Composite board 3 mm"


def test_from_plan_to_cut_by_the_console(console: Console, tmp_path: Path) -> None:
    pdf = tmp_path / "cards.pdf"
    code, text = console("cuts", "accept", "Small", "--pdf", str(pdf))
    assert code == 0
    assert "2 cards in" in text
    assert pdf.read_bytes().startswith(b"%PDF")
    cards = console.value("cuts", "list")["cards"]
    assert len(cards) == 2
    card = cards[0]["card"]["code"]
    code, text = console("cuts", "show", card)
    assert "1. 1300 x 900 mm: " in text
    assert "What comes off it:" in text
    assert "follow local rules" in text.lower()
    code, text = console("cuts", "done", card, "--place", "Cold store")
    assert code == 0
    assert f"Card {card} is done." in text
    assert len(console.value("cuts", "list")["cards"]) == 1
    assert len(console.value("cuts", "list", "--all")["cards"]) == 2


def test_what_broke_and_a_true_size_are_said_by_the_parts_number(console: Console) -> None:
    card = console.accepted()
    parts = console.value("cuts", "show", card)["cards"][0]["parts"]
    piece = next(part for part in parts if part["what"] == "piece")
    kept = next(part for part in parts if part["what"] == "offcut")
    size = f"{kept['width_mm'] - 1:g}x{kept['height_mm']:g}"
    code, text = console(
        "cuts", "done", card, "--broken", str(piece["number"]), "--true", f"{kept['number']}={size}"
    )
    assert code == 0, text
    assert console.value("cuts", "plan", "Small", "--material", "Cast")["materials"]


def test_a_dropped_card_is_no_longer_listed_and_cannot_be_cut(console: Console) -> None:
    card = console.accepted()
    code, text = console("cuts", "drop", card)
    assert code == 0
    assert f"Card {card} is dropped" in text
    assert "No card is open" in console("cuts", "list")[1]
    code, text = console("cuts", "done", card)
    assert code == 1
    assert f"Card {card} was dropped." in text


def test_cards_are_printed_again(console: Console, tmp_path: Path) -> None:
    code, text = console("cuts", "print", str(tmp_path / "a.pdf"))
    assert code == 2
    assert "No card is open" in text
    card = console.accepted()
    code, text = console("cuts", "print", str(tmp_path / "a.pdf"), "--card", card)
    assert code == 0
    assert "1 card in" in text


def test_nothing_to_cut_is_said_and_accepting_it_refused(console: Console) -> None:
    console.accepted()
    code, text = console("cuts", "plan", "Small", "--material", "Cast")
    assert (code, "Nothing more is to be planned for this work." in text) == (0, True)
    assert "1 card is open and still to be cut: stockroom cuts list." in text
    code, text = console("cuts", "accept", "Small", "--material", "Cast")
    assert code == 1
    assert "Nothing more is to be planned" in text


def test_accepting_tells_what_is_on_no_card_for_want_of_a_sheet(console: Console) -> None:
    console("job", "change", "Small", "--count", "200")
    code, text = console("cuts", "accept", "Small", "--material", "Cast")
    assert code == 0
    assert "pieces are on no card. Order " in text


def test_a_pin_to_a_roll_says_what_a_pin_is(console: Console) -> None:
    code, text = console("cuts", "plan", "Small", "--pin", f"Small={console.roll}")
    assert code == 1
    assert "no piece is sawn from it" in text


def test_what_has_no_place_ends_with_1_and_is_named(console: Console) -> None:
    console("job", "add", "Vast", "--size", "3100x400", "--material", "Satin", "--build", "Face",
            "--due", "+30")  # fmt: skip
    code, text = console("cuts", "plan", "Vast", "--material", "Cast")
    assert code == 1
    assert "No room for 1 of Vast, sheet, 3120 x 420 mm." in text


def test_the_saw_of_the_settings_file_is_minded(
    console: Console, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    (tmp_path / "stockroom").mkdir()
    settings = tmp_path / "stockroom" / "settings.toml"
    settings.write_text("[saw]\nlongest_cut_mm = 500\n")
    code, text = console("cuts", "plan", "Small", "--material", "Cast")
    assert code == 1
    assert "No room for 1 of Small" in text
    assert console("cuts", "plan", "Small", "--material", "Cast", "--longest-cut", "3100")[0] == 0
    settings.write_text("[saw]\nblade = 3\n")
    code, text = console("cuts", "plan", "Small")
    assert code == 2
    assert "longest_cut_mm" in text


def test_frames_are_planned_from_lengths(console: Console) -> None:
    code, text = console("cuts", "bars", "Small")
    assert code == 0
    assert "Frame profile: 4 sides from 1 length." in text
    assert "600, 600, 400, 400 mm for Small; 3984 mm left to keep" in text
    found = console.value("cuts", "bars", "Small")
    assert found["format"] == "stockroom.bar-work/1"
    assert found["materials"][0]["to_buy"] == 0
    console("job", "add", "Bare", "--size", "300x200", "--material", "Satin")
    assert "No frame of this work" in console("cuts", "bars", "Bare")[1]


def test_prints_are_laid_side_by_side_on_rolls(console: Console) -> None:
    console(
        "job", "add", "Other", "--size", "600x400", "--material", "Satin", "--day", "2026-03-09"
    )
    code, text = console("cuts", "rolls", "Small", "Other")
    assert code == 0
    assert "2 prints take 0.45 m, one job after another 0.9 m: 0.45 m saved." in text
    assert "0.0 m to 0.4 m: Small 600 x 400 mm and Other 600 x 400 mm" in text
    found = console.value("cuts", "rolls", "Small", "Other")
    assert found["format"] == "stockroom.roll-work/1"
    (roll,) = found["materials"][0]["rolls"]
    assert [len(band["prints"]) for band in roll["bands"]] == [2]
    code, text = console("cuts", "rolls", "Small", "--material", "Cast")
    assert "No print of this work waits for paper." in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plan", "Small", "--pin", "Small"), "pins nothing"),
        (("plan", "Nobody"), "Nobody"),
        (("plan", "Small", "--without", "99999"), "99999"),
        (("plan", "Small", "--longest-cut", "-3"), "longest cut"),
        (("done", "99999"), "99999"),
        (("show", "99999"), "99999"),
    ],
)
def test_a_slip_is_told_with_a_way_out(console: Console, words: tuple[str, ...], said: str) -> None:
    code, text = console("cuts", *words)
    assert code in (1, 2)
    assert said in text
    assert "Traceback" not in text


def test_the_shelf_is_told_and_as_data(console: Console) -> None:
    code, text = console("offcuts")
    assert code == 0
    assert f"{console.offcut}  1300 x 900 mm, Mounting room" in text
    assert "Suits Small" in text
    found = console.value("offcuts", "--space", "5")
    assert (found["format"], found["space_cents"]) == ("stockroom.offcuts/1", 500)
    assert found["offcuts"][0]["suits"][0]["name"] == "Small"


def test_labels_of_cut_pieces_say_for_whom(console: Console) -> None:
    card = console.accepted()
    console("cuts", "done", card)
    code, text = console("labels", "-")
    assert code == 0
    assert "for Small" in text


def test_a_pdf_in_no_folder_is_refused_before_anything_is_booked(
    console: Console, tmp_path: Path
) -> None:
    code, text = console("cuts", "accept", "Small", "--pdf", str(tmp_path / "none" / "cards.pdf"))
    assert code == 2
    assert "There is no folder for cards.pdf." in text
    assert console.value("cuts", "list")["cards"] == []


def test_labels_of_what_a_cut_brought_and_of_nothing_else(console: Console) -> None:
    card = console.accepted()
    code, text = console("cuts", "done", card)
    act = text.split(":")[0].removeprefix("Act ")
    born = [line.split(":")[0] for line in text.splitlines() if " mm " in line]
    code, text = console("labels", "-", "--act", act)
    assert code == 0, text
    assert len(born) == 3
    assert all(unit in text for unit in born)
    assert console.offcut not in text.replace(f"cut from {console.offcut}", "")
    code, text = console("labels", "-", "--act", "999999")
    assert code == 2
    assert "brought nothing that carries a label" in text
