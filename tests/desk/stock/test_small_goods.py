"""Counted goods with dates: they come, are opened, used, counted, told below, and go off."""

from datetime import date, timedelta

from support.studio import Clock, Studio, code_of

from stockroom.core.model import Unit
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk import keeping
from stockroom.desk.orders import ordering
from stockroom.desk.day import today
from stockroom.desk.figures import notices_of, unit_figures
from stockroom.desk.stock.views import shelf
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.reckoning import reckoned

MONDAY = date(2026, 3, 2)


def silicone(studio: Studio) -> str:
    defining.define_material(
        studio.desk, "Neutral silicone", "goods", "counted", goods_kind="silicone",
        opened_life_days=180, tell_below=3, supplier="Hollow Lane Supplies",
    )  # fmt: skip
    came = receiving.receive(
        studio.desk,
        Delivery(
            material="Neutral silicone", place="Mounting room", count=5, number="N-77",
            label_date=date(2026, 12, 1), price_cents=900,
        ),
    )  # fmt: skip
    return code_of(came, "unit")


def figures(studio: Studio, code: str, on: date = MONDAY) -> dict[str, str]:
    return {figure.name: figure.value for figure in unit_figures(studio.desk, code, on)[1]}


def test_a_good_lives_from_its_box_to_its_last_piece(any_studio: Studio, now: Clock) -> None:
    s, desk = any_studio, any_studio.desk
    code = silicone(s)
    assert figures(s, code) == {
        "Kind": "silicone",
        "Count": "5 left",
        "Last day": "good to Tue 1 Dec 2026, in 274 days",
        "Opened": "not opened yet; 180 days once it is",
    }
    handling.open_unit(desk, code)
    handling.use(desk, code, 2)
    assert figures(s, code)["Last day"] == (
        "good to Sat 29 Aug 2026, in 180 days, for it has been opened"
    )
    assert figures(s, code)["Opened"] == "0 days ago of 180 days"
    counting.count(desk, code, 2, reason="one was dried out")
    with desk.reading() as view:
        unit = view.get(Unit, code)
    assert unit is not None
    assert (unit.count, unit.cost_left_cents) == (2, 1_800)
    (line,) = today(desk).reorder
    assert (line.material.name, line.have, line.quantity) == ("Neutral silicone", 2, 1)
    handling.use(desk, code, 3)
    with desk.reading() as view:
        assert view.get(Unit, code).state == "used"  # type: ignore[union-attr]
    assert figures(s, code) == {}
    assert keeping.check(desk).faults == ()


def test_an_opened_good_is_over_while_its_label_still_runs(studio: Studio) -> None:
    code = silicone(studio)
    handling.open_unit(studio.desk, code)
    late = MONDAY + timedelta(days=181)
    with reckoned(studio.desk, late) as reckoning:
        (notice,) = notices_of(reckoning, late)
        assert ordering.counted(reckoning, reckoning.material_of(reckoning.units[code])) == (
            0,
            0,
            5,
        )
    assert (notice.unit, notice.tone) == (code, "bad")
    assert notice.why == "Its label gives it 180 days once opened; opened on Mon 2 Mar 2026."
    assert figures(studio, code, late)["Opened"] == "181 days ago of 180 days, over"
    assert figures(studio, code, late)["Last day"] == (
        "was Sat 29 Aug 2026, yesterday, for it has been opened"
    )
    (off,) = [item for item in today(studio.desk, late).going_off if item.unit.code == code]
    assert off.off
    with reckoned(studio.desk, late - timedelta(days=1)) as reckoning:
        assert notices_of(reckoning, late - timedelta(days=1)) == ()


def test_a_good_without_a_date_is_told_none_and_never_goes_off(studio: Studio) -> None:
    defining.define_material(
        studio.desk, "Corner keys", "goods", "counted", goods_kind="corner keys"
    )
    came = receiving.receive(
        studio.desk, Delivery(material="Corner keys", place="Mounting room", count=200)
    )
    code = code_of(came, "unit")
    assert figures(studio, code)["Last day"] == "no date known, none is guessed"
    assert "Opened" not in figures(studio, code)
    assert next(line.ends for line in shelf(studio.desk) if line.unit.code == code) is None
    far = today(studio.desk, MONDAY + timedelta(days=3_000))
    assert code not in {item.unit.code for item in far.going_off}
