"""What a migration runs in: a connection that the caller opened, in its own transaction."""

from alembic import context
from sqlmodel import SQLModel

from stockroom.store import tables

assert tables.SCHEMA_NUMBER
context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=SQLModel.metadata,
    transactional_ddl=True,
    render_as_batch=False,
)
with context.begin_transaction():
    context.run_migrations()
