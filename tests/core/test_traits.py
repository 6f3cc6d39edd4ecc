"""Families and forms are asked for their traits: hardly any code names one of them."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from stockroom.core.records import PARTS, Unit
from stockroom.core.records.traits import FAMILIES, FORMS, made_of

ROOT = Path(__file__).parents[2]


def asked_by_name(source: str) -> Iterator[int]:
    """Yield the lines that compare what is called a family or form with one of their names."""
    words = {*FAMILIES, *FORMS}
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Compare | ast.Dict | ast.Subscript | ast.MatchValue):
            said = {n.value for n in ast.walk(node) if isinstance(n, ast.Constant)}
            names = {n.attr for n in ast.walk(node) if isinstance(n, ast.Attribute)}
            names |= {n.id for n in ast.walk(node) if isinstance(n, ast.Name)}
            if words & said and names & {"family", "form", "families", "forms"}:
                yield node.lineno


def test_a_comparison_with_a_name_is_found() -> None:
    found = (
        'unit.form == "roll"',
        'x = family not in ("paper", "film")',
        '{"roll": 1, "sheet": 2}[unit.form]',
        'MEASURES[form] if form in {"roll"} else 0',
    )
    assert all(list(asked_by_name(text)) for text in found)
    assert not list(asked_by_name("unit.shape.wound and material.family in FAMILIES"))


@pytest.mark.parametrize("room", ["stockroom", "tui"])
def test_no_code_asks_for_a_family_or_form_by_name(room: str) -> None:
    found = {
        str(path.relative_to(ROOT)): list(asked_by_name(path.read_text()))
        for path in sorted((ROOT / room).rglob("*.py"))
        if path.name != "traits.py" and "migrations" not in path.parts
    }
    assert {path: lines for path, lines in found.items() if lines} == {}


def test_every_part_can_be_made_of_something() -> None:
    assert all(made_of(part) for part in PARTS)
    assert {part: made_of(part)[0] for part in PARTS} == {
        "sheet": "sheet",
        "face film": "film",
        "paper": "paper",
        "back film": "film",
        "board": "board",
        "profile": "profile",
    }


@pytest.mark.parametrize(
    ("form", "measure", "amount", "sizes"),
    [
        ("roll", 6_000, 90_000, ("width_dmm", "length_dmm")),
        ("sheet", 6_000 * 8_000, 3, ("width_dmm", "length_dmm")),
        ("length", 1, 90_000, ("length_dmm",)),
        ("counted", 1, 3, ()),
    ],
)
def test_a_form_tells_what_is_weighed(
    form: str, measure: int, amount: int, sizes: tuple[str, ...]
) -> None:
    unit = Unit(
        code="1", lot="2", form=form, place="3", width_dmm=6_000, length_dmm=8_000,
        remaining_dmm=90_000, count=3,
    )  # fmt: skip
    assert (unit.measure, unit.amount, unit.shape.sizes) == (measure, amount, sizes)
