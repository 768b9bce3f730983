"""How a sweep and the store grow: `python -m tests.bench.fleet [NAME ...]` prints a table for each.

Processor time is of this process and of those that it began; the clock on the wall is beside it and
needs a quiet machine. The fixed piece of work (`yardstick.py`) is timed before each table.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from http import HTTPStatus
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

from sqlalchemy.engine import Engine as SqlEngine

from decision.case import installed_library
from decision.sweep import SweepScope
from decision.systems import Failure
from service.identifiers import RANDOM_BYTES, decision_id, earliest_id
from service.many import Crew
from service.recent import LOOKED_BACK
from service.store import Draft, SqlDecisionLog
from service.store.engines import engine_for, writing
from service.store.sql import packed_for, put
from service.sweeps.engines import Engine, in_processes, in_this_process
from service.sweeps.part import parts_of
from tests.bench.streams import processor_s
from tests.bench.yardstick import fixed_work
from tests.case.flights import large
from tests.faults.running import running
from tests.sweep.flights import evening

MS_PER_S: Final = 1000.0
BYTES_PER_MB: Final = 1e6
FIXED_ROUNDS: Final = 20
NAMES: Final = tuple(installed_library().profile("xtj150").systems.catalogue)
ALL: Final = tuple(Failure(id=each) for each in NAMES)
TEN: Final = ALL[::9]
STORED: Final = (0, 1_000, 10_000, 100_000, 1_000_000)
AT_ONCE: Final = 1_000  # in one transaction, by the function that puts the decisions of a batch
ASKED: Final = 500
WARMING: Final = 50
LOOKS: Final = 30
BOARD_LOOKS: Final = 5
ON_A_BOARD: Final = 100
FLIGHTS: Final = 5_000
BEGUN: Final = datetime(2026, 1, 1, tzinfo=UTC)
APART: Final = timedelta(milliseconds=200)  # five a second: see `service/docs/scale.md`
REQUEST_BYTES: Final = 640  # packed, and so are the others: on average of the demo cases
ANSWER_BYTES: Final = 5_500
WHOLE_BYTES: Final = 11_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Took:
    """What some rows took, in seconds."""

    rows: int
    processor_s: float
    wall_s: float


def swept(flights: Sequence[dict[str, Any]], engine: Engine, **asked: Any) -> Took:
    """Sweep flights by somebody."""
    before, begun_s = os.times(), time.perf_counter()
    rows = sum(done.count for _, done in engine(parts_of(flights, SweepScope(**asked))))
    wall_s, after = time.perf_counter() - begun_s, os.times()
    processor_s = sum(after[:4]) - sum(before[:4])
    return Took(rows=rows, processor_s=processor_s, wall_s=wall_s)


def in_crew(processes: int, flights: Sequence[dict[str, Any]], **asked: Any) -> Took:
    """The same in processes that are begun before, and ended after, so that their time counts."""
    crew = Crew(processes=processes, log_level="ERROR")
    list(in_processes(parts_of(flights[: 2 * processes], SweepScope(failures=TEN[:1])), crew=crew))
    before = os.times()
    begun_s = time.perf_counter()
    rows = sum(
        done.count for _, done in in_processes(parts_of(flights, SweepScope(**asked)), crew=crew)
    )
    wall_s = time.perf_counter() - begun_s
    crew.close()  # what its processes took is known when they have ended
    after = os.times()
    return Took(rows=rows, processor_s=sum(after[:4]) - sum(before[:4]), wall_s=wall_s)


def fixed_ms() -> float:
    """The fixed piece of work, now."""
    times = []
    for _ in range(FIXED_ROUNDS):
        begun_s = time.perf_counter()
        fixed_work()
        times.append(time.perf_counter() - begun_s)
    return statistics.median(times) * MS_PER_S


def told(label: str, took: Took) -> str:
    """A row of a table."""
    per_row_ms = took.processor_s / took.rows * MS_PER_S
    return (
        f"| {label} | {took.rows} | {took.processor_s:.2f} | {took.wall_s:.2f} | {per_row_ms:.2f}"
        f" | {took.rows / took.wall_s:.0f} |"
    )


HEAD: Final = "| | rows | processor s | wall s | processor ms a row | rows/s |\n" + (
    "| --- | ---: | ---: | ---: | ---: | ---: |"
)


def by_flights() -> Iterator[str]:
    """Flights 1 to 1,000, each with ten failures, in this process."""
    for count in (1, 10, 100, 1000):
        yield told(str(count), swept(evening(count), in_this_process, failures=TEN))


def one_flight() -> Iterator[str]:
    """One flight with each of its failures in this process, then with the minute, and again."""
    for label, asked in (("first", {}), ("with from_minute", {"from_minute": True}), ("again", {})):
        yield told(label, swept(evening(1), in_this_process, **asked))


def by_failures() -> Iterator[str]:
    """Failures 1 to all, of ten flights, in this process."""
    for count in (1, 10, 40, len(ALL)):
        took = swept(evening(10), in_this_process, failures=ALL[:count])
        yield told(str(count), took)


def by_alternates() -> Iterator[str]:
    """Alternates 1 to 20, of five flights with ten failures, in this process."""
    for count in (1, 2, 5, 10, 20):
        body = large(alternates=count, approaches=2, number=6 * (count + 1), winds=5)
        body["failures"] = []
        flights = [body | {"flight_id": f"VENTO {number}"} for number in range(5)]
        yield told(str(count), swept(flights, in_this_process, failures=TEN))


def by_workers() -> Iterator[str]:
    """80 flights with each of their failures, by 1, 2 and 4 processes."""
    for count in (1, 2, 4):
        yield told(f"{count}", in_crew(count, evening(80)))


def from_minute() -> Iterator[str]:
    """The same by 2 processes, with the minute from which on nothing is left."""
    yield told("2", in_crew(2, evening(80), from_minute=True))


def recorded() -> Iterator[str]:
    """Decisions asked for over HTTP by one caller, each recorded; all processes of the service."""
    with TemporaryDirectory(prefix="approach-fleet-") as folder, running(Path(folder)) as service:
        bodies = evening(ASKED)
        for body in bodies[:WARMING]:
            service.ask("/v1/decisions", body)
        processes = (service.process.pid, *service.workers())
        before_s, begun_s = sum(map(processor_s, processes)), time.perf_counter()
        made = [service.ask("/v1/decisions", body).status for body in bodies[WARMING:]]
        wall_s = time.perf_counter() - begun_s
        took_s = sum(map(processor_s, processes)) - before_s
        if set(made) != {HTTPStatus.CREATED}:
            raise RuntimeError(f"not all were recorded: {Counter(made)}")
        yield told("over HTTP", Took(rows=len(made), processor_s=took_s, wall_s=wall_s))


def by_stored() -> Iterator[str]:
    """Decisions stored, each of the size of a real one; a median of some looks at each number."""
    with TemporaryDirectory(prefix="approach-fleet-") as folder:
        address = f"sqlite:///{Path(folder) / 'd.sqlite3'}"
        log, engine = SqlDecisionLog.open(address, timeout_s=30), engine_for(address, timeout_s=30)
        stored = 0
        for size in STORED:
            _fill(engine, stored, size)
            stored = size + LOOKS
            record_ms = _median_ms(lambda number: log.record(_draft(number)), range(size, stored))
            old = [_id(number * (stored // LOOKS)) for number in range(LOOKS)]
            find_ms = _median_ms(log.find, old)
            history_ms = _median_ms(
                lambda number: log.of_flight(_flight(number), limit=20, before=None), range(LOOKS)
            )
            board_ms = _median_ms(partial(_board, log), [stored] * BOARD_LOOKS)
            bytes_ = sum(each.stat().st_size for each in Path(folder).iterdir())
            yield (
                f"| {size} | {record_ms:.2f} | {find_ms:.2f} | {history_ms:.2f} | {board_ms:.1f}"
                f" | {bytes_ / BYTES_PER_MB:.0f} |"
            )
        log.close()
        engine.dispose()


def _board(log: SqlDecisionLog, stored: int) -> None:
    since = _at(stored) - timedelta(days=1)
    log.latest(earliest_id(since), since=since, verdict=None, limit=ON_A_BOARD, most=LOOKED_BACK)


def _at(number: int) -> datetime:
    return BEGUN + number * APART


def _id(number: int) -> str:
    return decision_id(at=_at(number), random=number.to_bytes(RANDOM_BYTES, "big"))


def _flight(number: int) -> str:
    return f"VENTO {number % FLIGHTS}"


def _draft(number: int) -> Draft:
    """Of bytes by chance, which packing makes no smaller: the size is that of real ones, packed."""
    return Draft(
        decision_id=_id(number),
        flight_id=_flight(number),
        as_of="2026-01-31T06:00:00Z",
        verdict="GO",
        created_at=_at(number),
        request=os.urandom(REQUEST_BYTES),
        response=os.urandom(ANSWER_BYTES),
        whole=os.urandom(WHOLE_BYTES),
    )


def _fill(engine: SqlEngine, begin: int, end: int) -> None:
    """Record up to so many, each with its link to the last."""
    for first in range(begin, end, AT_ONCE):
        packed = [packed_for(_draft(each)) for each in range(first, min(first + AT_ONCE, end))]
        with writing(engine) as connection:
            put(connection, packed, sign=None)


def _median_ms(call: Callable[[Any], object], given: Iterable[Any]) -> float:
    times = []
    for each in given:
        begun_s = time.perf_counter()
        call(each)
        times.append(time.perf_counter() - begun_s)
    return statistics.median(times) * MS_PER_S


STORED_HEAD: Final = (
    "| stored | record ms | find ms | history ms | board ms | files MB |\n"
    "| ---: | ---: | ---: | ---: | ---: | ---: |"
)
TABLES: Final[dict[str, tuple[str, Callable[[], Iterator[str]]]]] = {
    "flights": (HEAD, by_flights),
    "one": (HEAD, one_flight),
    "failures": (HEAD, by_failures),
    "alternates": (HEAD, by_alternates),
    "workers": (HEAD, by_workers),
    "from_minute": (HEAD, from_minute),
    "recorded": (HEAD, recorded),
    "stored": (STORED_HEAD, by_stored),
}


def main(names: Sequence[str]) -> int:
    """Print the tables of these names, or all."""
    for name in names or TABLES:
        head, rows = TABLES[name]
        print(f"\n{rows.__doc__} Fixed piece of work: {fixed_ms():.2f} ms.\n\n{head}", flush=True)
        for row in rows():
            print(row, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
