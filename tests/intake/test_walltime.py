"""Wall-clock times come back as the instants they were, over every change of summer time."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from stockroom.errors import BadValueError
from stockroom.intake.walltime import changes, to_utc, zone_of

CHANGES = [
    ("Europe/Berlin", date(2025, 3, 30)),
    ("Europe/Berlin", date(2025, 10, 26)),
    ("America/New_York", date(2025, 3, 9)),
    ("America/New_York", date(2025, 11, 2)),
    ("Australia/Lord_Howe", date(2025, 4, 6)),
    ("Australia/Lord_Howe", date(2025, 10, 5)),
    ("Asia/Kathmandu", date(2025, 3, 30)),
    ("UTC", date(2025, 10, 26)),
]
"""Days on which these zones change, or do not (tz database, release 2025a or later)."""


def wall_of(t_s: np.ndarray, zone: str) -> np.ndarray:
    """Return wall-clock seconds by the standard library, one instant at a time."""
    place = ZoneInfo(zone)
    return np.array(
        [
            int(
                datetime.fromtimestamp(int(t), UTC)
                .astimezone(place)
                .replace(tzinfo=UTC)
                .timestamp()
            )
            for t in t_s
        ],
        np.int64,
    )


def two_days(day: date, step_s: int) -> np.ndarray:
    middle_s = int(datetime(day.year, day.month, day.day, 12, tzinfo=UTC).timestamp())
    return np.arange(middle_s - 129_600, middle_s + 86_400, step_s, dtype=np.int64)


@pytest.mark.parametrize("minutes", [1, 2, 5, 10, 15, 30, 60])
@pytest.mark.parametrize(("zone", "day"), CHANGES)
def test_a_steady_log_over_a_change_comes_back_exactly(zone: str, day: date, minutes: int) -> None:
    """Every row finds its own instant; two rows that are written alike stay marked."""
    t_s = two_days(day, minutes * 60)
    wall_s = wall_of(t_s, zone)
    found = to_utc(wall_s, ZoneInfo(zone))
    assert np.array_equal(found.t_s, t_s)
    alike = np.flatnonzero(np.diff(wall_s) == 0)
    assert np.flatnonzero(found.ambiguous).tolist() == [i + j for i in alike for j in (0, 1)]
    assert not found.skipped.any()


def test_an_hour_written_once_is_left_open() -> None:
    """A clock that does not follow summer time writes 02:00 to 02:50 once: either pass fits."""
    wall_s = wall_of(two_days(date(2025, 10, 26), 600), "Etc/GMT-1")
    found = to_utc(wall_s, ZoneInfo("Europe/Berlin"))
    assert np.count_nonzero(found.ambiguous) == 6
    assert found.settled == 0


def test_a_file_sorted_by_wall_clock_leaves_the_hour_open() -> None:
    """With the order of the file lost, both passes are marked, and none moved by guess."""
    wall_s = np.sort(wall_of(two_days(date(2025, 10, 26), 600), "Europe/Berlin"))
    found = to_utc(wall_s, ZoneInfo("Europe/Berlin"))
    assert np.count_nonzero(found.ambiguous) == 12


def test_a_shuffled_file_settles_nothing() -> None:
    """Backward steps all over the file are no evidence for a second pass."""
    wall_s = wall_of(two_days(date(2025, 10, 26), 600), "Europe/Berlin")
    shuffled = np.random.default_rng(5).permutation(wall_s)
    found = to_utc(shuffled, ZoneInfo("Europe/Berlin"))
    assert np.count_nonzero(found.ambiguous) == 12


def test_a_time_that_summer_time_skips_is_shifted_forward() -> None:
    """02:30 on the day clocks go forward is read as 03:30."""
    base_s = int(datetime(2025, 3, 30, tzinfo=UTC).timestamp())
    wall_s = base_s + np.array([5_400, 9_000, 12_600])
    found = to_utc(wall_s, ZoneInfo("Europe/Berlin"))
    assert found.skipped.tolist() == [False, True, False]
    assert (found.t_s - base_s).tolist() == [1_800, 5_400, 5_400]


def test_changes_are_found_to_the_second() -> None:
    """The two changes of 2025 in Berlin, 01:00 UTC each (EU directive 2000/84/EC)."""
    zone = ZoneInfo("Europe/Berlin")
    from_s, to_s = (int(datetime(y, 1, 1, tzinfo=UTC).timestamp()) for y in (2025, 2026))
    at_s, offset_s = changes(zone, from_s, to_s)
    assert [datetime.fromtimestamp(int(t), UTC).isoformat()[:16] for t in at_s] == [
        "2025-03-30T01:00",
        "2025-10-26T01:00",
    ]
    assert offset_s.tolist() == [3600, 7200, 3600]


@pytest.mark.parametrize("zone", ["", "Nowhere/None", "../etc/passwd", "Europe", "a\0b"])
def test_what_is_no_zone_is_told(zone: str) -> None:
    """An absurd zone name is a value error in words, never a traceback."""
    with pytest.raises(BadValueError, match="time zone"):
        zone_of(zone)
