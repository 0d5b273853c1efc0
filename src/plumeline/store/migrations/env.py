"""Run by Alembic: the steps go over the connection that the store has opened with its own settings."""

from __future__ import annotations

from alembic import context

from plumeline.store.schema import metadata

connection = context.config.attributes["connection"]
context.configure(connection=connection, target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
