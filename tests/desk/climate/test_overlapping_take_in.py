"""A file that overlaps what stands says how much was known, how much differs and by how much."""

import pytest
from support.logs import log
from support.studio import Studio

from stockroom.core.climate.overlap import Overlap
from stockroom.core.model import Import
from stockroom.desk.climate import readings
from stockroom.desk.lookup import everything
from stockroom.desk.climate.readings import TakenIn, overlap_text
from stockroom.errors import UnknownCodeError
from stockroom.store.blocks import read_place

PER_DAY = 96


@pytest.fixture
def later(any_studio: Studio) -> Studio:
    """The studio forty days on, on each database."""
    any_studio.desk.now_s.on(40)  # type: ignore[attr-defined]
    return any_studio


def take(studio: Studio, data: bytes, place: str = "Cold store") -> TakenIn:
    return readings.take_in_readings(studio.desk, place, data, "log.csv")


def logged(studio: Studio) -> tuple[list[float], int]:
    desk = studio.desk
    with desk.reading() as view:
        kept, differing = read_place(view.connection, studio.store)
        return kept.temp_c.tolist(), differing


def test_an_export_that_goes_on_over_two_months_is_known_so_far(later: Studio) -> None:
    take(later, log(35))
    again = take(later, log(38)).overlap
    assert again == Overlap(38 * PER_DAY + 1, 35 * PER_DAY + 1, 0, 0.0)
    assert overlap_text(again) == "3361 of its 3649 readings were known already."
    assert logged(later) == ([4.0] * (38 * PER_DAY + 1), 0)


def test_a_whole_export_in_other_bytes_is_kept_and_has_nothing_new(later: Studio) -> None:
    take(later, log(3))
    again = take(later, log(3).replace(b"\n", b"\r\n"))
    assert not again.done.repeated
    assert again.overlap.nothing_new
    assert overlap_text(again.overlap) == (
        f"Nothing new in it: all {3 * PER_DAY + 1} readings were known already."
    )
    with later.desk.reading() as view:
        assert len(everything(view, Import)) == 2


def test_differing_values_are_told_and_the_warmer_counts(later: Studio) -> None:
    take(later, log(10))
    warmer = take(later, log(10, (3, 2, 9.5))).overlap
    assert warmer == Overlap(10 * PER_DAY + 1, 10 * PER_DAY + 1 - 8, 8, 5.5)
    assert "At 8 times it differs from what stands, by 5.5 °C at most" in overlap_text(warmer)
    temps, differing = logged(later)
    assert (temps.count(9.5), differing) == (8, 8)

    cooler = take(later, log(10, (3, 2, 2.0))).overlap
    assert (cooler.differing, cooler.largest_difference_k) == (8, 7.5)
    assert logged(later)[0] == temps


def test_fahrenheit_that_rounds_to_what_stands_is_known(later: Studio) -> None:
    """The books keep 0.001 °C: what differs less is the same reading."""
    take(later, log(2))
    fahrenheit = log(2).replace(b",4.0", b",39.2").replace("°C".encode(), "°F".encode())
    assert take(later, fahrenheit).overlap.nothing_new


def test_other_places_and_withdrawn_files_are_not_beside_it(later: Studio) -> None:
    take(later, log(3), "Mounting room")
    assert take(later, log(3)).overlap.known == 0
    with later.desk.reading() as view:
        code = next(item.code for item in everything(view, Import) if item.place == later.store)
    readings.withdraw_readings(later.desk, code)
    anew = take(later, log(3))
    assert not anew.done.repeated
    assert anew.overlap.known == 0


def test_a_file_twice_is_known_whole(later: Studio) -> None:
    take(later, log(3, (1, 2, 9.0)))
    again = take(later, log(3, (1, 2, 9.0)))
    assert again.done.repeated
    assert again.overlap.nothing_new


def test_comparing_stores_nothing(later: Studio) -> None:
    take(later, log(3))
    seen = readings.look_at_readings(later.desk, log(5), "log.csv").readings
    found = readings.compare_readings(later.desk, "cold", seen)
    assert found == Overlap(5 * PER_DAY + 1, 3 * PER_DAY + 1, 0, 0.0)
    with later.desk.reading() as view:
        assert len(everything(view, Import)) == 1
    with pytest.raises(UnknownCodeError):
        readings.compare_readings(later.desk, "attic", seen)


@pytest.mark.parametrize(
    ("stamp", "zone", "shown"),
    [
        ("2026-03-02T10:0{}:00+05:30", "UTC", "Mon 2 Mar 2026 10:00 UTC+05:30"),
        ("2026-03-02T01:0{}:00-03:00", "UTC", "Mon 2 Mar 2026 01:00 UTC-03:00"),
        ("2026-07-02 10:0{}", "Europe/Berlin", "Thu 2 Jul 2026 10:00 Europe/Berlin"),
    ],
)
def test_a_files_times_are_told_by_its_own_clock(
    studio: Studio, stamp: str, zone: str, shown: str
) -> None:
    rows = "".join(f"{stamp.format(n)},4.{n}\n" for n in range(5))
    seen = readings.look_at_readings(
        studio.desk, f"time,temperature °C\n{rows}".encode(), "log.csv", zone=zone
    )
    assert readings.file_moment(seen, seen.first_s, "UTC") == shown


def test_a_file_of_several_offsets_is_told_by_the_workshops_clock(studio: Studio) -> None:
    rows = "2026-03-29T01:00:00+01:00,4.0\n2026-03-29T03:00:00+02:00,4.1\n"
    seen = readings.look_at_readings(
        studio.desk, f"time,temperature °C\n{rows}".encode(), "log.csv"
    )
    shown = readings.file_moment(seen, seen.last_s, "Europe/Berlin")
    assert shown == "Sun 29 Mar 2026 03:00 Europe/Berlin"
