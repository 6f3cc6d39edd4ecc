"""Lists for a cut plan: units declared or asked for, problems by row, defaults as told."""

import pytest

from stockroom.core.cutting.request import Blank, CutPiece
from stockroom.errors import BadValueError, ImportProblem
from stockroom.intake.cutlist import CutRow, read_blanks, read_pieces
from stockroom.intake.lists import Listed


def pieces(text: str, *, unit: str | None = None, turn: bool = True) -> Listed[CutRow[CutPiece]]:
    return read_pieces(text.encode(), name="pieces.csv", unit=unit, turn=turn)


def blanks(text: str) -> Listed[CutRow[Blank]]:
    return read_blanks(text.encode(), name="blanks.csv")


def test_pieces_are_read_with_what_they_leave_out() -> None:
    found = pieces(
        "code,width_mm,height_mm,count,turn,value,group\n"
        "A,620,420.5,4,0,12.34,\nB,1200,800,,,,panels\n",
        turn=True,
    )
    assert (found.problems, found.asks) == ((), ())
    assert found.rows == (
        ("", CutPiece("A", 6_200, 4_205, 4, turn=False, value=1_234)),
        ("", CutPiece("B", 12_000, 8_000, 1, group="panels")),
    )
    assert not pieces("code,width_mm,height_mm\nA,5,5\n", turn=False).rows[0][1].turn


def test_blanks_are_read_with_what_they_leave_out() -> None:
    found = blanks(
        "code,width_mm,height_mm,count,cost,trim\nsheet,3050,2030,,129.90,1\noffcut,800,600,1,,0\n"
        "other,800,600,0,0,\n"
    )
    assert [row for _, row in found.rows] == [
        Blank("sheet", 30_500, 20_300, None, 12_990, trimmed=True),
        Blank("offcut", 8_000, 6_000, 1, None, trimmed=False),
        Blank("other", 8_000, 6_000, 0, 0, trimmed=True),
    ]


def test_inches_are_declared_in_the_header_the_cell_or_the_question_and_else_asked_for() -> None:
    assert pieces("code,width_in,height_in\nA,10,20\n").rows[0][1].width_dmm == 2_540
    assert pieces('code,width,height\nA,10 in,20"\n').rows[0][1].height_dmm == 5_080
    assert pieces("code,width,height\nA,10,20\n", unit="in").rows[0][1].width_dmm == 2_540
    (ask,) = pieces("code,width,height\nA,10,20\n").asks
    assert "In which unit" in ask
    assert "--unit" in ask
    with pytest.raises(BadValueError, match="no unit of a size"):
        pieces("code,width,height\nA,10,20\n", unit="ft")


@pytest.mark.parametrize(
    ("row", "column", "said"),
    [
        ("A,0,20,1", "width_mm", "above zero"),
        ("A,-5,20,1", "width_mm", "above zero"),
        ("A,NaN,20,1", "width_mm", "not a length"),
        ("A,10.05,20,1", "width_mm", "Tenths of a millimetre"),
        ("A,,20,1", "width_mm", "missing"),
        ("A,10,20,0", "count", "whole number from 1"),
        ("A,10,20,1.5", "count", "whole number from 1"),
        ("A,10,20,-2", "count", "whole number from 1"),
    ],
)
def test_a_row_that_cannot_be_is_a_problem(row: str, column: str, said: str) -> None:
    found = pieces(f"code,width_mm,height_mm,count\n{row}\n")
    (problem,) = found.problems
    assert (problem.line, problem.column, found.rows) == (2, column, ())
    assert said in problem.what


def test_a_cost_or_a_count_below_zero_is_a_problem() -> None:
    found = blanks("code,width_mm,height_mm,count,cost\nA,10,20,-1,5\nB,10,20,1,-5\n")
    assert [(p.line, p.column) for p in found.problems] == [(2, "count"), (3, "cost")]


def test_a_list_without_sizes_or_rows_is_refused() -> None:
    with pytest.raises(ImportProblem, match="no header of a cut list"):
        pieces("code,count\nA,3\n")
    with pytest.raises(ImportProblem, match="no header of a cut list"):
        pieces("code,width_mm,count\nA,3,1\n")
    with pytest.raises(ImportProblem, match="no rows"):
        pieces("code,width_mm,height_mm\n")
