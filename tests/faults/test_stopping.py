"""A stop loses no request that was accepted, and no decision that was acknowledged."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.store.engines import engine_for, reading
from service.store.proof import proof_of
from tests.counts import ROUNDS, ROUNDS_OF_ANOTHER
from tests.faults.callers import CALLERS, Callers, recorded, recorded_at
from tests.faults.conftest import Seen
from tests.faults.running import Running, running
from tests.service import postgresql


@pytest.mark.fault(
    "SIGTERM with twelve callers at work",
    "no accepted request is reset, all acknowledged are recorded",
)
@pytest.mark.parametrize("round_", range(2))
def test_a_stop_answers_all_who_were_accepted(tmp_path: Path, round_: int, seen: Seen) -> None:
    del round_
    with running(tmp_path) as service:
        with Callers(service) as callers:
            callers.wait_for(2 * CALLERS)
            assert service.stop() == 0
        seen("acknowledged", len(callers.acknowledged), "")
        assert callers.lost == []
        assert len(callers.acknowledged) > CALLERS
        assert set(callers.acknowledged) == recorded(tmp_path)


@pytest.mark.fault(
    "kill -9 of a worker",
    "nothing acknowledged is lost, the service goes on",
)
def test_a_worker_that_is_killed_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        with Callers(service, ends_at_first=False) as callers:
            for number in (1, 2):
                callers.wait_for(number * CALLERS)
                os.kill(service.workers()[0], signal.SIGKILL)
            callers.wait_for(3 * CALLERS)
            callers.end()
        service.stop()
        found = recorded(tmp_path)
        assert set(callers.acknowledged) <= found
        assert len(callers.acknowledged) == len(set(callers.acknowledged)) > CALLERS


def kill_worker(service: Running) -> None:
    os.kill(service.workers()[0], signal.SIGKILL)


def kill_all(service: Running) -> None:
    os.killpg(service.process.pid, signal.SIGKILL)
    service.process.wait(20)


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Which kind of store, and its address."""
    if request.param == "SQLite":
        yield request.param, f"sqlite:///{tmp_path / 'decisions.sqlite3'}"
        return
    with postgresql.running() as address:
        if address is None:
            pytest.skip("PostgreSQL is not installed")
        yield request.param, address


@pytest.mark.fault(
    "kill -9 of a worker, of the whole group, in turns, in each round with requests in flight",
    "nothing acknowledged is lost or doubled, the chain is whole",
)
def test_nothing_acknowledged_is_lost_or_doubled_however_often_processes_are_killed(
    tmp_path: Path, store: tuple[str, str], seen: Seen
) -> None:
    """Rounds on one store, in each of which something is in flight when the blow falls."""
    kind, address = store
    rounds = ROUNDS_OF_ANOTHER if kind == "PostgreSQL" else ROUNDS - ROUNDS_OF_ANOTHER
    acknowledged, sent = list[str](), 0
    for number in range(rounds):
        with (
            running(tmp_path, APPROACH_STORE=address) as service,
            Callers(service, keyed=True) as callers,
        ):
            callers.wait_for(CALLERS)
            assert callers.in_flight > 0
            (kill_all if number % 2 else kill_worker)(service)
            if service.process.poll() is None:
                callers.wait_for(2 * CALLERS)
                callers.end()
        acknowledged += callers.acknowledged
        sent += callers.sent
    found = recorded_at(address)
    seen(f"{kind}: rounds", rounds, "")
    seen(f"{kind}: sent", sent, "")
    seen(f"{kind}: acknowledged", len(acknowledged), "")
    seen(f"{kind}: recorded", len(found), "")
    assert len(acknowledged) == len(set(acknowledged)) >= rounds * CALLERS
    assert set(acknowledged) <= found
    assert len(found) <= sent, "what was sent once is recorded once at most"
    engine = engine_for(address, timeout_s=5)
    with reading(engine) as connection:
        assert proof_of(connection).breaks == ()
    engine.dispose()
