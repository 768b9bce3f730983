"""What a thousand open event streams cost other requests: `python -m tests.bench.streams`.

A real service with a thousand streams over which an event is told each second. In short windows, by
turns, the process of streams works or is stopped; the same caller asks and waits in both. So both
kinds of windows see the same machine, and what differs is what the streams take of it.
"""

from __future__ import annotations

import http.client
import json
import os
import resource
import signal
import socket
import statistics
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, nullcontext, suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from sqlalchemy import Engine

from tests.case.builders import demo
from tests.faults.running import Running, running
from tests.streams.builders import store_of, written
from tests.streams.test_events import streams_of

STREAMS: Final = 1_000
WINDOWS: Final = 30
WINDOW_S: Final = 1.5
SHARE_S: Final = 20.0
EVENT_BYTES: Final = 300  # so that what nobody reads yet finds room in the system
CASE: Final = json.dumps(demo("clean")).encode()
ASKED: Final = {
    "read": ("GET", "/v1/aerodromes/XKAL", None),
    "decide": ("POST", "/v1/decisions?record=false", CASE),
}
say: Final = sys.stdout.write
HEAD: Final = b"GET /v1/events HTTP/1.1\r\nHost: x\r\nAccept: text/event-stream\r\n\r\n"


class Readers:
    """Streams that are open. They are read at the end: whoever reads is no part of the service."""

    def __init__(self, service: Running) -> None:
        self._open = ExitStack()
        self._callers: list[socket.socket] = []
        for _ in range(STREAMS):  # one by one: they are of one address, and a worker has a bound
            caller = self._open.enter_context(service.connected(HEAD))
            self._callers.append(caller)
            if not caller.recv(4_096).startswith(b"HTTP/1.1 200"):
                raise RuntimeError("a stream was refused")

    def told(self) -> int:
        """How many events have come since."""
        for caller in self._callers:
            caller.setblocking(False)
        return sum(_all_of(caller).count(b"\nevent: ") for caller in self._callers)

    def close(self) -> None:
        """Leave."""
        self._open.close()


def _all_of(caller: socket.socket) -> bytes:
    """What has come over a connection."""
    content = b""
    with suppress(BlockingIOError):
        while piece := caller.recv(1_048_576):
            content += piece
    return content


@contextmanager
def telling(engine: Engine) -> Iterator[None]:
    """An event each second."""
    ended = threading.Event()

    def tell() -> None:
        while not ended.wait(1.0):
            written(engine, size=EVENT_BYTES)

    thread = threading.Thread(target=tell)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()


def window(service: Running, kind: str, *, seconds: float) -> list[float]:
    """How long each request took of those that one caller could make in some time."""
    method, path, body = ASKED[kind]
    connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=60)
    took, end_s = [], time.monotonic() + seconds
    while time.monotonic() < end_s:
        begun_s = time.perf_counter()
        connection.request(method, path, body, {"Content-Type": "application/json"})
        answer = connection.getresponse()
        answer.read()
        took.append(time.perf_counter() - begun_s)
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status}")
    connection.close()
    return took


def processor_s(process: int) -> float:
    """What a process has taken of a processor."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def p99(took: list[float]) -> float:
    """The slowest of a hundred, in milliseconds."""
    return statistics.quantiles(took, n=100)[98] * 1_000


def compared(service: Running, process: int, kind: str) -> str:
    """A line for one kind of request."""
    took: dict[bool, list[float]] = {True: [], False: []}
    of_windows: dict[bool, list[float]] = {True: [], False: []}
    for number in range(WINDOWS):
        for works in (True, False) if number % 2 else (False, True):
            os.kill(process, signal.SIGCONT if works else signal.SIGSTOP)
            time.sleep(0.1)
            found = window(service, kind, seconds=WINDOW_S)
            took[works] += found
            of_windows[works].append(p99(found))
    os.kill(process, signal.SIGCONT)
    with_ms, without_ms = p99(took[True]), p99(took[False])
    medians = [statistics.median(of_windows[works]) for works in (True, False)]
    return (
        f"{kind:<8} {len(took[True])} and {len(took[False])} requests   p99 {with_ms:.2f} ms,"
        f" without {without_ms:.2f} ms: {with_ms / without_ms:.2f}   median of p99s"
        f" {medians[0]:.2f} ms, without {medians[1]:.2f} ms: {medians[0] / medians[1]:.2f}\n"
    )


def main() -> None:
    """Print how long it took to open them, what they take, and how requests compare."""
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 8 * STREAMS), hard))
    with (
        TemporaryDirectory(prefix="approach-bench-") as name,
        running(Path(name)) as service,
        store_of(f"sqlite:///{Path(name) / 'decisions.sqlite3'}") as engine,
    ):
        begun_s = time.monotonic()
        readers = Readers(service)
        say(f"{STREAMS} streams were opened in {time.monotonic() - begun_s:.1f} s\n")
        (process,) = streams_of(service)
        for words, told in (("open", nullcontext()), ("an event a second", telling(engine))):
            with told:
                used_s = processor_s(process)
                time.sleep(SHARE_S)
                share = (processor_s(process) - used_s) / SHARE_S
            say(f"{words}: their process takes {share:.1%} of a core\n")
        with telling(engine):
            for kind in ASKED:
                window(service, kind, seconds=1.0)
                say(compared(service, process, kind))
        say(f"told {readers.told()}\n")
        readers.close()


if __name__ == "__main__":
    main()
