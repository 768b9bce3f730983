"""Many cases at once, in order: in this process, or in several that are kept for it.

Whole lines go in and whole lines come out, so that only bytes pass between processes: a worker
reads, decides and writes. At any time only a few chunks are on the way, whatever the number of
cases. Workers are started afresh (spawn), so they share no lock, connection or thread with a server
that forks; they end when whoever started them does.
"""

from __future__ import annotations

import logging
import math
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Future, ProcessPoolExecutor
from contextlib import closing
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import cache, partial
from itertools import islice
from typing import Final, Generic, TypeVar

from decision.case import CASE
from decision.case.spec import Field, RecordSpec, Text
from decision.errors import Fault, InvalidCase
from service.aerodromes.folder import Loaded, kept_library
from service.engine import Engine, Told, installed_engine, told_of
from service.jsontext import read_sent, write_json
from service.metrics import Tally, tally_of, tally_of_row
from service.observing import log_to
from service.problems import TOO_LARGE, Problem, problem_of

CHUNK: Final = 16  # some tens of milliseconds of work: the way between processes is small beside it
AHEAD: Final = 2  # chunks on the way for each process: one being decided, one ready
PARENT_GONE: Final = 1
LOG: Final = logging.getLogger("service.many")


class LineView(StrEnum):
    """What a line of the answer tells: everything, or figures alone."""

    ANSWERS = "answers"
    ROWS = "rows"


@dataclass(frozen=True, slots=True, kw_only=True)
class DecidedLine:
    """One answer as it is by itself, and what a record and the counts need of it."""

    flight_id: str
    as_of: str
    verdict: str
    request: bytes  # the case, without the ref
    response: bytes
    whole: bytes | None  # of one that is recorded
    tally: Tally
    ref: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RefusedLine:
    """Why there is no decision: the parts of a problem, which itself cannot leave its process."""

    slug: str
    detail: str
    faults: tuple[Fault, ...] = ()
    ref: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ReplayedLine:
    """The decision that was recorded for this line before, by its id."""

    identity: str
    ref: str | None = None


Result = DecidedLine | RefusedLine | ReplayedLine


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedLine:
    """One line as it was sent, and the id that its decision will have, if it is to be recorded.

    `settled`: what is known of it already, so that nothing is left to decide.
    """

    number: int
    content: bytes | None  # None: larger than one case may be
    identity: str | None = None
    view: LineView = LineView.ANSWERS
    settled: RefusedLine | ReplayedLine | None = None


Chunk = tuple[AskedLine, ...]
Results = list[Result]
REF: Final = Field(
    name="ref",
    spec=Text(max_length=128),
    doc="The caller's own word for the line, told again at the beginning of its answer. It is no"
    " part of the case: neither decided on nor recorded.",
)
CASE_OF_LINE: Final = RecordSpec(
    name="CaseOfLine", kind=CASE.kind, members=(*CASE.members, REF), accepted=CASE.accepted
)
NO_FETCHING: Final = Fault(
    pointer="/weather/fetch",
    code="not_in_a_batch",
    message="nothing is fetched for a batch",
    accepted="false, with the reports themselves in weather.reports",
)


def decide_many(
    asked: Iterable[AskedLine], *, engine: Engine, crew: Crew | None = None
) -> Generator[tuple[AskedLine, Result], None, None]:
    """Each case with its result, in the order asked; closing the iterator stops the work.

    With a crew its processes decide, by the installed engine; the engine given is for this process,
    which decides when there is no crew or when the crew fails.
    """
    if crew is None:
        for each in asked:
            yield each, decide_line(each, engine)
    else:
        yield from crew.decide(asked, engine)


def decide_line(asked: AskedLine, engine: Engine) -> Result:
    """Decide one line. Whatever is wrong with it is a result: the others must go on."""
    ref = None
    try:
        sent = _sent(asked.content)
        ref = _ref_of(sent)
        if asked.settled is not None:
            return replace(asked.settled, ref=ref)
        case = engine.written_out(_case_of(sent))
        told, whole = _told(asked, case, engine)
        return DecidedLine(
            flight_id=told.flight_id,
            as_of=told.as_of,
            verdict=told.verdict,
            request=asked.content or b"" if case is sent else write_json(case),
            response=told.content,
            whole=whole,
            tally=told.tally,
            ref=ref,
        )
    except Exception as error:
        return refused_by(error, ref=ref)


def refused_by(error: Exception, *, ref: str | None = None) -> RefusedLine:
    """What a line gets that an error has ended."""
    problem = problem_of(error)
    return RefusedLine(
        slug=problem.kind.slug, detail=problem.detail, faults=problem.faults, ref=ref
    )


def _told(
    asked: AskedLine, case: Mapping[str, object], engine: Engine
) -> tuple[Told, bytes | None]:
    """What is answered, and all that was computed for it if that is recorded."""
    if asked.view is LineView.ROWS:
        row = {**engine.row(case), "id": asked.identity}
        return told_of(row, tally_of_row(row)), None
    if asked.identity is None:
        return engine.decide(case), None
    whole = {**engine.whole(case), "id": asked.identity}
    return told_of(engine.sent(whole), tally_of(whole)), write_json(whole)


def _sent(content: bytes | None) -> object:
    """The value in a line. Raises: Problem, NotJson, InvalidCase when a name is there twice."""
    if content is None:
        raise Problem(TOO_LARGE, "The line is larger than the body of one request may be.")
    return read_sent(content)


def _ref_of(sent: object) -> str | None:
    """The caller's word for a line, if it has one that can be told again."""
    ref = sent.get(REF.name) if isinstance(sent, dict) else None
    return ref if isinstance(ref, str) and not REF.spec.faults(ref) else None


def _case_of(sent: object) -> Mapping[str, object]:
    """The case in a line; its shape is the engine's to judge, unless there is a ref beside it.

    Raises: InvalidCase.
    """
    if not isinstance(sent, dict):
        raise InvalidCase(CASE.faults(sent))
    weather = sent.get("weather")
    if isinstance(weather, dict) and weather.get("fetch") is True:
        raise InvalidCase((NO_FETCHING,))
    if REF.name not in sent:
        return sent
    if faults := CASE_OF_LINE.faults(sent):
        raise InvalidCase(faults)
    return {name: value for name, value in sent.items() if name != REF.name}


T = TypeVar("T")
R = TypeVar("R")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sent(Generic[R]):
    """Some work on its way, and to which pool."""

    pool: ProcessPoolExecutor
    future: Future[R]


@dataclass(slots=True, kw_only=True)
class Crew:
    """Processes that work: started when first needed, kept, replaced when one of them dies."""

    processes: int
    log_level: str
    decision_cpu_s: float = math.inf
    aerodromes: Loaded | None = None
    _pool: ProcessPoolExecutor | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def decide(
        self, asked: Iterable[AskedLine], engine: Engine
    ) -> Generator[tuple[AskedLine, Result], None, None]:
        """See `decide_many`."""
        work = partial(_decide_chunk, seconds=self.decision_cpu_s, aerodromes=self.aerodromes)
        with closing(
            self.run(work, _chunks(iter(asked)), here=partial(_decide_here, engine=engine))
        ) as done:
            for chunk, results in done:
                yield from zip(chunk, results, strict=True)

    def run(
        self, work: Callable[[T], R], items: Iterable[T], *, here: Callable[[T], R]
    ) -> Generator[tuple[T, R], None, None]:
        """What a function makes of each item, in their order; closing the iterator stops the work.

        The function and what goes in and out of it can be pickled. What was with processes that
        failed is done `here`: nothing is lost, and nothing told twice.
        """
        waiting: deque[tuple[T, _Sent[R] | None]] = deque()
        try:
            for item in items:
                waiting.append((item, self._send(work, item)))
                if len(waiting) > AHEAD * self.processes:
                    yield self._finished(*waiting.popleft(), here)
            while waiting:
                yield self._finished(*waiting.popleft(), here)
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

    def _send(self, work: Callable[[T], R], item: T) -> _Sent[R] | None:
        """An item on its way to a process; None if there is none to be had."""
        pool = self._running()
        try:
            return _Sent(pool=pool, future=pool.submit(work, item))
        except (RuntimeError, OSError) as error:  # broken, or cannot be started
            self._dismiss(pool, error)
            return None

    def _finished(self, item: T, sent: _Sent[R] | None, here: Callable[[T], R]) -> tuple[T, R]:
        """An item with what was made of it; done here when no process did."""
        if sent is not None:
            try:
                return item, sent.future.result()
            except BrokenExecutor as error:
                self._dismiss(sent.pool, error)
        return item, here(item)

    def _running(self) -> ProcessPoolExecutor:
        with self._lock:
            if self._pool is None:
                self._pool = ProcessPoolExecutor(
                    self.processes,
                    mp_context=multiprocessing.get_context("spawn"),
                    initializer=_begin,
                    initargs=(self.log_level, self.decision_cpu_s, self.aerodromes),
                )
            return self._pool

    def _dismiss(self, pool: ProcessPoolExecutor, error: Exception) -> None:
        """Leave a pool that failed; perhaps another caller has started a new one already."""
        LOG.warning("processes for many cases failed; working here", exc_info=error)
        with self._lock:
            if self._pool is pool:
                self._pool = None
        pool.shutdown(wait=False)


def _chunks(asked: Iterator[AskedLine]) -> Iterator[Chunk]:
    while chunk := tuple(islice(asked, CHUNK)):
        yield chunk


def _decide_here(chunk: Chunk, *, engine: Engine) -> Results:
    return [decide_line(each, engine) for each in chunk]


# --- in a worker ---


@cache
def _engine(seconds: float, aerodromes: Loaded | None) -> Engine:
    return installed_engine(kept_library(aerodromes), seconds=seconds)


def _begin(log_level: str, decision_cpu_s: float, aerodromes: Loaded | None) -> None:
    """Load the data before the first case; leave Ctrl-C to the server; end when it has ended."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    log_to(level=log_level)
    _engine(decision_cpu_s, aerodromes)


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(PARENT_GONE)


def _decide_chunk(chunk: Chunk, *, seconds: float, aerodromes: Loaded | None) -> Results:
    return _decide_here(chunk, engine=_engine(seconds, aerodromes))
