"""Many cases at once, in order: in this process, or in several that are kept for it.

Whole lines go in and whole lines come out, so that only bytes pass between processes: a worker
reads, decides and writes. At any time only a few chunks are on the way, whatever the number of
cases. Workers are started afresh (spawn), so they share no lock, connection or thread with a server
that forks; they end when whoever started them does.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Generator, Iterable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import cache
from itertools import islice
from typing import Final

from decision.case import CASE
from decision.errors import Fault, InvalidCase
from service.engine import Engine, installed_engine
from service.jsontext import read_sent, write_json
from service.metrics import Tally, tally_of
from service.observing import log_to
from service.problems import TOO_LARGE, Problem, problem_of

CHUNK: Final = 16  # some tens of milliseconds of work: the way between processes is small beside it
AHEAD: Final = 2  # chunks on the way for each process: one being decided, one ready
PARENT_GONE: Final = 1
LOG: Final = logging.getLogger("service.many")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One case as it was sent, and the id that its decision will have, if it is to be recorded."""

    number: int
    content: bytes | None  # None: larger than one case may be
    identity: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """One answer as it will be sent, and what a record and the counts need of it."""

    flight_id: str
    as_of: str
    verdict: str
    response: bytes
    whole: bytes | None  # of one that is recorded
    tally: Tally


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """Why there is no decision: the parts of a problem, which itself cannot leave its process."""

    slug: str
    detail: str
    faults: tuple[Fault, ...] = ()


Result = Decided | Refused
Chunk = tuple[Asked, ...]
Results = list[Result]
NO_FETCHING: Final = Fault(
    pointer="/weather/fetch",
    code="not_in_a_batch",
    message="nothing is fetched for a batch",
    accepted="false, with the reports themselves in weather.reports",
)


def decide_many(
    asked: Iterable[Asked], *, engine: Engine, crew: Crew | None = None
) -> Generator[tuple[Asked, Result], None, None]:
    """Each case with its result, in the order asked; closing the iterator stops the work.

    With a crew its processes decide, by the installed engine; the engine given is for this process,
    which decides when there is no crew or when the crew fails.
    """
    if crew is None:
        for each in asked:
            yield each, decide_line(each, engine)
    else:
        yield from crew.decide(asked, engine)


def decide_line(asked: Asked, engine: Engine) -> Result:
    """Decide one line. Whatever is wrong with it is a result: the others must go on."""
    try:
        recorded = asked.identity is not None
        verb = engine.whole if recorded else engine.decide
        answer = {**verb(_case_in(asked.content)), "id": asked.identity}
        return Decided(
            flight_id=str(answer["flight_id"]),
            as_of=str(answer["as_of"]),
            verdict=str(answer["verdict"]),
            response=write_json(engine.sent(answer) if recorded else answer),
            whole=write_json(answer) if recorded else None,
            tally=tally_of(answer),
        )
    except Exception as error:
        problem = problem_of(error)
        return Refused(slug=problem.kind.slug, detail=problem.detail, faults=problem.faults)


def _case_in(content: bytes | None) -> Mapping[str, object]:
    """The object in a line; its shape is the engine's to judge.

    Raises: Problem, NotJson, InvalidCase.
    """
    if content is None:
        raise Problem(TOO_LARGE, "The line is larger than the body of one request may be.")
    body = read_sent(content)
    if not isinstance(body, dict):
        raise InvalidCase(CASE.faults(body))
    weather = body.get("weather")
    if isinstance(weather, dict) and weather.get("fetch") is True:
        raise InvalidCase((NO_FETCHING,))
    return body


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sent:
    """A chunk on its way, and to which pool."""

    pool: ProcessPoolExecutor
    future: Future[Results]


@dataclass(slots=True, kw_only=True)
class Crew:
    """Processes that decide: started when first needed, kept, replaced when one of them dies."""

    processes: int
    log_level: str
    _pool: ProcessPoolExecutor | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def decide(
        self, asked: Iterable[Asked], engine: Engine
    ) -> Generator[tuple[Asked, Result], None, None]:
        """See `decide_many`."""
        waiting: deque[tuple[Chunk, _Sent | None]] = deque()
        try:
            for chunk in _chunks(iter(asked)):
                waiting.append((chunk, self._send(chunk)))
                if len(waiting) > AHEAD * self.processes:
                    yield from self._finished(*waiting.popleft(), engine)
            while waiting:
                yield from self._finished(*waiting.popleft(), engine)
        finally:
            for _, sent in waiting:
                if sent is not None:
                    sent.future.cancel()

    def close(self) -> None:
        """End the processes; they are started again when needed."""
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown()

    def _send(self, chunk: Chunk) -> _Sent | None:
        """The chunk on its way to a process; None if there is none to be had."""
        pool = self._running()
        try:
            return _Sent(pool=pool, future=pool.submit(_decide_chunk, chunk))
        except (RuntimeError, OSError) as error:  # broken, or cannot be started
            self._dismiss(pool, error)
            return None

    def _finished(
        self, chunk: Chunk, sent: _Sent | None, engine: Engine
    ) -> Iterator[tuple[Asked, Result]]:
        """The results of a chunk; decided here when no process did."""
        results = None if sent is None else self._received(sent)
        if results is None:
            yield from ((each, decide_line(each, engine)) for each in chunk)
        else:
            yield from zip(chunk, results, strict=True)

    def _received(self, sent: _Sent) -> Results | None:
        try:
            return sent.future.result()
        except BrokenExecutor as error:
            self._dismiss(sent.pool, error)
            return None

    def _running(self) -> ProcessPoolExecutor:
        with self._lock:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(
                    self.processes,
                    mp_context=multiprocessing.get_context("spawn"),
                    initializer=_begin,
                    initargs=(self.log_level,),
                )
            return self._pool

    def _dismiss(self, pool: ProcessPoolExecutor, error: Exception) -> None:
        """Leave a pool that failed; perhaps another batch has started a new one already."""
        LOG.warning("processes for batches failed; deciding here", exc_info=error)
        with self._lock:
            if self._pool is pool:
                self._pool = None
        pool.shutdown(wait=False)


def _chunks(asked: Iterator[Asked]) -> Iterator[Chunk]:
    while chunk := tuple(islice(asked, CHUNK)):
        yield chunk


# --- in a worker ---


@cache
def _engine() -> Engine:
    return installed_engine()


def _begin(log_level: str) -> None:
    """Load the data before the first case; leave Ctrl-C to the server; end when it has ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    log_to(level=log_level)
    _engine()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(PARENT_GONE)


def _decide_chunk(chunk: Chunk) -> Results:
    return [decide_line(each, _engine()) for each in chunk]
