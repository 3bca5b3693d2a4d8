"""What alembic runs for each migration: on the connection that rockhold has open already."""

from alembic import context

from rockhold.library.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    render_as_batch=True,  # SQLite changes a table only by copying it
)
context.run_migrations()
