"""Receivers of webhooks on loopback, good and bad, that keep what came."""

from __future__ import annotations

import base64
import hashlib
import socket
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field

from http_message_signatures import (
    HTTPMessageVerifier,
    HTTPSignatureKeyResolver,
    VerifyResult,
    algorithms,
)

TAG = "approach-event"
Answering = Callable[[socket.socket, "Came"], None]


@dataclass(frozen=True, kw_only=True)
class Came:
    """A request as a receiver got it."""

    method: str
    path: str
    headers: dict[str, str]
    body: bytes
    scheme: str = "http"

    @property
    def url(self) -> str:
        """The address it was sent to, put together by the receiver."""
        return f"{self.scheme}://{self.headers['Host']}{self.path}"


@dataclass
class Receiver:
    """A server that answers as a test says, and keeps what came."""

    answering: Answering
    tls: ssl.SSLContext | None = None
    came: list[Came] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._listener = socket.create_server(("127.0.0.1", 0), backlog=256)
        self.port: int = self._listener.getsockname()[1]
        self._open: set[socket.socket] = set()
        self._threads: list[threading.Thread] = []
        self._begin(self._accept)

    @property
    def url(self) -> str:
        """Where it is."""
        return f"{'http' if self.tls is None else 'https'}://127.0.0.1:{self.port}/hook?key=x"

    def close(self) -> None:
        """No connection any more."""
        for each in (self._listener, *self._open):
            with suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)
        for thread in tuple(self._threads):
            thread.join(10)
        for each in (self._listener, *self._open):
            each.close()

    def _begin(self, work: Callable[..., None], *given: object) -> None:
        thread = threading.Thread(target=work, args=given, daemon=True)
        self._threads.append(thread)
        thread.start()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                connection, _ = self._listener.accept()
                self._begin(self._serve, connection)

    def _serve(self, connection: socket.socket) -> None:
        with suppress(OSError, ValueError):
            if self.tls is not None:
                connection = self.tls.wrap_socket(connection, server_side=True)
            self._open.add(connection)
            came = _read(connection, "http" if self.tls is None else "https")
            self.came.append(came)
            self.answering(connection, came)
        connection.close()


def _read(connection: socket.socket, scheme: str) -> Came:
    with connection.makefile("rb") as lines:
        method, path, _ = lines.readline().decode().split(" ")
        headers = {}
        while (line := lines.readline()) not in {b"\r\n", b""}:
            name, _, value = line.decode().partition(":")
            headers[name] = value.strip()
        body = lines.read(int(headers["Content-Length"]))
    return Came(method=method, path=path, headers=headers, body=body, scheme=scheme)


@contextmanager
def receiving(answering: Answering, tls: ssl.SSLContext | None = None) -> Iterator[Receiver]:
    """A receiver for as long as a test needs it."""
    receiver = Receiver(answering, tls)
    try:
        yield receiver
    finally:
        receiver.close()


def says(content: bytes) -> Answering:
    """Answers with these bytes, and closes."""

    def answer(connection: socket.socket, _came: Came) -> None:
        connection.sendall(content)

    return answer


def status(code: int, *headers: str) -> Answering:
    """Answers with a status."""
    lines = [f"HTTP/1.1 {code} Words", *headers, "Content-Length: 0", "", ""]
    return says("\r\n".join(lines).encode())


def hangs(connection: socket.socket, _came: Came) -> None:
    """Says nothing until the sender has gone."""
    connection.recv(1)


def endless(head: bytes, part: bytes, *, every_s: float = 0.0) -> Answering:
    """Answers without end."""

    def answer(connection: socket.socket, _came: Came) -> None:
        connection.sendall(head)
        pause = threading.Event()
        while True:
            connection.sendall(part)
            if every_s:
                pause.wait(every_s)

    return answer


class _Known(HTTPSignatureKeyResolver):
    def __init__(self, secrets: dict[str, bytes]) -> None:
        self._secrets = secrets

    def resolve_public_key(self, key_id: str) -> bytes:
        return self._secrets[key_id]

    def resolve_private_key(self, key_id: str) -> bytes:
        return self._secrets[key_id]


def verified(came: Came, secrets: dict[str, bytes]) -> list[VerifyResult]:
    """What an independent library makes of a request. Raises: its errors."""
    digest = base64.b64encode(hashlib.sha256(came.body).digest()).decode()
    assert came.headers["Content-Digest"] == f"sha-256=:{digest}:"
    verifier = HTTPMessageVerifier(
        signature_algorithm=algorithms.HMAC_SHA256, key_resolver=_Known(secrets)
    )
    found: list[VerifyResult] = verifier.verify(came, expect_tag=TAG, body=came.body)
    return found
