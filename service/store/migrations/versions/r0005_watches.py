"""Decisions under watch, reports that were handed in, events, webhooks with their secrets."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the tables, empty."""
    _watches()
    _reports()
    _events()
    _webhooks()
    op.execute("UPDATE store SET schema_version = 5")


def _watches() -> None:
    op.create_table(
        "watches",
        sa.Column("watch_id", sa.String(36), primary_key=True),
        sa.Column("decision_id", sa.String(36), nullable=False),
        sa.Column("flight_id", sa.String(64), nullable=False),
        sa.Column("caller", sa.String(128), nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("until_at", sa.String(32), nullable=False),
        sa.Column("due_at", sa.String(32)),
        sa.Column("due_because", sa.String(32), nullable=False),
        sa.Column("stirred", sa.Integer, nullable=False, server_default="0"),
        sa.Column("state_patch", sa.Text),
        sa.Column("standing", sa.Text, nullable=False),
        sa.Column("looked", sa.Integer, nullable=False, server_default="0"),
        sa.Column("last_looked_at", sa.String(32)),
        sa.Column("failures", sa.Integer, nullable=False, server_default="0"),
        sa.Column("last_failure", sa.String(255)),
        sa.Column("ended_at", sa.String(32)),
        sa.Column("ended_because", sa.String(32)),
        sa.Column("lease_owner", sa.String(128)),
        sa.Column("lease_until", sa.String(32)),
        sa.Column("webhook_url", sa.String(2048)),
        sa.Column("webhook_secret_id", sa.String(36)),
        sa.Column("key", sa.String(255)),
        sa.Column("request_digest", sa.String(64), nullable=False),
    )
    op.create_index("ix_watches_due", "watches", ["due_at"])
    op.create_index("ix_watches_flight", "watches", ["flight_id"])
    op.create_index("ix_watches_key", "watches", ["key"], unique=True)
    op.create_index("ix_watches_ended", "watches", ["ended_at"])
    op.create_table(
        "watched_places",
        sa.Column("watch_id", sa.String(36), primary_key=True),
        sa.Column("station", sa.String(4), primary_key=True),
    )
    op.create_index("ix_watched_places_station", "watched_places", ["station"])


def _reports() -> None:
    op.create_table(
        "reports",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("station", sa.String(4), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("issued_at", sa.String(32)),
        sa.Column("received_at", sa.String(32), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("source", sa.String(128), nullable=False),
    )
    op.create_index("ix_reports_digest", "reports", ["digest"], unique=True)
    op.create_index("ix_reports_station", "reports", ["station", "received_at"])
    op.create_index("ix_reports_received", "reports", ["received_at"])


def _events() -> None:
    op.create_table(
        "events",
        sa.Column("sequence", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("event_id", sa.String(36), nullable=False),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("watch_id", sa.String(36), nullable=False),
        sa.Column("flight_id", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(32), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
    )
    op.create_index("ix_events_event", "events", ["event_id"], unique=True)
    op.create_index("ix_events_watch", "events", ["watch_id", "sequence"])
    op.create_index("ix_events_at", "events", ["at"])
    head = op.create_table(
        "event_head",
        sa.Column("id", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("sequence", sa.Integer, nullable=False),
    )
    op.bulk_insert(head, [{"id": 1, "sequence": 0}])


def _webhooks() -> None:
    op.create_table(
        "outbox",
        sa.Column("event_id", sa.String(36), primary_key=True),
        sa.Column("watch_id", sa.String(36), nullable=False),
        sa.Column("url", sa.String(2048), nullable=False),
        sa.Column("secret_id", sa.String(36), nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("urgency", sa.Integer, nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("tries", sa.Integer, nullable=False, server_default="0"),
        sa.Column("first_at", sa.String(32), nullable=False),
        sa.Column("next_at", sa.String(32), nullable=False),
        sa.Column("last_at", sa.String(32)),
        sa.Column("last_status", sa.Integer),
        sa.Column("last_why", sa.String(255)),
        sa.Column("lease_owner", sa.String(128)),
        sa.Column("lease_until", sa.String(32)),
    )
    op.create_index("ix_outbox_next", "outbox", ["state", "urgency", "next_at"])
    op.create_index("ix_outbox_watch", "outbox", ["watch_id"])
    op.create_table(
        "webhook_secrets",
        sa.Column("secret_id", sa.String(36), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("encrypted", sa.Text, nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("ends_at", sa.String(32)),
        sa.Column("revoked_at", sa.String(32)),
    )
