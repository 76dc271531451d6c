"""Alembic runs this file. The connection, inside a transaction, comes from `storage.migrations.upgrade`."""

from alembic import context

from storage.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
