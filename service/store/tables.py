"""The tables. Times are fixed-width RFC 3339 text in UTC: both engines sort it as time.

A change here needs a revision in `migrations/versions` that makes it; a test compares the two.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Column, Index, Integer, LargeBinary, MetaData, String, Table

ID_LENGTH: Final = 36
DIGEST_LENGTH: Final = 64
KEY_LENGTH: Final = 255
INSTANT_LENGTH: Final = 32
FLIGHT_ID_LENGTH: Final = 64
VERDICT_LENGTH: Final = 32
CODING_LENGTH: Final = 16

METADATA: Final = MetaData()

STORE: Final = Table(  # kept for programs of before the revisions, which refuse what is not 1
    "store",
    METADATA,
    Column("schema_version", Integer, primary_key=True, autoincrement=False),
)

DECISIONS: Final = Table(
    "decisions",
    METADATA,
    Column("decision_id", String(ID_LENGTH), primary_key=True),
    Column("flight_id", String(FLIGHT_ID_LENGTH), nullable=False),
    Column("as_of", String(INSTANT_LENGTH), nullable=False),
    Column("verdict", String(VERDICT_LENGTH), nullable=False),
    Column("created_at", String(INSTANT_LENGTH), nullable=False),
    Column("request", LargeBinary, nullable=False),
    Column("request_digest", String(DIGEST_LENGTH), nullable=False),
    Column("response", LargeBinary, nullable=False),
    Column("response_digest", String(DIGEST_LENGTH), nullable=False),
    Column("whole", LargeBinary),
    Column("whole_digest", String(DIGEST_LENGTH)),
    Column("format", Integer, nullable=False, server_default="1"),
    Column("coding", String(CODING_LENGTH), nullable=False, server_default="identity"),
    Index("ix_decisions_flight", "flight_id", "decision_id"),
)

KEYS: Final = Table(
    "idempotency_keys",
    METADATA,
    Column("key", String(KEY_LENGTH), primary_key=True),
    Column("request_digest", String(DIGEST_LENGTH), nullable=False),
    Column("decision_id", String(ID_LENGTH), nullable=False),
    Column("reserved_at", String(INSTANT_LENGTH), nullable=False),
)

REVISION_TABLE: Final = "store_revision"
"""Alembic's own, under a name of ours: the database may be another program's, too."""
