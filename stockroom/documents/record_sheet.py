"""A one-page record of a finished piece: its materials by batch, its tries, its condition."""

from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.documents.page import BOLD, BOX_PT, GAP_PT, HEADING_PT, LINE_PT, SMALL_PT, Page

MOST_LAYERS, MOST_TRIES, MOST_FACTS = 12, 10, 8
"""Lines of each kind that one page holds; further ones are counted (our choice)."""
HAND_OVER = ("Surface", "Edges and corners", "Frame and fixings", "Packing")
"""What is looked over by hand when a piece leaves (common practice)."""
NOTE = (
    "This lists what the workshop's books hold of this piece on the day of printing. It promises "
    "nothing about permanence."
)


@dataclass(frozen=True, slots=True)
class LayerRecord:
    """One material in the piece: which part, of what, of which batch and unit, used when."""

    part: str
    material: str
    batch: str
    unit: str
    used_on: str


@dataclass(frozen=True, slots=True)
class TryRecord:
    """One try: when, at which stage, how it came out."""

    day: str
    stage: str
    outcome: str


@dataclass(frozen=True, slots=True)
class PieceRecord:
    """All that a record says of one piece, as text.

    Attributes
    ----------
    code : str
        The piece's code, drawn as a QR code too.
    name, work, size, edition, build, stands : str
        What it is, and where it stands; "" for what is not known.
    layers : tuple of LayerRecord
        Front to back.
    tries : tuple of TryRecord
        In order of time.
    facts : tuple of (str, str)
        What was known of its materials, such as the freshness of the paper.
    """

    code: str
    name: str
    work: str = ""
    size: str = ""
    edition: str = ""
    build: str = ""
    stands: str = ""
    layers: tuple[LayerRecord, ...] = ()
    tries: tuple[TryRecord, ...] = ()
    facts: tuple[tuple[str, str], ...] = ()


def record_sheet(record: PieceRecord) -> bytes:
    """Return a record as a PDF of one page, A4, the same bytes for the same input.

    Long lists are shortened and the rest counted; text that is too long is cut; characters
    outside Latin-1 become "?".
    """
    page = Page(f"Record of {record.name}")
    page.head(
        record.name,
        f"Piece {record.code}",
        record.work,
        ", ".join(part for part in (record.size, record.edition) if part),
        record.build,
        record.stands,
        code=record.code,
    )
    _table(
        page,
        "Materials, front to back",
        (70.0, 172.0, 98.0, 60.0, 86.0),
        ("Part", "Material", "Batch", "Unit", "Used"),
        [(x.part, x.material, x.batch, x.unit, x.used_on) for x in record.layers],
        MOST_LAYERS,
    )
    _table(
        page,
        "What was done",
        (132.0, 70.0, 296.0),
        ("When", "Stage", "How it came out"),
        [(x.day, x.stage, x.outcome) for x in record.tries],
        MOST_TRIES,
    )
    _table(page, "What was known of it", (132.0, 372.0), (), list(record.facts), MOST_FACTS)
    _hand_over(page)
    page.foot(NOTE)
    page.turn()
    return page.pdf()


def _table(
    page: Page,
    title: str,
    widths: Sequence[float],
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    most: int,
) -> None:
    """A table of a few rows; those beyond are counted."""
    if not rows:
        return
    page.line(title, HEADING_PT, BOLD)
    page.y -= 3
    if heads:
        page.row(heads, widths, SMALL_PT, BOLD)
    for row in rows[:most]:
        page.row(row, widths)
    if len(rows) > most:
        page.line(f"and {len(rows) - most} more, in the books", SMALL_PT)
    page.y -= GAP_PT


def _hand_over(page: Page) -> None:
    """Boxes to tick by hand, with room for a remark, a name and a day."""
    page.line("Condition when it is handed over, by hand", HEADING_PT, BOLD)
    page.y -= 4
    for what in HAND_OVER:
        page.y -= 4
        page.line(what)
        x = page.left + 110
        for word in ("good", "remark:"):
            page.box(x)
            page.text(x + BOX_PT + 4, word)
            x += 58
        page.rule(x + 4, page.right)
    page.y -= 2 * LINE_PT + 6
    for x, word in ((page.left, "Name"), (page.left + page.width / 2, "Day")):
        page.text(x, word)
        page.rule(x + 34, x + page.width / 2 - 12)
