"""Seeded faults find what they change, wherever it stands; their fit is seen when seeded."""

from pathlib import Path

import pytest
from support.mutate import ROOT, Code, Fault, faults, misfits

LAID_OUT = """\
TOP = (1, 2)


class Head:
    @property
    def count(self) -> int:
        return sum(
            part
            for part in self.parts  # all of them
        )


def count(parts):
    return sum(part for part in parts)
"""


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    (tmp_path / "stockroom").mkdir()
    (tmp_path / "tests").mkdir()
    (tmp_path / "stockroom" / "heads.py").write_text(LAID_OUT)
    (tmp_path / "tests" / "test_heads.py").write_text("def test_counts() -> None: ...\n")
    return tmp_path


def fault(**other: str) -> Fault:
    known = {
        "id": "x",
        "old": "sum(part for part",
        "new": "len(part for part",
        "test": "test_counts",
    }
    return Fault(**{**known, **other})  # type: ignore[arg-type]


def test_every_fault_has_a_name_of_its_own_and_changes_something() -> None:
    known = faults()
    assert len({fault.id for fault in known}) == len(known) > 300
    assert all(fault.old.split() != fault.new.split() for fault in known)


def test_a_fault_is_found_however_the_code_is_laid_out(tree: Path) -> None:
    code = Code(tree)
    file = tree / "stockroom" / "heads.py"
    whole = code.spot(fault(within="Head.count")).put("len(part for part")
    assert whole == LAID_OUT
    changed = file.read_text()
    assert "return len(part for part in self.parts" in changed
    assert "return sum(part for part in parts)" in changed  # the other one of that name
    file.write_text(whole)
    code.spot(fault(within="count")).put("len(part for part")
    assert file.read_text().endswith("return len(part for part in parts)\n")


def test_a_fault_may_lie_in_a_constant(tree: Path) -> None:
    Code(tree).spot(fault(within="TOP", old="2", new="3")).put("3")
    assert (tree / "stockroom" / "heads.py").read_text().startswith("TOP = (1, 3)\n")


@pytest.mark.parametrize(
    "other",
    [
        {"within": "Head", "old": "all of none"},
        {"within": "nowhere"},
        {"within": "Head.count", "old": "part"},
        {"within": "count", "test": "test_gone"},
    ],
)
def test_what_fits_nowhere_or_twice_is_told_and_not_seeded(
    tree: Path, other: dict[str, str]
) -> None:
    assert len(misfits(Code(tree), [fault(**other)])) == 1


def test_the_product_is_where_faults_are_looked_for() -> None:
    code = Code(ROOT)
    assert "Desk.deciding" in code.named
    assert "test_the_product_is_where_faults_are_looked_for" in code.tests
