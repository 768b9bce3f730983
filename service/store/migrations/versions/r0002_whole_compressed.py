"""Compressed bytes, the format of the answer, and all that was computed for it.

What is there stays as it is, and is said to be so: the change takes no longer where there is much.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Add the columns, and have programs of before refuse what they could not read."""
    op.add_column("decisions", sa.Column("whole", sa.LargeBinary))
    op.add_column("decisions", sa.Column("whole_digest", sa.String(64)))
    op.add_column("decisions", sa.Column("format", sa.Integer, nullable=False, server_default="1"))
    op.add_column(
        "decisions",
        sa.Column("coding", sa.String(16), nullable=False, server_default="identity"),
    )
    op.execute("UPDATE store SET schema_version = 2")
