"""The first schema: acts, movements, records folded from them, readings."""

import sqlalchemy as sa
from alembic import op

from stockroom.store.schema import trigger_statements

revision = "0001"
down_revision = None

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Make every table, index and trigger."""
    op.create_table(
        "act",
        sa.Column("seq", BIG, autoincrement=False, nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("occurred_s", BIG, nullable=False),
        sa.Column("recorded_s", BIG, nullable=False),
        sa.Column("actor", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("undoes", BIG, nullable=True),
        sa.Column("ask", sa.String(), nullable=False),
        sa.Column("format", sa.Integer(), nullable=False),
        sa.Column("payload", sa.String(), nullable=False),
        sa.Column("prev", sa.String(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.CheckConstraint("seq > 0", name=op.f("ck_act_seq")),
        sa.ForeignKeyConstraint(["undoes"], ["act.seq"], name=op.f("fk_act_undoes")),
        sa.PrimaryKeyConstraint("seq", name=op.f("pk_act")),
        sa.UniqueConstraint("key", name=op.f("uq_act_key")),
        sa.UniqueConstraint("undoes", name=op.f("uq_act_undoes")),
    )
    op.create_index(op.f("ix_act_kind"), "act", ["kind"], unique=False)
    op.create_table(
        "act_time",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("act", BIG, autoincrement=False, nullable=False),
        sa.Column("occurred_s", BIG, nullable=False),
        sa.PrimaryKeyConstraint("act", name=op.f("pk_act_time")),
    )
    op.create_table(
        "block",
        sa.Column("import_code", sa.String(), nullable=False),
        sa.Column("month", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("from_s", BIG, nullable=False),
        sa.Column("to_s", BIG, nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("import_code", "month", name=op.f("pk_block")),
    )
    op.create_index(op.f("ix_block_place"), "block", ["place"], unique=False)
    op.create_table(
        "chain_head",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("seq", BIG, nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("next_number", BIG, nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_chain_head_only_one")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chain_head")),
    )
    op.create_table(
        "material",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("family", sa.String(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("width_dmm", sa.Integer(), nullable=True),
        sa.Column("length_dmm", sa.Integer(), nullable=True),
        sa.Column("thickness_um", sa.Integer(), nullable=True),
        sa.Column("label_life_days", sa.Integer(), nullable=True),
        sa.Column("label_temp_centi_c", sa.Integer(), nullable=True),
        sa.Column("storage_limit_centi_c", sa.Integer(), nullable=True),
        sa.Column("shop_life_days", sa.Integer(), nullable=True),
        sa.Column("energy_j_mol", sa.Integer(), nullable=True),
        sa.Column("leader_dmm", sa.Integer(), nullable=True),
        sa.Column("tail_dmm", sa.Integer(), nullable=True),
        sa.Column("margin_dmm", sa.Integer(), nullable=True),
        sa.Column("longest_print_dmm", sa.Integer(), nullable=True),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=True),
        sa.Column("price_cents", BIG, nullable=True),
        sa.Column("tell_below", sa.Integer(), nullable=True),
        sa.Column("order_multiple", sa.Integer(), nullable=False),
        sa.CheckConstraint(
            "family IN ('paper', 'film', 'sheet', 'board', 'profile', 'goods')",
            name=op.f("ck_material_family"),
        ),
        sa.CheckConstraint(
            "form IN ('roll', 'sheet', 'length', 'counted')", name=op.f("ck_material_form")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_material")),
        sa.UniqueConstraint("name", name=op.f("uq_material_name")),
    )
    op.create_table(
        "meta",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("schema_number", sa.Integer(), nullable=False),
        sa.Column("workshop_zone", sa.String(), nullable=False),
        sa.Column("currency", sa.String(), nullable=False),
        sa.Column("checked_s", BIG, nullable=False),
        sa.Column("checked_seq", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_meta_only_one")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meta")),
    )
    op.create_table(
        "place",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("place_kind", sa.String(), nullable=False),
        sa.Column("set_point_centi_c", sa.Integer(), nullable=True),
        sa.Column("low_centi_c", sa.Integer(), nullable=True),
        sa.Column("high_centi_c", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "place_kind IN ('cold store', 'room', 'magazine', 'rack')",
            name=op.f("ck_place_place_kind"),
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_place")),
        sa.UniqueConstraint("name", name=op.f("uq_place_name")),
    )
    op.create_table(
        "source_file",
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("size", BIG, nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_source_file")),
    )
    op.create_table(
        "import",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("readings", sa.Integer(), nullable=False),
        sa.Column("from_s", BIG, nullable=False),
        sa.Column("to_s", BIG, nullable=False),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name=op.f("fk_import_place")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_import")),
    )
    op.create_index(op.f("ix_import_place"), "import", ["place"], unique=False)
    op.create_index(op.f("ix_import_sha256"), "import", ["sha256"], unique=False)
    op.create_table(
        "job",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("width_dmm", BIG, nullable=False),
        sa.Column("height_dmm", BIG, nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("print_on", sa.String(), nullable=False),
        sa.Column("series", sa.Boolean(), nullable=False),
        sa.Column("good", sa.Integer(), nullable=False),
        sa.Column("lost", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.CheckConstraint("state IN ('booked', 'done', 'cancelled')", name=op.f("ck_job_state")),
        sa.CheckConstraint("count > 0", name=op.f("ck_job_count")),
        sa.CheckConstraint("good >= 0", name=op.f("ck_job_good")),
        sa.CheckConstraint("lost >= 0", name=op.f("ck_job_lost")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_job_material")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_job")),
    )
    op.create_index(op.f("ix_job_material"), "job", ["material"], unique=False)
    op.create_index(op.f("ix_job_state"), "job", ["state"], unique=False)
    op.create_table(
        "lot",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("number", sa.String(), nullable=False),
        sa.Column("made_on", sa.String(), nullable=True),
        sa.Column("label_date", sa.String(), nullable=True),
        sa.Column("owner", sa.String(), nullable=False),
        sa.Column("held", sa.String(), nullable=True),
        sa.CheckConstraint(
            "owner IN ('mine', 'customer', 'consignment')", name=op.f("ck_lot_owner")
        ),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_lot_material")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_lot")),
    )
    op.create_index(op.f("ix_lot_material"), "lot", ["material"], unique=False)
    op.create_index(op.f("ix_lot_number"), "lot", ["number"], unique=False)
    op.create_table(
        "movement",
        sa.Column("act", BIG, nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("qty", BIG, nullable=False),
        sa.Column("place_from", sa.String(), nullable=True),
        sa.Column("place_to", sa.String(), nullable=True),
        sa.Column("cost_cents", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('received', 'found', 'used', 'cut waste', 'lost', 'discarded', 'missing', 'returned', 'moved', 'split off', 'split to')",
            name=op.f("ck_movement_kind"),
        ),
        sa.ForeignKeyConstraint(["act"], ["act.seq"], name=op.f("fk_movement_act")),
        sa.PrimaryKeyConstraint("act", "n", name=op.f("pk_movement")),
    )
    op.create_index(op.f("ix_movement_lot"), "movement", ["lot"], unique=False)
    op.create_index(op.f("ix_movement_unit"), "movement", ["unit"], unique=False)
    op.create_table(
        "purchase",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("supplier", sa.String(), nullable=False),
        sa.Column("ordered_on", sa.String(), nullable=False),
        sa.Column("expected_on", sa.String(), nullable=True),
        sa.Column("price_cents", BIG, nullable=True),
        sa.Column("state", sa.String(), nullable=False),
        sa.CheckConstraint(
            "state IN ('sent', 'arrived', 'cancelled')", name=op.f("ck_purchase_state")
        ),
        sa.CheckConstraint("count >= 0", name=op.f("ck_purchase_count")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_purchase_material")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_purchase")),
    )
    op.create_index(op.f("ix_purchase_material"), "purchase", ["material"], unique=False)
    op.create_index(op.f("ix_purchase_state"), "purchase", ["state"], unique=False)
    op.create_table(
        "spell",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("last_right_s", BIG, nullable=False),
        sa.Column("last_right_centi_c", sa.Integer(), nullable=False),
        sa.Column("found_s", BIG, nullable=False),
        sa.Column("highest_centi_c", sa.Integer(), nullable=False),
        sa.Column("now_centi_c", sa.Integer(), nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name=op.f("fk_spell_place")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_spell")),
    )
    op.create_index(op.f("ix_spell_place"), "spell", ["place"], unique=False)
    op.create_table(
        "spell_word",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("from_s", BIG, nullable=False),
        sa.Column("to_s", BIG, nullable=False),
        sa.Column("cause", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name=op.f("fk_spell_word_place")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_spell_word")),
    )
    op.create_index(op.f("ix_spell_word_place"), "spell_word", ["place"], unique=False)
    op.create_table(
        "touch",
        sa.Column("act", BIG, nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("record_key", sa.String(), nullable=False),
        sa.Column("before", sa.String(), nullable=True),
        sa.Column("seal", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["act"], ["act.seq"], name=op.f("fk_touch_act")),
        sa.PrimaryKeyConstraint("act", "n", name=op.f("pk_touch")),
    )
    op.create_index("ix_touch_record", "touch", ["kind", "record_key", "act"], unique=False)
    op.create_table(
        "unit",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("form", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("parent", sa.String(), nullable=True),
        sa.Column("width_dmm", BIG, nullable=False),
        sa.Column("length_dmm", BIG, nullable=False),
        sa.Column("remaining_dmm", BIG, nullable=False),
        sa.Column("count", BIG, nullable=False),
        sa.Column("plus_minus_dmm", BIG, nullable=False),
        sa.Column("factory_edges", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("condition", sa.String(), nullable=False),
        sa.Column("held", sa.String(), nullable=True),
        sa.Column("received_s", BIG, nullable=False),
        sa.Column("received_act", BIG, nullable=False),
        sa.Column("arrived_warm", sa.Boolean(), nullable=False),
        sa.Column("opened_s", BIG, nullable=True),
        sa.Column("opened_act", BIG, nullable=True),
        sa.Column("ended_s", BIG, nullable=True),
        sa.Column("cost_left_cents", BIG, nullable=False),
        sa.CheckConstraint(
            "condition IN ('sealed', 'open', 're-bagged', 'damaged')",
            name=op.f("ck_unit_condition"),
        ),
        sa.CheckConstraint(
            "form IN ('roll', 'sheet', 'length', 'counted')", name=op.f("ck_unit_form")
        ),
        sa.CheckConstraint(
            "state IN ('in stock', 'used', 'lost', 'discarded', 'returned', 'cut up', 'missing')",
            name=op.f("ck_unit_state"),
        ),
        sa.CheckConstraint("cost_left_cents >= 0", name=op.f("ck_unit_cost_left_cents")),
        sa.CheckConstraint("count >= 0", name=op.f("ck_unit_count")),
        sa.CheckConstraint("length_dmm >= 0", name=op.f("ck_unit_length_dmm")),
        sa.CheckConstraint("plus_minus_dmm >= 0", name=op.f("ck_unit_plus_minus_dmm")),
        sa.CheckConstraint("remaining_dmm >= 0", name=op.f("ck_unit_remaining_dmm")),
        sa.CheckConstraint("width_dmm >= 0", name=op.f("ck_unit_width_dmm")),
        sa.ForeignKeyConstraint(["lot"], ["lot.code"], name=op.f("fk_unit_lot")),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name=op.f("fk_unit_place")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_unit")),
    )
    op.create_index(op.f("ix_unit_lot"), "unit", ["lot"], unique=False)
    op.create_index(op.f("ix_unit_parent"), "unit", ["parent"], unique=False)
    op.create_index(op.f("ix_unit_place"), "unit", ["place"], unique=False)
    op.create_index(op.f("ix_unit_state"), "unit", ["state"], unique=False)
    op.create_table(
        "put_by",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("qty", BIG, nullable=False),
        sa.Column("open", sa.Boolean(), nullable=False),
        sa.CheckConstraint("qty >= 0", name=op.f("ck_put_by_qty")),
        sa.ForeignKeyConstraint(["job"], ["job.code"], name=op.f("fk_put_by_job")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_put_by_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_put_by")),
    )
    op.create_index(op.f("ix_put_by_job"), "put_by", ["job"], unique=False)
    op.create_index(op.f("ix_put_by_unit"), "put_by", ["unit"], unique=False)
    op.create_table(
        "stay",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("stay_key", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("from_s", BIG, nullable=False),
        sa.Column("to_s", BIG, nullable=True),
        sa.ForeignKeyConstraint(["place"], ["place.code"], name=op.f("fk_stay_place")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_stay_unit")),
        sa.PrimaryKeyConstraint("stay_key", name=op.f("pk_stay")),
    )
    op.create_index(op.f("ix_stay_place"), "stay", ["place"], unique=False)
    op.create_index(op.f("ix_stay_unit"), "stay", ["unit"], unique=False)
    op.create_table(
        "strip",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("result", sa.String(), nullable=False),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.CheckConstraint("result IN ('clean', 'yellow', 'unsure')", name=op.f("ck_strip_result")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_strip_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_strip")),
    )
    op.create_index(op.f("ix_strip_unit"), "strip", ["unit"], unique=False)
    for statement in trigger_statements(op.get_bind().dialect.name):
        op.execute(statement)
