"""Records of the work itself: builds and their layers, pieces, tries, and what went into them."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from stockroom.core.record import Record

Part = Literal["sheet", "face film", "paper", "back film", "board", "profile"]
Stage = Literal["print", "look", "sign", "look again", "mount", "back", "frame"]
TryStage = Literal["print", "look", "sign", "look again", "mount", "back", "frame", "damage"]
Trim = Literal["after", "before"]
Turn = Literal["any", "long edge", "short edge"]
Fate = Literal["in", "lost"]
PrintedBy = Literal["here", "outside lab", "customer"]
Payer = Literal["us", "customer", "outside lab"]
Certainty = Literal["maybe", "likely", "sure"]

PARTS: tuple[Part, ...] = ("sheet", "face film", "paper", "back film", "board", "profile")
"""The layers of a finished piece, front to back; the frame goes round them."""
STAGES: tuple[Stage, ...] = ("print", "look", "sign", "look again", "mount", "back", "frame")
"""What is done with a piece, in its order; a build leaves out what it does not need."""
DRAWING_STAGES: tuple[Stage, ...] = ("print", "mount", "back", "frame")
"""The stages at which material is taken."""
TRY_STAGES: tuple[TryStage, ...] = (*STAGES, "damage")
"""The stages at which a piece can be lost; damage may show after all of them."""
FINISHED = "finished"
"""The stage of a piece with nothing left to be done."""
TRIMS: tuple[Trim, ...] = ("after", "before")
"""Mounted oversize and trimmed after; or sheet cut to size before, and the print trimmed to it."""
TURNS: tuple[Turn, ...] = ("any", "long edge", "short edge")
"""How a layer lies: as it comes; its length along the piece's long edge, or its short edge."""
FATES: tuple[Fate, ...] = ("in", "lost")
PRINTED_BY: tuple[PrintedBy, ...] = ("here", "outside lab", "customer")
PAYERS: tuple[Payer, ...] = ("us", "customer", "outside lab")
CERTAINTIES: tuple[Certainty, ...] = ("maybe", "likely", "sure")
MOST_PRINTS = 10_000
"""Most prints that come of one act, stand in one booking, or make an edition (our choice)."""
MOST_LAB_DAYS = 366
"""Longest that an outside lab may take, days (our choice)."""

CAUSES: dict[TryStage, tuple[str, ...]] = {
    "print": (
        "bad print", "yellow whites", "scratch", "fogged outer wraps", "dented core", "other",
    ),
    "look": ("bad print", "scratch", "yellow whites", "other"),
    "sign": ("bad signature", "scratch", "other"),
    "look again": ("scratch", "other"),
    "mount": (
        "dust", "bubble", "crooked", "scratch", "film spoiled", "bad sheet", "broken", "other",
    ),
    "back": ("bad backing", "bubble", "crooked", "broken", "other"),
    "frame": ("bad frame", "scratch", "broken", "other"),
    "damage": ("scratch", "broken", "damp", "yellow whites", "other"),
}  # fmt: skip
"""What a piece is lost to at each stage, the likeliest first (our choice of words)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Build(Record):
    """How a piece is made: its layers front to back, and what is waited for between.

    A build that was used is never changed: a new version takes its place and the old one retires.
    `sign_days` is how long signing and titling usually takes; None where a piece is not signed.
    """

    kind: ClassVar[str] = "build"
    code: str
    name: str
    version: int = 1
    trim: Trim = "after"
    looks: bool = True
    sign_days: int | None = None
    retired: bool = False
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer(Record):
    """One layer of a build: of which material, how much larger than the piece, taken when.

    Without a material the job names it; `instead` is what may be taken in its place.
    """

    kind: ClassVar[str] = "layer"
    code: str
    build: str
    position: int
    part: Part
    stage: Stage
    material: str | None = None
    instead: str | None = None
    allowance_dmm: int = 0
    turn: Turn = "any"
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LossRule(Record):
    """What a loss at a stage destroys: `takes` names the parts, separated by ", ".

    Without a cause it holds for all causes that have no rule of their own.
    """

    kind: ClassVar[str] = "loss_rule"
    code: str
    build: str
    stage: TryStage
    cause: str = ""
    takes: str = ""
    last_act: int = 0

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts it destroys."""
        return parts_of(self.takes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece(Record):
    """One finished thing in the making, from its first good print on; `stage` is what is next."""

    kind: ClassVar[str] = "piece"
    code: str
    job: str
    number: int
    stage: str
    since_s: int
    edition: int | None = None
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Try(Record):
    """One try at one stage: good, or lost to a cause, with the parts that went with it.

    A print that was lost before there was a piece has none.
    """

    kind: ClassVar[str] = "try"
    code: str
    job: str
    piece: str | None = None
    stage: TryStage
    good: bool
    cause: str = ""
    takes: str = ""
    area_dmm2: int
    paid_by: Payer = "us"
    at_s: int
    act: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Used(Record):
    """So much of a unit that went into a try, and whether the piece still holds it.

    `qty` is as the books weigh it; `cost_cents` with the trim that fell off for it.
    """

    kind: ClassVar[str] = "used"
    code: str
    attempt: str
    job: str
    piece: str | None = None
    part: Part
    unit: str
    lot: str
    material: str
    qty: int
    cost_cents: int = 0
    fate: Fate = "in"
    last_act: int = 0


def parts_of(text: str) -> tuple[str, ...]:
    """Return the parts named in a list such as "sheet, face film".

    >>> parts_of("sheet, face film"), parts_of("")
    (('sheet', 'face film'), ())
    """
    return tuple(part for part in text.split(", ") if part)
