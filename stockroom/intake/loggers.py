"""A logger's file to readings in UTC, with a look at what was understood before it is kept."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stockroom.core.climate.readings import AMBIGUOUS, FLAG_WORDS, OUT_OF_ORDER, Readings
from stockroom.errors import ImportProblem, Problem
from stockroom.intake import dates
from stockroom.intake.files import sha256_hex, to_text
from stockroom.intake.judge import (
    HIGHEST_C,
    LOWEST_C,
    flag_jumps,
    gaps,
    humidity_pct,
    judge,
    keep_warmest,
)
from stockroom.intake.layout import find_layout
from stockroom.intake.log_columns import Unit
from stockroom.intake.log_rows import Notes, read_rows
from stockroom.intake.log_times import read_times
from stockroom.intake.tidy import join_quoted, plain_months
from stockroom.intake.walltime import zone_of
from stockroom.plain_files import shown_name
from stockroom.text import safe

Ints = NDArray[np.int64]

SEVERAL_LEAST = 3
"""Times with several values from which a file may hold several probes (our choice)."""
LIKELY_F_FROM_C = 30.0
"""Median from which a file without a unit is suspected to be in °F, °C (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class LogFile:
    """Readings of a logger's file and how they were understood.

    Attributes
    ----------
    name, sha256, encoding, delimiter : str
        The file; the digest is of its bytes.
    readings : Readings
        UTC, strictly rising; where a time came twice, the warmer.
    time_columns, ignored_columns : tuple of str
        Headers of the columns the time was read from, and of those left aside.
    rh_column : str or None
    unit, unit_known_by : str
        °C or °F; "header" (its own, or a line above the table), "cells", "given" or
        "assumed".
    zone, zone_known_by : str
        "given", "the header" or "the times"; with the latter two the file's own offset was used.
    date_order, order_known_by : str
        "year first", "day first" or "month first", and what proves it.
    newest_first : bool
        The file runs backwards in time.
    median_step_s : float
        Median step between usable readings, s; 0 with fewer than two.
    gap_count, longest_gap_s : int
        Steps between usable readings over 2.5 median steps; the longest, s.
    rows_read : int
        Rows with a time.
    rows_refused : int
        Rows whose temperature could not be used.
    duplicate_rows, duplicates_differing : int
        Rows dropped because their time came before; times that came with different values.
    shifted_rows : int
        Rows with a time that summer time skips, shifted forward.
    settled_rows : int
        Rows in an hour that comes twice, settled by their order.
    flag_counts : mapping of int to int
        Readings by flag, only those that occur.
    problems : tuple of Problem
        What a person should know, by line.
    """

    name: str
    sha256: str
    encoding: str
    delimiter: str
    readings: Readings
    time_columns: tuple[str, ...]
    temp_column: str
    rh_column: str | None
    ignored_columns: tuple[str, ...]
    unit: Unit
    unit_known_by: str
    zone: str
    zone_known_by: str
    date_order: dates.Order
    order_known_by: str
    newest_first: bool
    median_step_s: float
    gap_count: int
    longest_gap_s: int
    rows_read: int
    rows_refused: int
    duplicate_rows: int
    duplicates_differing: int
    shifted_rows: int
    settled_rows: int
    flag_counts: Mapping[int, int]
    problems: tuple[Problem, ...]

    @property
    def unit_in_doubt(self) -> bool:
        """Whether no unit stands in the file, and its values look like °F."""
        warm = float(np.nanmedian(self.readings.temp_c)) > LIKELY_F_FROM_C
        return self.unit_known_by == "assumed" and warm

    @property
    def first_s(self) -> int:
        """The first reading's instant, s UTC."""
        return int(self.readings.t_s[0])

    @property
    def last_s(self) -> int:
        """The last reading's instant, s UTC."""
        return int(self.readings.t_s[-1])

    @property
    def flag_words(self) -> dict[str, int]:
        """Readings by the words of their flags."""
        return {FLAG_WORDS[flag]: count for flag, count in self.flag_counts.items()}


def read_log(
    data: bytes,
    *,
    zone: str,
    day_first: bool | None = None,
    unit: Unit | None = None,
    name: str = "",
) -> LogFile:
    """Return the readings of a logger's file, with a look at what was understood.

    Parameters
    ----------
    data : bytes
        The whole file: text parted by ``;`` ``,`` ``|`` or tabs.
    zone : str
        Name of the time zone in which the logger's clock runs; an offset in the file goes before.
    day_first : bool, optional
        Whether the day stands before the month, where the file does not prove it.
    unit : str, optional
        °C or °F, where the file does not say it.
    name : str
        The file's name, for the words of an error.

    Raises
    ------
    ImportProblem
        Where the file cannot be taken in; it says why and names the line.
    BadValueError
        Where `zone` is no time zone.

    >>> log = read_log(b"time,temp\\n2026-05-01 10:00,4.0\\n2026-05-01 10:10,4.5\\n", zone="UTC")
    >>> log.readings.temp_c.tolist(), log.median_step_s, log.unit_known_by
    ([4.0, 4.5], 600.0, 'assumed')
    """
    zone_of(zone)  # a wrong name is told before anything else
    content = to_text(data, name=name)
    text, named = plain_months(join_quoted(content.text))
    layout = find_layout(text, name=name)
    if unit is not None and layout.unit_known_by == "assumed":
        layout = replace(layout, unit=unit, unit_known_by="given")
    notes = Notes(list(layout.problems))
    table = read_rows(text, layout, notes, name)
    times = read_times(table, layout, zone, day_first, notes, name)
    turn = slice(None, None, -1 if times.newest_first else 1)
    table, t_s = table.turned(turn), times.t_s
    flag = np.where(times.ambiguous, AMBIGUOUS, 0).astype(np.uint8)
    flag[1:][t_s[1:] < np.maximum.accumulate(t_s)[:-1]] |= OUT_OF_ORDER

    by_time = np.argsort(t_s, kind="stable")
    line, t_s, flag = table.line[by_time], t_s[by_time], flag[by_time]
    rh_pct = table.rh_pct[by_time]
    temp_c = judge(table.temp[by_time], layout.unit, flag)
    refused = int(np.count_nonzero(np.isnan(temp_c)))
    if refused == len(temp_c):
        raise ImportProblem(
            f"{shown_name(name)} has no temperature that can be used.",
            f"None of its {refused} values in column {layout.headers[layout.temp_column]!r} is a "
            f"number from {LOWEST_C:.0f} to {HIGHEST_C:.0f} °C.",
            "Look at the column and at the sensor.",
            problems=notes.all(),
        )
    keep, differing = keep_warmest(t_s, temp_c, flag)
    _refuse_several_probes(differing & ((flag[keep] & AMBIGUOUS) == 0), line[keep], name)
    readings = Readings.of(t_s[keep], temp_c[keep], humidity_pct(rh_pct[keep]), flag[keep])
    flag_jumps(readings)
    step_s, gap_count, longest_gap_s = gaps(readings)
    if layout.unit_known_by == "assumed" and np.nanmedian(readings.temp_c) > LIKELY_F_FROM_C:
        notes.add(Problem(0, "no unit stands in the file; it was read as °C, but it looks like °F"))
    used = {*layout.time_columns, layout.temp_column, layout.rh_column}
    headers = layout.headers
    return LogFile(
        name=safe(name),
        sha256=sha256_hex(data),
        encoding=content.encoding,
        delimiter=layout.delimiter,
        readings=readings,
        time_columns=tuple(headers[i] for i in layout.time_columns),
        temp_column=headers[layout.temp_column],
        rh_column=None if layout.rh_column is None else headers[layout.rh_column],
        ignored_columns=tuple(header for i, header in enumerate(headers) if i not in used),
        unit=layout.unit,
        unit_known_by=layout.unit_known_by,
        zone=times.zone,
        zone_known_by=times.zone_known_by,
        date_order=times.order,
        order_known_by="the month is a word" if named else times.order_known_by,
        newest_first=times.newest_first,
        median_step_s=step_s,
        gap_count=gap_count,
        longest_gap_s=longest_gap_s,
        rows_read=len(by_time),
        rows_refused=refused,
        duplicate_rows=len(by_time) - len(readings),
        duplicates_differing=int(np.count_nonzero(differing)),
        shifted_rows=times.shifted,
        settled_rows=times.settled,
        flag_counts={
            bit: count
            for bit in FLAG_WORDS
            if (count := int(np.count_nonzero(readings.flag & bit)))
        },
        problems=notes.all(),
    )


def _refuse_several_probes(differing: NDArray[np.bool_], line: Ints, name: str) -> None:
    """Refuse a file whose times mostly come twice with different values."""
    count = int(np.count_nonzero(differing))
    if count >= SEVERAL_LEAST and 2 * count > len(differing):
        first = int(line[np.argmax(differing)])
        raise ImportProblem(
            f"{shown_name(name)} has most of its times twice with different values: line {first}.",
            "Several probes may stand in it one below the other; they must not be mixed.",
            "Export one probe at a time, or each in a column of its own.",
            problems=[Problem(first, "the same time as another line, with a different value")],
        )
