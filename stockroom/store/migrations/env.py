"""What a migration runs in: a connection that the caller opened, in its own transaction."""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    transactional_ddl=True,
    render_as_batch=False,
)
with context.begin_transaction():
    context.run_migrations()
