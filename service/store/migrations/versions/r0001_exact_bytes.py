"""The exact request and the exact answer of a decision, and the keys that were used."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables of an empty store."""
    store = op.create_table(
        "store",
        sa.Column("schema_version", sa.Integer, primary_key=True, autoincrement=False),
    )
    op.bulk_insert(store, [{"schema_version": 1}])
    op.create_table(
        "decisions",
        sa.Column("decision_id", sa.String(36), primary_key=True),
        sa.Column("flight_id", sa.String(64), nullable=False),
        sa.Column("as_of", sa.String(32), nullable=False),
        sa.Column("verdict", sa.String(32), nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("request", sa.LargeBinary, nullable=False),
        sa.Column("request_digest", sa.String(64), nullable=False),
        sa.Column("response", sa.LargeBinary, nullable=False),
        sa.Column("response_digest", sa.String(64), nullable=False),
    )
    op.create_index("ix_decisions_flight", "decisions", ["flight_id", "decision_id"])
    op.create_table(
        "idempotency_keys",
        sa.Column("key", sa.String(255), primary_key=True),
        sa.Column("request_digest", sa.String(64), nullable=False),
        sa.Column("decision_id", sa.String(36), nullable=False),
        sa.Column("reserved_at", sa.String(32), nullable=False),
    )
