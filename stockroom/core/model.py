"""What the books hold, as frozen records: materials, lots, units, places, stays, jobs, orders."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar, Literal, get_args

from stockroom.core.asked import Asked
from stockroom.core.card import Card
from stockroom.core.condition import Fault, Patch, ProbeRun, Surface, WarmTime, WhiteWord, Winding
from stockroom.core.craft import (
    MOST_LAB_DAYS,
    MOST_PRINTS,
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
from stockroom.core.constants import (
    CORE_OUTER_DIAMETER,
    FILM_TRIM_AFTER,
    HUMIDITY_LIMIT,
    SETTLE_DAYS,
    WHITE_ACT_B,
    WHITE_ACT_DENSITY,
    WHITE_WATCH_B,
    WHITE_WATCH_DENSITY,
)
from stockroom.core.record import (
    About,
    AtLeastZero,
    BuildCode,
    Indexed,
    JobCode,
    LotCode,
    MaterialCode,
    PlaceCode,
    Record,
    UnitCode,
)
from stockroom.core.traits import FAMILIES, FORMS, Shape, Traits
from stockroom.units import LARGEST_CENTS, LONGEST_LEAD_DAYS

Owner = Literal["mine", "customer", "consignment"]
UnitState = Literal["in stock", "used", "lost", "discarded", "returned", "cut up", "missing"]
Condition = Literal["sealed", "open", "re-bagged", "damaged"]
PlaceKind = Literal["cold store", "room", "magazine", "rack"]
StripResult = Literal["clean", "yellow", "unsure"]
JobState = Literal["booked", "done", "cancelled"]
OrderState = Literal["sent", "arrived", "cancelled"]

OWNERS: tuple[Owner, ...] = get_args(Owner)
PLACE_KINDS: tuple[PlaceKind, ...] = get_args(PlaceKind)
STRIP_RESULTS: tuple[StripResult, ...] = get_args(StripResult)
JOB_STATES: tuple[JobState, ...] = get_args(JobState)
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
MOST_ORDERED = 100_000
"""Most rolls, sheets or goods in one order (our choice)."""
ADD, KNOWN, CARE, TERMS = ("add",), ("add", "change"), ("care",), ("terms",)
"""Commands that ask for fields of a material."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material(Record):
    """A paper, canvas, film, sheet, board, profile or small good, with what its label says.

    White limits are drifts from the emulsion's first patch: b* in hundredths, blue density in
    thousandths. The band is where a film is kept; bond times count only with their source. Price
    breaks and closed days are kept as `stockroom.core.terms` writes them.
    """

    kind: ClassVar[str] = "material"
    unique: ClassVar[tuple[str, ...]] = ("name",)
    code: str
    name: str
    family: Annotated[str, Asked("Family", ADD, words=tuple(FAMILIES))]
    form: Annotated[str, Asked("Form", ADD, words=tuple(FORMS))]
    width_dmm: Annotated[int | None, Asked("Width", ADD, least=1)] = None
    length_dmm: Annotated[int | None, Asked(
        "Length", ADD, unit="m", least=1, help="Length of a roll (m) or height of a sheet (mm)."
    )] = None  # fmt: skip
    thickness_um: Annotated[int | None, Asked("Thickness", ADD, least=1)] = None
    label_life_days: Annotated[int | None, Asked(
        "Life by the label", KNOWN, least=1, option="--life-days"
    )] = None  # fmt: skip
    label_temp_centi_c: Annotated[
        int | None, Asked("Temperature that life was stated for", KNOWN)
    ] = None
    storage_limit_centi_c: Annotated[int | None, Asked("'Store at or below'", KNOWN)] = None
    shop_life_days: Annotated[int | None, Asked("Own rule for undated stock", KNOWN, least=1)] = (
        None
    )
    energy_j_mol: Annotated[int | None, Asked(
        "Own activation energy", KNOWN, least=20_000, most=250_000
    )] = None  # fmt: skip
    longest_print_dmm: Annotated[
        int | None, Asked("The printer's longest print", KNOWN, unit="m")
    ] = None
    leader_dmm: Annotated[int | None, Asked("Leader at each loading", ADD, unit="m")] = None
    tail_dmm: Annotated[int | None, Asked("Tail left on the core", ADD, unit="m")] = None
    margin_dmm: Annotated[int | None, Asked("Margin")] = None
    supplier: Annotated[str, Asked("Who sells it", KNOWN)] = ""
    lead_days: Annotated[int | None, Asked(
        "A lead time of", KNOWN, most=LONGEST_LEAD_DAYS, help="Days from order to arrival."
    )] = None  # fmt: skip
    price_cents: Annotated[int | None, Asked("Price of one roll or sheet", KNOWN)] = None
    tell_below: Annotated[int | None, Asked(
        "Tell me below", KNOWN, most=MOST_ORDERED,
        help="Tell me below so many rolls or sheets; 0 for never.",
    )] = None  # fmt: skip
    order_minimum: Annotated[int | None, Asked(
        "Fewest rolls or sheets in an order", TERMS, least=1, option="--minimum"
    )] = None  # fmt: skip
    order_multiple: Annotated[int, Asked(
        "Sold in multiples of", (*KNOWN, *TERMS), least=1, option="--multiple"
    )] = 1  # fmt: skip
    order_cost_cents: Annotated[int | None, Asked(
        "Cost of an order", TERMS, help="What an order costs whatever its size: freight."
    )] = None  # fmt: skip
    price_breaks: str | None = None
    closed_days: str | None = None
    opened_life_days: Annotated[int | None, Asked("Life once opened", CARE, least=1)] = None
    humidity_limit_pct: Annotated[int | None, Asked(
        "Humidity limit once opened", CARE, least=1, most=99, fact=HUMIDITY_LIMIT,
        fact_of="on_core", help="Opened, not above so much, % RH.",
    )] = None  # fmt: skip
    core_dmm: Annotated[int | None, Asked(
        # 1 inch tubes to 6 inch ones with their wall (our choice). Where a roll is warmed, a core
        # read too large makes the wait too short.
        "Core across", CARE, least=250, most=2_000, of="on_core", fact=CORE_OUTER_DIAMETER,
        help="Core tube across, outside, mm.",
    )] = None  # fmt: skip
    white_watch_centi: Annotated[int | None, Asked(
        "Watch the white from", CARE, least=1, most=2_000, below="white_act_centi",
        of="white_judged", fact=WHITE_WATCH_B, help="Watch from such a drift of b*.",
    )] = None  # fmt: skip
    white_act_centi: Annotated[int | None, Asked(
        "Life over at", CARE, least=1, most=2_000, of="white_judged", fact=WHITE_ACT_B,
        help="Its life is over at such a drift of b*.",
    )] = None  # fmt: skip
    density_watch_milli: Annotated[int | None, Asked(
        "Watch the white from", CARE, least=1, most=2_000, below="density_act_milli",
        of="white_judged", fact=WHITE_WATCH_DENSITY,
        help="Watch from such a drift of blue density.",
    )] = None  # fmt: skip
    density_act_milli: Annotated[int | None, Asked(
        "Life over at", CARE, least=1, most=2_000, of="white_judged", fact=WHITE_ACT_DENSITY,
        help="Its life is over at such a drift of density.",
    )] = None  # fmt: skip
    band_low_centi_c: Annotated[int | None, Asked(
        "Kept between", CARE, below="band_high_centi_c", both=True, option="--band"
    )] = None  # fmt: skip
    band_high_centi_c: Annotated[int | None, Asked("Kept between")] = None
    use_least_centi_c: Annotated[int | None, Asked("Not used below", CARE)] = None
    liners: Annotated[int | None, Asked(
        "Liners", CARE, most=2, of="adhesive", help="Liners of a film: 0, 1 or 2."
    )] = None  # fmt: skip
    trim_after_h: Annotated[int | None, Asked(
        "Trimmed after", CARE, most=2_000, of="adhesive", fact=FILM_TRIM_AFTER,
        help="By its own sheet: trimmed after so many hours.",
    )] = None  # fmt: skip
    full_bond_h: Annotated[int | None, Asked(
        "Full bond after", CARE, most=2_000, of="adhesive",
        help="By its own sheet: full bond after so many hours.",
    )] = None  # fmt: skip
    bond_source: Annotated[str | None, Asked(
        "Bond times by", CARE, of="adhesive", help="Which sheet the bond times are from."
    )] = None  # fmt: skip
    sheet_process: Annotated[str | None, Asked(
        "Process", CARE, words=SHEET_PROCESSES, of="rigid", option="--process",
        help=f"How a sheet is made: {', '.join(SHEET_PROCESSES)}.",
    )] = None  # fmt: skip
    settle_days: Annotated[int | None, Asked(
        "Settles in", CARE, most=365, of="rigid", fact=SETTLE_DAYS,
        help="Days to settle after a move between climates.",
    )] = None  # fmt: skip
    goods_kind: Annotated[str | None, Asked(
        "Kind of good", CARE, words=GOODS_KINDS, of="small_good"
    )] = None  # fmt: skip
    last_act: int = 0

    @property
    def traits(self) -> Traits:
        """What all of its family have in common."""
        return FAMILIES[self.family]

    @property
    def shape(self) -> Shape:
        """What all of its form have in common."""
        return FORMS[self.form]

    @property
    def whole_qty(self) -> int:
        """What a whole one weighs in the books; 0 where its size is not known."""
        length_dmm = self.length_dmm or 0
        one = self.shape.measure(self.width_dmm or 0, length_dmm)
        return one * length_dmm if self.shape.by_length else one


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot(Record):
    """One maker's emulsion (paper) or batch (the rest) of one material and owner."""

    kind: ClassVar[str] = "lot"
    told: ClassVar[str] = "a batch"
    code: str
    material: MaterialCode
    number: Indexed = UNKNOWN
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
    told: ClassVar[str] = "a unit"
    code: str
    lot: LotCode
    form: Annotated[str, About(words=tuple(FORMS))]
    place: PlaceCode
    parent: Indexed | None = None
    width_dmm: AtLeastZero = 0
    length_dmm: AtLeastZero = 0
    remaining_dmm: AtLeastZero = 0
    count: AtLeastZero = 1
    plus_minus_dmm: AtLeastZero = 0
    factory_edges: int = 4
    state: Annotated[UnitState, About(indexed=True)] = "in stock"
    condition: Condition = "sealed"
    held: str | None = None
    received_s: int = 0
    received_act: int = 0
    arrived_warm: bool = False
    opened_s: int | None = None
    opened_act: int | None = None
    ended_s: int | None = None
    cost_left_cents: AtLeastZero = 0
    bagged_s: int | None = None
    """When it was last put back into its bag, with the room's air of then in it."""
    reopened_s: int | None = None
    """When it was last opened again after that; None where it never was."""
    last_act: int = 0

    @property
    def shape(self) -> Shape:
        """What all units of its form have in common."""
        return FORMS[self.form]

    @property
    def measure(self) -> int:
        """What one dmm of length, or one of the count, weighs in the books (dmm2 or 1)."""
        return self.shape.measure(self.width_dmm, self.length_dmm)

    @property
    def amount(self) -> int:
        """What is left, as a person counts it: dmm of length, or number of sheets or goods."""
        return self.remaining_dmm if self.shape.by_length else self.count

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
    unique: ClassVar[tuple[str, ...]] = ("name",)
    code: str
    name: str
    place_kind: Annotated[PlaceKind, Asked("Kind", ADD, option="--kind")] = "room"
    set_point_centi_c: Annotated[int | None, Asked("What it is set to", KNOWN)] = None
    low_centi_c: Annotated[int | None, Asked("Lower limit", KNOWN, below="high_centi_c")] = None
    high_centi_c: Annotated[int | None, Asked("Upper limit", KNOWN)] = None
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Stay(Record):
    """A unit's time at one place, from one move to the next."""

    kind: ClassVar[str] = "stay"
    key_field: ClassVar[str] = "stay_key"
    stay_key: str
    unit: UnitCode
    act: int
    place: PlaceCode
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
    material: MaterialCode
    width_dmm: Annotated[int, Asked("A width of", least=1)]
    height_dmm: Annotated[int, Asked("A height of", least=1)]
    count: Annotated[int, Asked("Prints:", least=1, most=MOST_PRINTS)]
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
    printed_by: Annotated[PrintedBy | None, Asked("Printer")] = None
    lab_days: Annotated[int | None, Asked("A lab's time of", most=MOST_LAB_DAYS)] = None
    pays: Annotated[Payer | None, Asked("One who pays")] = None
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
    told: ClassVar[str] = "stock put by"
    code: str
    unit: UnitCode
    job: JobCode
    qty: AtLeastZero
    open: bool = True
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Record):
    """Something on its way from a supplier: so many rolls or sheets of a material.

    With a size of its own it is cut to size by the supplier. `came` counts what arrived so far,
    the damaged ones too; damage is to be told by `notice_by`.
    """

    kind: ClassVar[str] = "order"
    table: ClassVar[str] = "purchase"  # a bare "order" is a word of SQL
    code: str
    material: MaterialCode
    count: Annotated[int, Asked("An order of", least=1, most=MOST_ORDERED)]
    supplier: str = ""
    ordered_on: date
    expected_on: date | None = None
    price_cents: Annotated[int | None, Asked("A price of", most=LARGEST_CENTS)] = None
    state: Annotated[OrderState, About(indexed=True)] = "sent"
    width_dmm: int | None = None
    length_dmm: int | None = None
    confirmed_on: date | None = None
    came: int | None = None
    damaged: int | None = None
    notice_by: date | None = None
    noticed_on: date | None = None
    credit_cents: Annotated[int | None, Asked("A credit of", most=LARGEST_CENTS)] = None
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
    unit: UnitCode
    result: StripResult
    at_s: int
    act: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell(Record):
    """A warm spell logged by hand: when last seen right, when found, how warm."""

    kind: ClassVar[str] = "spell"
    told: ClassVar[str] = "a warm spell"
    code: str
    place: PlaceCode
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
    told: ClassVar[str] = "a word on a warm spell"
    code: str
    place: PlaceCode
    from_s: int
    to_s: int
    cause: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Import(Record):
    """A logger file that was taken in for a place."""

    kind: ClassVar[str] = "import"
    told: ClassVar[str] = "a logger file"
    code: str
    place: PlaceCode
    name: str
    sha256: Indexed
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
    Material, Lot, Unit, Place, Stay, Job, PutBy, Order, Strip, Spell, SpellWord, Import, ActTime,
    Patch, WhiteWord, WarmTime, ProbeRun, Winding, Fault, Surface,
    Build, Layer, LossRule, Piece, Try, Used, Card,
)  # fmt: skip
"""Every kind of record that the acts are folded into."""

RECORD_OF_KIND: dict[str, type[Record]] = {record.kind: record for record in RECORDS}
