"""The first schema: acts, movements, records folded from them, readings, and what they add up to."""

import sqlalchemy as sa
from alembic import op

from stockroom.store.schema import trigger_statements

revision = "0006"
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
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("data", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("import_code", "month", name=op.f("pk_block")),
    )
    op.create_index(op.f("ix_block_place"), "block", ["place"], unique=False)
    op.create_table(
        "build",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("trim", sa.String(), nullable=False),
        sa.Column("looks", sa.Boolean(), nullable=False),
        sa.Column("sign_days", sa.Integer(), nullable=True),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.CheckConstraint("trim IN ('after', 'before')", name=op.f("ck_build_trim")),
        sa.CheckConstraint("version > 0", name=op.f("ck_build_version")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_build")),
        sa.UniqueConstraint("name", "version", name=op.f("uq_build_name_version")),
    )
    op.create_table(
        "chain_head",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("seq", BIG, nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("next_number", BIG, nullable=False),
        sa.Column("touches", BIG, nullable=False),
        sa.Column("rows_sum", sa.String(), nullable=False),
        sa.Column("clients_sum", sa.String(), nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_chain_head_only_one")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_chain_head")),
    )
    op.create_table(
        "client",
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("job", name=op.f("pk_client")),
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
        sa.Column("opened_life_days", sa.Integer(), nullable=True),
        sa.Column("humidity_limit_pct", sa.Integer(), nullable=True),
        sa.Column("core_dmm", sa.Integer(), nullable=True),
        sa.Column("white_watch_centi", sa.Integer(), nullable=True),
        sa.Column("white_act_centi", sa.Integer(), nullable=True),
        sa.Column("density_watch_milli", sa.Integer(), nullable=True),
        sa.Column("density_act_milli", sa.Integer(), nullable=True),
        sa.Column("band_low_centi_c", sa.Integer(), nullable=True),
        sa.Column("band_high_centi_c", sa.Integer(), nullable=True),
        sa.Column("use_least_centi_c", sa.Integer(), nullable=True),
        sa.Column("liners", sa.Integer(), nullable=True),
        sa.Column("trim_after_h", sa.Integer(), nullable=True),
        sa.Column("full_bond_h", sa.Integer(), nullable=True),
        sa.Column("bond_source", sa.String(), nullable=True),
        sa.Column("sheet_process", sa.String(), nullable=True),
        sa.Column("settle_days", sa.Integer(), nullable=True),
        sa.Column("goods_kind", sa.String(), nullable=True),
        sa.Column("order_minimum", sa.Integer(), nullable=True),
        sa.Column("order_cost_cents", BIG, nullable=True),
        sa.Column("price_breaks", sa.String(), nullable=True),
        sa.Column("closed_days", sa.String(), nullable=True),
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
        sa.Column("demo", sa.String(), nullable=False),
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
        sa.Column("certainty", sa.String(), nullable=True),
        sa.Column("due_on", sa.String(), nullable=True),
        sa.Column("start_on", sa.String(), nullable=True),
        sa.Column("build", sa.String(), nullable=True),
        sa.Column("work", sa.String(), nullable=True),
        sa.Column("edition_from", sa.Integer(), nullable=True),
        sa.Column("edition_of", sa.Integer(), nullable=True),
        sa.Column("printed_by", sa.String(), nullable=True),
        sa.Column("lab_days", sa.Integer(), nullable=True),
        sa.Column("pays", sa.String(), nullable=True),
        sa.CheckConstraint("state IN ('booked', 'done', 'cancelled')", name=op.f("ck_job_state")),
        sa.CheckConstraint("count > 0", name=op.f("ck_job_count")),
        sa.CheckConstraint("good >= 0", name=op.f("ck_job_good")),
        sa.CheckConstraint("lost >= 0", name=op.f("ck_job_lost")),
        sa.ForeignKeyConstraint(["build"], ["build.code"], name=op.f("fk_job_build")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_job_material")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_job")),
    )
    op.create_index(op.f("ix_job_build"), "job", ["build"], unique=False)
    op.create_index(op.f("ix_job_material"), "job", ["material"], unique=False)
    op.create_index(op.f("ix_job_state"), "job", ["state"], unique=False)
    op.create_index(op.f("ix_job_work"), "job", ["work"], unique=False)
    op.create_table(
        "layer",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("build", sa.String(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=True),
        sa.Column("instead", sa.String(), nullable=True),
        sa.Column("allowance_dmm", BIG, nullable=False),
        sa.Column("turn", sa.String(), nullable=False),
        sa.CheckConstraint(
            "part IN ('sheet', 'face film', 'paper', 'back film', 'board', 'profile')",
            name=op.f("ck_layer_part"),
        ),
        sa.CheckConstraint(
            "stage IN ('print', 'mount', 'back', 'frame')", name=op.f("ck_layer_stage")
        ),
        sa.CheckConstraint(
            "turn IN ('any', 'long edge', 'short edge')", name=op.f("ck_layer_turn")
        ),
        sa.CheckConstraint("allowance_dmm >= 0", name=op.f("ck_layer_allowance_dmm")),
        sa.ForeignKeyConstraint(["build"], ["build.code"], name=op.f("fk_layer_build")),
        sa.ForeignKeyConstraint(["instead"], ["material.code"], name=op.f("fk_layer_instead")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_layer_material")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_layer")),
    )
    op.create_index(op.f("ix_layer_build"), "layer", ["build"], unique=False)
    op.create_index(op.f("ix_layer_instead"), "layer", ["instead"], unique=False)
    op.create_index(op.f("ix_layer_material"), "layer", ["material"], unique=False)
    op.create_table(
        "loss_rule",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("build", sa.String(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("cause", sa.String(), nullable=False),
        sa.Column("takes", sa.String(), nullable=False),
        sa.CheckConstraint(
            "stage IN ('print', 'look', 'sign', 'look again', 'mount', 'back', 'frame', 'damage')",
            name=op.f("ck_loss_rule_stage"),
        ),
        sa.ForeignKeyConstraint(["build"], ["build.code"], name=op.f("fk_loss_rule_build")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_loss_rule")),
    )
    op.create_index(op.f("ix_loss_rule_build"), "loss_rule", ["build"], unique=False)
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
        sa.Column("width_dmm", BIG, nullable=True),
        sa.Column("length_dmm", BIG, nullable=True),
        sa.Column("confirmed_on", sa.String(), nullable=True),
        sa.Column("came", sa.Integer(), nullable=True),
        sa.Column("damaged", sa.Integer(), nullable=True),
        sa.Column("notice_by", sa.String(), nullable=True),
        sa.Column("noticed_on", sa.String(), nullable=True),
        sa.Column("credit_cents", BIG, nullable=True),
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
        "warm_time",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("width_dmm", BIG, nullable=False),
        sa.Column("length_dmm", BIG, nullable=False),
        sa.Column("from_centi_c", sa.Integer(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("standing", sa.Boolean(), nullable=False),
        sa.CheckConstraint("length_dmm >= 0", name=op.f("ck_warm_time_length_dmm")),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_warm_time_minutes")),
        sa.CheckConstraint("width_dmm >= 0", name=op.f("ck_warm_time_width_dmm")),
        sa.ForeignKeyConstraint(
            ["material"], ["material.code"], name=op.f("fk_warm_time_material")
        ),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_warm_time")),
    )
    op.create_index(op.f("ix_warm_time_material"), "warm_time", ["material"], unique=False)
    op.create_table(
        "winding",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=True),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.Column("length_dmm", BIG, nullable=False),
        sa.Column("length_plus_minus_dmm", BIG, nullable=False),
        sa.Column("outer_dmm", BIG, nullable=False),
        sa.Column("outer_plus_minus_dmm", BIG, nullable=False),
        sa.Column("core_dmm", BIG, nullable=False),
        sa.Column("core_plus_minus_dmm", BIG, nullable=False),
        sa.CheckConstraint("core_dmm >= 0", name=op.f("ck_winding_core_dmm")),
        sa.CheckConstraint("length_dmm >= 0", name=op.f("ck_winding_length_dmm")),
        sa.CheckConstraint("outer_dmm >= 0", name=op.f("ck_winding_outer_dmm")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_winding_material")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_winding")),
    )
    op.create_index(op.f("ix_winding_material"), "winding", ["material"], unique=False)
    op.create_table(
        "piece",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("since_s", BIG, nullable=False),
        sa.Column("edition", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "stage IN ('print', 'look', 'sign', 'look again', 'mount', 'back', 'frame', 'finished')",
            name=op.f("ck_piece_stage"),
        ),
        sa.CheckConstraint("number > 0", name=op.f("ck_piece_number")),
        sa.ForeignKeyConstraint(["job"], ["job.code"], name=op.f("fk_piece_job")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_piece")),
    )
    op.create_index(op.f("ix_piece_job"), "piece", ["job"], unique=False)
    op.create_index(op.f("ix_piece_stage"), "piece", ["stage"], unique=False)
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
        sa.Column("bagged_s", BIG, nullable=True),
        sa.Column("reopened_s", BIG, nullable=True),
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
        "attempt",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("piece", sa.String(), nullable=True),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("good", sa.Boolean(), nullable=False),
        sa.Column("cause", sa.String(), nullable=False),
        sa.Column("takes", sa.String(), nullable=False),
        sa.Column("area_dmm2", BIG, nullable=False),
        sa.Column("paid_by", sa.String(), nullable=False),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.CheckConstraint(
            "paid_by IN ('us', 'customer', 'outside lab')", name=op.f("ck_attempt_paid_by")
        ),
        sa.CheckConstraint(
            "stage IN ('print', 'look', 'sign', 'look again', 'mount', 'back', 'frame', 'damage')",
            name=op.f("ck_attempt_stage"),
        ),
        sa.CheckConstraint("area_dmm2 >= 0", name=op.f("ck_attempt_area_dmm2")),
        sa.ForeignKeyConstraint(["job"], ["job.code"], name=op.f("fk_attempt_job")),
        sa.ForeignKeyConstraint(["piece"], ["piece.code"], name=op.f("fk_attempt_piece")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_attempt")),
    )
    op.create_index(op.f("ix_attempt_job"), "attempt", ["job"], unique=False)
    op.create_index(op.f("ix_attempt_piece"), "attempt", ["piece"], unique=False)
    op.create_table(
        "card",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("plan", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("cuts", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.CheckConstraint("state IN ('open', 'cut', 'dropped')", name=op.f("ck_card_state")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_card_material")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_card_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_card")),
    )
    op.create_index(op.f("ix_card_material"), "card", ["material"], unique=False)
    op.create_index(op.f("ix_card_plan"), "card", ["plan"], unique=False)
    op.create_index(op.f("ix_card_state"), "card", ["state"], unique=False)
    op.create_index(op.f("ix_card_unit"), "card", ["unit"], unique=False)
    op.create_table(
        "fault",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("from_dmm", BIG, nullable=False),
        sa.Column("to_dmm", BIG, nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.CheckConstraint("from_dmm >= 0", name=op.f("ck_fault_from_dmm")),
        sa.CheckConstraint("to_dmm >= from_dmm", name=op.f("ck_fault_to_dmm")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_fault_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_fault")),
    )
    op.create_index(op.f("ix_fault_unit"), "fault", ["unit"], unique=False)
    op.create_table(
        "patch",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.Column("l_milli", sa.Integer(), nullable=True),
        sa.Column("a_milli", sa.Integer(), nullable=True),
        sa.Column("b_milli", sa.Integer(), nullable=True),
        sa.Column("density_milli", sa.Integer(), nullable=True),
        sa.Column("instrument", sa.String(), nullable=False),
        sa.Column("measuring", sa.String(), nullable=False),
        sa.Column("backing", sa.String(), nullable=False),
        sa.Column("spots", sa.Integer(), nullable=False),
        sa.Column("control", sa.String(), nullable=True),
        sa.Column("control_l_milli", sa.Integer(), nullable=True),
        sa.Column("control_a_milli", sa.Integer(), nullable=True),
        sa.Column("control_b_milli", sa.Integer(), nullable=True),
        sa.Column("control_density_milli", sa.Integer(), nullable=True),
        sa.CheckConstraint("backing IN ('white', 'black', 'own')", name=op.f("ck_patch_backing")),
        sa.CheckConstraint(
            "measuring IN ('M0', 'M1', 'M2', 'M3', 'unknown')", name=op.f("ck_patch_measuring")
        ),
        sa.CheckConstraint("spots > 0", name=op.f("ck_patch_spots")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_patch_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_patch")),
    )
    op.create_index(op.f("ix_patch_unit"), "patch", ["unit"], unique=False)
    op.create_table(
        "probe_run",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.Column("h_milli", sa.Integer(), nullable=False),
        sa.Column("low_milli", sa.Integer(), nullable=False),
        sa.Column("high_milli", sa.Integer(), nullable=False),
        sa.Column("rms_milli_k", sa.Integer(), nullable=False),
        sa.Column("file", sa.String(), nullable=False),
        sa.CheckConstraint("h_milli >= 0", name=op.f("ck_probe_run_h_milli")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_probe_run_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_probe_run")),
    )
    op.create_index(op.f("ix_probe_run_unit"), "probe_run", ["unit"], unique=False)
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
    op.create_table(
        "surface",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("seen_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.Column("mask_front", sa.String(), nullable=False),
        sa.Column("mask_back", sa.String(), nullable=False),
        sa.Column("grade", sa.String(), nullable=False),
        sa.Column("chipped", sa.String(), nullable=False),
        sa.Column("matte", sa.String(), nullable=False),
        sa.CheckConstraint("grade IN ('face', 'back', 'jig')", name=op.f("ck_surface_grade")),
        sa.CheckConstraint(
            "mask_back IN ('on', 'lifted', 'off', 'none')", name=op.f("ck_surface_mask_back")
        ),
        sa.CheckConstraint(
            "mask_front IN ('on', 'lifted', 'off', 'none')", name=op.f("ck_surface_mask_front")
        ),
        sa.CheckConstraint(
            "matte IN ('none', 'front', 'back', 'both')", name=op.f("ck_surface_matte")
        ),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_surface_unit")),
        sa.PrimaryKeyConstraint("unit", name=op.f("pk_surface")),
    )
    op.create_table(
        "white_word",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("at_s", BIG, nullable=False),
        sa.Column("act", BIG, nullable=False),
        sa.Column("most_days", sa.Integer(), nullable=False),
        sa.Column("why", sa.String(), nullable=False),
        sa.CheckConstraint("most_days >= 0", name=op.f("ck_white_word_most_days")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_white_word_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_white_word")),
    )
    op.create_index(op.f("ix_white_word_unit"), "white_word", ["unit"], unique=False)
    op.create_table(
        "used",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("attempt", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("piece", sa.String(), nullable=True),
        sa.Column("part", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("material", sa.String(), nullable=False),
        sa.Column("qty", BIG, nullable=False),
        sa.Column("cost_cents", BIG, nullable=False),
        sa.Column("fate", sa.String(), nullable=False),
        sa.CheckConstraint("fate IN ('in', 'lost')", name=op.f("ck_used_fate")),
        sa.CheckConstraint(
            "part IN ('sheet', 'face film', 'paper', 'back film', 'board', 'profile')",
            name=op.f("ck_used_part"),
        ),
        sa.CheckConstraint("qty >= 0", name=op.f("ck_used_qty")),
        sa.ForeignKeyConstraint(["attempt"], ["attempt.code"], name=op.f("fk_used_attempt")),
        sa.ForeignKeyConstraint(["job"], ["job.code"], name=op.f("fk_used_job")),
        sa.ForeignKeyConstraint(["lot"], ["lot.code"], name=op.f("fk_used_lot")),
        sa.ForeignKeyConstraint(["material"], ["material.code"], name=op.f("fk_used_material")),
        sa.ForeignKeyConstraint(["piece"], ["piece.code"], name=op.f("fk_used_piece")),
        sa.ForeignKeyConstraint(["unit"], ["unit.code"], name=op.f("fk_used_unit")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_used")),
    )
    op.create_index(op.f("ix_used_attempt"), "used", ["attempt"], unique=False)
    op.create_index(op.f("ix_used_job"), "used", ["job"], unique=False)
    op.create_index(op.f("ix_used_lot"), "used", ["lot"], unique=False)
    op.create_index(op.f("ix_used_material"), "used", ["material"], unique=False)
    op.create_index(op.f("ix_used_piece"), "used", ["piece"], unique=False)
    op.create_index(op.f("ix_used_unit"), "used", ["unit"], unique=False)
    if op.get_bind().dialect.name == "postgresql":  # no copies of it among the server's figures
        op.execute("ALTER TABLE client ALTER COLUMN reference SET STATISTICS 0")
    for statement in trigger_statements(op.get_bind().dialect.name):
        op.execute(statement)
