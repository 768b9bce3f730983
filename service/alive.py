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
# The service is on this machine: a proxy from the environment must not be asked.
_OPENER: Final = urllib.request.build_opener(urllib.request.ProxyHandler({}))


def is_ready(address: str, *, timeout_s: float = TIMEOUT_S) -> bool:
    """Whether `/readyz` answers with success."""
    return answers(address, path="/readyz", host=None, timeout_s=timeout_s)


def answers(address: str, *, path: str, host: str | None, timeout_s: float) -> bool:
    """Whether a path answers with success; `host`: the name to call the service by."""
    headers = {} if host is None else {"Host": host}
    request = urllib.request.Request(f"{address}{path}", headers=headers)  # noqa: S310  # as below
    try:
        with _OPENER.open(request, timeout=timeout_s):
            return True
    except OSError:  # refused, timed out, or an error status
        return False


def wait_until_ready(
    address: str, *, seconds: float, alive: Callable[[], bool] = lambda: True
) -> bool:
    """Whether the service becomes ready within a time, as long as its process is alive."""
    deadline_s = time.monotonic() + seconds
    while not is_ready(address, timeout_s=POLL_TIMEOUT_S):
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
