"""Tracing: from a piece to every batch in it, from a batch to every piece it touched."""

from collections.abc import Iterable
from dataclasses import dataclass

from stockroom import clock
from stockroom.core.making.recipe import Recipe
from stockroom.core.records import FINISHED, PARTS, Job, Lot, Material, Piece, Try, Unit, Used
from stockroom.core.records.base import Record
from stockroom.core.wording import dated
from stockroom.desk.lookup import find, find_any
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.work.attempts import pieces_of, recipe_for
from stockroom.errors import RefusedError


@dataclass(frozen=True, slots=True, eq=False)
class Into:
    """What of one unit went into a piece, or was lost on the way.

    Attributes
    ----------
    used, attempt, job, piece : Used, Try, Job, Piece or None
        What, at which try, for which piece; none where a print was lost before there was one.
    material, lot, unit : Material, Lot, Unit
    """

    used: Used
    attempt: Try
    job: Job
    piece: Piece | None
    material: Material
    lot: Lot
    unit: Unit

    @property
    def in_it(self) -> bool:
        """Whether the piece still holds it."""
        return self.used.fate == "in"


@dataclass(frozen=True, slots=True, eq=False)
class PieceTrace:
    """A piece with all that went into it and all that happened to it, in order of time."""

    job: Job
    piece: Piece
    recipe: Recipe
    parts: tuple[Into, ...]
    tries: tuple[Try, ...]

    @property
    def remakes(self) -> int:
        """How often it was begun again from a new print."""
        return sum(not tried.good and "paper" in tried.takes for tried in self.tries)


@dataclass(frozen=True, slots=True, eq=False)
class BatchTrace:
    """A batch with every piece that it touched.

    Attributes
    ----------
    lots : tuple of Lot
        The batch asked for.
    into : tuple of Into
        What of it was used or lost, by job and piece.
    jobs_put_by : tuple of (Job, Unit)
        Booked work that units of it are put by for, each pair once.
    left : tuple of Unit
        What is in stock of it.
    """

    lots: tuple[Lot, ...]
    into: tuple[Into, ...]
    jobs_put_by: tuple[tuple[Job, Unit], ...]
    left: tuple[Unit, ...]


def trace(reckoning: Reckoning, said: str) -> list[PieceTrace] | BatchTrace:
    """Return what a code, or a batch's number, is tied to.

    A piece, or all pieces of a job, with every batch in them; a batch, or the batch of a unit, or
    all batches of a material, with every piece.

    Raises
    ------
    UnknownCodeError
        Where nothing answers to it.
    RefusedError
        Where nothing can be traced from it.
    """
    found = _meant(reckoning, said)
    if isinstance(found, Piece):
        return [piece_trace(reckoning, found)]
    if isinstance(found, Job):
        return [piece_trace(reckoning, piece) for piece in pieces_of(reckoning, found)]
    if isinstance(found, Lot):
        return batch_trace(reckoning, [found], None)
    if isinstance(found, Unit):
        return batch_trace(reckoning, [reckoning.lot_of(found)], found)
    if isinstance(found, Material):
        lots = [lot for lot in reckoning.lots.values() if lot.material == found.code]
        return batch_trace(reckoning, lots, None)
    raise RefusedError(
        f"Nothing is traced from {found.kind} {found.key}.",
        "Pieces and jobs lead to batches; batches, units and materials lead to pieces.",
        "Scan one of those.",
    )


def _meant(reckoning: Reckoning, said: str) -> Record:
    if said.strip().isdigit():
        return find_any(reckoning.view, said)
    folded = said.strip().casefold()
    jobs = [job for job in reckoning.jobs.values() if job.name.casefold() == folded]
    if len(jobs) == 1:
        return jobs[0]
    return find(reckoning.view, Lot, said)


def piece_trace(reckoning: Reckoning, piece: Piece) -> PieceTrace:
    """Return what went into one piece."""
    job = reckoning.jobs[piece.job]
    mine = [item for item in reckoning.records.all(Used) if item.piece == piece.code]
    tries = [item for item in reckoning.records.all(Try) if item.piece == piece.code]
    into = sorted(
        _into(reckoning, mine),
        key=lambda item: (not item.in_it, PARTS.index(item.used.part), item.attempt.at_s),
    )
    tries.sort(key=lambda item: (item.at_s, item.act))
    return PieceTrace(job, piece, recipe_for(reckoning, job), tuple(into), tuple(tries))


def batch_trace(reckoning: Reckoning, lots: Iterable[Lot], unit: Unit | None) -> BatchTrace:
    """Return every piece that some batches, or one unit with what was cut from it, touched."""
    lots = tuple(lots)
    codes = {lot.code for lot in lots}
    units = None if unit is None else _with_offcuts(reckoning, unit)
    used = [
        item
        for item in reckoning.records.all(Used)
        if item.lot in codes and (units is None or item.unit in units)
    ]
    into = sorted(
        _into(reckoning, used),
        key=lambda item: (item.job.name, item.piece.number if item.piece else 0, item.used.code),
    )
    left = tuple(
        item
        for item in reckoning.units.values()
        if item.lot in codes and (units is None or item.code in units)
    )
    here = {item.code: item for item in left}
    put = {
        (item.job, item.unit): (reckoning.jobs[item.job], here[item.unit])
        for item in reckoning.put_bys
        if item.unit in here and item.job in reckoning.jobs
    }
    return BatchTrace(lots, tuple(into), tuple(put.values()), left)


def _with_offcuts(reckoning: Reckoning, unit: Unit) -> set[str]:
    found = {unit.code}
    grown = True
    every = reckoning.records.all(Unit)
    while grown:
        more = {item.code for item in every if item.parent in found} - found
        found |= more
        grown = bool(more)
    return found


def _into(reckoning: Reckoning, used: Iterable[Used]) -> list[Into]:
    tries = reckoning.records.by_key(Try)
    pieces = reckoning.records.by_key(Piece)
    found = []
    for item in used:
        unit = reckoning.unit(item.unit)
        assert unit is not None  # a used unit is never taken away
        found.append(
            Into(
                item,
                tries[item.attempt],
                reckoning.jobs[item.job],
                pieces.get(item.piece or ""),
                reckoning.materials[item.material],
                reckoning.lots[item.lot],
                unit,
            )
        )
    return found


def stands(piece: Piece, zone: str) -> str:
    """Return where a piece stands, in words."""
    day = dated(clock.local_date(piece.since_s, zone))
    return f"finished on {day}" if piece.stage == FINISHED else f"next {piece.stage}, since {day}"
