"""The console tells a place's mean kinetic temperature over windows and over days."""

import json
import math
from pathlib import Path

import pytest
from support.logs import START_S, log
from support.studio import DAY_S, Studio

from stockroom.cli import run
from stockroom.desk.climate.readings import take_in_readings


@pytest.fixture
def at(studio: Studio, now, tmp_path: Path):
    """Run a command on a store whose log has one day at 16 °C in forty at 4 °C."""
    now.on(40.5)
    take_in_readings(studio.desk, "Cold store", log(40, (20.0, 24.0, 16.0)), "forty-days.csv")
    store = str(tmp_path / "studio.stockroom")

    def call(*words: str) -> int:
        return run([*words, "--store", store, "--on", "2026-04-11"])

    return call


def test_the_stated_windows_with_their_worst_stretches(at, studio, capsys) -> None:
    assert at("place", "mkt", "Cold store", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert told["format"] == "stockroom.mkt/1"
    assert told["place"] == studio.store
    assert told["energies_j_mol"] == [83_144, 85_000]
    names = [window["name"] for window in told["windows"]]
    assert names == ["last 24 h", "last 7 days", "last 30 days", "last 90 days", "last 365 days",
                     "all"]  # fmt: skip
    day, month, whole = told["windows"][0], told["windows"][2], told["windows"][5]
    assert day["mkt_c"] == pytest.approx([4.0, 4.0])
    assert day["worst_month"] is None
    warm = DAY_S / month["logged_share"] / (month["to_s"] - month["from_s"])
    assert month["mean_c"] == pytest.approx(4 + 12 * warm, abs=1e-3)
    rate = sum(
        share * math.exp(-83_144 / 8.314462618 / (temp_c + 273.15))
        for temp_c, share in ((16, warm), (4, 1 - warm))
    )
    assert month["mkt_c"][0] == pytest.approx(
        83_144 / 8.314462618 / -math.log(rate) - 273.15, abs=1e-3
    )
    assert month["worst_day"]["mkt_c"][0] == pytest.approx(16.0, abs=0.05)
    assert abs(month["worst_day"]["from_s"] - (START_S + 20 * DAY_S)) <= 900
    assert whole["from_s"] == START_S
    assert whole["logged_share"] > 0.97


def test_one_window_of_days(at, capsys) -> None:
    assert at("place", "mkt", "Cold store", "--from", "2026-03-22", "--to", "2026-03-23") == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "Sun 22 Mar 2026 00:00 to Tue 24 Mar 2026 00:00: MKT" in told
    assert "mean 10.00 °C, 4.0 to 16.0 °C, 100 % logged" in told
    assert "worst 24 h: 16.00 °C, from Sun 22 Mar 2026 0" in told
    assert at("place", "mkt", "Cold store", "--from", "2026-04-01", "--json") == 0
    (window,) = json.loads(capsys.readouterr().out)["windows"]
    assert window["high_c"] == 4.0
    assert at("place", "mkt", "Cold store", "--to", "2026-03-30", "--json") == 0
    (window,) = json.loads(capsys.readouterr().out)["windows"]
    assert (window["from_s"], window["high_c"]) == (START_S, 16.0)


def test_what_cannot_be_is_refused_and_what_is_not_logged_is_said(at, capsys) -> None:
    assert at("place", "mkt", "Cold store", "--from", "2026-03-24", "--to", "2026-03-23") == 2
    assert at("place", "mkt", "Cold store", "--to", "2020-01-01") == 2
    assert at("place", "mkt", "Nowhere") == 2
    capsys.readouterr()
    assert at("place", "mkt", "Mounting room") == 0
    assert capsys.readouterr().out.count("nothing logged") == 6
