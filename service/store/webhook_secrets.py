"""Secrets that webhooks are signed with, as the store has them: encrypted, by their versions.

A secret that is being changed has two versions that sign. What they are encrypted with is not known
here.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, Connection, Engine, and_, func, insert, or_, select, update

from service.clock import rfc3339
from service.store.engines import reading, writing
from service.store.tables import WEBHOOK_SECRETS


class NoSuchSecret(Exception):
    """No secret of that id signs anything."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSecret:
    """A version of a secret; `encrypted` is not shown where the value is."""

    secret_id: str
    version: int
    encrypted: str
    created_at: str
    ends_at: str | None
    revoked_at: str | None

    def __repr__(self) -> str:
        return f"KeptSecret(secret_id={self.secret_id!r}, version={self.version!r})"


class SqlWebhookSecrets:
    """Those of a database; every method may raise StoreUnavailable."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def create(self, secret_id: str, *, encrypted: str, at: datetime) -> None:
        """Keep a new secret as its first version. Raises: AlreadyThere."""
        with writing(self._engine) as connection:
            connection.execute(insert(WEBHOOK_SECRETS).values(**_row(secret_id, 1, encrypted, at)))

    def rotate(self, secret_id: str, *, encrypted: str, at: datetime, until: datetime) -> int:
        """Keep another version; the one of before signs beside it until an instant.

        Older ones sign no more. The number of the version. Raises: NoSuchSecret.
        """
        table = WEBHOOK_SECRETS
        with writing(self._engine) as connection:
            found = signing_in(connection, (secret_id,), at=at)
            if not found:
                raise NoSuchSecret(secret_id)
            for each, end in zip(reversed(found), (until, *[at] * len(found)), strict=False):
                mine = and_(table.c.secret_id == secret_id, table.c.version == each.version)
                sooner = or_(table.c.ends_at.is_(None), table.c.ends_at > rfc3339(end))
                connection.execute(update(table).where(mine, sooner).values(ends_at=rfc3339(end)))
            last = connection.scalar(
                select(func.max(table.c.version)).where(table.c.secret_id == secret_id)
            )
            version: int = (last or 0) + 1
            connection.execute(insert(table).values(**_row(secret_id, version, encrypted, at)))
        return version

    def revoke(self, secret_id: str, *, at: datetime) -> None:
        """Have no version sign any more, once and for all. Raises: NoSuchSecret."""
        table = WEBHOOK_SECRETS
        with writing(self._engine) as connection:
            done = connection.execute(
                update(table)
                .where(table.c.secret_id == secret_id, table.c.revoked_at.is_(None))
                .values(revoked_at=rfc3339(at))
            )
            if done.rowcount < 1:
                raise NoSuchSecret(secret_id)

    def encrypt_anew(self, secret: KeptSecret, *, encrypted: str) -> None:
        """Keep the same version under another key."""
        table = WEBHOOK_SECRETS
        with writing(self._engine) as connection:
            connection.execute(
                update(table)
                .where(table.c.secret_id == secret.secret_id, table.c.version == secret.version)
                .values(encrypted=encrypted)
            )

    def all(self) -> Sequence[KeptSecret]:
        """Every version of every secret."""
        table = WEBHOOK_SECRETS
        wanted = select(table).order_by(table.c.created_at, table.c.secret_id, table.c.version)
        with reading(self._engine) as connection:
            return [KeptSecret(**row) for row in connection.execute(wanted).mappings()]

    def signing(self, ids: Collection[str], *, at: datetime) -> Sequence[KeptSecret]:
        """The versions that sign at an instant, of some secrets, the older first."""
        with reading(self._engine) as connection:
            return signing_in(connection, ids, at=at)


def signing_in(
    connection: Connection, ids: Collection[str], *, at: datetime
) -> Sequence[KeptSecret]:
    """The versions that sign at an instant, of some secrets, the older first."""
    table = WEBHOOK_SECRETS
    lasting: ColumnElement[bool] = or_(table.c.ends_at.is_(None), table.c.ends_at > rfc3339(at))
    wanted = (
        select(table)
        .where(table.c.secret_id.in_(list(ids)), table.c.revoked_at.is_(None), lasting)
        .order_by(table.c.secret_id, table.c.version)
    )
    return [KeptSecret(**row) for row in connection.execute(wanted).mappings()]


def _row(secret_id: str, version: int, encrypted: str, at: datetime) -> dict[str, object]:
    return {
        "secret_id": secret_id,
        "version": version,
        "encrypted": encrypted,
        "created_at": rfc3339(at),
    }
