"""Odd logger files, one of each kind, give the rows a person would read in them, or are refused.

What a file should give is written as a person would say it: times in UTC, the day where it changes,
values in °C, ``-`` for none, and the words for doubts. A refusal names its line; 0 stands for the
file as a whole.
"""

import codecs
import gzip
import io
import zipfile
from dataclasses import dataclass
from datetime import UTC, datetime

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
from stockroom.intake.loggers import LogFile, read_log

FLAGS = {
    "none": NOT_A_NUMBER,
    "fault": FAULT_CODE,
    "range": OUT_OF_RANGE,
    "double": DUPLICATE,
    "order": OUT_OF_ORDER,
    "twice": AMBIGUOUS,
    "jump": JUMP,
}
PLAIN = "2026-05-01 10:00;4.0\n2026-05-01 10:10;4.1\n"
"""Two rows, and what they give."""
GIVES = "05-01 10:00 4.0, 10:10 4.1"


@dataclass(frozen=True)
class Odd:
    """A file, how it is asked to be read, what it gives and what a person is told of it."""

    data: str | bytes
    gives: str
    zone: str = "UTC"
    day_first: bool | None = None
    told: str = ""
    rh: str = ""


def zipped() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("sheet1.xml", "<row/>")
    return stream.getvalue()


def text(header: str, *rows: str) -> str:
    return "\n".join([header, *rows, ""])


READ = {
    # encodings and line ends
    "utf-8 with its mark": Odd(codecs.BOM_UTF8 + f"time;temp °C\n{PLAIN}".encode(), GIVES),
    "utf-16 little end first": Odd(
        codecs.BOM_UTF16_LE + f"time;temp °C\n{PLAIN}".encode("utf-16-le"), GIVES
    ),
    "utf-16 big end first": Odd(
        codecs.BOM_UTF16_BE + f"time;temp °C\n{PLAIN}".encode("utf-16-be"), GIVES
    ),
    "utf-16 without its mark": Odd(f"time;temp °C\n{PLAIN}".encode("utf-16-le"), GIVES),
    "windows-1252": Odd(f"Zeit;Temp. °C\n{PLAIN}".encode("cp1252"), GIVES),
    "a degree sign of an old code page": Odd(
        b"time;temp (\xf8F)\n2026-05-01 10:00;39.2\n2026-05-01 10:10;32\n",
        "05-01 10:00 4.0, 10:10 0.0",
    ),
    "a degree sign that became a question": Odd(
        text("time;temp (\ufffdF)", "2026-05-01 10:00;50"), "05-01 10:00 10.0"
    ),
    "carriage returns alone": Odd(f"time;temp °C\n{PLAIN}".replace("\n", "\r"), GIVES),
    "line ends of both kinds": Odd(
        "time;temp °C\r\n2026-05-01 10:00;4.0\n2026-05-01 10:10;4.1\r\n", GIVES
    ),
    "an end mark of old systems": Odd(f"time;temp °C\n{PLAIN}\x1a", GIVES),
    "blanks that do not break": Odd(
        f"time;temp °C\n{PLAIN}".replace(" 10", "\u00a010").replace("4.1", "4.1\u202f°C"), GIVES
    ),
    # delimiters, decimal signs, quotes
    "commas": Odd(f"time;temp °C\n{PLAIN}".replace(";", ","), GIVES),
    "tabs and decimal commas": Odd(
        f"time;temp °C\n{PLAIN}".replace(".", ",").replace(";", "\t"), GIVES
    ),
    "upright strokes": Odd(f"time;temp °C\n{PLAIN}".replace(";", " | "), GIVES),
    "semicolons and decimal commas": Odd(f"time;temp °C\n{PLAIN}".replace(".", ","), GIVES),
    "quoted decimal commas between commas": Odd(
        text("time,temp °C", '2026-05-01 10:00,"4,0"', '2026-05-01 10:10,"4,1"'), GIVES
    ),
    "every cell in quotes": Odd(
        text('"time";"temp °C"', '"2026-05-01 10:00";"4.0"', '"2026-05-01 10:10";"4.1"'), GIVES
    ),
    "a header cell over two lines": Odd(
        text(
            '"time";"temp',
            '°F";"RH"',
            "2026-05-01 10:00;39.2;55",
            "2026-05-01 10:10;41;56",
        ),
        "05-01 10:00 4.0, 10:10 5.0",
        rh="55 56",
    ),
    "a remark over two lines": Odd(
        text(
            "time;temp °C;remark",
            '2026-05-01 10:00;4.0;"door',
            'left ""open"""',
            "2026-05-01 10:10;4.1;",
        ),
        GIVES,
    ),
    "delimiters at the ends of lines": Odd(
        text("time;temp °C;", "2026-05-01 10:00;4.0;", "2026-05-01 10:10;4.1;"), GIVES
    ),
    "blanks around cells": Odd(
        text("time ; temp °C", " 2026-05-01 10:00 ;  4.0", "2026-05-01 10:10; 4.1 "), GIVES
    ),
    "thousands separators beside the temperature": Odd(
        text("time;pressure hPa;temp °C", '2026-05-01 10:00;"1.013,2";4,0')
        + "2026-05-01 10:10;1.013,1;4,1\n",
        GIVES,
    ),
    # what stands around the table
    "words above the table": Odd(
        text("Report, of the store; 12 pages", "Serial: 4711", "", "alarm;8.0", "time;temp °C")
        + PLAIN,
        GIVES,
    ),
    "no header": Odd(PLAIN, GIVES, told="by its values alone"),
    "units in a row of their own": Odd(
        text("Time;Inside;Moisture", ";°F;%", "2026-05-01 10:00;39.2;50"),
        "05-01 10:00 4.0",
        rh="50",
    ),
    "lines of a summary below": Odd(
        f"time;temp °C\n{PLAIN}\nMinimum;4.0\nMaximum;4.1\nEnd of data\n", GIVES, told="line 5"
    ),
    "a rule and a signature below": Odd(
        f"time;temp °C\n{PLAIN}-----;-----\nprinted 2026-05-02 08:00\n", GIVES, told="line 4"
    ),
    "two exports pasted together": Odd(
        f"time;temp °C\n{PLAIN}\n;\ntime;temp °C\n2026-05-01 10:20;4.2\n", f"{GIVES}, 10:20 4.2"
    ),
    "one row": Odd(text("time;temp °C", "2026-05-01 10:00;4.0"), "05-01 10:00 4.0"),
    "no line end after the last row": Odd(f"time;temp °C\n{PLAIN}".rstrip(), GIVES),
    # times
    "date and time in two columns": Odd(
        text("Date;Time;temp °C", "13.05.2026;10:00;4,0", "13.05.2026;10:10;4,1"),
        "05-13 10:00 4.0, 10:10 4.1",
    ),
    "the time before the date": Odd(
        text("Time;Date;temp °C", "10:00;13.05.2026;4,0", "10:10;13.05.2026;4,1"),
        "05-13 10:00 4.0, 10:10 4.1",
    ),
    "a clock of twelve hours": Odd(
        text(
            "time,temp °C",
            "5/13/2026 11:30 AM,4.0",
            "5/13/2026 12:00 PM,4.1",
            "5/13/2026 11:30 PM,4.2",
            "5/14/2026 12:00 AM,4.3",
        ),
        "05-13 11:30 4.0, 12:00 4.1, 23:30 4.2, 05-14 00:00 4.3",
    ),
    "am and pm in small letters with points": Odd(
        text("time;temp °C", "2026-05-01 9:59:30 a.m.;4.0", "2026-05-01 1:00:30 p.m.;4.1"),
        "05-01 09:59:30 4.0, 13:00:30 4.1",
    ),
    "am and pm in a column of their own": Odd(
        text("Date;Time;;temp °C", "2026-05-01;11:50;AM;4.0", "2026-05-01;12:10;PM;4.1")
        + "2026-05-01;1:10;PM;4.2\n",
        "05-01 11:50 4.0, 12:10 4.1, 13:10 4.2",
    ),
    "seconds in some rows": Odd(
        text("time;temp °C", "2026-05-01 10:00;4.0", "2026-05-01 10:10:30;4.1"),
        "05-01 10:00 4.0, 10:10:30 4.1",
    ),
    "parts of seconds": Odd(
        text("time;temp °C", "2026-05-01T10:00:00.250;4.0", "2026-05-01T10:10:00,750;4.1"), GIVES
    ),
    "midnight written as 24:00": Odd(
        text("time;temp °C", "2026-05-01 23:50;4.0", "2026-05-01 24:00;4.1"),
        "05-01 23:50 4.0, 05-02 00:00 4.1",
    ),
    "iso with Z": Odd(
        text("time;temp °C", "2026-05-01T10:00:00Z;4.0", "2026-05-01T10:10:00Z;4.1"),
        GIVES,
        zone="Asia/Tokyo",
    ),
    "iso with an offset of quarters of an hour": Odd(
        text("time;temp °C", "2026-05-01T10:00:00+05:45;4.0", "2026-05-01T10:10:00+05:45;4.1"),
        "05-01 04:15 4.0, 04:25 4.1",
    ),
    "offsets that follow summer time": Odd(
        text("time;temp °C", "2025-10-26T02:30:00+02:00;4.0", "2025-10-26T02:00:00+01:00;4.1"),
        "2025-10-26 00:30 4.0, 01:00 4.1",
    ),
    "an offset in a column of its own": Odd(
        text("time;zone;temp °C", "2026-05-01 12:00;UTC+2;4.0", "2026-05-01 12:10;UTC+2;4.1"),
        GIVES,
    ),
    "an offset in the header": Odd(
        text("time (GMT-05:00);temp °C", "2026-05-01 05:00;4.0", "2026-05-01 05:10;4.1"), GIVES
    ),
    "a zone named above the table": Odd(
        f"Time zone;(UTC+09:00)\ntime;temp °C\n{PLAIN}", GIVES, told="line 1"
    ),
    "unix seconds": Odd(text("unix time;temp °C", "1777629600;4.0", "1777630200;4.1"), GIVES),
    "unix milliseconds": Odd(
        text("Epoch,temp °C", "1777629600000,4.0", "1777630200000,4.1"), GIVES, zone="Asia/Tokyo"
    ),
    "months as words": Odd(
        text("time;temp °C", "1 May 2026 10:00;4.0", "1 May 2026 10:10;4.1"), GIVES
    ),
    "months as words before the day": Odd(
        text("time,temp °C", '"May 1, 2026 10:00 AM",4.0', '"May 1, 2026 10:10 AM",4.1'), GIVES
    ),
    # which number is what
    "a day over twelve": Odd(
        text("time;temp °C", "12/05/2026 23:50;4.0", "13/05/2026 00:00;4.1"),
        "05-12 23:50 4.0, 05-13 00:00 4.1",
    ),
    "an order that a person gives": Odd(
        text("time;temp °C", "05/01/2026 10:00;4.0", "05/01/2026 10:10;4.1"), GIVES, day_first=False
    ),
    "years of two digits over midnight": Odd(
        text("time;temp °C", "30.05.26 22:00;4.0", "30.05.26 23:00;4.1", "31.05.26 00:00;4.2"),
        "05-30 22:00 4.0, 23:00 4.1, 05-31 00:00 4.2",
    ),
    "years of two digits that stand first": Odd(
        text("time;temp °C", "26-05-30 22:00;4.0", "26-05-30 23:00;4.1", "26-05-31 00:00;4.2"),
        "05-30 22:00 4.0, 23:00 4.1, 05-31 00:00 4.2",
    ),
    "years of two digits with the order given": Odd(
        text("time;temp °C", "01/05/26 10:00;4.0", "01/05/26 10:10;4.1"), GIVES, day_first=True
    ),
    # summer time
    "the hour that comes twice": Odd(
        text("t;temp °C", *(f"2025-10-26 0{at};4" for at in ("1:30", "2:00", "2:30"))),
        "2025-10-25 23:30 4, 10-26 00:00 4 twice, 00:30 4 twice",
        zone="Europe/Berlin",
    ),
    "the hour that comes twice, as recorded": Odd(
        text(
            "t;temp °C",
            *(
                f"2025-10-26 0{at};{4 + i / 10}"
                for i, at in enumerate(("1:30", "2:00", "2:30", "2:00", "2:30", "3:00"))
            ),
        ),
        "2025-10-25 23:30 4.0, 10-26 00:00 4.1, 00:30 4.2, 01:00 4.3, 01:30 4.4, 02:00 4.5",
        zone="Europe/Berlin",
    ),
    "the hour that comes twice, sorted": Odd(
        text(
            "t;temp °C",
            *(
                f"2025-10-26 0{at};{4 + i / 10}"
                for i, at in enumerate(("1:30", "2:00", "2:00", "2:30", "2:30", "3:00"))
            ),
        ),
        "2025-10-25 23:30 4.0, 10-26 00:00 4.2 double twice, 00:30 4.4 double twice, 02:00 4.5",
        zone="Europe/Berlin",
    ),
    "an hour that is skipped": Odd(
        text("t;temp °C", "2025-03-30 01:30;4", "2025-03-30 02:30;5"),
        "2025-03-30 00:30 4, 01:30 5",
        zone="Europe/Berlin",
        told="line 3",
    ),
    # columns
    "fahrenheit in the header": Odd(
        text("time;temp °F", "2026-05-01 10:00;50"), "05-01 10:00 10.0"
    ),
    "fahrenheit in the cells": Odd(
        text("time;value", "2026-05-01 10:00;50 °F", "2026-05-01 10:10;32F"),
        "05-01 10:00 10.0, 10:10 0.0",
    ),
    "fahrenheit in a column of its own": Odd(
        text("time;temp;unit", "2026-05-01 10:00;50;F", "2026-05-01 10:10;32;F"),
        "05-01 10:00 10.0, 10:10 0.0",
    ),
    "fahrenheit above the table": Odd(
        text("Temperature unit;F", "time;temp", "2026-05-01 10:00;50"), "05-01 10:00 10.0"
    ),
    "fahrenheit that nothing names": Odd(
        text("time;temp", "2026-05-01 10:00;68", "2026-05-01 10:10;68"),
        "05-01 10:00 68, 10:10 68",
        told="looks like °F",
    ),
    "humidity with its sign": Odd(
        text("time;RH;temp", "2026-05-01 10:00;55 %;4.0 °C", "2026-05-01 10:10;101 %;4.1 °C"),
        GIVES,
        rh="55 100",
    ),
    "several channels": Odd(
        text(
            "No.;time;dew point °C;temp 1 °C;temp 2 °C;alarm °C",
            "1;2026-05-01 10:00;-2;4.0;21;8",
            "2;2026-05-01 10:10;-2;4.1;21;8",
        ),
        GIVES,
        told="left aside",
    ),
    # values
    "a sensor that does not answer": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{v}" for i, v in enumerate((4, -127, 5)))),
        "05-01 10:00 4, 10:10 - fault, 10:20 5",
    ),
    "full words of a converter": Odd(
        text(
            "time;temp °C",
            *(
                f"2026-05-01 10:{i}0;{v}"
                for i, v in enumerate((4, "3276,7", "-3276,8", "6553,5", "999", "999.9"))
            ),
        ),
        "05-01 10:00 4, 10:10 - fault, 10:20 - fault, 10:30 - fault, 10:40 - fault, 10:50 - fault",
    ),
    "85 alone": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{v}" for i, v in enumerate((85, 4, 85, 4)))),
        "05-01 10:00 - fault, 10:10 4, 10:20 - fault, 10:30 4",
    ),
    "85 on the way up": Odd(
        text("time;temp °C", *(f"2026-05-01 1{i}:00;{v}" for i, v in enumerate((69, 85, 68)))),
        "05-01 10:00 69, 11:00 - range, 12:00 68",
    ),
    "cells without a number": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{v}" for i, v in enumerate((4, "", "---", 5)))),
        "05-01 10:00 4, 10:10 - none, 10:20 - none, 10:30 5",
        told="line 4",
    ),
    "a cell in another unit": Odd(
        text("time;temp °C", "2026-05-01 10:00;4.0 °C", "2026-05-01 10:10;40 °F"),
        "05-01 10:00 4.0, 10:10 - none",
        told="not in °C",
    ),
    "signs as printed": Odd(
        text("time;temp °C", "2026-05-01 10:00;\u22124,5", "2026-05-01 10:10;+,5"),
        "05-01 10:00 -4.5, 10:10 0.5",
    ),
    "a jump": Odd(
        text("time;temp °C", "2026-05-01 10:00;4", "2026-05-01 10:01;19", "2026-05-01 10:02;19"),
        "05-01 10:00 4, 10:01 19 jump, 10:02 19",
    ),
    # order of rows
    "newest first": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{i}" for i in (3, 2, 1, 0))),
        "05-01 10:00 0, 10:10 1, 10:20 2, 10:30 3",
    ),
    "rows out of order": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{i}" for i in (0, 2, 1, 3))),
        "05-01 10:00 0, 10:10 1 order, 10:20 2, 10:30 3",
    ),
    "the same row twice": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{i}" for i in (0, 1, 1, 2))),
        "05-01 10:00 0, 10:10 1 double, 10:20 2",
    ),
    "one time with two values": Odd(
        text("time;temp °C", *(f"2026-05-01 10:{i}0;{v}" for i, v in ((0, 4), (1, 6), (1, 5)))),
        "05-01 10:00 4, 10:10 6 double",
    ),
}

REFUSED: dict[str, tuple[str | bytes, int, str]] = {
    # no text
    "an empty file": (b"", 0, "empty"),
    "blank lines": (b" \r\n\t\n", 0, "empty"),
    "bytes of anything": (bytes(range(1, 256)) * 20, 2, "as text"),
    "a zipped workbook": (zipped(), 0, "a workbook or a zip archive"),
    "a packed file": (gzip.compress(PLAIN.encode(), mtime=0), 0, "gzip"),
    "a web page": ("<!DOCTYPE html><p>Sign in</p>", 0, "web page"),
    "bytes that no letter has": (b"time;temp \x81\n" + PLAIN.encode(), 1, "as text"),
    "NUL bytes at the end": (PLAIN.encode() + bytes(40), 3, "NUL"),
    "a line without an end": (f"time;temp\n{PLAIN}{'4.0;' * 9_000}", 4, "too long"),
    # no table
    "only a header": ("time;temp °C\n", 0, "no rows of readings"),
    "days without times": (text("day;temp", "2026-05-01;4", "2026-05-02;5"), 0, "no rows"),
    "times without days": (text("time;temp", "10:00;4", "10:10;5"), 0, "no rows of readings"),
    "day numbers of a spreadsheet": (text("time;temp", "46143.4167;4", "46143.42;5"), 0, "no rows"),
    "ten digits that nothing names": (text("no.;temp °C", "1777629600;4"), 2, "no date and time"),
    "times and no number": (text("time;door", "2026-05-01 10:00;open"), 2, "no temperature column"),
    "humidity alone": (text("time;RH %", "2026-05-01 10:00;50"), 0, "no temperature column"),
    # unclear columns
    "two numbers and no header": (
        "2026-05-01 10:00;55;4\n2026-05-01 10:10;56;5\n", 1, "which column",
    ),
    "decimal commas between commas": (
        text("time,temp,RH", "2026-05-01 10:00,4,5,55", "2026-05-01 10:10,4,6,55"), 2, "more cells",
    ),
    "decimal commas between commas and no header": (
        "2026-05-01 10:00,4,5\n2026-05-01 10:10,4,7\n", 1, "which column",
    ),
    "both units in the header": (text("time;temp °C/°F", "2026-05-01 10:00;40"), 1, "both"),
    "both units above the table": (
        text("shown in;°C", "saved in;°F", "time;temp", "2026-05-01 10:00;40"), 2, "both",
    ),
    "probes one below the other": (
        text("time;probe;temp °C",
             *(f"2026-05-01 10:{i}0;{p};{v}" for i in range(4) for p, v in (("a", 4), ("b", 20)))),
        3, "twice with different values",
    ),
    "thousands separators in the temperature": (
        text("t;temp °C", "2026-05-01 10:00;1,004.5", "2026-05-01 10:10;1,004.6"), 2, "no number",
    ),
    # unclear times
    "day or month": (
        text("time;temp", "03/04/2026 10:00;4", "03/04/2026 10:10;4"), 0, "which number is the day",
    ),
    "readings that are daily or monthly": (
        text("time;temp", "05/01/2026 10:00;4", "05/02/2026 10:00;4"), 0, "which number is the day",
    ),
    "two orders in one file": (
        text("time;temp", "13/05/2026 10:00;4", "05/13/2026 10:10;4"), 3, "the time on line 3",
    ),
    "years of two digits on one day": (text("time;temp", "25/05/26 10:00;4"), 2, "two digits"),
    "a clock of twelve hours that does not say which": (
        text("time;temp °C", *(f"2026-05-01 {h}:00;4" for h in (10, 11, 12, 1, 2))), 5, "line 5",
    ),
    "am or pm in some rows": (
        text("time;temp °C", "2026-05-01 10:00 AM;4", "2026-05-01 11:00 AM;4")
        + "2026-05-01 12:00;4\n", 4, "line 4",
    ),
    "an offset in some rows": (
        text("time;temp °C", "2026-05-01T10:00Z;4", "2026-05-01T11:00;4", "2026-05-01T12:00Z;4"),
        3, "line 3",
    ),
    "midnight beside a column of times": (
        text("Date;Time;temp °C", "2026-05-01 00:00;10:00;4", "2026-05-01 00:00;10:10;4"),
        2, "two columns",
    ),
    "the 30th of February": (text("time;temp", "2026-02-28 10:00;4", "2026-02-30 10:00;4"), 3, ""),
    "25 o'clock": (text("time;temp", "2026-05-01 10:00;4", "2026-05-01 25:00;4"), 3, "line 3"),
    "13 PM": (text("time;temp", "2026-05-01 10:00 AM;4", "2026-05-01 13:00 PM;4"), 3, "line 3"),
    "a clock that was not set": (
        text("time;temp", "1970-01-01 00:10;4", "2026-05-01 10:00;4"), 2, "1970",
    ),
    "forty years": (text("time;temp", "1984-05-01 10:00;4", "2026-05-01 10:00;4"), 2, "40 years"),
    # damage
    "a line of words among the readings": (f"{PLAIN}door opened\n{PLAIN}", 3, "line 3"),
    "a last reading that lost its time beside words": (
        text("probe;time;temp °C", "low;2026-05-01 10:00;4", "low;;5"), 3, "line 3",
    ),
    "a last line that was cut": (
        text("time;temp;RH", *(f"2026-05-01 10:{i}0;4;50" for i in range(5))) + "2026-05-01 1",
        7, "cut",
    ),
    "a quote that is not closed": (f'time;temp\n2026-05-01 10:00;"4\n{PLAIN}', 2, "quote"),
    "a quote that would swallow a reading": (
        text("time;temp;remark", '2026-05-01 10:00;4;"door', "2026-05-01 10:10;4;", 'open";;'),
        2, "quote",
    ),
    "faults and nothing else": (
        text("time;temp °C", "2026-05-01 10:00;-127", "2026-05-01 10:10;-127"), 0, "can be used",
    ),
}  # fmt: skip


def wanted(gives: str) -> list[tuple[int, float, int]]:
    """Return instants, temperatures and flags from what a person would say."""
    rows = []
    day = ""
    for said in gives.split(", "):
        words = said.split()
        if "-" in words[0][1:]:
            day = words.pop(0)
            day = day if len(day) > 5 else (f"{gives[:4]}-{day}" if gives[4] == "-" else day)
            day = day if len(day) > 5 else f"2026-{day}"
        at = datetime.fromisoformat(f"{day} {words[0]}").replace(tzinfo=UTC)
        value = float("nan") if words[1] == "-" else float(words[1])
        rows.append((int(at.timestamp()), value, sum(FLAGS[word] for word in words[2:])))
    return rows


def read(odd: Odd) -> LogFile:
    data = odd.data.encode() if isinstance(odd.data, str) else odd.data
    return read_log(data, zone=odd.zone, day_first=odd.day_first, name="odd.csv")


@pytest.mark.parametrize("name", READ)
def test_an_odd_log_gives_the_rows_a_person_reads_in_it(name: str) -> None:
    """Instants, values, flags, humidity, and what a person is told."""
    odd = READ[name]
    log = read(odd)
    t_s, temp_c, flag = zip(*wanted(odd.gives), strict=True)
    assert log.readings.t_s.tolist() == list(t_s)
    assert log.readings.temp_c.tolist() == pytest.approx(list(temp_c), nan_ok=True)
    assert log.readings.flag.tolist() == list(flag)
    assert log.readings.rh_pct[~np.isnan(log.readings.rh_pct)].tolist() == [
        float(cell) for cell in odd.rh.split()
    ]
    assert odd.told in " ".join(map(str, log.problems))


@pytest.mark.parametrize("name", REFUSED)
def test_an_odd_log_is_refused_with_its_line(name: str) -> None:
    """The refusal says what, why and what to try, and names the line if it is one line's fault."""
    data, line, word = REFUSED[name]
    with pytest.raises(ImportProblem) as caught:
        read_log(data.encode() if isinstance(data, str) else data, zone="UTC", name="odd.csv")
    problem = caught.value
    assert problem.what.startswith("odd.csv")
    assert problem.why
    assert problem.try_
    assert word in str(problem)
    assert (problem.problems[0].line if problem.problems else 0) == line


def test_gaps_are_counted_where_readings_are_missing() -> None:
    """Forty minutes without a reading in a log of ten minutes are one gap, faults included."""
    values = {"10:00": 4, "10:10": 4, "10:20": 4, "10:30": -127, "11:00": 4, "11:10": 4}
    rows = (f"2026-05-01 {at};{value}" for at, value in values.items())
    log = read(Odd(text("time;temp °C", *rows), ""))
    assert (log.median_step_s, log.gap_count, log.longest_gap_s) == (600, 1, 2400)


def test_there_are_sixty_odd_logs_and_more() -> None:
    """Counted, so that none is lost by a name that is used twice."""
    assert len(READ) >= 70
    assert len(REFUSED) >= 40
