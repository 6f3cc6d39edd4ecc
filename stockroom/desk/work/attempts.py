"""Recording a print or a mount: good, or lost with its cause; materials book themselves."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from stockroom.core.making.recipe import Recipe, recipe_of
from stockroom.core.records import (
    CAUSES,
    FINISHED,
    PARTS,
    Build,
    Job,
    Layer,
    LossRule,
    Lot,
    Payer,
    Piece,
    Place,
    PutBy,
    TryStage,
    Unit,
)
from stockroom.core.records.asked import check_word
from stockroom.desk.condition.checking import bookings
from stockroom.desk.cutting.one_cut import cut_off
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done
from stockroom.desk.work.drawing import Drawn, Stores, drawn_for, in_hand, later_draws
from stockroom.errors import BadValueError, RefusedError
from stockroom.text import capital, safe
from stockroom.units import LONGEST_DMM, size_text


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """What a try at a stage would be: which piece, and what it takes.

    Attributes
    ----------
    job, recipe, piece : Job, Recipe, Piece or None
        The work; no piece where a print is still to be made.
    number : int
        Which piece of the job it is, from 1.
    stage : str
        What is done.
    held : tuple of str
        The parts that it has already.
    draws : tuple of Drawn
        What it takes.
    later : tuple of Drawn
        Where it is a print: what the stages after it take, to be put by once it is good.
    """

    job: Job
    recipe: Recipe
    piece: Piece | None
    number: int
    stage: TryStage
    held: tuple[str, ...]
    draws: tuple[Drawn, ...]
    later: tuple[Drawn, ...] = ()

    def lost(self, cause: str) -> tuple[str, ...]:
        """Return the parts that a loss to this cause destroys."""
        there = {*self.held, *(drawn.part for drawn in self.draws)}
        outside = {"paper"} if not self.job.printed_here else set()
        takes = self.recipe.takes(self.stage, cause)
        if self.stage == "print":
            takes = ("paper",)
        return tuple(part for part in takes if part in there | outside)


def plan_try(
    desk: Desk, said: str, stage: str | None = None, chosen: Mapping[str, str] | None = None
) -> Plan:
    """Return what the next try of a job or of a piece would be; nothing is booked.

    Parameters
    ----------
    desk : Desk
        The books.
    said : str
        A job or a piece, by code or name.
    stage : str, optional
        What is done; what is next for the piece, or a print, if left out.
    chosen : mapping of part to unit code, optional
        Units named by a person.

    Raises
    ------
    RefusedError
        Where no piece waits for that stage.
    """
    with reckoned(desk) as reckoning:
        return planned(reckoning, said, stage, chosen)


def planned(
    reckoning: Reckoning,
    said: str,
    stage: str | None = None,
    chosen: Mapping[str, str] | None = None,
) -> Plan:
    """Return what the next try would be, from what is read once."""
    piece = reckoning.records.by_key(Piece).get(said.strip())
    job = reckoning.jobs[piece.job] if piece else find(reckoning.view, Job, said)
    recipe = recipe_for(reckoning, job)
    pieces = pieces_of(reckoning, job)
    named = _stage(recipe, stage)
    if piece is None and named != "print":
        piece = _waiting(job, recipe, pieces, named)
    if piece is None and named is None:
        named = "print"
    made = len(pieces) if recipe.build is not None else max(len(pieces), job.good)
    if piece is None and made >= job.count:
        piece = next((item for item in pieces if item.stage == "print"), None)
        if piece is None:
            raise RefusedError(
                f"All {job.count} pieces of {job.name} have their print.",
                "Another good print would belong to none of them.",
                f"If there are more pieces: stockroom job change {job.code} --count "
                f"{job.count + 1}.",
            )
    elif piece is None:
        piece = next((item for item in pieces if item.stage == "print"), None)
    at = named or (piece.stage if piece is not None else "print")
    if piece is not None and at == FINISHED:
        at = "damage"
    _in_its_order(recipe, piece, at)
    held = in_hand(reckoning, recipe, piece)
    draws: Sequence[Drawn] = ()
    later: Sequence[Drawn] = ()
    if at != "damage":
        named_units = dict(chosen or {})
        if at == "print" and "paper" not in named_units and "paper" not in held:
            named_units |= _best_roll(reckoning, job)
        stores = Stores(reckoning, job, reckoning.today)
        draws = drawn_for(stores, recipe, at, held, named_units)
        _as_named(reckoning, at, draws, chosen or {})
        if at == "print":
            others = [item for item in pieces if piece is None or item.code != piece.code]
            later = later_draws(stores, recipe, others)
    number = piece.number if piece is not None else len(pieces) + 1
    return Plan(job, recipe, piece, number, at, tuple(held), tuple(draws), tuple(later))  # type: ignore[arg-type]


def _as_named(
    reckoning: Reckoning, at: str, draws: Sequence[Drawn], chosen: Mapping[str, str]
) -> None:
    """Refuse a unit that a person named and that does not serve, or serves no part of it."""
    for part, code in chosen.items():
        item = next((draw for draw in draws if draw.part == part), None)
        if item is None:
            taken = ", ".join(draw.part for draw in draws) or "nothing"
            raise BadValueError(
                f"No {safe(part, length=30)} is taken at {at} now.",
                f"What is taken: {taken}.",
                "Look at the part's name, or leave it out.",
            )
        if item.unit is None or item.unit.code != code:
            unit = find(reckoning.view, Unit, code)
            why = f"it is {unit.state}" if unit.state != "in stock" else item.why
            raise RefusedError(
                f"{unit.code} does not serve for the {part}.",
                f"{capital(why)}.",
                "Name another unit, or leave it to the books.",
            )


def _best_roll(reckoning: Reckoning, job: Job) -> dict[str, str]:
    """The roll that today names for a job's prints, where there is a good one."""
    if not job.printed_here or job.state != "booked":
        return {}
    for booking in bookings(reckoning, reckoning.today):
        best = booking.answers.best
        if booking.job.code == job.code and best is not None and best.verdict.answer != "no":
            return {"paper": best.roll.unit.code}
    return {}


def recipe_for(reckoning: Reckoning, job: Job) -> Recipe:
    """Return how the pieces of a job are made, from what is read once."""
    records = reckoning.records
    return reckoning.once(
        ("recipe", job.build),
        lambda: recipe_of(job, records.by_key(Build), records.all(Layer), records.all(LossRule)),
    )


def pieces_of(reckoning: Reckoning, job: Job) -> list[Piece]:
    """Return the pieces of a job that have had a good print, by number."""

    def by_job() -> dict[str, list[Piece]]:
        found: dict[str, list[Piece]] = {}
        for item in sorted(reckoning.records.all(Piece), key=lambda item: item.number):
            found.setdefault(item.job, []).append(item)
        return found

    return list(reckoning.once(("pieces",), by_job).get(job.code, ()))


def _stage(recipe: Recipe, said: str | None) -> str | None:
    """A stage of the build, or damage; None where none was named."""
    if said is None:
        return None
    if said == "damage" or said in recipe.stages:
        return said
    name = recipe.build.name if recipe.build else "a bare print"
    raise BadValueError(
        f"{name} has no stage {safe(said, length=20)!r}.",
        f"It has: {', '.join(recipe.stages)}; and damage, once it is made.",
    )


def _waiting(job: Job, recipe: Recipe, pieces: Sequence[Piece], stage: str | None) -> Piece | None:
    """The piece that waits longest for a stage, or that a look alone stands before it."""
    if stage is None:
        open_ = [item for item in pieces if item.stage not in (FINISHED, "print")]
        if len(pieces) < job.count or any(item.stage == "print" for item in pieces):
            return None
        return min(open_, key=lambda item: (item.since_s, item.number), default=None)
    if stage == "damage":
        waiting = list(pieces)
    else:
        waiting = [item for item in pieces if _reaches(recipe, item.stage, stage)]
    if not waiting:
        raise RefusedError(
            f"No piece of {job.name} waits for: {stage}.",
            f"{_standing(pieces)}",
            f"Look at it: stockroom job show {job.code}.",
        )
    exact = [item for item in waiting if item.stage == stage]
    return min(exact or waiting, key=lambda item: (item.since_s, item.number))


def _standing(pieces: Sequence[Piece]) -> str:
    if not pieces:
        return "None has a good print yet."
    return "; ".join(f"number {item.number}: {item.stage}" for item in pieces[:6]) + "."


def _reaches(recipe: Recipe, now: str, stage: str) -> bool:
    """Whether a piece can go on with a stage: it is next, or only looks and signing come before."""
    if now == FINISHED or now not in recipe.stages:
        return False
    at, wanted = recipe.stages.index(now), recipe.stages.index(stage)
    return at <= wanted and all(
        name != "print" and not recipe.drawn_at(name) for name in recipe.stages[at:wanted]
    )


def _in_its_order(recipe: Recipe, piece: Piece | None, stage: str) -> None:
    if piece is None or stage == "damage" or _reaches(recipe, piece.stage, stage):
        return
    now = FINISHED if piece.stage == FINISHED else f"at {piece.stage}"
    raise RefusedError(
        f"Piece {piece.number} is {now}; {stage} is not what is next.",
        f"Its stages are: {', '.join(recipe.stages)}.",
        "If it was damaged, say so: stage damage. If the last entry was wrong, undo it.",
    )


def record(
    desk: Desk,
    said: str,
    *,
    good: bool,
    stage: str | None = None,
    cause: str = "",
    units: Mapping[str, str] | None = None,
    amounts: Mapping[str, int] | None = None,
    without: Sequence[str] = (),
    takes: Sequence[str] | None = None,
    keep_offcuts: bool = True,
    spoiled_to: tuple[int, int] | None = None,
    place: str | None = None,
    paid_by: Payer | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Record a try: a print, a look, a mount, a backing, a framing; or damage found later.

    What it takes is booked by itself, from what is put by for the job where there is some; a
    remake follows from where the piece then stands. With the first good print, what the later
    stages take is put by.

    Parameters
    ----------
    said : str
        A job or a piece.
    good : bool
        Whether it came out good.
    stage : str, optional
        What was done; what was next, if left out.
    cause : str
        Why it was lost.
    units, amounts : mapping by part, optional
        Other units, or amounts (dmm of a length, or a number), than the books would choose.
    without : sequence of str
        Parts that were not taken now: cut before, or booked otherwise.
    takes : sequence of str, optional
        What the loss destroyed; as the build says, if left out.
    keep_offcuts : bool
        Whether what a cut leaves is kept where it is worth it.
    spoiled_to : (int, int), optional
        The size (dmm) of an offcut that a spoiled sheet is kept as.
    place : str, optional
        Where offcuts stand; where the sheet stood, if left out.
    paid_by : str, optional
        Who pays for a loss; as the job says, if left out.

    Raises
    ------
    RefusedError
        Where no piece waits for that stage.
    BadValueError
        Where a cause, a part or an amount cannot be.
    """

    def build(decision: Decision) -> dict[str, Any]:
        plan = plan_try(desk, said, stage, units)
        why = _checked_cause(plan, good, cause)
        plan = _as_told(plan, amounts or {}, without)
        lost = () if good else _lost(plan, why, takes)
        job = plan.job
        payload = _payload(decision, plan, good, why, lost, paid_by)
        payload["draws"] = [
            _draw_payload(
                decision, item, keep_offcuts, spoiled_to if item.part in lost else None, place
            )
            for item in plan.draws
            if item.unit is not None
        ]
        if payload["job_state"] == "done":
            payload["let_go"] = [
                put.code for put in decision.view.having(PutBy, "job", job.code) if put.open
            ]
        elif good and plan.stage == "print":
            payload["put_bys"] = _put_bys(decision, plan, payload["draws"])
        decision.notes += [*_notes(plan, good, lost, payload), *_held_notes(decision, plan)]
        return payload

    request: dict[str, Any] = {
        "of": said,
        "stage": stage,
        "good": good,
        "cause": safe(cause, length=60),
        "units": dict(units or {}),
        "amounts": dict(amounts or {}),
        "without": list(without),
        "takes": None if takes is None else list(takes),
        "offcuts": keep_offcuts,
        "spoiled_to": None if spoiled_to is None else list(spoiled_to),
        "place": place,
        "paid_by": paid_by,
    }
    return desk.act("try", request, build, happened_s=happened_s, key=key)


def _checked_cause(plan: Plan, good: bool, cause: str) -> str:
    cause = safe(cause, length=60)
    if good:
        if plan.stage == "damage":
            raise BadValueError(
                "Damage is never good.", try_="Say that it was lost, with what happened."
            )
        return ""
    if cause:
        check_word(f"Cause at {plan.stage}", cause, CAUSES[plan.stage])
    return cause or "other"


def _as_told(plan: Plan, amounts: Mapping[str, int], without: Sequence[str]) -> Plan:
    """The plan with a person's own amounts, and without what was not taken now."""
    parts = {item.part for item in plan.draws}
    for name in (*amounts, *without):
        if name not in parts:
            raise BadValueError(
                f"No {safe(name, length=30)} is taken now.",
                f"This takes: {', '.join(sorted(parts)) or 'nothing'}.",
            )
    for amount in amounts.values():
        if not 0 < amount <= LONGEST_DMM:
            raise BadValueError("The amount must be above zero, and at most 10 km.")
    return replace(
        plan,
        draws=tuple(
            replace(item, amount=amounts.get(item.part, item.amount))
            for item in plan.draws
            if item.part not in without
        ),
        held=(*plan.held, *without),
    )


def _lost(plan: Plan, cause: str, takes: Sequence[str] | None) -> tuple[str, ...]:
    if takes is None:
        return plan.lost(cause)
    there = {*plan.held, *(item.part for item in plan.draws)}
    for part in takes:
        if part not in there:
            raise BadValueError(
                f"There is no {safe(part, length=30)} in it that could be lost.",
                f"In it, or taken now: {', '.join(p for p in PARTS if p in there) or 'nothing'}.",
            )
    return tuple(part for part in PARTS if part in takes)


def _payload(
    decision: Decision,
    plan: Plan,
    good: bool,
    cause: str,
    lost: Sequence[str],
    paid_by: Payer | None,
) -> dict[str, Any]:
    """All of a try but what it draws and puts by."""
    job, recipe, piece = plan.job, plan.recipe, plan.piece
    printing = plan.stage == "print"
    parts = {item.part for item in plan.draws if item.unit is not None}
    held = {*plan.held, *parts} | ({"paper"} if printing and good else set())
    still = held - set(lost)
    to_stage = recipe.after(plan.stage) if good else recipe.back_to(still, plan.stage)
    new_piece = None
    if good and printing and piece is None:
        taken = {item.number for item in decision.view.having(Piece, "job", job.code)}
        number = next(n for n in range(1, len(taken) + 2) if n not in taken)
        numbered = job.edition_of is not None or job.edition_from is not None
        new_piece = {
            "code": decision.head.born(),
            "number": number,
            "edition": (job.edition_from or 1) + number - 1 if numbered else None,
        }
    prints_good = int(good and printing)
    if not good and not printing and "paper" in lost:
        prints_good = -1
    return {
        "code": decision.head.born(),
        "job": job.code,
        "piece": piece.code if piece is not None else None,
        "new_piece": new_piece,
        "stage": plan.stage,
        "to_stage": to_stage,
        "good": good,
        "cause": cause,
        "takes": ", ".join(lost),
        "area_dmm2": job.area_dmm2,
        "paid_by": paid_by or job.pays or "us",
        "prints_good": prints_good,
        "prints_lost": int(printing and not good),
        "job_state": _job_state(decision, job, piece, new_piece, to_stage),
    }


def _job_state(
    decision: Decision,
    job: Job,
    piece: Piece | None,
    new_piece: Mapping[str, Any] | None,
    to_stage: str,
) -> str:
    """Done when the last piece is finished; booked again when a finished one is damaged."""
    if to_stage != FINISHED:
        return "booked"
    pieces = decision.view.having(Piece, "job", job.code)
    here = piece.code if piece is not None else ""
    others = sum(item.stage == FINISHED for item in pieces if item.code != here)
    if others + 1 >= job.count and (piece is not None or new_piece is not None):
        return "done"
    return job.state


def _draw_payload(
    decision: Decision,
    item: Drawn,
    keep_offcuts: bool,
    spoiled_to: tuple[int, int] | None,
    place: str | None,
) -> dict[str, Any]:
    assert item.unit is not None
    unit = find(decision.view, Unit, item.unit.code)
    payload: dict[str, Any] = {"code": decision.head.born(), "part": item.part, "unit": unit.code}
    if not unit.shape.flat or (item.cut is None and spoiled_to is None):
        return {**payload, "amount": item.amount}
    wide, high = item.cut or (unit.width_dmm, unit.length_dmm)
    kept = list(item.offcuts) if keep_offcuts else []
    area = wide * high
    if spoiled_to is not None:
        if sorted(spoiled_to)[0] > min(wide, high) or sorted(spoiled_to)[1] > max(wide, high):
            raise BadValueError(
                f"An offcut of {size_text(*spoiled_to)} does not come out of the spoiled "
                f"{item.part}, {size_text(wide, high)}."
            )
        kept.append(spoiled_to)
        area -= spoiled_to[0] * spoiled_to[1]
    stands = unit.place
    if place is not None:
        stands = find(decision.view, Place, place).code
    payload["cut"] = {
        "take": item.amount,
        "area_dmm2": area,
        "children": [cut_off(decision, stands, width, height) for width, height in kept],
    }
    return payload


def _put_bys(
    decision: Decision, plan: Plan, draws: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """What is put by with a good print: all that the later stages of this piece take.

    The rest of a series is put by on its emulsion, as far as the roll goes. A good print is a
    fact: what is reserved for others is passed over, never a reason to refuse.
    """
    job = plan.job
    wanted = [(item.unit.code, item.amount) for item in plan.later if item.unit is not None]
    wanted += _rest_of_series(decision, plan)
    going: dict[str, int] = {}
    for item in draws:
        taken = item["cut"]["take"] if "cut" in item else item["amount"]
        going[item["unit"]] = going.get(item["unit"], 0) + taken
    found = []
    for code, amount in wanted:
        unit = find(decision.view, Unit, code)
        held = unit.held or find(decision.view, Lot, unit.lot).held
        puts = sum(put.qty for put in decision.view.put_bys(code))
        free = (unit.qty - puts) // max(1, unit.measure) - going.get(code, 0)
        if unit.state != "in stock" or held or amount > free:
            continue
        going[code] = going.get(code, 0) + amount
        found.append(
            {"code": decision.head.born(), "unit": code, "job": job.code, "amount": amount}
        )
    return found


def _rest_of_series(decision: Decision, plan: Plan) -> list[tuple[str, int]]:
    """The paper for the rest of a series, off the roll that its first print came from."""
    job = plan.job
    left = job.count - job.good - 1
    paper = next((item for item in plan.draws if item.part == "paper"), None)
    if not job.series or left <= 0 or paper is None or paper.unit is None:
        return []
    unit = find(decision.view, Unit, paper.unit.code)
    if find(decision.view, Lot, unit.lot).owner == "customer":
        return []
    mine = decision.view.having(PutBy, "job", job.code)
    units = {put.unit: find(decision.view, Unit, put.unit) for put in mine if put.open}
    put = sum(
        put.qty // max(1, units[put.unit].measure)
        for put in mine
        if put.open
        and units[put.unit].shape.wound
        and find(decision.view, Lot, units[put.unit].lot).material == paper.material.code
    )
    wanted = left * paper.amount - max(0, put - paper.amount)
    others = sum(item.qty for item in decision.view.put_bys(unit.code)) // max(1, unit.measure)
    free = unit.amount - others - paper.amount
    prints = min(wanted, free) // paper.amount
    return [(unit.code, prints * paper.amount)] if prints > 0 else []


def _notes(plan: Plan, good: bool, lost: Sequence[str], payload: Mapping[str, Any]) -> list[str]:
    """What must be said of a try: what was not booked, and an outside print to be made again."""
    notes = [
        f"The {item.part} was not booked: {item.material.name}, {item.why}."
        for item in plan.draws
        if item.unit is None
    ]
    job = plan.job
    if not good and "paper" in lost and not job.printed_here:
        days = f", {job.lab_days} days" if job.lab_days is not None else ""
        who = "the lab" if job.printed_by == "outside lab" else "the customer"
        notes.append(
            f"Another print must come from {who}{days}; {payload['paid_by']} "
            f"{'pay' if payload['paid_by'] == 'us' else 'pays'}."
        )
    return notes


def _held_notes(decision: Decision, plan: Plan) -> list[str]:
    """What was taken though it is on hold: what was done was done, and it is said."""
    notes = []
    for unit in (item.unit for item in plan.draws if item.unit is not None):
        held = unit.held or find(decision.view, Lot, unit.lot).held
        if held:
            notes.append(f"{unit.code} is on hold ({held}); it was taken all the same.")
    return notes
