"""Keys of callers, sessions of browsers and the audit log, as the store has them.

Only digests of secrets come in here. Which of them opens what, and until when, is decided by
whoever asks; this module reads and writes.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy import Connection, Engine, Select, delete, exists, insert, or_, select, update

from service.clock import rfc3339
from service.scopes import Scope, scopes_of, scopes_text
from service.store.audit import Deed, Event, KeptEvent, events, noted
from service.store.engines import AlreadyThere, reading, writing
from service.store.tables import API_KEYS, SECRETS, SESSIONS

USED_EACH: Final = timedelta(minutes=1)
"""How coarse the last use of a key is kept."""


class NoSuchKey(Exception):
    """No key has this identifier."""


class KeyThere(Exception):
    """A key of this identifier, or with this secret, is there already."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewKey:
    """A key to be made; `digest` is that of its text."""

    identifier: str
    name: str
    scopes: frozenset[Scope]
    digest: str
    expires_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptKey:
    """A key as it is listed."""

    identifier: str
    name: str
    scopes: str
    created_at: str
    expires_at: str | None
    revoked_at: str | None
    last_used_at: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Secret:
    """A secret with the key that it belongs to; `ends_at`: the first of all its ends."""

    identifier: str
    scopes: frozenset[Scope]
    digest: str
    ends_at: str | None
    revoked: bool


class SqlAccess:
    """Who may call, in a database; every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def close(self) -> None:
        """Close every pooled connection."""
        self._engine.dispose()

    # --- keys ---

    def create(self, key: NewKey, *, by: str, at: datetime) -> None:
        """Keep a key. Raises: KeyThere."""
        try:
            with self._write() as connection:
                connection.execute(
                    insert(API_KEYS).values(
                        identifier=key.identifier,
                        name=key.name,
                        scopes=scopes_text(key.scopes),
                        created_at=rfc3339(at),
                        expires_at=None if key.expires_at is None else rfc3339(key.expires_at),
                    )
                )
                connection.execute(insert(SECRETS).values(**_secret_row(key, at)))
                _note(connection, Deed.CREATED_KEY, key.identifier, by=by, at=at)
        except AlreadyThere as error:
            raise KeyThere(key.identifier) from error

    def rotate(
        self, identifier: str, *, digest: str, by: str, at: datetime, until: datetime
    ) -> None:
        """Give a key another secret; those of before open until an instant. Raises: NoSuchKey."""
        end = rfc3339(until)
        old = SECRETS.c.identifier == identifier
        with self._write() as connection:
            held = connection.execute(
                update(API_KEYS)
                .where(API_KEYS.c.identifier == identifier, API_KEYS.c.revoked_at.is_(None))
                .values(identifier=identifier)
            )
            if held.rowcount != 1:
                raise NoSuchKey(identifier)
            lasting = or_(SECRETS.c.ends_at.is_(None), SECRETS.c.ends_at > end)
            connection.execute(update(SECRETS).where(old, lasting).values(ends_at=end))
            row = {"identifier": identifier, "digest": digest, "created_at": rfc3339(at)}
            connection.execute(insert(SECRETS).values(**row))
            _note(connection, Deed.ROTATED_KEY, identifier, by=by, at=at)

    def revoke(self, identifier: str, *, by: str, at: datetime) -> None:
        """Take a key back, once and for all. Raises: NoSuchKey, also of one that was taken back."""
        with self._write() as connection:
            done = connection.execute(
                update(API_KEYS)
                .where(API_KEYS.c.identifier == identifier, API_KEYS.c.revoked_at.is_(None))
                .values(revoked_at=rfc3339(at))
            )
            if done.rowcount != 1:
                raise NoSuchKey(identifier)
            _note(connection, Deed.REVOKED_KEY, identifier, by=by, at=at)

    def all_keys(self) -> list[KeptKey]:
        """Every key, the first made first."""
        wanted = select(API_KEYS).order_by(API_KEYS.c.created_at, API_KEYS.c.identifier)
        with self._read() as connection:
            return [KeptKey(**row) for row in connection.execute(wanted).mappings()]

    def secrets_of(self, identifier: str) -> list[Secret]:
        """The secrets of a key; of one that is not there, none."""
        with self._read() as connection:
            wanted = _secrets().where(API_KEYS.c.identifier == identifier)
            return [_secret(row) for row in connection.execute(wanted)]

    def opens(self, at: datetime) -> bool:
        """Whether there is a key that opens something at an instant."""
        now = rfc3339(at)
        lasting = (
            API_KEYS.c.revoked_at.is_(None),
            or_(API_KEYS.c.expires_at.is_(None), API_KEYS.c.expires_at > now),
            or_(SECRETS.c.ends_at.is_(None), SECRETS.c.ends_at > now),
        )
        with self._read() as connection:
            return bool(connection.scalar(select(exists(_secrets().where(*lasting)))))

    def used(self, identifier: str, *, at: datetime) -> None:
        """Note the use of a key, unless one was noted in the minute before."""
        column = API_KEYS.c.last_used_at
        long_ago = or_(column.is_(None), column <= rfc3339(at - USED_EACH))
        with self._write() as connection:
            connection.execute(
                update(API_KEYS)
                .where(API_KEYS.c.identifier == identifier, long_ago)
                .values(last_used_at=rfc3339(at))
            )

    # --- sessions ---

    def begin_session(
        self, digest: str, *, secret: Secret, by: str, at: datetime, until: datetime
    ) -> None:
        """Keep the session of a browser; what has ended is forgotten."""
        with self._write() as connection:
            remove_sessions(connection, before=at)
            connection.execute(
                insert(SESSIONS).values(
                    digest=digest,
                    secret_digest=secret.digest,
                    created_at=rfc3339(at),
                    expires_at=rfc3339(until),
                )
            )
            _note(connection, Deed.SIGNED_IN, secret.identifier, by=by, at=at)

    def end_session(self, digest: str) -> None:
        """Forget a session; one that is not there is none."""
        with self._write() as connection:
            connection.execute(delete(SESSIONS).where(SESSIONS.c.digest == digest))

    def of_session(self, digest: str) -> Secret | None:
        """The secret that a session was begun with, ending no later than the session."""
        wanted = (
            _secrets()
            .add_columns(SESSIONS.c.expires_at.label("session_ends_at"))
            .join(SESSIONS, SESSIONS.c.secret_digest == SECRETS.c.digest)
            .where(SESSIONS.c.digest == digest)
        )
        with self._read() as connection:
            row = connection.execute(wanted).first()
        return None if row is None else _secret(row, row.session_ends_at)

    # --- the audit log ---

    def note(self, event: Event) -> None:
        """Put an event into the audit log."""
        with self._write() as connection:
            noted(connection, event)

    def events(self, *, limit: int, before: int | None) -> list[KeptEvent]:
        """The newest events of the audit log."""
        with self._read() as connection:
            return events(connection, limit=limit, before=before)

    def _read(self) -> AbstractContextManager[Connection]:
        return reading(self._engine)

    def _write(self) -> AbstractContextManager[Connection]:
        return writing(self._engine)


def remove_sessions(connection: Connection, *, before: datetime) -> int:
    """Forget sessions that ended before an instant; how many."""
    return connection.execute(
        delete(SESSIONS).where(SESSIONS.c.expires_at <= rfc3339(before))
    ).rowcount


def _secrets() -> Select[Any]:
    return select(
        SECRETS.c.identifier,
        SECRETS.c.digest,
        SECRETS.c.ends_at,
        API_KEYS.c.scopes,
        API_KEYS.c.expires_at,
        API_KEYS.c.revoked_at,
    ).join(API_KEYS, API_KEYS.c.identifier == SECRETS.c.identifier)


def _secret(row: Any, *also: str) -> Secret:  # noqa: ANN401 - a row
    ends = [each for each in (row.ends_at, row.expires_at, *also) if each is not None]
    return Secret(
        identifier=row.identifier,
        scopes=scopes_of(row.scopes),
        digest=row.digest,
        ends_at=min(ends, default=None),
        revoked=row.revoked_at is not None,
    )


def _secret_row(key: NewKey, at: datetime) -> dict[str, str]:
    return {"identifier": key.identifier, "digest": key.digest, "created_at": rfc3339(at)}


def _note(connection: Connection, what: Deed, subject: str, *, by: str, at: datetime) -> None:
    noted(connection, Event(at=at, caller=by, what=what, subject=subject))
