"""A quick first look at the booked prints, before the desk is open."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfoNotFoundError

from stockroom import clock
from stockroom.core.records import Job
from stockroom.store.glance import read_jobs


@dataclass(frozen=True, slots=True)
class Glance:
    """The booked prints as they are stored, soonest first, and the day at the workshop."""

    prints: tuple[Job, ...]
    today: date


def glance(store: str, *, now_s: Callable[[], int] = clock.now_s) -> Glance | None:
    """Return the booked prints, each row's seal checked; None where that cannot be done at once.

    It saves the second that opening the store and reckoning takes.

    Parameters
    ----------
    store : str
        As for `stockroom.desk.session.Desk.at`.
    now_s : callable
        Returns the present, seconds UTC.
    """
    read = read_jobs(store)
    if read is None:
        return None
    jobs, zone = read
    try:
        today = clock.local_date(now_s(), zone)
    except (ZoneInfoNotFoundError, ValueError):
        return None
    booked = [job for job in jobs if job.state == "booked" and job.to_print]
    return Glance(tuple(sorted(booked, key=lambda job: (job.print_on, job.code))), today)
