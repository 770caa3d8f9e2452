"""Run the steps on the connection that ``simengine.store.revisions`` hands over."""

from alembic import context

from simengine.store.tables import REVISION_TABLE

context.configure(connection=context.config.attributes["connection"], version_table=REVISION_TABLE)
with context.begin_transaction():
    context.run_migrations()
