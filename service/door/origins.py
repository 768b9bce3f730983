"""Under which names the service may be called, and from which pages of others.

A name that is not expected is refused, so that no page can have a browser call the service under a
name of its own (a name that its owner points at this machine). What other pages may read is listed;
by default none may.
"""

from __future__ import annotations

from collections.abc import Collection
from functools import partial
from typing import Final

from flask import Flask, Response, request

from service.problems import UNKNOWN_HOST, Problem
from service.settings import Settings

METHODS: Final = "GET, HEAD, POST, DELETE"
SENT: Final = (
    "Authorization, Content-Type, Accept, Idempotency-Key, If-None-Match, traceparent, X-Request-ID"
)
SHOWN: Final = "ETag, Link, Location, Retry-After, WWW-Authenticate, X-Request-ID"
REMEMBERED_S: Final = "600"


def watch_origins(app: Flask, settings: Settings) -> None:
    """Refuse calls under a foreign name, and answer the pages of others that are listed."""
    if settings.accepted_hosts:
        app.before_request(partial(_require_name, settings.accepted_hosts))
    if settings.cors_origins:
        _answer_others(app, frozenset(settings.cors_origins))


def _require_name(hosts: tuple[str, ...]) -> None:
    """Raises: Problem (421) where the service is called otherwise."""
    if not _expected(request.environ.get("HTTP_HOST", ""), hosts):
        raise Problem(UNKNOWN_HOST, UNKNOWN_HOST.meaning)


def _answer_others(app: Flask, origins: Collection[str]) -> None:
    @app.before_request
    def look() -> Response | None:
        asks = request.method == "OPTIONS" and "Access-Control-Request-Method" in request.headers
        return _preflight() if asks and _origin() in origins else None

    @app.after_request
    def allow(response: Response) -> Response:
        response.vary.add("Origin")
        if _origin() in origins:
            response.headers["Access-Control-Allow-Origin"] = request.headers["Origin"]
            response.headers["Access-Control-Expose-Headers"] = SHOWN
        return response


def _origin() -> str:
    return request.headers.get("Origin", "").lower()


def _preflight() -> Response:
    response = Response(status=204)
    response.headers["Access-Control-Allow-Methods"] = METHODS
    response.headers["Access-Control-Allow-Headers"] = SENT
    response.headers["Access-Control-Max-Age"] = REMEMBERED_S
    return response


def _expected(given: str, hosts: tuple[str, ...]) -> bool:
    """Whether a Host is one of the names, with their port or, where they have none, any."""
    host = given.lower()
    name, colon, port = host.rpartition(":")
    return host in hosts or (bool(colon) and port.isdigit() and name in hosts)
