"""Commands that look over the work: needs, cost, spoilage, what stock is worth, where it went."""

from datetime import timedelta
from pathlib import Path

import typer

from stockroom.cli.base import answer, app, at_desk, at_reckoning, on_day
from stockroom.picking import picked
from stockroom.writing import see_free, write_whole

WORTH = """
    cents past_cents in_pieces_cents=made_cents undated_cents by_month[](month=0 cents=1)
"""


@app.command("needs", short_help="What sure work still needs of each material, and by when.")
def needs(
    material: str = typer.Option(None, help="Only one material."),
    day: str = typer.Option(None, help="Only work to be printed by this day."),
) -> None:
    """Example:  stockroom needs --material 'Cast acrylic'

    Counted exactly from the stage of each piece and what is known of losses. Exit code 1 where
    something must be ordered.
    """
    from stockroom.cli.work_shapes import material_need_value
    from stockroom.core.records import Material
    from stockroom.desk.lookup import find
    from stockroom.desk.work.needs import material_needs
    from stockroom.desk.work.text import material_need_lines
    from stockroom.times import day_of

    with at_reckoning() as (desk, reckoning):
        today = on_day(desk) or desk.today()
        upto = day_of(day, today) if day else None
        only = find(reckoning.view, Material, material).code if material else None
        found = material_needs(reckoning, today, only, upto)

    value = {"day": today, "materials": [material_need_value(need) for need in found]}
    lines = [line for need in found for line in material_need_lines(need, today)]
    none = ["No sure work needs anything that the books know of."]
    answer("stockroom.needs/1", value, lines or none)
    if any(need.quantity for need in found):
        raise typer.Exit(1)


@app.command("cost", short_help="What a job costs in materials, expected and so far.")
def cost(job: str) -> None:
    """Example:  stockroom cost 'Harbour III'"""
    from stockroom.cli.work_shapes import cost_value
    from stockroom.core.records import Job
    from stockroom.desk.lookup import find
    from stockroom.desk.work.cost import job_cost
    from stockroom.desk.work.text import cost_lines

    with at_reckoning() as (desk, reckoning):
        found, currency = job_cost(reckoning, find(reckoning.view, Job, job)), desk.currency
    answer(
        "stockroom.cost/1",
        {"job": found.job.code, "currency": currency, **cost_value(found)},
        cost_lines(found, currency),
    )


@app.command("spoilage", short_help="What was lost in a month, by cause; and what it teaches.")
def spoilage(
    month: str = typer.Option(None, help="Like 2026-03; this month, if left out."),
) -> None:
    """Example:  stockroom spoilage --month 2026-03"""
    from stockroom.cli.work_shapes import LOST
    from stockroom.core.constants import SIZE_CLASSES
    from stockroom.desk.work.spoilage import learned_of, lost_between, spell_of
    from stockroom.desk.work.text import lost_line, percent_text
    from stockroom.times import month_of
    from stockroom.units import money_text

    with at_reckoning() as (desk, reckoning):
        first = month_of(month, on_day(desk) or desk.today())
        last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
        found, currency = lost_between(reckoning, first, last), desk.currency
        known, spell = learned_of(reckoning), spell_of(reckoning)
    small, large = SIZE_CLASSES[0].value, SIZE_CLASSES[1].value
    classes = (f"up to {small:g} m²", f"up to {large:g} m²", f"above {large:g} m²")
    by_class = list(zip(classes, known.mount_counts, known.mounts, strict=True))

    def lines() -> list[str]:
        total = sum(line.cents for line in found)
        told = [f"Lost in {first:%b %Y}: {money_text(total, currency)}."]
        told += [f"  {lost_line(line, currency)}" for line in found]
        prints = known.count("print")
        told.append(
            f"Prints: {prints.good} of {prints.tried} good; "
            f"{known.prints.mean_per_m2:.2f} spoiling defects a square metre."
        )
        told += [
            f"Mounts {name}: {count.good} of {count.tried} good; the next one with "
            f"{percent_text(law.mean)}."
            for name, count, law in by_class
        ]
        backs = known.count("back")
        told.append(f"Backings: {backs.good} of {backs.tried} good.")
        if spell is not None:
            told.append(
                f"{spell.lost} in a row at {spell.kind}, all {spell.cause}: stop, clean, run a "
                "clear strip before the next."
            )
        return told

    mounts = [
        {"size": name, **picked(count, "good tried"), "chance": law.mean}
        for name, count, law in by_class
    ]
    value = {
        "from": first,
        "to": last,
        "currency": currency,
        "lost": [picked(line, LOST) for line in found],
        "print_defects_per_m2": known.prints.mean_per_m2,
        "mounts": mounts,
    }
    answer("stockroom.spoilage/1", value, lines())


@app.command("worth", short_help="What stock is worth, and what of it goes off in which month.")
def worth() -> None:
    """Example:  stockroom worth"""
    from stockroom.desk.work.cost import stock_value
    from stockroom.desk.work.text import value_lines

    with at_reckoning() as (desk, reckoning):
        found, currency = stock_value(reckoning, on_day(desk) or desk.today()), desk.currency
    answer(
        "stockroom.worth/1",
        {"currency": currency, **picked(found, WORTH)},
        value_lines(found, currency),
    )


@app.command("record", short_help="A page that records a piece: materials, tries, condition.")
def record(
    piece: str = typer.Argument(..., help="A piece, or a job with only one."),
    to: Path = typer.Argument(..., help="The PDF to write."),
) -> None:
    """Example:  stockroom record 10292 harbour-3.pdf"""
    from stockroom.desk.papers.piece_record import piece_record_pdf

    see_free(to)
    with at_desk() as desk:
        write_whole(to, piece_record_pdf(desk, piece))
    answer("stockroom.record/1", {"path": to}, [f"The record is in {to}"])


@app.command("trace", short_help="From a piece to every batch, from a batch to every piece.")
def trace(code: str) -> None:
    """Example:  stockroom trace E-7731

    Give a piece or job, or a batch, unit or material, by code; a batch also by its number.
    """
    from stockroom.cli.work_shapes import (
        BATCH_TRACE,
        PIECE_TRACE,
        batch_trace_lines,
        piece_trace_lines,
    )
    from stockroom.desk.reckoning import reckoned
    from stockroom.desk.work import tracing

    with at_desk() as desk, reckoned(desk) as reckoning:
        found, materials, zone = tracing.trace(reckoning, code), reckoning.materials, desk.zone
    if isinstance(found, tracing.BatchTrace):
        answer("stockroom.trace/1", picked(found, BATCH_TRACE), batch_trace_lines(found, materials))
        return
    none = ["No piece of it has a good print yet."]
    answer(
        "stockroom.trace/1",
        {"pieces": [picked(piece, PIECE_TRACE) for piece in found]},
        [line for piece in found for line in piece_trace_lines(piece, zone)] or none,
    )
