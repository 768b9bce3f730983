"""The audit log: who did what, and when. Entries are added, and removed when old; never changed.

That something was recorded is written in the transaction that records it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sqlalchemy import Connection, delete, insert, select

from service.clock import rfc3339
from service.store.tables import AUDIT, SUBJECT_LENGTH


class Deed(StrEnum):
    """What can be done that is written down."""

    RECORDED = "recorded"
    """A decision was recorded; the subject is its id."""
    CREATED_KEY = "created_key"
    """A key was made; the subject is its identifier, as of the next two."""
    ROTATED_KEY = "rotated_key"
    """A key was given another secret."""
    REVOKED_KEY = "revoked_key"
    """A key was taken back."""
    SIGNED_IN = "signed_in"
    """A browser changed a key for a session; the subject is the identifier."""
    REFUSED = "refused"
    """A caller was turned away (401, 403); the subject is the status, the method and the route."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that was done; `caller` is empty where nobody knows who it was."""

    at: datetime
    caller: str
    what: Deed
    subject: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptEvent:
    """An event as it is read back."""

    id: int
    at: str
    caller: str
    what: str
    subject: str


def noted(connection: Connection, event: Event) -> None:
    """Put an event at the end."""
    connection.execute(
        insert(AUDIT).values(
            at=rfc3339(event.at),
            caller=event.caller,
            what=event.what.value,
            subject=event.subject[:SUBJECT_LENGTH],
        )
    )


def events(connection: Connection, *, limit: int, before: int | None) -> list[KeptEvent]:
    """The newest events, the last first; only those before the one of the id `before`."""
    older = () if before is None else (AUDIT.c.id < before,)
    wanted = select(AUDIT).where(*older).order_by(AUDIT.c.id.desc()).limit(limit)
    return [KeptEvent(**row) for row in connection.execute(wanted).mappings()]


def remove_events(connection: Connection, *, before: datetime) -> int:
    """Remove what was done before an instant; how many events."""
    return connection.execute(delete(AUDIT).where(AUDIT.c.at < rfc3339(before))).rowcount
