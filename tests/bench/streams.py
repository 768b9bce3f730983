"""What a thousand open event streams cost other requests: `python -m tests.bench.streams`.

A real service; rounds without streams and rounds with them follow each other in one run, with one
caller who asks and waits. In half of the rounds with streams an event is told to all of them each
second. Run it on a quiet machine: what is compared is the slowest of a hundred.
"""

from __future__ import annotations

import http.client
import json
import os
import resource
import selectors
import socket
import statistics
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, nullcontext
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Final

from sqlalchemy import Engine

from tests.case.builders import demo
from tests.faults.running import Running, running
from tests.streams.builders import store_of, written
from tests.streams.test_events import streams_of

STREAMS: Final = 1_000
ROUNDS: Final = 6
REQUESTS: Final = 1_000
CASE: Final = json.dumps(demo("clean")).encode()
ASKED: Final = {
    "read": ("GET", "/v1/aerodromes/XKAL", None),
    "decide": ("POST", "/v1/decisions?record=false", CASE),
}
SHARE: Final = {"read": 1.0, "decide": 0.2}  # of the requests
HEAD: Final = b"GET /v1/events HTTP/1.1\r\nHost: x\r\nAccept: text/event-stream\r\n\r\n"


class Readers:
    """Streams that are open, and a thread that reads what comes over them."""

    def __init__(self, service: Running) -> None:
        self._selector = selectors.DefaultSelector()
        self._open = ExitStack()
        self.told = 0
        for _ in range(STREAMS):
            caller = self._open.enter_context(service.connected(HEAD))
            if not caller.recv(4_096).startswith(b"HTTP/1.1 200"):
                raise RuntimeError("a stream was refused")
            caller.setblocking(False)
            self._selector.register(caller, selectors.EVENT_READ)
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._read)
        self._thread.start()

    def _read(self) -> None:
        while not self._ended.is_set():
            for key, _ in self._selector.select(0.2):
                caller = key.fileobj
                if isinstance(caller, socket.socket):
                    self.told += caller.recv(65_536).count(b"\nevent: ")

    def close(self) -> None:
        """Leave."""
        self._ended.set()
        self._thread.join()
        self._selector.close()
        self._open.close()


@contextmanager
def telling(engine: Engine) -> Iterator[None]:
    """An event each second."""
    ended = threading.Event()

    def tell() -> None:
        while not ended.wait(1.0):
            written(engine, size=1_000)

    thread = threading.Thread(target=tell)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()


def asked_s(service: Running, kind: str) -> list[float]:
    """How long each of some requests took."""
    method, path, body = ASKED[kind]
    connection = http.client.HTTPConnection("127.0.0.1", service.port, timeout=60)
    took = []
    for _ in range(round(REQUESTS * SHARE[kind])):
        begun_s = time.perf_counter()
        connection.request(method, path, body, {"Content-Type": "application/json"})
        answer = connection.getresponse()
        answer.read()
        took.append(time.perf_counter() - begun_s)
        if answer.status != 200:
            raise RuntimeError(f"{path}: {answer.status}")
    connection.close()
    return took


def processor_s(service: Running) -> float:
    """What the process of streams has taken of a processor."""
    (process,) = streams_of(service)
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def p99(took: list[float]) -> float:
    """The slowest of a hundred, in milliseconds."""
    return statistics.quantiles(took, n=100)[98] * 1_000


def main() -> None:
    """Print both, and how they compare."""
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 8 * STREAMS), hard))
    took: dict[tuple[str, str], list[float]] = {}
    rounds: dict[tuple[str, str], list[float]] = {}
    shares: dict[str, list[float]] = {}  # of a processor
    with TemporaryDirectory(prefix="approach-bench-") as name, running(Path(name)) as service:
        with store_of(f"sqlite:///{Path(name) / 'decisions.sqlite3'}") as engine:
            for kind in ASKED:
                asked_s(service, kind)
            for number in range(ROUNDS * 2):
                _one(service, "none", took, rounds)
                begun_s = time.monotonic()
                readers = Readers(service)
                opened_s = time.monotonic() - begun_s
                name_of = "open, an event a second" if number % 2 else "open"
                begun_s, used_s = time.monotonic(), processor_s(service)
                with telling(engine) if number % 2 else nullcontext():
                    _one(service, name_of, took, rounds)
                used_s = processor_s(service) - used_s
                shares.setdefault(name_of, []).append(used_s / (time.monotonic() - begun_s))
                told = readers.told
                readers.close()
                time.sleep(0.5)
        print(f"{STREAMS} streams were opened in {opened_s:.1f} s; the last round told {told}")
    for streams, found in shares.items():
        print(f"{streams}: the process of streams takes {statistics.median(found):.1%} of a core")
    for kind in ASKED:
        without = statistics.median(rounds[kind, "none"])
        for streams in ("none", "open", "open, an event a second"):
            median_ms = statistics.median(took[kind, streams]) * 1_000
            of_rounds = statistics.median(rounds[kind, streams])
            sys.stdout.write(
                f"{kind:<8} {streams:<26} p50 {median_ms:7.2f} ms   p99 of all"
                f" {p99(took[kind, streams]):7.2f} ms   median p99 of rounds {of_rounds:7.2f} ms"
                f"   {of_rounds / without:5.2f}\n"
            )


def _one(
    service: Running,
    streams: str,
    took: dict[tuple[str, str], list[float]],
    rounds: dict[tuple[str, str], list[float]],
) -> None:
    for kind in ASKED:
        found = asked_s(service, kind)
        took.setdefault((kind, streams), []).extend(found)
        rounds.setdefault((kind, streams), []).append(p99(found))


if __name__ == "__main__":
    main()
