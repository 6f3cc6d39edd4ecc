"""Each seeded fault still fits the code, and the test meant to catch it is there."""

import re

import pytest
from support.mutate import ROOT, Fault, faults

FAULTS = faults()


def test_there_are_faults_for_every_part_of_the_books() -> None:
    ids = [fault.id for fault in FAULTS]
    assert len(ids) == len(set(ids))
    for part in ("core/books/", "store/", "desk/session.py"):
        assert sum(f"stockroom/{part}" in fault.file for fault in FAULTS) >= 2


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.id)
def test_a_fault_can_be_seeded_and_has_its_test(fault: Fault) -> None:
    assert (ROOT / fault.file).read_text().count(fault.old) == 1
    assert fault.new != fault.old
    file, name = fault.test.split("[")[0].split("::")
    assert re.search(rf"^(async )?def {name}\(", (ROOT / file).read_text(), re.MULTILINE)
