"""What is to be sent, shared out among those who send, and what came of each try.

Whoever claims a row has it for a while, as with watches. What came of a try is written only by who
still has the row; a row that two have sent is sent twice, with the same id and the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    bindparam,
    delete,
    func,
    or_,
    select,
    update,
)

from service.clock import rfc3339
from service.store.engines import reading, writing
from service.store.events import Sending
from service.store.owners import Owners
from service.store.tables import OUTBOX, WHY_LENGTH

LEASE: Final = timedelta(seconds=30)
LOOKED_AT: Final = 1_000  # [ASSUMED] rows that are due, from which those to be sent are chosen
_WAITING: Final = OUTBOX.c.state == Sending.WAITING.value
_SENT_FIRST: Final = (OUTBOX.c.urgency, OUTBOX.c.next_at, OUTBOX.c.event_id)
_TO_SEND: Final = (
    OUTBOX.c.event_id,
    OUTBOX.c.url,
    OUTBOX.c.secret_id,
    OUTBOX.c.body,
    OUTBOX.c.tries,
    OUTBOX.c.first_at,
)
OVERDUE: Final = "nobody sent it in time"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToSend:
    """A row that was claimed; `tries`: those before."""

    event_id: str
    url: str
    secret_id: str
    body: str
    tries: int
    first_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SendingDone:
    """What came of a try, and what is done next."""

    event_id: str
    state: Sending
    tries: int
    at: datetime
    next_at: datetime
    status: int | None
    why: str | None


Choose = Callable[[Sequence[tuple[str, str]]], Collection[str]]
"""Of ids and addresses that are due, the first to be sent first, the ids that are claimed."""


class SqlOutbox:
    """The outbox of a database; every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine, owners: Owners) -> None:
        self._engine, self._owners = engine, owners

    def is_due(self, *, at: datetime) -> bool:
        """Whether a row is due, had by somebody or not."""
        with reading(self._engine) as connection:
            wanted = select(OUTBOX.c.event_id).where(*_due(at)).limit(1)
            return connection.scalar(wanted) is not None

    def exchange(
        self,
        done: Sequence[SendingDone],
        *,
        owner: str,
        at: datetime,
        held: Collection[str],
        choose: Choose,
    ) -> list[ToSend]:
        """Write what came of tries, and claim rows that are due and that nobody has.

        `held`: what the owner has and works on, of which `done` is no part.
        """
        with writing(self._engine) as connection:
            _settle(connection, done, owner=owner)
            free = self._free(connection, owner=owner, at=at, held=held)
            due = (
                select(OUTBOX.c.event_id, OUTBOX.c.url)
                .where(*_due(at), free)
                .order_by(*_SENT_FIRST)
                .limit(LOOKED_AT)
                .with_for_update(skip_locked=True)
            )
            ids = list(choose([(row.event_id, row.url) for row in connection.execute(due)]))
            if not ids:
                return []
            mine = OUTBOX.c.event_id.in_(ids)
            connection.execute(
                update(OUTBOX)
                .where(mine)
                .values(lease_owner=owner, lease_until=rfc3339(at + LEASE))
            )
            rows = connection.execute(select(*_TO_SEND).where(mine).order_by(*_SENT_FIRST))
            return [ToSend(**row) for row in rows.mappings()]

    def release(self, done: Sequence[SendingDone], *, owner: str) -> None:
        """Write what came of tries, and give everything back that an owner has."""
        with writing(self._engine) as connection:
            _settle(connection, done, owner=owner)
            connection.execute(
                update(OUTBOX)
                .where(_WAITING, OUTBOX.c.lease_owner == owner)
                .values(lease_owner=None, lease_until=None)
            )

    def count(self) -> Mapping[Sending, int]:
        """How many rows there are in each state."""
        wanted = select(OUTBOX.c.state, func.count().label("number")).group_by(OUTBOX.c.state)
        with reading(self._engine) as connection:
            found = {row.state: row.number for row in connection.execute(wanted)}
        return {each: found.get(each.value, 0) for each in Sending}

    def _free(
        self, connection: Connection, *, owner: str, at: datetime, held: Collection[str]
    ) -> ColumnElement[bool]:
        """That nobody has a row who could still be at it."""
        leased = (OUTBOX.c.lease_owner.is_not(None), OUTBOX.c.lease_until > rfc3339(at))
        others = connection.scalars(
            select(OUTBOX.c.lease_owner).where(_WAITING, *leased).distinct()
        )
        gone = [
            each for each in others.all() if each == owner or self._owners.is_dead(each, connection)
        ]
        unheld = or_(
            OUTBOX.c.lease_owner.is_(None),
            OUTBOX.c.lease_until <= rfc3339(at),
            OUTBOX.c.lease_owner.in_(gone),
        )
        return unheld & OUTBOX.c.event_id.not_in(list(held))


def remove_sent(connection: Connection, *, before: datetime, at: datetime) -> int:
    """Forget what was sent or has failed, of events before an instant; how many rows.

    What still waits from before then was given up by everybody: it has failed, and is seen so for
    as long again.
    """
    old, ended = rfc3339(before), OUTBOX.c.state != Sending.WAITING.value
    removed = connection.execute(
        delete(OUTBOX).where(ended, func.coalesce(OUTBOX.c.last_at, OUTBOX.c.first_at) < old)
    ).rowcount
    connection.execute(
        update(OUTBOX)
        .where(_WAITING, OUTBOX.c.first_at < old, OUTBOX.c.next_at < old)
        .values(
            state=Sending.FAILED.value,
            last_at=rfc3339(at),
            last_why=func.coalesce(OUTBOX.c.last_why, OVERDUE),
            lease_owner=None,
            lease_until=None,
        )
    )
    return removed


def _due(at: datetime) -> tuple[ColumnElement[bool], ColumnElement[bool]]:
    return _WAITING, OUTBOX.c.next_at <= rfc3339(at)


_SETTLED: Final = (
    update(OUTBOX)
    .where(
        OUTBOX.c.event_id == bindparam("of_event"),
        OUTBOX.c.lease_owner == bindparam("of_owner"),
    )
    .values(
        state=bindparam("new_state"),
        tries=bindparam("new_tries"),
        next_at=bindparam("new_next_at"),
        last_at=bindparam("new_last_at"),
        last_status=bindparam("new_last_status"),
        last_why=bindparam("new_last_why"),
        lease_owner=None,
        lease_until=None,
    )
)


def _settle(connection: Connection, done: Sequence[SendingDone], *, owner: str) -> None:
    rows = [
        {
            "of_event": each.event_id,
            "of_owner": owner,
            "new_state": each.state.value,
            "new_tries": each.tries,
            "new_next_at": rfc3339(each.next_at),
            "new_last_at": rfc3339(each.at),
            "new_last_status": each.status,
            "new_last_why": None if each.why is None else each.why[:WHY_LENGTH],
        }
        for each in done
    ]
    if rows:
        connection.execute(_SETTLED, rows)
