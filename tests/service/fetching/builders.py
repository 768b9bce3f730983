"""A server that misbehaves on purpose, clocks that are moved by hand, and cases to fetch for."""

from __future__ import annotations

import contextlib
import socket
import ssl
import struct
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from copy import deepcopy
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from decision.case import Lack, ReportClass
from service.fetching.fetcher import Fetcher
from service.fetching.source import ReportSource
from service.fetching.template import Template
from service.fetching.transport import Transport
from tests.case.builders import demo

NOW = datetime(2026, 3, 14, 6, 10, tzinfo=UTC)
CLEAN = demo("clean")
REPORTS: list[str] = CLEAN["weather"]["reports"]
KEY = "a-secret-key-of-the-template"
PATIENCE_S = 20.0  # of a test that waits for what must come; never reached when all is well

Behaviour = Callable[[socket.socket, str], None]


class Stopwatch:
    """Seconds since it was made, less those in which a busy machine let this process wait.

    What a thread was ready to run and did not get is counted by the kernel of Linux, and is next to
    nothing on a quiet machine; elsewhere no second is taken away.
    """

    def __init__(self) -> None:
        self._waited_ns = _waited_ns()
        self._started_s = time.monotonic()

    def took_s(self) -> float:
        took_s = time.monotonic() - self._started_s
        waited = _waited_ns().items()
        waited_ns = sum(waited_ns - self._waited_ns.get(thread, 0) for thread, waited_ns in waited)
        return took_s - waited_ns / 1e9


def _waited_ns() -> dict[str, int]:
    """How long each thread of this process has been ready to run and was not let."""
    waited = {}
    for file in Path("/proc/self/task").glob("*/schedstat"):
        with contextlib.suppress(OSError):  # a thread that has ended meanwhile
            waited[file.parent.name] = int(file.read_text(encoding="ascii").split()[1])
    return waited


def case_to_fetch(*, have: Sequence[str] = ()) -> dict[str, Any]:
    """The clean demonstration case without its reports, or with some of them."""
    return deepcopy(CLEAN) | {"weather": {"reports": list(have), "fetch": True}}


def observation(icao: str) -> Lack:
    return Lack(icao=icao, kind=ReportClass.OBSERVATION)


def forecast(icao: str) -> Lack:
    return Lack(icao=icao, kind=ReportClass.FORECAST)


class HandClock:
    """A wall clock and a monotonic one that stand still until they are moved."""

    def __init__(self, at: datetime = NOW) -> None:
        self.at = at
        self.slept: list[float] = []

    def now(self) -> datetime:
        return self.at

    def monotonic(self) -> float:
        return self.at.timestamp()

    def move(self, seconds: float) -> None:
        self.at += timedelta(seconds=seconds)

    def sleep(self, seconds: float) -> None:
        self.slept.append(seconds)
        self.move(seconds)


class Server:
    """A TCP server on loopback; each connection is handled, in a thread, as a test says.

    `requests` holds the first line of each request; `headers` all of each.
    """

    def __init__(self, behaviour: Behaviour, tls: ssl.SSLContext | None = None) -> None:
        self.behaviour, self._tls = behaviour, tls
        self.requests: list[str] = []
        self.headers: list[str] = []
        self._open: list[socket.socket] = []
        self._listener = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.port: int = self._listener.getsockname()[1]
        self._acceptor = threading.Thread(target=self._accept, daemon=True)
        self._handlers: list[threading.Thread] = []
        self._acceptor.start()

    def url(self, *, scheme: str = "http", host: str = "127.0.0.1", kind: bool = False) -> str:
        path = "{kind}/reports" if kind else "reports"
        return f"{scheme}://{host}:{self.port}/{path}?ids={{stations}}&key={KEY}"

    def close(self) -> None:
        for each in (self._listener, *self._open):
            with contextlib.suppress(OSError):
                each.shutdown(socket.SHUT_RDWR)
        for thread in (self._acceptor, *self._handlers):
            thread.join(PATIENCE_S)
        for each in (self._listener, *self._open):
            each.close()

    def _accept(self) -> None:
        with contextlib.suppress(OSError):
            while True:
                connection, _ = self._listener.accept()
                thread = threading.Thread(target=self._serve, args=(connection,), daemon=True)
                self._handlers.append(thread)
                thread.start()

    def _serve(self, connection: socket.socket) -> None:
        with contextlib.suppress(OSError):
            if self._tls is not None:
                connection = self._tls.wrap_socket(connection, server_side=True)
            self._open.append(connection)
            self._handle(connection)

    def _handle(self, connection: socket.socket) -> None:
        with connection.makefile("rb") as lines:
            while True:
                head = b""
                while not head.endswith(b"\r\n\r\n"):
                    line = lines.readline()
                    if not line:
                        return
                    head += line
                first, _, rest = head.decode("latin-1").partition("\r\n")
                self.requests.append(first)
                self.headers.append(rest)
                self.behaviour(connection, first)


@contextmanager
def serving(behaviour: Behaviour, tls: ssl.SSLContext | None = None) -> Iterator[Server]:
    server = Server(behaviour, tls)
    try:
        yield server
    finally:
        server.close()


def fetcher_of(
    url: str, *, clock: HandClock | None = None, deadline_s: float = 5.0, **more: Any
) -> Fetcher:
    """A fetcher of a source, on hand-moved clocks if they are given."""
    template = Template(url)
    transport = Transport(hosts=(template.host,))
    if clock is None:
        source = ReportSource(template, transport, clock=lambda: NOW)
        return Fetcher(source, deadline_s=deadline_s, clock=lambda: NOW, **more)
    source = ReportSource(
        template,
        transport,
        clock=clock.now,
        monotonic=clock.monotonic,
        sleep=clock.sleep,
        chance=lambda: 1.0,
    )
    return Fetcher(
        source, deadline_s=deadline_s, clock=clock.now, monotonic=clock.monotonic, **more
    )


# --- what a server may do ---


def answer(
    body: bytes, *, status: str = "200 OK", headers: Sequence[str] = (), length: bool = True
) -> bytes:
    lines = [f"HTTP/1.1 {status}", *headers]
    if length:
        lines.append(f"Content-Length: {len(body)}")
    return "\r\n".join([*lines, "", ""]).encode() + body


def says(content: bytes, *, then_close: bool = False) -> Behaviour:
    """Send and perhaps close."""

    def behave(connection: socket.socket, _request: str) -> None:
        connection.sendall(content)
        if then_close:
            connection.shutdown(socket.SHUT_RDWR)

    return behave


def answers(body: str, **how: Any) -> Behaviour:
    return says(answer(body.encode(), **how))


def drips(content: bytes, *, every_s: float, at_once: int = 0) -> Behaviour:
    """Send byte after byte for ever, the last ones again and again."""

    def behave(connection: socket.socket, _request: str) -> None:
        connection.sendall(content[:at_once])
        rest = content[at_once:]
        pause = threading.Event()
        while True:
            for position in range(len(rest)):
                connection.sendall(rest[position : position + 1])
                pause.wait(every_s)

    return behave


def repeats(head: bytes, part: bytes) -> Behaviour:
    """Send without end, as fast as it is read."""

    def behave(connection: socket.socket, _request: str) -> None:
        connection.sendall(head)
        while True:
            connection.sendall(part)

    return behave


def hangs(connection: socket.socket, _request: str) -> None:
    """Say nothing, until the other side has gone."""
    connection.recv(1)


def resets(connection: socket.socket, _request: str) -> None:
    """Break the connection off without a farewell."""
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
    connection.close()
    raise ConnectionAbortedError  # so that its reader is closed as well
