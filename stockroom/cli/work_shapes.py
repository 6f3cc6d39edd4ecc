"""Work as JSON of a named shape, and as lines for a person."""

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from stockroom import clock
from stockroom.core.constants import ASSURANCE
from stockroom.core.making.recipe import Recipe
from stockroom.core.making.sizes import Takes, TooLarge
from stockroom.core.records import FINISHED, TRY_STAGES, Material
from stockroom.core.wording import outcome_text
from stockroom.desk.work.board import BoardLine, JobView
from stockroom.desk.work.cost import JobCost
from stockroom.desk.work.needs import MaterialNeed, PartNeed
from stockroom.desk.work.text import cost_lines, far_text, part_need_text, percent_text, stage_text
from stockroom.desk.work.tracing import BatchTrace, PieceTrace, stands
from stockroom.picking import picked
from stockroom.units import day_text, size_text

# The shapes of the JSON, as `picked` reads them.
JOB = """
    code=job.code name=job.name work=job.work state=state_text width_mm=job.width_dmm/10
    height_mm=job.height_dmm/10 count=job.count material=material.name build=recipe.build?.name
    series=job.series print_on=job.print_on due_on=job.due_on start_on=job.start_on
    edition_from=job.edition_from edition_of=job.edition_of printed_by client? pieces_at
"""
MADE = """
    mounts_good=mounts_counted.good mounts_tried=mounts_counted.tried
    prints_good=prints_counted.good prints_tried=prints_counted.tried mount_chance print_chance
    pieces[](code number edition stage since_s)
"""
COSTS = """
    no_price_for=unpriced
    parts[](part material=material?.name once_cents expected_cents=from_start_cents spent_cents
        lost_cents still_cents)
"""
NEED = """
    usable coming put_by spoken_for chance_enough=assurance short_on order_by quantity
    jobs=parts[](code=job.code name=job.name part)
"""
LOST = "stage? cause material=material.name times area_m2 length_m=length_dmm/10000 cents"
INTO = """
    part=used.part material=material.name batch=lot.number unit=unit.code fate=used.fate
    job=job.code piece=piece?.code at_s=attempt.at_s cents=used.cost_cents
"""
PIECE_TRACE = f"""
    job=job.code name=job.name piece=piece.code number=piece.number stage=piece.stage remakes
    parts[]({INTO})
"""
BATCH_TRACE = f"batches=lots[].number into[]({INTO}) in_stock=left[].code"


def job_line(line: BoardLine, today: date) -> str:
    """Return a job in one line."""
    job = line.job
    due = f"due {day_text(job.due_on, today)}" if job.due_on else "no due day"
    size = size_text(job.width_dmm, job.height_dmm)
    head = f"{job.code}  {job.name}: {job.count} x {size}, {line.state_text}"
    return f"{head}, {due}; {far_text(line)}"


def part_need_value(need: PartNeed) -> dict[str, Any]:
    """Return what a job still needs for one part."""
    value = {
        **picked(need, "part material=material?.name"),
        **picked(need, "times_mean=tries.mean times_likely times_enough"),
        "assurance": ASSURANCE.value,
        "put_by": need.put_by,
    }
    if isinstance(need.takes, Takes):
        value |= {
            "measure": need.takes.measure,
            "each": need.takes.amount,
            "likely": need.amount(need.times_likely),
            "enough": need.amount(need.times_enough),
        }
    elif isinstance(need.takes, TooLarge):
        value |= {"cannot": need.takes.why}
    return value


def cost_value(cost: JobCost) -> dict[str, Any]:
    """Return what a job costs in materials, cents."""
    return {
        "piece_once_cents": round(cost.piece_once_cents),
        "piece_expected_cents": round(cost.piece_expected_cents),
        "spent_cents": cost.spent_cents,
        "lost_cents": cost.lost_cents,
        "still_cents": round(cost.still_cents),
        **picked(cost, COSTS),
    }


def job_shown_value(seen: JobView) -> dict[str, Any]:
    """Return one job with all that it holds."""
    return {
        **picked(seen.line, JOB),
        **picked(seen, MADE),
        "needs": [part_need_value(need) for need in seen.needs],
        "cost": cost_value(seen.cost),
        **picked(seen, "put_by=put_bys[](code=0.code unit=1.code)"),
    }


def job_shown_lines(seen: JobView, today: date, zone: str, currency: str = "EUR") -> Iterator[str]:
    """Yield one job with all that it holds."""
    line = seen.line
    yield job_line(line, today)
    if line.client:
        yield f"For {line.client}."
    made = f"{line.material.name}"
    if line.recipe.build is not None:
        made += f"; build {line.recipe.build.name}: {', '.join(line.recipe.stages)}"
    yield made
    yield (
        f"{seen.mounts_counted.good} of {seen.mounts_counted.tried} mounts of this size and "
        f"{seen.prints_counted.good} of {seen.prints_counted.tried} prints came out good; the next "
        f"mount does with {percent_text(seen.mount_chance)}, the next print with "
        f"{percent_text(seen.print_chance)}."
    )
    for piece in seen.pieces:
        number = f", number {piece.edition} of the edition" if piece.edition else ""
        yield f"  Piece {piece.number} ({piece.code}){number}: {stands(piece, zone)}"
    if seen.needs:
        yield "Still needed:"
        for need in seen.needs:
            yield f"  {part_need_text(need)}"
    yield from cost_lines(seen.cost, currency)
    for tried in seen.tries:
        how = outcome_text(tried)
        yield f"  {clock.moment_text(tried.at_s, zone)}  {tried.stage}: {how}"


def build_value(recipe: Recipe, names: Mapping[str, str]) -> dict[str, Any]:
    """Return a build with its layers and rules."""
    return {
        **picked(recipe.build, "code name version trim retired sign_days"),
        "stages": recipe.stages,
        "layers": [
            {
                "part": layer.part,
                "material": names.get(layer.material or ""),
                "instead": names.get(layer.instead or ""),
                **picked(layer, "allowance_mm=allowance_dmm/10 turn stage"),
            }
            for layer in recipe.layers
        ],
        **picked(recipe, "losses=rules[](stage cause? takes=parts)"),
    }


def build_lines(recipe: Recipe, names: Mapping[str, str]) -> Iterator[str]:
    """Yield a build with its layers and rules."""
    build = recipe.build
    assert build is not None
    retired = ", no longer offered" if build.retired else ""
    yield f"{build.code}  {build.name}, version {build.version}{retired}"
    how = "mounted oversize, trimmed after" if build.trim == "after" else "cut to size before"
    yield f"Stages: {', '.join(recipe.stages)}; {how}."
    yield "Layers, front to back:"
    for layer in recipe.layers:
        named = names.get(layer.material or "", "the job names it")
        other = names.get(layer.instead or "")
        other = f", or {other}" if other else ""
        more = f", {layer.allowance_dmm / 10:g} mm larger an edge" if layer.allowance_dmm else ""
        turn = f", along the {layer.turn}" if layer.turn != "any" else ""
        yield f"  {layer.part}: {named}{other}{more}{turn}; taken at {layer.stage}"
    yield "What a loss destroys:"
    for stage in TRY_STAGES:
        if stage not in recipe.stages and stage != "damage":
            continue
        causes = [rule.cause for rule in recipe.rules if rule.stage == stage and rule.cause]
        for cause in (*causes, ""):
            taken = ", ".join(recipe.takes(stage, cause)) or "nothing"
            word = f"{stage}, {cause}" if cause else f"{stage}, any other" if causes else stage
            yield f"  {word}: {taken}"


def material_need_value(need: MaterialNeed) -> dict[str, Any]:
    """Return what sure work needs of a material."""
    return {
        **picked(need, "material=material.name code=material.code measure likely enough=safe"),
        "assurance": ASSURANCE.value,
        **picked(need, NEED),
    }


def piece_trace_lines(found: PieceTrace, zone: str) -> Iterator[str]:
    """Yield a piece with all that went into it."""
    piece = found.piece
    again = f"; begun again {found.remakes} times" if found.remakes > 1 else ""
    again = "; begun again once" if found.remakes == 1 else again
    yield f"{found.job.name}, piece {piece.number} ({piece.code}): {stands(piece, zone)}{again}"
    for item in found.parts:
        lost = "" if item.in_it else ", lost"
        yield (
            f"  {item.used.part}: {item.material.name}, batch {item.lot.number}, unit "
            f"{item.unit.code}, {clock.moment_text(item.attempt.at_s, zone)}{lost}"
        )


def batch_trace_lines(found: BatchTrace, names: Mapping[str, Material]) -> Iterator[str]:
    """Yield a batch with every piece that it touched."""
    for lot in found.lots:
        held = f", on hold: {lot.held}" if lot.held else ""
        yield f"Batch {lot.number} of {names[lot.material].name}{held}"
    if not found.into:
        yield "  It touched no piece that the books know of."
    for item in found.into:
        where = f"piece {item.piece.number} ({item.piece.code})" if item.piece else "a lost print"
        stage = f", {stage_text(item.piece.stage)}" if item.piece else ""
        if item.piece and item.piece.stage == FINISHED:
            stage = ", finished"
        fate = "in" if item.in_it else "lost on the way to"
        yield f"  {item.used.part} {fate} {item.job.name}, {where}{stage}; unit {item.unit.code}"
    for job, unit in found.jobs_put_by:
        yield f"  {unit.code} is put by for {job.name} ({job.code})"
    if found.left:
        yield f"  in stock: {', '.join(unit.code for unit in found.left)}"
