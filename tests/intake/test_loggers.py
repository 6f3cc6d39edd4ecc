"""A logger's file becomes the readings that were taken, or is refused with the line and the way."""

import hashlib
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from stockroom.core.climate.readings import (
    AMBIGUOUS,
    DUPLICATE,
    FAULT_CODE,
    JUMP,
    NOT_A_NUMBER,
    OUT_OF_ORDER,
    OUT_OF_RANGE,
)
from stockroom.errors import ImportProblem
from stockroom.intake.log_rows import MAX_PROBLEMS
from stockroom.intake.loggers import LogFile, read_log

START = datetime(2026, 4, 28, 18, 0, tzinfo=UTC)


def written(
    shape: str = "%Y-%m-%d %H:%M:%S",
    *,
    delimiter: str = ";",
    comma: bool = False,
    count: int = 400,
    start: datetime = START,
    minutes: int = 15,
    header: str = "Time;Temperature (°C);RH (%)",
) -> str:
    """Return a log of 4.0, 4.1 ... 4.6 °C and 50, 51, 52 %, in the shape given."""
    lines = [header.replace(";", delimiter)] if header else []
    for i in range(count):
        when = (start + timedelta(minutes=minutes * i)).strftime(shape)
        temp = f"{4 + i % 7 / 10:.1f}"
        cells = [*when.split("|"), temp.replace(".", ",") if comma else temp, str(50 + i % 3)]
        lines.append(delimiter.join(cells))
    return "\n".join(lines) + "\n"


def read(text: str, zone: str = "UTC", day_first: bool | None = None) -> LogFile:
    return read_log(text.encode(), zone=zone, day_first=day_first, name="cold.csv")


def refused(text: str | bytes, **more: bool) -> ImportProblem:
    data = text.encode() if isinstance(text, str) else text
    with pytest.raises(ImportProblem) as caught:
        read_log(data, zone="UTC", name="cold.csv", day_first=more.get("day_first"))
    assert caught.value.what.startswith("cold.csv")
    assert caught.value.why
    assert caught.value.try_
    return caught.value


def rows(*cells: str, header: str = "time;temp °C") -> str:
    """Return a log of one reading each ten minutes with the cells given."""
    lines = [f"2026-05-01 {10 + i // 6:02d}:{i % 6}0;{cell}" for i, cell in enumerate(cells)]
    return "\n".join([header, *lines]) + "\n"


@pytest.mark.parametrize(
    ("shape", "delimiter", "comma", "order"),
    [
        ("%Y-%m-%d %H:%M:%S", ";", False, "year first"),
        ("%Y-%m-%dT%H:%M", ",", False, "year first"),
        ("%Y-%m-%dT%H:%M:%S.250Z", "\t", True, "year first"),
        ("%Y/%m/%d %H:%M", ";", True, "year first"),
        ("%d.%m.%Y %H:%M", ";", True, "day first"),
        ("%d/%m/%Y %H:%M:%S", ",", False, "day first"),
        ("%m/%d/%Y %I:%M:%S %p", ",", False, "month first"),
        ("%-m/%-d/%Y %-I:%M %p", "\t", False, "month first"),
        ("%d-%m-%Y|%H:%M", ";", True, "day first"),
        ("%m/%d/%Y|%I:%M:%S %p", ",", False, "month first"),
        ("%Y-%m-%d %H:%M:%S+00:00", ";", True, "year first"),
    ],
)
def test_each_usual_shape_gives_the_same_readings(
    shape: str, delimiter: str, comma: bool, order: str
) -> None:
    """Dates, clocks, delimiters and decimal signs of the usual kinds all mean the same log."""
    header = "Date;Time;Temperature (°C);RH (%)" if "|" in shape else "Time;Temperature (°C);RH (%)"
    log = read(written(shape, delimiter=delimiter, comma=comma, header=header))
    plain = read(written())
    assert np.array_equal(log.readings.t_s, plain.readings.t_s)
    assert np.array_equal(log.readings.temp_c, plain.readings.temp_c)
    assert np.array_equal(log.readings.rh_pct, plain.readings.rh_pct)
    assert log.date_order == order
    assert log.rows_read == 400
    assert log.first_s == int(START.timestamp())
    assert log.last_s == int(START.timestamp()) + 399 * 900
    assert (log.median_step_s, log.gap_count, log.longest_gap_s) == (900, 0, 0)
    assert not log.readings.flag.any()
    assert log.problems == ()
    assert (log.unit, log.unit_known_by) == ("°C", "header")


def test_the_look_names_the_columns_and_the_digest() -> None:
    """Columns used and left aside are told by their headers, and the digest is of the bytes."""
    text = (
        "Site;Cold store\nSerial;12345\n\nNo.;Date;Clock;Temp. °C;Dew point °C;RH %;Battery %\n"
        "1;2026-05-01;10:00;4.0;-2;55;90\n2;2026-05-01;10:10;4.1;-2;56;90\n"
    )
    log = read(text)
    assert log.time_columns == ("Date", "Clock")
    assert (log.temp_column, log.rh_column) == ("Temp. °C", "RH %")
    assert log.ignored_columns == ("No.", "Dew point °C", "Battery %")
    assert log.readings.temp_c.tolist() == [4.0, 4.1]
    assert log.readings.rh_pct.tolist() == [55, 56]
    assert log.sha256 == hashlib.sha256(text.encode()).hexdigest()


def test_units_in_a_row_of_their_own_are_found() -> None:
    """A header of two rows, names and units, is read as one."""
    log = read("Time;Probe;Moisture\n;°F;%RH\n2026-05-01 10:00;39.2;55\n2026-05-01 11:00;50;56\n")
    assert log.unit == "°F"
    assert log.temp_column == "Probe °F"
    assert log.readings.temp_c.tolist() == pytest.approx([4.0, 10.0])
    assert log.readings.rh_pct.tolist() == [55, 56]


@pytest.mark.parametrize(
    "header", ["Temp (°F)", "Temperature, degF", "TempF", "temp_f", "Temp [F]", "Fahrenheit"]
)
def test_fahrenheit_is_known_by_its_header(header: str) -> None:
    """32 °F is 0 °C, whichever way the header writes the unit."""
    log = read(rows("32", "212", "50", header=f"time;{header}"))
    assert log.readings.temp_c[[0, 2]].tolist() == [0.0, 10.0]
    assert log.readings.flag[1] == OUT_OF_RANGE


def test_fahrenheit_is_known_by_the_cells() -> None:
    """A unit sign in the cells counts where the header has none; a cell in another is a problem."""
    log = read(rows("32 °F", "10 °C", "50,0 °F", header="time;value"))
    assert (log.unit, log.unit_known_by) == ("°F", "cells")
    assert log.readings.temp_c[[0, 2]].tolist() == [0.0, 10.0]
    assert log.readings.flag.tolist() == [0, NOT_A_NUMBER, 0]
    assert any(p.line == 3 and "not in °F" in p.what for p in log.problems)


def test_a_log_without_header_or_unit_is_read_and_doubted() -> None:
    """Readings of 68 without a unit are read as °C, and a person is told that it looks like °F."""
    log = read("\n".join(rows("68", "67", "68", "69").split("\n")[1:]))
    assert log.unit_known_by == "assumed"
    said = " ".join(map(str, log.problems))
    assert "looks like °F" in said
    assert "by its values alone" in said


def test_a_running_index_is_not_the_temperature() -> None:
    """Without a header the first column of plausible numbers that does not just count is taken."""
    text = "\n".join(f"{i},2026-05-01 10:{i:02d},{20 + i % 2}.5" for i in range(1, 20))
    assert read(text).readings.temp_c[:2].tolist() == [21.5, 20.5]


def test_decimal_commas_between_commas_are_refused() -> None:
    """4,5 in a file parted by commas would read as 4; the header shows that a cell is too many."""
    problem = refused("time,temp,hum\n2026-05-01 10:00,4,5,55\n2026-05-01 10:10,4,6,55\n")
    assert "more cells" in problem.what
    assert problem.problems[0].line == 2


def test_quoted_decimal_commas_are_read() -> None:
    """Quotes keep the comma inside the cell."""
    log = read('time,temp\n"2026-05-01 10:00","4,5"\n"2026-05-01 10:10", "4,6"\n')
    assert log.readings.temp_c.tolist() == [4.5, 4.6]


# Which number is the day


def test_a_day_over_12_proves_the_order_and_its_line_is_told() -> None:
    """The proof names the first line that gives it."""
    log = read("t;temp\n12.04.2026 10:00;4\n13.04.2026 10:00;4\n")
    assert log.date_order == "day first"
    assert "line 3" in log.order_known_by
    log = read("t;temp\n04/12/2026 10:00;4\n04/13/2026 10:00;4\n")
    assert (log.date_order, "line 3" in log.order_known_by) == ("month first", True)


@pytest.mark.parametrize(
    ("shape", "order"), [("%d/%m/%Y", "day first"), ("%m/%d/%Y", "month first")]
)
def test_steps_over_midnight_prove_the_order(shape: str, order: str) -> None:
    """From 3 to 6 May no number is over 12, but only one order makes the nights ordinary."""
    start = datetime(2026, 5, 3, 20, tzinfo=UTC)
    log = read(written(f"{shape} %H:%M", start=start, count=250))
    assert log.date_order == order
    assert log.first_s == int(start.timestamp())
    assert "regular" in log.order_known_by


def test_newest_first_also_proves_the_order() -> None:
    """A file that runs backwards is turned, nothing is flagged, and steps prove the order."""
    text = written("%d/%m/%Y %H:%M", start=datetime(2026, 5, 3, 20, tzinfo=UTC), count=250)
    head, *body = text.splitlines()
    log = read("\n".join([head, *reversed(body)]) + "\n")
    assert log.newest_first
    assert log.date_order == "day first"
    assert np.array_equal(log.readings.t_s, read(text).readings.t_s)
    assert not log.readings.flag.any()


@pytest.mark.parametrize(
    "days",
    [
        ["03/04/2026 10:00", "03/04/2026 10:10"],
        ["05/01/2026 10:00", "05/02/2026 10:00", "05/03/2026 10:00"],
        ["05/05/2026 10:00", "05/05/2026 10:10"],
    ],
)
def test_an_unproven_order_is_never_guessed(days: list[str]) -> None:
    """One day, or single readings that are daily one way and monthly the other: ask."""
    text = "t;temp\n" + "".join(f"{day};4\n" for day in days)
    problem = refused(text)
    assert "which number is the day" in problem.what
    assert "--day-first" in problem.try_
    assert "--month-first" in problem.try_
    first = read(text, day_first=True).first_s, read(text, day_first=False).first_s
    month, day = (int(part) for part in days[0][:5].split("/"))
    assert [datetime.fromtimestamp(s, UTC).month for s in first] == [day, month]


def test_a_given_order_that_cannot_be_is_refused_with_its_line() -> None:
    """04/25 has no month 25; the other flag is named."""
    text = "t;temp\n04/12/2026 10:00;4\n04/25/2026 10:00;4\n"
    problem = refused(text, day_first=True)
    assert problem.problems[0].line == 3
    assert "--month-first" in problem.try_


def test_a_given_order_against_regular_steps_is_told() -> None:
    """The person's word stands, but the look says that steps are regular the other way."""
    text = written("%d/%m/%Y %H:%M", start=datetime(2026, 5, 3, 20, tzinfo=UTC), count=250)
    log = read(text, day_first=False)
    assert log.date_order == "month first"
    assert any("--day-first" in problem.what for problem in log.problems)


def test_rows_that_no_order_can_read_are_refused() -> None:
    """13/05 and 05/13 in one file contradict each other."""
    assert refused("t;temp\n13/05/2026 10:00;4\n05/13/2026 10:10;4\n").problems[0].line == 3


# Time zones


def test_an_offset_in_the_times_goes_before_the_zone() -> None:
    """+02:00 is UTC minus two hours, whatever zone is given."""
    log = read("t;temp\n2026-05-01T10:00:00+02:00;4\n2026-05-01T10:10:00+0200;4\n", "Asia/Tokyo")
    assert log.first_s == int(datetime(2026, 5, 1, 8, tzinfo=UTC).timestamp())
    assert (log.zone, log.zone_known_by) == ("UTC+02:00", "the times")


def test_an_offset_in_the_header_goes_before_the_zone() -> None:
    """Date Time, GMT-05:00 is UTC plus five hours."""
    log = read("Date Time (GMT-05:00);temp\n2026-05-01 10:00;4\n2026-05-01 10:10;4\n", "Asia/Tokyo")
    assert log.first_s == int(datetime(2026, 5, 1, 15, tzinfo=UTC).timestamp())
    assert (log.zone, log.zone_known_by) == ("UTC-05:00", "the header")


def test_of_two_time_columns_the_one_in_utc_is_read() -> None:
    """UTC never comes twice, so it is the better of the two."""
    log = read("Local;UTC;temp\n2026-05-01 10:00;2026-05-01 08:00;4\n", "Asia/Tokyo")
    assert log.first_s == int(datetime(2026, 5, 1, 8, tzinfo=UTC).timestamp())


def test_a_zone_named_above_the_table_is_told_and_not_used() -> None:
    """A zone's display name may hide summer time; it is shown with its line."""
    log = read("Time zone;(UTC+01:00) Somewhere\n" + rows("4", "4"), "Europe/Berlin")
    assert (log.zone, log.zone_known_by) == ("Europe/Berlin", "given")
    assert log.problems[0].line == 1


def test_some_times_with_offset_and_some_without_are_refused() -> None:
    """Half a file in UTC is no file in UTC."""
    problem = refused("t;temp\n2026-05-01T10:00:00Z;4\n2026-05-01T10:10:00;4\n")
    assert problem.problems[0].line == 3


def test_the_hour_that_comes_twice_is_settled_by_the_order_of_rows() -> None:
    """Over the change of October 2025 in Berlin no reading is lost or doubted."""
    place = ZoneInfo("Europe/Berlin")
    start = datetime(2025, 10, 25, 22, tzinfo=UTC)
    whens = [start + timedelta(minutes=10 * i) for i in range(36)]
    text = "t;temp °C\n" + "".join(
        f"{when.astimezone(place).strftime('%d.%m.%Y %H:%M')};4,{i % 10}\n"
        for i, when in enumerate(whens)
    )
    log = read(text, "Europe/Berlin")
    assert log.readings.t_s.tolist() == [int(when.timestamp()) for when in whens]
    assert (log.settled_rows, log.shifted_rows) == (12, 0)
    assert not log.readings.flag.any()


def test_an_open_hour_is_flagged_and_counted() -> None:
    """Rows wholly inside the doubled hour could be either pass."""
    log = read("t;temp °C\n2025-10-26 02:10;4\n2025-10-26 02:20;4\n", "Europe/Berlin")
    assert log.flag_counts == {AMBIGUOUS: 2}
    assert log.flag_words == {"hour that comes twice": 2}


def test_times_that_do_not_exist_are_shifted_counted_and_told() -> None:
    """02:30 on 30 March 2025 in Berlin is read as 03:30, with a word on clocks that stay put."""
    log = read("t;temp °C\n2025-03-30 01:30;4\n2025-03-30 02:30;4\n", "Europe/Berlin")
    assert log.shifted_rows == 1
    assert log.last_s == int(datetime(2025, 3, 30, 1, 30, tzinfo=UTC).timestamp())
    assert log.problems[0].line == 3


# Values


def test_fault_codes_are_flagged_and_never_become_temperatures() -> None:
    """Each code is flagged as one; its neighbours stay."""
    log = read(rows("4.0", "-127", "4.1", "999", "4.2", "3276.7", "4.3", "6553.5", "4.4"))
    assert log.readings.flag.tolist() == [0, FAULT_CODE] * 4 + [0]
    assert np.isnan(log.readings.temp_c[1::2]).all()
    assert log.rows_refused == 4
    assert log.flag_counts == {FAULT_CODE: 4}


@pytest.mark.parametrize(
    ("cells", "flags"),
    [
        (["4", "85.0", "4"], [0, FAULT_CODE, 0]),
        (["85", "4", "4"], [FAULT_CODE, 0, 0]),
        (["4", "4", "85"], [0, 0, FAULT_CODE]),
        (["66", "85", "66"], [0, OUT_OF_RANGE, 0]),
        (["4", "85", "66"], [0, OUT_OF_RANGE, JUMP]),
        (["4", "84.9", "4"], [0, OUT_OF_RANGE, 0]),
        (["4", "NaN", "85", "-127", "4"], [0, NOT_A_NUMBER, FAULT_CODE, FAULT_CODE, 0]),
    ],
)
def test_85_is_a_fault_only_alone(cells: list[str], flags: list[int]) -> None:
    """85.0 far from both neighbours is a sensor that has not measured; else it is only too hot."""
    found = read(rows(*cells)).readings
    assert (found.flag & ~np.uint8(JUMP)).tolist() == [flag & ~JUMP for flag in flags]
    assert np.isnan(found.temp_c).tolist() == [bool(flag & ~JUMP) for flag in flags]


def test_fault_codes_in_fahrenheit_files_are_known() -> None:
    """-127 °C written as -196.6 °F, and 185 °F alone, are the same faults."""
    log = read(rows("39.2", "-196.6", "40", "185", "41", "999", header="time;temp °F"))
    assert log.readings.flag.tolist() == [0, FAULT_CODE] * 3


@pytest.mark.parametrize(
    ("cell", "flag"),
    [("-60.1", OUT_OF_RANGE), ("70.1", OUT_OF_RANGE), ("1e308", OUT_OF_RANGE)]
    + [(cell, NOT_A_NUMBER) for cell in ("", "---", "NaN", "inf", "1e999", "1_0", "4.5.6", "0x4")],
)
def test_what_is_no_temperature_is_kept_as_a_gap(cell: str, flag: int) -> None:
    """The time stays, the value is NaN, and a cell that is no number is named with its line."""
    log = read(rows("4", cell, "70", "-60"))
    assert log.readings.flag.tolist()[:2] == [0, flag]
    assert np.isnan(log.readings.temp_c).tolist() == [False, True, False, False]
    assert [problem.line for problem in log.problems] == ([3] if flag == NOT_A_NUMBER else [])


def test_a_missing_cell_in_a_middle_row_is_a_problem_with_its_line() -> None:
    """A row that has its time and nothing else is kept as a gap."""
    log = read("t;temp;x\n2026-05-01 10:00;4;a\n2026-05-01 10:10\n2026-05-01 10:20;4;a\n")
    assert log.readings.flag.tolist() == [0, NOT_A_NUMBER, 0]
    assert [(p.line, p.what) for p in log.problems] == [(3, "the temperature is missing")]


def test_humidity_that_cannot_be_is_left_out() -> None:
    """A little over 100 % is mist; more, or less than none, is nothing."""
    log = read(
        "t;temp;RH\n"
        + "".join(
            f"2026-05-01 10:{i}0;4;{cell}\n"
            for i, cell in enumerate(["0", "101.5", "130", "-1", "x"])
        )
    )
    assert log.readings.rh_pct.tolist()[:2] == [0, 100]
    assert np.isnan(log.readings.rh_pct[2:]).all()
    assert not log.readings.flag.any()


def test_typographic_minus_and_signs_are_numbers() -> None:
    """A minus sign of a word processor, a plus, a unit and a narrow blank are understood."""
    log = read(rows("\u22124,5", "+3", "-2.5\u202f°C", ".5"))
    assert log.readings.temp_c.tolist() == [-4.5, 3, -2.5, 0.5]


def test_a_jump_is_flagged_and_kept_but_not_a_coarse_sensor() -> None:
    """15 K in a minute is no air; 0.5 K in a second is the sensor's step."""
    log = read("t;temp °C\n2026-05-01 10:00;4\n2026-05-01 10:01;19\n2026-05-01 10:02;19\n")
    assert log.readings.flag.tolist() == [0, JUMP, 0]
    assert log.readings.temp_c.tolist() == [4, 19, 19]
    log = read("t;temp °C\n2026-05-01 10:00:00;4\n2026-05-01 10:00:01;4.5\n")
    assert not log.readings.flag.any()


# Order, doubles, gaps


def test_doubles_keep_the_warmer_and_are_counted() -> None:
    """Of two values at one time the warmer is kept; NaN never wins."""
    lines = ["10:00;4", "10:10;5", "10:10;6", "10:10;5", "10:20;7", "10:20;7", "10:30;x", "10:30;3"]
    log = read("t;temp °C\n" + "".join(f"2026-05-01 {line}\n" for line in lines))
    assert log.readings.temp_c.tolist() == [4, 6, 7, 3]
    assert log.readings.flag.tolist() == [0, DUPLICATE, DUPLICATE, DUPLICATE]
    assert (log.rows_read, log.duplicate_rows, log.duplicates_differing) == (8, 4, 2)


def test_rows_out_of_order_are_sorted_and_flagged() -> None:
    """A row older than one before it is flagged where it ends up."""
    log = read(
        "t;temp °C\n2026-05-01 10:00;1\n2026-05-01 10:20;3\n2026-05-01 10:10;2\n"
        "2026-05-01 10:30;4\n"
    )
    assert log.readings.temp_c.tolist() == [1, 2, 3, 4]
    assert log.readings.flag.tolist() == [0, OUT_OF_ORDER, 0, 0]


def test_gaps_are_counted_between_usable_readings() -> None:
    """A gap begins over 2.5 median steps, and faults do not fill it."""
    minutes = [0, 10, 20, 30, 55, 65, 75, 110, 120]
    text = "t;temp °C\n" + "".join(
        f"2026-05-01 {10 + m // 60}:{m % 60:02d};{'-127' if m == 65 else 4}\n" for m in minutes
    )
    log = read(text)
    assert (log.median_step_s, log.gap_count, log.longest_gap_s) == (600, 1, 2100)


def test_blank_lines_and_repeated_headers_are_passed_over() -> None:
    """Two exports pasted together are one log."""
    text = "t;temp °C\n2026-05-01 10:00;4\n\n;;\nt;temp °C\n2026-05-01 10:10;5\n  \n"
    log = read(text)
    assert (log.rows_read, log.readings.temp_c.tolist()) == (2, [4, 5])


def test_only_the_first_hundred_problems_are_listed() -> None:
    """A file full of bad cells gives a list a person can read, and the number of the rest."""
    cells = [("x" if i % 2 else "4") for i in range(500)]
    text = "t;temp °C\n" + "".join(
        f"{(START + timedelta(minutes=i)).strftime('%Y-%m-%d %H:%M')};{cell}\n"
        for i, cell in enumerate(cells)
    )
    log = read(text)
    assert len(log.problems) == MAX_PROBLEMS + 1
    assert log.problems[-1].what == "150 more rows have problems"
    assert log.rows_refused == 250


# Refusals


@pytest.mark.parametrize("seconds", ["2026-05-01 24:00", "2026-05-01 23:59:60"])
def test_midnight_and_leap_seconds_are_the_next_day(seconds: str) -> None:
    """Both ways of writing the end of a day are instants (ISO 8601)."""
    log = read(f"t;temp °C\n2026-05-01 23:00;4\n{seconds};5\n")
    assert log.last_s == int(datetime(2026, 5, 2, tzinfo=UTC).timestamp())


@pytest.mark.parametrize(
    "time",
    [
        "2026-05-01 25:00",
        "2026-05-01 24:01",
        "2026-05-01 10:61",
        "2026-02-30 10:00",
        "2026-13-01 10:00",
        "05/01/2026 10:00",
        "2026-05-01 13:00 PM",
        "2026-05-01T10:00+19:00",
        "bad",
        "",
    ],
)
def test_a_time_that_cannot_be_read_refuses_the_file_with_its_line(time: str) -> None:
    """A reading without a time is worth nothing, and a wrong one is worse."""
    text = f"t;temp °C\n2026-05-01 10:00;4\n{time};5\n2026-05-01 10:20;4\n"
    assert refused(text).problems[0].line == 3


@pytest.mark.parametrize("first", ["2026-05-01 25:00;4", "2026-05-01;4", "2026-05-0110:00;4.5"])
def test_a_first_row_without_a_time_is_not_taken_for_a_header(first: str) -> None:
    """It would be lost in silence, and the real header's unit with it."""
    assert refused(f"t;temp °F\n{first}\n2026-05-01 10:10;40\n").problems[0].line == 2


@pytest.mark.parametrize("last", ["2026-05-01 10:20;4", "2026-05-01 10:2", "2026-05-01 10:20", "2"])
def test_a_cut_last_line_refuses_the_file(last: str) -> None:
    """Fewer cells than the others at the end: the copy broke off."""
    problem = refused(f"t;temp °C;RH\n2026-05-01 10:00;4;50\n2026-05-01 10:10;4;50\n{last}")
    assert "the last line is cut" in problem.what
    assert problem.problems[0].line == 4


def test_a_last_number_with_fewer_decimals_is_not_taken() -> None:
    """-18.4 cut to -1 would be a warm spell of 17 K; without a line end it is left out."""
    whole = rows(*["-18.4"] * 8)
    log = read(whole[: -len("8.4\n")])
    assert np.isnan(log.readings.temp_c[-1])
    assert log.problems[-1].line == 9
    assert read(whole[:-1]).problems == ()


@pytest.mark.parametrize("year", ["1970", "1979", "2101", "9999", "0001"])
def test_an_absurd_year_is_refused_with_its_line(year: str) -> None:
    """A clock that was reset leaves such years; so does one wrong digit."""
    problem = refused(f"t;temp\n2026-05-01 10:00;4\n{year}-05-01 10:10;4\n2026-05-01 10:20;4\n")
    assert problem.problems[0].line == 3


def test_a_span_over_forty_years_is_refused_with_its_line() -> None:
    """One row of 1981 among rows of 2026 is named."""
    problem = refused("t;temp\n2026-05-01 10:00;4\n1981-05-01 10:10;4\n2026-05-01 10:20;4\n")
    assert "40 years" in problem.what
    assert problem.problems[0].line == 3


def test_years_of_two_digits_are_refused_whatever_the_order() -> None:
    """25/05/26 may be three days; the refusal says to export four digits."""
    assert "four digits" in refused("t;temp\n25/05/26 10:00;4\n25/05/26 10:10;4\n").try_


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("time;humidity %\n2026-05-01 10:00;55\n2026-05-01 10:10;56\n", "no temperature column"),
        ("time;pressure\n2026-05-01 10:00;1013\n", "no temperature column"),
        ("time;state\n2026-05-01 10:00;open\n", "no temperature column"),
        ("time;dew point °C\n2026-05-01 10:00;4\n", "no temperature column"),
        ("time;temp °C\n", "no rows of readings"),
        ("just words\n", "no rows of readings"),
        ("a;b\n1;2\n3;4\n", "no rows of readings"),
        (rows("x 4", "4 y", "z") + "2026-05-02 10:00;900\n", "no temperature that can be used"),
        ('time;temp\n"2026-05-01 10:00;4\n2026-05-01 10:10;4\n', "quote"),
        ("", "empty"),
        ("PK\x03\x04 and more", "not text"),
        ("time;temp\n2026-05-01 10:00;4\n" + "9" * 20_000, "too long"),
    ],
)
def test_what_is_no_log_is_refused_in_words(text: str, word: str) -> None:
    """Each says what is missing."""
    assert word in refused(text).what


def test_hostile_headers_are_cleaned() -> None:
    """Escape sequences in headers and cells reach no problem and no look."""
    log = read(rows(*["4"] * 40, "\x1b]0;x", "4", header="t;temp\x1b[2J °C"))
    told = [log.temp_column, *(text for problem in log.problems for text in (problem.value,))]
    assert len(told) == 2
    assert not any("\x1b" in text for text in told)
