"""Work at the console: jobs, builds, tries, needs, cost, spoilage, trace, each with JSON too."""

import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from support.workshop import Workshop

from stockroom.cli.base import given, run


@pytest.fixture
def store(shop: Workshop) -> str:
    shop.desk.close()
    return shop.desk.where


def said(store: str, capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str]:
    code = run(["--store", store, *words])
    out = capsys.readouterr()
    return code, out.out + out.err


def value(store: str, capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    run(["--store", store, "--json", *words])
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_a_job_from_its_booking_to_its_trace(
    store: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    def do(*words: str) -> str:
        code, text = said(store, capsys, *words)
        assert code == 0, text
        return text

    do("job", "add", "Harbour", "--size", "1200x800", "--material", "Satin", "--build", "Face",
       "--due", "+30", "--edition", "3/8", "--client", "A Gallery")  # fmt: skip
    assert "For A Gallery." in do("job", "show", "Harbour")
    assert "bad print" in do("print", "Harbour", "--lost", "bad print")
    do("print", "Harbour", "--good")
    do("mount", "Harbour", "--good")
    do("stage", "Harbour", "back", "--good")
    do("stage", "Harbour", "frame", "--good")
    assert "finished" in do("job", "list", "--all")
    assert "B-204" in do("trace", "Harbour")
    assert "Harbour, piece 1" in do("trace", "B-204")
    assert "So far" in do("cost", "Harbour")
    assert "print, bad print" in do("spoilage")
    assert "Our stock cost" in do("worth")
    do("record", "Harbour", str(tmp_path / "record.pdf"))
    assert (tmp_path / "record.pdf").read_bytes().startswith(b"%PDF")
    assert "is erased" in do("job", "erase-client", "Harbour")
    assert "A Gallery" not in do("job", "show", "Harbour")


def test_every_reading_answers_in_json(store: str, capsys: pytest.CaptureFixture[str]) -> None:
    said(store, capsys, "job", "add", "Harbour", "--size", "1200x800", "--material", "Satin",
         "--build", "Face", "--count", "2")  # fmt: skip
    for words, shape in (
        (("job", "list"), "stockroom.jobs/1"),
        (("job", "show", "Harbour"), "stockroom.job/1"),
        (("build", "list"), "stockroom.builds/1"),
        (("build", "show", "Face"), "stockroom.build/1"),
        (("needs",), "stockroom.needs/1"),
        (("cost", "Harbour"), "stockroom.cost/1"),
        (("spoilage",), "stockroom.spoilage/1"),
        (("worth",), "stockroom.worth/1"),
        (("trace", "E-7731"), "stockroom.trace/1"),
    ):
        assert value(store, capsys, *words)["format"] == shape
    need = next(
        item
        for item in value(store, capsys, "needs")["materials"]
        if item["material"] == "Composite board 3 mm"
    )
    assert need["enough"] >= need["likely"] > 0


def test_a_build_is_written_changed_and_retired(
    store: str, capsys: pytest.CaptureFixture[str]
) -> None:
    code, text = said(
        store, capsys, "build", "add", "Thin", "--sheet", "Cast acrylic", "--face-film", "Clear",
        "--allow", "sheet=10", "--turn", "face film=long edge", "--takes", "mount/dust=sheet",
    )  # fmt: skip
    assert code == 0, text
    _, text = said(store, capsys, "build", "show", "Thin")
    assert "10 mm larger an edge" in text
    assert "mount, dust: sheet" in text
    said(store, capsys, "build", "change", "Thin", "--board", "Composite")
    assert "version 2" in said(store, capsys, "build", "show", "Thin")[1]
    said(store, capsys, "build", "retire", "Thin")
    assert "Thin" not in said(store, capsys, "build", "list")[1]


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("print", "Nothing", "--good"), "There is no job"),
        (("build", "add", "Empty"), "without a stage"),
        (("build", "add", "Odd", "--takes", "mount"), "not understood"),
        (("spoilage", "--month", "spring"), "no month"),
        (("job", "add", "X", "--size", "1x1", "--material", "Satin", "--edition", "a"), "edition"),
        (("job", "add", "W", "--size", "3000x1400", "--material", "Satin"), "at most"),
    ],
)
def test_what_cannot_be_says_why(
    store: str, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], why: str
) -> None:
    code, text = said(store, capsys, *words)
    assert code in (1, 2)
    assert why in text
    assert "Traceback" not in text


def test_a_list_with_mixed_units_is_asked_about(
    store: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    path = tmp_path / "jobs.csv"
    path.write_text("name,size,paper\nA,1200 x 800,Satin\nB,120 x 80 cm,Satin\n")
    code, text = said(store, capsys, "job", "take-in", str(path), "--look")
    assert code == 1
    assert "unit" in text
    assert said(store, capsys, "job", "take-in", str(path), "--yes")[0] == 2
    code, text = said(store, capsys, "job", "take-in", str(path), "--unit", "mm", "--yes")
    assert code == 0, text
    assert given.store is not None


def test_sheets_left_aside_are_named_before_a_list_is_taken_in(
    store: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    book = openpyxl.Workbook()
    jobs = book.active
    assert jobs is not None
    jobs.append(["name", "size", "material"])
    jobs.append(["Squall", "1200 x 800", "Satin"])
    book.create_sheet("Prices").append(["of last year"])
    book.save(tmp_path / "jobs.xlsx")
    _, text = said(store, capsys, "job", "take-in", str(tmp_path / "jobs.xlsx"), "--look")
    assert "Sheet 'Sheet' was read; left aside: Prices." in text
