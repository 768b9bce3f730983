"""Watches over kills, stops and several instances: nothing is lost, nothing is written twice."""

from __future__ import annotations

import json
import os
import signal
import time
from collections import defaultdict
from collections.abc import Iterable, Mapping
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from service.store.engines import engine_for, reading
from service.store.proof import proof_of
from service.store.tables import EVENTS
from tests.bench.watching import AIM_S
from tests.bench.watching import run as measured
from tests.counts import PROPERTY_CASES, QUICK
from tests.faults.conftest import Seen
from tests.faults.running import Running, running
from tests.watch.running import fine, fog, is_running, told, until_so, watch, watchers

WATCHES = 12
SETTINGS = {"APPROACH_MOST_WATCHES": "1000", "APPROACH_WORKERS": "1"}
PATIENCE_S = 120.0
MANY = PROPERTY_CASES > QUICK
KILLS = 12 if MANY else 3  # in turns; each report is a minute newer than the one before
ENDINGS = (signal.SIGKILL, signal.SIGTERM) if MANY else (signal.SIGKILL,)

Events = Mapping[str, list[Any]]


def events_of(folder: Path) -> Events:
    """The events in the store of a folder by their watch, in their order."""
    store = engine_for(f"sqlite:///{folder / 'decisions.sqlite3'}", timeout_s=20)
    try:
        with reading(store) as connection:
            rows = connection.execute(
                select(EVENTS.c.watch_id, EVENTS.c.body).order_by(EVENTS.c.sequence)
            ).all()
    finally:
        store.dispose()
    found: dict[str, list[Any]] = defaultdict(list)
    for row in rows:
        found[row.watch_id].append(json.loads(row.body))
    return found


def whole(folder: Path) -> bool:
    """Whether the chain of records is whole."""
    store = engine_for(f"sqlite:///{folder / 'decisions.sqlite3'}", timeout_s=20)
    try:
        with reading(store) as connection:
            return proof_of(connection, sign=None).breaks == ()
    finally:
        store.dispose()


def turns(events: Iterable[Any]) -> list[tuple[str, str]]:
    """Each change of verdict, from what to what."""
    return [
        (each["changed"]["verdict"]["from"], each["changed"]["verdict"]["to"])
        for each in events
        if "verdict" in each["what"]
    ]


def require_one_each(found: Events, ids: Iterable[str], *, rounds: int) -> None:
    """Every watch has told each turn once, and each event goes on from the one before it."""
    for identity in ids:
        told_turns = turns(found[identity])
        assert len(told_turns) == rounds, (identity, told_turns)
        for (_, now), (then, _) in pairwise(told_turns):
            assert now == then
        names = [each["event_id"] for each in found[identity]]
        assert len(names) == len({*names})


def looked_at(service: Running, ids: Iterable[str]) -> None:
    """Wait until all have been looked at once."""
    until_so(lambda: all(told(service, each)["looked"] for each in ids), seconds=PATIENCE_S)


def kill_watcher(service: Running) -> None:
    own, *_ = watchers(service)
    os.kill(own, signal.SIGKILL)


def kill_crew(service: Running) -> None:
    with suppress(ProcessLookupError):
        os.kill(watchers(service)[-1], signal.SIGKILL)


def kill_all(service: Running) -> None:
    os.killpg(service.process.pid, signal.SIGKILL)
    service.process.wait(20)


@pytest.mark.fault(
    "kill -9 of the watcher, of its crew, of the whole group, in turns, while it decides",
    "a report that was acknowledged is heard by every watch, no event is lost or written twice",
)
def test_no_event_is_lost_or_doubled_however_often_processes_are_killed(
    tmp_path: Path, seen: Seen
) -> None:
    blows = (kill_watcher, kill_crew, kill_all)
    rounds = KILLS
    ids: list[str] = []
    number, first_at = 0, datetime.now(UTC) - timedelta(minutes=10)
    while number < rounds:
        with running(tmp_path, **SETTINGS) as service:
            ids = ids or [watch(service, flight_id=f"XA {each}")["id"] for each in range(WATCHES)]
            looked_at(service, ids)
            while number < rounds and service.process.poll() is None:
                number += 1
                issued_at = first_at + timedelta(minutes=number)  # each newer than the one before
                text = fog(issued_at) if number % 2 else fine(issued_at)
                answer = service.ask("/v1/reports", {"reports": [text]})
                assert answer.json()["watches_touched"] == WATCHES
                time.sleep(0.05 * (number % 5))
                blows[(number - 1) % len(blows)](service)
                begun_s = time.monotonic()
                if service.process.poll() is None:
                    _wait_for(tmp_path, ids, rounds=number)
                    seen("heard by all within", time.monotonic() - begun_s, "s")
        with running(tmp_path, **SETTINGS):
            _wait_for(tmp_path, ids, rounds=number)
    require_one_each(events_of(tmp_path), ids, rounds=rounds)
    assert whole(tmp_path)


def _wait_for(folder: Path, ids: Iterable[str], *, rounds: int) -> None:
    def all_told() -> bool:
        found = events_of(folder)
        return all(len(turns(found[each])) >= rounds for each in ids)

    until_so(all_told, seconds=PATIENCE_S)


@pytest.mark.fault(
    "two instances of the service on one store, reports to either",
    "every watch tells each change once",
)
@pytest.mark.skipif(not MANY, reason="two services: the long tier")
def test_two_instances_look_at_a_watch_once(tmp_path: Path) -> None:
    store = {"APPROACH_STORE": f"sqlite:///{tmp_path / 'decisions.sqlite3'}"}
    folders = [tmp_path / name for name in ("one", "other")]
    for each in folders:
        each.mkdir()
    first_at = datetime.now(UTC) - timedelta(minutes=10)
    with (
        running(folders[0], **SETTINGS, **store) as one,
        running(folders[1], **SETTINGS, **store) as other,
    ):
        ids = [watch(one, flight_id=f"XA {each}")["id"] for each in range(WATCHES)]
        looked_at(other, ids)
        for number, (service, report) in enumerate(((one, fog), (other, fine)), 1):
            issued_at = first_at + timedelta(minutes=number)
            answer = service.ask("/v1/reports", {"reports": [report(issued_at)]})
            assert answer.json()["watches_touched"] == WATCHES
            _wait_for(tmp_path, ids, rounds=number)
        time.sleep(0.5)
    require_one_each(events_of(tmp_path), ids, rounds=2)
    assert whole(tmp_path)


@pytest.mark.fault(
    "SIGTERM, and kill -9 of the first process, while watches are open",
    "watcher and crew end with it",
)
@pytest.mark.parametrize("how", ENDINGS)
def test_nobody_looks_when_the_service_has_ended(tmp_path: Path, how: signal.Signals) -> None:
    with running(tmp_path, **SETTINGS) as service:
        looked_at(service, [watch(service)["id"]])
        processes = [*watchers(service), *service.workers()]
        assert len(processes) >= 3  # with the one that multiprocessing keeps
        service.process.send_signal(how)
        service.process.wait(40)
        until_so(lambda: not any(map(is_running, processes)), seconds=30)


@pytest.mark.fault(
    "one report touches 500 watches of two alternates, and makes 50 of them worse",
    "the last of these is with its receiver 5 s after the 202",
)
@pytest.mark.skipif(not MANY, reason="takes both processors for itself: the long tier")
def test_a_worse_verdict_among_many_watches_is_delivered_in_time(seen: Seen) -> None:
    """Where all 500 become worse the last takes longer, which is told and not promised."""
    found, all_worse = measured(500, 50), measured(500, 500)
    seen("last after", found.at(1.0), "s")
    seen("of 500 that all become worse half after", all_worse.at(0.5), "s")
    seen("last of them after", all_worse.at(1.0), "s")
    assert (len(found.took_s), len(all_worse.took_s)) == (50, 500)
    assert found.at(1.0) <= AIM_S
