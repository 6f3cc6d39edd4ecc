"""Work: builds, pieces, tries and what went into them; what became of orders."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add columns that older rows leave empty, and a table for each new kind of record.

    A seal covers a column added later only where it holds something, so no row is touched.
    """
    op.add_column("job", sa.Column("certainty", sa.String(), nullable=True))
    op.add_column("job", sa.Column("due_on", sa.String(), nullable=True))
    op.add_column("job", sa.Column("start_on", sa.String(), nullable=True))
    op.add_column("job", sa.Column("work", sa.String(), nullable=True))
    op.add_column("job", sa.Column("edition_from", sa.Integer(), nullable=True))
    op.add_column("job", sa.Column("edition_of", sa.Integer(), nullable=True))
    op.add_column("job", sa.Column("printed_by", sa.String(), nullable=True))
    op.add_column("job", sa.Column("lab_days", sa.Integer(), nullable=True))
    op.add_column("job", sa.Column("pays", sa.String(), nullable=True))
    op.create_index(op.f("ix_job_work"), "job", ["work"], unique=False)
    op.add_column("purchase", sa.Column("confirmed_on", sa.String(), nullable=True))
    op.add_column("purchase", sa.Column("came", sa.Integer(), nullable=True))
    op.add_column("purchase", sa.Column("damaged", sa.Integer(), nullable=True))
    op.add_column("purchase", sa.Column("notice_by", sa.String(), nullable=True))
    op.add_column("purchase", sa.Column("noticed_on", sa.String(), nullable=True))
    op.add_column("purchase", sa.Column("credit_cents", BIG, nullable=True))
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
    # A column with its foreign key in one statement: SQLite adds no constraint to a table later.
    op.execute(
        "ALTER TABLE job ADD COLUMN build VARCHAR CONSTRAINT fk_job_build REFERENCES build (code)"
    )
    op.create_index(op.f("ix_job_build"), "job", ["build"], unique=False)
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
        sa.CheckConstraint("allowance_dmm >= 0", name=op.f("ck_layer_allowance_dmm")),
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
        "piece",
        sa.Column("last_act", BIG, nullable=False),
        sa.Column("seal", sa.String(), nullable=False),
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(), nullable=False),
        sa.Column("since_s", BIG, nullable=False),
        sa.Column("edition", sa.Integer(), nullable=True),
        sa.CheckConstraint("number > 0", name=op.f("ck_piece_number")),
        sa.CheckConstraint(
            "stage IN ('print', 'look', 'sign', 'look again', 'mount', 'back', 'frame', 'finished')",
            name=op.f("ck_piece_stage"),
        ),
        sa.ForeignKeyConstraint(["job"], ["job.code"], name=op.f("fk_piece_job")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_piece")),
    )
    op.create_index(op.f("ix_piece_job"), "piece", ["job"], unique=False)
    op.create_index(op.f("ix_piece_stage"), "piece", ["stage"], unique=False)
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
        sa.CheckConstraint("area_dmm2 >= 0", name=op.f("ck_attempt_area_dmm2")),
        sa.CheckConstraint(
            "paid_by IN ('us', 'customer', 'outside lab')", name=op.f("ck_attempt_paid_by")
        ),
        sa.CheckConstraint(
            "stage IN ('print', 'look', 'sign', 'look again', 'mount', 'back', 'frame', 'damage')",
            name=op.f("ck_attempt_stage"),
        ),
        sa.ForeignKeyConstraint(["job"], ["job.code"], name=op.f("fk_attempt_job")),
        sa.ForeignKeyConstraint(["piece"], ["piece.code"], name=op.f("fk_attempt_piece")),
        sa.PrimaryKeyConstraint("code", name=op.f("pk_attempt")),
    )
    op.create_index(op.f("ix_attempt_job"), "attempt", ["job"], unique=False)
    op.create_index(op.f("ix_attempt_piece"), "attempt", ["piece"], unique=False)
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
    op.create_table(
        "client",
        sa.Column("job", sa.String(), nullable=False),
        sa.Column("reference", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("job", name=op.f("pk_client")),
    )
