"""Whatever is done to a logger's file, it is read or refused in words, with bounded work."""

import contextlib
import random
import sys
import time
import tracemalloc
from collections.abc import Iterator

import numpy as np
import pytest

from stockroom.errors import ImportProblem
from stockroom.intake import log_rows, shapes
from stockroom.intake.loggers import LogFile, read_log

MOST_CALLS, MOST_CALLS_PER_BYTE = 6_000, 60
"""Calls of functions allowed for a file: counted, so that a busy machine changes nothing."""
MOST_CPU_S, MOST_CPU_S_PER_BYTE = 0.5, 100e-6
"""Time on the processor allowed for a file: some fifty times what is used; it would show a pattern
that runs away inside one call."""
MOST_BYTES_PER_BYTE = 150
"""Memory allowed for a byte of a file."""

SEEDS = (
    "\n".join(
        ["time;temp °C;RH"]
        + [
            f"2026-05-0{1 + i // 20} {i % 20:02d}:00:00;{4 + i % 5 / 10};5{i % 9}"
            for i in range(40)
        ]
    ),
    "\n".join(
        ["Logger;cold", "", "Datum;Uhrzeit;Temp. °C"]
        + [f"{12 + i // 20}.03.2026;{i % 20:02d}:30;-18,{i % 9}" for i in range(40)]
    ),
    "\n".join(
        ['"Date","Temperature (°F)","Humidity"']
        + [f'"5/{i // 12 + 9}/2026 {i % 12 + 1}:05 PM","3{i % 9}.5","50"' for i in range(40)]
    ),
    "\n".join(
        ["t\ttemp"] + [f"2025-10-26 0{i // 12}:{i % 12 * 5:02d}\t4,{i % 9}" for i in range(40)]
    ),
    "\n".join(f"{i},2026-05-01T{i // 2:02d}:{i % 2 * 30:02d}Z,21.{i % 9}" for i in range(40)),
    "\n".join(["t;temp"] + [f"2025-03-30 0{i // 10}:{i % 10:02d};{85 - i}" for i in range(40)]),
    "\n".join(
        ["day|clock|temp °C|%RH"]
        + [f"{29 + i // 20}.03.26|{i % 20:02d}:00|{i % 7},5|4{i % 9}" for i in range(40)]
    ),
    "\n".join(["unix time;temp"] + [f"{1_777_651_200 + i * 600};4.{i % 9}" for i in range(40)]),
    "\n".join(
        ["Date;Time;;Zone;Temp"]
        + [
            f"2026-05-01;{i // 4 % 12 or 12}:{i % 4 * 15:02d};{'AP'[i // 48]}M;+02:00;-18"
            for i in range(60)
        ]
        + ["", "Mean;;;;-18", "-----"]
    ),
    "\n".join(
        ['"Serial";"12"', '"Time";"Temp', '(°C)";"Remark"']
        + [f'"01.05.2026 {i // 4:02d}:{i % 4 * 15:02d}";"{i % 9},5";"a ""b"""' for i in range(40)]
        + ['"13.05.2026 10:00";"4,5";"door', 'open"', '"13.05.2026 10:15";"4,5";""', ""]
    ),
)
ENCODINGS = ("utf-8", "utf-8", "utf-8", "cp1252", "utf-16", "utf-16-le", "utf-16-be", "utf-8-sig")
TOKENS = (
    b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\x81", b'"', b";", b",", b"\t", b"\r", b"\n\n", b"-127",
    b"NaN", b"1e308", b"1e999", b"9999", b"0000-00-00", b"99/99/9999 99:99", b"24:00", b"AM", b"Z",
    b"+99:99", b"+14:00", b"\xe2\x88\x92", b"\xd9\xa3", b"\x1b[2J", b"=1+1", b"9" * 60, b"." * 60,
    b" " * 60, b"PK\x03\x04", b"2026-02-29 10:00", b"1980-01-01 00:00", b"2100-12-31 23:59",
)  # fmt: skip


def mutated(random_: random.Random) -> bytes:
    """Return a seed with cells, rows or bytes changed, in one of several encodings."""
    lines = random_.choice(SEEDS).split("\n")
    for _ in range(random_.choice([0, 1, 3])):
        at = random_.randrange(len(lines))
        other = random_.randrange(len(lines))
        kind = random_.randrange(4)
        if kind == 0:
            head, mark, _ = lines[at].rpartition(random_.choice([";", ",", "\t"]))
            lines[at] = head + mark + random_.choice(TOKENS).decode("latin-1")
        elif kind == 1:
            lines[at], lines[other] = lines[other], lines[at]
        elif kind == 2:
            lines[at:at] = lines[other : other + 9]
        else:
            del lines[at]
            lines = lines or [""]
    data = bytearray("\n".join(lines).encode(random_.choice(ENCODINGS), "replace"))
    for _ in range(random_.choice([0, 0, 1, 2, 8])):
        at = random_.randrange(len(data) + 1)
        end = min(len(data), at + random_.choice([1, 2, 8, 40, 400]))
        kind = random_.randrange(6)
        if kind == 0:
            data[at:at] = random_.choice(TOKENS)
        elif kind == 1:
            data[at:end] = random_.choice(TOKENS)
        elif kind == 2:
            del data[at:end]
        elif kind == 3:
            data[at:at] = data[at:end] * random_.choice([1, 2, 20])
        elif kind == 4:
            del data[at:]
        elif at < len(data):
            data[at] = random_.randrange(256)
    return bytes(data)


Outcome = LogFile | tuple[str, str, str]


def outcome(data: bytes, day_first: bool | None) -> Outcome:
    """Return what a file gives, or the words with which it is refused."""
    try:
        return read_log(data, zone="Europe/Berlin", day_first=day_first)
    except ImportProblem as problem:
        return problem.what, problem.why, problem.try_


def counted(data: bytes, day_first: bool | None = None) -> tuple[Outcome, int]:
    """Return what a file gives, and how many calls of functions that took."""
    count = 0

    def saw(_frame: object, event: str, _arg: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(saw)
    try:
        found = outcome(data, day_first)
    finally:
        sys.setprofile(before)
    return found, count


@contextlib.contextmanager
def row_by_row() -> Iterator[None]:
    """Have files read one row and one cell at a time."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(log_rows, "grid", lambda *_: None)
        patch.setattr(shapes, "MOST_SHAPES", 0)
        yield


def alike(one: Outcome, other: Outcome) -> bool:
    if isinstance(one, tuple) or isinstance(other, tuple):
        return one == other
    arrays = [
        (getattr(one.readings, name), getattr(other.readings, name))
        for name in ("t_s", "temp_c", "rh_pct", "flag")
    ]
    same = all(np.array_equal(a, b, equal_nan=True) for a, b in arrays)
    return same and (one.problems, one.rows_read) == (other.problems, other.rows_read)


@pytest.mark.parametrize("runs", [500, pytest.param(5_000, marks=pytest.mark.slow)])
def test_mutated_logs_are_read_or_refused_in_words(runs: int) -> None:
    """Only the one import error escapes; what is read rises in time and holds only temperatures.

    Read one row at a time, each file gives the same readings or the same refusal.
    """
    random_ = random.Random(20_260_501)
    for seed in SEEDS:
        assert isinstance(outcome(seed.encode(), True), LogFile)  # and what loads once is loaded
    told: list[tuple[str, str, str]] = []
    for _ in range(runs):
        data = mutated(random_)
        day_first = random_.choice([None, True, False])
        began_s = time.thread_time()
        log, calls = counted(data, day_first)
        assert time.thread_time() - began_s < MOST_CPU_S + MOST_CPU_S_PER_BYTE * len(data)
        assert calls < MOST_CALLS + MOST_CALLS_PER_BYTE * len(data)
        with row_by_row():
            assert alike(outcome(data, day_first), log)
        if isinstance(log, tuple):
            told.append(log)
            continue
        assert np.all(np.diff(log.readings.t_s) > 0)
        usable = log.readings.temp_c[~np.isnan(log.readings.temp_c)]
        assert len(usable)
        assert np.all((usable >= -60) & (usable <= 70))
        assert np.all(np.isnan(log.readings.temp_c) == ((log.readings.flag & 7) != 0))
    assert runs // 10 < len(told) < runs - runs // 10
    assert all(all(words) for words in told)


@pytest.mark.parametrize(
    "line",
    ["." * 9_000, "1" * 9_000, " " * 4_000 + ";" * 4_000, '"' * 9_000, "-:/" * 3_000, "°" * 9_000,
     ";".join(["2026-05-01 10:00"] * 500), "1;" * 4_500, "(" * 9_000],
)  # fmt: skip
def test_absurd_lines_cost_no_more_than_their_length(line: str) -> None:
    """Patterns that could run away are fed what would make them; 300 such lines stay bounded."""
    began_s = time.thread_time()
    for text in (f"{line}\n" * 300, f"t;temp\n2026-05-01 10:00;4\n{line}\n" * 100):
        with contextlib.suppress(ImportProblem):
            read_log(text.encode(), zone="UTC", day_first=True)
    assert time.thread_time() - began_s < 5.0


def test_calls_grow_with_the_file_and_no_faster() -> None:
    """Four times the rows take at most four times the calls, read all at once or row by row."""

    def text(rows: int) -> bytes:
        clocks = [(1 + i // 1440, i // 60 % 24, i % 60) for i in range(rows)]
        lines = [f"{day:02d}.05.2026 {hour:02d}:{minute:02d};4,5" for day, hour, minute in clocks]
        return "\n".join(["t;temp °C", *lines, ""]).encode()

    small, large = text(10_000), text(40_000)
    for way in (contextlib.nullcontext, row_by_row):
        with way():
            calls = [counted(data)[1] for data in (small, large)]
        assert calls[1] <= 4 * calls[0]
    assert counted(large)[1] < 40_000, "a plain log takes fewer calls than it has rows"


@pytest.mark.parametrize("wide", ["9" * 9_000, "2026-05-01 10:00" + " " * 9_000, "." * 9_000])
def test_one_wide_cell_among_many_narrow_ones_costs_no_room(wide: str) -> None:
    """A table as wide as its widest cell would take gigabytes."""
    head = "t;temp\n" + "2026-05-01 10:00;4\n" * 20
    data = f"{head}{'2026-05-01 10:00;4' + chr(10)}{wide};{wide[:900]}\n{'1;1' + chr(10) * 100_000}"
    tracemalloc.start()
    try:
        outcome(data.encode(), None)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < MOST_BYTES_PER_BYTE * len(data) + 20e6
