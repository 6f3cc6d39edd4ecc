"""Dew and frost points agree with published values and with a general psychrometric library."""

import psychrolib
import pytest

from stockroom.core.climate.moisture import condenses_in_bag, dew_point, dew_point_c, rh_at

psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.parametrize(
    ("air_c", "rh_pct", "dew_c", "tolerance_k"),
    [
        (20, 50, 9.27, 0.02),  # PsychroLib 2.5.0 and CoolProp agree
        (20, 60, 12.01, 0.02),  # the same, and 12 in a published table
        (25, 60, 16.70, 0.02),  # the same
        (10, 70, 4.78, 0.03),  # the same, and a published table in steps of 0.01 °C
        (10, 80, 6.71, 0.03),
        (10, 90, 8.44, 0.03),
        (13, 60, 5.42, 0.03),
        (13, 80, 9.62, 0.03),
        (30, 55, 20.0, 0.1),  # example in a published glossary (secondary)
        (30, 55, 19.98, 0.02),  # PsychroLib
        (21, 50, 10.19, 0.02),  # PsychroLib
    ],
)
def test_dew_points_as_published(
    air_c: float, rh_pct: float, dew_c: float, tolerance_k: float
) -> None:
    dew = dew_point(air_c, rh_pct)
    assert dew.kind == "dew point"
    assert dew.temp_c == pytest.approx(dew_c, abs=tolerance_k)


def test_dew_and_frost_points_over_a_grid() -> None:
    # PsychroLib 2.5.0, GetTDewPointFromRelHum: Hyland and Wexler as in the ASHRAE Handbook of
    # Fundamentals 2017, chapter 1, equations 5 and 6; over ice below 0 °C. Ours is Sonntag's.
    kinds = {"dew point": 0, "frost point": 0}
    for air_c in range(1, 51):
        for rh_pct in range(5, 101, 5):
            dew = dew_point(air_c, rh_pct)
            expected_c = psychrolib.GetTDewPointFromRelHum(float(air_c), rh_pct / 100)
            assert dew.temp_c == pytest.approx(expected_c, abs=0.01)
            kinds[dew.kind] += 1
    assert min(kinds.values()) > 200


@pytest.mark.parametrize(
    ("air_c", "over_water_pa"), [(-5.0, 421.5), (-10.0, 286.3), (-20.0, 125.4)]
)
def test_frost_points_in_a_freezer(air_c: float, over_water_pa: float) -> None:
    # Saturation over supercooled water: Smithsonian Meteorological Tables (from memory), because
    # loggers tell humidity over water below 0 °C too (WMO-No. 8). Saturation over ice at our
    # frost point: PsychroLib 2.5.0, GetSatVapPres.
    for rh_pct in (30.0, 60.0, 85.0):
        dew = dew_point(air_c, rh_pct)
        assert dew.kind == "frost point"
        expected_pa = over_water_pa * rh_pct / 100
        assert psychrolib.GetSatVapPres(dew.temp_c) == pytest.approx(expected_pa, rel=3e-3)


@pytest.mark.parametrize(
    ("dew_c", "frost_c"), [(-5.0, -4.4), (-10.0, -8.9), (-20.0, -18.0), (-30.0, -27.2)]
)
def test_dew_against_frost_point(dew_c: float, frost_c: float) -> None:
    # Table of dew and frost points of hygrometer makers (from memory, rounded to 0.1 K).
    rh_pct = next(
        rh / 100 for rh in range(1, 10_000) if float(dew_point_c(10.0, rh / 100)) >= dew_c - 1e-3
    )
    assert dew_point(10.0, rh_pct).temp_c == pytest.approx(frost_c, abs=0.1)


def test_humidity_of_the_same_air_elsewhere() -> None:
    # PsychroLib 2.5.0, GetRelHumFromTDewPoint.
    for air_c in (21.0, 25.0, 30.0):
        dew = dew_point(air_c, 55.0)
        for elsewhere_c in (air_c - 4, air_c, air_c + 10):
            expected = psychrolib.GetRelHumFromTDewPoint(elsewhere_c, dew.temp_c)
            assert float(rh_at(dew, elsewhere_c)) == pytest.approx(100 * expected, rel=1e-3)


@pytest.mark.parametrize("store_c", [4.0, -18.0])
@pytest.mark.parametrize(("bag_c", "bag_rh_pct"), [(21.0, 50.0), (28.0, 70.0)])
def test_water_that_the_cold_takes_out_of_a_bag(
    bag_c: float, bag_rh_pct: float, store_c: float
) -> None:
    # PsychroLib 2.5.0: humidity ratio before less that of saturated air in the cold, over the
    # volume of the air as it was shut in.
    air_pa = 101_325.0
    before = psychrolib.GetHumRatioFromRelHum(bag_c, bag_rh_pct / 100, air_pa)
    after = psychrolib.GetSatHumRatio(store_c, air_pa)
    m3_per_kg = psychrolib.GetMoistAirVolume(bag_c, before, air_pa)
    bag = condenses_in_bag(bag_c, bag_rh_pct, store_c)
    assert bag.condenses
    # kg/m3 is g/l
    assert bag.water_g_per_l == pytest.approx((before - after) / m3_per_kg, rel=2e-3)
