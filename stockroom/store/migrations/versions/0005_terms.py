"""On which terms a material is sold: least order, what an order costs, price breaks, closed days."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"

BIG = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Add columns that older rows leave empty; their seals cover them only where they are told."""
    op.add_column("material", sa.Column("order_minimum", sa.Integer(), nullable=True))
    op.add_column("material", sa.Column("order_cost_cents", BIG, nullable=True))
    op.add_column("material", sa.Column("price_breaks", sa.String(), nullable=True))
    op.add_column("material", sa.Column("closed_days", sa.String(), nullable=True))
