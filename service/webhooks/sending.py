"""One try to send an event to a receiver: bounded in time and in what is read, nothing followed.

Any 2xx is taken as received, as soon as it is said. Words of exceptions and of receivers are never
kept: an address may hold a key, and an answer may hold anything.
"""

from __future__ import annotations

import http.client
import socket
import ssl
from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Final

import certifi

from service.clock import Clock, utc_now
from service.fetching.deadline import FetchDeadline
from service.fetching.timed import AnswerTooLong, TimedResponse, within
from service.webhooks.signing import POST, SigningKey, signed_headers
from service.webhooks.target import (
    LookUp,
    Target,
    TargetRefused,
    address_of,
    looked_up,
    target_of,
)

TRY_S: Final = 5.0
REST_S: Final = 1.0  # [ASSUMED] for the rest of an answer whose status is known
MOST_ANSWER_BYTES: Final = 65_536
LOOK_UPS: Final = 4  # [ASSUMED] at once; those of a name server that hangs hold up others like it
HUNDRED, SUCCESS, REDIRECTION = 100, 2, 3
HEADERS: Final = {"User-Agent": "approach-decision-service", "Connection": "close"}
# The first that fits.
WHY: Final[tuple[tuple[type[Exception], str], ...]] = (
    (socket.gaierror, "its name is not known"),
    (TimeoutError, f"it did not answer within {TRY_S:g} s"),
    (ssl.SSLError, "no secure connection to it could be made"),
    (AnswerTooLong, f"its answer begins with more than {MOST_ANSWER_BYTES} bytes"),
    (ConnectionRefusedError, "nobody listens there"),
    (http.client.RemoteDisconnected, "the connection to it broke off"),
    (http.client.HTTPException, "its answer is not HTTP"),
    (OSError, "the connection to it failed"),
    (Exception, "its answer could not be read"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class OneTry:
    """What came of a try, and when it had ended: the status, or why there was none."""

    at: datetime
    status: int | None
    why: str | None

    @property
    def is_taken(self) -> bool:
        """Whether the receiver has it."""
        return self.status is not None and self.status // HUNDRED == SUCCESS


class _Answer(TimedResponse):
    most_bytes = MOST_ANSWER_BYTES


class _Connection(http.client.HTTPConnection):
    """A connection to the address that was judged, whatever the name leads to by now."""

    response_class = _Answer

    def __init__(
        self,
        target: Target,
        *,
        address: str,
        deadline: FetchDeadline,
        context: ssl.SSLContext | None,
    ) -> None:
        super().__init__(target.host, target.port)
        self.default_port = http.client.HTTP_PORT if context is None else http.client.HTTPS_PORT
        self._address, self._deadline, self._context = address, deadline, context

    def connect(self) -> None:
        """Connect, by TLS where there is a context. Raises: OSError."""
        place = (self._address, self.port)
        self.sock = socket.create_connection(place, timeout=_left_s(self._deadline))
        self.sock.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        if self._context is not None:
            self.sock.settimeout(_left_s(self._deadline))
            self.sock = self._context.wrap_socket(self.sock, server_hostname=self.host)
        self.sock.settimeout(_left_s(self._deadline))


class Sender:
    """Sends to receivers that are allowed; may be used by several threads at once."""

    def __init__(
        self,
        *,
        hosts: Collection[str],
        clock: Clock = utc_now,
        look_up: LookUp = looked_up,
        context: ssl.SSLContext | None = None,
    ) -> None:
        self._hosts, self._clock, self._look_up = frozenset(hosts), clock, look_up
        self._context = _trusting() if context is None else context
        self._look_ups = ThreadPoolExecutor(LOOK_UPS, thread_name_prefix="look-up")

    def send(self, url: str, body: bytes, *, keys: Sequence[SigningKey]) -> OneTry:
        """Try once; whatever happens is told."""
        deadline = FetchDeadline(total_s=TRY_S)
        at = self._clock()
        try:
            target = target_of(url, hosts=self._hosts)
            address = self._judged(target, deadline)
            signed = signed_headers(
                url=target.uri, body=body, keys=keys, created_s=int(at.timestamp())
            )
            status = self._posted(target, address, body, {**HEADERS, **signed}, deadline)
        except TargetRefused as refused:
            return OneTry(at=self._clock(), status=None, why=str(refused))
        except Exception as error:  # the socket's, the library's or the parser's
            return OneTry(at=self._clock(), status=None, why=_why(error))
        return OneTry(at=self._clock(), status=status, why=_why_not(status))

    def close(self) -> None:
        """Wait for no look-up any more."""
        self._look_ups.shutdown(wait=False, cancel_futures=True)

    def _judged(self, target: Target, deadline: FetchDeadline) -> str:
        """The address to connect to. Raises: TargetRefused, OSError."""
        found = self._look_ups.submit(address_of, target, hosts=self._hosts, look_up=self._look_up)
        try:
            return found.result(_left_s(deadline))
        finally:
            found.cancel()

    def _posted(
        self,
        target: Target,
        address: str,
        body: bytes,
        headers: Mapping[str, str],
        deadline: FetchDeadline,
    ) -> int:
        """The status that was answered. Raises: OSError, HTTPException."""
        secure = self._context if target.scheme == "https" else None
        connection = _Connection(target, address=address, deadline=deadline, context=secure)
        with within(deadline), closing(connection):
            connection.request(POST, target.path, body, dict(headers))
            answer = connection.getresponse()
            status = answer.status
            with suppress(Exception), closing(answer):  # what more it says changes nothing
                deadline.shorten(REST_S)
                answer.read()
            return status


def _left_s(deadline: FetchDeadline) -> float:
    """Seconds left. Raises: TimeoutError."""
    if deadline.is_over:
        raise TimeoutError
    return deadline.left_s()


def _why(error: Exception) -> str:
    return next(words for kind, words in WHY if isinstance(error, kind))


def _why_not(status: int) -> str | None:
    """Why an answer is no yes; None: it is one."""
    if status // HUNDRED == SUCCESS:
        return None
    if status // HUNDRED == REDIRECTION:
        return f"it sends elsewhere (status {status}), which is not followed"
    return f"it answered with status {status}"


def _trusting() -> ssl.SSLContext:
    """Who is vouched for by the system's list or by that of the other fetches."""
    context = ssl.create_default_context()
    context.load_verify_locations(certifi.where())
    return context
