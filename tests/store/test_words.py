"""An act that holds a word which is none of ours, or a figure below its least, changes nothing."""

import copy
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from support.deeds import DEEDS, Doer, Seeded
from support.studio import Clock, furnish

from stockroom.core.books.chain import Act
from stockroom.core.books.fold import Books, fold
from stockroom.core.records import RECORDS, Job, Lot, Unit
from stockroom.core.records.base import Record, about
from stockroom.desk.session import Desk
from stockroom.errors import BadValueError, StockroomError
from stockroom.store.check import chain_acts

WORDED = {name for record in RECORDS for name, known in about(record).items() if known.words}
TOLD = {*WORDED, "job_state"}
"""How payloads name what becomes one of a field's words."""


def with_another_word(value: Any) -> Iterator[Any]:
    """Give a payload over and over, each time with another of its words made nonsense."""
    items = value.items() if isinstance(value, dict) else enumerate(value)
    for at, item in items:
        if isinstance(item, dict | list):
            changed = with_another_word(item)
        else:
            changed = iter(["nonsense"] if at in TOLD and isinstance(item, str) else [])
        for other in changed:
            whole = copy.copy(value)
            whole[at] = other
            yield whole


def test_no_act_is_folded_with_a_word_that_is_none_of_ours(desk: Desk, now: Clock) -> None:
    """Any act of a long history, whatever word of it is changed."""
    furnish(desk)
    doer = Doer(desk, now, Seeded(3))
    for kind in sorted(DEEDS) * 2:
        doer.tries(kind)
    books, tried = Books(), set()
    with desk.reading() as view:
        acts: list[Act] = list(chain_acts(view.connection))
    for act in acts:
        for payload in with_another_word(act.payload):
            with pytest.raises(StockroomError):
                fold(replace(act, payload=payload), books)
            tried.add(act.kind)
        books.do(act)
    assert tried >= {
        "material", "place", "receive", "take in", "strip", "patch", "surface", "build",
        "change job", "close job", "try",
    }  # fmt: skip


LOT = Lot(code="1", material="2")
ROLL = Unit(code="1", lot="1", form="roll", place="3")
JOB = Job(
    code="1",
    name="Ebb",
    material="2",
    width_dmm=1,
    height_dmm=1,
    count=1,
    print_on=date(2026, 3, 2),
)


@pytest.mark.parametrize(
    ("record", "field", "value", "told"),
    [
        (LOT, "owner", "nobody", "'nobody' cannot be the owner of a batch. It is one of: mine, "),
        (LOT, "owner", None, "None cannot be the owner of a batch"),
        (JOB, "certainty", "so", "'so' cannot be the certainty of a job"),
        (JOB, "count", 0, "0 cannot be the count of a job. The least it can be is 1."),
        (JOB, "count", None, "None cannot be the count of a job"),
        (ROLL, "remaining_dmm", -1, "cannot be the remaining dmm of a unit"),
    ],
)
def test_what_does_not_fit_is_told(record: Record, field: str, value: object, told: str) -> None:
    record.see_that_it_fits()
    with pytest.raises(BadValueError, match=told):
        replace(record, **{field: value}).see_that_it_fits()  # type: ignore[type-var]
