"""Alembic's entry: runs the migrations on the connection that `Book` hands over."""

from alembic import context

from bizkit.store.schema import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
with context.begin_transaction():
    context.run_migrations()
