"""What is picked by a table: paths, names, what is empty, lists; a wrong path never passes."""

from types import SimpleNamespace as Held

import pytest

from stockroom.picking import picked

ROLL = Held(code="10143", width_dmm=12_700, lot=Held(number="S-4418"), held="", order=None)
JOB = Held(name="Salt flats", rolls=(ROLL, ROLL), at=(("print", 2), ("mount", 0)))


def test_a_word_is_told_under_its_last_field_or_the_name_before_it() -> None:
    assert picked(ROLL, "code batch=lot.number width_mm=width_dmm/10 lot.number") == {
        "code": "10143",
        "batch": "S-4418",
        "width_mm": 1270.0,
        "number": "S-4418",
    }


def test_what_is_empty_is_null_where_a_question_mark_says_so() -> None:
    assert picked(ROLL, "held") == {"held": ""}
    assert picked(ROLL, "held? order=order?.code") == {"held": None, "order": None}


def test_each_of_many_has_a_path_or_a_shape_of_its_own() -> None:
    assert picked(JOB, "rolls[].lot.number at[](stage=0 pieces=1)") == {
        "number": ["S-4418", "S-4418"],
        "at": [{"stage": "print", "pieces": 2}, {"stage": "mount", "pieces": 0}],
    }


def test_brackets_tell_an_item_within_an_item() -> None:
    shape = "of=(name first=rolls(code=0.code lot=1.lot(number)))"
    first = {"code": "10143", "lot": {"number": "S-4418"}}
    assert picked(JOB, shape) == {"of": {"name": "Salt flats", "first": first}}


@pytest.mark.parametrize(
    "shape", ["cod", "lot.numbers", "order.code", "lot(code)", "cod?", "lot-number"]
)
def test_a_path_to_what_is_not_there_is_an_error(shape: str) -> None:
    with pytest.raises(AttributeError):
        picked(ROLL, shape)
