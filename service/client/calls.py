"""One call over HTTP: sent, sent again where that is safe, and understood or not."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from ipaddress import ip_address
from typing import Any, Final
from urllib.parse import urlsplit

import requests
from requests.auth import AuthBase

JSON: Final = "application/json"
TEXT: Final = "text/plain"
PROBLEM: Final = "application/problem+json"
LINES: Final = "application/x-ndjson"
# The work has not been done, or its answer was lost on the way. A conflict that says when to come
# back is that of a key whose first try is still at work.
LATER: Final = frozenset({408, 409, 429, 502, 503, 504})
CONFLICT: Final = 409
FIRST_WAIT_S: Final = 0.25  # [ASSUMED] doubles with each try, up to the longest
LONGEST_WAIT_S: Final = 10.0  # [ASSUMED]
CHANCE: Final = random.SystemRandom().random


class CallFailed(Exception):
    """A call did not give what was asked for."""


class NoAnswer(CallFailed):
    """Nothing that could be understood came in time, however often it was tried."""


class CutOff(CallFailed):
    """An answer ended before its end: what came of it is not all."""


class RequestRefused(CallFailed):
    """The service has answered, and not with success.

    `problem`: its problem document (RFC 9457); empty where none came.
    """

    def __init__(self, status: int, problem: Mapping[str, Any]) -> None:
        self.status, self.problem = status, problem
        super().__init__(f"{status}: {problem.get('title', 'no problem document')}")

    @property
    def lines(self) -> Iterator[str]:
        """What is wrong, a line for each fault."""
        yield str(self.problem.get("detail") or self)
        for each in self.problem.get("errors") or ():
            yield f"{each['pointer']}: {each['message']}; accepted: {each['accepted']}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """How long is waited.

    `silence_s`: for a connection, and for each byte. `patience_s`: from the first try until no
    other begins. `tries`: at most.
    """

    silence_s: float = 30.0
    patience_s: float = 60.0
    tries: int = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """What is sent."""

    method: str
    path: str
    accept: str = JSON
    query: Mapping[str, str] | None = None
    content: bytes | None = None
    content_type: str = JSON
    headers: Mapping[str, str] | None = None
    streamed: bool = False
    silence_s: float | None = None


class Calls:
    """The connections to one service.

    `address` must be https, or on this machine, as soon as there is a `key`, unless `plain_http`
    says that the network between is trusted. Raises: ValueError.
    """

    def __init__(
        self,
        address: str,
        *,
        key: str | None,
        bounds: Bounds,
        plain_http: bool,
        sleep: Callable[[float], None] = time.sleep,
        seconds: Callable[[], float] = time.monotonic,
    ) -> None:
        parts = urlsplit(address)
        if parts.scheme not in {"http", "https"} or not parts.hostname or parts.query:
            raise ValueError("the address must be http:// or https:// and a host, without a query")
        here = _is_here(parts.hostname)
        if key is not None and parts.scheme == "http" and not (here or plain_http):
            raise ValueError("a key is sent over https, or to this machine, unless plain_http=True")
        self._address, self._bounds = address.rstrip("/"), bounds
        self._sleep, self._seconds = sleep, seconds
        self._session = requests.Session()
        self._session.trust_env = not here  # no proxy is asked for this machine
        self._session.auth = _Bearer(key)
        self._session.headers["User-Agent"] = "approach-client"

    def close(self) -> None:
        """Give the connections back."""
        self._session.close()

    def wait(self, seconds: float) -> None:
        """Wait."""
        self._sleep(seconds)

    def answer(self, call: Call) -> requests.Response:
        """An answer of success, or 304. Raises: RequestRefused, NoAnswer."""
        begun_s, tries = self._seconds(), 0
        while True:
            tries += 1
            try:
                answer = self._once(call)
            except requests.RequestException as error:
                fate: CallFailed = NoAnswer(f"{call.method} {call.path}: {error}")
                asked_s = None
            else:
                if answer.ok:
                    return answer
                fate, asked_s = refusal(answer), retry_after_s(answer)
                if answer.status_code not in LATER or (
                    answer.status_code == CONFLICT and asked_s is None
                ):
                    raise fate
            wait_s = backoff_s(tries) if asked_s is None else asked_s
            late = self._seconds() + wait_s - begun_s > self._bounds.patience_s
            if late or tries >= self._bounds.tries:
                raise fate
            self._sleep(wait_s)

    def _once(self, call: Call) -> requests.Response:
        silence_s = self._bounds.silence_s if call.silence_s is None else call.silence_s
        headers = {"Accept": call.accept, **(call.headers or {})}
        if call.content is not None:
            headers["Content-Type"] = call.content_type
        return self._session.request(
            call.method,
            self._address + call.path,
            params=call.query,
            data=call.content,
            headers=headers,
            stream=call.streamed,
            timeout=(min(silence_s, self._bounds.silence_s), silence_s),
            allow_redirects=False,  # the key is for this address
        )


class _Bearer(AuthBase):
    """The key, or nothing: never what a file of the user's says of this host."""

    def __init__(self, key: str | None) -> None:
        self._key = key

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        if self._key is not None:
            request.headers["Authorization"] = f"Bearer {self._key}"
        return request


def refusal(answer: requests.Response) -> RequestRefused:
    """What an answer says that is no success."""
    with answer, told_apart(answer.url):
        kind = answer.headers.get("Content-Type", "").partition(";")[0]
        problem = answer.json() if kind == PROBLEM else {}
        return RequestRefused(answer.status_code, problem if isinstance(problem, dict) else {})


@contextmanager
def told_apart(path: str) -> Iterator[None]:
    """What fails in reading an answer fails as CutOff or NoAnswer."""
    try:
        yield
    except requests.JSONDecodeError as error:
        raise NoAnswer(f"{path}: not JSON: {error}") from error
    except requests.RequestException as error:
        raise CutOff(f"{path}: {error}") from error


def retry_after_s(answer: requests.Response) -> float | None:
    """What Retry-After asks for, in seconds or as a date; None where it says nothing."""
    text = answer.headers.get("Retry-After", "")
    if text.isascii() and text.isdigit():
        return float(text)
    try:
        at = parsedate_to_datetime(text)
    except ValueError:
        return None
    return max(0.0, (at.astimezone(UTC) - datetime.now(UTC)).total_seconds())


def backoff_s(tries: int) -> float:
    """How long to wait after so many tries: half of it by chance, so that not all come at once."""
    most_s = min(LONGEST_WAIT_S, FIRST_WAIT_S * 2.0 ** (tries - 1))
    return most_s * (1.0 + CHANCE()) / 2.0


def _is_here(host: str) -> bool:
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"
