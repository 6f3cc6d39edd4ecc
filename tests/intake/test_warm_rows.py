"""A maker's warm-up table is read like any list: its header found, its cells told one by one."""

import io

import openpyxl
import pytest

from stockroom.errors import ImportProblem
from stockroom.intake.warm_rows import read_warm_rows

HEADER = ["width_mm", "length_m", "from_c", "hours"]


def test_a_workbook_with_a_title_says_the_same_as_text() -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (["Hours to wait"], HEADER, [1270, 50, -18, 10.51]):
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    rows = [(12_700, 500_000, -1_800, 631)]
    assert read_warm_rows(out.getvalue(), "", lambda row: "") == rows
    text = f"Hours to wait\n{','.join(HEADER)}\n1270,50,\u221218,10.51\n"
    assert read_warm_rows(text.encode(), "", lambda row: "") == rows


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ("1270,50,4", [(2, "hours", "a cell is missing")]),
        ("1270,50,4,10,5", [(2, "", "more cells than the header")]),
        ("1270,50,4,10\n1270,50,4,11", [(3, "", "other hours than an earlier row")]),
        ("wide,50,4,x", [(2, "width_mm", "not a width in mm"), (2, "hours", "number of hours")]),
    ],
)
def test_each_cell_that_cannot_be_is_told(rows: str, told: list[tuple[int, str, str]]) -> None:
    with pytest.raises(ImportProblem) as caught:
        read_warm_rows(f"{','.join(HEADER)}\n{rows}\n".encode(), "", lambda row: "")
    found = caught.value.problems
    assert [(problem.line, problem.column) for problem in found] == [one[:2] for one in told]
    assert all(one[2] in problem.what for one, problem in zip(told, found, strict=True))
