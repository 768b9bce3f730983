"""The process of streams is killed, and the first one is: nobody misses a thing, nothing stays."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from tests.counts import PROPERTY_CASES, QUICK
from tests.faults.conftest import Seen
from tests.faults.running import running
from tests.streams.builders import Listener, store_of, write_many, written
from tests.streams.test_events import streams_of

KILLS = 1 if PROPERTY_CASES <= QUICK else 10


@pytest.mark.fault(
    "kill -9 of the process of event streams, and of the server's first process",
    "streams end, who comes back is told what was missed; no process stays behind",
)
def test_who_comes_back_after_a_kill_has_missed_nothing(tmp_path: Path, seen: Seen) -> None:
    with (
        running(tmp_path) as service,
        store_of(f"sqlite:///{tmp_path / 'decisions.sqlite3'}") as engine,
    ):
        told: list[str] = []
        names: list[str] = []
        last_id: str | None = None
        for _ in range(KILLS):
            with Listener.at(service.port, {}, last_id=last_id) as listener:
                listener.begun()
                told += listener.ids(len(names) - len(told))
                names.append(written(engine))
                told += listener.ids(1)
                (process,) = streams_of(service)
                os.kill(process, signal.SIGKILL)
                assert listener.ends() < 5.0
                last_id = listener.last_id
            names += write_many(engine, 3)
            begun_s = time.monotonic()
            with Listener.at(service.port, {}, last_id=last_id) as again:
                told += again.ids(3)
                last_id = again.last_id
            seen("told again after", time.monotonic() - begun_s, "s")
        assert told == names
        (process,) = streams_of(service)
        with Listener.at(service.port, {}) as listener:
            listener.begun()
            os.kill(service.process.pid, signal.SIGKILL)
            assert listener.ends() < 5.0
        service.process.wait(10)
        time.sleep(0.5)
        assert _has_ended(process)


def _has_ended(number: int) -> bool:
    """Whether a process is gone, or only its entry is left for a parent that does not look."""
    try:
        return Path(f"/proc/{number}/cmdline").read_bytes() == b""
    except OSError:
        return True
