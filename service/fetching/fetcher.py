"""Cache and single flight in front of the source; every wait ends at the deadline.

Calls run in threads of their own: whoever asks only waits, so that nothing that a call may hang
on, not even the look-up of a name, can hold up a decision. Who wants what another has already
asked for waits for that call.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Collection, Iterable, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextvars import copy_context
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from decision.case import Lack
from service.clock import Clock, utc_now
from service.fetching.breaker import BreakerState
from service.fetching.cache import Cache, Entry
from service.fetching.deadline import FetchDeadline, Monotonic
from service.fetching.failure import FetchFailed
from service.fetching.source import KIND_WORDS, ReportSource
from service.fetching.template import Template
from service.fetching.transport import CALLS_AT_ONCE, Transport

LOG: Final = logging.getLogger("service.fetching")
MISSING: Final = "the source has none"


@dataclass(frozen=True, slots=True, kw_only=True)
class FetchOutcome:
    """What came of one thing asked for: an entry, or a problem, or an older entry for a problem."""

    entry: Entry | None = None
    problem: str | None = None

    @property
    def reports(self) -> tuple[str, ...]:
        """The raw reports; none when nothing came."""
        return () if self.entry is None else self.entry.reports


class Fetcher:
    """What a process has fetched, and how it fetches more."""

    def __init__(
        self,
        source: ReportSource,
        *,
        deadline_s: float,
        clock: Clock = utc_now,
        monotonic: Monotonic = time.monotonic,
        cache: Cache | None = None,
    ) -> None:
        self._source, self._deadline_s = source, deadline_s
        self.clock, self._monotonic = clock, monotonic
        self._cache = Cache() if cache is None else cache
        self._lock = threading.Lock()
        self._flights: dict[Lack, Future[None]] = {}
        self._threads = ThreadPoolExecutor(CALLS_AT_ONCE, thread_name_prefix="weather")

    @property
    def breaker_state(self) -> BreakerState:
        """Whether the source is called at present."""
        return self._source.breaker.state

    def fetch(self, lacks: Sequence[Lack]) -> Mapping[Lack, FetchOutcome]:
        """An outcome of each, within the deadline. Raises nothing that a source can cause."""
        deadline = FetchDeadline(total_s=self._deadline_s, monotonic=self._monotonic)
        flights = self._flights_of(lacks, deadline)
        problems = {lack: self._landed(flight, deadline) for lack, flight in flights.items()}
        now = self.clock()
        return {lack: self._outcome(lack, problems.get(lack), now) for lack in lacks}

    def close(self) -> None:
        """Wait for what is under way, and give the connections back."""
        self._threads.shutdown()
        self._source.close()

    # --- who waits for what ---

    def _flights_of(
        self, lacks: Sequence[Lack], deadline: FetchDeadline
    ) -> dict[Lack, Future[None]]:
        """The call that each thing not fresh in the cache will come by: under way, or begun."""
        now = self.clock()
        with self._lock:
            lacking = [each for each in lacks if self._cache.fresh(each, now=now) is None]
            own = [each for each in lacking if each not in self._flights]
            for group in self._groups(own):
                flight = self._threads.submit(copy_context().run, self._fly, group, deadline)
                self._flights.update(dict.fromkeys(group, flight))
            return {each: self._flights[each] for each in lacking}

    def _groups(self, lacks: Sequence[Lack]) -> Iterable[tuple[Lack, ...]]:
        """What one call can bring: everything, or everything of one kind."""
        if not self._source.template.by_kind:
            return [tuple(lacks)] if lacks else []
        of_kind = (tuple(each for each in lacks if each.kind is kind) for kind in KIND_WORDS)
        return [group for group in of_kind if group]

    def _landed(self, flight: Future[None], deadline: FetchDeadline) -> str | None:
        """The problem of a call, when it has ended or the time is up; None if it went well."""
        try:
            flight.result(timeout=deadline.left_s())
        except FetchFailed as failure:
            return failure.reason
        except TimeoutError:
            return deadline.over().reason
        return None

    # --- the call, in its own thread ---

    def _fly(self, group: tuple[Lack, ...], deadline: FetchDeadline) -> None:
        try:
            reading = self._source.ask(group, deadline=deadline)
            now = self.clock()
            for lack, reports in reading.reports.items():
                self._cache.put(lack, Entry(reports=reports, at=now))
        except FetchFailed:
            raise
        except Exception as fault:  # a fault of our own must not stop a decision either
            kind = type(fault).__name__  # and no more of it: its words may hold the address
            LOG.error("weather.fault", extra={"fields": {"type": kind}})  # noqa: TRY400
            raise FetchFailed("the service itself failed to fetch") from None
        finally:
            with self._lock:
                for lack in group:
                    self._flights.pop(lack, None)

    # --- what came of it ---

    def _outcome(self, lack: Lack, problem: str | None, now: datetime) -> FetchOutcome:
        fresh = self._cache.fresh(lack, now=now)
        if fresh is not None:
            return FetchOutcome(entry=fresh)
        return FetchOutcome(entry=self._cache.stale(lack, now=now), problem=problem or MISSING)


def opened_fetcher(
    template: Template, *, hosts: Collection[str], deadline_s: float, clock: Clock = utc_now
) -> Fetcher:
    """What fetches from a source; `hosts`: those that may be called, none: that of the source."""
    transport = Transport(hosts=tuple(hosts) or (template.host,))
    return Fetcher(
        ReportSource(template, transport, clock=clock), deadline_s=deadline_s, clock=clock
    )
