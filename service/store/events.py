"""Events of watches, in the order in which they were committed, and what is to be sent of them.

The number of an event comes from one row that its writer has locked until it commits. So whoever
has read up to a number has missed none before it: a number that the database gives out by itself
can become visible after a later one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import IntEnum, StrEnum
from typing import Final

from sqlalchemy import Connection, insert, select, update

from service.clock import rfc3339
from service.store.port import StoreDamaged
from service.store.tables import EVENT_HEAD, EVENTS, OUTBOX

THE_HEAD: Final = 1
"""The key of the only row of its table."""
MOST_EVENT_BYTES: Final = 16_384  # [ASSUMED] of a body; the largest seen has a fifth of it


class Sending(StrEnum):
    """What has become of a row of the outbox."""

    WAITING = "waiting"
    SENT = "sent"
    FAILED = "failed"


class SendFirst(IntEnum):
    """Which of the rows that are due are sent first: those of the lower number."""

    WORSE = 0
    OTHER = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class Webhook:
    """Where to send, and the secret to sign with."""

    url: str
    secret_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """An event about to be written. `body`: its JSON, the same for everybody who gets it."""

    event_id: str
    at: datetime
    watch_id: str
    flight_id: str
    kind: str
    body: str
    urgency: SendFirst
    webhook: Webhook | None = None


def write_events(connection: Connection, events: Sequence[NewEvent]) -> int:
    """Number events, and put those into the outbox that have a webhook; the last number.

    Waits for whoever is at it; the number is locked until the transaction ends.
    Raises: ValueError if a body is too large; StoreDamaged without a head.
    """
    for each in events:
        if len(each.body.encode()) > MOST_EVENT_BYTES:
            raise ValueError(f"the body of event {each.event_id} has more than {MOST_EVENT_BYTES}")
    wanted = select(EVENT_HEAD.c.sequence).where(EVENT_HEAD.c.id == THE_HEAD).with_for_update()
    before: int | None = connection.scalar(wanted)
    if before is None:
        raise StoreDamaged("the events have no head")
    if not events:
        return before
    rows = [_event_row(each, before + number) for number, each in enumerate(events, 1)]
    connection.execute(insert(EVENTS), rows)
    connection.execute(update(EVENT_HEAD).values(sequence=before + len(events)))
    to_send = [_outbox_row(each, each.webhook) for each in events if each.webhook is not None]
    if to_send:
        connection.execute(insert(OUTBOX), to_send)
    return before + len(events)


def _event_row(event: NewEvent, sequence: int) -> dict[str, object]:
    return {
        "sequence": sequence,
        "event_id": event.event_id,
        "at": rfc3339(event.at),
        "watch_id": event.watch_id,
        "flight_id": event.flight_id,
        "kind": event.kind,
        "body": event.body,
    }


def _outbox_row(event: NewEvent, webhook: Webhook) -> dict[str, object]:
    return {
        "event_id": event.event_id,
        "watch_id": event.watch_id,
        "url": webhook.url,
        "secret_id": webhook.secret_id,
        "body": event.body,
        "urgency": event.urgency.value,
        "state": Sending.WAITING.value,
        "first_at": rfc3339(event.at),
        "next_at": rfc3339(event.at),
    }
