"""Condition: white patches, warm-up, windings, faults, surfaces, and what labels say of them."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add columns that older rows leave empty, and a table for each new kind of record.

    A seal covers a column added later only where it holds something, so no row is touched.
    """
    op.add_column("material", sa.Column("opened_life_days", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("humidity_limit_pct", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("core_dmm", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("white_watch_centi", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("white_act_centi", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("density_watch_milli", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("density_act_milli", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("band_low_centi_c", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("band_high_centi_c", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("use_least_centi_c", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("liners", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("trim_after_h", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("full_bond_h", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("bond_source", sa.String(), nullable=True))
    op.add_column("material", sa.Column("sheet_process", sa.String(), nullable=True))
    op.add_column("material", sa.Column("settle_days", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("goods_kind", sa.String(), nullable=True))
    op.add_column("unit", sa.Column("bagged_s", BIG, nullable=True))
    op.add_column("unit", sa.Column("reopened_s", BIG, nullable=True))
    op.add_column("purchase", sa.Column("width_dmm", BIG, nullable=True))
    op.add_column("purchase", sa.Column("length_dmm", BIG, nullable=True))
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
