"""A job list becomes checked rows, problems by line, and questions where units are not told."""

import io
import random
from datetime import date

import openpyxl
import pytest

from stockroom.errors import BadValueError, ImportProblem, StockroomError
from stockroom.intake.joblist import JobRow, read_job_list
from stockroom.intake.list_files import MAX_PROBLEMS
from stockroom.intake.lists import Listed

TODAY = date(2026, 3, 2)
GOOD = (
    "work,name,size,count,paper,build,due,status,edition,client\n"
    "Spring show,Harbour III,1200 x 800 mm,3,Satin,Face mount,2026-04-10,confirmed,3/8,A Gallery\n"
    'Spring show,Night ferry,"47 1/4"" x 31 1/2""",1,Satin,,10 May 2026,enquiry,,\n'
)
HEADERS = (
    "Title,Width (cm),Height in inches,Edition no,Edition size,Confirmed,Start,Lab days,"
    "Printed by\n"
    "Quarry,120,31 1/2,1-3,8,x,25/03/2026,10,lab\n"
    "Pier,90,20,,5,no,,,customer\n"
)


def read(text: str | bytes, **said: object) -> Listed[JobRow]:
    data = text.encode() if isinstance(text, str) else text
    return read_job_list(data, name="jobs.csv", today=TODAY, **said)  # type: ignore[arg-type]


def only(cell: str, header: str) -> Listed[JobRow]:
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
        ("47-1/4 inches x 31½ inches", (12_002, 8_001)),
        ("1200 mm x 80 cm", (12_000, 8_000)),
        ("120 x 80 (cm)", (12_000, 8_000)),
        ("120.5 X 80 cm", (12_050, 8_000)),
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
        ("1.000", "count", "count"),
        ("20000", "count", "count"),
        ("2026-02-30", "due", "due"),
        ("soon", "due", "due"),
        ("perchance", "status", "status"),
        ("9/8", "edition", "edition"),
        ("3-1/8", "edition", "edition"),
        ("a friend", "printed_by", "printed_by"),
        ("50 %", "status", "status"),
        ("no", "status", "status"),
        ("perhaps not", "series", "series"),
        ("8", "edition", "edition"),
        ("0/8", "edition", "edition"),
        ("1/20000", "edition", "edition"),
        ("8-3", "edition_no", "edition_no"),
        ("20000", "edition_size", "edition_size"),
        ("367", "lab_days", "lab_days"),
    ],
)
def test_what_cannot_be_is_a_problem_of_its_cell(cell: str, header: str, column: str) -> None:
    found = only(cell, header)
    assert found.rows == ()
    assert [(problem.line, problem.column) for problem in found.problems] == [(2, column)]


@pytest.mark.parametrize(
    "size",
    [
        "",
        "1200",
        "12 x 14 m",
        "wide x high",
        "x",
        "1200 x",
        "1200 x 800 x 3 mm",
        "4000 x 3000 px",
        "-1200 x 800",
        "1200 mm cm x 800",
        "1200 x 1e3",
        "1200 x 3/0",
    ],
)
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


def test_header_units_and_columns_are_known_as_people_name_them() -> None:
    found = read("Title,Width in cm,Height [inch],Colour\nA,120,31.5,red\n")
    assert (found.rows[0].width_dmm, found.rows[0].height_dmm) == (12_000, 8_001)
    assert (found.asks, found.ignored_columns) == ((), ("Colour",))
    assert found.columns[1] == ("Width in cm", "width")


def test_a_column_of_height_by_width_is_not_turned() -> None:
    (row,) = read("name,H x W (cm)\nA,80 x 120\n").rows
    assert (row.width_dmm, row.height_dmm) == (12_000, 8_000)


def test_a_unit_that_no_size_has_is_no_column_of_sizes() -> None:
    with pytest.raises(ImportProblem, match="no column of sizes"):
        read("name,count,width (µm),height (µm)\nA,1,120,80\n")
    with pytest.raises(BadValueError, match="no unit of a size"):
        read(GOOD, unit="ft")


def test_a_side_that_is_missing_is_named() -> None:
    (problem,) = read("name,width,height\nA,1200,\n").problems
    assert (problem.column, "height is missing" in problem.what) == ("height", True)


def test_a_comma_that_moves_the_cells_is_a_problem() -> None:
    found = read("name,count,size\nA,1,120,5 x 80 cm\n")
    assert any("more cells than the header" in problem.what for problem in found.problems)
    assert found.rows == ()


def test_a_size_that_is_asked_for_is_in_no_row_until_it_is_told() -> None:
    text = "name,size\nA,47 x 31\nB,120 x 80 cm\nC,30 x 20 in\n"
    found = read(text)
    assert [row.name for row in found.rows] == ["B", "C"]
    (ask,) = found.asks
    assert "line 2?" in ask
    assert "other sizes are in cm, inches." in ask
    told = read(text, unit="in")
    assert [row.width_dmm for row in told.rows] == [11_938, 12_000, 7_620]


def test_plain_numbers_far_below_those_in_mm_are_asked_for() -> None:
    (ask,) = read("name,size\nA,4000 x 1500 mm\nB,400 x 150\n").asks
    assert "line 3" in ask
    assert read("name,size\nA,1200 x 800 mm\nB,900 x 600\n").asks == ()


@pytest.mark.parametrize("size", ["120 x 80", "1.2 x 0.8"])
def test_a_list_hardly_in_mm_is_asked_for(size: str) -> None:
    text = f"name,size\nA,{size}\n"
    found = read(text)
    assert (len(found.asks), found.rows) == (1, ())
    told = read(text, unit="cm" if size == "120 x 80" else "m")
    assert (told.asks, told.rows[0].width_dmm) == ((), 12_000)


def test_one_large_piece_does_not_hide_that_a_list_is_hardly_in_mm() -> None:
    text = "name,size\nA,400 x 180\nB,120 x 80\nC,90 x 60\n"
    (ask,) = read(text).asks
    assert ("line 2, 3, 4" in ask, "120 mm" in ask) == (True, True)
    assert [row.width_dmm for row in read(text, unit="cm").rows] == [40_000, 12_000, 9_000]
    assert read("name,size\nA,1800 x 1200\nB,900 x 600\nC,250 x 240\n").asks == ()


def test_words_in_place_of_a_size_ask_for_no_unit() -> None:
    found = read("name,size\nA,120 x 80 cm\nB,to x come\n")
    assert (found.asks, [problem.line for problem in found.problems]) == ((), [3])


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        ("confirmed", "sure"),
        ("Certain", "sure"),
        ("Option", "likely"),
        ("probable", "likely"),
        ("ENQUIRY", "maybe"),
    ],
)
def test_how_sure_is_said_in_words(cell: str, expected: str) -> None:
    assert only(cell, "status").rows[0].certainty == expected
    assert only("", "status").rows[0].certainty == "sure"


@pytest.mark.parametrize(
    ("cell", "expected"), [("x", "sure"), ("No", "maybe"), ("likely", "likely"), ("", "maybe")]
)
def test_a_column_called_confirmed_asks_yes_or_no(cell: str, expected: str) -> None:
    found = only(cell, "confirmed")
    assert found.rows[0].certainty == expected
    assert len(found.warnings) == (cell == "")


def test_who_prints_and_how_long_a_lab_takes() -> None:
    found = read(
        "name,size,printed by,lab days,series\nA,1200x800,Lab,10 days,yes\nB,1200x800,,,\n"
    )
    first, second = found.rows
    assert (first.printed_by, first.lab_days, first.series) == ("outside lab", 10, True)
    assert (second.printed_by, second.lab_days, second.series) == ("here", None, False)
    assert only("Supplied by customer", "printed by").rows[0].printed_by == "customer"


@pytest.mark.parametrize(
    ("cell", "count"), [("3", 3), ("3.0", 3), ("12 pcs", 12), ("10000", 10_000)]
)
def test_a_whole_count_is_read_as_spreadsheets_write_it(cell: str, count: int) -> None:
    assert only(cell, "count").rows[0].count == count


def test_a_number_beyond_its_edition_is_told_with_both() -> None:
    (problem,) = only("9/8", "edition").problems
    assert "Number 9 is beyond an edition of 8. Type the number first" in problem.what


def test_numbers_of_an_edition_and_its_size_may_stand_apart() -> None:
    header = "name,size,count,edition no,edition size\n"
    (row,) = read(f"{header}A,1200x800,2,3,8\n").rows
    assert (row.edition_from, row.edition_of, row.count) == (3, 8, 2)
    (whole,) = only("of 8", "edition").rows
    assert (whole.edition_from, whole.edition_of, whole.count) == (None, 8, 1)
    for line in ("A,1200x800,7,3,8", "A,1200x800,5,1-3,8", "A,1200x800,1,3/9,8", "A,1200x800,9,,8"):
        assert len(read(f"{header}{line}\n").problems) == 1


def test_other_numbers_of_an_edition_are_not_the_same_job() -> None:
    found = read("name,size,edition\nA,1200x800,3/8\nA,1200x800,4/8\na,120x80 cm,3/8\n", unit="mm")
    assert [(item.line, "line 2" in item.what) for item in found.warnings] == [(4, True)]


def test_a_day_over_12_proves_the_order_and_an_open_one_is_a_problem() -> None:
    proven = read("name,size,due,start\nA,1200x800,04/05/2026,\nB,1200x800,,25/03/2026\n")
    assert (proven.date_order, proven.rows[0].due_on) == ("day first", date(2026, 5, 4))
    text = "name,size,due\nA,1200x800,04/05/2026\n"
    assert "not clear" in read(text).problems[0].what
    assert read(text, day_first=False).rows[0].due_on == date(2026, 4, 5)


def test_what_a_workbook_spoils_is_a_problem_and_other_sheets_are_named() -> None:
    book = openpyxl.Workbook()
    cover = book.active
    assert cover is not None
    cover.append(["Plans"])
    sheet = book.create_sheet("Jobs")
    sheet.append(["name", "size", "edition", "count"])
    sheet.append(["A", "1200x800", date(2026, 8, 3), 1])
    sheet.append(["B", "1200x800", None, "=1+1"])
    sheet.append(["C", "1200x800", None, 2.5])
    out = io.BytesIO()
    book.save(out)
    found = read(out.getvalue())
    assert [(p.line, p.column) for p in found.problems] == [
        (2, "edition"),
        (3, "count"),
        (4, "count"),
    ]
    assert (found.sheet, found.other_sheets, found.header_line) == ("Jobs", ("Sheet",), 1)


def test_hostile_text_is_made_harmless() -> None:
    text = GOOD.replace("Harbour III", '"\x1b[2JHar\u202ebour"').replace("A Gallery", "'=1+1")
    found = read(text)
    assert (found.rows[0].name, found.rows[0].client) == ("\ufffd[2JHarbour", "=1+1")


def test_so_many_problems_are_counted_and_not_listed() -> None:
    found = read("name,size\n" + "A,none\n" * (MAX_PROBLEMS + 7))
    assert len(found.problems) == MAX_PROBLEMS + 1
    assert found.problems[-1].what == "7 more problems"


def test_mutated_lists_end_in_rows_or_in_an_error_of_ours() -> None:
    rng = random.Random(5)
    tokens = ["x", '"', ",", "\n", "/", "1/0", "NaN", "9" * 40, "½", "\u202e", "cm", "=1", "-", "²"]
    seeds = [GOOD.encode(), HEADERS.encode(), GOOD.replace(",", ";").encode("utf-16")]
    read_, refused = 0, 0
    for _ in range(250):
        data = bytearray(rng.choice(seeds))
        for _ in range(rng.randint(1, 8)):
            at = rng.randrange(len(data))
            kind = rng.random()
            if kind < 0.3:
                del data[at : at + rng.randint(1, 6)]
            elif kind < 0.7:
                data[at:at] = rng.choice(tokens).encode()
            else:
                data[at : at + rng.randint(0, 2)] = bytes(rng.choices(range(256), k=2))
        try:
            found = read(bytes(data), unit=rng.choice([None, "cm", "m"]))
        except StockroomError:
            refused += 1
            continue
        read_ += 1
        assert found.problems or found.asks or len(found.rows) == found.rows_read
        for row in found.rows:
            assert min(row.width_dmm, row.height_dmm) >= 100
            assert max(row.width_dmm, row.height_dmm) <= 100_000
            assert 1 <= row.count <= 10_000
            assert (row.edition_from or 1) + row.count - 1 <= (row.edition_of or 20_000)
    assert min(read_, refused) > 20
