"""The tables: acts and movements that are only added to, and the records folded from them."""

from typing import Any

import sqlalchemy as sa
from sqlmodel import Field, SQLModel

from stockroom.core import card, condition, craft, model

SCHEMA_NUMBER = 6
"""Number of the newest schema; a store with a higher one is left alone."""
FIRST_SCHEMA = 6
"""The first that is kept; those below were never released, and are not opened."""

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
SQLModel.metadata.naming_convention = NAMING

BigInt = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def big(default: Any = ..., **options: Any) -> Any:
    """Return a 64 bit integer column on either database."""
    return Field(default, sa_type=BigInt, **options)


def one_of(column: str, words: tuple[str, ...]) -> sa.CheckConstraint:
    """Return a CHECK that a column holds one of our words."""
    listed = ", ".join(f"'{word}'" for word in words)
    return sa.CheckConstraint(f"{column} IN ({listed})", name=column)


def at_least_zero(*columns: str) -> list[sa.CheckConstraint]:
    """Return a CHECK per column that it is not negative."""
    return [sa.CheckConstraint(f"{column} >= 0", name=column) for column in columns]


class MetaRow(SQLModel, table=True):
    """One row: what kind of store this is and when it was last checked whole."""

    __tablename__ = "meta"
    __table_args__ = (sa.CheckConstraint("id = 1", name="only_one"),)
    id: int = Field(1, primary_key=True)
    schema_number: int
    workshop_zone: str
    currency: str
    demo: str = ""
    checked_s: int = big(0)
    checked_seq: int = big(0)
    seal: str


class ChainHeadRow(SQLModel, table=True):
    """One row: the last act, its hash, the next number for a code, and what all rows add up to.

    Locked by every writer (see `stockroom.store.sums`).
    """

    __tablename__ = "chain_head"
    __table_args__ = (sa.CheckConstraint("id = 1", name="only_one"),)
    id: int = Field(1, primary_key=True)
    seq: int = big()
    hash: str
    next_number: int = big()
    touches: int = big()
    rows_sum: str
    clients_sum: str
    seal: str


class ActRow(SQLModel, table=True):
    """An act; only ever added."""

    __tablename__ = "act"
    __table_args__ = (sa.CheckConstraint("seq > 0", name="seq"),)
    seq: int = big(primary_key=True, sa_column_kwargs={"autoincrement": False})
    key: str = Field(unique=True)
    kind: str = Field(index=True)
    occurred_s: int = big()
    recorded_s: int = big()
    actor: str
    reason: str
    undoes: int | None = big(None, unique=True, foreign_key="act.seq")
    ask: str
    format: int
    payload: str
    prev: str
    hash: str


class TouchRow(SQLModel, table=True):
    """A record as it was before an act touched it; only ever added."""

    __tablename__ = "touch"
    __table_args__ = (sa.Index("ix_touch_record", "kind", "record_key", "act"),)
    act: int = big(primary_key=True, foreign_key="act.seq")
    n: int = Field(primary_key=True)
    kind: str
    record_key: str
    before: str | None = None
    seal: str


class MovementRow(SQLModel, table=True):
    """So much of a unit came, went or changed place; only ever added."""

    __tablename__ = "movement"
    __table_args__ = (
        one_of(
            "kind",
            (
                "received",
                "found",
                "used",
                "cut waste",
                "lost",
                "discarded",
                "missing",
                "returned",
                "moved",
                "split off",
                "split to",
            ),
        ),
    )
    act: int = big(primary_key=True, foreign_key="act.seq")
    n: int = Field(primary_key=True)
    unit: str = Field(index=True)
    lot: str = Field(index=True)
    kind: str
    qty: int = big()
    place_from: str | None = None
    place_to: str | None = None
    cost_cents: int = big(0)
    seal: str


class Sealed(SQLModel):
    """What every table of records carries: the last act on it, and a seal over the row."""

    last_act: int = big(0)
    seal: str


class MaterialRow(Sealed, table=True):
    """A material."""

    __tablename__ = "material"
    __table_args__ = (one_of("family", model.FAMILIES), one_of("form", model.FORMS))
    code: str = Field(primary_key=True)
    name: str = Field(unique=True)
    family: str
    form: str
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
    supplier: str
    lead_days: int | None = None
    price_cents: int | None = big(None)
    tell_below: int | None = None
    order_multiple: int
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
    order_cost_cents: int | None = big(None)
    price_breaks: str | None = None
    closed_days: str | None = None


class LotRow(Sealed, table=True):
    """An emulsion or batch."""

    __tablename__ = "lot"
    __table_args__ = (one_of("owner", model.OWNERS),)
    code: str = Field(primary_key=True)
    material: str = Field(foreign_key="material.code", index=True)
    number: str = Field(index=True)
    made_on: str | None = None
    label_date: str | None = None
    owner: str
    held: str | None = None


class PlaceRow(Sealed, table=True):
    """A place."""

    __tablename__ = "place"
    __table_args__ = (one_of("place_kind", model.PLACE_KINDS),)
    code: str = Field(primary_key=True)
    name: str = Field(unique=True)
    place_kind: str
    set_point_centi_c: int | None = None
    low_centi_c: int | None = None
    high_centi_c: int | None = None


class UnitRow(Sealed, table=True):
    """A roll, sheet, pack, length or offcut."""

    __tablename__ = "unit"
    __table_args__ = (
        one_of("form", model.FORMS),
        one_of("state", model.UNIT_STATES),
        one_of("condition", model.CONDITIONS),
        *at_least_zero(
            "width_dmm", "length_dmm", "remaining_dmm", "count", "plus_minus_dmm", "cost_left_cents"
        ),
    )
    code: str = Field(primary_key=True)
    lot: str = Field(foreign_key="lot.code", index=True)
    form: str
    place: str = Field(foreign_key="place.code", index=True)
    parent: str | None = Field(None, index=True)
    width_dmm: int = big()
    length_dmm: int = big()
    remaining_dmm: int = big()
    count: int = big()
    plus_minus_dmm: int = big()
    factory_edges: int
    state: str = Field(index=True)
    condition: str
    held: str | None = None
    received_s: int = big()
    received_act: int = big()
    arrived_warm: bool
    opened_s: int | None = big(None)
    opened_act: int | None = big(None)
    ended_s: int | None = big(None)
    cost_left_cents: int = big()
    bagged_s: int | None = big(None)
    reopened_s: int | None = big(None)


class StayRow(Sealed, table=True):
    """A unit's time at one place."""

    __tablename__ = "stay"
    stay_key: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    act: int = big()
    place: str = Field(foreign_key="place.code", index=True)
    from_s: int = big()
    to_s: int | None = big(None)


class JobRow(Sealed, table=True):
    """A booked print, or several of one size."""

    __tablename__ = "job"
    __table_args__ = (
        one_of("state", model.JOB_STATES),
        sa.CheckConstraint("count > 0", name="count"),
        *at_least_zero("good", "lost"),
    )
    code: str = Field(primary_key=True)
    name: str
    material: str = Field(foreign_key="material.code", index=True)
    width_dmm: int = big()
    height_dmm: int = big()
    count: int
    print_on: str
    series: bool
    good: int
    lost: int
    state: str = Field(index=True)
    certainty: str | None = None
    due_on: str | None = None
    start_on: str | None = None
    build: str | None = Field(None, foreign_key="build.code", index=True)
    work: str | None = Field(None, index=True)
    edition_from: int | None = None
    edition_of: int | None = None
    printed_by: str | None = None
    lab_days: int | None = None
    pays: str | None = None


class PutByRow(Sealed, table=True):
    """Part of a unit set aside for a job."""

    __tablename__ = "put_by"
    __table_args__ = (*at_least_zero("qty"),)
    code: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    job: str = Field(foreign_key="job.code", index=True)
    qty: int = big()
    open: bool


class OrderRow(Sealed, table=True):
    """Something on its way from a supplier."""

    __tablename__ = "purchase"  # a bare "order" is a word of SQL
    __table_args__ = (one_of("state", model.ORDER_STATES), *at_least_zero("count"))
    code: str = Field(primary_key=True)
    material: str = Field(foreign_key="material.code", index=True)
    count: int
    supplier: str
    ordered_on: str
    expected_on: str | None = None
    price_cents: int | None = big(None)
    state: str = Field(index=True)
    width_dmm: int | None = big(None)
    length_dmm: int | None = big(None)
    confirmed_on: str | None = None
    came: int | None = None
    damaged: int | None = None
    notice_by: str | None = None
    noticed_on: str | None = None
    credit_cents: int | None = big(None)


class StripRow(Sealed, table=True):
    """A strip judged by eye."""

    __tablename__ = "strip"
    __table_args__ = (one_of("result", model.STRIP_RESULTS),)
    code: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    result: str
    at_s: int = big()
    act: int = big()


class SpellRow(Sealed, table=True):
    """A warm spell logged by hand."""

    __tablename__ = "spell"
    code: str = Field(primary_key=True)
    place: str = Field(foreign_key="place.code", index=True)
    last_right_s: int = big()
    last_right_centi_c: int
    found_s: int = big()
    highest_centi_c: int
    now_centi_c: int
    act: int = big()


class SpellWordRow(Sealed, table=True):
    """A word for the cause of a warm spell."""

    __tablename__ = "spell_word"
    code: str = Field(primary_key=True)
    place: str = Field(foreign_key="place.code", index=True)
    from_s: int = big()
    to_s: int = big()
    cause: str


class ImportRow(Sealed, table=True):
    """A logger file taken in."""

    __tablename__ = "import"
    code: str = Field(primary_key=True)
    place: str = Field(foreign_key="place.code", index=True)
    name: str
    sha256: str = Field(index=True)
    readings: int
    from_s: int = big()
    to_s: int = big()
    withdrawn: bool


class PatchRow(Sealed, table=True):
    """A measured white patch, with the control of its run."""

    __tablename__ = "patch"
    __table_args__ = (
        one_of("measuring", condition.MEASURING),
        one_of("backing", condition.BACKINGS),
        sa.CheckConstraint("spots > 0", name="spots"),
    )
    code: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    at_s: int = big()
    act: int = big()
    l_milli: int | None = None
    a_milli: int | None = None
    b_milli: int | None = None
    density_milli: int | None = None
    instrument: str
    measuring: str
    backing: str
    spots: int
    control: str | None = None
    control_l_milli: int | None = None
    control_a_milli: int | None = None
    control_b_milli: int | None = None
    control_density_milli: int | None = None


class WhiteWordRow(Sealed, table=True):
    """A person's word on a roll's white."""

    __tablename__ = "white_word"
    __table_args__ = (*at_least_zero("most_days"),)
    code: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    at_s: int = big()
    act: int = big()
    most_days: int
    why: str


class WarmTimeRow(Sealed, table=True):
    """A row of a maker's warm-up table."""

    __tablename__ = "warm_time"
    __table_args__ = (*at_least_zero("width_dmm", "length_dmm", "minutes"),)
    code: str = Field(primary_key=True)
    material: str = Field(foreign_key="material.code", index=True)
    width_dmm: int = big()
    length_dmm: int = big()
    from_centi_c: int
    minutes: int
    source: str
    standing: bool


class ProbeRunRow(Sealed, table=True):
    """What a probe inside a warming roll showed."""

    __tablename__ = "probe_run"
    __table_args__ = (*at_least_zero("h_milli"),)
    code: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    at_s: int = big()
    act: int = big()
    h_milli: int
    low_milli: int
    high_milli: int
    rms_milli_k: int
    file: str


class WindingRow(Sealed, table=True):
    """A roll of known length, measured across."""

    __tablename__ = "winding"
    __table_args__ = (*at_least_zero("length_dmm", "outer_dmm", "core_dmm"),)
    code: str = Field(primary_key=True)
    material: str = Field(foreign_key="material.code", index=True)
    unit: str | None = None
    at_s: int = big()
    act: int = big()
    length_dmm: int = big()
    length_plus_minus_dmm: int = big()
    outer_dmm: int = big()
    outer_plus_minus_dmm: int = big()
    core_dmm: int = big()
    core_plus_minus_dmm: int = big()


class FaultRow(Sealed, table=True):
    """A fault in a roll."""

    __tablename__ = "fault"
    __table_args__ = (
        *at_least_zero("from_dmm"),
        sa.CheckConstraint("to_dmm >= from_dmm", name="to_dmm"),
    )
    code: str = Field(primary_key=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    from_dmm: int = big()
    to_dmm: int = big()
    what: str
    at_s: int = big()
    act: int = big()


class SurfaceRow(Sealed, table=True):
    """A sheet or board as it was last looked over."""

    __tablename__ = "surface"
    __table_args__ = (
        one_of("mask_front", condition.MASKINGS),
        one_of("mask_back", condition.MASKINGS),
        one_of("grade", condition.GRADES),
        one_of("matte", condition.MATTES),
    )
    unit: str = Field(primary_key=True, foreign_key="unit.code")
    seen_s: int = big()
    act: int = big()
    mask_front: str
    mask_back: str
    grade: str
    chipped: str
    matte: str


class BuildRow(Sealed, table=True):
    """How a piece is made."""

    __tablename__ = "build"
    __table_args__ = (
        one_of("trim", craft.TRIMS),
        sa.CheckConstraint("version > 0", name="version"),
        sa.UniqueConstraint("name", "version"),
    )
    code: str = Field(primary_key=True)
    name: str
    version: int
    trim: str
    looks: bool
    sign_days: int | None = None
    retired: bool


class LayerRow(Sealed, table=True):
    """One layer of a build."""

    __tablename__ = "layer"
    __table_args__ = (
        one_of("part", craft.PARTS),
        one_of("stage", craft.DRAWING_STAGES),
        one_of("turn", craft.TURNS),
        *at_least_zero("allowance_dmm"),
    )
    code: str = Field(primary_key=True)
    build: str = Field(foreign_key="build.code", index=True)
    position: int
    part: str
    stage: str
    material: str | None = Field(None, foreign_key="material.code", index=True)
    instead: str | None = Field(None, foreign_key="material.code", index=True)
    allowance_dmm: int = big()
    turn: str


class LossRuleRow(Sealed, table=True):
    """What a loss at a stage destroys."""

    __tablename__ = "loss_rule"
    __table_args__ = (one_of("stage", craft.TRY_STAGES),)
    code: str = Field(primary_key=True)
    build: str = Field(foreign_key="build.code", index=True)
    stage: str
    cause: str
    takes: str


class PieceRow(Sealed, table=True):
    """A piece in the making, or finished."""

    __tablename__ = "piece"
    __table_args__ = (
        one_of("stage", (*craft.STAGES, craft.FINISHED)),
        sa.CheckConstraint("number > 0", name="number"),
    )
    code: str = Field(primary_key=True)
    job: str = Field(foreign_key="job.code", index=True)
    number: int
    stage: str = Field(index=True)
    since_s: int = big()
    edition: int | None = None


class TryRow(Sealed, table=True):
    """A try at a stage."""

    __tablename__ = "attempt"  # a bare "try" reads like a word of many languages
    __table_args__ = (
        one_of("stage", craft.TRY_STAGES),
        one_of("paid_by", craft.PAYERS),
        *at_least_zero("area_dmm2"),
    )
    code: str = Field(primary_key=True)
    job: str = Field(foreign_key="job.code", index=True)
    piece: str | None = Field(None, foreign_key="piece.code", index=True)
    stage: str
    good: bool
    cause: str
    takes: str
    area_dmm2: int = big()
    paid_by: str
    at_s: int = big()
    act: int = big()


class UsedRow(Sealed, table=True):
    """What of a unit went into a try."""

    __tablename__ = "used"
    __table_args__ = (
        one_of("part", craft.PARTS),
        one_of("fate", craft.FATES),
        *at_least_zero("qty"),
    )
    code: str = Field(primary_key=True)
    attempt: str = Field(foreign_key="attempt.code", index=True)
    job: str = Field(foreign_key="job.code", index=True)
    piece: str | None = Field(None, foreign_key="piece.code", index=True)
    part: str
    unit: str = Field(foreign_key="unit.code", index=True)
    lot: str = Field(foreign_key="lot.code", index=True)
    material: str = Field(foreign_key="material.code", index=True)
    qty: int = big()
    cost_cents: int = big()
    fate: str


class CardRow(Sealed, table=True):
    """A bench card."""

    __tablename__ = "card"
    __table_args__ = (one_of("state", card.CARD_STATES),)
    code: str = Field(primary_key=True)
    plan: str = Field(index=True)
    material: str = Field(foreign_key="material.code", index=True)
    unit: str = Field(foreign_key="unit.code", index=True)
    cuts: str
    state: str = Field(index=True)
    act: int = big()


class ActTimeRow(Sealed, table=True):
    """The corrected time of an act."""

    __tablename__ = "act_time"
    act: int = big(primary_key=True, sa_column_kwargs={"autoincrement": False})
    occurred_s: int = big()


class ClientRow(SQLModel, table=True):
    """A customer's own words on a job; outside the chain, so that they can be erased."""

    __tablename__ = "client"
    job: str = Field(primary_key=True)
    seal: str
    reference: str


class SourceFileRow(SQLModel, table=True):
    """A file as it came, byte for byte (compressed); only ever added."""

    __tablename__ = "source_file"
    sha256: str = Field(primary_key=True)
    name: str
    size: int = big()
    data: bytes


class BlockRow(SQLModel, table=True):
    """A month of readings of one import; only ever added."""

    __tablename__ = "block"
    import_code: str = Field(primary_key=True)
    month: str = Field(primary_key=True)
    place: str = Field(index=True)
    from_s: int = big()
    to_s: int = big()
    n: int
    sha256: str
    data: bytes


TABLE_OF_KIND: dict[str, type[Sealed]] = {
    "material": MaterialRow,
    "lot": LotRow,
    "unit": UnitRow,
    "place": PlaceRow,
    "stay": StayRow,
    "job": JobRow,
    "put_by": PutByRow,
    "order": OrderRow,
    "strip": StripRow,
    "spell": SpellRow,
    "spell_word": SpellWordRow,
    "import": ImportRow,
    "act_time": ActTimeRow,
    "patch": PatchRow,
    "white_word": WhiteWordRow,
    "warm_time": WarmTimeRow,
    "probe_run": ProbeRunRow,
    "winding": WindingRow,
    "fault": FaultRow,
    "surface": SurfaceRow,
    "build": BuildRow,
    "layer": LayerRow,
    "loss_rule": LossRuleRow,
    "piece": PieceRow,
    "try": TryRow,
    "used": UsedRow,
    "card": CardRow,
}
"""The table in which each kind of record stands."""

ONLY_ADDED = ("act", "touch", "movement", "source_file", "block")
"""Tables that refuse UPDATE, DELETE and TRUNCATE."""
