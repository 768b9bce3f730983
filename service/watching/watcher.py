"""Who shares the work out: claims what is due, hands it to processes, keeps the store tidy.

It loads next to nothing until there is a watch. Nothing of it has to end well: what it has claimed
when it dies is taken over by whoever comes next.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Future, wait
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING, Final

from sqlalchemy import Engine

from service.clock import Clock, utc_now
from service.settings import Settings
from service.store import StoreUnavailable
from service.store.engines import engine_for, reading, writing
from service.store.journal import EVENTS_KEPT, remove_watch_events
from service.store.leases import Backlog, backlog, claim, release
from service.store.outbox import remove_sent
from service.store.owners import owners_for
from service.store.reports import REPORTS_KEPT, remove_reports
from service.store.watching import end_passed, remove_ended
from service.webhooks.delivering import opened_deliverer

if TYPE_CHECKING:
    from service.watching.counts import WatchCounts
    from service.watching.crew import LookCrew, Looked
    from service.watching.fetches import Fetches

LOG: Final = logging.getLogger("service.watching")
POLL_S: Final = 0.1
IDLE_S: Final = 0.25  # without a watch
CHUNK: Final = 8  # watches; some tenths of a second of work
AHEAD: Final = 2  # chunks on the way for each process: one being looked at, one ready
TIDY_EACH_S: Final = 30.0
COUNT_EACH_S: Final = 2.0
KEEP_ENDED: Final = timedelta(hours=24)


@dataclass(frozen=True, slots=True, kw_only=True)
class _OnTheWay:
    ids: tuple[str, ...]
    begun_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Working:
    """What there is only while there are watches."""

    crew: LookCrew
    counts: WatchCounts
    fetches: Fetches | None


class Watcher:
    """The watcher of one instance. `goes_on`: asked between two rounds whether it should."""

    def __init__(
        self, settings: Settings, *, goes_on: Callable[[], bool], clock: Clock = utc_now
    ) -> None:
        self._settings, self._goes_on, self._clock = settings, goes_on, clock
        self._store: Engine = engine_for(settings.store, timeout_s=settings.store_timeout_s)
        self._owners = owners_for(self._store)
        self._working: _Working | None = None
        self._on_the_way: dict[Future[Looked], _OnTheWay] = {}
        self._tidied_s = self._counted_s = float("-inf")
        self._pause = threading.Event()
        self._deliverer = opened_deliverer(settings, self._store, self._owners, clock=clock)

    def run(self) -> None:
        """Go on until told to stop; a store that is away is waited for.

        Raises: BrokenExecutor when a process of the crew has died: it is to be begun anew.
        """
        if self._deliverer is not None:
            self._deliverer.start()
        try:
            while self._goes_on():
                try:
                    self._round()
                except StoreUnavailable as error:
                    LOG.warning("store unavailable", extra={"fields": {"error": str(error)}})
                    self._pause.wait(1.0)
        finally:
            self._end()

    def _round(self) -> None:
        now_s = time.monotonic()
        if now_s - self._tidied_s >= TIDY_EACH_S:
            self._tidied_s = now_s
            self._tidy(self._clock())
        if self._working is None or now_s - self._counted_s >= COUNT_EACH_S:
            self._counted_s = now_s
            self._look_round(self._clock())
        if self._working is None:
            self._pause.wait(IDLE_S)
            return
        self._share_out(self._working.crew)
        self._gather(self._working)

    def _tidy(self, now: datetime) -> None:
        """End what is over, forget what is old."""
        with writing(self._store) as connection:
            end_passed(connection, at=now)
            remove_ended(connection, before=now - KEEP_ENDED)
            remove_reports(connection, before=now - REPORTS_KEPT)
            remove_watch_events(connection, before=now - EVENTS_KEPT)
            remove_sent(connection, before=now - EVENTS_KEPT, at=now)

    def _look_round(self, now: datetime) -> None:
        """See how much there is to do; begin to work with the first watch."""
        with reading(self._store) as connection:
            found: Backlog = backlog(connection, at=now)
        if self._working is None and found.open:
            self._working = self._begun()
        if self._working is not None:
            self._working.counts.saw(found, at=now)

    def _begun(self) -> _Working:
        """Load what decides: a second of processor time that is not spent without a watch."""
        from service.watching.counts import WatchCounts  # noqa: PLC0415
        from service.watching.crew import CrewSettings, LookCrew  # noqa: PLC0415

        settings, counts = self._settings, WatchCounts()
        crew = LookCrew(
            CrewSettings(
                processes=settings.batch_processes,
                store=settings.store,
                store_timeout_s=settings.store_timeout_s,
                signing_key=settings.signing_key,
                decision_cpu_s=settings.decision_cpu_s,
                log_level=settings.log_level,
                aerodromes=settings.aerodromes,
            )
        )
        return _Working(crew=crew, counts=counts, fetches=self._fetches(counts))

    def _fetches(self, counts: WatchCounts) -> Fetches | None:
        source = self._settings.weather_url
        if source is None:
            return None
        from service.fetching.fetcher import opened_fetcher  # noqa: PLC0415 - as above
        from service.watching.fetches import Fetches  # noqa: PLC0415

        fetcher = opened_fetcher(
            source,
            hosts=self._settings.weather_hosts,
            deadline_s=self._settings.weather_deadline_s,
            clock=self._clock,
        )
        fetches = Fetches(self._store, fetcher, came=counts.fetched, clock=self._clock)
        fetches.start()
        return fetches

    def _share_out(self, crew: LookCrew) -> None:
        most = AHEAD * self._settings.batch_processes
        room = most - len(self._on_the_way)
        if room <= 0:
            return
        owner = self._owners.me()
        held = [one for each in self._on_the_way.values() for one in each.ids]
        ids = claim(
            self._store,
            self._owners,
            owner=owner,
            at=self._clock(),
            limit=room * CHUNK,
            held=held,
        )
        for at in range(0, len(ids), CHUNK):
            chunk = tuple(ids[at : at + CHUNK])
            future = crew.look(chunk, owner=owner)
            self._on_the_way[future] = _OnTheWay(ids=chunk, begun_s=time.monotonic())

    def _gather(self, working: _Working) -> None:
        """Wait for the first look that ends, or until it is time to see what else is due."""
        if not self._on_the_way:
            self._pause.wait(POLL_S)
            return
        done, _ = wait(self._on_the_way, timeout=POLL_S, return_when=FIRST_COMPLETED)
        for future in done:
            chunk = self._on_the_way.pop(future)
            try:
                looked = future.result()
            except BrokenExecutor:
                raise
            except Exception as error:  # the store is away: they are due still
                LOG.warning("looks were not written", extra={"fields": {"error": str(error)}})
                with suppress(StoreUnavailable):
                    release(self._store, chunk.ids, owner=self._owners.me())
                self._pause.wait(POLL_S)
                continue
            working.counts.looked(looked, seconds=time.monotonic() - chunk.begun_s)
            if self._deliverer is not None:
                self._deliverer.wake()

    def _end(self) -> None:
        """Have what is on its way end, and give back what is not."""
        working, self._working = self._working, None
        if working is not None:
            if working.fetches is not None:
                working.fetches.stop()
            working.crew.close()
        left = [one for each in self._on_the_way.values() for one in each.ids]
        if left:
            with suppress(StoreUnavailable):
                release(self._store, left, owner=self._owners.me())
        if self._deliverer is not None:
            self._deliverer.stop()
        self._owners.close()
        self._store.dispose()
