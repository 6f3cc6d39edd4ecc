"""Film: bonds wait as their own sheet says, faults lie where the log says, no clear run has one."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockroom.core.care import care_input
from stockroom.core.film import (
    BondTimes,
    ClearRun,
    FaultAhead,
    Webs,
    bond_times,
    clear_run,
    faults_ahead,
    loading_takes,
    outside_band,
    too_cold,
    webs,
)
from stockroom.core.records import Material
from stockroom.errors import BadValueError

ROLL_DMM = 2_000
SPANS = st.tuples(st.integers(0, 2_200), st.integers(0, 300)).map(
    lambda span: (span[0], span[0] + span[1], "crease")
)
LOGS = st.lists(SPANS, max_size=8)


def test_bond_times_name_the_sheet_they_are_from_and_without_one_that_it_is_missing() -> None:
    film = Material(code="1", name="Film", family="film", form="roll")
    assert care_input(film, "trim_after_h").value == "24 h"
    assert care_input(film, "trim_after_h").source.endswith("its own sheet is not written down")
    told = replace(film, trim_after_h=24, full_bond_h=72, bond_source="sheet of May 2025")
    for field, shown in (("trim_after_h", "24 h"), ("full_bond_h", "72 h")):
        item = care_input(told, field)
        assert (item.value, item.source) == (shown, "sheet of May 2025")


def test_without_its_own_sheet_a_film_waits_a_day_and_promises_no_full_bond() -> None:
    times = bond_times()
    assert (times.trim_after_h, times.full_after_h) == (24, None)
    assert "common practice" in times.source
    assert bond_times(own_source="sheet of 2024") == times


def test_the_films_own_sheet_counts() -> None:
    assert bond_times(4, 48, " sheet of 2024 ") == BondTimes(4, 48, "sheet of 2024")
    assert bond_times(4, None, "sheet") == BondTimes(4, None, "sheet")
    assert bond_times(0, 0, "sheet") == BondTimes(0, 0, "sheet")


def test_a_full_bond_alone_leaves_trimming_at_a_day_or_at_the_full_bond() -> None:
    late, soon = bond_times(None, 72, "sheet"), bond_times(None, 8, "sheet")
    assert (late.trim_after_h, late.full_after_h) == (24, 72)
    assert "common practice" in late.source
    assert late.source.endswith("full bond: sheet")
    assert soon == BondTimes(8, 8, "sheet")


@pytest.mark.parametrize(
    ("trim_h", "full_h", "source"),
    [(4, 48, ""), (None, 48, "  "), (-1, 48, "sheet"), (48, 4, "sheet"), (4, math.nan, "sheet")],
)
def test_times_that_no_sheet_says_are_refused(
    trim_h: float | None, full_h: float | None, source: str
) -> None:
    with pytest.raises(BadValueError):
        bond_times(trim_h, full_h, source)


def test_a_fault_is_told_by_how_far_it_is_from_here() -> None:
    log = [(260, 270, "dent"), (95, 110, "crease"), (0, 50, "scratch"), (150, 150, "speck")]
    assert faults_ahead(log, 300, 200, 60) == [
        FaultAhead(0, 10, "crease"),
        FaultAhead(50, 50, "speck"),
    ]
    assert faults_ahead(log, 300, 200, 50) == [FaultAhead(0, 10, "crease")]
    assert faults_ahead(log, 300, 30, 500) == []
    assert faults_ahead(log, 300, 300, 0) == []


def test_a_fault_that_only_touches_the_cut_is_not_in_it() -> None:
    assert faults_ahead([(50, 100, "crease")], 300, 200, 60) == []
    assert faults_ahead([(160, 200, "crease")], 300, 200, 60) == []
    assert faults_ahead([(159, 200, "crease")], 300, 200, 60) == [FaultAhead(59, 100, "crease")]


def test_a_spot_at_the_outer_end_itself_is_told() -> None:
    """At 0 m of a roll as it came, and at the end as it is once all before it is drawn."""
    log = [(0, 0, "speck"), (100, 100, "gel"), (300, 300, "dent")]
    assert faults_ahead(log, 300, 300, 100) == [FaultAhead(0, 0, "speck")]
    assert faults_ahead(log, 300, 200, 100) == [FaultAhead(0, 0, "gel")]
    assert faults_ahead(log, 300, 199, 100) == []
    assert faults_ahead(log, 300, 0, 100) == []
    assert clear_run(log, 300, 300) == ClearRun(200, 100)


def test_the_longest_clear_stretch_lies_between_faults_or_after_them() -> None:
    log = [(110, 120, "crease"), (115, 140, "dent"), (200, 210, "speck")]
    assert clear_run(log, 300, 200) == ClearRun(90, 110)
    assert clear_run(log, 300, 200, tail_dmm=5) == ClearRun(85, 110)
    assert clear_run([], 300, 200) == ClearRun(200, 0)


def test_a_short_fault_within_a_long_one_clears_nothing() -> None:
    log = [(100, 180, "damp"), (110, 120, "crease")]
    assert clear_run(log, 300, 200) == ClearRun(120, 80)
    assert faults_ahead([(50, 250, "damp")], 300, 200, 0) == []


def test_a_roll_with_nothing_clear_says_so() -> None:
    assert clear_run([(0, 300, "damp")], 300, 200) == ClearRun(0, 0)
    assert clear_run([], 300, 5, tail_dmm=10) == ClearRun(0, 0)


def in_it(log: list[tuple[int, int, str]], remaining: int, take: int) -> list[FaultAhead]:
    """The faults in the next length but for a spot at its outer end."""
    return [fault for fault in faults_ahead(log, ROLL_DMM, remaining, take) if fault.ends_dmm]


@given(LOGS, st.integers(0, ROLL_DMM), st.integers(1, 600), st.integers(0, 200))
def test_a_clear_run_has_no_fault_in_it_and_none_is_longer(
    log: list[tuple[int, int, str]], remaining: int, wanted: int, tail: int
) -> None:
    found = clear_run(log, ROLL_DMM, remaining, tail)
    free = max(0, remaining - tail)
    clear = [skip for skip in range(free - wanted + 1) if not in_it(log, remaining - skip, wanted)]
    assert 0 <= found.longest_begins_dmm <= found.longest_begins_dmm + found.longest_dmm <= free
    left = remaining - found.longest_begins_dmm
    assert in_it(log, left, found.longest_dmm) == []
    assert (found.longest_dmm >= wanted) == bool(clear)


@pytest.mark.parametrize(
    ("log", "received", "remaining", "take"),
    [
        ([], 300, 301, 10),
        ([], 300, -1, 10),
        ([], 300, 200, -1),
        ([(-1, 5, "crease")], 300, 200, 10),
        ([(9, 5, "crease")], 300, 200, 10),
    ],
)
def test_a_log_that_cannot_be_is_refused(
    log: list[tuple[int, int, str]], received: int, remaining: int, take: int
) -> None:
    with pytest.raises(BadValueError):
        faults_ahead(log, received, remaining, take)


def test_each_loading_takes_a_leader_and_a_tail() -> None:
    assert loading_takes(30_000, 6_000, 4_000) == 40_000
    assert loading_takes(30_000, 6_000, 4_000, 3) == 60_000
    assert loading_takes(30_000, 6_000, 4_000, 0) == 30_000
    for given_ in ((-1, 0, 0, 1), (1, -1, 0, 1), (1, 0, -1, 1), (1, 0, 0, -1)):
        with pytest.raises(BadValueError):
            loading_takes(*given_)


def test_each_liner_is_wound_up_for_the_whole_run() -> None:
    assert [webs(liners, 500) for liners in (0, 1, 2)] == [Webs(0, 0), Webs(1, 500), Webs(2, 1_000)]
    for liners, run_dmm in ((3, 500), (-1, 500), (1, -1)):
        with pytest.raises(BadValueError):
            webs(liners, run_dmm)


def test_a_room_is_too_cold_only_for_a_film_that_names_its_least() -> None:
    assert too_cold(17.9, 18) is True
    assert too_cold(18.0, 18) is False
    assert too_cold(-5, None) is None
    with pytest.raises(BadValueError):
        too_cold(math.nan, 18)


@given(st.floats(-40, 60), st.none() | st.floats(-40, 60), st.floats(0, 40))
def test_outside_a_band_by_the_way_back_into_it(
    temp_c: float, low_c: float | None, width_k: float
) -> None:
    high_c = None if low_c is None else low_c + width_k
    out_k = outside_band(temp_c, low_c, high_c)
    inside = low_c is None or (high_c is not None and low_c <= temp_c <= high_c)
    assert (out_k == 0) == inside
    if low_c is not None and temp_c < low_c:
        assert temp_c - out_k == pytest.approx(low_c)
    if high_c is not None and temp_c > high_c:
        assert temp_c - out_k == pytest.approx(high_c)


def test_a_band_with_one_end_and_one_that_cannot_be() -> None:
    assert outside_band(30, None, 25) == 5
    assert outside_band(30, 10, None) == 0
    for temp_c, low_c, high_c in ((20, 25, 10), (math.nan, 10, 25), (20, math.inf, None)):
        with pytest.raises(BadValueError):
            outside_band(temp_c, low_c, high_c)
