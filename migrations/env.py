"""Runs the scripts on the connection that the caller hands over; it begins and ends the transaction.

The caller sets `attributes["connection"]` of the configuration, and `attributes["metadata"]` where tables
are to be held against the scripts.
"""

from alembic import context

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=context.config.attributes.get("metadata"),
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
