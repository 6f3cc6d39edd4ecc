"""Over every change of summer time a reading gets its own instant, or its hour is marked.

The truth is made first, as instants; the standard library turns each into what a wall clock showed.
A reading is known again by its value, which no other reading of the file has.
"""

import random
from datetime import UTC, datetime, timedelta
from functools import cache
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest

from stockroom.core.climate.readings import AMBIGUOUS
from stockroom.intake.loggers import LogFile, read_log


def utc(year: int, month: int, day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(year, month, day, hour, minute, tzinfo=UTC)


CHANGES = {
    "Europe/Berlin": (utc(2025, 3, 30, 1), utc(2025, 10, 26, 1)),
    "America/New_York": (utc(2025, 3, 9, 7), utc(2025, 11, 2, 6)),
    "Australia/Lord_Howe": (utc(2025, 10, 4, 15, 30), utc(2025, 4, 5, 15)),
    "Asia/Kathmandu": (utc(2025, 3, 30, 1), utc(2025, 10, 26, 1)),
    "UTC": (utc(2025, 3, 30, 1), utc(2025, 10, 26, 1)),
}
"""Where clocks went forward and back in 2025, UTC (tz database, release 2025a or later); in
Kathmandu and at UTC they never did."""
STEPS_MIN = (1, 5, 10, 15, 30, 60)
HOURS_AROUND = 3

Reading = tuple[datetime, str]
"""An instant, and the value that was read at it."""


def recorded(change: datetime, minutes: int, phase_min: int = 0) -> list[Reading]:
    """Return what a logger read from three hours before to three hours after an instant."""
    middle = change.replace(minute=0)
    start = middle - timedelta(hours=HOURS_AROUND) + timedelta(minutes=phase_min)
    count = 2 * HOURS_AROUND * 60 // minutes
    return [(start + timedelta(minutes=minutes * i), f"{i / 100 - 5:.2f}") for i in range(count)]


@cache
def wall(at: datetime, zone: str) -> str:
    return at.astimezone(ZoneInfo(zone)).strftime("%Y-%m-%d %H:%M")


@cache
def comes_twice(at: datetime, zone: str) -> bool:
    """Return whether a clock on the wall shows the same at two instants."""
    shown = at.astimezone(ZoneInfo(zone)).replace(tzinfo=None)
    instants = {shown.replace(tzinfo=ZoneInfo(zone), fold=fold).astimezone(UTC) for fold in (0, 1)}
    return len(instants) == 2


def read(rows: list[Reading], zone: str) -> LogFile:
    lines = [f"{wall(at, zone)};{value}" for at, value in rows]
    return read_log("\n".join(["time;temp °C", *lines, ""]).encode(), zone=zone)


def check(rows: list[Reading], zone: str) -> int:
    """See that no reading is silently wrong; return how many are marked or were merged away."""
    log = read(rows, zone)
    kept = {
        f"{value:.2f}": (int(at_s), int(flag))
        for at_s, value, flag in zip(
            log.readings.t_s.tolist(),
            log.readings.temp_c.tolist(),
            log.readings.flag.tolist(),
            strict=True,
        )
    }
    marked = 0
    for at, value in rows:
        at_s, flag = kept.get(value, (0, AMBIGUOUS))
        if flag & AMBIGUOUS:
            assert comes_twice(at, zone), f"{at} is marked and comes once"
            marked += 1
        else:
            assert at_s == int(at.timestamp()), f"{at} was read as {at_s}"
    assert log.shifted_rows == 0
    return marked


CASES = [
    (zone, change, minutes)
    for zone, changes in CHANGES.items()
    for change in changes
    for minutes in STEPS_MIN
]


@pytest.mark.parametrize(("zone", "change", "minutes"), CASES)
def test_as_recorded_each_reading_has_its_instant(
    zone: str, change: datetime, minutes: int
) -> None:
    """Oldest first or newest first, all is right; only two rows written alike are marked."""
    for phase_min in {0, minutes // 2}:
        rows = recorded(change, minutes, phase_min)
        written = [wall(at, zone) for at, _ in rows]
        alike = 2 * sum(a == b for a, b in pairwise(written))
        assert check(rows, zone) == alike
        assert check(rows[::-1], zone) == alike
        log = read(rows, zone)
        assert log.readings.t_s.tolist() == [int(at.timestamp()) for at, _ in rows]
        twice = sum(comes_twice(at, zone) for at, _ in rows)
        assert log.settled_rows == twice - alike


@pytest.mark.parametrize(("zone", "change", "minutes"), CASES)
def test_sorted_by_the_wall_clock_the_hour_is_marked(
    zone: str, change: datetime, minutes: int
) -> None:
    """The order in which rows were recorded is lost: all rows that can be two instants say so."""
    rows = recorded(change, minutes)
    twice = [comes_twice(at, zone) for at, _ in rows]
    for first in (rows, rows[::-1]):
        by_wall = sorted(first, key=lambda row: wall(row[0], zone))
        for again in (by_wall, by_wall[::-1]):
            marked = check(again, zone)
            assert marked in ({0, 1} if sum(twice) == 1 else {sum(twice)})


@pytest.mark.parametrize(("zone", "change", "minutes"), CASES)
def test_begun_or_ended_inside_the_hour(zone: str, change: datetime, minutes: int) -> None:
    """Whatever reading is the first or the last, in the first pass or in the second."""
    rows = recorded(change, minutes)
    twice = [i for i, (at, _) in enumerate(rows) if comes_twice(at, zone)]
    some = twice[:: max(1, len(twice) // 2)] + twice[-1:]
    for i in some or [len(rows) // 2]:
        for part in (rows[i:], rows[: i + 1], rows[i : twice[-1] + 1] if twice else rows[i:]):
            check(part, zone)
            check(part[::-1], zone)
            check(sorted(part, key=lambda row: wall(row[0], zone)), zone)
    if twice and minutes < 30:
        # with both passes in the file, the fall of the clock tells them apart
        assert check(rows[twice[1] :], zone) == 0
        assert check(rows[: twice[-2] + 1], zone) == 0


@pytest.mark.parametrize("turns", [2, pytest.param(40, marks=pytest.mark.slow)])
@pytest.mark.parametrize(("zone", "change", "minutes"), CASES)
def test_a_drop_out_inside_the_hour(zone: str, change: datetime, minutes: int, turns: int) -> None:
    """Whatever is missing around the change, nothing is read wrong without a mark."""
    random_ = random.Random(f"{zone} {change} {minutes}")
    rows = recorded(change, minutes)
    around = timedelta(hours=1, minutes=30)

    def near(some: list[Reading]) -> list[int]:
        return [i for i, (at, _) in enumerate(some) if abs(at - change) <= around]

    for turn in range(turns):
        inside = near(rows)
        cut = set(range(*sorted(random_.choices(inside, k=2)))) or {random_.choice(inside)}
        if turn % 2:
            cut |= set(random_.sample(inside, len(inside) // 3))
        left = [row for i, row in enumerate(rows) if i not in cut]
        at = random_.choice(near(left) or [1])
        for part in (left, left[at:], left[:at]):
            check(part, zone)
            check(part[::-1], zone)
            check(sorted(part, key=lambda row: wall(row[0], zone)), zone)


@pytest.mark.parametrize(
    ("minutes", "gone"), [(1, (20, 35)), (5, (0, 30)), (10, (30, 60)), (15, (45, 75))]
)
def test_a_drop_out_that_leaves_the_fall_of_the_clock_is_settled(
    minutes: int, gone: tuple[int, int]
) -> None:
    """In Berlin, with readings before and after, a gap does not hide where the second pass begins.

    Minutes are counted from the beginning of the first pass.
    """
    begin = utc(2025, 10, 26, 0)
    low, high = (begin + timedelta(minutes=m) for m in gone)
    rows = recorded(utc(2025, 10, 26, 1), minutes)
    assert check([row for row in rows if not low <= row[0] < high], "Europe/Berlin") == 0


def test_the_corpus_covers_both_passes_in_three_zones() -> None:
    """The truth itself holds hours that come twice, and none where clocks stay put."""
    counts = {
        zone: sum(comes_twice(at, zone) for at, _ in recorded(back, 1))
        for zone, (_, back) in CHANGES.items()
    }
    assert counts == {
        "Europe/Berlin": 120,
        "America/New_York": 120,
        "Australia/Lord_Howe": 60,
        "Asia/Kathmandu": 0,
        "UTC": 0,
    }
