"""A service behind its door, keys that open it, and a time that stands until it is moved."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from service.app import create_app
from service.door.callers import COOKIE
from service.door.opening import opened_access
from service.keytext import KeyText, new_key
from service.scopes import GIVEN, Scope
from service.settings import Settings
from service.store import SqlDecisionLog
from service.store.access import NewKey, SqlAccess
from tests.service.builders import T0, plain_engine, service_settings

OUTSIDE = {"APPROACH_HOST": "0.0.0.0"}  # noqa: S104 - never listened on: what it does to the door
PROXIED = {
    "APPROACH_BEHIND_PROXY": "yes",
    "APPROACH_HOSTS": "ops.example",
    "APPROACH_PROXIES": "127.0.0.1,10.1.0.0/16",
    "APPROACH_IDENTITY_HEADER": "X-Verified-User",
}
ALL = frozenset(GIVEN)


@dataclass
class Time:
    """A clock and a count of seconds that move together, and only when they are told to."""

    at: datetime = T0
    second: float = 0.0

    def clock(self) -> datetime:
        return self.at

    def seconds(self) -> float:
        return self.second

    def pass_by(self, **time: float) -> None:
        self.at += timedelta(**time)
        self.second += timedelta(**time).total_seconds()


@dataclass
class House:
    """A service with a door, and what makes keys for it."""

    settings: Settings
    app: Flask
    access: SqlAccess
    log: SqlDecisionLog
    time: Time = field(default_factory=Time)

    @property
    def client(self) -> FlaskClient:
        """A browser that has not signed in, or a program."""
        return self.app.test_client()

    def with_cookie(self, token: str) -> FlaskClient:
        """A browser that says it has a session."""
        client = self.app.test_client()
        client.set_cookie(COOKIE, token)
        return client

    def key(
        self, *scopes: Scope, expires_at: datetime | None = None, name: str = "a desk"
    ) -> KeyText:
        """A key with scopes; without any, with every one."""
        made = new_key(os.urandom)
        self.access.create(
            NewKey(
                identifier=made.identifier,
                name=name,
                scopes=frozenset(scopes or ALL),
                digest=made.digest,
                expires_at=expires_at,
            ),
            by="test",
            at=self.time.at,
        )
        return made

    def asked(self, path: str, key: KeyText | None = None, **more: Any) -> TestResponse:
        """What a program gets at an address."""
        return self.client.get(path, headers=bearer(key) if key else {}, **more)

    def close(self) -> None:
        self.access.close()
        self.log.close()


def bearer(key: KeyText | str) -> dict[str, str]:
    """The header that carries a key."""
    return {"Authorization": f"Bearer {key if isinstance(key, str) else key.text}"}


def house(
    folder: Path, environment: Mapping[str, str] = OUTSIDE, *, time: Time | None = None
) -> House:
    """A service in a folder."""
    settings = service_settings(folder, **environment)
    log = SqlDecisionLog.open(settings.store, timeout_s=5)
    now = Time() if time is None else time
    app = create_app(
        settings,
        clock=now.clock,
        engine=plain_engine(),
        log=log,
        seconds=now.seconds,
    )
    return House(settings=settings, app=app, access=opened_access(settings), log=log, time=now)
