"""Whoever books something reads in a sentence what was done, and nothing is booked for nothing."""

from collections.abc import Callable
from datetime import date

import pytest
from support.studio import DAY_S, Clock, Studio, code_of

from stockroom.core.model import Unit
from stockroom.desk.condition import checking, diameter
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering  # fmt: skip
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Done
from stockroom.errors import RefusedError


def put_by(studio: Studio) -> str:
    booking.book(studio.desk, "Salt flats", 25_000, 12_500, date(2026, 3, 9), studio.paper)
    done = booking.put_by(studio.desk, studio.roll, "Salt flats", 30_000)
    return code_of(done, "put_by")


def ordered(studio: Studio) -> str:
    return code_of(ordering.order(studio.desk, studio.paper, 2), "order")


SAYS: dict[str, tuple[Callable[[Studio], Done], str]] = {
    "open": (lambda s: handling.open_unit(s.desk, s.roll), "{roll} is open."),
    "rebag": (
        lambda s: handling.rebag(s.desk, s.roll),
        "{roll} is back in its bag, with the room's air in it.",
    ),
    "winding": (
        lambda s: diameter.note_winding(s.desk, s.paper, length_dmm=500_000, outer_dmm=1_526),
        "Satin colour paper 127: 50.0 m are 152.6 mm across on a core of 89 mm; "
        "that is 0.241 mm a wrap.",
    ),
    "place changed": (
        lambda s: defining.change_place(s.desk, s.store, set_point_centi_c=350),
        "{store}: Cold store, cold store, set to 3.5 °C, not below 1 °C, not above 8 °C, changed.",
    ),
    "count that differs": (
        lambda s: counting.count(s.desk, s.roll, 94_000, plus_minus_dmm=3_000),
        "{roll}: 9.4 m ± 0.3 m really there.",
    ),
    "count as the books held": (
        lambda s: counting.count(s.desk, s.pack, 6),
        "{pack}: 6 sheets really there, as the books held.",
    ),
    "count of nothing": (
        lambda s: counting.count(s.desk, s.pack, 0),
        "{pack}: nothing really there.",
    ),
    "batch": (
        lambda s: counting.amend_batch(s.desk, "E-7731", made_on=date(2026, 1, 7)),
        "Batch E-7731, made on Wed 7 Jan 2026, label date Wed 1 Dec 2027.",
    ),
    "let go": (
        lambda s: booking.let_go(s.desk, put_by(s)),
        "Put by 10127, of {roll}, is free again.",
    ),
    "order cancelled": (
        lambda s: ordering.cancel_order(s.desk, ordered(s)),
        "Order 10119 is cancelled.",
    ),
}


@pytest.mark.parametrize("kind", SAYS)
def test_an_act_says_what_it_did(studio: Studio, kind: str) -> None:
    do, sentence = SAYS[kind]
    done = do(studio)
    expected = sentence.format(roll=studio.roll, pack=studio.pack, store=studio.store)
    assert expected in done.said
    undone = counting.undo(studio.desk, done.seq)
    assert expected not in undone.said


def test_what_is_open_is_not_opened_again_but_an_earlier_opening_is_told_late(
    studio: Studio, now: Clock
) -> None:
    desk = studio.desk
    now.on(5)
    handling.open_unit(desk, studio.roll)
    now.on(1)
    with pytest.raises(RefusedError, match="is open already, since Sat 7 Mar 2026 09:00"):
        handling.open_unit(desk, studio.roll)
    earlier_s = now.now_s - 3 * DAY_S
    handling.open_unit(desk, studio.roll, happened_s=earlier_s)
    with desk.reading() as view:
        unit = view.get(Unit, studio.roll)
    assert unit is not None
    assert unit.opened_s == earlier_s
    handling.rebag(desk, studio.roll)
    handling.open_unit(desk, studio.roll)


def test_strips_are_run_of_paper_only(studio: Studio) -> None:
    with pytest.raises(RefusedError, match="no test strip is run of it"):
        checking.judge_strip(studio.desk, studio.pack, "yellow")
    checking.judge_strip(studio.desk, studio.roll, "clean")


def test_opening_goods_says_that_all_of_them_count_as_opened(studio: Studio) -> None:
    defining.define_material(
        studio.desk, "Neutral silicone", "goods", "counted", label_life_days=365,
        opened_life_days=120, goods_kind="silicone",
    )  # fmt: skip
    done = receiving.receive(
        studio.desk, Delivery(material="Neutral silicone", place=studio.room, count=12)
    )
    pack = code_of(done, "unit")
    assert f"All 12 of {pack} count as opened" in " ".join(
        handling.open_unit(studio.desk, pack).notes
    )
    one = receiving.receive(
        studio.desk, Delivery(material="Neutral silicone", place=studio.room, count=1)
    )
    assert handling.open_unit(studio.desk, code_of(one, "unit")).notes == ()
