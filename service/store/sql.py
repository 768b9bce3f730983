"""The decision log on a relational database; one code path for SQLite and PostgreSQL."""

from __future__ import annotations

import os
import threading
import time
import zlib
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Self

from sqlalchemy import (
    ColumnElement,
    Connection,
    Engine,
    RowMapping,
    Select,
    func,
    insert,
    select,
    update,
)

from service.clock import rfc3339, utc_now
from service.store.audit import Deed, Event, noted
from service.store.chain import ChainEntry, Sign, all_appended, signing_with
from service.store.engines import engine_for, reading, writing
from service.store.keys import Keys
from service.store.owners import owners_for
from service.store.port import (
    DamagedDecision,
    Draft,
    Kept,
    Purged,
    Record,
    Replay,
    Reservation,
    StoreDamaged,
    StoredDecision,
    digest,
)
from service.store.tables import CHAIN, DECISIONS, PROBE
from service.store.upkeep import bring_up_to_date, require_present_form

ZLIB: Final = "zlib"
LEVEL: Final = 6
"""Answers of the demo: 8.5 % of their bytes; level 1 leaves 13 %, level 9 8.3 % in 1.4 times."""
IN_HASTE: Final = 1
"""In half of the time of `LEVEL`, where many decisions are waited for."""
LISTED: Final = [each for each in DECISIONS.c if each.name != "whole"]
DIGESTS: Final = {
    "request": CHAIN.c.request_digest.label("linked_request_digest"),
    "response": CHAIN.c.response_digest.label("linked_response_digest"),
    "whole": CHAIN.c.whole_digest.label("linked_whole_digest"),
}
READ_AT_ONCE: Final = 500  # rows
PROBED_EVERY_S: Final = 5.0
PROBE_BYTES: Final = 65_536  # more than the pages that a decision of ordinary size takes (41 kB)


class SqlDecisionLog:
    """A DecisionLog in a database; safe to share between threads, across a fork only unused."""

    def __init__(self, engine: Engine, *, signing_key: str | None = None) -> None:
        self._engine = engine
        self._owners = owners_for(engine)
        self._keys = Keys(engine=engine, owners=self._owners, find=_find)
        self._sign: Sign | None = signing_with(signing_key)
        self._probed: tuple[float, Exception | None] | None = None
        self._probing = threading.Lock()

    @classmethod
    def open(cls, address: str, *, timeout_s: int, signing_key: str | None = None) -> Self:
        """A log at an address, its tables made, or brought to the present form, if need be.

        Raises: StoreUnavailable, StoreNotUnderstood if it was made by a newer version.
        """
        bring_up_to_date(address, timeout_s=timeout_s)
        return cls(engine_for(address, timeout_s=timeout_s), signing_key=signing_key)

    def close(self) -> None:
        """Close every pooled connection."""
        self._owners.close()
        self._engine.dispose()

    def reserve(
        self, *, key: str, request: bytes, decision_id: str, at: datetime
    ) -> Reservation | Replay:
        """Claim a key for a body, or hand back what was recorded under it."""
        return self._keys.reserve(key=key, request=request, decision_id=decision_id, at=at)

    def release(self, reservation: Reservation) -> None:
        """Give a key back, unless it has been taken over."""
        self._keys.release(reservation)

    def record(self, draft: Draft, reservation: Reservation | None = None) -> Record:
        """Append a decision and its link, in one transaction with its key."""
        packed = packed_for(draft)  # before anybody has to wait
        with self._write() as connection:
            if reservation is not None:
                self._keys.confirm(connection, reservation)
            put(connection, (packed,), sign=self._sign)
        if reservation is not None:
            self._keys.end(reservation)
        return Record(
            decision_id=draft.decision_id,
            response=draft.response,
            digest=str(packed.row["response_digest"]),
            format=draft.format,
        )

    def find(self, decision_id: str) -> Record | None:
        """The decision of that identifier, or None. Raises: StoreDamaged, Purged."""
        with self._read() as connection:
            return _find(connection, decision_id)

    def of_flight(self, flight_id: str, *, limit: int, before: str | None = None) -> list[Kept]:
        """The newest decisions of a flight, in the order in which they were recorded."""
        older = (
            () if before is None else (CHAIN.c.sequence < _sequence_of(before).scalar_subquery(),)
        )
        wanted = (
            _chained(*LISTED)
            .where(DECISIONS.c.flight_id == flight_id, *older)
            .order_by(CHAIN.c.sequence.desc())
            .limit(limit)
        )
        with self._read() as connection:
            return [_kept(row) for row in connection.execute(wanted).mappings()]

    def latest(
        self, first: str, *, since: datetime, verdict: str | None, limit: int, most: int
    ) -> dict[str, list[Kept]]:
        """The newest decisions of each flight; the first id spares the look at all before it."""
        found: dict[str, list[Kept]] = {}
        with self._read() as connection:
            newest = _newest(connection, first, since=since, verdict=verdict, limit=limit)
            for row in connection.execute(_and_before(newest, most=most)).mappings():
                found.setdefault(row["flight_id"], []).append(_kept(row))
        return found

    def count(self) -> int:
        """How many decisions are recorded."""
        with self._read() as connection:
            return connection.scalar(select(func.count()).select_from(DECISIONS)) or 0

    def told(self, decision_id: str) -> StoredDecision | None:
        """The decision of that identifier with all that is kept of it. Raises: StoreDamaged."""
        with self._read() as connection:
            return told_in(connection, decision_id)

    def check(self) -> None:
        """Return if the store answers, is of this version and takes what is written.

        Writing is tried at most once in five seconds; in between the last outcome holds.
        """
        with self._read() as connection:
            require_present_form(connection)
        with self._probing:
            now_s = time.monotonic()
            if self._probed is None or now_s - self._probed[0] >= PROBED_EVERY_S:
                self._probed = now_s, self._failure_of_writing()
            _, failure = self._probed
        if failure is not None:
            raise failure

    def _failure_of_writing(self) -> Exception | None:
        filling = os.urandom(PROBE_BYTES)  # SQLite writes no page that would stay as it is
        try:
            with self._write() as connection:
                connection.execute(update(PROBE).values(at=rfc3339(utc_now()), filling=filling))
        except Exception as error:  # kept until the next try, whatever it is
            return error
        return None

    def _read(self) -> AbstractContextManager[Connection]:
        return reading(self._engine)

    def _write(self) -> AbstractContextManager[Connection]:
        return writing(self._engine)


def _newest(
    connection: Connection, first: str, *, since: datetime, verdict: str | None, limit: int
) -> list[int]:
    """Sequence numbers of what `DecisionLog.latest` finds, without what came before.

    From the newest record on, until there are enough: most looks need few of the records of a day.
    """
    oldest = select(func.min(CHAIN.c.sequence)).where(CHAIN.c.decision_id >= first)
    wanted = (
        select(CHAIN.c.sequence, DECISIONS.c.flight_id, DECISIONS.c.verdict)
        .join(DECISIONS, DECISIONS.c.decision_id == CHAIN.c.decision_id)
        .where(
            CHAIN.c.sequence >= oldest.scalar_subquery(),
            CHAIN.c.decision_id >= first,
            DECISIONS.c.created_at >= rfc3339(since),
        )
        .order_by(CHAIN.c.sequence.desc())
        .execution_options(yield_per=READ_AT_ONCE)
    )
    seen: set[str] = set()
    found: list[int] = []
    with connection.execute(wanted) as rows:
        for sequence, flight_id, told in rows:
            if flight_id not in seen and (verdict is None or told == verdict):
                found.append(sequence)
                if len(found) == limit:
                    break
            seen.add(flight_id)
    return found


def _and_before(newest: Sequence[int], *, most: int) -> Select[Any]:
    """Decisions of these sequence numbers and those of their flights before, newest first."""
    wanted = (
        select(DECISIONS.c.flight_id, CHAIN.c.sequence.label("newest"))
        .join(CHAIN, CHAIN.c.decision_id == DECISIONS.c.decision_id)
        .where(CHAIN.c.sequence.in_(newest))
        .subquery()
    )
    place = (
        func.row_number()
        .over(partition_by=DECISIONS.c.flight_id, order_by=CHAIN.c.sequence.desc())
        .label("place")
    )
    numbered = (
        select(CHAIN.c.sequence, wanted.c.newest, place)
        .join(DECISIONS, DECISIONS.c.decision_id == CHAIN.c.decision_id)
        .join(wanted, wanted.c.flight_id == DECISIONS.c.flight_id)
        .where(CHAIN.c.sequence <= wanted.c.newest)
        .subquery()
    )
    return (
        _chained(*LISTED)
        .join(numbered, numbered.c.sequence == CHAIN.c.sequence)
        .where(numbered.c.place <= most)
        .order_by(numbered.c.newest.desc(), CHAIN.c.sequence.desc())
    )


def told_in(connection: Connection, decision_id: str) -> StoredDecision | None:
    """See `DecisionLog.told`."""
    wanted = _chained(*DECISIONS.c).where(DECISIONS.c.decision_id == decision_id)
    row = connection.execute(wanted).mappings().first()
    if row is None:
        _require_not_purged(connection, decision_id)
        return None
    return _told(row)


def _chained(*columns: ColumnElement[Any]) -> Select[Any]:
    """Decisions with what their links say of them."""
    return select(*columns, *DIGESTS.values()).join(
        CHAIN, CHAIN.c.decision_id == DECISIONS.c.decision_id
    )


def _sequence_of(decision_id: str) -> Select[tuple[int]]:
    return select(CHAIN.c.sequence).where(CHAIN.c.decision_id == decision_id)


def _find(connection: Connection, decision_id: str) -> Record | None:
    table = DECISIONS.c
    row = (
        connection.execute(
            _chained(
                table.decision_id, table.response, table.response_digest, table.coding, table.format
            ).where(table.decision_id == decision_id)
        )
        .mappings()
        .first()
    )
    if row is None:
        _require_not_purged(connection, decision_id)
        return None
    return Record(
        decision_id=decision_id,
        response=_content(row, "response"),
        digest=row["response_digest"],
        format=row["format"],
    )


def _require_not_purged(connection: Connection, decision_id: str) -> None:
    """Raises: Purged; StoreDamaged where there is a decision without a link."""
    if connection.scalar(_sequence_of(decision_id)) is not None:
        raise Purged(decision_id)
    there = select(DECISIONS.c.decision_id).where(DECISIONS.c.decision_id == decision_id)
    if connection.scalar(there) is not None:
        raise StoreDamaged(f"decision {decision_id} has no link in the chain of records")


def _kept(row: RowMapping) -> Kept:
    try:
        return _told(row)
    except StoreDamaged as error:
        return DamagedDecision(
            decision_id=row["decision_id"], created_at=row["created_at"], why=str(error)
        )


def _told(row: RowMapping) -> StoredDecision:
    return StoredDecision(
        decision_id=row["decision_id"],
        created_at=row["created_at"],
        request=_content(row, "request"),
        response=_content(row, "response"),
        whole=None if row.get("whole") is None else _content(row, "whole"),
        format=row["format"],
    )


def _content(row: RowMapping, column: str) -> bytes:
    """The bytes as they were put there, and as the chain says. Raises: StoreDamaged."""
    content = uncompressed(row[column], row["coding"])
    found = None if content is None else digest(content)
    if content is None or found != row[f"{column}_digest"]:
        raise StoreDamaged(
            f"the {column} of decision {row['decision_id']} does not have its digest"
        )
    if found != row[DIGESTS[column].name]:
        raise StoreDamaged(
            f"the {column} of decision {row['decision_id']} is not what its link in the chain says"
        )
    return content


def uncompressed(kept: bytes, coding: str) -> bytes | None:
    """The bytes of a body; None where they cannot be had any more."""
    try:
        return zlib.decompress(kept) if coding == ZLIB else kept
    except zlib.error:
        return None


def compressed(content: bytes, level: int = LEVEL) -> bytes:
    """The bytes as they are kept."""
    return zlib.compress(content, level)


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A decision with its row, its bodies compressed."""

    draft: Draft
    row: Mapping[str, object]


def packed_for(draft: Draft, *, level: int = LEVEL) -> Packed:
    """A decision as it will be recorded: made before the store is locked."""
    whole = draft.whole
    row = {
        "decision_id": draft.decision_id,
        "flight_id": draft.flight_id,
        "as_of": draft.as_of,
        "verdict": draft.verdict,
        "created_at": rfc3339(draft.created_at),
        "request": compressed(draft.request, level),
        "request_digest": digest(draft.request),
        "response": compressed(draft.response, level),
        "response_digest": digest(draft.response),
        "whole": None if whole is None else compressed(whole, level),
        "whole_digest": None if whole is None else digest(whole),
        "format": draft.format,
        "coding": ZLIB,
    }
    return Packed(draft=draft, row=row)


def put(connection: Connection, packed: Sequence[Packed], *, sign: Sign | None) -> None:
    """Record decisions, each with its link and, where somebody asked, its audit entry."""
    if not packed:
        return
    connection.execute(insert(DECISIONS), [each.row for each in packed])
    all_appended(connection, [_entry(each.draft, each.row) for each in packed], sign=sign)
    for each in packed:
        if each.draft.caller:
            noted(connection, _event(each.draft))


def _entry(draft: Draft, row: Mapping[str, object]) -> ChainEntry:
    whole = row["whole_digest"]
    return ChainEntry(
        decision_id=draft.decision_id,
        request_digest=str(row["request_digest"]),
        response_digest=str(row["response_digest"]),
        whole_digest=None if whole is None else str(whole),
        caller=draft.caller,
        at=str(row["created_at"]),
    )


def _event(draft: Draft) -> Event:
    return Event(
        at=draft.created_at, caller=draft.caller, what=Deed.RECORDED, subject=draft.decision_id
    )
