"""The booked prints before they are answered, so that something true is on the screen at once."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stockroom.text import safe
from stockroom.units import count_of, size_text
from tui.words import WHEN, Row, Target, columns, head, when

if TYPE_CHECKING:
    from stockroom.core.model import Job


def first_glance_rows(jobs: "Sequence[Job]", today: date, width: int) -> list[Row]:
    """Return booked prints as they are stored, the answers still being reckoned."""
    rows = [head("Prints booked")] if jobs else []
    for job in jobs:
        first = columns(
            [
                (when(job.print_on, today), WHEN, ""),
                (safe(job.name), width - WHEN - 31, "strong"),
                (size_text(job.width_dmm, job.height_dmm), -15, ""),
                (count_of(job.to_print, "print"), -10, ""),
            ]
        )
        second = (("… reckoning which roll, and whether it is good", "dim"),)
        rows.append(Row((first, second), key=f"print {job.code}", target=Target("print", job.code)))
    return rows
