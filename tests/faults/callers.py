"""Callers who post one case after another while something happens to the service."""

from __future__ import annotations

import threading
import time
import urllib.error
import uuid
from http.client import HTTPException
from pathlib import Path
from typing import Any, Final

from service.store import SqlDecisionLog
from tests.faults.running import Running
from tests.service.builders import body

CALLERS: Final = 12
CASE: Final[dict[str, Any]] = body(
    destination={
        "icao": "XAAA",
        "elevation_ft": 100,
        "runways": [{"ident": "09", "true_bearing_deg": 90, "lda_m": 2500}],
        "approaches": [],
        "track_nm": 30,
    },
    alternates=[],
)


class Callers:
    """Callers over a new connection for each request, until they are refused or end.

    `acknowledged`: the ids that came with a 201; `lost`: what went wrong in another way than being
    refused; `sent`: how many requests. With `keyed` each request has a key of its own.
    `ends_at_first`: a caller ends with the first thing that goes wrong.
    """

    def __init__(
        self, service: Running, *, keyed: bool = False, ends_at_first: bool = True
    ) -> None:
        self._service, self._keyed, self._ends = service, keyed, ends_at_first
        self.acknowledged: list[str] = []
        self.lost: list[BaseException | int] = []
        self.in_flight = self.sent = 0
        self._ended = threading.Event()
        self._lock = threading.Lock()
        self._threads = [threading.Thread(target=self._post) for _ in range(CALLERS)]

    def __enter__(self) -> Callers:
        for each in self._threads:
            each.start()
        return self

    def __exit__(self, *_: object) -> None:
        if not self._ends:
            self.end()
        for each in self._threads:
            each.join(90)

    def end(self) -> None:
        """No further request."""
        self._ended.set()

    def wait_for(self, number: int) -> None:
        """Until so many have been acknowledged."""
        until_s = time.monotonic() + 60.0
        while len(self.acknowledged) < number and time.monotonic() < until_s:
            time.sleep(0.01)

    def _count(self, more: int) -> None:
        with self._lock:
            self.in_flight += more
            self.sent += max(0, more)

    def _post(self) -> None:
        while not self._ended.is_set():
            key = {"Idempotency-Key": str(uuid.uuid4())} if self._keyed else {}
            self._count(1)
            try:
                answer = self._service.ask("/v1/decisions", CASE, headers=key)
            except (OSError, HTTPException) as error:
                refused = isinstance(error, urllib.error.URLError) and isinstance(
                    error.reason, ConnectionRefusedError
                )
                if not refused:
                    self.lost.append(error)
                if self._ends:
                    return
                time.sleep(0.05)
            else:
                self._take(answer.status, answer.content and answer.json())
            finally:
                self._count(-1)

    def _take(self, status: int, told: Any) -> None:
        if status == 201:
            self.acknowledged.append(told["id"])
        elif status == 503:
            time.sleep(0.05)
        else:
            self.lost.append(status)


def recorded(folder: Path) -> set[str]:
    """The decisions in the store of a folder."""
    return recorded_at(f"sqlite:///{folder / 'decisions.sqlite3'}")


def recorded_at(store: str) -> set[str]:
    """The decisions in a store."""
    log = SqlDecisionLog.open(store, timeout_s=5)
    found = {each.decision_id for each in log.of_flight("XA 101", limit=100_000)}
    log.close()
    return found
