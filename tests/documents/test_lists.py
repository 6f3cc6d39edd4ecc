"""Order lists name each supplier once and are harmless; the day sheet holds every row."""

import csv
import io
import re
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from stockroom.documents.lists import (
    NO_SUPPLIER,
    ORDER_COLUMNS,
    OrderLine,
    day_sheet_pdf,
    order_list_csv,
    order_list_text,
)
from stockroom.errors import BadValueError
from stockroom.text import unguard_cell

LINES = [
    OrderLine("Pearl 127 cm", "Northern Papers", "2 rolls", "Short by 12 m on 3 May.", "10012"),
    OrderLine("Acrylic 3 mm", "", "4 sheets", ""),
    OrderLine("Clear film 152", "Abel Films", "1 roll", "Goes off on 2 April."),
    OrderLine("Matt 127 cm", "Northern Papers", "1 roll", "Two jobs are booked."),
]
GROUPS = [
    ("Take out of the cold store", [("10012", "Pearl 127 cm, by 18:00"), ("10026", "Matt 127 cm")]),
    ("Nothing here", []),
    ("Cut", [("", "620 x 420 mm out of the offcut by the saw")]),
]


def pages(pdf: bytes) -> Any:
    return PdfReader(io.BytesIO(pdf)).pages


def boxes(page: Any) -> int:
    content = page.get_contents().get_data().decode("latin-1")
    return len(re.findall(r" re S\b", content))


def test_order_text_names_each_supplier_once_by_name_and_the_unnamed_last() -> None:
    assert order_list_text(LINES) == (
        "Abel Films\n"
        "  1 roll  Clear film 152\n"
        "    Goes off on 2 April.\n"
        "\n"
        "Northern Papers\n"
        "  2 rolls  Pearl 127 cm (10012)\n"
        "    Short by 12 m on 3 May.\n"
        "  1 roll  Matt 127 cm\n"
        "    Two jobs are booked.\n"
        "\n"
        "No supplier named\n"
        "  4 sheets  Acrylic 3 mm\n"
    )
    assert order_list_text([]) == "Nothing to order.\n"


def test_order_csv_holds_the_same_lines_in_the_same_order() -> None:
    header, *rows = csv.reader(io.StringIO(order_list_csv(LINES)))
    assert tuple(header) == ORDER_COLUMNS
    assert rows == [
        ["Abel Films", "", "Clear film 152", "1 roll", "Goes off on 2 April."],
        ["Northern Papers", "10012", "Pearl 127 cm", "2 rolls", "Short by 12 m on 3 May."],
        ["Northern Papers", "", "Matt 127 cm", "1 roll", "Two jobs are booked."],
        ["", "", "Acrylic 3 mm", "4 sheets", ""],
    ]
    assert NO_SUPPLIER not in order_list_csv(LINES)


@settings(deadline=None)
@given(st.text(max_size=60), st.sampled_from("=+-@|%\t\r＝＠"), st.text(max_size=60))
def test_no_cell_starts_a_formula_and_no_text_breaks_a_row(a: str, start: str, b: str) -> None:
    line = OrderLine(start + a, start + b, f"{start}{a}{b}", start, start + "1+1")
    rows = list(csv.reader(io.StringIO(order_list_csv([line, line]), newline="")))
    assert len(rows) == 3
    for row in rows[1:]:
        assert len(row) == len(ORDER_COLUMNS)
        for cell in row:
            bare = cell.lstrip(" ")
            assert bare == "" or bare[0] not in "=+-@|%\t\r\n\0＝＋－＠｜％" or _is_number(cell)
            assert not re.search(r"[\x00-\x1f\x7f]", unguard_cell(cell))
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", order_list_text([line]))


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def test_the_day_sheet_holds_title_headings_and_rows_each_with_a_box_and_a_time() -> None:
    (page,) = pages(day_sheet_pdf("Tue 10 Mar 2026", GROUPS))
    text = page.extract_text()
    for part in ("Tue 10 Mar 2026", "Take out of the cold store", "Cut", "10012", "10026"):
        assert part in text
    assert "620 x 420 mm out of the offcut by the saw" in text
    assert "Nothing here" not in text
    assert "Page 1 of 1" in text
    assert boxes(page) == 3
    content = page.get_contents().get_data().decode("latin-1")
    assert content.count("(:) Tj") == 3


def test_the_same_day_sheet_gives_the_same_bytes() -> None:
    assert day_sheet_pdf("Tuesday", GROUPS) == day_sheet_pdf("Tuesday", GROUPS)
    assert day_sheet_pdf("Tuesday", GROUPS) != day_sheet_pdf("Wednesday", GROUPS)


def test_long_days_go_over_pages_and_no_row_is_lost() -> None:
    rows = [(str(20_000 + i), f"move roll number {i} ends") for i in range(90)]
    sheets = pages(day_sheet_pdf("Tuesday", [("Move", rows), ("Cut", [("10012", "last row")])]))
    texts = [sheet.extract_text() for sheet in sheets]
    assert len(sheets) == 3
    together = "\n".join(texts)
    for code, what in rows:
        assert code in together
        assert what in together
    assert sum(boxes(sheet) for sheet in sheets) == 91
    for number, text in enumerate(texts, start=1):
        assert f"Page {number} of 3" in text
        assert "Tuesday" in text
    assert "Move (continued)" in texts[1]


@pytest.mark.parametrize("above", range(22, 36))
def test_a_heading_never_stands_alone_at_the_foot_of_a_page(above: int) -> None:
    rows = [(str(10_000 + i), "row") for i in range(above)]
    sheets = pages(day_sheet_pdf("Tuesday", [("First", rows), ("Second", [("77777", "row")])]))
    holding = [sheet for sheet in sheets if "Second" in sheet.extract_text()]
    assert len(holding) == 1
    assert "77777" in holding[0].extract_text()


def test_long_text_is_wrapped_and_long_words_too() -> None:
    words = " ".join(f"word{i}" for i in range(60))
    (page,) = pages(day_sheet_pdf("Tuesday", [("Look", [("10012", words), ("", "x" * 300)])]))
    text = page.extract_text()
    assert all(f"word{i}" in text for i in range(60))
    assert text.count("x") == 300
    content = page.get_contents().get_data().decode("latin-1")
    assert max(map(len, re.findall(r"\((.*?)\) Tj", content))) < 110


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=200), st.text(max_size=200), st.text(max_size=40), st.text(max_size=900))
def test_hostile_text_never_breaks_a_day_sheet(
    title: str, heading: str, code: str, text: str
) -> None:
    groups = [(heading, [(code, text), ("10012", "the row after")])]
    pdf = day_sheet_pdf(title, groups)
    assert "the row after" in pages(pdf)[0].extract_text()
    assert pdf == day_sheet_pdf(title, groups)


def test_an_empty_day_is_refused() -> None:
    with pytest.raises(BadValueError):
        day_sheet_pdf("Tuesday", [])
    with pytest.raises(BadValueError):
        day_sheet_pdf("Tuesday", [("Move", [])])
