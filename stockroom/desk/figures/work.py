"""What the work itself asks in the morning: losses alike in a row, stock put by and spoiled."""

from collections.abc import Iterator
from datetime import date

from stockroom import clock
from stockroom.core.craft import Piece
from stockroom.core.figures import Notice
from stockroom.desk.work.attempts import recipe_for
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.work.spoilage import last_lost, spell_of
from stockroom.units import day_text


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield a spell of losses alike, put-by stock that no longer serves, pieces not back signed."""
    yield from _spell(reckoning)
    yield from _spoiled(reckoning, today)
    yield from _unsigned(reckoning, today)


def _spell(reckoning: Reckoning) -> Iterator[Notice]:
    spell = spell_of(reckoning)
    tried = last_lost(reckoning, spell) if spell is not None else None
    if spell is None or tried is None:
        return
    word = {"print": "prints", "mount": "mounts", "back": "backings"}[spell.kind]
    yield Notice(
        tried.job,
        f"{spell.lost} {word} in a row lost to {spell.cause}",
        "Losses alike repeat until their cause is gone: stop, clean, and run a clear strip before "
        "the next.",
        "bad",
        "job",
    )


def _spoiled(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Put-by stock that is on hold, or past its day by the day of the work."""
    seen = set()
    for put in reckoning.put_bys:
        unit, job = reckoning.units.get(put.unit), reckoning.jobs.get(put.job)
        if unit is None or job is None or job.state != "booked" or (put.unit, put.job) in seen:
            continue
        seen.add((put.unit, put.job))
        day = max(job.print_on, today)
        held = unit.held or reckoning.lot_of(unit).held
        if held:
            why = f"It is on hold: {held}."
        elif not reckoning.good_on(unit, day):
            why = f"It is past its day on {day_text(day, today)}."
        else:
            continue
        name = reckoning.material_of(unit).name
        yield Notice(
            job.code,
            f"{job.name}: {unit.code}, put by for it, no longer serves",
            f"{name}. {why} Put by another, or let this one go.",
            "bad",
            "job",
        )


def _unsigned(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    for piece in reckoning.records.all(Piece):
        job = reckoning.jobs.get(piece.job)
        if piece.stage != "sign" or job is None or job.state != "booked":
            continue
        build = recipe_for(reckoning, job).build
        waited = (today - clock.local_date(piece.since_s, reckoning.zone)).days
        if build is not None and build.sign_days is not None and waited > build.sign_days:
            yield Notice(
                job.code,
                f"{job.name}, piece {piece.number}: not back from signing for {waited} days",
                f"It usually takes {build.sign_days}. Ask after it, or write down that it is back.",
                "ask",
                "job",
            )
