"""Labels carry the unit's own digits, scannable and readable, whatever text comes with them."""

import io
import re
from collections.abc import Callable
from typing import Any

import pytest
import segno
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from stockroom.core.books.codes import code_of
from stockroom.documents.labels import Label, labels_pdf, labels_text
from stockroom.documents.page import LONGEST_CODE, cut_to_width, size_to_width
from stockroom.errors import BadValueError

PEARL = Label("10012", "Pearl 127 cm", ("9.4 m left", "batch 7A-113", "cold store, shelf 2"))
Matrix = list[list[bool]]


def pages(pdf: bytes) -> Any:
    return PdfReader(io.BytesIO(pdf)).pages


def drawn_squares(pdf: bytes, page: int = 0) -> list[tuple[float, float, float, Matrix]]:
    """Every QR code on a page as it was drawn: left, bottom, module size and its modules."""
    content = pages(pdf)[page].get_contents().get_data().decode("latin-1")
    found = []
    for path in re.findall(r"\bn ((?:[-\d.]+ [-\d.]+ [-\d.]+ [-\d.]+ re\s*)+)f", content):
        boxes = [
            tuple(map(float, box))
            for box in re.findall(r"([-\d.]+) ([-\d.]+) ([-\d.]+) ([-\d.]+) re", path)
        ]
        module = boxes[0][3]
        left = min(box[0] for box in boxes)
        bottom = min(box[1] for box in boxes)
        top = max(box[1] + box[3] for box in boxes)
        side = round((top - bottom) / module)
        matrix = [[False] * side for _ in range(side)]
        for x, y, width, height in boxes:
            row = round((top - y - height) / module)
            first = round((x - left) / module)
            for column in range(first, first + round(width / module)):
                assert not matrix[row][column], "a module was drawn twice"
                matrix[row][column] = True
        found.append((left, bottom, module, matrix))
    return found


def digits_in(matrix: Matrix) -> str:
    """Read a version 1 QR code of digits (ISO/IEC 18004), without error correction."""
    assert len(matrix) == 21
    around = [(8, c) for c in (0, 1, 2, 3, 4, 5, 7, 8)] + [(r, 8) for r in (7, 5, 4, 3, 2, 1, 0)]
    form = int("".join(str(int(matrix[r][c])) for r, c in around), 2) ^ 0b101010000010010
    masks: list[Callable[[int, int], int]] = [
        lambda r, c: (r + c) % 2,
        lambda r, c: r % 2,
        lambda r, c: c % 3,
        lambda r, c: (r + c) % 3,
        lambda r, c: (r // 2 + c // 3) % 2,
        lambda r, c: r * c % 2 + r * c % 3,
        lambda r, c: (r * c % 2 + r * c % 3) % 2,
        lambda r, c: ((r + c) % 2 + r * c % 3) % 2,
    ]
    mask = masks[form >> 10 & 0b111]
    bits = ""
    for turn, right in enumerate((20, 18, 16, 14, 12, 10, 8, 5, 3, 1)):
        rows = range(20, -1, -1) if turn % 2 == 0 else range(21)
        for r in rows:
            for c in (right, right - 1):
                corner = (r < 9 and (c < 9 or c > 12)) or (r > 12 and c < 9)
                if not corner and r != 6 and c != 6:
                    bits += str(int(matrix[r][c] ^ (mask(r, c) == 0)))
    assert bits[:4] == "0001", "not in numeric mode"
    count, at, out = int(bits[4:14], 2), 14, ""
    while count:
        taken = min(3, count)
        length = {3: 10, 2: 7, 1: 4}[taken]
        out += str(int(bits[at : at + length], 2)).zfill(taken)
        at, count = at + length, count - taken
    return out


@pytest.mark.parametrize("code", ["10012", "99", code_of(1234567), "0" * 9, "9" * LONGEST_CODE])
def test_the_drawn_modules_read_back_as_the_digits_of_the_code(code: str) -> None:
    ((_, _, _, matrix),) = drawn_squares(labels_pdf([Label(code, "Pearl")]))
    assert digits_in(matrix) == code
    made = segno.make(code, error="m", micro=False).matrix
    assert matrix == [[bool(value) for value in row] for row in made]


def test_each_label_has_its_own_code_in_its_own_place_with_the_quiet_zone_free() -> None:
    codes = [code_of(1001 + i) for i in range(24)]
    squares = drawn_squares(labels_pdf([Label(code, "Pearl", ("9 m",)) for code in codes]))
    assert [digits_in(matrix) for *_, matrix in squares] == codes
    width, height = 595.276 / 3, 841.890 / 8
    for index, (left, bottom, module, _) in enumerate(squares):
        row, column = divmod(index, 3)
        cell_left, cell_top = column * width, 841.890 - row * height
        assert cell_left + 4 * module < left
        assert left + 25 * module < cell_left + width
        assert bottom + 25 * module <= cell_top
        assert bottom - 4 * module >= cell_top - height
        assert bottom + 10.5 * module == pytest.approx(cell_top - height / 2, abs=0.01)
        assert module > 0.35 * 72 / 25.4  # modules of a third of a millimetre and more scan well


def test_code_title_and_lines_can_be_read_as_text() -> None:
    text = pages(labels_pdf([PEARL]))[0].extract_text()
    for part in (PEARL.code, PEARL.title, *PEARL.lines):
        assert part in text


def test_only_four_lines_of_text_are_taken() -> None:
    label = Label("10012", "Pearl", tuple(f"line {i}" for i in range(6)))
    text = pages(labels_pdf([label]))[0].extract_text()
    assert "line 3" in text
    assert "line 4" not in text


def test_the_same_labels_give_the_same_bytes() -> None:
    assert labels_pdf([PEARL] * 5) == labels_pdf([PEARL] * 5)
    assert labels_pdf([PEARL] * 5) != labels_pdf([PEARL] * 6)


@pytest.mark.parametrize(
    ("count", "start", "sheets"), [(24, 0, 1), (25, 0, 2), (1, 23, 1), (2, 23, 2), (48, 1, 3)]
)
def test_a_part_used_sheet_is_filled_from_its_first_free_position(
    count: int, start: int, sheets: int
) -> None:
    pdf = labels_pdf([PEARL] * count, start=start)
    assert len(pages(pdf)) == sheets
    squares = [square for page in range(sheets) for square in drawn_squares(pdf, page)]
    assert len(squares) == count
    row, column = divmod(start, 3)
    left, bottom, *_ = squares[0]
    assert int(left // (595.276 / 3)) == column
    assert int((841.890 - bottom) // (841.890 / 8)) == row


def test_other_divisions_and_pages() -> None:
    pdf = labels_pdf([PEARL] * 3, columns=2, rows=4, page="letter")
    box = pages(pdf)[0].mediabox
    assert (float(box.width), float(box.height)) == (612, 792)
    assert len(drawn_squares(pdf)) == 3
    small = labels_pdf([PEARL], columns=5, rows=18)
    assert digits_in(drawn_squares(small)[0][3]) == "10012"


def test_a_code_that_is_not_plain_digits_gets_no_square_that_could_open_another_unit() -> None:
    for code in ("12a34", "", "١٢٣٤٥", "1" * (LONGEST_CODE + 1), "100 12"):
        assert drawn_squares(labels_pdf([Label(code, "Pearl")])) == []


HOSTILE = st.text(max_size=400) | st.sampled_from(
    ["", "[/]", "\x1b[31m", "(\\)) Tj ET Q", "\u202egnp", "\ud800", "光" * 300, "M" * 2_000]
)


@settings(max_examples=60, deadline=None)
@given(HOSTILE, HOSTILE, st.lists(HOSTILE, max_size=6))
def test_hostile_text_never_breaks_a_label_or_its_neighbour(
    code: str, title: str, lines: list[str]
) -> None:
    hostile = Label(code, title, tuple(lines))
    pdf = labels_pdf([hostile, PEARL])
    assert pdf == labels_pdf([hostile, PEARL])
    assert digits_in(drawn_squares(pdf)[-1][3]) == "10012"
    assert "cold store, shelf 2" in pages(pdf)[0].extract_text()
    assert "\x1b" not in labels_text([hostile])


def test_characters_the_fonts_lack_become_question_marks_and_long_names_are_cut() -> None:
    label = Label("10012", "Größe 光", ("A very long name of a paper that goes on and on",))
    text = pages(labels_pdf([label]))[0].extract_text()
    assert "Größe ?" in text
    assert re.search(r"A very long name.*\.\.\.", text)
    assert "on and on" not in text


def test_text_is_cut_and_codes_shrink_to_the_width_given() -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    for width in (5, 30, 60, 120):
        cut = cut_to_width("A very long name of a paper", "Helvetica", 9, width)
        assert stringWidth(cut, "Helvetica", 9) <= width
    size = size_to_width("123456789012", "Helvetica-Bold", 18, 90)
    assert 6 < size < 18
    assert stringWidth("123456789012", "Helvetica-Bold", size) <= 90


def test_plain_text_labels() -> None:
    assert labels_text([]) == ""
    two = labels_text([PEARL, Label("10026", "Sheet", ("", "620 x 420 mm"))])
    assert two == (
        "10012\n  Pearl 127 cm\n  9.4 m left\n  batch 7A-113\n  cold store, shelf 2\n"
        "\n10026\n  Sheet\n  620 x 420 mm\n"
    )


@pytest.mark.parametrize(
    "options",
    [
        {"columns": 0},
        {"rows": 101},
        {"columns": 9},
        {"rows": 30},
        {"page": "A0"},
        {"start": 24},
        {"start": -1},
    ],
)
def test_impossible_sheets_are_refused(options: dict[str, Any]) -> None:
    with pytest.raises(BadValueError):
        labels_pdf([PEARL], **options)


def test_no_labels_are_refused() -> None:
    with pytest.raises(BadValueError):
        labels_pdf([])


def test_labels_for_a_label_printer_are_a_page_each_of_their_own_size() -> None:
    found = pages(labels_pdf([PEARL, PEARL], each_dmm=(620, 290)))
    assert len(found) == 2
    width, height = (float(side) for side in found[0].mediabox[2:])
    assert (round(width / 72 * 25.4, 1), round(height / 72 * 25.4, 1)) == (62.0, 29.0)
    assert "10012" in found[1].extract_text()
    with pytest.raises(BadValueError, match="too small"):
        labels_pdf([PEARL], each_dmm=(300, 100))
