"""Making: booking prints, putting stock by for them, closing jobs."""

from datetime import date
from typing import Any

from stockroom.core.records import Job, JobState, PutBy, Unit
from stockroom.desk.lookup import find
from stockroom.desk.session import Decision, Desk, Done
from stockroom.desk.work import jobs
from stockroom.desk.work.jobs import JobSaid
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.mapping import select_records
from stockroom.store.view import PUT_BY
from stockroom.units import LONGEST_DMM


def book(
    desk: Desk,
    name: str,
    width_dmm: int,
    height_dmm: int,
    print_on: date,
    material: str,
    *,
    count: int = 1,
    series: bool = False,
    key: str | None = None,
) -> Done:
    """Book prints of one size on one material for a day.

    Parameters
    ----------
    name : str
        What the work is called.
    width_dmm, height_dmm : int
        Size of the print, tenths of a millimetre.
    print_on : date
        The day on which it is to be exposed.
    material : str
        The paper, by code or name.
    count : int
        How many.
    series : bool
        Whether all of them must come from one emulsion.
    """
    said = JobSaid(
        name=name,
        width_dmm=width_dmm,
        height_dmm=height_dmm,
        print_on=print_on,
        material=material,
        count=count,
        series=series,
    )
    return jobs.book(desk, said, key=key)


def put_by(
    desk: Desk, unit: str, job: str, amount: int | None = None, *, key: str | None = None
) -> Done:
    """Set an amount of a unit, or all that is free of it, aside for a job.

    Raises
    ------
    RefusedError
        Where it is on hold, not in stock, or not that much is free.
    """

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Unit, unit)
        taken = sum(put.qty for put in decision.view.put_bys(found.code))
        free = (found.qty - taken) // max(1, found.measure)
        return {
            "code": decision.head.born(),
            "unit": found.code,
            "job": _booked(decision, job).code,
            "amount": max(1, free) if amount is None else amount,
        }

    if amount is not None and not 0 < amount <= LONGEST_DMM:
        raise BadValueError("The amount must be above zero.", try_="Look at the number.")
    return desk.act("put by", {"unit": unit, "job": job, "amount": amount}, build, key=key)


def _booked(decision: Decision, said: str) -> Job:
    """A job that is still to be done: nothing is promised to one that is over."""
    job = find(decision.view, Job, said)
    if job.state != "booked":
        raise RefusedError(
            f"{job.name} is {job.state}; nothing is reserved for it.",
            try_="Look at the job's name; or undo what closed it.",
        )
    return job


def let_go(desk: Desk, put: str, *, key: str | None = None) -> Done:
    """Free what was put by."""

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, PutBy, put)
        if not found.open:
            raise RefusedError(f"{found.code} is not reserved any more.", try_="Look at the unit.")
        return {"put_by": found.code}

    return desk.act("let go", {"put_by": put}, build, key=key)


def close_job(desk: Desk, job: str, state: JobState, *, key: str | None = None) -> Done:
    """Call a job done or cancelled; what was put by for it is free again."""

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Job, job)
        if found.state != "booked":
            raise RefusedError(
                f"{found.name} ({found.code}) is {found.state} already.",
                try_="If that was wrong, take that act back: stockroom undo --list.",
            )
        puts = select_records(
            decision.connection,
            PutBy,
            PUT_BY.c.job == found.code,
            PUT_BY.c.open.is_(True),
        )
        return {"job": found.code, "state": state, "put_bys": [put.code for put in puts]}

    return desk.act("close job", {"job": job, "state": state}, build, key=key)
