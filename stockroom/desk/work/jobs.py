"""Jobs: promised work booked, changed, taken in from a list; whose work it is, erasable."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from stockroom.core.geometry import DoesNotFit, print_layout
from stockroom.core.making.sizes import roll_rules, too_large_text
from stockroom.core.records import MOST_PRINTS, Job, Lot, Material, Piece, Unit
from stockroom.core.records.asked import check_fields
from stockroom.core.records.base import plain_of
from stockroom.core.wording import dated
from stockroom.desk.lookup import find, see_some_told
from stockroom.desk.session import Decision, Desk, Done, standing_key
from stockroom.desk.work.builds import find_build
from stockroom.errors import BadValueError, ImportProblem, Problem, RefusedError, UnknownCodeError
from stockroom.store.mapping import damaged
from stockroom.store.view import CLIENT, StoreView, client_fits, find_by_key
from stockroom.text import safe
from stockroom.units import count_of

if TYPE_CHECKING:
    from stockroom.intake.joblist import JobRow
    from stockroom.intake.lists import Listed


@dataclass(frozen=True, slots=True, kw_only=True)
class JobSaid:
    """A job as a person tells it; None for what is not told.

    `work` is what pieces of several sizes belong to; `client` stays outside the chain.
    """

    name: str | None = None
    width_dmm: int | None = None
    height_dmm: int | None = None
    print_on: date | None = None
    material: str | None = None
    count: int | None = None
    series: bool | None = None
    certainty: str | None = None
    due_on: date | None = None
    start_on: date | None = None
    build: str | None = None
    work: str | None = None
    edition_from: int | None = None
    edition_of: int | None = None
    printed_by: str | None = None
    lab_days: int | None = None
    pays: str | None = None
    client: str | None = None


def book(desk: Desk, said: JobSaid, *, key: str | None = None) -> Done:
    """Book pieces of one size on one paper.

    Raises
    ------
    BadValueError
        Where a figure cannot be.
    RefusedError
        Where the print goes on no roll of its paper; the largest that would is said.
    """
    plain = _complete(said)

    def build(decision: Decision) -> dict[str, Any]:
        job = _new(decision, plain)
        decision.notes += _see_to(decision, job)
        _write_client(decision, job.code, said.client)
        return _as_booked(job)

    return desk.act("book", {**plain, "has_client": bool(said.client)}, build, key=key)


def change_job(desk: Desk, code: str, said: JobSaid, *, key: str | None = None) -> Done:
    """Change what is known of a job; what is not given stays.

    Raises
    ------
    RefusedError
        Where less pieces are asked for than are made, or its build changes while pieces are in
        the making.
    """
    plain = _checked(said)
    see_some_told(plain or said.client is not None)

    def build(decision: Decision) -> dict[str, Any]:
        old = find(decision.view, Job, code)
        fields = _resolved(decision, plain)
        pieces = decision.view.having(Piece, "job", old.code)
        if fields.get("count", old.count) < max(len(pieces), old.good):
            raise RefusedError(
                f"{max(len(pieces), old.good)} of {old.name} are printed already.",
                "A job cannot have fewer pieces than it has good prints.",
                "Look at the number.",
            )
        if fields.get("build", old.build) != old.build and pieces:
            raise RefusedError(
                f"Pieces of {old.name} are in the making after its build.",
                "They would stand at stages that the other build may not have.",
                "Book the pieces that are left as a job of their own.",
            )
        job = Job.from_plain({**old.plain(), **fields})
        decision.notes += _see_to(decision, job)
        payload: dict[str, Any] = {"job": old.code, "fields": fields}
        if said.client is not None:
            was = clients(decision.view).get(old.code)
            if was is not None and was != safe(said.client):
                decision.notes.append(
                    f"It was written down as: {was}. An undo does not bring that back."
                )
            _write_client(decision, old.code, said.client)
            payload["client"] = True
        return payload

    request = {"of": code, **plain, "has_client": bool(said.client)}
    return desk.act("change job", request, build, key=key)


def take_in_jobs(
    desk: Desk, rows: Sequence[JobSaid], *, name: str = "", key: str | None = None
) -> Done:
    """Book all the jobs of a list in one act, or none of them."""
    if not rows:
        raise BadValueError("The list holds no job.", try_="Look at it first: stockroom jobs look.")
    checked = [_complete(row) for row in rows]

    def build(decision: Decision) -> dict[str, Any]:
        jobs = []
        for said, plain in zip(rows, checked, strict=True):
            job = _new(decision, plain)
            decision.notes += [f"{job.name}: {note}" for note in _see_to(decision, job)]
            _write_client(decision, job.code, said.client)
            jobs.append(_as_booked(job))
        return {"jobs": jobs, "name": safe(name)}

    request = {"jobs": checked, "name": safe(name)}
    return desk.act("take in jobs", request, build, key=key)


@dataclass(frozen=True, slots=True)
class JobListLook:
    """What a job list would book, and what is wrong with it; nothing is stored by looking."""

    name: str
    rows: int
    pieces: int
    problems: tuple[Problem, ...]
    warnings: tuple[Problem, ...]
    asks: tuple[str, ...]
    ignored: tuple[str, ...]
    sheet: str
    other_sheets: tuple[str, ...]
    taken_before: bool


def look_at_job_list(
    desk: Desk,
    data: bytes,
    name: str,
    *,
    unit: str | None = None,
    day_first: bool | None = None,
    material: str | None = None,
) -> JobListLook:
    """Return what a job list says, storing nothing.

    Raises
    ------
    ImportProblem
        Where the file is no list at all.
    """
    listed = _read(desk, data, name, unit, day_first)
    with desk.reading() as view:
        problems = [*listed.problems, *_unknown(view, listed.rows, material)]
        taken = find_by_key(view.connection, standing_key(view, _list_key(listed.sha256)))
    return JobListLook(
        listed.name,
        listed.rows_read,
        sum(row.count for row in listed.rows),
        tuple(problems),
        listed.warnings,
        listed.asks,
        listed.ignored_columns,
        listed.sheet,
        listed.other_sheets,
        taken is not None,
    )


def take_in_job_list(
    desk: Desk,
    data: bytes,
    name: str,
    *,
    unit: str | None = None,
    day_first: bool | None = None,
    material: str | None = None,
) -> Done:
    """Book all jobs of a list as one act; the same file again changes nothing.

    Raises
    ------
    ImportProblem
        Where a row is wrong, or something must be said first: then nothing is stored.
    """
    listed = _read(desk, data, name, unit, day_first)
    with desk.deciding() as decision:
        problems = [*listed.problems, *_unknown(decision.view, listed.rows, material)]
        key = standing_key(decision.view, _list_key(listed.sha256))
        if listed.asks:
            raise ImportProblem(f"{listed.name} was not taken in.", " ".join(listed.asks))
        if problems:
            raise ImportProblem(
                f"{listed.name} has {count_of(len(problems), 'problem')} in it.",
                "A list is taken whole or not at all.",
                "Mend the rows and take it in again.",
                problems=tuple(problems),
            )
        rows = [_row_said(row, material) for row in listed.rows]
        return take_in_jobs(desk, rows, name=listed.name, key=key)


def _read(
    desk: Desk, data: bytes, name: str, unit: str | None, day_first: bool | None
) -> "Listed[JobRow]":
    from stockroom.intake.joblist import read_job_list

    return read_job_list(data, name=name, today=desk.today(), unit=unit, day_first=day_first)


def _list_key(sha256: str) -> str:
    return f"jobs {sha256}"


def _unknown(view: StoreView, rows: "Sequence[JobRow]", material: str | None) -> list[Problem]:
    """Papers and builds of a list that the books do not know, and prints too wide for theirs."""
    found: list[Problem] = []
    for row in rows:
        if not (row.material or material):
            found.append(Problem(row.line, "no paper is named", "material", ""))
        try:
            if row.material or material:
                paper = find(view, Material, row.material or material or "")
                if row.printed_by == "here":
                    _goes_on_a_roll(view, row.name, (row.width_dmm, row.height_dmm), paper)
        except (UnknownCodeError, RefusedError) as error:
            found.append(Problem(row.line, str(error), "material", row.material))
        try:
            if row.build:
                find_build(view, row.build)
        except UnknownCodeError as error:
            found.append(Problem(row.line, str(error), "build", row.build))
    return found


def _row_said(row: "JobRow", material: str | None) -> JobSaid:
    """What a row tells, of the list's paper where it names none, to be printed once it is begun."""
    told = {name: getattr(row, name) for name in JobSaid.__slots__ if hasattr(row, name)}
    told["material"] = row.material or material
    told["print_on"] = row.print_on or row.start_on
    return JobSaid(**{name: None if value == "" else value for name, value in told.items()})


def clients(view: StoreView) -> dict[str, str]:
    """Return the customers' references by job; they are outside the chain."""
    rows = view.connection.execute(sa.select(CLIENT)).all()
    for row in rows:
        if not client_fits(dict(row._mapping)):
            raise damaged(f"The customer's reference on job {safe(row.job, length=40)}")
    return {row.job: safe(row.reference) for row in rows if view.get(Job, row.job) is not None}


@dataclass(frozen=True, slots=True)
class Erased:
    """The job whose customer's reference is erased, and where it may still stand, in sentences.

    `there` tells whether there was one at all.
    """

    job: str
    there: bool
    left: tuple[str, ...]


def erase_client(desk: Desk, said: str) -> Erased:
    """Erase a customer's reference for good; no act tells of it.

    That of a job whose booking was taken back is erased by the job's code.
    """
    from stockroom.store.erasing import lay_anew, sweep

    with desk.deciding() as decision:
        job = said.strip()
        known = sa.select(CLIENT.c.job)
        if decision.connection.execute(known.where(CLIENT.c.job == job)).first() is None:
            job = find(decision.view, Job, said).code
        there = decision.connection.execute(known.where(CLIENT.c.job == job)).first() is not None
        decision.head.write_client(job, "")
        decision.head.keep()
        lay_anew(decision.connection)
    return Erased(job, there, sweep(desk.engine))


def _write_client(decision: Decision, job: str, reference: str | None) -> None:
    decision.head.write_client(job, safe(reference or ""))


def _complete(said: JobSaid) -> dict[str, Any]:
    """What was told of a new job, with all that it cannot do without."""
    plain = _checked(said)
    for name in ("name", "width_dmm", "height_dmm", "material"):
        if plain.get(name) is None:
            raise BadValueError(f"A job needs its {name.removesuffix('_dmm')}.")
    return plain


def _new(decision: Decision, plain: Mapping[str, Any]) -> Job:
    """A new job; printed on the first day it can be started, or today, where no day is told."""
    fields = {"count": 1, **_resolved(decision, plain)}
    fields.setdefault("print_on", fields.get("start_on") or decision.today.isoformat())
    return Job.from_plain({"code": decision.head.born(), **fields})


def _checked(said: JobSaid) -> dict[str, Any]:
    """What was told, plain and seen to be possible; without what was not told."""
    plain = {
        name: safe(value) if isinstance(value, str) else value
        for name, value in plain_of(said).items()
        if name != "client" and value is not None
    }
    if plain.get("name") == "":
        raise BadValueError("A job needs a name.", try_="Give it one.")
    check_fields(Job, plain)
    _checked_edition(plain)
    start, due = said.start_on, said.due_on
    if start is not None and due is not None and due < start:
        raise BadValueError("It would be due before it can be started.", try_="Look at both days.")
    return plain


def _checked_edition(plain: Mapping[str, Any]) -> None:
    first, of = plain.get("edition_from"), plain.get("edition_of")
    if first is None and of is None:
        return
    first = 1 if first is None else first
    if not 1 <= first <= MOST_PRINTS or (of is not None and not first <= of <= MOST_PRINTS):
        raise BadValueError(
            f"Number {first} of an edition of {of} cannot be.",
            try_="Type it like 3/8: the first number, and how many there are in all.",
        )


def _resolved(decision: Decision, plain: Mapping[str, Any]) -> dict[str, Any]:
    """What was told, with the codes of its paper and its build."""
    fields = dict(plain)
    if "material" in fields:
        fields["material"] = find(decision.view, Material, fields["material"]).code
    if fields.get("build"):
        fields["build"] = find_build(decision.view, fields["build"]).code
    elif "build" in fields:
        fields["build"] = None
    return fields


def _as_booked(job: Job) -> dict[str, Any]:
    """A new job's payload, without what was never told."""
    return {
        name: value
        for name, value in job.plain().items()
        if value is not None and name not in ("last_act", "good", "lost", "state")
    }


def _see_to(decision: Decision, job: Job) -> list[str]:
    """Refuse what can never be printed; tell what is odd about the rest."""
    notes = []
    material = find(decision.view, Material, job.material)
    if job.printed_here:
        _goes_on_a_roll(decision.view, job.name, (job.width_dmm, job.height_dmm), material)
    if job.due_on is not None and job.due_on < decision.today:
        notes.append(f"It was due on {dated(job.due_on)}: past.")
    elif job.due_on is not None and job.due_on < job.print_on:
        notes.append("It is due before the day it is to be printed.")
    if job.edition_of is not None:
        last = (job.edition_from or 1) + job.count - 1
        if last > job.edition_of:
            notes.append(
                f"Its {job.count} pieces run to number {last}, but the edition ends at "
                f"{job.edition_of}."
            )
    return notes


def _goes_on_a_roll(
    view: StoreView, name: str, size_dmm: tuple[int, int], material: Material
) -> None:  # fmt: skip
    """Refuse a print that goes on no roll of its paper, the full one or one in stock."""
    if not material.traits.printed_on:
        return
    widths = {material.width_dmm} if material.width_dmm else set()
    for lot in view.having(Lot, "material", material.code):
        for unit in view.having(Unit, "lot", lot.code):
            if unit.shape.wound and unit.state == "in stock":
                widths.add(unit.width_dmm)
    if not widths:
        return
    rules = roll_rules(material)
    widest = max(widths)
    layout = print_layout(*size_dmm, widest, rules)
    if isinstance(layout, DoesNotFit):
        raise RefusedError(
            f"{name} cannot be printed on {material.name}.",
            too_large_text(material, layout, *size_dmm),
            "Book it on a wider paper, or have it printed outside.",
        )


def edition_of(text: str | None) -> tuple[int | None, int | None]:
    """Return the first number and the size of an edition.

    >>> edition_of("3/8"), edition_of(None)
    ((3, 8), (None, None))
    """
    if not text:
        return None, None
    first, slash, of = text.partition("/")
    if not (first.strip().isdigit() and (not slash or of.strip().isdigit())):
        raise BadValueError(
            f"{text[:30]!r} is no number of an edition.", try_="Type it like 3/8, or just 3."
        )
    return int(first), int(of) if slash else None
