"""What the store does to the service: full, locked, removed, read-only, damaged, killed."""

from __future__ import annotations

import os
import resource
import shutil
import sqlite3
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from itertools import pairwise
from pathlib import Path

import pytest

from service.settings import ROOT
from service.store import SqlDecisionLog, StoreUnavailable
from service.store.engines import reading
from service.store.proof import proof_of
from tests.faults.callers import CASE, Callers, recorded
from tests.faults.conftest import Seen
from tests.faults.running import Running, running
from tests.service import postgresql

DECISIONS = "/v1/decisions"
NOBODY = 65534
FILES = ("", "-wal", "-shm")
IN_A_ROW = 5  # a record that takes a page less may still have room after one refusal


def until(seen: Callable[[], bool], *, seconds: float = 20.0) -> bool:
    """Whether something comes to be within a time."""
    end_s = time.monotonic() + seconds
    while time.monotonic() < end_s:
        if seen():
            return True
        time.sleep(0.1)
    return False


def is_ready(service: Running) -> bool:
    return service.ask("/readyz").status == 200


def assert_away(service: Running) -> None:
    """Nothing is acknowledged, that is said, and a decision can still be had."""
    refused = service.ask(DECISIONS, CASE)
    assert refused.status == 503, refused.content
    assert refused.headers["Retry-After"] == "1"
    assert "store" in refused.json()["detail"]
    assert until(lambda: not is_ready(service)), "ready while nothing can be recorded"
    assert service.ask(f"{DECISIONS}?record=false", CASE).status == 200
    assert service.ask("/healthz").status == 200


def assert_back(service: Running) -> None:
    assert until(lambda: is_ready(service))
    assert service.ask(DECISIONS, CASE).status == 201


@pytest.mark.fault(
    "file of the database removed while running",
    "503 and not ready, no new empty file, back with the file",
)
def test_a_store_whose_file_is_removed_acknowledges_nothing_until_it_is_back(
    tmp_path: Path,
) -> None:
    kept = tmp_path / "kept"
    with running(tmp_path) as service:
        known = service.ask(DECISIONS, CASE).json()["id"]
        kept.mkdir()
        for file in files_in(tmp_path):
            file.rename(kept / file.name)
        assert_away(service)
        assert not (tmp_path / "decisions.sqlite3").exists(), "an empty store would hide it"
        for file in kept.iterdir():
            file.rename(tmp_path / file.name)
        assert_back(service)
        assert service.ask(f"{DECISIONS}/{known}").status == 200


@pytest.mark.fault(
    "store locked by another program",
    "503 and not ready, back by itself",
)
def test_a_store_that_is_locked_acknowledges_nothing_until_it_is_free(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        with closing(sqlite3.connect(tmp_path / "decisions.sqlite3")) as other:
            other.isolation_level = None
            other.execute("BEGIN IMMEDIATE")
            assert_away(service)
            other.execute("ROLLBACK")
        assert_back(service)


@pytest.mark.fault(
    "no room for the file to grow (a limit of the system on its size)",
    "503 and not ready, what was acknowledged is there, back by itself",
)
def test_a_store_that_is_full_acknowledges_nothing_until_there_is_room(tmp_path: Path) -> None:
    with running(tmp_path, APPROACH_LOG_LEVEL="ERROR") as service:
        told: list[str] = []

        def is_full() -> bool:
            answers = [service.ask(DECISIONS, CASE) for _ in range(IN_A_ROW)]
            told.extend(each.json()["id"] for each in answers if each.status == 201)
            return all(each.status == 503 for each in answers)

        with being_read(tmp_path):
            most = max(file.stat().st_size for file in files_in(tmp_path)) + 200_000
            limited(service, most)
            assert until(is_full, seconds=60.0)
            assert_away(service)
            limited(service, resource.RLIM_INFINITY)
            assert_back(service)
    assert told
    assert set(told) <= recorded(tmp_path)


def files_in(folder: Path) -> list[Path]:
    files = [folder / f"decisions.sqlite3{each}" for each in FILES]
    return [file for file in files if file.exists()]


def limited(service: Running, most_bytes: int) -> None:
    """The first process too, and before the others: a worker may still have to begin."""
    for process in (service.process.pid, *service.workers()):
        resource.prlimit(process, resource.RLIMIT_FSIZE, (most_bytes, resource.RLIM_INFINITY))


@contextmanager
def being_read(folder: Path) -> Iterator[None]:
    """While somebody reads, the journal only grows: it is not emptied into the file for room."""
    with closing(sqlite3.connect(folder / "decisions.sqlite3")) as reader:
        reader.isolation_level = None
        reader.execute("BEGIN")
        reader.execute("SELECT count(*) FROM decisions").fetchone()
        yield


@contextmanager
def as_nobody() -> Iterator[None]:
    """Without the rights of the administrator, who may write everywhere."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


def look_at(address: str) -> None:
    """Open a store and see whether it takes what is written."""
    with closing(SqlDecisionLog.open(address, timeout_s=1)) as log:
        log.check()


@pytest.mark.fault(
    "file and folder that may only be read",
    "refused at start or at the first write",
)
def test_a_store_that_cannot_be_written_is_not_ready_and_records_nothing(tmp_path: Path) -> None:
    for folder in (tmp_path, *tmp_path.parents):
        if folder.is_relative_to("/tmp") and folder != Path("/tmp"):  # noqa: S108 - where tests are
            folder.chmod(0o755)
    file = tmp_path / "decisions.sqlite3"
    SqlDecisionLog.open(f"sqlite:///{file}", timeout_s=1).close()
    file.chmod(0o444)
    tmp_path.chmod(0o555)
    with as_nobody(), pytest.raises(StoreUnavailable):
        look_at(f"sqlite:///{file}")
    tmp_path.chmod(0o755)


@pytest.mark.fault(
    "a file that is no database",
    "no start, and why",
)
def test_a_file_that_is_no_database_ends_the_start_and_says_so(tmp_path: Path) -> None:
    (tmp_path / "decisions.sqlite3").write_bytes(b"nothing that SQLite wrote" * 500)
    with pytest.raises(RuntimeError, match="file is not a database"), running(tmp_path):
        pass


@pytest.mark.fault(
    "4 kB of the file overwritten",
    "no other decision is told; what cannot be read is an error",
)
def test_damage_in_the_file_is_never_told_as_a_decision(tmp_path: Path) -> None:
    with running(tmp_path) as service:
        ids = [service.ask(DECISIONS, CASE).json()["id"] for _ in range(20)]
    file = tmp_path / "decisions.sqlite3"
    content = bytearray(file.read_bytes())
    among_decisions = len(content) * 3 // 4  # the tables are described in the first half
    content[among_decisions : among_decisions + 4096] = os.urandom(4096)
    file.write_bytes(content)
    with running(tmp_path) as service:
        answers = [service.ask(f"{DECISIONS}/{each}") for each in ids]
        statuses = {each.status for each in answers}
        assert statuses <= {200, 404, 500, 503}
        whole = [each.json() for each in answers if each.status == 200]
        assert {each["id"] for each in whole} <= set(ids)
        assert all(each["verdict"] == "INSUFFICIENT_DATA" for each in whole)


@pytest.mark.fault(
    "loss of power (not tried; system calls were traced)",
    "the log is synced before each 201",
)
def test_every_acknowledgement_comes_after_a_sync(tmp_path: Path) -> None:
    """System calls of the workers, in order: the log of the file is synced before each 201."""
    strace = shutil.which("strace")
    if strace is None:
        pytest.skip("strace is not installed")
    trace = tmp_path / "trace"
    with running(tmp_path, APPROACH_WORKERS="1") as service:
        command = [strace, "-f", "-qq", "-y", "-s", "16", "-o", str(trace)]
        command += ["-e", "trace=fsync,fdatasync,sendto,write,pwrite64"]
        (worker,) = service.workers()
        with subprocess.Popen([*command, "-p", str(worker)], cwd=ROOT) as tracing:
            if not until(trace.exists, seconds=10.0) or tracing.poll() is not None:
                pytest.skip("processes must not be traced here")
            time.sleep(0.5)
            for _ in range(5):
                assert service.ask(DECISIONS, CASE).status == 201
            tracing.terminate()
    order = [
        "sync" if "sync(" in line else "201"
        for line in trace.read_text().splitlines()
        if ("sync(" in line and "-wal" in line) or "HTTP/1.1 201" in line
    ]
    assert order.count("201") == 5
    assert order[0] == "sync"
    assert all(before == "sync" for before, each in pairwise(order) if each == "201")


@pytest.mark.fault(
    "PostgreSQL killed while twelve callers post",
    "503 and not ready, then on by itself, nothing lost or doubled, the chain is whole",
)
def test_a_server_of_a_database_that_is_killed_is_waited_for(tmp_path: Path, seen: Seen) -> None:
    with postgresql.running() as address:
        if address is None or os.environ.get("APPROACH_TEST_POSTGRES"):
            pytest.skip("no PostgreSQL server of the tests' own")
        data = Path(address.partition("host=")[2]) / "data"
        with running(tmp_path, APPROACH_STORE=address) as service:
            with Callers(service, ends_at_first=False) as callers:
                callers.wait_for(30)
                postgresql.kill(data)
                assert until(lambda: not is_ready(service))
                assert_away(service)
                postgresql.start(data)
                assert_back(service)
                before = len(callers.acknowledged)
                callers.wait_for(before + 20)
                callers.end()
            log = SqlDecisionLog.open(address, timeout_s=5)
            with reading(log._engine) as connection:
                found = proof_of(connection)
            ids = {each.decision_id for each in log.of_flight("XA 101", limit=100_000)}
            log.close()
        seen("acknowledged", len(callers.acknowledged), "")
        assert found.breaks == ()
        assert set(callers.acknowledged) <= ids
        assert len(callers.acknowledged) == len(set(callers.acknowledged))


@pytest.mark.fault(
    "two services on one store, one key",
    "one decision, the same bytes",
)
def test_two_services_on_one_store_take_one_key_once(tmp_path: Path) -> None:
    with running(tmp_path) as one, running(tmp_path) as other:
        for number in range(10):
            key = {"Idempotency-Key": f"key-{number}"}
            first = one.ask(DECISIONS, CASE, headers=key)
            second = other.ask(DECISIONS, CASE, headers=key)
            assert (first.status, second.status) == (201, 201)
            assert first.content == second.content
    assert len(recorded(tmp_path)) == 10
