"""Decisions under watch, as callers begin, see and end them; looking at them is in `leases`."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    RowMapping,
    delete,
    func,
    insert,
    select,
    update,
)

from service.clock import rfc3339
from service.store.engines import reading, writing
from service.store.events import Webhook
from service.store.port import KeyReused
from service.store.tables import OUTBOX, WATCHED_PLACES, WATCHES
from service.store.webhook_secrets import signing_in

MOST_STATES: Final = 20  # [ASSUMED] given and not decided yet; each is looked at within seconds
DELIVERIES_TOLD: Final = 20  # [ASSUMED]


class Due(StrEnum):
    """Why a watch is due, or will be."""

    BEGUN = "begun"
    """It has just been begun, and what came since the decision is not in it."""
    REPORT = "report"
    """A report of one of its places came."""
    STATE = "state"
    """The state of the aircraft was given."""
    NEXT_LOOK = "next_look"
    """The decision said so."""
    STATE_AGES = "state_ages"
    """The state of the aircraft gets too old to be carried on."""
    VALID_UNTIL = "valid_until"
    """The decision is about to lose its validity."""
    ROUTINE = "routine"
    """It has not been looked at for as long as any may go without."""
    TRY_AGAIN = "try_again"
    """It could not be decided."""


class Ended(StrEnum):
    """Why a watch has ended."""

    DELETED = "deleted"
    UNTIL_PASSED = "until_passed"
    PURGED = "purged"
    """The decision that it began from, or its latest one, has been removed."""


class TooManyWatches(Exception):
    """As many watches are open as there may be."""


class TooManyStates(Exception):
    """As many states of the aircraft wait to be decided as may."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewWatch:
    """A watch to be begun; `standing`: how the decision stands, as JSON."""

    watch_id: str
    decision_id: str
    flight_id: str
    caller: str
    created_at: datetime
    until: datetime
    places: tuple[str, ...]
    standing: str
    request_digest: str
    webhook: Webhook | None = None
    key: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenState:
    """A merge patch of the aircraft's state, and when it was given: from then on it counts."""

    at: datetime
    patch: Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptWatch:
    """A watch as the store has it; instants as text. `stirred`: how often news came for it."""

    watch_id: str
    decision_id: str
    flight_id: str
    caller: str
    created_at: str
    until_at: str
    due_at: str | None
    due_because: str
    stirred: int
    states: tuple[GivenState, ...]
    standing: Mapping[str, Any]
    looked: int
    last_looked_at: str | None
    failures: int
    last_failure: str | None
    ended_at: str | None
    ended_because: str | None
    webhook: Webhook | None
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """What has become of an event that is sent to a webhook."""

    event_id: str
    state: str
    tries: int
    first_at: str
    next_at: str
    last_at: str | None
    last_status: int | None
    last_why: str | None


class SqlWatches:
    """Watches in a database, of both engines; every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def write(self) -> AbstractContextManager[Connection]:
        """A transaction that writes."""
        return writing(self._engine)

    def begin(self, new: NewWatch, *, most: int) -> KeptWatch:
        """Begin a watch, or hand back the one that was begun under its key before.

        Raises: TooManyWatches; KeyReused where the key belongs to another request.
        """
        with writing(self._engine) as connection:
            if new.key is not None:
                before = _by_key(connection, new.key)
                if before is not None and before["request_digest"] != new.request_digest:
                    raise KeyReused(new.key)
                if before is not None:
                    return _kept(connection, [before])[0]
            if count_open(connection) >= most:
                raise TooManyWatches
            connection.execute(insert(WATCHES).values(**_row(new)))
            connection.execute(
                insert(WATCHED_PLACES),
                [{"watch_id": new.watch_id, "station": each} for each in sorted({*new.places})],
            )
            return _require(connection, new.watch_id)

    def find(self, watch_id: str) -> KeptWatch | None:
        """The watch of that id, or None."""
        with reading(self._engine) as connection:
            return find_watch(connection, watch_id)

    def page(self, *, limit: int, after: str | None) -> list[KeptWatch]:
        """Open watches, the first begun first; those after one of an id."""
        later = () if after is None else (WATCHES.c.watch_id > after,)
        wanted = select(WATCHES).where(WATCHES.c.ended_at.is_(None), *later)
        with reading(self._engine) as connection:
            rows = connection.execute(wanted.order_by(WATCHES.c.watch_id).limit(limit)).mappings()
            return _kept(connection, rows.all())

    def of_flights(self, flights: Sequence[str]) -> list[KeptWatch]:
        """Open watches of these flights, the first begun first."""
        wanted = select(WATCHES).where(
            WATCHES.c.ended_at.is_(None), WATCHES.c.flight_id.in_(flights)
        )
        with reading(self._engine) as connection:
            rows = connection.execute(wanted.order_by(WATCHES.c.watch_id)).mappings()
            return _kept(connection, rows.all())

    def end(self, watch_id: str, because: Ended, *, at: datetime) -> bool:
        """End a watch; whether there was one that had not ended."""
        with writing(self._engine) as connection:
            return end_watch(connection, watch_id, because, at=at)

    def give_state(self, watch_id: str, patch: Mapping[str, Any], *, at: datetime) -> bool:
        """Keep a state to be decided, and make the watch due; whether it is open.

        Raises: TooManyStates.
        """
        with writing(self._engine) as connection:
            row = connection.execute(
                select(WATCHES.c.state_patch, WATCHES.c.due_at)
                .where(WATCHES.c.watch_id == watch_id, WATCHES.c.ended_at.is_(None))
                .with_for_update()
            ).first()
            if row is None:
                return False
            states = states_of(row.state_patch)
            if len(states) >= MOST_STATES:
                raise TooManyStates
            connection.execute(
                update(WATCHES)
                .where(WATCHES.c.watch_id == watch_id)
                .values(
                    state_patch=states_text([*states, GivenState(at=at, patch=patch)]),
                    due_at=min(row.due_at or rfc3339(at), rfc3339(at)),
                    due_because=Due.STATE.value,
                    stirred=WATCHES.c.stirred + 1,
                )
            )
        return True

    def can_sign(self, secret_id: str, *, at: datetime) -> bool:
        """Whether there is a secret of that id, for what is sent to webhooks."""
        with reading(self._engine) as connection:
            return bool(signing_in(connection, (secret_id,), at=at))

    def deliveries(self, watch_id: str) -> list[Delivery]:
        """What was or is to be sent of a watch, the newest first."""
        columns = [OUTBOX.c[name] for name in Delivery.__slots__]
        wanted = (
            select(*columns)
            .where(OUTBOX.c.watch_id == watch_id)
            .order_by(OUTBOX.c.first_at.desc(), OUTBOX.c.event_id.desc())
            .limit(DELIVERIES_TOLD)
        )
        with reading(self._engine) as connection:
            return [Delivery(**row) for row in connection.execute(wanted).mappings()]


def count_open(connection: Connection) -> int:
    """How many watches are open."""
    wanted = select(func.count()).select_from(WATCHES).where(WATCHES.c.ended_at.is_(None))
    return connection.scalar(wanted) or 0


def find_watch(connection: Connection, watch_id: str) -> KeptWatch | None:
    """The watch of that id, or None."""
    return next(iter(watches_in(connection, (watch_id,))), None)


def watches_in(
    connection: Connection, ids: Sequence[str], *where: ColumnElement[bool], locked: bool = False
) -> list[KeptWatch]:
    """The watches of some ids that there are, in the order of their ids."""
    wanted = select(WATCHES).where(WATCHES.c.watch_id.in_(ids), *where).order_by(WATCHES.c.watch_id)
    rows = connection.execute(wanted.with_for_update() if locked else wanted).mappings()
    return _kept(connection, rows.all())


def end_watch(connection: Connection, watch_id: str, because: Ended, *, at: datetime) -> bool:
    """End a watch; whether there was one that had not ended."""
    ended = connection.execute(
        update(WATCHES)
        .where(WATCHES.c.watch_id == watch_id, WATCHES.c.ended_at.is_(None))
        .values(
            due_at=None,
            ended_at=rfc3339(at),
            ended_because=because.value,
            lease_owner=None,
            lease_until=None,
        )
    )
    return ended.rowcount == 1


def end_passed(connection: Connection, *, at: datetime) -> int:
    """End the watches whose time is over; how many."""
    wanted = select(WATCHES.c.watch_id).where(
        WATCHES.c.ended_at.is_(None), WATCHES.c.until_at <= rfc3339(at)
    )
    ids = sorted(connection.scalars(wanted))
    return sum(end_watch(connection, each, Ended.UNTIL_PASSED, at=at) for each in ids)


def remove_ended(connection: Connection, *, before: datetime) -> int:
    """Forget watches that ended before an instant; how many."""
    old = select(WATCHES.c.watch_id).where(WATCHES.c.ended_at < rfc3339(before))
    connection.execute(delete(WATCHED_PLACES).where(WATCHED_PLACES.c.watch_id.in_(old)))
    return connection.execute(delete(WATCHES).where(WATCHES.c.ended_at < rfc3339(before))).rowcount


def states_of(text: str | None) -> tuple[GivenState, ...]:
    """States that wait, as they are kept."""
    return tuple(
        GivenState(at=datetime.fromisoformat(each["at"]), patch=each["patch"])
        for each in json.loads(text or "[]")
    )


def states_text(states: Iterable[GivenState]) -> str | None:
    """The same as text; None of none."""
    told = [{"at": rfc3339(each.at), "patch": each.patch} for each in states]
    return json.dumps(told, separators=(",", ":")) if told else None


def _by_key(connection: Connection, key: str) -> RowMapping | None:
    return connection.execute(select(WATCHES).where(WATCHES.c.key == key)).mappings().first()


def _require(connection: Connection, watch_id: str) -> KeptWatch:
    found = find_watch(connection, watch_id)
    assert found is not None  # noqa: S101 - written in this transaction
    return found


def _row(new: NewWatch) -> dict[str, object]:
    webhook = new.webhook
    return {
        "watch_id": new.watch_id,
        "decision_id": new.decision_id,
        "flight_id": new.flight_id,
        "caller": new.caller,
        "created_at": rfc3339(new.created_at),
        "until_at": rfc3339(new.until),
        "due_at": rfc3339(new.created_at),
        "due_because": Due.BEGUN.value,
        "standing": new.standing,
        "webhook_url": None if webhook is None else webhook.url,
        "webhook_secret_id": None if webhook is None else webhook.secret_id,
        "key": new.key,
        "request_digest": new.request_digest,
    }


NAMED: Final = tuple(
    name for name in KeptWatch.__slots__ if name not in {"states", "standing", "webhook", "places"}
)


def _kept(connection: Connection, rows: Sequence[RowMapping]) -> list[KeptWatch]:
    places: dict[str, list[str]] = {row["watch_id"]: [] for row in rows}
    found = connection.execute(
        select(WATCHED_PLACES)
        .where(WATCHED_PLACES.c.watch_id.in_(list(places)))
        .order_by(WATCHED_PLACES.c.station)
    )
    for each in found:
        places[each.watch_id].append(each.station)
    return [_watch(row, tuple(places[row["watch_id"]])) for row in rows]


def _watch(row: RowMapping, places: tuple[str, ...]) -> KeptWatch:
    url, secret_id = row["webhook_url"], row["webhook_secret_id"]
    return KeptWatch(
        **{name: row[name] for name in NAMED},
        states=states_of(row["state_patch"]),
        standing=json.loads(row["standing"]),
        webhook=None if url is None else Webhook(url=url, secret_id=secret_id),
        places=places,
    )
