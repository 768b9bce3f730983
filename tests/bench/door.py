"""What it costs a request that the caller must have a key."""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import cache
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from flask import Flask
from werkzeug.test import run_wsgi_app

from service.app import create_app
from service.clock import utc_now
from service.door.opening import opened_access
from service.keytext import new_key
from service.scopes import GIVEN
from service.settings import settings_from
from service.store.access import NewKey
from service.store.upkeep import bring_up_to_date
from tests.bench.measure import Comparison, Way
from tests.bench.service import another

FOLDER: Final = TemporaryDirectory(prefix="approach-bench-")  # deleted when the process ends
MOST: Final = "1000000"  # requests a minute: counted, and never reached
OPEN, KEYED = "127.0.0.1", "192.0.2.1"  # where it says it listens; nothing does


@cache
def application(host: str) -> tuple[Flask, str]:
    """The service with its door open, or behind it, and a key."""
    store = Path(FOLDER.name) / f"{host}.sqlite3"
    settings = settings_from(
        {
            "APPROACH_STORE": f"sqlite:///{store}",
            "APPROACH_HOST": host,
            "APPROACH_REQUESTS_PER_MINUTE": MOST,
        }
    )
    bring_up_to_date(settings.store, timeout_s=settings.store_timeout_s)
    key, access = new_key(os.urandom), opened_access(settings)
    every = frozenset(GIVEN)
    kept = NewKey(identifier=key.identifier, name="bench", scopes=every, digest=key.digest)
    access.create(kept, by="bench", at=utc_now())
    return create_app(settings), key.text


def called(host: str, method: str, path: str, query: str = "") -> Callable[[], object]:
    """A call of the application as a server makes it, with a key."""

    def call() -> object:
        app, key = application(host)
        body = another() if method == "POST" else b""
        environ: dict[str, object] = {
            "REQUEST_METHOD": method,
            "PATH_INFO": path,
            "QUERY_STRING": query,
            "SERVER_NAME": "127.0.0.1",
            "SERVER_PORT": "8080",
            "SERVER_PROTOCOL": "HTTP/1.1",
            "CONTENT_TYPE": "application/json",
            "CONTENT_LENGTH": str(len(body)),
            "HTTP_AUTHORIZATION": f"Bearer {key}",
            "wsgi.input": BytesIO(body),
            "wsgi.url_scheme": "http",
            "wsgi.errors": None,
        }
        content, status, _ = run_wsgi_app(app, environ)
        if status[0] != "2":
            raise RuntimeError(b"".join(content).decode())
        return content

    return call


def both(title: str, method: str, path: str, query: str = "") -> Comparison:
    """A request with a key beside the same request where nobody is asked."""
    return Comparison(
        title=f"door, {title}",
        ours=Way(label="with a key", call=called(KEYED, method, path, query)),
        yardstick=Way(label="open", call=called(OPEN, method, path, query)),
    )


COMPARISONS: Final = (
    both("decided", "POST", "/v1/decisions", "record=false"),
    both("recorded", "POST", "/v1/decisions"),
    both("read", "GET", "/v1/profiles"),
)
