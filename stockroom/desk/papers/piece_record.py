"""The record of a piece on paper: its materials by batch, its tries, the dates of its paper."""

from stockroom import clock
from stockroom.core.records import Piece
from stockroom.core.wording import dated, outcome_text
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.work.tracing import Into, PieceTrace, piece_trace, stands
from stockroom.documents.record_sheet import LayerRecord, PieceRecord, TryRecord, record_sheet
from stockroom.errors import RefusedError
from stockroom.text import capital
from stockroom.units import count_of, size_text


def piece_record(desk: Desk, said: str) -> PieceRecord:
    """Return what the books hold of a piece, as text.

    Raises
    ------
    UnknownCodeError
        Where there is no such piece.
    RefusedError
        Where the code is a job's with several pieces.
    """
    with reckoned(desk) as reckoning:
        piece = _meant(reckoning, said)
        found = piece_trace(reckoning, piece)
        job = found.job
        of = f" of {job.edition_of}" if job.edition_of else ""
        build = found.recipe.build
        return PieceRecord(
            code=piece.code,
            name=job.name,
            work=job.work or "",
            size=size_text(job.width_dmm, job.height_dmm),
            edition=f"number {piece.edition}{of}" if piece.edition else "",
            build=f"{build.name}, version {build.version}" if build else "",
            stands=capital(stands(piece, desk.zone)),
            layers=tuple(
                LayerRecord(
                    item.used.part,
                    item.material.name,
                    item.lot.number,
                    item.unit.code,
                    _day(item, desk.zone),
                )
                for item in found.parts
                if item.in_it
            ),
            tries=tuple(
                TryRecord(
                    clock.moment_text(tried.at_s, desk.zone),
                    tried.stage,
                    outcome_text(tried),
                )
                for tried in found.tries
            ),
            facts=tuple(_facts(reckoning, found)),
        )


def piece_record_pdf(desk: Desk, said: str) -> bytes:
    """Return the record of a piece as a PDF of one page."""
    return record_sheet(piece_record(desk, said))


def _meant(reckoning: Reckoning, said: str) -> Piece:
    """A piece by its code; a job's only piece by the job."""
    from stockroom.core.records import Job
    from stockroom.desk.work.attempts import pieces_of

    by_code = reckoning.records.by_key(Piece)
    if said.strip() in by_code:
        return by_code[said.strip()]
    job = find(reckoning.view, Job, said)
    pieces = pieces_of(reckoning, job)
    if len(pieces) != 1:
        some = ", ".join(f"{item.code} (number {item.number})" for item in pieces[:8])
        raise RefusedError(
            f"{job.name} has {len(pieces)} pieces; a record is of one.",
            try_=f"Name one of: {some}." if some else "Record its first good print.",
        )
    return pieces[0]


def _facts(reckoning: Reckoning, found: PieceTrace) -> list[tuple[str, str]]:
    """What was known of the materials in it: dates of the paper, how often it was begun again."""
    facts = []
    for item in found.parts:
        if not item.in_it:
            continue
        lot = item.lot
        if item.material.traits.ages:
            usable = reckoning.usable_by(item.unit)
            told = f"{dated(usable.likely)} likely, as reckoned today"
            facts.append(("Paper usable until", told))
        if lot.label_date is not None:
            facts.append(
                (f"Label date, {item.used.part}", f"{lot.label_date:%d %b %Y}".lstrip("0"))
            )
    again = found.remakes
    facts.append(("Begun again", count_of(again, "time") if again else "never"))
    return facts


def _day(item: Into, zone: str) -> str:
    day = clock.local_date(item.attempt.at_s, zone)
    return f"{day.day} {day:%b %Y}"
