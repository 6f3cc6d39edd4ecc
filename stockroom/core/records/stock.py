"""Records of stock: lots, units, the places they stand at and for how long, what is put by."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar, Literal, get_args

from stockroom.core.records.asked import ADD, KNOWN, Asked
from stockroom.core.records.base import (
    About,
    AtLeastZero,
    Indexed,
    JobCode,
    LotCode,
    MaterialCode,
    PlaceCode,
    Record,
    UnitCode,
)
from stockroom.core.records.traits import FORMS, Shape

Owner = Literal["mine", "customer", "consignment"]
UnitState = Literal["in stock", "used", "lost", "discarded", "returned", "cut up", "missing"]
Condition = Literal["sealed", "open", "re-bagged", "damaged"]
PlaceKind = Literal["cold store", "room", "magazine", "rack"]
OWNERS: tuple[Owner, ...] = get_args(Owner)
PLACE_KINDS: tuple[PlaceKind, ...] = get_args(PlaceKind)
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
class ActTime(Record):
    """The corrected time of an act; the act itself keeps the time first written."""

    kind: ClassVar[str] = "act_time"
    key_field: ClassVar[str] = "act"
    act: int
    occurred_s: int
    last_act: int = 0
