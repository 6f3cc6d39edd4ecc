"""Bench cards of accepted cut plans."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add the table of bench cards."""
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
