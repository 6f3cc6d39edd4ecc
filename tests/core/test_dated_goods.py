"""What goes by its date ends on the day that its label, the shop or its opening says."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.freshness.dated import Dated, dated, opened_clock
from stockroom.core.records import Lot, Material
from stockroom.errors import BadValueError

CAME = date(2026, 1, 10)
OPENED = date(2026, 2, 1)
DAYS = st.dates(date(2020, 1, 1), date(2030, 1, 1))
LIVES = st.none() | st.integers(0, 2_000)


def tape(label_life_days: int | None = None, shop_life_days: int | None = None) -> Material:
    return Material(
        code="1",
        name="Edge tape",
        family="goods",
        form="counted",
        label_life_days=label_life_days,
        shop_life_days=shop_life_days,
    )


def batch(label_date: date | None = None, made_on: date | None = None) -> Lot:
    return Lot(code="2", material="1", label_date=label_date, made_on=made_on)


def test_the_label_goes_before_the_making_and_the_making_before_the_shops_rule() -> None:
    label, made = date(2026, 12, 31), date(2025, 6, 1)
    thing = tape(730, 365)
    assert dated(thing, batch(label, made), CAME) == Dated(label, "label date", False)
    assert dated(thing, batch(None, made), CAME) == Dated(date(2027, 6, 1), "made on", False)
    assert dated(thing, batch(), CAME) == Dated(date(2027, 1, 10), "shop rule", True)
    assert dated(tape(None, 365), batch(None, made), CAME).why == "shop rule"
    assert dated(tape(730), batch(), CAME) == Dated(None, "none", False)


def test_a_shops_rule_of_no_days_is_a_rule() -> None:
    assert dated(tape(None, 0), batch(), CAME) == Dated(CAME, "shop rule", True)


def test_an_opened_thing_ends_by_the_earlier_of_both() -> None:
    thing, lot = tape(), batch(date(2026, 4, 1))
    assert dated(thing, lot, CAME, OPENED, 30) == Dated(date(2026, 3, 3), "opened", False)
    assert dated(thing, lot, CAME, OPENED, 90).why == "label date"
    assert dated(thing, lot, CAME, OPENED, 59).why == "label date"
    assert dated(thing, lot, CAME, OPENED, 58).why == "opened"


def test_an_opening_counts_only_with_a_life_and_a_life_only_with_an_opening() -> None:
    thing, lot = tape(), batch(date(2026, 4, 1))
    assert dated(thing, lot, CAME, OPENED).why == "label date"
    assert dated(thing, lot, CAME, None, 30).why == "label date"
    assert dated(thing, batch(), CAME, OPENED, 30) == Dated(date(2026, 3, 3), "opened", False)


def test_an_opening_that_overrides_the_shops_rule_is_no_estimate() -> None:
    assert dated(tape(None, 365), batch(), CAME, OPENED, 30).estimated is False
    assert dated(tape(None, 365), batch(), CAME, OPENED, 900).estimated is True


def test_a_thing_opened_is_over_the_day_after_its_last() -> None:
    assert opened_clock(OPENED, 30, date(2026, 3, 3)).over is False
    late = opened_clock(OPENED, 30, date(2026, 3, 4))
    assert (late.days_open, late.limit_days, late.over) == (31, 30, True)
    assert opened_clock(OPENED, None, date(2046, 1, 1)).over is False
    assert opened_clock(OPENED, 0, date(2026, 1, 31)).days_open == 0


@given(DAYS, LIVES, LIVES, DAYS, st.integers(0, 2_000), DAYS)
def test_the_clock_and_the_date_agree(
    label: date,
    label_life: int | None,
    shop_life: int | None,
    opened_on: date,
    opened_life: int,
    day: date,
) -> None:
    thing = tape(label_life, shop_life)
    for lot in (batch(label), batch(None, label), batch()):
        sealed = dated(thing, lot, CAME)
        found = dated(thing, lot, CAME, opened_on, opened_life)
        clock = opened_clock(opened_on, opened_life, day)
        assert found.ends is not None
        past_sealed = sealed.ends is not None and day > sealed.ends
        assert (day > found.ends) == (past_sealed or clock.over)


def test_dates_at_the_end_of_the_calendar_stay_in_it() -> None:
    assert dated(tape(730), batch(None, date(9999, 6, 1)), CAME).ends == date.max
    assert dated(tape(), batch(), CAME, date.max, 30).ends == date.max


def test_an_opened_life_below_zero_is_refused() -> None:
    with pytest.raises(BadValueError):
        dated(tape(), batch(), CAME, OPENED, -1)
    with pytest.raises(BadValueError):
        opened_clock(OPENED, -1, OPENED)
