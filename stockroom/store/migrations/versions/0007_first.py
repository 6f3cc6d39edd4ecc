"""The first schema: acts, movements, records folded from them, readings, and what they add up to."""

import re
from typing import Any

import sqlalchemy as sa
from alembic import op

from stockroom.store.schema import trigger_statements

revision = "0007"
down_revision = None

TABLES = """
meta: id:int+key schema_number:int workshop_zone currency demo checked_s:int checked_seq:int seal
chain_head: id:int+key seq:int hash next_number:int touches:int rows_sum clients_sum seal
act: seq:int+key key+unique kind+index occurred_s:int recorded_s:int actor reason
    undoes:int?+unique>act.seq ask format:int payload prev hash
touch: act:int+key>act.seq n:int+key kind record_key before? seal
movement: act:int+key>act.seq n:int+key unit+index lot+index kind qty:int place_from? place_to?
    cost_cents:int seal
client: job+key reference seal
source_file: sha256+key name size:int data:bytes
block: import_code+key month+key place+index from_s:int to_s:int n:int sha256 data:bytes
material: code+key name+unique family form width_dmm:int? length_dmm:int? thickness_um:int?
    label_life_days:int? label_temp_centi_c:int? storage_limit_centi_c:int? shop_life_days:int?
    energy_j_mol:int? leader_dmm:int? tail_dmm:int? margin_dmm:int? longest_print_dmm:int? supplier
    lead_days:int? price_cents:int? tell_below:int? order_multiple:int opened_life_days:int?
    humidity_limit_pct:int? core_dmm:int? white_watch_centi:int? white_act_centi:int?
    density_watch_milli:int? density_act_milli:int? band_low_centi_c:int? band_high_centi_c:int?
    use_least_centi_c:int? liners:int? trim_after_h:int? full_bond_h:int? bond_source?
    sheet_process? settle_days:int? goods_kind? order_minimum:int? order_cost_cents:int?
    price_breaks? closed_days? last_act:int seal
lot: code+key material>material.code number+index made_on? label_date? owner held? last_act:int seal
unit: code+key lot>lot.code form place>place.code parent?+index width_dmm:int length_dmm:int
    remaining_dmm:int count:int plus_minus_dmm:int factory_edges:int state+index condition held?
    received_s:int received_act:int arrived_warm:bool opened_s:int? opened_act:int? ended_s:int?
    cost_left_cents:int bagged_s:int? reopened_s:int? last_act:int seal
place: code+key name+unique place_kind set_point_centi_c:int? low_centi_c:int? high_centi_c:int?
    last_act:int seal
stay: stay_key+key unit>unit.code act:int place>place.code from_s:int to_s:int? last_act:int seal
job: code+key name material>material.code width_dmm:int height_dmm:int count:int print_on
    series:bool good:int lost:int state+index certainty? due_on? start_on? build?>build.code
    work?+index edition_from:int? edition_of:int? printed_by? lab_days:int? pays? last_act:int seal
put_by: code+key unit>unit.code job>job.code qty:int open:bool last_act:int seal
purchase: code+key material>material.code count:int supplier ordered_on expected_on?
    price_cents:int? state+index width_dmm:int? length_dmm:int? confirmed_on? came:int? damaged:int?
    notice_by? noticed_on? credit_cents:int? last_act:int seal
strip: code+key unit>unit.code result at_s:int act:int last_act:int seal
spell: code+key place>place.code last_right_s:int last_right_centi_c:int found_s:int
    highest_centi_c:int now_centi_c:int act:int last_act:int seal
spell_word: code+key place>place.code from_s:int to_s:int cause last_act:int seal
import: code+key place>place.code name sha256+index readings:int from_s:int to_s:int withdrawn:bool
    last_act:int seal
act_time: act:int+key occurred_s:int last_act:int seal
patch: code+key unit>unit.code at_s:int act:int l_milli:int? a_milli:int? b_milli:int?
    density_milli:int? instrument measuring backing spots:int control? control_l_milli:int?
    control_a_milli:int? control_b_milli:int? control_density_milli:int? last_act:int seal
white_word: code+key unit>unit.code at_s:int act:int most_days:int why last_act:int seal
warm_time: code+key material>material.code width_dmm:int length_dmm:int from_centi_c:int minutes:int
    source standing:bool last_act:int seal
probe_run: code+key unit>unit.code at_s:int act:int h_milli:int low_milli:int high_milli:int
    rms_milli_k:int file last_act:int seal
winding: code+key material>material.code unit? at_s:int act:int length_dmm:int
    length_plus_minus_dmm:int outer_dmm:int outer_plus_minus_dmm:int core_dmm:int
    core_plus_minus_dmm:int last_act:int seal
fault: code+key unit>unit.code from_dmm:int to_dmm:int what at_s:int act:int last_act:int seal
surface: unit+key>unit.code seen_s:int act:int mask_front mask_back grade chipped matte last_act:int
    seal
build: code+key name version:int trim looks:bool sign_days:int? retired:bool last_act:int seal
layer: code+key build>build.code position:int part stage material?>material.code
    instead?>material.code allowance_dmm:int turn last_act:int seal
loss_rule: code+key build>build.code stage cause takes last_act:int seal
piece: code+key job>job.code number:int stage+index since_s:int edition:int? last_act:int seal
attempt: code+key job>job.code piece?>piece.code stage good:bool cause takes area_dmm2:int paid_by
    at_s:int act:int last_act:int seal
used: code+key attempt>attempt.code job>job.code piece?>piece.code part unit>unit.code lot>lot.code
    material>material.code qty:int cost_cents:int fate last_act:int seal
card: code+key plan+index material>material.code unit>unit.code cuts state+index act:int
    last_act:int seal
"""
"""A table a paragraph: the columns, `name:type?+what>table.column`, which hold text where no type
is said, and must hold something where there is no `?`. Where it is neither key nor unique, what
points to another table has an index."""

COLUMN = re.compile(r"(\w+)(?::(int|bool|bytes))?(\?)?(?:\+(key|unique|index))?(?:>(\w+\.\w+))?")
TYPES: dict[str | None, sa.types.TypeEngine[Any]] = {
    None: sa.String(),
    "int": sa.BigInteger().with_variant(sa.Integer(), "sqlite"),
    "bool": sa.Boolean(),
    "bytes": sa.LargeBinary(),
}
NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
ONLY_ADDED = ("act", "touch", "movement", "source_file", "block")


def upgrade() -> None:
    """Make every table, index and trigger."""
    bind = op.get_bind()
    schema = sa.MetaData(naming_convention=NAMING)
    for paragraph in re.split(r"\n(?=\S)", TABLES.strip()):
        name, columns = paragraph.split(": ")
        sa.Table(name, schema, *map(_column, columns.split()))
    for name in ("meta", "chain_head"):
        schema.tables[name].append_constraint(sa.CheckConstraint("id = 1", name="only_one"))
    schema.tables["act"].append_constraint(sa.CheckConstraint("seq > 0", name="seq"))
    build, touch = schema.tables["build"].c, schema.tables["touch"].c
    sa.UniqueConstraint(build.name, build.version)
    sa.Index("ix_touch_record", touch.kind, touch.record_key, touch.act)
    schema.create_all(bind, checkfirst=False)
    if bind.dialect.name == "postgresql":  # no copies of it among the server's figures
        op.execute("ALTER TABLE client ALTER COLUMN reference SET STATISTICS 0")
    for statement in trigger_statements(bind.dialect.name, ONLY_ADDED):
        op.execute(statement)


def _column(said: str) -> sa.Column[Any]:
    read = COLUMN.fullmatch(said)
    assert read is not None, said
    name, kind, optional, what, points_to = read.groups()
    return sa.Column(
        name,
        TYPES[kind],
        *([sa.ForeignKey(points_to)] if points_to else []),
        primary_key=what == "key",
        unique=what == "unique",
        index=what == "index" or bool(points_to and not what),
        nullable=bool(optional),
        autoincrement=False,
    )
