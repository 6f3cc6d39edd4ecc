"""What the books hold, as frozen records: materials, lots, units, places, stays, jobs, orders."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar, Literal

from stockroom.core.card import Card
from stockroom.core.condition import Fault, Patch, ProbeRun, Surface, WarmTime, WhiteWord, Winding
from stockroom.core.craft import (
    Build,
    Certainty,
    Layer,
    LossRule,
    Payer,
    Piece,
    PrintedBy,
    Try,
    Used,
)
from stockroom.core.record import About, Record

Family = Literal["paper", "film", "sheet", "board", "profile", "goods"]
Form = Literal["roll", "sheet", "length", "counted"]
Owner = Literal["mine", "customer", "consignment"]
UnitState = Literal["in stock", "used", "lost", "discarded", "returned", "cut up", "missing"]
Condition = Literal["sealed", "open", "re-bagged", "damaged"]
PlaceKind = Literal["cold store", "room", "magazine", "rack"]
StripResult = Literal["clean", "yellow", "unsure"]
JobState = Literal["booked", "done", "cancelled"]
OrderState = Literal["sent", "arrived", "cancelled"]

FAMILIES: tuple[Family, ...] = ("paper", "film", "sheet", "board", "profile", "goods")
FORMS: tuple[Form, ...] = ("roll", "sheet", "length", "counted")
OWNERS: tuple[Owner, ...] = ("mine", "customer", "consignment")
UNIT_STATES: tuple[UnitState, ...] = (
    "in stock",
    "used",
    "lost",
    "discarded",
    "returned",
    "cut up",
    "missing",
)
CONDITIONS: tuple[Condition, ...] = ("sealed", "open", "re-bagged", "damaged")
PLACE_KINDS: tuple[PlaceKind, ...] = ("cold store", "room", "magazine", "rack")
STRIP_RESULTS: tuple[StripResult, ...] = ("clean", "yellow", "unsure")
JOB_STATES: tuple[JobState, ...] = ("booked", "done", "cancelled")
ORDER_STATES: tuple[OrderState, ...] = ("sent", "arrived", "cancelled")
GOODS_KINDS = (
    "tape",
    "adhesive",
    "silicone",
    "corner keys",
    "hangers",
    "corners",
    "foam",
    "crates",
    "chemistry",
    "other",
)
"""What a small good may be."""
SHEET_PROCESSES = ("cast", "extruded")
LOSS_CAUSES = (
    "fogged outer wraps",
    "dented core",
    "scratch",
    "yellow whites",
    "bad print",
    "bad mount",
    "broken",
    "damp",
    "other",
)
YELLOW_STRIP = "yellow strip"
"""The hold that a yellow strip puts on a roll."""
UNKNOWN = "unknown"
"""A batch number that nobody knows; two unknown ones are never taken for the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material(Record):
    """A paper, film, sheet, board, profile or dated small good, with what its label says.

    White limits are drifts from the emulsion's first patch: b* in hundredths, blue density in
    thousandths. The band is where a film is kept; bond times count only with their source. Price
    breaks and closed days are kept as `stockroom.core.terms` writes them.
    """

    kind: ClassVar[str] = "material"
    code: str
    name: str
    family: Family
    form: Form
    width_dmm: int | None = None
    length_dmm: int | None = None
    thickness_um: int | None = None
    label_life_days: int | None = None
    label_temp_centi_c: int | None = None
    storage_limit_centi_c: int | None = None
    shop_life_days: int | None = None
    energy_j_mol: int | None = None
    leader_dmm: int | None = None
    tail_dmm: int | None = None
    margin_dmm: int | None = None
    longest_print_dmm: int | None = None
    supplier: str = ""
    lead_days: int | None = None
    price_cents: int | None = None
    tell_below: int | None = None
    order_multiple: int = 1
    opened_life_days: int | None = None
    humidity_limit_pct: int | None = None
    core_dmm: int | None = None
    white_watch_centi: int | None = None
    white_act_centi: int | None = None
    density_watch_milli: int | None = None
    density_act_milli: int | None = None
    band_low_centi_c: int | None = None
    band_high_centi_c: int | None = None
    use_least_centi_c: int | None = None
    liners: int | None = None
    trim_after_h: int | None = None
    full_bond_h: int | None = None
    bond_source: str | None = None
    sheet_process: str | None = None
    settle_days: int | None = None
    goods_kind: str | None = None
    order_minimum: int | None = None
    order_cost_cents: int | None = None
    price_breaks: str | None = None
    closed_days: str | None = None
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot(Record):
    """One maker's emulsion (paper) or batch (the rest) of one material and owner."""

    kind: ClassVar[str] = "lot"
    code: str
    material: str
    number: str = UNKNOWN
    made_on: date | None = None
    label_date: date | None = None
    owner: Owner = "mine"
    held: str | None = None
    last_act: int = 0

    @property
    def known(self) -> bool:
        """Whether the maker's number is known."""
        return self.number != UNKNOWN


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit(Record):
    """A roll, sheet, pack, length or offcut with its own code.

    A roll or length is drawn from `remaining_dmm`; a sheet has width and length; a pack or
    counted good has `count`.
    """

    kind: ClassVar[str] = "unit"
    code: str
    lot: str
    form: Form
    place: str
    parent: str | None = None
    width_dmm: int = 0
    length_dmm: int = 0
    remaining_dmm: int = 0
    count: int = 1
    plus_minus_dmm: int = 0
    factory_edges: int = 4
    state: UnitState = "in stock"
    condition: Condition = "sealed"
    held: str | None = None
    received_s: int = 0
    received_act: int = 0
    arrived_warm: bool = False
    opened_s: int | None = None
    opened_act: int | None = None
    ended_s: int | None = None
    cost_left_cents: int = 0
    bagged_s: int | None = None
    """When it was last put back into its bag, with the room's air of then in it."""
    reopened_s: int | None = None
    """When it was last opened again after that; None where it never was."""
    last_act: int = 0

    @property
    def measure(self) -> int:
        """What one dmm of length, or one of the count, weighs in the books (dmm2 or 1)."""
        if self.form == "roll":
            return self.width_dmm
        if self.form == "sheet":
            return self.width_dmm * self.length_dmm
        return 1

    @property
    def amount(self) -> int:
        """What is left, as a person counts it: dmm of length, or number of sheets or goods."""
        return self.remaining_dmm if self.form in ("roll", "length") else self.count

    @property
    def qty(self) -> int:
        """What is left, as the books weigh it: dmm2 of roll or sheet, dmm of length, count."""
        return self.amount * self.measure

    @property
    def is_open(self) -> bool:
        """Whether its bag or box was opened."""
        return self.condition == "open"

    @property
    def is_offcut(self) -> bool:
        """Whether it was cut from another unit."""
        return self.parent is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Place(Record):
    """Where units stand; with a set-point and limits where it has a climate of its own."""

    kind: ClassVar[str] = "place"
    code: str
    name: Annotated[str, About(unique=True)]
    place_kind: PlaceKind = "room"
    set_point_centi_c: int | None = None
    low_centi_c: int | None = None
    high_centi_c: int | None = None
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay(Record):
    """A unit's time at one place, from one move to the next."""

    kind: ClassVar[str] = "stay"
    key_field: ClassVar[str] = "stay_key"
    stay_key: str
    unit: str
    act: int
    place: str
    from_s: int
    to_s: int | None = None
    last_act: int = 0


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
    material: str
    width_dmm: int
    height_dmm: int
    count: int
    print_on: date
    series: bool = False
    good: int = 0
    lost: int = 0
    state: JobState = "booked"
    certainty: Certainty | None = None
    due_on: date | None = None
    start_on: date | None = None
    build: str | None = None
    work: str | None = None
    edition_from: int | None = None
    edition_of: int | None = None
    printed_by: PrintedBy | None = None
    lab_days: int | None = None
    pays: Payer | None = None
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
class PutBy(Record):
    """Part of a unit, or all of it, set aside for a job."""

    kind: ClassVar[str] = "put_by"
    code: str
    unit: str
    job: str
    qty: int
    open: bool = True
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Record):
    """Something on its way from a supplier: so many rolls or sheets of a material.

    With a size of its own it is cut to size by the supplier. `came` counts what arrived so far,
    the damaged ones too; damage is to be told by `notice_by`.
    """

    kind: ClassVar[str] = "order"
    code: str
    material: str
    count: int
    supplier: str = ""
    ordered_on: date
    expected_on: date | None = None
    price_cents: int | None = None
    state: OrderState = "sent"
    width_dmm: int | None = None
    length_dmm: int | None = None
    confirmed_on: date | None = None
    came: int | None = None
    damaged: int | None = None
    notice_by: date | None = None
    noticed_on: date | None = None
    credit_cents: int | None = None
    last_act: int = 0

    @property
    def to_come(self) -> int:
        """How many are still to come."""
        return max(0, self.count - (self.came or 0)) if self.state == "sent" else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip(Record):
    """A test strip of a roll, judged by eye."""

    kind: ClassVar[str] = "strip"
    code: str
    unit: str
    result: StripResult
    at_s: int
    act: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell(Record):
    """A warm spell logged by hand: when last seen right, when found, how warm."""

    kind: ClassVar[str] = "spell"
    code: str
    place: str
    last_right_s: int
    last_right_centi_c: int
    found_s: int
    highest_centi_c: int
    now_centi_c: int
    act: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SpellWord(Record):
    """One word for the cause of a warm spell between two instants at a place."""

    kind: ClassVar[str] = "spell_word"
    code: str
    place: str
    from_s: int
    to_s: int
    cause: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Import(Record):
    """A logger file that was taken in for a place."""

    kind: ClassVar[str] = "import"
    code: str
    place: str
    name: str
    sha256: str
    readings: int
    from_s: int
    to_s: int
    withdrawn: bool = False
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ActTime(Record):
    """The corrected time of an act; the act itself keeps the time first written."""

    kind: ClassVar[str] = "act_time"
    key_field: ClassVar[str] = "act"
    act: int
    occurred_s: int
    last_act: int = 0


RECORDS: tuple[type[Record], ...] = (
    Material,
    Lot,
    Unit,
    Place,
    Stay,
    Job,
    PutBy,
    Order,
    Strip,
    Spell,
    SpellWord,
    Import,
    ActTime,
    Patch,
    WhiteWord,
    WarmTime,
    ProbeRun,
    Winding,
    Fault,
    Surface,
    Build,
    Layer,
    LossRule,
    Piece,
    Try,
    Used,
    Card,
)
"""Every kind of record that the acts are folded into."""

RECORD_OF_KIND: dict[str, type[Record]] = {record.kind: record for record in RECORDS}
