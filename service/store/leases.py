"""Watches that are due, shared out among those who look at them, and what came of a look.

Whoever claims a watch has it for a while. A process that is known to be dead has nothing any more;
of one that nobody can say that of, the lease runs out. What a look has come to is written only by
who still has the watch: decision, event, what is to be sent and the watch's new state together.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    bindparam,
    func,
    or_,
    select,
    update,
)

from service.clock import rfc3339
from service.store.chain import Sign
from service.store.engines import reading, writing
from service.store.events import NewEvent, write_events
from service.store.owners import Owners
from service.store.port import Purged, StoreDamaged, StoredDecision
from service.store.reports import texts_for
from service.store.sql import Packed, put, told_in
from service.store.tables import WATCHES, WHY_LENGTH
from service.store.watching import Due, Ended, KeptWatch, states_of, states_text, watches_in

LEASE: Final = timedelta(seconds=30)
LOOK_BACK: Final = timedelta(hours=1)
"""[ASSUMED] How long before a decision was recorded reports may have come that are not in it."""
MOST_REPORTS: Final = 200  # [ASSUMED] that a look is given, the newest


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """A watch to be looked at: its latest decision, and the reports that have come since.

    `told` None: that decision cannot be had, and why (`ended`: it never will be).
    """

    watch: KeptWatch
    told: StoredDecision | None
    reports: tuple[str, ...] = ()
    why: str = ""
    ended: Ended | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled:
    """What a look has come to. `seen`: the news that it knew of; of later news it stays due.

    `decisions`: to be recorded, the last one is the watch's from now on. `standing`: as it is told
    from now on; None: as before. `states_done`: how many of the states that waited are decided.
    """

    watch_id: str
    seen: int
    at: datetime
    due_at: datetime
    due_because: Due
    states_done: int = 0
    decisions: tuple[Packed, ...] = ()
    standing: str | None = None
    event: NewEvent | None = None
    failure: str | None = None
    ended: Ended | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Backlog:
    """How much there is to look at: open watches, those due, and since when the first of them."""

    open: int
    due: int
    first_due_at: str | None


def claim(
    engine: Engine,
    owners: Owners,
    *,
    owner: str,
    at: datetime,
    limit: int,
    held: Collection[str] = (),
) -> list[str]:
    """Have watches that are due and that nobody has; the longest due first.

    `held`: what the owner has already and works on. Raises: StoreUnavailable.
    """
    due = (WATCHES.c.ended_at.is_(None), WATCHES.c.due_at <= rfc3339(at))
    with reading(engine) as connection:
        if connection.scalar(select(WATCHES.c.watch_id).where(*due).limit(1)) is None:
            return []
    with writing(engine) as connection:
        free = _free(connection, owners, owner=owner, at=at, due=due)
        wanted = (
            select(WATCHES.c.watch_id)
            .where(*due, free, WATCHES.c.watch_id.not_in(list(held)))
            .order_by(WATCHES.c.due_at, WATCHES.c.watch_id)
            .limit(limit)
            .with_for_update(skip_locked=True)
        )
        ids = list(connection.scalars(wanted))
        if ids:
            connection.execute(
                update(WATCHES)
                .where(WATCHES.c.watch_id.in_(ids))
                .values(lease_owner=owner, lease_until=rfc3339(at + LEASE))
            )
    return ids


def _free(
    connection: Connection,
    owners: Owners,
    *,
    owner: str,
    at: datetime,
    due: Sequence[ColumnElement[bool]],
) -> ColumnElement[bool]:
    """That nobody has a watch who could still be at it."""
    leased = (WATCHES.c.lease_owner.is_not(None), WATCHES.c.lease_until > rfc3339(at))
    others = connection.scalars(select(WATCHES.c.lease_owner).where(*due, *leased).distinct())
    gone = [each for each in others.all() if each == owner or owners.is_dead(each, connection)]
    return or_(
        WATCHES.c.lease_owner.is_(None),
        WATCHES.c.lease_until <= rfc3339(at),
        WATCHES.c.lease_owner.in_(gone),
    )


def claimed(engine: Engine, ids: Sequence[str], *, owner: str) -> list[Claimed]:
    """What is to be looked at, of the watches that the owner still has. Raises: StoreUnavailable.

    The watch is read before the reports: of a report that comes in between, too much is looked at
    and not too little.
    """
    held = (WATCHES.c.lease_owner == owner, WATCHES.c.ended_at.is_(None))
    with reading(engine) as connection:
        return [_claimed(connection, each) for each in watches_in(connection, ids, *held)]


def _claimed(connection: Connection, watch: KeptWatch) -> Claimed:
    try:
        told = told_in(connection, watch.decision_id)
    except Purged:
        why = "the decision under watch has been removed"
        return Claimed(watch=watch, told=None, why=why, ended=Ended.PURGED)
    except StoreDamaged as error:
        return Claimed(watch=watch, told=None, why=str(error))
    if told is None:
        return Claimed(watch=watch, told=None, why="the decision under watch is not in the store")
    since = datetime.fromisoformat(told.created_at) - LOOK_BACK
    reports = texts_for(connection, watch.places, since=since, most=MOST_REPORTS)
    return Claimed(watch=watch, told=told, reports=tuple(reports))


def settle(
    engine: Engine, settled: Sequence[Settled], *, owner: str, sign: Sign | None
) -> frozenset[str]:
    """Write what looks have come to, in one transaction; the ids of the watches it was written of.

    Of a watch that the owner has no more, or that has ended, nothing is written.
    Raises: StoreUnavailable.
    """
    by_id = {each.watch_id: each for each in settled}
    held = (
        WATCHES.c.watch_id.in_(list(by_id)),
        WATCHES.c.lease_owner == owner,
        WATCHES.c.ended_at.is_(None),
    )
    wanted = select(WATCHES).where(*held).order_by(WATCHES.c.watch_id).with_for_update()
    with writing(engine) as connection:
        rows = connection.execute(wanted).mappings().all()
        mine = [by_id[row["watch_id"]] for row in rows]
        if mine:
            changes = [_change(row, each) for row, each in zip(rows, mine, strict=True)]
            connection.execute(CHANGED, changes)
        put(connection, [each for one in mine for each in one.decisions], sign=sign)
        events = [each.event for each in mine if each.event is not None]
        if events:
            write_events(connection, events)
    return frozenset(each.watch_id for each in mine)


WRITTEN: Final = (
    "decision_id",
    "due_at",
    "due_because",
    "state_patch",
    "standing",
    "looked",
    "last_looked_at",
    "failures",
    "last_failure",
    "ended_at",
    "ended_because",
)
CHANGED: Final = (
    update(WATCHES)
    .where(WATCHES.c.watch_id == bindparam("of_watch"))
    .values(
        lease_owner=None,
        lease_until=None,
        **{name: bindparam(f"new_{name}") for name in WRITTEN},
    )
)


def _change(row: Mapping[Any, Any], settled: Settled) -> dict[str, object]:
    at, failed, ended = rfc3339(settled.at), settled.failure is not None, settled.ended
    due_at: str | None = rfc3339(settled.due_at)
    because = settled.due_because.value
    if row["stirred"] != settled.seen:  # what came in the meantime is to be looked at, too
        due_at, because = row["due_at"], row["due_because"]
    written = {
        "decision_id": settled.decisions[-1].draft.decision_id
        if settled.decisions
        else row["decision_id"],
        "due_at": None if ended else due_at,
        "due_because": because,
        "state_patch": states_text(states_of(row["state_patch"])[settled.states_done :]),
        "standing": row["standing"] if settled.standing is None else settled.standing,
        "looked": row["looked"] + 1,
        "last_looked_at": at,
        "failures": row["failures"] + 1 if failed else 0,
        "last_failure": None if settled.failure is None else settled.failure[:WHY_LENGTH],
        "ended_at": at if ended else None,
        "ended_because": None if ended is None else ended.value,
    }
    return {"of_watch": row["watch_id"], **{f"new_{name}": written[name] for name in WRITTEN}}


def release(engine: Engine, ids: Sequence[str], *, owner: str) -> None:
    """Give watches back that were claimed. Raises: StoreUnavailable."""
    with writing(engine) as connection:
        connection.execute(
            update(WATCHES)
            .where(WATCHES.c.watch_id.in_(list(ids)), WATCHES.c.lease_owner == owner)
            .values(lease_owner=None, lease_until=None)
        )


def backlog(connection: Connection, *, at: datetime) -> Backlog:
    """How much there is to look at."""
    open_ones = WATCHES.c.ended_at.is_(None)
    due = (open_ones, WATCHES.c.due_at <= rfc3339(at))
    count, first = connection.execute(
        select(func.count(), func.min(WATCHES.c.due_at)).where(*due)
    ).one()
    total = connection.scalar(select(func.count()).select_from(WATCHES).where(open_ones)) or 0
    return Backlog(open=total, due=count, first_due_at=first)
