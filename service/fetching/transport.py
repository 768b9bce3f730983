"""One GET, bounded in time and in size: no redirects, no cookies, nothing from the environment.

Each read gets what is left of the deadline (`timed`). Only the look-up of a name cannot be bounded
here; whoever waits for this does not wait for longer.
"""

from __future__ import annotations

import logging
from collections.abc import Collection, Mapping
from http import HTTPStatus
from http.cookiejar import DefaultCookiePolicy
from typing import Any, Final
from urllib.parse import urlsplit

import requests
from requests.adapters import HTTPAdapter
from urllib3 import HTTPConnectionPool, HTTPSConnectionPool
from urllib3.connection import HTTPConnection, HTTPSConnection

from service.fetching.deadline import FetchDeadline
from service.fetching.failure import FetchFailed
from service.fetching.timed import TimedResponse, within
from service.tracing import HEADER, PRESENT

CALLS_AT_ONCE: Final = 8  # [ASSUMED] connections and threads for them, in each process
MAX_ANSWER_BYTES: Final = 1_000_000  # [ASSUMED] unpacked; 21 aerodromes need some 50 kB
CHUNK_BYTES: Final = 16_384
REDIRECTION: Final = 3  # hundred and something
HEADERS: Final = {
    "User-Agent": "approach-decision-service",
    "Accept": "text/plain, */*;q=0.1",
    "Accept-Encoding": "identity",  # little is gained by packing; what is packed is read too
}
TRANSIENT: Final = frozenset(
    {
        HTTPStatus.TOO_MANY_REQUESTS,
        HTTPStatus.BAD_GATEWAY,
        HTTPStatus.SERVICE_UNAVAILABLE,
        HTTPStatus.GATEWAY_TIMEOUT,
    }
)
# The first that fits; an exception's own words are never used: they hold the address.
FAILURES: Final[tuple[tuple[type[Exception], str, bool], ...]] = (
    (requests.exceptions.SSLError, "no secure connection to the source could be made", False),
    (requests.exceptions.ContentDecodingError, "the source's answer cannot be unpacked", False),
    (requests.exceptions.ChunkedEncodingError, "the source's answer broke off", True),
    (requests.exceptions.ConnectionError, "the connection to the source failed", True),
    (Exception, "the source's answer could not be read", False),
)


class Transport:
    """The connections to the hosts that may be called; may be used by several threads at once."""

    def __init__(self, *, hosts: Collection[str], max_answer_bytes: int = MAX_ANSWER_BYTES) -> None:
        self._hosts, self._max_answer_bytes = frozenset(hosts), max_answer_bytes
        self._session = requests.Session()
        self._session.trust_env = False
        self._session.cookies.set_policy(DefaultCookiePolicy(allowed_domains=()))
        self._session.headers.clear()
        self._session.headers.update(HEADERS)
        for scheme in ("https://", "http://"):
            self._session.mount(scheme, _Adapter(pool_maxsize=CALLS_AT_ONCE))
        # Its lines show whole addresses, and an address may hold a key.
        logging.getLogger("urllib3").setLevel(logging.CRITICAL)

    def get(self, address: str, *, deadline: FetchDeadline) -> bytes:
        """The body of a complete answer 200. Raises: FetchFailed, whatever went wrong."""
        if urlsplit(address).hostname not in self._hosts:
            raise FetchFailed("the source's host is not one that may be called")
        try:
            with within(deadline), self._response(address, deadline) as response:
                _require_success(response)
                return self._content(response, deadline)
        except FetchFailed:
            raise
        except Exception as error:  # the library's, the socket's or the parser's
            raise _failure(error, deadline) from None

    def close(self) -> None:
        """Give the connections back."""
        self._session.close()

    def _response(self, address: str, deadline: FetchDeadline) -> requests.Response:
        trace = PRESENT.get()
        return self._session.get(
            address,
            headers={} if trace is None else {HEADER: trace.header},
            timeout=deadline.require_s(),
            stream=True,
            allow_redirects=False,
        )

    def _content(self, response: requests.Response, deadline: FetchDeadline) -> bytes:
        content = bytearray()
        for chunk in response.iter_content(CHUNK_BYTES):
            content += chunk
            if len(content) > self._max_answer_bytes:
                raise FetchFailed(
                    f"the source's answer is longer than {self._max_answer_bytes} bytes"
                )
            deadline.require_s()
        return bytes(content)


def _require_success(response: requests.Response) -> None:
    """Let only a 200 pass of which the end will be known. Raises: FetchFailed."""
    status, headers = response.status_code, response.headers
    if status // 100 == REDIRECTION:
        raise FetchFailed("the source sends elsewhere, which is not followed")
    if status != HTTPStatus.OK:
        raise FetchFailed(
            f"the source answered with status {status}",
            transient=status in TRANSIENT,
            retry_after_s=_seconds(headers.get("Retry-After", "0")),
        )
    if "Content-Length" not in headers and not _is_chunked(headers):
        # A forecast cut off before its last group would read better than it is.
        raise FetchFailed("the source does not say where its answer ends")


def _is_chunked(headers: Mapping[str, str]) -> bool:
    return headers.get("Transfer-Encoding", "").lower() == "chunked"


def _seconds(retry_after: str) -> float:
    """The wait asked for; a date is further off than anybody here would wait."""
    text = retry_after.strip()
    return float(text) if text.isascii() and text.isdigit() else float("inf")


def _failure(error: Exception, deadline: FetchDeadline) -> FetchFailed:
    if deadline.is_over or isinstance(error, requests.exceptions.Timeout):
        return deadline.over()
    reason, transient = next(
        (reason, transient) for kind, reason, transient in FAILURES if isinstance(error, kind)
    )
    return FetchFailed(reason, transient=transient)


class _Connection(HTTPConnection):
    response_class = TimedResponse


class _SecureConnection(HTTPSConnection):
    response_class = TimedResponse


class _Pool(HTTPConnectionPool):
    ConnectionCls = _Connection


class _SecurePool(HTTPSConnectionPool):
    ConnectionCls = _SecureConnection


class _Adapter(HTTPAdapter):
    def init_poolmanager(self, *args: Any, **kwargs: Any) -> None:  # noqa: ANN401
        """As the library does, with these connections."""
        super().init_poolmanager(*args, **kwargs)
        self.poolmanager.pool_classes_by_scheme = {"http": _Pool, "https": _SecurePool}
