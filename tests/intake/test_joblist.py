"""A job list becomes checked rows, problems by line, and questions where units are not told."""

import io
import random
from datetime import date

import openpyxl
import pytest

from stockroom.errors import ImportProblem, StockroomError
from stockroom.intake.joblist import JobList, JobRow, read_job_list

TODAY = date(2026, 3, 2)
GOOD = (
    "work,name,size,count,paper,build,due,status,edition,client\n"
    "Spring show,Harbour III,1200 x 800 mm,3,Satin,Face mount,2026-04-10,confirmed,3/8,A Gallery\n"
    'Spring show,Night ferry,"47 1/4"" x 31 1/2""",1,Satin,,10 May 2026,enquiry,,\n'
)


def read(text: str | bytes, **said: object) -> JobList:
    data = text.encode() if isinstance(text, str) else text
    return read_job_list(data, name="jobs.csv", today=TODAY, **said)  # type: ignore[arg-type]


def only(cell: str, header: str) -> JobList:
    return read(f"name,size,{header}\nHarbour,1200x800 mm,{cell}\n")


def test_a_list_is_read_with_all_it_says() -> None:
    found = read(GOOD)
    assert (found.problems, found.asks, found.ignored_columns) == ((), (), ())
    assert found.rows[0] == JobRow(
        line=2,
        name="Harbour III",
        width_dmm=12_000,
        height_dmm=8_000,
        count=3,
        work="Spring show",
        material="Satin",
        build="Face mount",
        certainty="sure",
        due_on=date(2026, 4, 10),
        edition_from=3,
        edition_of=8,
        client="A Gallery",
    )
    ferry = found.rows[1]
    assert (ferry.certainty, ferry.due_on) == ("maybe", date(2026, 5, 10))


def test_a_workbook_says_the_same_as_its_text() -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["name", "width (cm)", "height (cm)", "pieces", "due date"])
    sheet.append(["Harbour III", 120, 80, 3, date(2026, 4, 10)])
    out = io.BytesIO()
    book.save(out)
    (row,) = read(out.getvalue()).rows
    assert (row.width_dmm, row.height_dmm, row.count) == (12_000, 8_000, 3)
    assert row.due_on == date(2026, 4, 10)


@pytest.mark.parametrize(
    ("size", "expected"),
    [
        ("1200x800", (12_000, 8_000)),
        ("120 x 80 cm", (12_000, 8_000)),
        ("1.2 m x 0.8 m", (12_000, 8_000)),
        ("1200 × 800 mm", (12_000, 8_000)),
        ("48 by 32 in", (12_192, 8_128)),
        ("48 1/2 x 32 3/4 in", (12_319, 8_318)),
    ],
)
def test_sizes_are_read_as_people_write_them(size: str, expected: tuple[int, int]) -> None:
    (row,) = read(f"name,size\nHarbour,{size}\n").rows
    assert (row.width_dmm, row.height_dmm) == expected


def test_mixed_units_are_asked_for_and_not_guessed() -> None:
    text = "name,size\nA,1200 x 800\nB,120 x 80 cm\n"
    (ask,) = read(text).asks
    assert "line 2" in ask
    assert "cm" in ask
    assert read(text, unit="mm").asks == ()
    assert read(text, unit="mm").rows[0].width_dmm == 12_000


def test_plain_numbers_that_differ_hugely_are_asked_for() -> None:
    (ask,) = read("name,size\nA,1200 x 800\nB,120 x 80\n").asks
    assert "line 3" in ask
    assert read("name,size\nA,1200 x 800\nB,300 x 200\n").asks == ()


@pytest.mark.parametrize(
    ("cell", "header", "column"),
    [
        ("0", "count", "count"),
        ("2.5", "count", "count"),
        ("20000", "count", "count"),
        ("2026-02-30", "due", "due"),
        ("soon", "due", "due"),
        ("perchance", "status", "status"),
        ("9/8", "edition", "edition"),
        ("3-1/8", "edition", "edition"),
        ("a friend", "printed_by", "printed_by"),
    ],
)
def test_what_cannot_be_is_a_problem_of_its_cell(cell: str, header: str, column: str) -> None:
    found = only(cell, header)
    assert found.rows == ()
    assert [(problem.line, problem.column) for problem in found.problems] == [(2, column)]


@pytest.mark.parametrize("size", ["", "1200", "12 x 14 m", "wide x high", "x"])
def test_a_size_that_cannot_be_is_a_problem(size: str) -> None:
    found = read(f"name,size,count\nHarbour,{size},1\n")
    assert (len(found.problems), found.rows) == (1, ())


def test_due_before_it_is_started_is_a_problem_and_past_is_a_warning() -> None:
    found = read("name,size,start,due\nA,1200x800,2026-04-10,2026-04-01\nB,1200x800,,2026-02-01\n")
    assert [problem.line for problem in found.problems] == [2]
    assert [(item.line, "past" in item.what) for item in found.warnings] == [(3, True)]


def test_the_same_job_twice_and_a_job_without_a_name_are_warned_of() -> None:
    found = read("name,size,count\nA,1200x800,1\nA,1200x800,1\n,900x600,2\n")
    assert [item.line for item in found.warnings] == [3, 4]
    assert found.rows[2].name == "Line 4"


def test_an_edition_tells_how_many_where_nobody_counts() -> None:
    found = only("1-3/8", "edition")
    assert (found.rows[0].count, found.rows[0].edition_of) == (3, 8)
    beyond = read("name,size,count,edition\nA,1200x800,4,6/8\n")
    assert "beyond the edition" in beyond.problems[0].what


@pytest.mark.parametrize("text", ["", "nothing here\n", "a,b\n1,2\n", "name,size\n"])
def test_what_is_no_list_is_refused(text: str) -> None:
    with pytest.raises(ImportProblem) as caught:
        read(text)
    assert caught.value.try_


def test_mutated_lists_end_in_rows_or_in_an_error_of_ours() -> None:
    rng = random.Random(5)
    for _ in range(200):
        data = bytearray(GOOD.encode())
        for _ in range(rng.randint(1, 12)):
            at = rng.randrange(len(data))
            if rng.random() < 0.4:
                del data[at : at + rng.randint(1, 6)]
            else:
                data[at : at + rng.randint(0, 2)] = bytes(rng.choices(range(256), k=2))
        try:
            found = read(bytes(data))
        except StockroomError:
            continue
        for row in found.rows:
            assert row.width_dmm > 0
            assert 1 <= row.count <= 10_000
