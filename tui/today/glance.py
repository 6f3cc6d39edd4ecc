"""The booked prints before they are answered, so that something true is on the screen at once."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stockroom.text import safe
from stockroom.units import count_of, size_text
from tui.words import WHEN, Line, Row, Target, columns, head, say, when

if TYPE_CHECKING:
    from stockroom.core.records import Job


def first_glance_rows(jobs: "Sequence[Job]", today: date, width: int) -> list[Row]:
    """Return booked prints as they are stored, the answers still being reckoned."""
    rows = [head("Prints booked")] if jobs else []
    for job in jobs:
        second = say("… reckoning which roll, and whether it is good", "dim")
        lines = (print_line(job, today, width), second)
        rows.append(Row(lines, key=f"print {job.code}", target=Target("print", job.code)))
    return rows


def print_line(job: "Job", today: date, width: int) -> Line:
    """Return a booked print in a line: when, what, how large, how many."""
    return columns(
        [
            (when(job.print_on, today), WHEN, ""),
            (safe(job.name), width - WHEN - 31, "strong"),
            (size_text(job.width_dmm, job.height_dmm), -15, ""),
            (count_of(job.to_print, "print"), -10, ""),
        ]
    )
