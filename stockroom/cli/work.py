"""Commands for work: jobs and builds, prints and mounts recorded, good or lost."""

from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import (
    HAPPENED,
    KEY,
    answer,
    app,
    at_desk,
    confirm,
    given,
    happened,
    on_day,
    say_aside,
    told,
)
from stockroom.cli.options import shares
from stockroom.errors import InputError
from stockroom.picking import picked
from stockroom.plain_files import MAX_LIST_BYTES, read_plain
from stockroom.units import count_of

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from stockroom.desk.work.builds import LayerSaid, RuleSaid
    from stockroom.desk.work.jobs import JobSaid

job_app = app.group("job", "Jobs: list, show, change; whose work it is.")
build_app = app.group("build", "How pieces are made: add, change, list, show.")

PAYS = typer.Option(None, "--pays", help="Who pays: us, customer, outside lab.")
PRINT = ("good", "lost", "unit", "amount", "without", "pays", "happened_", "key")
"""What is told of a print: it destroys its paper, and is no sheet."""


def _record(
    job: str,
    stage_: str,
    good: bool = typer.Option(False, "--good", help="It came out good."),
    lost: str = typer.Option(None, "--lost", help="It was lost, and to what.", metavar="CAUSE"),
    unit: list[str] = typer.Option(
        None, "--unit", help="Another unit, like paper=10143.", metavar="PART=CODE"
    ),
    amount: list[str] = typer.Option(None, help="Another amount, like paper=1.3 (m)."),
    without: list[str] = typer.Option(None, help="A part that is not taken now, like sheet."),
    takes: list[str] = typer.Option(
        None, help="What the loss destroyed; as the build says, if left out."
    ),
    spoiled_to: str = typer.Option(None, help="Keep the spoiled sheet as an offcut, like 600x400."),
    no_offcuts: bool = typer.Option(False, "--no-offcuts", help="Keep none of what a cut leaves."),
    pays: str = PAYS,
    happened_: str = HAPPENED,
    key: str = KEY,
) -> None:
    """Record one try of a stage as it was told, good or lost."""
    from stockroom.desk.work import attempts
    from stockroom.units import length_dmm, size_dmm

    if good == (lost is not None):
        raise InputError(
            "Was it good, or lost?", "One of both is wanted.", "Give --good, or --lost CAUSE."
        )
    amounts = {
        part: int(text)
        if text.strip().isdigit() and part in ("sheet", "board")
        else length_dmm(text, "m")
        for part, text in _pairs(amount, "--amount").items()
    }
    with at_desk() as desk:
        told(
            attempts.record(
                desk,
                job,
                good=good,
                stage=stage_,
                cause=lost or "",
                units=_pairs(unit, "--unit"),
                amounts=amounts,
                without=list(without or ()),
                takes=list(takes) if takes else None,
                keep_offcuts=not no_offcuts,
                spoiled_to=size_dmm(spoiled_to) if spoiled_to else None,
                paid_by=pays,  # type: ignore[arg-type]
                happened_s=happened(desk, happened_),
                key=key,
            )
        )


@app.command("print", short_help="Record a print: good, or lost with its cause.")
@shares(_record, *PRINT)
def print_(job: str, **typed: Any) -> None:
    """Example:  stockroom print 'Harbour III' --lost 'bad print' --happened 16:30"""
    _record(job, "print", takes=[], spoiled_to="", no_offcuts=False, **typed)


@app.command("mount", short_help="Record a face mount: good, or lost with its cause.")
@shares(_record)
def mount(job: str, **typed: Any) -> None:
    """Example:  stockroom mount 'Harbour III' --lost dust --spoiled-to 600x400"""
    _record(job, "mount", **typed)


@app.command("stage", short_help="Record any stage of a job or piece, damage too.")
@shares(_record)
def stage(job: str, stage_: str = typer.Argument(..., metavar="STAGE"), **typed: Any) -> None:
    """Example:  stockroom stage 'Harbour III' back --good

    Stages are: look, sign, look again, back, frame; and damage, of a piece that was made.
    """
    _record(job, stage_, **typed)


def _pairs(
    texts: Sequence[str] | None, option: str, like: str = "paper=10143", *, empty: bool = False
) -> dict[str, str]:
    """What is told as part=value, or as part= alone where it may be empty."""
    found = {}
    for text in texts or ():
        part, equals, value = text.partition("=")
        if not equals or not (empty or value.strip()):
            raise InputError(
                f"{option} {text[:40]!r} is not understood.", try_=f"Type it like {option} {like}."
            )
        found[part.strip()] = value.strip()
    return found


@job_app.command("list", short_help="Booked work: how sure, how far, when it is due.")
def job_list(
    every: bool = typer.Option(False, "--all", help="Done and cancelled jobs too."),
    work: str = typer.Option(None, help="Only the jobs of one work."),
) -> None:
    """Example:  stockroom job list --all"""
    from stockroom.cli.work_shapes import JOB, job_line
    from stockroom.desk.work.board import board

    with at_desk() as desk:
        lines = [
            line
            for line in board(desk, every=every)
            if work is None or (line.job.work or "").casefold() == work.casefold()
        ]
        today = on_day(desk) or desk.today()
    answer(
        "stockroom.jobs/1",
        {"jobs": [picked(line, JOB) for line in lines]},
        [job_line(line, today) for line in lines] or ["No job is booked."],
    )


@job_app.command("show", short_help="One job: its pieces, what it still needs, what it costs.")
def job_show(job: str) -> None:
    """Example:  stockroom job show 'Harbour III'"""
    from stockroom.cli.work_shapes import job_shown_lines, job_shown_value
    from stockroom.desk.work.board import job_view

    with at_desk() as desk:
        seen = job_view(desk, job, on_day(desk))
        today, zone, currency = on_day(desk) or desk.today(), desk.zone, desk.currency
    answer("stockroom.job/1", job_shown_value(seen), job_shown_lines(seen, today, zone, currency))


def _job_said(
    desk: "Desk",
    name: str = typer.Option(None, help="What it is called."),
    size: str = typer.Option(None, help="Size of a piece, like 1200x800 (mm)."),
    paper: str = typer.Option(None, "--material", help="The paper."),
    day: str = typer.Option(None, help="Day of the print."),
    count: int = typer.Option(None, help="How many pieces."),
    build: str = typer.Option(None, help="How they are made: stockroom build list."),
    due: str = typer.Option(None, help="Day it is promised for."),
    start: str = typer.Option(None, help="First day it can be begun."),
    certainty: str = typer.Option(None, help="maybe, likely or sure."),
    work: str = typer.Option(None, help="What it belongs to, such as an exhibition."),
    edition: str = typer.Option(None, help="First number and size of the edition, like 3/8."),
    series: bool = typer.Option(None, "--series/--no-series", help="All from one emulsion."),
    printed_by: str = typer.Option(None, help="here, outside lab or customer."),
    lab_days: int = typer.Option(None, help="How long the lab takes."),
    pays: str = PAYS,
    client: str = typer.Option(None, help="Whose it is; kept apart, and can be erased."),
) -> "JobSaid":
    """A job as it was told."""
    from stockroom.desk.work.jobs import JobSaid, edition_of
    from stockroom.times import day_of
    from stockroom.units import size_dmm

    today = desk.today()

    def on(text: str | None) -> date | None:
        return day_of(text, today) if text else None

    width, height = size_dmm(size) if size else (None, None)
    first, of = edition_of(edition)
    return JobSaid(
        name=name,
        width_dmm=width,
        height_dmm=height,
        print_on=on(day),
        material=paper,
        count=count,
        series=series,
        certainty=certainty,
        due_on=on(due),
        start_on=on(start),
        build=build,
        work=work,
        edition_from=first,
        edition_of=of,
        printed_by=printed_by,
        lab_days=lab_days,
        pays=pays,
        client=client,
    )


@job_app.act("add", short_help="Book a job with all that is known of it.")
@shares(_job_said)
def job_add(
    desk: "Desk",
    name: str,
    size: str = typer.Option(..., help="Size of a piece, like 1200x800 (mm)."),
    paper: str = typer.Option(..., "--material", help="The paper."),
    key: str = KEY,
    **typed: Any,
) -> "Done":
    """Example:  stockroom job add 'Harbour III' --size 1200x800 --material Satin --build Face

    Without --day it is printed on the first day on which it can be started.
    """
    from stockroom.desk.work import jobs

    return jobs.book(desk, _job_said(desk, name, size, paper, **typed), key=key)


@job_app.act("change", short_help="Change what is known of a job.")
@shares(_job_said)
def job_change(desk: "Desk", job: str, key: str = KEY, **typed: Any) -> "Done":
    """Example:  stockroom job change 'Harbour III' --certainty sure --due 2026-04-10"""
    from stockroom.desk.work import jobs

    return jobs.change_job(desk, job, _job_said(desk, **typed), key=key)


@job_app.command("erase-client", short_help="Erase for good whose work it is.")
def job_erase_client(job: str) -> None:
    """Example:  stockroom job erase-client 'Harbour III'

    It is taken out of the store's own files. Where it may still stand is said: older backups hold
    it until they are thrown away.
    """
    from stockroom.desk.work import jobs

    with at_desk() as desk:
        erased = jobs.erase_client(desk, job)
    said = f"Whose work job {erased.job} is, is erased."
    if not erased.there:
        said = f"Nothing is written down of whose work job {erased.job} is."
    answer("stockroom.erased/1", erased, [said, *erased.left])


LAYER_HELP = "Material, or a question mark where the job names it; like 'Cast acrylic 3 mm'."


def _layers(
    recipe: Any,
    sheet: str = typer.Option(None, help=LAYER_HELP),
    face_film: str = typer.Option(None, help="Film between print and sheet."),
    back_film: str = typer.Option(None, help="Film between print and board."),
    board: str = typer.Option(None, help="Board behind."),
    profile: str = typer.Option(None, help="Frame profile."),
    allow: list[str] = typer.Option(
        None, help="Larger than the piece, an edge, like sheet=10 (mm)."
    ),
    turn: list[str] = typer.Option(None, help="How it must lie, like 'paper=long edge'."),
    instead: list[str] = typer.Option(
        None, help="What may stand in, like 'sheet=Cast acrylic 4 mm'."
    ),
) -> "list[LayerSaid]":
    """The layers as told; those of a build that is changed keep what is not told."""
    from stockroom.desk.work.builds import LayerSaid
    from stockroom.units import length_dmm

    told_of = {
        "sheet": sheet,
        "face film": face_film,
        "back film": back_film,
        "board": board,
        "profile": profile,
    }
    allowed, turns = _pairs(allow, "--allow"), _pairs(turn, "--turn")
    others = _pairs(instead, "--instead")
    found = []
    for part in ("sheet", "face film", "paper", "back film", "board", "profile"):
        old = recipe.layer(part) if recipe is not None else None
        said = told_of.get(part)
        touched = part in allowed or part in turns or part in others
        if said is None and not touched:
            continue
        if said is None and old is None and part != "paper":
            raise InputError(
                f"The {part} is not in this build.",
                try_=f"Name its material: --{part.replace(' ', '-')}.",
            )
        material = None if said == "?" else said or (old.material if old else None)
        found.append(
            LayerSaid(
                part,
                material,
                others.get(part) or (old.instead if old else None),
                length_dmm(allowed[part], "mm")
                if part in allowed
                else old.allowance_dmm
                if old
                else 0,
                turns.get(part) or (old.turn if old else "any"),  # type: ignore[arg-type]
                old.stage if old else None,
            )
        )
    return found


@build_app.command("add", short_help="Write down how pieces are made.")
@shares(_layers)
def build_add(
    name: str,
    trim: str = typer.Option("after", help="after mounting, or before."),
    look: bool = typer.Option(True, "--look/--no-look", help="Whether prints are looked at."),
    sign_days: int = typer.Option(None, help="Days that signing takes; left out, never signed."),
    takes: list[str] = typer.Option(
        None, help="What a loss takes, like 'mount/bad sheet=sheet' or 'back=board, back film'."
    ),
    key: str = KEY,
    **typed: Any,
) -> None:
    """Example:  stockroom build add 'Face mount' --sheet 'Cast acrylic' --face-film 'Clear film'

    Layers go from front to back. Standard rules say what a loss destroys; --takes changes one.
    """
    from stockroom.desk.work import builds

    layers = _layers(None, **typed)
    with at_desk() as desk:
        told(
            builds.define_build(
                desk,
                name,
                layers,
                trim=trim,  # type: ignore[arg-type]
                looks=look,
                sign_days=sign_days,
                rules=_rules(takes),
                key=key,
            )
        )


@build_app.act("change", short_help="Change a build: a new version takes its place.")
@shares(_layers)
def build_change(
    desk: "Desk",
    build: str,
    name: str = typer.Option(None, help="What it is called."),
    trim: str = typer.Option(None, help="after mounting, or before."),
    look: bool = typer.Option(None, "--look/--no-look", help="Whether prints are looked at."),
    sign_days: int = typer.Option(None, help="Days that signing takes."),
    never_signed: bool = typer.Option(False, "--never-signed", help="Pieces are not signed."),
    takes: list[str] = typer.Option(None, help="What a loss takes, like 'mount/dust=paper'."),
    key: str = KEY,
    **typed: Any,
) -> "Done":
    """Example:  stockroom build change 'Face mount' --board 'Composite 3 mm' --allow board=5"""
    from stockroom.desk.work import builds

    with desk.reading() as view:
        recipe = builds.recipe_in(view, builds.find_build(view, build))
    layers = _layers(recipe, **typed)
    return builds.change_build(
        desk,
        build,
        layers,
        name=name,
        trim=trim,  # type: ignore[arg-type]
        looks=look,
        sign_days=sign_days,
        never_signed=never_signed,
        rules=_rules(takes),
        key=key,
    )


@build_app.act("retire", short_help="Offer a build for new jobs no longer, or again.")
def build_retire(
    desk: "Desk",
    build: str,
    again: bool = typer.Option(False, "--again", help="Offer it again."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom build retire 'Old mount'"""
    from stockroom.desk.work import builds

    return builds.retire_build(desk, build, again=again, key=key)


@build_app.command("list", short_help="The builds that are offered.")
def build_list() -> None:
    """Example:  stockroom build list"""
    from stockroom.cli.work_shapes import build_value
    from stockroom.desk.lookup import everything
    from stockroom.desk.work import builds

    with at_desk() as desk, desk.reading() as view:
        recipes = builds.all_recipes(view)
        from stockroom.core.records import Material

        names = {item.code: item.name for item in everything(view, Material)}
    none = ["No build is written down. Begin: stockroom build add NAME --sheet MATERIAL ..."]
    answer(
        "stockroom.builds/1",
        {"builds": [build_value(recipe, names) for recipe in recipes]},
        [
            f"{recipe.build.code}  {recipe.build.name}, version {recipe.build.version}: "
            f"{', '.join(recipe.parts)}"
            for recipe in recipes
            if recipe.build is not None
        ]
        or none,
    )


@build_app.command("show", short_help="One build: layers, stages, what losses destroy.")
def build_show(build: str) -> None:
    """Example:  stockroom build show 'Face mount'"""
    from stockroom.cli.work_shapes import build_lines, build_value
    from stockroom.core.records import Material
    from stockroom.desk.lookup import everything
    from stockroom.desk.work import builds

    with at_desk() as desk, desk.reading() as view:
        recipe = builds.recipe_in(view, builds.find_build(view, build))
        names = {item.code: item.name for item in everything(view, Material)}
    answer("stockroom.build/1", build_value(recipe, names), build_lines(recipe, names))


def _rules(takes: Sequence[str] | None) -> "list[RuleSaid]":
    """Rules of loss told as stage/cause=parts."""
    found: list[RuleSaid] = []
    for at, parts in _pairs(takes, "--takes", "'mount/bad sheet=sheet'", empty=True).items():
        stage_, _, cause = at.partition("/")
        told_parts = [part.strip() for part in parts.split(",") if part.strip()]
        found.append((stage_.strip(), cause.strip(), told_parts))  # type: ignore[arg-type]
    return found


@job_app.command("take-in", short_help="Take in a list of jobs from CSV or Excel.")
def job_take_in(
    file: Path,
    look: bool = typer.Option(False, "--look", help="Only look; store nothing."),
    yes: bool = typer.Option(False, "--yes", help="Store it without asking."),
    unit: str = typer.Option(None, help="Unit of plain numbers: mm, cm, m or in."),
    day_first: bool = typer.Option(None, "--day-first/--month-first", help="Order in dates."),
    paper: str = typer.Option(None, "--material", help="The paper of rows that name none."),
) -> None:
    """Example:  stockroom job take-in spring.xlsx --look

    CSV or Excel with columns such as name, size, count, material, build, due, certainty, edition,
    client. All of it is taken in or none; the same file twice is harmless.
    """
    from stockroom.desk.work.jobs import look_at_job_list, take_in_job_list

    data = read_plain(file, most_bytes=MAX_LIST_BYTES)
    with at_desk() as desk:
        seen = look_at_job_list(
            desk, data, file.name, unit=unit, day_first=day_first, material=paper
        )

        def lines() -> Iterator[str]:
            read = f"{count_of(seen.pieces, 'piece')} in those that were read"
            yield f"{seen.name}: {count_of(seen.rows, 'row')}, {read}."
            if seen.other_sheets:
                yield f"Sheet {seen.sheet!r} was read; left aside: {', '.join(seen.other_sheets)}."
            if seen.ignored:
                yield f"Columns left aside: {', '.join(seen.ignored)}."
            yield from seen.asks
            yield from (f"  {problem}" for problem in seen.problems)
            yield from (f"  to note: {warning}" for warning in seen.warnings)
            if seen.taken_before:
                yield "This list was taken in before; doing it again changes nothing."

        if look:
            answer("stockroom.job-list/1", seen, lines())
            raise typer.Exit(1 if seen.problems or seen.asks else 0)
        if not given.as_json and not (seen.problems or seen.asks):
            for line in lines():
                say_aside(line)
            confirm(yes)
        told(
            take_in_job_list(desk, data, file.name, unit=unit, day_first=day_first, material=paper)
        )
