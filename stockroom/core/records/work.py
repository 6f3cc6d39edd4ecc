"""Records of the work itself: builds and their layers, pieces, tries, and what went into them."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar, Literal, get_args

from stockroom.core.records.asked import Asked
from stockroom.core.records.base import (
    About,
    AtLeastOne,
    AtLeastZero,
    BuildCode,
    Indexed,
    JobCode,
    LotCode,
    MaterialCode,
    PieceCode,
    Record,
    TryCode,
    UnitCode,
)

Part = Literal["sheet", "face film", "paper", "back film", "board", "profile"]
Stage = Literal["print", "look", "sign", "look again", "mount", "back", "frame"]
TryStage = Literal[Stage, "damage"]
PieceStage = Literal[Stage, "finished"]
DrawingStage = Literal["print", "mount", "back", "frame"]
Trim = Literal["after", "before"]
Turn = Literal["any", "long edge", "short edge"]
Fate = Literal["in", "lost"]
PrintedBy = Literal["here", "outside lab", "customer"]
Payer = Literal["us", "customer", "outside lab"]
Certainty = Literal["maybe", "likely", "sure"]

PARTS: tuple[Part, ...] = get_args(Part)
"""The layers of a finished piece, front to back; the frame goes round them."""
STAGES: tuple[Stage, ...] = get_args(Stage)
"""What is done with a piece, in its order; a build leaves out what it does not need."""
DRAWING_STAGES: tuple[DrawingStage, ...] = get_args(DrawingStage)
"""The stages at which material is taken."""
TRY_STAGES: tuple[TryStage, ...] = get_args(TryStage)
"""The stages at which a piece can be lost; damage may show after all of them."""
FINISHED: Literal["finished"] = "finished"
"""The stage of a piece with nothing left to be done."""
TRIMS: tuple[Trim, ...] = get_args(Trim)
"""Mounted oversize and trimmed after; or sheet cut to size before, and the print trimmed to it."""
TURNS: tuple[Turn, ...] = get_args(Turn)
"""How a layer lies: as it comes; its length along the piece's long edge, or its short edge."""
PRINTED_BY: tuple[PrintedBy, ...] = get_args(PrintedBy)
PAYERS: tuple[Payer, ...] = get_args(Payer)
CERTAINTIES: tuple[Certainty, ...] = get_args(Certainty)
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
JobState = Literal["booked", "done", "cancelled"]
JOB_STATES: tuple[JobState, ...] = get_args(JobState)


@dataclass(frozen=True, slots=True, kw_only=True)
class Job(Record):
    """Promised work: pieces of one size on one paper by a day.

    Jobs that belong together share the name of a `work`. Without a certainty it is sure; without
    a build nothing is mounted that the books know of. `print_on` is the day of the print, `due_on`
    the day the piece is promised for, `start_on` the first day it can be begun.
    """

    kind: ClassVar[str] = "job"
    code: str
    name: str
    material: MaterialCode
    width_dmm: Annotated[int, Asked("Width", least=1)]
    height_dmm: Annotated[int, Asked("Height", least=1)]
    count: Annotated[int, Asked("Prints", least=1, most=MOST_PRINTS)]
    print_on: date
    series: bool = False
    good: AtLeastZero = 0
    lost: AtLeastZero = 0
    state: Annotated[JobState, About(indexed=True)] = "booked"
    certainty: Annotated[Certainty | None, Asked("Certainty")] = None
    due_on: date | None = None
    start_on: date | None = None
    build: BuildCode | None = None
    work: Indexed | None = None
    edition_from: int | None = None
    edition_of: int | None = None
    printed_by: Annotated[PrintedBy | None, Asked("Printed by")] = None
    lab_days: Annotated[int | None, Asked("Days at the lab", most=MOST_LAB_DAYS)] = None
    pays: Annotated[Payer | None, Asked("Who pays")] = None
    last_act: int = 0

    @property
    def area_dmm2(self) -> int:
        """The area of one piece."""
        return self.width_dmm * self.height_dmm

    @property
    def sure(self) -> bool:
        """Whether it is confirmed."""
        return self.certainty in (None, "sure")

    @property
    def printed_here(self) -> bool:
        """Whether the prints are made here, of our own paper."""
        return self.printed_by in (None, "here")

    @property
    def to_print(self) -> int:
        """How many prints are still to be made."""
        return max(0, self.count - self.good)


@dataclass(frozen=True, slots=True, kw_only=True)
class Build(Record):
    """How a piece is made: its layers front to back, and what is waited for between.

    A build that was used is never changed: a new version takes its place and the old one retires.
    `sign_days` is how long signing and titling usually takes; None where a piece is not signed.
    """

    kind: ClassVar[str] = "build"
    unique: ClassVar[tuple[str, ...]] = ("name", "version")
    code: str
    name: str
    version: AtLeastOne = 1
    trim: Annotated[Trim, Asked("Trimming")] = "after"
    looks: bool = True
    sign_days: Annotated[int | None, Asked("Days for signing", most=365)] = None  # our choice
    retired: bool = False
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layer(Record):
    """One layer of a build: of which material, how much larger than the piece, taken when.

    Without a material the job names it; `instead` is what may be taken in its place.
    """

    kind: ClassVar[str] = "layer"
    code: str
    build: BuildCode
    position: int
    part: Annotated[Part, Asked("Layer")]
    stage: Annotated[DrawingStage, Asked("Taken at")]
    material: MaterialCode | None = None
    instead: MaterialCode | None = None
    allowance_dmm: Annotated[int, Asked("Larger an edge by", least=0, most=5_000)] = 0  # our choice
    turn: Annotated[Turn, Asked("How it lies")] = "any"
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class LossRule(Record):
    """What a loss at a stage destroys: `takes` names the parts, separated by ", ".

    Without a cause it holds for all causes that have no rule of their own.
    """

    kind: ClassVar[str] = "loss_rule"
    told: ClassVar[str] = "a rule of loss"
    code: str
    build: BuildCode
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
    job: JobCode
    number: AtLeastOne
    stage: Annotated[PieceStage, About(indexed=True)]
    since_s: int
    edition: int | None = None
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Try(Record):
    """One try at one stage: good, or lost to a cause, with the parts that went with it.

    A print that was lost before there was a piece has none.
    """

    kind: ClassVar[str] = "try"
    table: ClassVar[str] = "attempt"  # a bare "try" reads like a word of many languages
    code: str
    job: JobCode
    piece: PieceCode | None = None
    stage: TryStage
    good: bool
    cause: str = ""
    takes: str = ""
    area_dmm2: AtLeastZero
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
    told: ClassVar[str] = "what went into a piece"
    code: str
    attempt: TryCode
    job: JobCode
    piece: PieceCode | None = None
    part: Part
    unit: UnitCode
    lot: LotCode
    material: MaterialCode
    qty: AtLeastZero
    cost_cents: int = 0
    fate: Fate = "in"
    last_act: int = 0


def parts_of(text: str) -> tuple[str, ...]:
    """Return the parts named in a list such as "sheet, face film".

    >>> parts_of("sheet, face film"), parts_of("")
    (('sheet', 'face film'), ())
    """
    return tuple(part for part in text.split(", ") if part)
