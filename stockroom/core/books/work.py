"""Folding acts on the work itself: builds, jobs, and tries that came out good or lost."""

from typing import Any

from stockroom.core.books import cutting, stock
from stockroom.core.books.draft import Draft, MovementKind
from stockroom.core.records import (
    Build,
    Fate,
    Job,
    Layer,
    LossRule,
    Lot,
    Piece,
    Try,
    Unit,
    Used,
    parts_of,
)


def book(draft: Draft, payload: dict[str, Any]) -> None:
    """Book prints of one size on one material for a day, or change the booking."""
    old = draft.get(Job, payload["code"])
    kept = {"good": old.good, "lost": old.lost} if old else {}
    draft.put(Job.from_plain({**payload, **kept}))


def close_job(draft: Draft, payload: dict[str, Any]) -> None:
    """Call a job done or cancelled; what was put by for it is free again."""
    job = draft.need(Job, payload["job"])
    draft.change(job, state=payload["state"])
    stock.free(draft, payload["put_bys"])


def build(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a build with all its layers; the one that it takes the place of retires."""
    made = Build.from_plain(payload["build"])
    draft.put(made)
    for row in payload["layers"]:
        draft.put(Layer(**row, build=made.code))
    for row in payload["rules"]:
        draft.put(LossRule(**row, build=made.code))
    if payload.get("retires"):
        draft.change(draft.need(Build, payload["retires"]), retired=True)


def retire_build(draft: Draft, payload: dict[str, Any]) -> None:
    """Offer a build for new jobs no longer, or again."""
    draft.change(draft.need(Build, payload["build"]), retired=payload["retired"])


def take_in_jobs(draft: Draft, payload: dict[str, Any]) -> None:
    """Book the jobs of a list, all of them or none."""
    for item in payload["jobs"]:
        draft.put(Job.from_plain(item))


def change_job(draft: Draft, payload: dict[str, Any]) -> None:
    """Change what is known of a job; what was made of it stays."""
    old = draft.need(Job, payload["job"])
    draft.put(Job.from_plain({**old.plain(), **payload["fields"]}))


def try_(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down one try at a stage: what it took, how it came out, and where the piece stands.

    What was drawn and is destroyed counts as lost. What an earlier try put into the piece and
    this loss destroys was used then, and is told as lost in the piece from now on.
    """
    job = draft.need(Job, payload["job"])
    good, takes = payload["good"], parts_of(payload["takes"])
    piece = _piece(draft, payload)
    tried = Try(
        code=payload["code"],
        job=job.code,
        piece=piece.code if piece else None,
        stage=payload["stage"],
        good=good,
        cause=payload["cause"],
        takes=payload["takes"],
        area_dmm2=payload["area_dmm2"],
        paid_by=payload["paid_by"],
        at_s=draft.act.occurred_s,
        act=draft.act.seq,
    )
    draft.put(tried)
    if piece is not None and not good:
        for used in draft.view.having(Used, "piece", piece.code):
            now = draft.get(Used, used.code)
            if now is not None and now.fate == "in" and now.part in takes:
                draft.change(now, fate="lost")
    for item in payload["draws"]:
        fate: Fate = "lost" if not good and item["part"] in takes else "in"
        _draw(draft, tried, item, fate)
    for item in payload.get("put_bys", ()):
        stock.put_by(draft, item)
    stock.free(draft, payload.get("let_go", ()))
    draft.change(
        draft.need(Job, job.code),
        good=job.good + payload["prints_good"],
        lost=job.lost + payload["prints_lost"],
        state=payload["job_state"],
    )


def _piece(draft: Draft, payload: dict[str, Any]) -> Piece | None:
    """The piece of a try, born or moved on; none where a print was lost before there was one."""
    at_s = draft.act.occurred_s
    if payload.get("new_piece"):
        born = Piece(
            **payload["new_piece"], job=payload["job"], stage=payload["to_stage"], since_s=at_s
        )
        draft.put(born)
        return born
    if not payload.get("piece"):
        return None
    piece = draft.need(Piece, payload["piece"])
    return draft.change(piece, stage=payload["to_stage"], since_s=at_s)


def _draw(draft: Draft, tried: Try, item: dict[str, Any], fate: Fate) -> None:
    """Take from a unit what a try took, and tie it to the try."""
    unit = draft.need(Unit, item["unit"])
    lot = draft.need(Lot, unit.lot)
    kind: MovementKind = "used" if fate == "in" else "lost"
    cost_before = unit.cost_left_cents
    if "cut" in item:
        cut = item["cut"]
        qty = cut["area_dmm2"]
        cutting.cut_for(draft, unit.code, cut, kind, tried.job)
        kept = [draft.need(Unit, child["code"]) for child in cut["children"]]
        cost = cost_before - draft.need(Unit, unit.code).cost_left_cents
        cost -= sum(child.cost_left_cents for child in kept)
    else:
        qty = item["amount"] * unit.measure
        after = stock.draw(draft, unit.code, item["amount"], kind, tried.job)
        cost = cost_before - after.cost_left_cents
        if after.condition in ("sealed", "re-bagged") and after.state == "in stock":
            stock.open_(draft, {"unit": unit.code})
    draft.put(
        Used(
            code=item["code"],
            attempt=tried.code,
            job=tried.job,
            piece=tried.piece,
            part=item["part"],
            unit=unit.code,
            lot=lot.code,
            material=lot.material,
            qty=qty,
            cost_cents=cost,
            fate=fate,
        )
    )
