"""What the books hold, as frozen records, and every kind of them."""

from stockroom.core.records.asked import CARE
from stockroom.core.records.base import Record
from stockroom.core.records.cards import Card
from stockroom.core.records.climate import Import, Spell, SpellWord
from stockroom.core.records.condition import (
    BACKINGS,
    CORNERS,
    GRADES,
    MASKINGS,
    MATTES,
    MEASURING,
    STRIP_RESULTS,
    Backing,
    Fault,
    Grade,
    Masking,
    Matte,
    Measuring,
    Patch,
    ProbeRun,
    Strip,
    StripResult,
    Surface,
    WarmTime,
    WhiteWord,
    Winding,
)
from stockroom.core.records.materials import Material
from stockroom.core.records.orders import Order
from stockroom.core.records.stock import (
    LOSS_CAUSES,
    OWNERS,
    UNKNOWN,
    YELLOW_STRIP,
    ActTime,
    Lot,
    Owner,
    Place,
    PlaceKind,
    PutBy,
    Stay,
    Unit,
    UnitState,
)
from stockroom.core.records.work import (
    CAUSES,
    CERTAINTIES,
    FINISHED,
    JOB_STATES,
    MOST_LAB_DAYS,
    MOST_PRINTS,
    PARTS,
    STAGES,
    TRY_STAGES,
    Build,
    Certainty,
    Fate,
    Job,
    JobState,
    Layer,
    LossRule,
    Part,
    Payer,
    Piece,
    PrintedBy,
    Stage,
    Trim,
    Try,
    TryStage,
    Turn,
    Used,
    parts_of,
)

RECORDS: tuple[type[Record], ...] = (
    Material, Lot, Unit, Place, Stay, Job, PutBy, Order, Strip, Spell, SpellWord, Import, ActTime,
    Patch, WhiteWord, WarmTime, ProbeRun, Winding, Fault, Surface,
    Build, Layer, LossRule, Piece, Try, Used, Card,
)  # fmt: skip
"""Every kind of record that the acts are folded into."""
RECORD_OF_KIND: dict[str, type[Record]] = {record.kind: record for record in RECORDS}
