"""A stop loses no request that was accepted, and no decision that was acknowledged."""

from __future__ import annotations

import os
import signal
import threading
import time
import urllib.error
from http.client import HTTPException
from pathlib import Path
from typing import Any

import pytest

from service.store import SqlDecisionLog
from tests.faults.running import Running, running
from tests.service.builders import body

CALLERS = 12
REFUSED = (ConnectionRefusedError,)


class Callers:
    """Callers who post one case after another, each over a new connection, until refused."""

    def __init__(self, service: Running) -> None:
        self._service = service
        self.acknowledged: list[str] = []
        self.lost: list[BaseException | int] = []
        self._threads = [threading.Thread(target=self._post) for _ in range(CALLERS)]

    def __enter__(self) -> Callers:
        for each in self._threads:
            each.start()
        return self

    def __exit__(self, *_: object) -> None:
        for each in self._threads:
            each.join(60)

    def wait_for(self, number: int) -> None:
        """Until so many have been acknowledged."""
        until_s = time.monotonic() + 60.0
        while len(self.acknowledged) < number and time.monotonic() < until_s:
            time.sleep(0.01)

    def _post(self) -> None:
        while True:
            try:
                answer = self._service.ask("/v1/decisions", CASE)
            except urllib.error.URLError as error:
                if not isinstance(error.reason, REFUSED):
                    self.lost.append(error)
                return
            except (OSError, HTTPException) as error:
                self.lost.append(error)
                return
            if answer.status == 201:
                self.acknowledged.append(answer.json()["id"])
            elif answer.status != 503:
                self.lost.append(answer.status)


CASE: dict[str, Any] = body(
    destination={
        "icao": "XAAA",
        "elevation_ft": 100,
        "runways": [{"ident": "09", "true_bearing_deg": 90, "lda_m": 2500}],
        "approaches": [],
        "track_nm": 30,
    },
    alternates=[],
)


def recorded(folder: Path) -> set[str]:
    log = SqlDecisionLog.open(f"sqlite:///{folder / 'decisions.sqlite3'}", timeout_s=5)
    found = {each.decision_id for each in log.of_flight("XA 101", limit=100_000)}
    log.close()
    return found


@pytest.mark.parametrize("round_", range(2))
def test_a_stop_answers_all_who_were_accepted(tmp_path: Path, round_: int) -> None:
    del round_
    with running(tmp_path) as service:
        with Callers(service) as callers:
            callers.wait_for(2 * CALLERS)
            assert service.stop() == 0
        assert callers.lost == []
        assert len(callers.acknowledged) > CALLERS
        assert set(callers.acknowledged) == recorded(tmp_path)


def test_a_worker_that_is_killed_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        with Callers(service) as callers:
            for number in (1, 2):
                callers.wait_for(number * CALLERS)
                os.kill(service.workers()[0], signal.SIGKILL)
            callers.wait_for(3 * CALLERS)
            service.stop()
        found = recorded(tmp_path)
        assert set(callers.acknowledged) <= found
        assert len(callers.acknowledged) == len(set(callers.acknowledged)) > CALLERS
