"""One chain and one fold carry all the acts of one job's life, written by hand."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stockroom.core.books.chain import GENESIS, Act, act_hash
from stockroom.core.books.fold import Books, unbalanced_lots
from stockroom.core.records import Job, PutBy, Stay, Unit
from stockroom.errors import UndoRefusedError

LIFE = json.loads((Path(__file__).parent / "one_jobs_life.json").read_text())


def acts() -> list[Act]:
    made = []
    for seq, line in enumerate(LIFE, 1):
        at = int(datetime.fromisoformat(line["at"]).replace(tzinfo=UTC).timestamp())
        made.append(
            Act(
                seq=seq,
                key=f"life-{seq}",
                kind=line["kind"],
                occurred_s=at,
                recorded_s=at,
                actor="ines",
                undoes=line.get("undoes"),
                payload=line["payload"],
            )
        )
    return made


@pytest.fixture
def books() -> Books:
    held = Books()
    for act in acts():
        held.do(act)
        movements = [m for seq in held.acts for m in held.movements(seq)]
        assert not unbalanced_lots(held.records["unit"].values(), movements), act
    return held


def test_the_roll_keeps_what_was_not_used(books: Books) -> None:
    roll = books.get(Unit, "10063")
    assert roll.remaining_dmm == 500_000 - 29_000
    assert roll.cost_left_cents == 61_000 - 61_000 * 29_000 // 500_000
    assert (roll.place, roll.condition, roll.state) == ("10039", "open", "in stock")


def test_stays_lie_end_to_end(books: Books) -> None:
    first, second = sorted(books.stays("10063"), key=lambda stay: stay.from_s)
    assert first.to_s == second.from_s
    assert second.to_s is None


def test_what_was_put_by_shrinks_by_what_was_used(books: Books) -> None:
    put = books.get(PutBy, "10101")
    assert put.qty == (58_000 - 29_000) * 12_700
    assert books.get(Job, "10098").to_print == 0


def test_a_cut_conserves_area_and_cents(books: Books) -> None:
    pack, offcut = books.get(Unit, "10080"), books.get(Unit, "10110")
    assert pack.count == 3
    assert offcut.qty == 30_500 * 7_700
    cut = books.movements(12)
    assert pack.cost_left_cents + sum(m.cost_cents for m in cut if m.kind != "split to") == 80_000


def test_an_undone_loss_is_as_if_it_never_was(books: Books) -> None:
    before = Books()
    for act in acts()[:12]:
        before.do(act)
    assert before.records == books.records


def test_undo_names_the_later_act(books: Books) -> None:
    undo = Act(
        seq=15, key="u", kind="undo", occurred_s=0, recorded_s=0, actor="ines",
        undoes=9, payload={"act": 9},
    )  # fmt: skip
    with pytest.raises(UndoRefusedError, match=r"[Aa]ct 11 \(use\)"):
        books.do(undo)


def test_undoing_an_undo_does_it_again(books: Books) -> None:
    again = Act(
        seq=15, key="u", kind="undo", occurred_s=0, recorded_s=0, actor="ines",
        undoes=14, payload={"act": 14},
    )  # fmt: skip
    books.do(again)
    assert books.get(Unit, "10063").remaining_dmm == 500_000 - 29_000 - 1_500


def test_the_chain_binds_every_field() -> None:
    life = acts()
    first = act_hash(GENESIS, life[0])
    second = act_hash(first, life[1])
    assert second != act_hash(GENESIS, life[1])
    changed = Act(**{name: getattr(life[1], name) for name in Act.__slots__} | {"actor": "x"})
    assert act_hash(first, changed) != second


def test_a_stay_that_was_entered_late_is_laid_between(books: Books) -> None:
    stays = sorted(books.stays("10063"), key=lambda stay: stay.from_s)
    middle = (stays[0].from_s + stays[1].from_s) // 2
    late = Act(
        seq=15, key="m", kind="move", occurred_s=middle, recorded_s=2_000_000_000, actor="ines",
        payload={"units": ["10063"], "place": "10039"},
    )  # fmt: skip
    books.do(late)
    laid: list[Stay] = sorted(books.stays("10063"), key=lambda stay: stay.from_s)
    assert [s.to_s for s in laid] == [middle, stays[1].from_s, None]
    assert books.get(Unit, "10063").place == "10039"
