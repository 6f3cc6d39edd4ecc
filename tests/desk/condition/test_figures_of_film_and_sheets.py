"""Figures of film, sheets and boards: each with its rule and sources, cautions never left out."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest
from support.studio import DAY_S, MONDAY_S, Clock, Studio, code_of

from stockroom.core.figures import Figure
from stockroom.desk.condition import surfaces
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.figures import notices_of, unit_figures
from stockroom.desk.climate.readings import take_in_readings
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.reckoning import reckoned

MONDAY = date(2026, 3, 2)
Told = Callable[..., dict[str, Figure]]


@pytest.fixture
def told(studio: Studio) -> Told:
    """Figures of a unit by name; each carries a rule, and inputs that say where they are from."""

    def call(code: str, on: date = MONDAY) -> dict[str, Figure]:
        _, figures = unit_figures(studio.desk, code, on)
        assert all(figure.how.endswith(".") for figure in figures)
        assert all(figure.inputs for figure in figures)
        return {figure.name: figure for figure in figures}

    return call


def film(studio: Studio, **care: Any) -> str:
    defining.define_material(
        studio.desk, "Clear film 155", "film", "roll", width_dmm=15_500, length_dmm=500_000, **care
    )
    came = receiving.receive(
        studio.desk,
        Delivery(material="Clear film 155", place="Mounting room", label_date=date(2026, 9, 30)),
    )
    return code_of(came, "unit")


def logged(studio: Studio, place: str, rows: list[tuple[int, float, float]]) -> None:
    lines = ["time,temperature °C,humidity %"]
    for at_s, temp_c, rh_pct in rows:
        stamp = np.datetime64(at_s, "s").astype(str).replace("T", " ")
        lines.append(f"{stamp},{temp_c},{rh_pct}")
    take_in_readings(studio.desk, place, "\n".join(lines).encode(), f"{place}.csv")


def test_a_bond_is_promised_only_by_the_films_own_sheet(studio: Studio, told: Told) -> None:
    roll = film(studio)
    bond = told(roll)["Bond"]
    assert bond.value == "no trimming before 24 h; when it is full, its own sheet must say"
    assert "the film's own sheet rules" in bond.how
    assert "common practice" in bond.inputs[0].value
    defining.change_material(
        studio.desk, "Clear film", trim_after_h=4, full_bond_h=48, bond_source="sheet of May 2025"
    )
    bond = told(roll)["Bond"]
    assert bond.value == "no trimming before 4 h, full after 48 h"
    assert bond.inputs[0].value == "sheet of May 2025"


def test_film_without_a_band_is_never_told_to_be_fine_in_the_cold(
    studio: Studio, told: Told
) -> None:
    roll = film(studio)
    kept = told(roll)["Kept"]
    assert kept.value == "never in a cold store by default; stands in Mounting room, 21.0 °C"
    assert (kept.tone, kept.inputs[0].source) == ("", "its set-point")
    handling.move(studio.desk, [roll], "Cold store")
    assert told(roll)["Kept"].tone == "bad"
    defining.change_material(
        studio.desk, "Clear film", band_low_centi_c=1_000, band_high_centi_c=2_500,
        use_least_centi_c=1_500,
    )  # fmt: skip
    found = told(roll)
    assert found["Kept"].value == "kept between 10 and 25 °C; stands in Cold store, 4.0 °C"
    assert found["Kept"].tone == "bad"
    assert found["To be used"].value == "not below 15 °C; Cold store is at 4.0 °C, too cold"
    logged(studio, "Cold store", [(MONDAY_S - 600 * n, 16.0, 45.0) for n in range(5, -1, -1)])
    found = told(roll)
    assert (
        found["Kept"].value == "kept between 10 and 25 °C; stands in Cold store, 16.0 °C, 45 % RH"
    )
    assert (found["Kept"].tone, found["To be used"].tone) == ("", "")
    assert found["Kept"].inputs[0].source == "logged Mon 2 Mar 2026 09:00"


def test_a_reading_of_long_ago_is_not_the_air_of_now(
    studio: Studio, told: Told, now: Clock
) -> None:
    roll = film(studio)
    logged(studio, "Mounting room", [(MONDAY_S - 600 * n, 30.0, 45.0) for n in range(5, -1, -1)])
    now.on(0.9)
    assert "30.0 °C" in told(roll, None)["Kept"].value  # type: ignore[arg-type]
    now.on(0.2)
    assert "21.0 °C" in told(roll, None)["Kept"].value  # type: ignore[arg-type]


def test_a_loading_takes_its_leader_and_tail_and_each_liner_is_wound_up(
    studio: Studio, told: Told
) -> None:
    roll = film(studio, leader_dmm=6_000, tail_dmm=4_000, liners=2)
    handling.use(studio.desk, roll, 90_000)
    found = told(roll)
    assert found["Usable length"].value == "40.0 m in one loading"
    assert found["Liners"].value == "two; 82.0 m to wind up for what is left"
    counting.count(studio.desk, roll, 5_000)
    assert told(roll)["Usable length"].value == "0.0 m in one loading"


def test_faults_are_told_from_the_end_as_it_is_now(studio: Studio, told: Told) -> None:
    roll = film(studio, tail_dmm=10_000)
    assert told(roll)["Faults ahead"].value == "none known in what is left"
    surfaces.note_fault(studio.desk, roll, 32_000, 32_500, "gel")
    surfaces.note_fault(studio.desk, roll, 190_000, 190_000, "speck")
    faults = told(roll)["Faults ahead"]
    assert faults.value == (
        "gel from 3.2 m to 3.25 m, speck at 19.0 m; longest clear run 30.0 m, from 19.0 m on"
    )
    assert (faults.tone, faults.form) == ("ask", "examine")
    handling.use(studio.desk, roll, 90_000)
    assert told(roll)["Faults ahead"].value == (
        "speck at 10.0 m; longest clear run 30.0 m, from 10.0 m on"
    )
    handling.use(studio.desk, roll, 110_000)
    assert told(roll)["Faults ahead"].value == "none known in what is left"


def test_paper_tells_faults_only_where_there_are_any(studio: Studio, told: Told) -> None:
    assert "Faults ahead" not in told(studio.roll)
    surfaces.note_fault(studio.desk, studio.roll, 10_000, 12_000, "crease")
    assert told(studio.roll)["Faults ahead"].form == "fault"


def test_a_sheet_tells_mass_thickness_and_movement_with_their_sources(
    studio: Studio, told: Told
) -> None:
    found = told(studio.pack)
    assert found["Thickness"].value == "3 mm nominal, 3.7 mm at its largest"
    assert found["Mass"].value == (
        "22.1 kg each, 27.3 kg at its largest thickness; a lifter, or more hands than two"
    )
    assert "As a caution, not a permission" in found["Mass"].how
    assert any("NIOSH" in item.source for item in found["Mass"].inputs)
    assert found["Movement"].value == (
        "its 3050 mm side grows by 2.1 mm for 10 K (1.8 to 2.4), and by 2.0 mm from 40 to 60 % RH "
        "over weeks"
    )
    small = one_cut.cut(studio.desk, studio.pack, offcuts=[Part(9_000, 6_000)])
    assert "Movement" not in told(code_of(small, "unit"))


def test_faces_tell_what_was_seen_and_lead_to_looking_again(studio: Studio, told: Told) -> None:
    faces = told(studio.pack)["Faces"]
    assert (faces.tone, faces.form) == ("ask", "examine")
    assert faces.value.startswith("not looked over since it came")
    surfaces.look_over(studio.desk, studio.pack, grade="face")
    faces = told(studio.pack)["Faces"]
    assert faces.value == (
        "both masks on, kept for a face, no corner chipped; seen on Mon 2 Mar 2026"
    )
    assert faces.tone == "good"
    surfaces.look_over(studio.desk, studio.pack, mask_front="lifted", matte="front")
    faces = told(studio.pack)["Faces"]
    assert faces.value.endswith("; not for a face")
    assert faces.tone == "bad"
    assert any("gloss side, the back" in item.value for item in faces.inputs)
    cut = one_cut.cut(studio.desk, studio.pack, offcuts=[Part(9_000, 6_000)])
    offcut = told(code_of(cut, "unit"))["Faces"]
    assert offcut.value.startswith(f"perhaps, as {studio.pack} that it was cut from")


def test_masking_ages_from_the_day_it_was_made_or_came(studio: Studio, told: Told) -> None:
    assert told(studio.pack, MONDAY + timedelta(days=365))["Masking"].tone == ""
    old = told(studio.pack, MONDAY + timedelta(days=366))["Masking"]
    assert (old.tone, old.value[:15]) == ("ask", "on for 366 days")
    surfaces.look_over(studio.desk, studio.pack, mask_front="off")
    half = told(studio.pack, MONDAY + timedelta(days=20))
    assert half["Masking"].value == "only on its back, for 20 days"
    # nobody gave a grade: what it was taken to be kept for is not said beside its opposite
    assert half["Faces"].value == (
        "the masking of its front was taken off, no corner chipped; seen on Mon 2 Mar 2026; "
        "not for a face"
    )
    surfaces.look_over(studio.desk, studio.pack, mask_back="none")
    assert told(studio.pack)["Masking"].value == "none on it"


def test_a_sheet_settles_after_a_move_between_climates(
    studio: Studio, told: Told, now: Clock
) -> None:
    desk = studio.desk
    now.on(10)
    assert "Settling" not in told(studio.pack, MONDAY + timedelta(days=10))
    handling.move(desk, [studio.pack], "Cold store")
    now.on(30)
    handling.move(desk, [studio.pack], "Mounting room")
    moved = MONDAY + timedelta(days=40)
    settling = told(studio.pack, moved)["Settling"]
    assert settling.tone == "ask"
    assert settling.value.startswith("stand it until Mon 13 Apr 2026, in 2 days: from 4.0 to 21.0")
    with reckoned(desk, moved) as reckoning:
        (notice,) = notices_of(reckoning, moved)
    assert notice.unit == studio.pack
    assert "still settles until Mon 13 Apr 2026" in notice.what
    rested = moved + timedelta(days=2)
    assert told(studio.pack, rested)["Settling"].tone == ""
    with reckoned(desk, rested) as reckoning:
        assert notices_of(reckoning, rested) == ()


def test_a_second_move_an_hour_later_does_not_forget_the_cold(
    studio: Studio, told: Told, now: Clock
) -> None:
    """Out of the cold, an hour in one room, then into another like it: the wait is from the cold.

    Once it has stood for so long since, there is nothing to wait for.
    """
    desk = studio.desk
    now.on(10)
    handling.move(desk, [studio.pack], "Cold store")
    now.on(30)
    handling.move(desk, [studio.pack], "Mounting room")
    now.on(seconds=3_600)
    handling.move(desk, [studio.pack], "Printer magazine")
    moved = MONDAY + timedelta(days=40)
    settling = told(studio.pack, moved)["Settling"]
    assert settling.tone == "ask"
    assert settling.value.startswith("stand it until Mon 13 Apr 2026, in 2 days: from 4.0 to 22.0")
    inputs = {item.name: item.value for item in settling.inputs}
    assert inputs["Stood before in"] == "Cold store, 4.0 °C"
    assert inputs["Stands now in"] == "Printer magazine, 22.0 °C"
    with reckoned(desk, moved) as reckoning:
        (notice,) = notices_of(reckoning, moved)
    assert notice.why.startswith("Moved from Cold store to Printer magazine: from 4.0 to 22.0")
    rested = moved + timedelta(days=2)
    assert told(studio.pack, rested)["Settling"].tone == ""
    with reckoned(desk, rested) as reckoning:
        assert notices_of(reckoning, rested) == ()


def test_a_board_out_of_the_cold_settles_wherever_it_was_carried(
    studio: Studio, told: Told, now: Clock
) -> None:
    """A board minds no humidity: the last move alone would call it at rest."""
    desk = studio.desk
    defining.define_material(
        desk, "Composite 3 mm", "board", "sheet",
        width_dmm=30_500, length_dmm=15_000, thickness_um=3_000, settle_days=3,
    )  # fmt: skip
    defining.define_place(desk, "Saw room", "room", set_point_centi_c=2_000)
    board = code_of(
        receiving.receive(desk, Delivery(material="Composite 3 mm", place="Cold store", count=2)),
        "unit",
    )
    now.on(9)
    handling.move(desk, [board], "Mounting room")
    now.on(1)
    handling.move(desk, [board], "Saw room")
    on = MONDAY + timedelta(days=10)
    settling = told(board, on)["Settling"]
    assert settling.value == ("stand it until Sat 14 Mar 2026, in 2 days: from 4.0 to 20.0 °C")
    after = told(board, on + timedelta(days=2))["Settling"]
    assert (after.tone, after.value) == ("", "at rest: it was moved between like climates")


def test_what_came_today_and_was_moved_on_still_settles(studio: Studio, told: Told) -> None:
    """The air it came from is not known: a move to the next room does not make it known."""
    handling.move(studio.desk, [studio.pack], "Printer magazine")
    settling = told(studio.pack)["Settling"]
    assert (settling.tone, settling.value) == (
        "ask",
        "let it stand to Wed 4 Mar 2026, in 2 days: the air it came from is not known",
    )


def test_a_move_between_like_rooms_is_no_notice(studio: Studio, now: Clock) -> None:
    now.on(10)
    handling.move(studio.desk, [studio.pack], "Printer magazine")
    with reckoned(studio.desk) as reckoning:
        assert notices_of(reckoning, MONDAY + timedelta(days=10)) == ()
    assert now.now_s == MONDAY_S + 10 * DAY_S
