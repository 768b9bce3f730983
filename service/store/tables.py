"""The tables. Times are fixed-width RFC 3339 text in UTC: both engines sort it as time.

A change here needs a revision in `migrations/versions` that makes it; a test compares the two.
"""

from __future__ import annotations

from typing import Final

from sqlalchemy import Column, Index, Integer, LargeBinary, MetaData, String, Table, Text

ID_LENGTH: Final = 36
DIGEST_LENGTH: Final = 64
KEY_LENGTH: Final = 255
INSTANT_LENGTH: Final = 32
FLIGHT_ID_LENGTH: Final = 64
VERDICT_LENGTH: Final = 32
CODING_LENGTH: Final = 16
OWNER_LENGTH: Final = 128
CALLER_LENGTH: Final = 128
IDENTIFIER_LENGTH: Final = 16
NAME_LENGTH: Final = 100
SCOPES_LENGTH: Final = 64
WHAT_LENGTH: Final = 32
SUBJECT_LENGTH: Final = 255
STATION_LENGTH: Final = 4
URL_LENGTH: Final = 2048
WHY_LENGTH: Final = 255
STATE_LENGTH: Final = 16

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

CHAIN: Final = Table(  # never shorter: a decision that is removed leaves its entry
    "chain",
    METADATA,
    Column("sequence", Integer, primary_key=True, autoincrement=False),
    Column("decision_id", String(ID_LENGTH)),
    Column("request_digest", String(DIGEST_LENGTH), nullable=False),
    Column("response_digest", String(DIGEST_LENGTH), nullable=False),
    Column("whole_digest", String(DIGEST_LENGTH)),
    Column("caller", String(CALLER_LENGTH), nullable=False),
    Column("at", String(INSTANT_LENGTH), nullable=False),
    Column("purged_before", String(INSTANT_LENGTH)),
    Column("link", String(DIGEST_LENGTH), nullable=False),
    Column("signature", String(DIGEST_LENGTH)),
    Index("ix_chain_decision", "decision_id", unique=True),
)

HEAD: Final = Table(  # one row, which whoever records has locked
    "chain_head",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("sequence", Integer, nullable=False),
    Column("link", String(DIGEST_LENGTH), nullable=False),
)

PROBE: Final = Table(  # one row, written to see whether writing is possible
    "probe",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("at", String(INSTANT_LENGTH), nullable=False),
    Column("filling", LargeBinary, nullable=False),
)

KEYS: Final = Table(
    "idempotency_keys",
    METADATA,
    Column("key", String(KEY_LENGTH), primary_key=True),
    Column("request_digest", String(DIGEST_LENGTH), nullable=False),
    Column("decision_id", String(ID_LENGTH), nullable=False),
    Column("reserved_at", String(INSTANT_LENGTH), nullable=False),
    Column("owner", String(OWNER_LENGTH)),
)
API_KEYS: Final = Table(
    "api_keys",
    METADATA,
    Column("identifier", String(IDENTIFIER_LENGTH), primary_key=True),
    Column("name", String(NAME_LENGTH), nullable=False),
    Column("scopes", String(SCOPES_LENGTH), nullable=False),
    Column("created_at", String(INSTANT_LENGTH), nullable=False),
    Column("expires_at", String(INSTANT_LENGTH)),
    Column("revoked_at", String(INSTANT_LENGTH)),
    Column("last_used_at", String(INSTANT_LENGTH)),
)

SECRETS: Final = Table(  # a key has two while it is being changed for another
    "api_key_secrets",
    METADATA,
    Column("digest", String(DIGEST_LENGTH), primary_key=True),
    Column("identifier", String(IDENTIFIER_LENGTH), nullable=False),
    Column("created_at", String(INSTANT_LENGTH), nullable=False),
    Column("ends_at", String(INSTANT_LENGTH)),
    Index("ix_api_key_secrets_identifier", "identifier"),
)

SESSIONS: Final = Table(  # of browsers; each ends with the secret that it was begun with
    "browser_sessions",
    METADATA,
    Column("digest", String(DIGEST_LENGTH), primary_key=True),
    Column("secret_digest", String(DIGEST_LENGTH), nullable=False),
    Column("created_at", String(INSTANT_LENGTH), nullable=False),
    Column("expires_at", String(INSTANT_LENGTH), nullable=False),
)

AUDIT: Final = Table(
    "audit",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("at", String(INSTANT_LENGTH), nullable=False),
    Column("caller", String(CALLER_LENGTH), nullable=False),
    Column("what", String(WHAT_LENGTH), nullable=False),
    Column("subject", String(SUBJECT_LENGTH), nullable=False),
    Index("ix_audit_at", "at"),
)

WATCHES: Final = Table(  # a decision that is kept under watch; `standing`: as it was last told
    "watches",
    METADATA,
    Column("watch_id", String(ID_LENGTH), primary_key=True),
    Column("decision_id", String(ID_LENGTH), nullable=False),  # the newest recorded one
    Column("flight_id", String(FLIGHT_ID_LENGTH), nullable=False),
    Column("caller", String(CALLER_LENGTH), nullable=False),
    Column("created_at", String(INSTANT_LENGTH), nullable=False),
    Column("until_at", String(INSTANT_LENGTH), nullable=False),
    Column("due_at", String(INSTANT_LENGTH)),  # when to look next; null: never, it has ended
    Column("due_because", String(WHAT_LENGTH), nullable=False),
    Column("stirred", Integer, nullable=False, server_default="0"),  # how often news came
    Column("state_patch", Text),  # of the aircraft's state, not decided yet
    Column("standing", Text, nullable=False),
    Column("looked", Integer, nullable=False, server_default="0"),
    Column("last_looked_at", String(INSTANT_LENGTH)),
    Column("failures", Integer, nullable=False, server_default="0"),  # in a row
    Column("last_failure", String(WHY_LENGTH)),
    Column("ended_at", String(INSTANT_LENGTH)),
    Column("ended_because", String(WHAT_LENGTH)),
    Column("lease_owner", String(OWNER_LENGTH)),
    Column("lease_until", String(INSTANT_LENGTH)),
    Column("webhook_url", String(URL_LENGTH)),
    Column("webhook_secret_id", String(ID_LENGTH)),
    Column("key", String(KEY_LENGTH)),  # the Idempotency-Key it was made under
    Column("request_digest", String(DIGEST_LENGTH), nullable=False),
    Index("ix_watches_due", "due_at"),
    Index("ix_watches_flight", "flight_id"),
    Index("ix_watches_key", "key", unique=True),
    Index("ix_watches_ended", "ended_at"),
)

WATCHED_PLACES: Final = Table(
    "watched_places",
    METADATA,
    Column("watch_id", String(ID_LENGTH), primary_key=True),
    Column("station", String(STATION_LENGTH), primary_key=True),
    Index("ix_watched_places_station", "station"),
)

REPORTS: Final = Table(  # each text once, whoever it came from
    "reports",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("station", String(STATION_LENGTH), nullable=False),
    Column("kind", String(STATE_LENGTH), nullable=False),
    Column("issued_at", String(INSTANT_LENGTH)),
    Column("received_at", String(INSTANT_LENGTH), nullable=False),
    Column("digest", String(DIGEST_LENGTH), nullable=False),
    Column("text", Text, nullable=False),
    Column("source", String(CALLER_LENGTH), nullable=False),
    Index("ix_reports_digest", "digest", unique=True),
    Index("ix_reports_station", "station", "received_at"),
    Index("ix_reports_received", "received_at"),
)

EVENTS: Final = Table(  # numbered from the head: the next number is seen after the one before it
    "events",
    METADATA,
    Column("sequence", Integer, primary_key=True, autoincrement=False),
    Column("event_id", String(ID_LENGTH), nullable=False),
    Column("at", String(INSTANT_LENGTH), nullable=False),
    Column("watch_id", String(ID_LENGTH), nullable=False),
    Column("flight_id", String(FLIGHT_ID_LENGTH), nullable=False),
    Column("kind", String(WHAT_LENGTH), nullable=False),
    Column("body", Text, nullable=False),
    Index("ix_events_event", "event_id", unique=True),
    Index("ix_events_watch", "watch_id", "sequence"),
    Index("ix_events_at", "at"),
)

EVENT_HEAD: Final = Table(  # one row, which whoever writes events has locked
    "event_head",
    METADATA,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("sequence", Integer, nullable=False),
)

OUTBOX: Final = Table(  # what is to be sent; with its body, since events are removed earlier
    "outbox",
    METADATA,
    Column("event_id", String(ID_LENGTH), primary_key=True),
    Column("watch_id", String(ID_LENGTH), nullable=False),
    Column("url", String(URL_LENGTH), nullable=False),
    Column("secret_id", String(ID_LENGTH), nullable=False),
    Column("body", Text, nullable=False),
    Column("urgency", Integer, nullable=False),  # 0 is sent before 1
    Column("state", String(STATE_LENGTH), nullable=False),
    Column("tries", Integer, nullable=False, server_default="0"),
    Column("first_at", String(INSTANT_LENGTH), nullable=False),
    Column("next_at", String(INSTANT_LENGTH), nullable=False),
    Column("last_at", String(INSTANT_LENGTH)),
    Column("last_status", Integer),
    Column("last_why", String(WHY_LENGTH)),
    Column("lease_owner", String(OWNER_LENGTH)),
    Column("lease_until", String(INSTANT_LENGTH)),
    Index("ix_outbox_next", "state", "urgency", "next_at"),
    Index("ix_outbox_watch", "watch_id"),
)

WEBHOOK_SECRETS: Final = Table(  # a secret has two versions while it is being changed
    "webhook_secrets",
    METADATA,
    Column("secret_id", String(ID_LENGTH), primary_key=True),
    Column("version", Integer, primary_key=True, autoincrement=False),
    Column("encrypted", Text, nullable=False),
    Column("created_at", String(INSTANT_LENGTH), nullable=False),
    Column("ends_at", String(INSTANT_LENGTH)),
    Column("revoked_at", String(INSTANT_LENGTH)),
)

REVISION_TABLE: Final = "store_revision"
"""Alembic's own, under a name of ours: the database may be another program's, too."""
