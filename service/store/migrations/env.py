"""Run revisions on the connection, and in the transaction, of `service.store.upkeep`."""

from __future__ import annotations

from alembic import context

from service.store.tables import REVISION_TABLE

context.configure(connection=context.config.attributes["connection"], version_table=REVISION_TABLE)
context.run_migrations()
