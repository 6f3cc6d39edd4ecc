"""The work on the bench: a build, an edition half made with its losses, and what is promised."""

from datetime import UTC, date, datetime

from stockroom.desk.session import Desk, Done
from stockroom.desk.work import attempts, builds, jobs
from stockroom.desk.work.builds import LayerSaid
from stockroom.desk.work.jobs import JobSaid

BUILD, THIN = "Face mount, framed", "Face mount, thin"


def at(text: str) -> int:
    """Return an instant of the story, given in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def tell(
    desk: Desk,
    *,
    gloss: str,
    satin: str,
    film: str,
    acrylic: str,
    thick: str,
    board: str,
    profile: str,
) -> None:
    """Enter last week's work from its day sheets, each at the time it happened.

    Parameters
    ----------
    gloss, satin, film, acrylic, thick, board, profile : str
        Names of what is there already.
    """
    builds.define_build(
        desk,
        BUILD,
        [
            LayerSaid("sheet", thick, allowance_dmm=100),
            LayerSaid("face film", film, allowance_dmm=100),
            LayerSaid("back film", film),
            LayerSaid("board", board),
            LayerSaid("profile", profile),
        ],
    )
    builds.define_build(
        desk,
        THIN,
        [
            LayerSaid("sheet", acrylic, allowance_dmm=100),
            LayerSaid("face film", film, allowance_dmm=100),
            LayerSaid("back film", film),
            LayerSaid("board", board),
        ],
    )
    steps = _booked(
        desk,
        JobSaid(
            name="Harbour steps", work="Spring show", width_dmm=9_000, height_dmm=6_000, count=4,
            material=gloss, build=BUILD, print_on=date(2026, 3, 12), due_on=date(2026, 3, 27),
            edition_from=1, edition_of=6, client="order 14 of the harbour gallery",
        ),
    )  # fmt: skip
    for when, stage, cause in (
        ("2026-02-25T09:10", "print", ""),
        ("2026-02-25T10:10", "print", ""),
        ("2026-02-25T10:40", "print", ""),
        ("2026-02-26T09:00", "mount", ""),
        ("2026-02-26T11:00", "mount", ""),
        ("2026-02-27T10:00", "back", ""),
        ("2026-02-28T10:00", "frame", "bad frame"),
        ("2026-02-28T10:40", "frame", ""),
    ):
        attempts.record(
            desk,
            steps,
            good=not cause,
            stage=stage,
            cause=cause,
            keep_offcuts=False,
            happened_s=at(when),
        )
    _booked(
        desk,
        JobSaid(
            name="Estuary", work="Spring show", width_dmm=20_000, height_dmm=12_000, count=5,
            material=satin, build=THIN, print_on=date(2026, 4, 20), due_on=date(2026, 5, 8),
            series=True,
        ),
    )  # fmt: skip
    _booked(
        desk,
        JobSaid(
            name="Reed bed", width_dmm=12_000, height_dmm=8_000, count=2, material=satin,
            build=THIN, print_on=date(2026, 5, 4), due_on=date(2026, 5, 29), certainty="likely",
        ),
    )  # fmt: skip


def _booked(desk: Desk, said: JobSaid) -> str:
    done: Done = jobs.book(desk, said)
    return next(touch.key for touch in done.changes.touches if touch.kind == "job")
