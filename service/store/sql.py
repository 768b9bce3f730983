"""The decision log on a relational database; one code path for SQLite and PostgreSQL."""

from __future__ import annotations

import zlib
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from typing import Final, Self

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
from service.store.engines import AlreadyThere, engine_for, reading, writing
from service.store.port import (
    Draft,
    KeyInProgress,
    KeyReused,
    Record,
    Replay,
    Reservation,
    StoreDamaged,
    StoredDecision,
    digest,
)
from service.store.tables import DECISIONS, KEYS
from service.store.upkeep import bring_up_to_date, require_present_form

ABANDONED_AFTER: Final = timedelta(minutes=2)
"""A reservation this old belongs to a process that died: far above the longest request."""

ZLIB: Final = "zlib"
LEVEL: Final = 6
"""Answers of the demo: 8.5 % of their bytes; level 1 leaves 13 %, level 9 8.3 % in 1.4 times."""
LISTED: Final = [each for each in DECISIONS.c if each.name != "whole"]


class SqlDecisionLog:
    """A DecisionLog in a database; safe to share between threads, across a fork only unused."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @classmethod
    def open(cls, address: str, *, timeout_s: int) -> Self:
        """A log at an address, its tables made, or brought to the present form, if need be.

        Raises: StoreUnavailable, StoreNotUnderstood if it was made by a newer version.
        """
        bring_up_to_date(address, timeout_s=timeout_s)
        return cls(engine_for(address, timeout_s=timeout_s))

    def close(self) -> None:
        """Close every pooled connection."""
        self._engine.dispose()

    def reserve(
        self, *, key: str, request: bytes, decision_id: str, at: datetime
    ) -> Reservation | Replay:
        """Claim a key for a body, or hand back what was recorded under it."""
        reservation = Reservation(key=key, decision_id=decision_id)
        row = {"key": key, "request_digest": digest(request), "decision_id": decision_id}
        try:
            with self._write() as connection:
                connection.execute(insert(KEYS).values(**row, reserved_at=rfc3339(at)))
        except AlreadyThere:
            return self._taken(reservation, request_digest=digest(request), at=at)
        return reservation

    def release(self, reservation: Reservation) -> None:
        """Give a key back, unless it has been taken over."""
        with self._write() as connection:
            connection.execute(delete(KEYS).where(*_held_by(reservation)))

    def record(self, draft: Draft, reservation: Reservation | None = None) -> Record:
        """Append a decision, in one transaction with its key."""
        record = Record(
            decision_id=draft.decision_id,
            response=draft.response,
            digest=digest(draft.response),
            format=draft.format,
        )
        row = _row(draft, record)  # compressed before anybody has to wait
        with self._write() as connection:
            if reservation is not None:
                _confirm(connection, reservation)
            connection.execute(insert(DECISIONS).values(**row))
        return record

    def find(self, decision_id: str) -> Record | None:
        """The decision of that identifier, or None."""
        with self._read() as connection:
            return _find(connection, decision_id)

    def of_flight(
        self, flight_id: str, *, limit: int, before: str | None = None
    ) -> list[StoredDecision]:
        """The newest decisions of a flight; identifiers sort by the time at which they were made.

        Raises: StoreDamaged when one of them does not have its digest.
        """
        older = () if before is None else (DECISIONS.c.decision_id < before,)
        wanted = (
            select(*LISTED)
            .where(DECISIONS.c.flight_id == flight_id, *older)
            .order_by(DECISIONS.c.decision_id.desc())
            .limit(limit)
        )
        with self._read() as connection:
            return [_told(row) for row in connection.execute(wanted).mappings()]

    def latest(
        self, first: str, *, since: datetime, verdict: str | None, limit: int
    ) -> list[StoredDecision]:
        """The newest decision of each flight; the first id spares the look at all before it.

        Raises: StoreDamaged when one of them does not have its digest.
        """
        newest = (
            select(func.max(DECISIONS.c.decision_id))
            .where(DECISIONS.c.decision_id >= first, DECISIONS.c.created_at >= rfc3339(since))
            .group_by(DECISIONS.c.flight_id)
        )
        alike = () if verdict is None else (DECISIONS.c.verdict == verdict,)
        wanted = (
            select(*LISTED)
            .where(DECISIONS.c.decision_id.in_(newest), *alike)
            .order_by(DECISIONS.c.decision_id.desc())
            .limit(limit)
        )
        with self._read() as connection:
            return [_told(row) for row in connection.execute(wanted).mappings()]

    def count(self) -> int:
        """How many decisions are recorded."""
        with self._read() as connection:
            return connection.scalar(select(func.count()).select_from(DECISIONS)) or 0

    def told(self, decision_id: str) -> StoredDecision | None:
        """The decision of that identifier with all that is kept of it. Raises: StoreDamaged."""
        with self._read() as connection:
            row = (
                connection.execute(select(DECISIONS).where(DECISIONS.c.decision_id == decision_id))
                .mappings()
                .first()
            )
        return None if row is None else _told(row)

    def check(self) -> None:
        """Return if the store answers and its tables are those of this version."""
        with self._read() as connection:
            require_present_form(connection)

    def _taken(
        self, reservation: Reservation, *, request_digest: str, at: datetime
    ) -> Reservation | Replay:
        with self._write() as connection:
            row = connection.execute(
                select(KEYS).where(KEYS.c.key == reservation.key).with_for_update()
            ).first()
            if row is None:  # released between the two transactions
                raise KeyInProgress(reservation.key)
            if row.request_digest != request_digest:
                raise KeyReused(reservation.key)
            done = _find(connection, row.decision_id)
            if done is not None:
                return Replay(record=done)
            if row.reserved_at > rfc3339(at - ABANDONED_AFTER):
                raise KeyInProgress(reservation.key)
            connection.execute(
                update(KEYS)
                .where(KEYS.c.key == reservation.key)
                .values(decision_id=reservation.decision_id, reserved_at=rfc3339(at))
            )
        return reservation

    def _read(self) -> AbstractContextManager[Connection]:
        return reading(self._engine)

    def _write(self) -> AbstractContextManager[Connection]:
        return writing(self._engine)


def _held_by(reservation: Reservation) -> tuple[ColumnElement[bool], ...]:
    return (KEYS.c.key == reservation.key, KEYS.c.decision_id == reservation.decision_id)


def _confirm(connection: Connection, reservation: Reservation) -> None:
    """Lock the key's row and be sure that nobody has taken it over in the meantime."""
    held = connection.execute(
        update(KEYS).where(*_held_by(reservation)).values(decision_id=reservation.decision_id)
    )
    if held.rowcount != 1:
        raise KeyInProgress(reservation.key)


def _find(connection: Connection, decision_id: str) -> Record | None:
    table = DECISIONS.c
    row = (
        connection.execute(
            select(
                table.decision_id, table.response, table.response_digest, table.coding, table.format
            ).where(table.decision_id == decision_id)
        )
        .mappings()
        .first()
    )
    if row is None:
        return None
    return Record(
        decision_id=decision_id,
        response=_content(row, "response"),
        digest=row["response_digest"],
        format=row["format"],
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
    """The bytes as they were put there. Raises: StoreDamaged."""
    kept: bytes = row[column]
    try:
        content = zlib.decompress(kept) if row["coding"] == ZLIB else kept
    except zlib.error:
        content = None
    if content is None or digest(content) != row[f"{column}_digest"]:
        raise StoreDamaged(
            f"the {column} of decision {row['decision_id']} does not have its digest"
        )
    return content


def _row(draft: Draft, record: Record) -> dict[str, object]:
    whole = draft.whole
    return {
        "decision_id": draft.decision_id,
        "flight_id": draft.flight_id,
        "as_of": draft.as_of,
        "verdict": draft.verdict,
        "created_at": rfc3339(draft.created_at),
        "request": zlib.compress(draft.request, LEVEL),
        "request_digest": digest(draft.request),
        "response": zlib.compress(draft.response, LEVEL),
        "response_digest": record.digest,
        "whole": None if whole is None else zlib.compress(whole, LEVEL),
        "whole_digest": None if whole is None else digest(whole),
        "format": draft.format,
        "coding": ZLIB,
    }
