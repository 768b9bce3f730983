"""`approach-sweep` as it is called: killed, without room, on a cluster that loses a worker."""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import pytest
from pyarrow import parquet

from decision.sweep import SweepScope
from decision.systems import Failure
from service.settings import ROOT
from service.sweeps.__main__ import NOT_WRITTEN, SOME_REFUSED
from service.sweeps.engines import in_this_process
from service.sweeps.part import parts_of
from tests.counts import takes_long
from tests.faults.running import children_of, free_port
from tests.sweep.flights import FEW, evening, written

COUNT = 20  # flights: each is a part
ASKED = SweepScope(failures=tuple(Failure(id=each) for each in FEW[:3]))
OPTIONS = [word for each in FEW[:3] for word in ("--failure", each)]
SMALL_FILE_BYTES = 20_000  # less than the rows of all flights, more than those of one
SMALL_DISK_BYTES = 10 * 4096  # whole pages: the rows of some flights, not of all
WAIT_S = 90.0


@pytest.fixture(scope="module")
def expected() -> bytes:
    """Every row, by one process that nobody disturbs."""
    parts = parts_of(evening(COUNT), ASKED)
    return b"".join(done.lines for _, done in in_this_process(parts))


@pytest.fixture
def flights(tmp_path: Path) -> Path:
    return written(evening(COUNT), tmp_path / "flights.ndjson")


def command(flights: Path, folder: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "service.sweeps", str(flights), str(folder), *OPTIONS, *more]


def begun(asked: list[str], **more: Any) -> subprocess.Popen[bytes]:
    return subprocess.Popen(asked, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, **more)


def until(holds: Callable[[], bool]) -> None:
    end_s = time.monotonic() + WAIT_S
    while not holds():
        assert time.monotonic() < end_s, "it did not come to that"
        time.sleep(0.02)


def done_in(folder: Path) -> list[Path]:
    return sorted((folder / "parts").glob("??????.ndjson"))


def test_a_worker_that_is_killed_loses_nothing_and_doubles_nothing(
    flights: Path, tmp_path: Path, expected: bytes
) -> None:
    folder = tmp_path / "out"
    running = begun(command(flights, folder, "--processes", "2"))
    until(lambda: len(done_in(folder)) >= 2)
    workers = [
        each
        for each in children_of(running.pid)
        if b"spawn_main" in Path(f"/proc/{each}/cmdline").read_bytes()
    ]
    assert workers
    os.kill(workers[0], signal.SIGKILL)
    _, said = running.communicate(timeout=WAIT_S)
    assert running.returncode == 0, said
    assert (folder / "rows.ndjson").read_bytes() == expected


def test_a_sweep_that_is_killed_goes_on_where_it_was(
    flights: Path, tmp_path: Path, expected: bytes
) -> None:
    folder = tmp_path / "out"
    running = begun(command(flights, folder, "--processes", "1"))
    until(lambda: len(done_in(folder)) >= 3)
    running.send_signal(signal.SIGKILL)
    running.communicate()
    kept = {file: file.stat().st_mtime_ns for file in done_in(folder)}
    assert 3 <= len(kept) < COUNT
    assert not (folder / "rows.ndjson").exists()
    again = subprocess.run(
        command(flights, folder, "--processes", "1", "--parquet"),
        cwd=ROOT,
        capture_output=True,
        check=True,
    )
    assert (folder / "rows.ndjson").read_bytes() == expected
    assert {file: file.stat().st_mtime_ns for file in kept} == kept
    assert f"{COUNT}/{COUNT}".encode() in again.stderr  # the bar
    table = parquet.read_table(folder / "rows.parquet")
    rows = [json.loads(line) for line in expected.splitlines()]
    assert table.column("flight_id").to_pylist() == [each["flight_id"] for each in rows]
    verdicts = [each["row"] and each["row"]["verdict"] for each in rows]
    assert table.column("verdict").to_pylist() == verdicts


@takes_long
def test_a_file_that_has_no_room_ends_it_and_with_room_it_goes_on(
    flights: Path, tmp_path: Path, expected: bytes
) -> None:
    folder = tmp_path / "out"

    def small_files() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (SMALL_FILE_BYTES, SMALL_FILE_BYTES))

    assert_told_to_call_again(command(flights, folder), folder, preexec_fn=small_files)
    assert_goes_on(command(flights, folder), folder, expected)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of its own, with room for the rows of some flights."""
    disk = tmp_path / "disk"
    disk.mkdir()
    try:
        sized(disk, SMALL_DISK_BYTES)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("a file system may not be mounted here")
    yield disk
    subprocess.run(["umount", disk], check=True)


def sized(disk: Path, most_bytes: int) -> None:
    """Mount it with so much room, or give it so much from now on."""
    options = f"{'remount,' * disk.is_mount()}size={most_bytes}"
    asked = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(disk)]
    subprocess.run(asked, check=True, capture_output=True)


@takes_long
def test_a_disk_that_is_full_ends_it_and_with_room_it_goes_on(
    flights: Path, small_disk: Path, expected: bytes
) -> None:
    folder = small_disk / "out"
    assert_told_to_call_again(command(flights, folder), folder)
    kept = done_in(folder)
    assert 0 < len(kept) < COUNT
    sized(small_disk, 100 * SMALL_DISK_BYTES)
    assert_goes_on(command(flights, folder), folder, expected)
    assert set(kept) < set(done_in(folder))


def assert_told_to_call_again(asked: list[str], folder: Path, **more: Any) -> None:
    ending = begun([*asked, "--processes", "1"], **more)
    _, said = ending.communicate(timeout=WAIT_S)
    assert ending.returncode == NOT_WRITTEN, said
    assert b"call again to go on" in said
    assert not (folder / "rows.ndjson").exists()


def assert_goes_on(asked: list[str], folder: Path, expected: bytes) -> None:
    subprocess.run([*asked, "--processes", "1"], cwd=ROOT, capture_output=True, check=True)
    assert (folder / "rows.ndjson").read_bytes() == expected


def test_a_flight_that_is_refused_is_told_and_the_code_says_so(tmp_path: Path) -> None:
    flights = written([*evening(1), {"flight_id": "GANNET 9"}], tmp_path / "flights.ndjson")
    folder = tmp_path / "out"
    ended = subprocess.run(
        command(flights, folder, "--processes", "1"), cwd=ROOT, capture_output=True, check=False
    )
    assert ended.returncode == SOME_REFUSED
    [refused] = map(json.loads, (folder / "refused.ndjson").read_text().splitlines())
    assert (refused["flight"], refused["slug"]) == (1, "invalid-request")


# --- on a cluster ---


@pytest.fixture
def cluster() -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A scheduler of dask and two workers, each a process of its own on loopback."""
    address = f"tcp://127.0.0.1:{free_port()}"
    local = ["--host", "127.0.0.1"]
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": ROOT}
    dask = [sys.executable, "-m", "dask"]
    port = address.rsplit(":", 1)[1]
    with ExitStack() as stack:

        def start(*words: str) -> subprocess.Popen[bytes]:
            process: subprocess.Popen[bytes] = subprocess.Popen([*dask, *words], **quiet)  # type: ignore[call-overload]
            stack.callback(process.wait)
            stack.callback(process.kill)
            return process

        start("scheduler", *local, "--port", port, "--no-dashboard", "--no-show")
        one = ("worker", address, *local, "--nthreads", "1", "--no-nanny", "--no-dashboard")
        yield address, [start(*one), start(*one)]


@takes_long
def test_a_cluster_has_the_same_rows_though_a_worker_is_killed(
    flights: Path,
    tmp_path: Path,
    expected: bytes,
    cluster: tuple[str, list[subprocess.Popen[bytes]]],
) -> None:
    address, workers = cluster
    folder = tmp_path / "out"
    running = begun(command(flights, folder, "--cluster", address), env={**os.environ})
    until(lambda: len(done_in(folder)) >= 3)
    workers[0].kill()
    _, said = running.communicate(timeout=WAIT_S)
    assert running.returncode == 0, said
    assert (folder / "rows.ndjson").read_bytes() == expected
    assert len(done_in(folder)) == COUNT
