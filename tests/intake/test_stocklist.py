"""A stock list becomes checked rows and problems by row, from text and from workbooks alike."""

import hashlib
import io
import random
import time
import zipfile
from datetime import date

import openpyxl
import pytest
from support.stock_lists import STOCK_LIST

from stockroom.errors import ImportProblem
from stockroom.intake.lists import Listed
from stockroom.intake.stocklist import STOCK, StockRow, read_stock_list
from stockroom.intake.workbook import MAX_ROWS, read_workbook

TODAY = date(2026, 3, 7)
HEADER = "material,family,form,width_mm,length_m,height_mm,count,batch,expiry,received"
GOOD = "P,paper,roll,1270,9,,1,E1,,"


def read(text: str | bytes, day_first: bool | None = None) -> Listed[StockRow]:
    data = text.encode() if isinstance(text, str) else text
    return read_stock_list(data, name="stock.csv", today=TODAY, day_first=day_first)


def one(line: str, header: str = HEADER) -> StockRow:
    found = read(f"{header}\n{line}\n")
    assert found.problems == ()
    return found.rows[0]


def problem_of(line: str, header: str = HEADER) -> tuple[str, str]:
    """Return column and words of the only problem of a row."""
    found = read(f"{header}\n{line}\n")
    assert found.rows == ()
    assert len(found.problems) == 1
    assert found.problems[0].line == 2
    return found.problems[0].column, found.problems[0].what


def refused(data: str | bytes) -> ImportProblem:
    with pytest.raises(ImportProblem) as caught:
        read(data)
    assert caught.value.why
    assert caught.value.try_
    return caught.value


def workbook(*rows: list[object], titles: tuple[str, ...] = ("Stock",)) -> bytes:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = titles[0]
    for title in titles[1:]:
        book.create_sheet(title, 0)
    for row in rows:
        sheet.append(row)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def test_every_column_is_read_without_a_problem() -> None:
    found = read(STOCK_LIST)
    assert found.problems == ()
    assert found.ignored_columns == ()
    assert tuple(field for _, field in found.columns) == tuple(
        column.name for column in STOCK.columns.values()
    )
    roll, sheets = found.rows
    assert roll == StockRow(
        line=2,
        material="Example pearl paper",
        family="paper",
        form="roll",
        width_dmm=12_700,
        length_dmm=90_000,
        height_dmm=None,
        thickness_um=260,
        count=1,
        batch="E-0417",
        made_on=date(2025, 1, 13),
        label_date=date(2027, 1, 31),
        place="cold store",
        price_cents=41_250,
        owner="mine",
        received_on=date(2025, 2, 3),
        plus_minus_dmm=9_000,
        note="opened; length guessed from the roll",
    )
    assert (sheets.width_dmm, sheets.height_dmm, sheets.length_dmm) == (20_500, 15_250, 15_250)
    assert (sheets.count, sheets.batch, sheets.thickness_um) == (4, "unknown", 3_000)


@pytest.mark.parametrize("mark", [";", "\t", ","])
def test_columns_come_in_any_order_and_spelling(mark: str) -> None:
    """Headers are known by their words, in any case; unknown ones are reported and not fatal."""
    text = (
        "Our list;;;;;;;\n\n"
        "Use by;Colour;LOT No.;Width (cm);Length [m];Form;Family;Name;Price\n"
        "2027-05-31;white;L7;127;30;Rolls;PAPER;Pearl 260;512.40\n"
    )
    found = read(text.replace(";", mark))
    row = found.rows[0]
    assert (row.material, row.family, row.form, row.batch) == ("Pearl 260", "paper", "roll", "L7")
    assert (row.width_dmm, row.length_dmm, row.price_cents) == (12_700, 300_000, 51_240)
    assert row.label_date == date(2027, 5, 31)
    assert found.ignored_columns == ("Colour",)
    assert (found.header_line, row.line) == (3, 4)
    assert found.problems == ()
    assert found.sha256 == hashlib.sha256(text.replace(";", mark).encode()).hexdigest()


@pytest.mark.parametrize(
    ("length", "wanted"),
    [
        ("9", (90_000, 0)),
        ("9,4", (94_000, 0)),
        ("9 m +/- 1 m", (90_000, 10_000)),
        ("9 m ± 50 cm", (90_000, 5_000)),
        ("9 +/- 1", (90_000, 10_000)),
        ("9+-1 m", (90_000, 10_000)),
        ("900 +/- 50 cm", (90_000, 5_000)),
        ("9 m +/- 5 %", (90_000, 4_500)),
        ("~9 m", (90_000, 9_000)),
        ("About 9 m", (90_000, 9_000)),
        ("approx. 9 m", (90_000, 9_000)),
        ("about 9 m +/- 2 m", (90_000, 20_000)),
        ("9 m +/- 0", (90_000, 0)),
        ("9000 mm", (90_000, 0)),
    ],
)
def test_lengths_as_people_write_them(length: str, wanted: tuple[int, int]) -> None:
    """A guessed length says by how much it may be off; "about" means a tenth."""
    row = one(f'P,paper,roll,1270,"{length}",,,,,')
    assert (row.length_dmm, row.plus_minus_dmm) == wanted


def test_a_bare_length_is_metres_of_roll_and_millimetres_of_sheet() -> None:
    """Where neither header nor cell has a unit, the form says which is meant."""
    header = "material,family,form,width,length"
    assert one("P,paper,roll,1270,30", header).length_dmm == 300_000
    assert one("A,sheet,sheet,2050,1525", header).height_dmm == 15_250
    assert one("F,profile,length,,3", header).length_dmm == 30_000


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        *(
            (column, cell)
            for column in ("width_mm", "length_m")
            for cell in (
                "0",
                "-5",
                "NaN",
                "inf",
                "1e308",
                "9e999",
                "0.0001",
                "9999999",
                "1.2.3",
                "x",
            )
        ),
        ("length_m", "9 m +/- 9 m"),
        ("length_m", "9 m +/- x"),
        ("length_m", "2000 m"),
        ("width_mm", "1.270"),
        ("width_mm", "1270 m"),
        *(("count", cell) for cell in ("0", "-1", "2.5", "1e9", "1000000000", "NaN", "many")),
        *(("expiry", cell) for cell in ("2027-02-30", "05/2027", "31/12/27", "0001-01-01", "soon")),
        *(("received", cell) for cell in ("2026-03-08", "1879-01-01", "9999-12-31")),
        ("family", "papier"),
        ("family", ""),
        ("form", "reel"),
        ("material", ""),
        ("width_mm", ""),
        ("length_m", ""),
    ],
)
def test_a_value_that_cannot_be_is_a_problem_with_row_and_column(column: str, cell: str) -> None:
    """The row is left out, the problem names line, column and value, and says what is wanted."""
    cells = dict(zip(HEADER.split(","), GOOD.split(","), strict=True))
    cells[column] = f'"{cell}"' if cell else ""
    where, what = problem_of(",".join(cells.values()))
    assert where == column
    assert len(what) > 10


def test_other_rows_stand_beside_a_problem() -> None:
    """The list is returned whole: good rows, and the bad ones by line."""
    found = read(
        f"{HEADER}\nA,paper,roll,1270,9,,,,,\nB,paper,roll,0,-1,,,,,\nC,film,roll,620,5,,,,,\n"
    )
    assert [(row.line, row.material) for row in found.rows] == [(2, "A"), (4, "C")]
    assert [(p.line, p.column, p.value) for p in found.problems] == [
        (3, "width_mm", "0"),
        (3, "length_m", "-1"),
    ]
    assert found.rows_read == 3


@pytest.mark.parametrize("word", ["", "?", "unknown", "N/A", "-"])
def test_an_unknown_batch_or_date_is_unknown(word: str) -> None:
    """Nobody has to invent a batch number or a date."""
    row = one(f"P,paper,roll,1270,9,,,{word},{word},{word}")
    assert (row.batch, row.label_date, row.received_on) == ("unknown", None, None)


@pytest.mark.parametrize(
    ("line", "column"),
    [
        ("A,sheet,sheet,2050,,,,,,", "height_mm"),
        ("A,sheet,sheet,,,1525,,,,", "width_mm"),
        ("A,sheet,sheet,2050,1.0,1525,,,,", "length_m"),
        ("A,sheet,sheet,2050,about 1.5,,,,,", "length_m"),
        ("F,profile,length,,,,,,,", "length_m"),
        ("G,goods,counted,,,,,,,", "count"),
        ("G,goods,counted,,,,3,,,,7", ""),
    ],
)
def test_each_form_needs_its_measures(line: str, column: str) -> None:
    """A sheet has two sides and they are exact; a length a length; goods a count; no cell over."""
    assert problem_of(line)[0] == column


def test_prices_whose_point_may_part_thousands_are_not_guessed() -> None:
    """1.200 may be one euro twenty or twelve hundred."""
    header = "material,family,form,count,price"
    assert one("G,goods,counted,3,1200.00", header).price_cents == 120_000
    assert one('G,goods,counted,3,"12,5"', header).price_cents == 1_250
    for cell in ("1.200", '"1,200"', "-5", "12 EUR", "NaN"):
        assert problem_of(f"G,goods,counted,3,{cell}", header)[0] == "price"


# Dates


def test_a_day_over_12_anywhere_in_the_list_proves_the_order() -> None:
    """Proof in one column and row holds for all."""
    found = read(
        f"{HEADER}\nA,paper,roll,1270,9,,,,03/04/2027,\nB,paper,roll,1270,9,,,,,25/02/2026\n"
    )
    assert found.date_order == "day first"
    assert found.rows[0].label_date == date(2027, 4, 3)


def test_an_open_order_is_a_problem_of_the_row_that_names_the_flags() -> None:
    """A date the same both ways, and other rows, are read; the open one is told."""
    text = f"{HEADER}\nA,paper,roll,1270,9,,,,03/04/2027,\nB,paper,roll,1270,9,,,,05/05/2027,\n"
    found = read(text)
    assert found.date_order is None
    assert [row.label_date for row in found.rows] == [date(2027, 5, 5)]
    assert found.problems[0].line == 2
    assert "--day-first" in found.problems[0].what
    assert "--month-first" in found.problems[0].what
    assert read(text, day_first=True).rows[0].label_date == date(2027, 4, 3)
    assert read(text, day_first=False).rows[0].label_date == date(2027, 3, 4)


def test_both_orders_in_one_list_prove_nothing() -> None:
    """25/02 and 02/25 are each clear; 03/04 between them is not."""
    found = read(
        f"{HEADER}\nA,paper,roll,1270,9,,,,25/02/2027,\nB,paper,roll,1270,9,,,,02/25/2027,\n"
        "C,paper,roll,1270,9,,,,03/04/2027,\n"
    )
    assert [row.label_date for row in found.rows] == [date(2027, 2, 25)] * 2
    assert [problem.line for problem in found.problems] == [4]


def test_a_date_against_the_given_order_is_a_problem() -> None:
    """With --day-first 02/25/2027 is no day."""
    found = read(f"{HEADER}\nB,paper,roll,1270,9,,,,02/25/2027,\n", day_first=True)
    assert found.problems[0].column == "expiry"


@pytest.mark.parametrize("cell", ["31 May 2027", "31-May-2027", '"May 31, 2027"', "31. May 2027"])
def test_months_by_name_need_no_order(cell: str) -> None:
    """A month's name is clear."""
    assert one(f"P,paper,roll,1270,9,,,,{cell},").label_date == date(2027, 5, 31)


def test_a_label_date_before_the_day_of_making_is_a_problem() -> None:
    """Nothing expires before it is made."""
    header = "material,family,form,count,made_on,expiry"
    assert problem_of("G,goods,counted,3,2026-01-02,2026-01-01", header)[0] == "expiry"


# Hostile text


def test_hostile_text_is_made_harmless() -> None:
    """Escapes, bidi marks and markup are text; the mark against formulas is taken off again."""
    row = one('"\x1b[2JAc\u202eme [/] Ltd",paper,roll,1270,9,,,\'=1+1,,')
    assert row.material == "\ufffd[2JAcme [/] Ltd"
    assert row.batch == "=1+1"


def test_a_quoted_cell_may_hold_lines_and_marks() -> None:
    """A note of two lines is one line of text, and the next row keeps its number."""
    found = read(
        'material,family,form,count,note\nA,goods,counted,1,"two\nlines, one note"\n'
        "B,goods,counted,x,\n"
    )
    assert found.rows[0].note == "two lines, one note"
    assert found.problems[0].line == 4


@pytest.mark.parametrize(
    ("data", "word"),
    [
        ("", "empty"),
        ("colour,size\nred,3\n", "no header"),
        ("material\nA\n", "no header"),
        (f"{HEADER}\n\n,,,\n", "no rows"),
        (f'{HEADER}\n"A,paper,roll\n', "quote near line 2"),
        (b"PK\x03\x04" + bytes(80), "workbook or a zip"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(80), "older or locked workbook"),
        (f"{HEADER}\n" + "A,paper,roll,1270,9,,,,,\n" * (MAX_ROWS + 1), "more than"),
        (b"x" * 20_000_001, "too large"),
    ],
)
def test_what_is_no_stock_list_is_refused_in_words(data: str | bytes, word: str) -> None:
    """Each refusal says why and what to try."""
    assert word in refused(data).what


def test_a_last_line_that_may_be_cut_is_told() -> None:
    """Without a line end and with fewer cells than all others the list broke off."""
    found = read(f"{HEADER}\nA,paper,roll,1270,9,,,,,\nB,paper,roll,620,3")
    assert [problem.line for problem in found.problems] == [3]
    assert "cut" in found.problems[0].what


def test_a_second_column_of_one_meaning_is_told() -> None:
    """Batch and lot side by side: the first is read, the second named."""
    found = read("material,family,form,count,batch,lot\nG,goods,counted,3,B1,L1\n")
    assert found.rows[0].batch == "B1"
    assert (found.problems[0].line, found.problems[0].column) == (1, "lot")
    assert found.ignored_columns == ("lot",)


# Workbooks


def test_a_workbook_reads_like_text() -> None:
    """Numbers, whole or not, and date cells come out as the same rows as from CSV."""
    headers: list[object] = [*HEADER.split(",")]
    found = read(
        workbook(
            ["Our stock"],
            [],
            headers,
            ["Pearl", "paper", "roll", 1270, 9.4, None, 1.0, 4711, date(2027, 5, 31), TODAY],
            [None] * 3,
            ["Clear", "sheet", "sheet", 2050, None, 1525, "4", "?", None, "2026-01-02"],
            titles=("Stock", "Old", "Notes"),
        )
    )
    assert found.problems == ()
    text = read(
        f"x\n\n{HEADER}\nPearl,paper,roll,1270,9.4,,1,4711,2027-05-31,2026-03-07\n\n"
        "Clear,sheet,sheet,2050,,1525,4,?,,2026-01-02\n"
    )
    assert found.rows == text.rows
    assert [row.line for row in found.rows] == [4, 6]
    assert (found.sheet, found.other_sheets) == ("Stock", ())


def test_the_sheet_with_a_header_is_read_and_others_are_named() -> None:
    """A cover sheet first does not hide the list."""
    book = openpyxl.Workbook()
    cover = book.active
    assert cover is not None
    cover.append(["Inventory of the year"])
    sheet = book.create_sheet("List")
    sheet.append(["material", "family", "form", "count"])
    sheet.append(["G", "goods", "counted", 3])
    stream = io.BytesIO()
    book.save(stream)
    found = read(stream.getvalue())
    assert (found.sheet, found.other_sheets, len(found.rows)) == ("List", ("Sheet",), 1)


@pytest.mark.parametrize(
    ("column", "value", "word"),
    [
        ("count", "=1+1", "formula without a value"),
        ("material", "=A1", "formula without a value"),
        ("count", "#N/A", "shows an error"),
        ("batch", date(2026, 3, 12), "made a date of this"),
        ("batch", 1234567890123456789, "too long to be kept exactly"),
        ("width_mm", 1e308, "too long to be kept exactly"),
        ("width_mm", -1270, "not a length"),
        ("width_mm", True, "not a length"),
        ("expiry", 46_500, "not a date"),
        ("expiry", date(1905, 1, 1), "no likely date"),
    ],
)
def test_cells_that_a_workbook_spoils_are_problems(column: str, value: object, word: str) -> None:
    """Formulas without values, error cells, batches turned to dates and numbers too long."""
    cells = dict(zip(HEADER.split(","), GOOD.split(","), strict=True))
    found = read(workbook([*HEADER.split(",")], [*{**cells, column: value}.values()]))
    assert [(p.line, p.column) for p in found.problems] == [(2, column)]
    assert word in found.problems[0].what


def test_a_formula_with_its_value_is_its_value() -> None:
    """A kept value is read; only formulas never worked out are problems."""
    data = workbook(["material", "family", "form", "count"], ["G", "goods", "counted", "=1+2"])
    found = read(replaced(data, "<f>1+2</f><v />", "<f>1+2</f><v>3</v>"))
    assert found.problems == ()
    assert found.rows[0].count == 3


def replaced(data: bytes, old: str, new: str, *, part: str = "xl/worksheets/sheet1.xml") -> bytes:
    """Return a workbook with the text of one part changed."""
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as source,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as target,
    ):
        for info in source.infolist():
            content = source.read(info)
            if info.filename == part:
                assert old.encode() in content
                content = content.replace(old.encode(), new.encode())
            target.writestr(info.filename, content)
    return stream.getvalue()


SMALL = workbook(["material", "family", "form", "count"], ["G", "goods", "counted", 3])
BOMB_ROWS = "".join(f'<row r="{n}"><c r="A{n}"><v>1</v></c></row>' for n in range(3, 300_000, 3))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("<sheetData>", "<!-- " + " " * 61_000_000 + " --><sheetData>"),
        ("<worksheet", '<!DOCTYPE x [<!ENTITY a "aa">]><worksheet'),
        ("</sheetData>", f"{BOMB_ROWS}</sheetData>"),
        ("</sheetData>", '<row r="3"><c r="ZZZZZZ3"><v>1</v></c></row></sheetData>'),
        ("<sheetData>", "<sheetData><"),
        ("<v>3</v>", "<v>three</v>"),
    ],
    ids=["unpacked size", "entities", "rows", "column", "broken", "number"],
)
def test_bombs_and_broken_workbooks_are_refused_in_words(old: str, new: str) -> None:
    """Whatever is packed inside, the refusal is one error and comes soon."""
    data = replaced(SMALL, old, new)
    started = time.perf_counter()
    refused(data)
    assert time.perf_counter() - started < 5


def test_reading_a_sheet_stops_once_it_is_too_long() -> None:
    """A sheet of 100 000 rows is left after the first that is one too many."""
    sheets = read_workbook(replaced(SMALL, "</sheetData>", f"{BOMB_ROWS}</sheetData>"))
    assert len(sheets[0].rows) == MAX_ROWS + 1


@pytest.mark.parametrize("row", ["1048576", "99999999999"])
def test_a_row_far_below_ends_the_sheet(row: str) -> None:
    """Blank rows without end are not walked through."""
    new = f'<row r="{row}"><c r="A{row}"><v>1</v></c></row></sheetData>'
    started = time.perf_counter()
    assert len(read(replaced(SMALL, "</sheetData>", new)).rows) == 1
    assert time.perf_counter() - started < 2


def test_mutated_lists_are_read_or_refused_in_words() -> None:
    """Only the one import error escapes, from text and from workbooks, and each is soon done."""
    random_ = random.Random(7)
    seeds = [STOCK_LIST.encode(), STOCK_LIST.replace(",", ";").encode("utf-16"), SMALL]
    told: list[str] = []
    for _ in range(500):
        data = bytearray(random_.choice(seeds))
        for _ in range(random_.choice([1, 2, 6])):
            at = random_.randrange(len(data) + 1)
            end = min(len(data), at + random_.choice([1, 1, 4, 60]))
            kind = random_.randrange(4)
            if kind == 0:
                data[at:end] = random_.randbytes(end - at)
            elif kind == 1:
                del data[at:end]
            elif kind == 2:
                token = random_.choice(
                    ["NaN", "1e308", '"', "\n", "=1", "-1", "9" * 40, "\u202e", "~"]
                )
                data[at:at] = token.encode()
            else:
                data[at:at] = data[at:end] * 3
        started = time.perf_counter()
        try:
            found = read(bytes(data), day_first=random_.choice([None, True]))
        except ImportProblem as problem:
            told.append(str(problem))
        else:
            assert len(found.rows) <= found.rows_read
            assert found.problems or len(found.rows) == found.rows_read
        assert time.perf_counter() - started < 2
    assert 50 < len(told) < 450
    assert all(told)
