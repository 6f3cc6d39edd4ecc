"""Work laid out: jobs by how sure they are, one job's pieces, needs, cost and tries."""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from stockroom import clock
from stockroom.core.records import FINISHED
from stockroom.core.wording import outcome_text
from stockroom.desk.work.text import (
    cost_lines,
    far_text,
    material_need_lines,
    part_need_text,
    percent_text,
    stage_text,
)
from stockroom.desk.work.tracing import stands
from stockroom.text import safe
from stockroom.units import count_of, size_text
from tui.words import (
    BLANK,
    WHEN,
    Line,
    Row,
    Target,
    columns,
    head,
    note,
    say,
    sections,
    two_lines,
    when,
    wrapped,
)

if TYPE_CHECKING:
    from stockroom.desk.work.board import AllWork, BoardLine, JobView
    from stockroom.desk.work.needs import MaterialNeed

GROUPS = (
    ("In work", ("in work",)),
    ("Sure", ("sure",)),
    ("Likely, or maybe", ("likely", "maybe")),
)


def work_rows(found: "AllWork", today: date, width: int, side: int) -> list[Row]:
    """Return all booked work, and what sure work runs short of."""
    jobs = [(line.state_text, job_row(line, today, width, side)) for line in found.lines]
    rows = sections(
        *((title, [row for state, row in jobs if state in states]) for title, states in GROUPS),
        ("Sure work runs short of", [need_row(x, today, width, side) for x in found.short]),
    )
    text = (
        "B books a print or a mounted piece. A list you have is taken in whole with: "
        "stockroom job take-in LIST. How pieces are made is written down with: "
        "stockroom build add NAME --sheet MATERIAL."
    )
    none = note(say("No work is booked.", "strong"), BLANK)
    return rows or [none, note(*wrapped(text, width))]


def job_row(line: "BoardLine", today: date, width: int, side: int) -> Row:
    """Return a job: when it is due, what, how far."""
    job = line.job
    day = when(job.due_on, today) if job.due_on else "no due day"
    first = columns(
        [
            (day, WHEN, ""),
            (safe(job.name), max(8, width - WHEN - 32), "strong"),
            (size_text(job.width_dmm, job.height_dmm), -15, ""),
            (count_of(job.count, "piece"), -9, ""),
        ]
    )
    second = columns([("", WHEN, ""), (far_text(line), width - WHEN - 2, "dim")])
    return Row(
        (first, second),
        key=f"job {job.code}",
        target=Target("job", job.code),
        detail=tuple(job_detail(line, today, side)),
        job=job.code,
    )


def job_detail(line: "BoardLine", today: date, width: int) -> list[Line]:
    """Return what a job is, for the side."""
    job = line.job
    made = safe(line.recipe.build.name) if line.recipe.build else "printed, not mounted"
    facts = [
        f"{count_of(job.count, 'piece')} of {size_text(job.width_dmm, job.height_dmm)} on "
        f"{safe(line.material.name)}; {made}",
        f"It is {line.state_text}; print on {when(job.print_on, today)}",
    ]
    if job.due_on:
        facts.append(f"Due {when(job.due_on, today)}")
    if job.work:
        facts.append(f"Part of {safe(job.work)}")
    if line.client:
        facts.append(f"For {safe(line.client)}")
    if job.edition_of or job.edition_from:
        of = f" of {job.edition_of}" if job.edition_of else ""
        facts.append(f"Edition from number {job.edition_from or 1}{of}")
    if not job.printed_here:
        facts.append(f"Printed by: {job.printed_by}")
    if job.series:
        facts.append("A series: all from one emulsion")
    lines = [say(safe(job.name), "strong")]
    for fact in facts:
        lines += wrapped(fact, width)
    return [*lines, BLANK, *wrapped(far_text(line), width)]


def need_row(item: "MaterialNeed", today: date, width: int, side: int) -> Row:
    """Return what sure work runs short of, by when to order it, and how many."""
    day = when(item.order_by, today) if item.order_by else "lead time unknown"
    what = f"{count_of(item.quantity, item.material.shape.one)} of {safe(item.material.name)}"
    jobs = ", ".join(dict.fromkeys(safe(part.job.name) for part in item.parts))
    detail: list[Line] = []
    for line in material_need_lines(item, today):
        detail += wrapped(safe(line.strip(), length=400), side)
    return Row(
        two_lines(day, what, f"for {jobs}", width, roles=("strong", "dim")),
        key=f"need {item.material.code}",
        target=Target("order-new", item.material.code, (str(item.quantity),)),
        detail=tuple(detail),
        material=item.material.code,
    )


def bench_rows(lines: "Sequence[BoardLine]", today: date, width: int, side: int) -> list[Row]:
    """Return the jobs whose pieces wait for more than their print."""
    return [job_row(line, today, width, side) for line in lines]


def job_rows(seen: "JobView", today: date, zone: str, currency: str, width: int) -> list[Row]:
    """Return one job on a page."""
    line, job = seen.line, seen.line.job
    rows = [note(*job_detail(line, today, width)[1:-2])]
    rows += [note(BLANK), head("Pieces")]
    for piece in seen.pieces:
        number = f"Piece {piece.number}"
        if piece.edition is not None:
            number += f", no. {piece.edition}"
        rows.append(
            Row(
                (columns([(number, 18, "strong"), (piece.code, 8, "dim"),
                          (stands(piece, zone), width - 32, "")]),),
                key=f"piece {piece.code}",
                target=Target("record", piece.code) if piece.stage != FINISHED else None,
                job=piece.code,
            )
        )  # fmt: skip
    waiting = dict(line.at).get("print", 0) - sum(p.stage == "print" for p in seen.pieces)
    if waiting > 0 and job.state == "booked":
        leads = "print" if job.printed_here else "record"
        rows.append(
            Row(
                (columns([(f"{waiting} more", 18, "strong"), ("", 8, ""),
                          (stage_text("print"), width - 32, "")]),),
                key="more",
                target=Target(leads, job.code),
                job=job.code,
            )
        )  # fmt: skip
    if seen.needs:
        rows += [note(BLANK), head("Still needed")]
        for need in seen.needs:
            rows.append(note(*wrapped(safe(part_need_text(need), length=400), width, rest="  ")))
        rows.append(note(*wrapped(_counts(seen), width, "dim")))
    if seen.put_bys:
        units = ", ".join(dict.fromkeys(unit.code for _, unit in seen.put_bys))
        rows.append(note(*wrapped(f"Put by for it: {units}", width, "dim")))
    rows += [note(BLANK), head("Cost of materials")]
    for text in cost_lines(seen.cost, currency):
        rows.append(note(*wrapped(safe(text, length=400), width)))
    if seen.tries:
        rows += [note(BLANK), head("Tries")]
        for tried in seen.tries:
            how = outcome_text(tried)
            role = "" if tried.good else "ask"
            at = clock.moment_text(tried.at_s, zone)
            rows.append(
                note(columns([(at, 22, ""), (tried.stage, 11, ""), (how, width - 37, role)]))
            )
    return rows


def _counts(seen: "JobView") -> str:
    """The counts behind what is needed."""
    mounts, prints = seen.mounts_counted, seen.prints_counted
    return (
        f"From {mounts.good} of {mounts.tried} mounts of this size and {prints.good} of "
        f"{prints.tried} prints that came out good; the next mount does with "
        f"{percent_text(seen.mount_chance)}, the next print with {percent_text(seen.print_chance)}."
    )
