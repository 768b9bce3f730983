"""The door: before an address answers, whoever calls must have a key for what it asks.

On loopback, without a proxy, it stands open: who can call from there can read the store as well.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Final, TypeVar

from flask import g, request

from service.clock import Clock, Entropy
from service.door.callers import Caller, Callers, Refused, require_own_page
from service.door.known import KnownSecrets
from service.door.limits import Buckets, Seconds
from service.keytext import digest_of
from service.observing import note
from service.problems import FOREIGN_ORIGIN, SCOPE_LACKING, TOO_OFTEN, Problem
from service.scopes import Scope
from service.settings import Settings
from service.store.access import Secret, SqlAccess
from service.store.audit import Deed, Event
from service.store.port import StoreUnavailable

TOKEN_BYTES: Final = 32  # 256 bits, as the secret that it stands for
REFUSALS_A_MINUTE: Final = 60  # [ASSUMED] written down by each process; the log has them all
AUDITED: Final = "refused"
NO_ROUTE: Final = "no route"
_T = TypeVar("_T")


def caller_name() -> str:
    """Who the present request is of, as it is written down; empty where nobody has to say."""
    name: str = g.noted.get("caller", "")
    return name


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A session that has begun: what the browser gets of it, of whose key, until when."""

    token: str
    caller: Caller
    until: datetime


class Door:
    """Who is let in where, for one application in one process."""

    def __init__(
        self,
        *,
        settings: Settings,
        access: SqlAccess,
        clock: Clock,
        entropy: Entropy,
        seconds: Seconds,
    ) -> None:
        self.access, self._settings = access, settings
        self._open = settings.stands_open
        self._clock, self._entropy = clock, entropy
        self._known = KnownSecrets(access=access, seconds=seconds)
        self._callers = Callers(settings=settings, known=self._known, clock=clock)
        self._calls = Buckets(settings.requests_per_minute, seconds=seconds)
        self._refusals = Buckets(REFUSALS_A_MINUTE, seconds=seconds)

    @property
    def session_minutes(self) -> int:
        """How long the session of a browser lasts."""
        return self._settings.session_minutes

    def admit(self, scope: Scope) -> None:
        """Let the present request in, and know whose it is.

        Raises: Problem (401, 403, 429), StoreUnavailable.
        """
        if self._open or scope is Scope.OPEN:
            return
        caller = self._audited(self._callers.caller)
        self._enter(caller)
        if scope not in caller.scopes:
            self._write_down(HTTPStatus.FORBIDDEN, caller.name)
            raise Problem(
                SCOPE_LACKING,
                f"This address asks for the scope {scope.value}, which the caller does not have.",
                headers={
                    "WWW-Authenticate": f'Bearer error="insufficient_scope", scope="{scope.value}"'
                },
            )

    def sign_in(self, text: str) -> Session:
        """Begin the session of a browser with a key. Raises: Problem (401, 403, 429)."""
        self._audited(lambda: require_own_page(told=False))
        caller = self._audited(lambda: self._callers.of_key(text))
        self._enter(caller)
        token, at = self._entropy(TOKEN_BYTES).hex(), self._clock()
        until = at + timedelta(minutes=self._settings.session_minutes)
        self.access.begin_session(
            digest_of(token), secret=_secret_of(caller), by=caller.name, at=at, until=until
        )
        return Session(token=token, caller=caller, until=until)

    def sign_out(self, token: str) -> None:
        """End the session of a browser. Raises: Problem (403) from a page of somebody else."""
        self._audited(require_own_page)
        self._known.forget(token)
        self.access.end_session(digest_of(token))

    def _enter(self, caller: Caller) -> None:
        """Write down who it is, and count the call. Raises: Problem (429)."""
        note(caller=caller.name)
        wait_s = self._calls.wait_s(caller.name)
        if wait_s:
            raise Problem(
                TOO_OFTEN,
                f"More than {self._settings.requests_per_minute} requests a minute.",
                headers={"Retry-After": str(math.ceil(wait_s))},
            )

    def _audited(self, asked: Callable[[], _T]) -> _T:
        """What is asked; who is turned away by it is written down."""
        try:
            return asked()
        except Refused as refused:
            self._write_down(HTTPStatus.UNAUTHORIZED, refused.name)
            raise
        except Problem as problem:
            if problem.kind is FOREIGN_ORIGIN:
                self._write_down(HTTPStatus.FORBIDDEN, "")
            raise

    def _write_down(self, status: HTTPStatus, name: str) -> None:
        """Into the log each refusal, into the store no more than it can take beside its work."""
        note(refused=name)
        if self._refusals.wait_s(AUDITED):
            return
        rule = request.url_rule
        subject = f"{status.value} {request.method} {NO_ROUTE if rule is None else rule.rule}"
        with suppress(StoreUnavailable):  # the refusal stands
            self.access.note(
                Event(at=self._clock(), caller=name, what=Deed.REFUSED, subject=subject)
            )


def _secret_of(caller: Caller) -> Secret:
    if caller.secret is None:
        raise TypeError(f"{caller.name} has no key")
    return caller.secret
