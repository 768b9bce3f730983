"""With the standard library alone: wait for the service on this machine, and post it a case."""

from __future__ import annotations

import time
import urllib.error
import urllib.request
from collections.abc import Callable
from typing import Final

POLL_S: Final = 0.1
POLL_TIMEOUT_S: Final = 1.0
TIMEOUT_S: Final = 30.0
FAILED_FROM: Final = 400
# The service is on this machine: a proxy from the environment must not be asked.
_OPENER: Final = urllib.request.build_opener(urllib.request.ProxyHandler({}))


def is_ready(address: str, *, timeout_s: float = TIMEOUT_S) -> bool:
    """Whether `/readyz` answers with success."""
    return answers(address, path="/readyz", host=None, timeout_s=timeout_s)


def answers(
    address: str, *, path: str, host: str | None, timeout_s: float, key: str | None = None
) -> bool:
    """Whether a path answers with success; `host`: the name to call the service by."""
    status = status_of(address, path=path, host=host, timeout_s=timeout_s, key=key)
    return status is not None and status < FAILED_FROM


def status_of(
    address: str, *, path: str, host: str | None, timeout_s: float, key: str | None = None
) -> int | None:
    """The status that a path answers with; None where nothing comes. `key`: what opens it."""
    headers = {} if host is None else {"Host": host}
    if key is not None:
        headers["Authorization"] = f"Bearer {key}"
    request = urllib.request.Request(f"{address}{path}", headers=headers)  # noqa: S310  # as below
    try:
        with _OPENER.open(request, timeout=timeout_s) as answer:
            status: int = answer.status
    except urllib.error.HTTPError as error:
        with error:
            return error.code
    except OSError:  # refused, timed out
        return None
    return status


def wait_until_ready(
    address: str,
    *,
    seconds: float,
    alive: Callable[[], bool] = lambda: True,
    path: str = "/readyz",
) -> bool:
    """Whether the service becomes ready within a time, as long as its process is alive.

    `path`: what is asked; where callers need a key, only `/healthz` answers without one.
    """
    deadline_s = time.monotonic() + seconds
    while not answers(address, path=path, host=None, timeout_s=POLL_TIMEOUT_S):
        if time.monotonic() > deadline_s or not alive():
            return False
        time.sleep(POLL_S)
    return True


def post_case(address: str, content: bytes, *, accept: str) -> str:
    """Post a case and return the answer's text. Raises: urllib.error.URLError."""
    headers = {"Content-Type": "application/json", "Accept": accept}
    request = urllib.request.Request(  # noqa: S310  # the caller's own http address
        f"{address}/v1/decisions", data=content, headers=headers
    )
    with _OPENER.open(request, timeout=TIMEOUT_S) as answer:
        text: str = answer.read().decode()
    return text
