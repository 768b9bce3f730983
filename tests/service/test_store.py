from __future__ import annotations

import signal
import subprocess
import sys
import threading
import time
import zlib
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import delete, func, select, text, update

from service.settings import ROOT
from service.store import (
    DamagedDecision,
    Draft,
    KeyInProgress,
    KeyReused,
    Record,
    Replay,
    Reservation,
    SqlDecisionLog,
    StoreDamaged,
    StoredDecision,
    StoreUnavailable,
    keys,
)
from service.store.engines import engine_for
from service.store.keys import ABANDONED_AFTER
from service.store.port import FORMAT, digest
from service.store.tables import DECISIONS, KEYS
from tests.changing import replace
from tests.service.builders import T0

WRITERS, DECISIONS_EACH = 8, 25


@pytest.fixture
def store(address: str) -> Iterator[SqlDecisionLog]:
    opened = SqlDecisionLog.open(address, timeout_s=5)
    yield opened
    opened.close()


def draft(identity: str = "d-1", response: bytes = b'{"id":"d-1"}\n', **changes: Any) -> Draft:
    values: dict[str, Any] = {
        "decision_id": identity,
        "flight_id": "XA 101",
        "as_of": "2026-01-31T06:00:00Z",
        "verdict": "GO",
        "created_at": T0,
        "request": b'{"flight_id": "XA 101"}',
        "response": response,
    }
    return Draft(**(values | changes))


def reserve(store: SqlDecisionLog, identity: str, *, body: bytes = b"{}", **late: Any) -> Any:
    at = T0 + timedelta(**late)
    return store.reserve(key="k", request=body, decision_id=identity, at=at)


def test_what_is_recorded_is_found_byte_for_byte(store: SqlDecisionLog) -> None:
    response = bytes(range(256))
    store.record(draft(response=response))
    assert store.find("d-1") == Record(
        decision_id="d-1", response=response, digest=digest(response), format=FORMAT
    )


@pytest.mark.parametrize("whole", [None, b"", b"{}" * 50_000])
def test_all_that_is_kept_of_a_decision_is_told(store: SqlDecisionLog, whole: bytes | None) -> None:
    given = draft(whole=whole, format=2)
    store.record(given)
    told = store.told("d-1")
    assert told is not None
    assert (told.request, told.response, told.whole) == (given.request, given.response, whole)
    assert told.format == 2
    assert store.of_flight("XA 101", limit=1) == [replace(told, whole=None)]


def test_what_is_recorded_is_kept_compressed(store: SqlDecisionLog) -> None:
    store.record(draft(response=b"{}" * 50_000))
    with store._read() as connection:
        assert connection.scalars(select(func.length(DECISIONS.c.response))).one() < 500


def test_what_is_not_recorded_is_not_found(store: SqlDecisionLog) -> None:
    assert store.find("d-1") is None
    assert store.told("d-1") is None
    assert store.count() == 0


def test_records_outlive_the_process(store: SqlDecisionLog, address: str) -> None:
    store.record(draft())
    store.close()
    again = SqlDecisionLog.open(address, timeout_s=5)
    assert again.find("d-1") is not None
    again.close()


@pytest.mark.parametrize(
    "altered", [b"altered", zlib.compress(b"altered")], ids=["plain", "compressed"]
)
def test_a_record_that_was_altered_is_never_handed_out(
    store: SqlDecisionLog, altered: bytes
) -> None:
    store.record(draft())
    with store._write() as connection:
        connection.execute(update(DECISIONS).values(response=altered))
    with pytest.raises(StoreDamaged, match="d-1"):
        store.find("d-1")


def test_an_id_is_never_recorded_twice(store: SqlDecisionLog) -> None:
    store.record(draft())
    with pytest.raises(StoreUnavailable):
        store.record(draft(response=b"other"))
    assert store.count() == 1


def test_a_finished_key_is_replayed_under_the_first_id(store: SqlDecisionLog) -> None:
    claim = reserve(store, "d-1")
    assert claim == Reservation(key="k", decision_id="d-1")
    recorded = store.record(draft(), claim)
    assert reserve(store, "d-2") == Replay(record=recorded)


def test_a_key_in_use_is_refused_until_it_is_released(store: SqlDecisionLog) -> None:
    claim = reserve(store, "d-1")
    with pytest.raises(KeyInProgress):
        reserve(store, "d-2")
    store.release(claim)
    assert reserve(store, "d-2") == Reservation(key="k", decision_id="d-2")


@pytest.mark.parametrize("finished", [True, False])
def test_a_key_belongs_to_its_body(store: SqlDecisionLog, finished: bool) -> None:
    claim = reserve(store, "d-1")
    if finished:
        store.record(draft(), claim)
    with pytest.raises(KeyReused):
        reserve(store, "d-2", body=b"[]")


HOLD_A_KEY = """
import sys, time
from datetime import UTC, datetime
from service.store import SqlDecisionLog
log = SqlDecisionLog.open(sys.argv[1], timeout_s=20)
log.reserve(key="k", request=b"{}", decision_id="d-1", at=datetime(2026, 1, 31, 6, tzinfo=UTC))
print("held", flush=True)
time.sleep(600)
"""


@contextmanager
def process_that_holds_the_key(address: str) -> Iterator[subprocess.Popen[bytes]]:
    command = [sys.executable, "-c", HOLD_A_KEY, address]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE) as held:
        try:
            assert held.stdout is not None
            assert held.stdout.readline() == b"held\n"
            yield held
        finally:
            held.kill()


def soon(store: SqlDecisionLog, identity: str) -> Any:
    """The claim of a key as soon as its owner is seen to be dead; a server must notice it first."""
    until = time.monotonic() + 10
    while True:
        try:
            return reserve(store, identity)
        except KeyInProgress:
            if time.monotonic() > until:
                raise
            time.sleep(0.02)


def test_a_key_of_a_process_that_died_is_taken_over_at_once(
    store: SqlDecisionLog, address: str
) -> None:
    with process_that_holds_the_key(address) as held:
        with pytest.raises(KeyInProgress):
            reserve(store, "d-2")
        held.kill()
        held.wait(20)
        assert soon(store, "d-3") == Reservation(key="k", decision_id="d-3")
    dead = Reservation(key="k", decision_id="d-1")
    with pytest.raises(KeyInProgress):
        store.record(draft(), dead)
    store.release(dead)  # no longer its own to give back
    assert store.count() == 0
    recorded = store.record(draft("d-3"), Reservation(key="k", decision_id="d-3"))
    assert reserve(store, "d-4") == Replay(record=recorded)


def test_a_process_that_is_stopped_keeps_its_key(store: SqlDecisionLog, address: str) -> None:
    with process_that_holds_the_key(address) as held:
        held.send_signal(signal.SIGSTOP)
        with pytest.raises(KeyInProgress):
            reserve(store, "d-2", hours=1)


def test_a_key_that_could_not_be_given_back_is_free_for_the_same_process(
    store: SqlDecisionLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    claim = reserve(store, "d-1")

    def away(_engine: object) -> None:
        raise StoreUnavailable("away")

    with monkeypatch.context() as patched:
        patched.setattr(keys, "writing", away)
        with pytest.raises(StoreUnavailable):
            store.release(claim)
    assert reserve(store, "d-2") == Reservation(key="k", decision_id="d-2")


@pytest.mark.parametrize("owner", [None, "process 1 2 elsewhere", "host 1"])
def test_a_key_of_an_owner_of_whom_nobody_can_say_is_taken_over_when_it_is_old(
    store: SqlDecisionLog, owner: str | None
) -> None:
    reserve(store, "d-1")
    with store._write() as connection:
        connection.execute(update(KEYS).values(owner=owner))
    with pytest.raises(KeyInProgress):
        reserve(store, "d-2", seconds=ABANDONED_AFTER.total_seconds() - 1)
    heir = reserve(store, "d-3", seconds=ABANDONED_AFTER.total_seconds())
    assert heir == Reservation(key="k", decision_id="d-3")


def test_a_session_that_was_ended_is_begun_again_under_its_number(
    store: SqlDecisionLog, address: str
) -> None:
    if "sqlite" in address:
        pytest.skip("no sessions")
    before = store._owners.me()
    with store._write() as connection:
        connection.execute(
            text(
                "SELECT pg_terminate_backend(pid) FROM pg_locks WHERE locktype = 'advisory'"
                " AND pid <> pg_backend_pid()"
            )
        )
    assert store._owners.me() == before
    reserve(store, "d-1")
    other = SqlDecisionLog.open(address, timeout_s=5)
    with pytest.raises(KeyInProgress):
        other.reserve(key="k", request=b"{}", decision_id="d-2", at=T0)
    other.close()


def test_of_many_that_claim_a_key_at_once_one_gets_it(store: SqlDecisionLog) -> None:
    barrier = threading.Barrier(WRITERS)

    def claim(number: int) -> str:
        barrier.wait(10)
        try:
            return type(reserve(store, f"d-{number}")).__name__
        except KeyInProgress:
            return "KeyInProgress"

    with ThreadPoolExecutor(WRITERS) as pool:
        outcomes = sorted(pool.map(claim, range(WRITERS)))
    assert outcomes == ["KeyInProgress"] * (WRITERS - 1) + ["Reservation"]


def test_many_writers_lose_nothing(store: SqlDecisionLog) -> None:
    def write(writer: int) -> None:
        for number in range(DECISIONS_EACH):
            store.record(draft(f"d-{writer}-{number}"))

    with ThreadPoolExecutor(WRITERS) as pool:
        list(pool.map(write, range(WRITERS)))
    assert store.count() == WRITERS * DECISIONS_EACH


def test_sqlite_keeps_a_log_beside_the_file_and_waits_for_its_turn(tmp_path: Path) -> None:
    engine = engine_for(f"sqlite:///{tmp_path / 'new' / 'd.sqlite3'}", timeout_s=7, make=True)
    with engine.begin() as connection:
        modes = [
            connection.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "busy_timeout", "synchronous", "foreign_keys")
        ]
    engine.dispose()
    assert modes == ["wal", 7000, 2, 1]


@pytest.mark.parametrize("address", ["sqlite:///:memory:", "sqlite:///"])
def test_sqlite_that_cannot_keep_a_log_beside_the_file_is_refused(address: str) -> None:
    with pytest.raises(StoreUnavailable, match="journal mode is 'memory'"):
        SqlDecisionLog.open(address, timeout_s=1)


def test_a_store_that_cannot_be_reached_is_said_to_be_unavailable(tmp_path: Path) -> None:
    (tmp_path / "folder.sqlite3").mkdir()
    with pytest.raises(StoreUnavailable):
        SqlDecisionLog.open(f"sqlite:///{tmp_path / 'folder.sqlite3'}", timeout_s=1)
    nowhere = f"postgresql+psycopg://u@/d?host={tmp_path}"
    with pytest.raises(StoreUnavailable):
        SqlDecisionLog.open(nowhere, timeout_s=1)


def test_a_key_released_between_two_looks_may_be_tried_again(
    store: SqlDecisionLog, monkeypatch: pytest.MonkeyPatch
) -> None:
    reserve(store, "d-1")
    taken_over: Callable[..., Any] = keys.Keys._taken_over

    def released_first(own: keys.Keys, connection: Any, row: dict[str, Any]) -> Any:
        connection.execute(delete(KEYS))
        return taken_over(own, connection, row)

    monkeypatch.setattr(keys.Keys, "_taken_over", released_first)
    with pytest.raises(KeyInProgress):
        reserve(store, "d-2")


def test_the_decisions_of_a_flight_come_newest_first_and_in_pages(store: SqlDecisionLog) -> None:
    for number in range(5):
        store.record(draft(decision_id=f"id-{number}", flight_id="XA 101"))
    store.record(draft(decision_id="id-9", flight_id="XB 202"))
    found = [each.decision_id for each in store.of_flight("XA 101", limit=3)]
    assert found == ["id-4", "id-3", "id-2"]
    older = [each.decision_id for each in store.of_flight("XA 101", limit=3, before="id-2")]
    assert older == ["id-1", "id-0"]
    assert store.of_flight("XC 303", limit=3) == []


def test_the_newest_decision_of_each_flight_is_found(store: SqlDecisionLog) -> None:
    for number, (flight, verdict) in enumerate(
        [("XA 1", "GO"), ("XB 2", "NO_GO"), ("XA 1", "NO_GO"), ("XC 3", "GO"), ("XB 2", "GO")]
    ):
        at = T0 + timedelta(minutes=number)
        made = draft(decision_id=f"id-{number}", flight_id=flight, verdict=verdict, created_at=at)
        store.record(made)

    def found(minutes: int, *, first: str = "", verdict: str | None = None) -> list[str]:
        since = T0 + timedelta(minutes=minutes)
        told = store.latest(first, since=since, verdict=verdict, limit=3, most=1)
        return [each.decision_id for history in told.values() for each in history]

    assert found(0) == ["id-4", "id-3", "id-2"]
    assert found(3) == ["id-4", "id-3"]
    assert found(0, first="id-4") == ["id-4"]
    assert found(0, verdict="NO_GO") == ["id-2"], "not one that a newer decision has replaced"
    assert found(5) == []
    assert len(store.latest("", since=T0, verdict=None, limit=1, most=1)) == 1


def test_before_the_newest_decision_of_a_flight_come_those_before_it(store: SqlDecisionLog) -> None:
    flights = ("XA 1", "XB 2", "XA 1", "XA 1", "XB 2", "XA 1", "XC 3")
    ages_min = (60, 60, 10, 5, 3, 90, 80)  # the clock was put back before the last two
    for number, (flight, age_min) in enumerate(zip(flights, ages_min, strict=True)):
        at = T0 - timedelta(minutes=age_min)
        store.record(draft(decision_id=f"id-{number}", flight_id=flight, created_at=at))

    def found(most: int) -> dict[str, list[str]]:
        since = T0 - timedelta(minutes=30)
        told = store.latest("", since=since, verdict=None, limit=3, most=most)
        return {flight: [each.decision_id for each in history] for flight, history in told.items()}

    assert found(1) == {"XB 2": ["id-4"], "XA 1": ["id-3"]}
    assert [*found(2)] == ["XB 2", "XA 1"], "the flight decided last comes first"
    assert found(2) == {"XB 2": ["id-4", "id-1"], "XA 1": ["id-3", "id-2"]}
    assert found(4) == {"XB 2": ["id-4", "id-1"], "XA 1": ["id-3", "id-2", "id-0"]}


@pytest.mark.parametrize("changed", [{"request": b"{}"}, {"response": b"{}"}])
def test_a_damaged_record_is_named_in_a_history_and_the_others_are_told(
    store: SqlDecisionLog, changed: dict[str, bytes]
) -> None:
    for number in range(3):
        store.record(draft(decision_id=f"id-{number}", flight_id="XA 101"))
    with store._engine.begin() as connection:
        connection.execute(
            update(DECISIONS).where(DECISIONS.c.decision_id == "id-1").values(**changed)
        )
    newest, damaged, oldest = store.of_flight("XA 101", limit=3)
    assert [newest.decision_id, oldest.decision_id] == ["id-2", "id-0"]
    assert isinstance(newest, StoredDecision)
    assert isinstance(damaged, DamagedDecision)
    assert damaged.decision_id == "id-1"
    assert "does not have its digest" in damaged.why


def test_a_body_changed_together_with_its_digest_is_not_handed_out(store: SqlDecisionLog) -> None:
    store.record(draft())
    altered = {"response": b"{}", "response_digest": digest(b"{}"), "coding": "identity"}
    altered |= {"request": b"[]", "request_digest": digest(b"[]")}
    with store._write() as connection:
        connection.execute(update(DECISIONS).values(**altered))
    with pytest.raises(StoreDamaged, match="its link in the chain"):
        store.find("d-1")


def test_history_is_in_the_order_of_recording_whatever_the_clock_says(
    store: SqlDecisionLog,
) -> None:
    for number, name in enumerate(["id-9", "id-1", "id-5"]):
        at = T0 - timedelta(hours=number)
        store.record(draft(decision_id=name, flight_id="XA 101", created_at=at))
    assert [each.decision_id for each in store.of_flight("XA 101", limit=3)] == [
        "id-5",
        "id-1",
        "id-9",
    ]
    older = store.of_flight("XA 101", limit=3, before="id-1")
    assert [each.decision_id for each in older] == ["id-9"]
