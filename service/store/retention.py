"""Removing what is older than it has to be kept.

Bodies go, links stay: the chain still says that a decision was recorded, when, and what its digests
were. A removal is a record of the chain itself.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Connection, delete, select

from service.clock import rfc3339
from service.store.chain import ChainEntry, Sign, appended
from service.store.port import digest
from service.store.tables import DECISIONS, KEYS


def remove_decisions(
    connection: Connection, *, before: datetime, at: datetime, sign: Sign | None = None
) -> int:
    """Remove the bodies of what was recorded before an instant; how many. None: no record of it."""
    until = rfc3339(before)
    older = DECISIONS.c.created_at < until
    ids = list(
        connection.scalars(
            select(DECISIONS.c.decision_id).where(older).order_by(DECISIONS.c.decision_id)
        )
    )
    if not ids:
        return 0
    appended(
        connection,
        ChainEntry(
            decision_id=None,
            request_digest=digest("\n".join(ids).encode()),
            response_digest="",
            whole_digest=None,
            caller="",
            at=rfc3339(at),
            purged_before=until,
        ),
        sign=sign,
    )
    connection.execute(delete(DECISIONS).where(older))
    return len(ids)


def remove_keys(connection: Connection, *, before: datetime) -> int:
    """Forget keys that were claimed before an instant; how many."""
    return connection.execute(delete(KEYS).where(KEYS.c.reserved_at < rfc3339(before))).rowcount
