"""Who may call, for how long, and who did what."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the tables, empty."""
    op.create_table(
        "api_keys",
        sa.Column("identifier", sa.String(16), primary_key=True),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("scopes", sa.String(64), nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("expires_at", sa.String(32)),
        sa.Column("revoked_at", sa.String(32)),
        sa.Column("last_used_at", sa.String(32)),
    )
    op.create_table(
        "api_key_secrets",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("identifier", sa.String(16), nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("ends_at", sa.String(32)),
    )
    op.create_index("ix_api_key_secrets_identifier", "api_key_secrets", ["identifier"])
    op.create_table(
        "browser_sessions",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("secret_digest", sa.String(64), nullable=False),
        sa.Column("created_at", sa.String(32), nullable=False),
        sa.Column("expires_at", sa.String(32), nullable=False),
    )
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("at", sa.String(32), nullable=False),
        sa.Column("caller", sa.String(128), nullable=False),
        sa.Column("what", sa.String(32), nullable=False),
        sa.Column("subject", sa.String(255), nullable=False),
    )
    op.create_index("ix_audit_at", "audit", ["at"])
    op.execute("UPDATE store SET schema_version = 4")
