"""Who is calling: by a key, by the session of a browser, or by a proxy that vouches for somebody.

A key in the request comes before a session, a session before the word of a proxy. What a browser
sends by itself must come from a page of this service where it could change something.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass
from ipaddress import IPv6Address, ip_address
from typing import Final
from urllib.parse import urlsplit

from flask import request
from msgspec import Struct

from service.clock import Clock
from service.door.known import KnownSecrets, has_ended
from service.keytext import key_in
from service.problems import FOREIGN_ORIGIN, NO_KEY, Problem, base
from service.scopes import Scope
from service.settings import Networks, Settings
from service.store.access import Secret

COOKIE: Final = "approach_session"
BEARER: Final = "bearer"
SAFE: Final = frozenset({"GET", "HEAD", "OPTIONS"})
IDENTITY: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._@+-]{0,99}")  # nothing that parts a line
DEFAULT_PORTS: Final = {"http": 80, "https": 443}
CHALLENGE: Final = 'Bearer realm="approach decisions"'
WRONG_KEY: Final = f'{CHALLENGE}, error="invalid_token"'


class Caller(Struct, frozen=True, kw_only=True, gc=False):
    """Somebody who is let in: the name under which it is written down, and what for."""

    name: str
    scopes: Collection[Scope]
    secret: Secret | None = None  # of a key, or of the session that was begun with one


class Refused(Problem):
    """Somebody is not let in; `name`: who it is, where that is known for certain."""

    def __init__(self, detail: str, *, challenge: str = WRONG_KEY, name: str = "") -> None:
        super().__init__(NO_KEY, detail, headers={"WWW-Authenticate": challenge})
        self.name = name


@dataclass(frozen=True, slots=True, kw_only=True)
class Callers:
    """What is asked of a request to find out."""

    settings: Settings
    known: KnownSecrets
    clock: Clock

    def caller(self) -> Caller:
        """Who the present request is of. Raises: Refused; Problem (403) from a foreign page."""
        scheme, _, text = request.environ.get("HTTP_AUTHORIZATION", "").partition(" ")
        if scheme.lower() == BEARER:
            return self.of_key(text.strip())
        token = request.cookies.get(COOKIE)
        secret = None if token is None else self.known.of_session(token)
        if secret is not None:
            self._require_own_page()
            return self._let_in(secret)
        vouched = self._vouched_for()
        if vouched is not None:
            self._require_own_page(told=False)
            return vouched
        raise Refused(
            "There is no key in the request." if token is None else "The session has ended.",
            challenge=CHALLENGE,
        )

    def of_key(self, text: str) -> Caller:
        """Who has a key. Raises: Refused."""
        key = key_in(text)
        secret = None if key is None else self.known.of_key(key)
        if secret is None:
            raise Refused("This is no key of the service.")
        return self._let_in(secret)

    def _let_in(self, secret: Secret) -> Caller:
        at, name = self.clock(), f"key:{secret.identifier}"
        if secret.revoked:
            raise Refused("The key was taken back.", name=name)
        if has_ended(secret, at):
            raise Refused("The key, or the session, has expired.", name=name)
        self.known.used(secret, at)
        return Caller(name=name, scopes=secret.scopes, secret=secret)

    def _vouched_for(self) -> Caller | None:
        """Whom a proxy names; None where none does. Raises: Refused where it cannot be one."""
        header = self.settings.identity_header
        given = request.headers.get(header) if header else None
        if given is None:
            return None
        if not comes_from(self.settings.proxies, request.remote_addr):
            raise Refused(f"{header} is taken from the proxies alone.", challenge=CHALLENGE)
        if IDENTITY.fullmatch(given) is None:
            raise Refused(f"{header} does not hold one identity.", challenge=CHALLENGE)
        return Caller(name=f"user:{given}", scopes=self.settings.identity_scopes)

    def _require_own_page(self, *, told: bool = True) -> None:
        if request.method not in SAFE:
            require_own_page(told=told)


def require_own_page(*, told: bool = True) -> None:
    """Know that a browser sends this from a page of the service.

    `told`: it must say so; otherwise it must only not say another. Raises: Problem (403).
    """
    given = request.headers.get("Origin")
    if given is None and not told:
        return
    if given is None or given.lower() != origin_of(base()):
        raise Problem(FOREIGN_ORIGIN, FOREIGN_ORIGIN.meaning)


def origin_of(address: str) -> str:
    """The origin of an address as browsers write it: without a port that goes without saying."""
    parts = urlsplit(address.lower())
    host = parts.netloc
    port = DEFAULT_PORTS.get(parts.scheme)
    return f"{parts.scheme}://{host.removesuffix(f':{port}')}"


def comes_from(networks: Networks, address: str | None) -> bool:
    """Whether a connection comes from one of the networks."""
    try:
        there = ip_address(address or "")
    except ValueError:
        return False
    if isinstance(there, IPv6Address) and there.ipv4_mapped is not None:
        there = there.ipv4_mapped  # as a socket for both tells it
    return any(there in network for network in networks)
