"""Events as they are read: by their numbers, and how watches stand where some are missing."""

from __future__ import annotations

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import Connection, Engine, delete, func, or_, select

from service.clock import rfc3339
from service.store.engines import reading
from service.store.events import THE_HEAD
from service.store.port import StoreDamaged
from service.store.tables import EVENT_HEAD, EVENTS, WATCHES

EVENTS_KEPT: Final = timedelta(hours=24)
"""For whoever comes back; what is sent to webhooks is seen for as long after it has ended."""
_READ: Final = (
    EVENTS.c.sequence,
    EVENTS.c.watch_id,
    EVENTS.c.flight_id,
    EVENTS.c.kind,
    EVENTS.c.body,
)
_STANDING: Final = (
    WATCHES.c.watch_id,
    WATCHES.c.flight_id,
    WATCHES.c.decision_id,
    WATCHES.c.until_at,
    WATCHES.c.last_looked_at,
    WATCHES.c.ended_at,
    WATCHES.c.ended_because,
    WATCHES.c.standing,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchEvent:
    """An event as it was written; `body` is its JSON."""

    sequence: int
    watch_id: str
    flight_id: str
    kind: str
    body: str


class SqlJournal:
    """The events of a database; every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def head(self) -> int:
        """The number of the last event; 0: there was none yet."""
        with reading(self._engine) as connection:
            return _head(connection)

    def after(self, sequence: int, *, limit: int) -> Sequence[WatchEvent]:
        """The first events behind a number, in order."""
        wanted = select(*_READ).where(EVENTS.c.sequence > sequence)
        with reading(self._engine) as connection:
            found = connection.execute(wanted.order_by(EVENTS.c.sequence).limit(limit)).mappings()
            return [WatchEvent(**row) for row in found]

    def keeps_after(self, sequence: int) -> bool:
        """Whether every event behind a number, up to the last, is still there.

        No event has a number above the last one's: who says so was told by another store.
        """
        oldest = select(EVENTS.c.sequence).order_by(EVENTS.c.sequence).limit(1)
        with reading(self._engine) as connection:
            head = _head(connection)
            if sequence >= head:
                return sequence == head
            first: int | None = connection.scalar(oldest)
        return first is not None and first <= sequence + 1

    def present(self, *, flights: Collection[str], watches: Collection[str]) -> tuple[int, str]:
        """A number, and how watches stand, as JSON; of what is in that, no event is behind it.

        Of no flights and no watches: all that are open. Those that are named are told, too, when
        they have ended.
        """
        named = or_(WATCHES.c.flight_id.in_(flights), WATCHES.c.watch_id.in_(watches))
        which = named if flights or watches else WATCHES.c.ended_at.is_(None)
        with reading(self._engine) as connection:
            # The number first: what comes between the two is told twice, and not left out.
            head = _head(connection)
            rows = connection.execute(
                select(*_STANDING).where(which).order_by(WATCHES.c.watch_id)
            ).mappings()
            told = [{**row, "standing": json.loads(row["standing"])} for row in rows]
        return head, json.dumps({"watches": told}, separators=(",", ":"))


def remove_watch_events(connection: Connection, *, before: datetime) -> int:
    """Remove what happened before an instant; how many events.

    Only up to the first that did not: clocks of several machines differ, and a hole would not be
    noticed by who comes back.
    """
    kept = select(func.min(EVENTS.c.sequence)).where(EVENTS.c.at >= rfc3339(before))
    first: int | None = connection.scalar(kept)
    old = () if first is None else (EVENTS.c.sequence < first,)
    return connection.execute(delete(EVENTS).where(*old)).rowcount


def _head(connection: Connection) -> int:
    found: int | None = connection.scalar(
        select(EVENT_HEAD.c.sequence).where(EVENT_HEAD.c.id == THE_HEAD)
    )
    if found is None:
        raise StoreDamaged("the events have no head")
    return found
