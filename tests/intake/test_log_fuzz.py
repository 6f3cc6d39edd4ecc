"""Whatever is done to a logger's file, it is read or refused in words, in bounded time."""

import contextlib
import os
import random
import time

import numpy as np
import pytest

from stockroom.errors import ImportProblem
from stockroom.intake.loggers import read_log

RUNS = int(os.environ.get("STOCKROOM_FUZZ_RUNS", "500"))
SLOWEST_S = 2.0

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
)
TOKENS = (
    b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b"\x81", b'"', b";", b",", b"\t", b"\r", b"\n\n", b"-127",
    b"NaN", b"1e308", b"1e999", b"9999", b"0000-00-00", b"99/99/9999 99:99", b"24:00", b"AM", b"Z",
    b"+99:99", b"+14:00", b"\xe2\x88\x92", b"\xd9\xa3", b"\x1b[2J", b"=1+1", b"9" * 60, b"." * 60,
    b" " * 60, b"PK\x03\x04", b"2026-02-29 10:00", b"1980-01-01 00:00", b"2100-12-31 23:59",
)  # fmt: skip


def mutated(random_: random.Random) -> bytes:
    """Return a seed with cells, rows or bytes changed, in one of three encodings."""
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
    data = bytearray("\n".join(lines).encode(random_.choice(["utf-8", "utf-8", "utf-16"])))
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


def test_mutated_logs_are_read_or_refused_in_words() -> None:
    """Only the one import error escapes; what is read rises in time and holds only temperatures."""
    random_ = random.Random(20_260_501)
    told: list[tuple[str, str, str]] = []
    read = 0
    for _ in range(RUNS):
        data = mutated(random_)
        started = time.perf_counter()
        try:
            log = read_log(
                data, zone="Europe/Berlin", day_first=random_.choice([None, True, False])
            )
        except ImportProblem as problem:
            told.append((problem.what, problem.why, problem.try_))
        else:
            read += 1
            assert np.all(np.diff(log.readings.t_s) > 0)
            usable = log.readings.temp_c[~np.isnan(log.readings.temp_c)]
            assert len(usable)
            assert np.all((usable >= -60) & (usable <= 70))
            assert np.all(np.isnan(log.readings.temp_c) == ((log.readings.flag & 7) != 0))
        assert time.perf_counter() - started < SLOWEST_S
    assert read > RUNS // 10
    assert len(told) > RUNS // 10
    assert all(all(words) for words in told)


@pytest.mark.parametrize(
    "line",
    ["." * 9_000, "1" * 9_000, " " * 4_000 + ";" * 4_000, '"' * 9_000, "-:/" * 3_000, "°" * 9_000,
     ";".join(["2026-05-01 10:00"] * 500), "1;" * 4_500, "(" * 9_000],
)  # fmt: skip
def test_absurd_lines_cost_no_more_than_their_length(line: str) -> None:
    """Patterns that could run away are fed what would make them; 300 such lines stay bounded."""
    started = time.perf_counter()
    for text in (f"{line}\n" * 300, f"t;temp\n2026-05-01 10:00;4\n{line}\n" * 100):
        with contextlib.suppress(ImportProblem):
            read_log(text.encode(), zone="UTC", day_first=True)
    assert time.perf_counter() - started < 5.0
