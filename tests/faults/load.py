"""Load on a real service: as much as it takes, or so much a second whatever it answers."""

from __future__ import annotations

import itertools
import json
import random
import statistics
import threading
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from typing import Any, Final

from tests.case.builders import demo
from tests.faults.running import Running

CALLERS: Final = 12  # more than there are threads and cores: there is always one who waits
AT_ONCE: Final = 200  # requests that may be under way when they come whatever is answered
VARIANTS: Final = 500
SAMPLE_S: Final = 0.5
IDLE_S: Final = 3.0  # the service ends what was idle for 5 s
KB: Final = 1024
HEAD: Final = {"Content-Type": "application/json"}
NUMBERS: Final = itertools.count()
CASE: Final[dict[str, Any]] = demo("gear-stuck")


def another() -> bytes:
    """The case with fuel and mass that few requests before had, so that not all is remembered."""
    more_kg = next(NUMBERS) % VARIANTS / 10
    fuel = {**CASE["fuel"], "on_board_kg": CASE["fuel"]["on_board_kg"] + more_kg}
    aircraft = {**CASE["aircraft"], "mass_kg": CASE["aircraft"]["mass_kg"] + more_kg}
    return json.dumps({**CASE, "fuel": fuel, "aircraft": aircraft}).encode()


@dataclass(kw_only=True)
class Load:
    """What came back: seconds of each that was recorded, and everything else. `sent`: how many."""

    took_s: list[float] = field(default_factory=list)
    other: list[int | str] = field(default_factory=list)
    seconds: float = 0.0
    sent: int = 0

    @property
    def rate(self) -> float:
        """Recorded in a second."""
        return len(self.took_s) / self.seconds

    def percentile_s(self, percent: int) -> float:
        return statistics.quantiles(self.took_s, n=100, method="inclusive")[percent - 1]


class Poster:
    """One connection for each thread that posts."""

    def __init__(self, service: Running) -> None:
        self._port, self._own = service.port, threading.local()
        self._all: list[HTTPConnection] = []

    def __enter__(self) -> Poster:
        return self

    def __exit__(self, *_: object) -> None:
        for each in self._all:
            each.close()

    def post(self, load: Load, *, since_s: float | None = None) -> None:
        """Have a decision recorded; its time counts from when it should have begun."""
        begun_s = time.monotonic() if since_s is None else since_s
        try:
            status = self._status()
        except (OSError, HTTPException) as error:
            self._own.connection = None
            load.other.append(type(error).__name__)
            return
        if status == 201:
            load.took_s.append(time.monotonic() - begun_s)
        else:
            load.other.append(status)

    def _status(self) -> int:
        connection: HTTPConnection | None = getattr(self._own, "connection", None)
        if connection is None or time.monotonic() > self._own.used_s + IDLE_S:
            connection = self._own.connection = HTTPConnection("127.0.0.1", self._port, timeout=60)
            self._all.append(connection)
        connection.request("POST", "/v1/decisions", another(), HEAD)
        answer = connection.getresponse()
        answer.read()
        self._own.used_s = time.monotonic()
        return answer.status


def at_saturation(service: Running, seconds: float, *, callers: int = CALLERS) -> Load:
    """Callers who post one case after another, each as soon as it can."""
    load, begun_s = Load(), time.monotonic()

    def go_on(poster: Poster) -> None:
        while time.monotonic() < begun_s + seconds:
            poster.post(load)

    with Poster(service) as poster, ThreadPoolExecutor(callers) as pool:
        for _ in range(callers):
            pool.submit(go_on, poster)
    load.seconds = time.monotonic() - begun_s
    return load


def arriving(service: Running, seconds: float, *, rate: float) -> Load:
    """Requests that come by chance, so many a second on average, whatever has been answered."""
    load, chance = Load(), random.Random(20261130)  # noqa: S311 - no secret
    begun_s = at_s = time.monotonic()
    with Poster(service) as poster, ThreadPoolExecutor(AT_ONCE) as pool:
        while (at_s := at_s + chance.expovariate(rate)) < begun_s + seconds:
            time.sleep(max(0.0, at_s - time.monotonic()))
            pool.submit(poster.post, load, since_s=at_s)
            load.sent += 1
    load.seconds = time.monotonic() - begun_s
    return load


@contextmanager
def memory_of(service: Running) -> Iterator[list[tuple[float, float]]]:
    """Samples of the memory of all its processes, MB, what they share counted once; since when."""
    samples: list[tuple[float, float]] = []
    ended, begun_s = threading.Event(), time.monotonic()

    def look() -> None:
        while True:
            samples.append((time.monotonic() - begun_s, memory_mb(service)))
            if ended.wait(SAMPLE_S):
                return

    thread = threading.Thread(target=look)
    thread.start()
    try:
        yield samples
    finally:
        ended.set()
        thread.join(10)


def memory_mb(service: Running) -> float:
    """Of all processes, by the share that each has of what they share (PSS)."""
    processes = (service.process.pid, *service.children())
    return sum(_pss_kb(each) for each in processes) / KB


def _pss_kb(process: int) -> int:
    for line in Path(f"/proc/{process}/smaps_rollup").read_text().splitlines():
        if line.startswith("Pss:"):
            return int(line.split()[1])
    raise ValueError(f"no PSS of {process}")
