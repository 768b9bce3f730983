"""The decision log on a relational database; one code path for SQLite and PostgreSQL."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any, Final, Self

from sqlalchemy import ColumnElement, Connection, Engine, Row, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError, SQLAlchemyError

from service.clock import rfc3339
from service.store.engines import WRITES, engine_for
from service.store.port import (
    Draft,
    KeyInProgress,
    KeyReused,
    Record,
    Replay,
    Reservation,
    StoreDamaged,
    StoreUnavailable,
    Told,
    digest,
)
from service.store.tables import DECISIONS, KEYS, METADATA, SCHEMA_VERSION, STORE

ABANDONED_AFTER: Final = timedelta(minutes=2)
"""A reservation this old belongs to a process that died: far above the longest request."""

CREATE_TRIES: Final = 3


class AlreadyThere(StoreUnavailable):
    """A row of that key exists."""


class SqlDecisionLog:
    """A DecisionLog in a database; safe to share between threads, not across a fork."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    @classmethod
    def open(cls, address: str, *, timeout_s: int) -> Self:
        """A log at an address, its tables made when missing.

        Raises: StoreUnavailable if the database cannot be reached or was made by another version.
        """
        log = cls(engine_for(address, timeout_s=timeout_s))
        try:
            log._prepare()
        except StoreUnavailable:
            log.close()
            raise
        return log

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
            decision_id=draft.decision_id, response=draft.response, digest=digest(draft.response)
        )
        with self._write() as connection:
            if reservation is not None:
                _confirm(connection, reservation)
            connection.execute(insert(DECISIONS).values(**_row(draft, record)))
        return record

    def find(self, decision_id: str) -> Record | None:
        """The decision of that identifier, or None."""
        with self._read() as connection:
            return _find(connection, decision_id)

    def of_flight(self, flight_id: str, *, limit: int, before: str | None = None) -> list[Told]:
        """The newest decisions of a flight; identifiers sort by the time at which they were made.

        Raises: StoreDamaged when one of them does not have its digest.
        """
        older = () if before is None else (DECISIONS.c.decision_id < before,)
        wanted = (
            select(DECISIONS)
            .where(DECISIONS.c.flight_id == flight_id, *older)
            .order_by(DECISIONS.c.decision_id.desc())
            .limit(limit)
        )
        with self._read() as connection:
            return [_told(row) for row in connection.execute(wanted)]

    def latest(self, first: str, *, since: datetime, verdict: str | None, limit: int) -> list[Told]:
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
            select(DECISIONS)
            .where(DECISIONS.c.decision_id.in_(newest), *alike)
            .order_by(DECISIONS.c.decision_id.desc())
            .limit(limit)
        )
        with self._read() as connection:
            return [_told(row) for row in connection.execute(wanted)]

    def count(self) -> int:
        """How many decisions are recorded."""
        with self._read() as connection:
            return connection.scalar(select(func.count()).select_from(DECISIONS)) or 0

    def request_of(self, decision_id: str) -> bytes | None:
        """The body that a decision answered, or None."""
        with self._read() as connection:
            return connection.scalar(
                select(DECISIONS.c.request).where(DECISIONS.c.decision_id == decision_id)
            )

    def check(self) -> None:
        """Return if the store answers and its tables are those of this version."""
        with self._read() as connection:
            found = connection.scalar(select(STORE.c.schema_version))
        if found != SCHEMA_VERSION:
            raise StoreUnavailable(f"store has schema {found}, this version needs {SCHEMA_VERSION}")

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

    def _prepare(self, tries: int = CREATE_TRIES) -> None:
        try:
            with self._write() as connection:
                METADATA.create_all(connection)
                if connection.scalar(select(STORE.c.schema_version)) is None:
                    connection.execute(insert(STORE).values(schema_version=SCHEMA_VERSION))
        except StoreUnavailable:  # perhaps because another process is creating them
            if tries == 1:
                raise
            self._prepare(tries - 1)
        self.check()

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        with _named_failures(), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        writer = self._engine.execution_options(**{WRITES: True})
        with _named_failures(), writer.begin() as connection:
            yield connection


@contextmanager
def _named_failures() -> Iterator[None]:
    try:
        yield
    except IntegrityError as error:
        raise AlreadyThere(str(error.orig)) from error
    except (SQLAlchemyError, OSError) as error:
        raise StoreUnavailable(str(error)) from error


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
    row = connection.execute(
        select(DECISIONS.c.response, DECISIONS.c.response_digest).where(
            DECISIONS.c.decision_id == decision_id
        )
    ).first()
    if row is None:
        return None
    if digest(row.response) != row.response_digest:
        raise StoreDamaged(f"decision {decision_id} does not have its digest")
    return Record(decision_id=decision_id, response=row.response, digest=row.response_digest)


def _told(row: Row[Any]) -> Told:
    for content, expected in (
        (row.request, row.request_digest),
        (row.response, row.response_digest),
    ):
        if digest(content) != expected:
            raise StoreDamaged(f"decision {row.decision_id} does not have its digest")
    return Told(
        decision_id=row.decision_id,
        created_at=row.created_at,
        request=row.request,
        response=row.response,
    )


def _row(draft: Draft, record: Record) -> dict[str, object]:
    return {
        "decision_id": draft.decision_id,
        "flight_id": draft.flight_id,
        "as_of": draft.as_of,
        "verdict": draft.verdict,
        "created_at": rfc3339(draft.created_at),
        "request": draft.request,
        "request_digest": digest(draft.request),
        "response": draft.response,
        "response_digest": record.digest,
    }
