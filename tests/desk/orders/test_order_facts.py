"""Orders confirmed, come in parts, short or damaged: stock, expectations and deadlines agree."""

from datetime import date, timedelta

import pytest
from support.studio import Studio, code_of

from stockroom.core.model import Order, Unit
from stockroom.desk.orders import claims, ordering
from stockroom.desk.stock import counting, receiving
from stockroom.desk import keeping
from stockroom.desk.day import today
from stockroom.desk.orders.ordering import orders_coming
from stockroom.desk.reckoning import reckoned
from stockroom.errors import BadValueError, RefusedError

MONDAY = date(2026, 3, 2)


def order(studio: Studio, code: str) -> Order:
    with studio.desk.reading() as view:
        found = view.get(Order, code)
    assert found is not None
    return found


def placed(studio: Studio, count: int = 5) -> str:
    return code_of(ordering.order(studio.desk, studio.sheet, count), "order")


def coming(studio: Studio) -> int:
    with reckoned(studio.desk) as reckoning:
        return sum(item.to_come for item in orders_coming(reckoning))


def test_an_order_that_comes_in_parts_stays_open_for_its_rest(any_studio: Studio) -> None:
    s = any_studio
    code = placed(s)
    done = receiving.receive_order(s.desk, code, s.room, came=2, rest_to_come=True)
    assert "2 of the 5 ordered came so far; 3 are still to come." in done.said
    assert (order(s, code).state, order(s, code).came, coming(s)) == ("sent", 2, 3)
    rest = receiving.receive_order(s.desk, code, s.room)
    assert (order(s, code).state, order(s, code).came, coming(s)) == ("arrived", 5, 0)
    units = [t.after for t in rest.changes.touches if isinstance(t.after, Unit)]
    assert [unit.count for unit in units] == [3]
    counting.undo(s.desk, rest.seq)
    assert (order(s, code).state, coming(s)) == ("sent", 3)
    assert keeping.check(s.desk).faults == ()


def test_an_order_that_comes_short_is_closed_and_that_is_said(studio: Studio) -> None:
    code = placed(studio)
    done = receiving.receive_order(studio.desk, code, studio.room, came=4)
    assert "4 of the 5 ordered; the order is closed as arrived." in done.said
    assert (order(studio, code).state, coming(studio)) == ("arrived", 0)


def test_what_is_still_to_come_is_not_ordered_again(studio: Studio) -> None:
    """Six sheets are there; the number is raised to ten, and five are ordered."""
    ordering.tell_below(studio.desk, studio.sheet, 12)
    code = placed(studio)
    receiving.receive_order(studio.desk, code, studio.room, came=2, rest_to_come=True)
    with reckoned(studio.desk) as reckoning:
        (line,) = ordering.order_list(reckoning, MONDAY)
    assert (line.have, line.coming, line.quantity) == (8, 3, 1)


def test_a_confirmed_order_has_its_new_day(any_studio: Studio) -> None:
    code = placed(any_studio)
    day = MONDAY + timedelta(days=20)
    claims.confirm_order(any_studio.desk, code, expected_on=day)
    found = order(any_studio, code)
    assert (found.confirmed_on, found.expected_on) == (MONDAY, day)
    with pytest.raises(BadValueError, match="past"):
        claims.confirm_order(any_studio.desk, code, expected_on=MONDAY - timedelta(days=1))
    assert keeping.check(any_studio.desk).faults == ()


def test_damage_is_told_by_a_day_until_it_is(studio: Studio) -> None:
    code = placed(studio)
    with pytest.raises(RefusedError, match="0 have come"):
        claims.claim_damage(studio.desk, code, 2)
    receiving.receive_order(studio.desk, code, studio.room)
    with pytest.raises(RefusedError, match="5 have come"):
        claims.claim_damage(studio.desk, code, 6)
    claims.claim_damage(studio.desk, code, 2)
    assert order(studio, code).notice_by == MONDAY + timedelta(days=7)
    told = [notice.what for notice in today(studio.desk).notices]
    assert any("2 of 5 Cast acrylic 3 mm came damaged" in what for what in told)
    claims.notice_sent(studio.desk, code)
    assert not any("came damaged" in notice.what for notice in today(studio.desk).notices)
    claims.credit(studio.desk, code, 40_000)
    assert order(studio, code).credit_cents == 40_000


def test_a_damage_that_was_told_too_late_says_so(studio: Studio) -> None:
    code = placed(studio)
    receiving.receive_order(studio.desk, code, studio.room)
    claims.claim_damage(studio.desk, code, 1, notice_by=MONDAY)
    studio.desk.now_s.on(days=2)  # type: ignore[attr-defined]
    (notice,) = [n for n in today(studio.desk).notices if "damaged" in n.what]
    assert "at once; the day to be told was Mon 2 Mar 2026" in notice.what
    assert notice.tone == "bad"


def test_a_cancelled_order_takes_no_facts(studio: Studio) -> None:
    code = placed(studio)
    ordering.cancel_order(studio.desk, code)
    for act in (
        lambda: claims.confirm_order(studio.desk, code),
        lambda: claims.credit(studio.desk, code, 1),
        lambda: claims.notice_sent(studio.desk, code),
    ):
        with pytest.raises(RefusedError, match="cancelled already"):
            act()
