"""The usable-by day: anchored at the label, moved by warmth and cold, with an honest range."""

from datetime import UTC, date, datetime, timedelta

import pytest
from support.history import StayClimate, usable_by

from stockroom.core.climate.ageing import rate
from stockroom.core.climate.bodies import LIKELY, PlaceAir
from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.readings import EMPTY, Readings
from stockroom.core.climate.visits import Rule, Visit, over_time
from stockroom.core.freshness.label import label_life
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.records import Lot, Material

DAY = 86_400
CAME = date(2026, 1, 1)
CAME_S = int(datetime(2026, 1, 1, tzinfo=UTC).timestamp())


def paper(**fields: object) -> Material:
    usual = {"code": "1", "name": "Satin", "family": "paper", "form": "roll",
             "label_temp_centi_c": 1000}  # fmt: skip
    return Material(**{**usual, **fields})  # type: ignore[arg-type]


def reckoned(
    days: int,
    stood_c: float,
    *,
    material: Material | None = None,
    lot: Lot | None = None,
    ahead_c: float | None = None,
    logged: bool = True,
    **more: object,
) -> UsableBy:
    material = material or paper()
    lot = lot or Lot(code="2", material="1", label_date=CAME + timedelta(days=400))
    now = CAME_S + days * DAY
    log = Readings.of([CAME_S, *range(CAME_S + 900, now + 1, 900)],
                      [stood_c] * (1 + (now - CAME_S) // 900)) if logged else EMPTY  # fmt: skip
    stays = [StayClimate(CAME_S, now, log, PlaceClimate(stood_c))]
    label = label_life(material, lot, CAME)
    ahead = stood_c if ahead_c is None else ahead_c
    return usable_by(stays, label, now, ahead, **more)  # type: ignore[arg-type]


def test_stored_by_the_label_it_lasts_to_the_label_date() -> None:
    found = reckoned(100, 10.0)
    assert found.likely == CAME + timedelta(days=400)
    assert found.used_days == pytest.approx(100)
    assert not found.unproven
    (sensor,) = [s for s in found.spreads if s.cause == "sensor"]
    assert sensor.earlier_days > 0
    (energy,) = [s for s in found.spreads if s.cause == "activation energy"]
    assert energy.earlier_days == energy.later_days == 0


def test_warmth_brings_it_nearer_and_cold_past_the_date_is_unproven() -> None:
    warm, cold = reckoned(60, 21.0), reckoned(60, 4.0)
    assert warm.likely == CAME + timedelta(days=int(400 / rate(21.0, 10.0, 85_000)))
    assert cold.likely > CAME + timedelta(days=400)
    assert cold.unproven
    assert not warm.unproven
    for found in (warm, cold):
        assert found.earliest <= found.likely <= found.latest
        near, far = found.nearer_part()
        assert found.earliest <= near <= found.likely <= far <= found.latest


def test_a_used_up_life_gives_the_day_it_ran_out() -> None:
    found = reckoned(200, 21.0)
    lasted = 400 / rate(21.0, 10.0, 85_000)
    assert found.likely == CAME + timedelta(days=int(lasted))
    assert found.left_days < 0


def test_cold_never_stops_the_clock() -> None:
    found = reckoned(10, -18.0)
    assert found.used_days == pytest.approx(10 * 0.05)
    assert found.runs_out is False or found.likely < CAME + timedelta(days=8200)


def test_made_on_and_the_labels_life_stand_in_for_a_date() -> None:
    lot = Lot(code="2", material="1", made_on=date(2025, 7, 1))
    found = reckoned(30, 10.0, material=paper(label_life_days=730), lot=lot)
    assert found.label.anchor == "made on"
    assert found.label.printed == date(2025, 7, 1) + timedelta(days=730)
    assert found.likely == found.label.printed


def test_without_any_date_the_shops_rule_is_marked_estimated() -> None:
    lot = Lot(code="2", material="1")
    found = reckoned(30, 10.0, material=paper(shop_life_days=200), lot=lot)
    assert found.label.estimated
    assert found.likely == CAME + timedelta(days=200)
    assert not found.unproven


def test_an_unknown_label_temperature_is_read_both_ways() -> None:
    material = paper(label_temp_centi_c=None, storage_limit_centi_c=1000)
    found = reckoned(60, 4.0, material=material)
    assert [reading.why for reading, _ in found.by_reading] == ["storage limit", "room"]
    (first, limit_day), (second, room_day) = found.by_reading
    assert (first.temp_c, second.temp_c) == (10.0, 21.0)
    assert limit_day < room_day
    assert found.likely == limit_day
    assert found.latest > limit_day


def test_a_warm_arrival_is_a_stated_range() -> None:
    cool, warm = reckoned(30, 10.0), reckoned(30, 10.0, arrived_warm=True)
    assert warm.likely < cool.likely
    (spread,) = [s for s in warm.spreads if s.cause == "warm arrival"]
    assert spread.earlier_days > spread.later_days > 0


def test_the_users_own_energy_leaves_no_doubt_about_it() -> None:
    found = reckoned(60, 21.0, energy_j_mol=100_000)
    assert "activation energy" not in {s.cause for s in found.spreads}
    assert found.used_days == pytest.approx(60 * rate(21.0, 10.0, 100_000), rel=1e-6)


def test_what_was_not_logged_widens_the_range_and_is_told() -> None:
    logged, filled = reckoned(60, 4.0), reckoned(60, 4.0, logged=False)
    assert logged.filled_share == 0
    assert filled.filled_share == 1
    assert filled.used_days == pytest.approx(logged.used_days)
    assert "gaps" not in {s.cause for s in logged.spreads}
    (gaps,) = [s for s in filled.spreads if s.cause == "gaps"]
    assert gaps.earlier_days > 1
    assert filled.earliest <= logged.earliest


def test_days_are_told_in_the_workshops_zone() -> None:
    utc, far = reckoned(100, 10.0), reckoned(100, 10.0, zone="Pacific/Auckland")
    assert far.likely - utc.likely in (timedelta(0), timedelta(days=1))


def test_the_picture_ends_at_the_used_life() -> None:
    air = PlaceAir(EMPTY, PlaceClimate(21.0), CAME_S, CAME_S + 60 * DAY)
    visit = Visit("room", 0.0, CAME_S, CAME_S + 60 * DAY)
    at, used = over_time([visit], {"room": air}, (Rule(LIKELY, 10.0, 85_000),))
    assert at[0] == CAME_S
    assert at[-1] == CAME_S + 60 * DAY
    assert used[-1] == pytest.approx(60 * rate(21.0, 10.0, 85_000))
