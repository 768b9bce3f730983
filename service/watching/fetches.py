"""Reports of places under watch, from the configured source.

What comes is handled as if a caller had handed it in. How often a place is asked for is for the
fetcher's cache to say (`service/fetching/cadence.py`): a round asks only for what is not fresh.
Each instance asks for itself.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import Final

from sqlalchemy import Connection, Engine, select

from decision.case import Lack, ReportClass
from decision.errors import UnreadableReport
from decision.weather import decode
from service.clock import Clock, utc_now
from service.fetching.fetcher import Fetcher
from service.store import StoreUnavailable
from service.store.engines import reading, writing
from service.store.reports import NewReport, take_reports
from service.store.tables import WATCHED_PLACES, WATCHES

LOG: Final = logging.getLogger("service.watching")
EACH_S: Final = 10.0  # [ASSUMED] far below the time for which anything is fresh
STATIONS_AT_ONCE: Final = 50  # [ASSUMED] in one address of the source
FETCHED: Final = "fetch"
"""The source of a report that was fetched."""


def places_under_watch(connection: Connection) -> list[str]:
    """Every place of an open watch."""
    wanted = (
        select(WATCHED_PLACES.c.station)
        .join(WATCHES, WATCHES.c.watch_id == WATCHED_PLACES.c.watch_id)
        .where(WATCHES.c.ended_at.is_(None))
        .distinct()
        .order_by(WATCHED_PLACES.c.station)
    )
    return list(connection.scalars(wanted))


def read_reports(texts: Iterable[str], *, received_at: datetime) -> list[NewReport]:
    """Those of them that can be read; the source's other words are left out."""
    found = []
    for text in texts:
        try:
            report = decode(text, received_at=received_at)
        except UnreadableReport:
            continue
        found.append(
            NewReport(
                station=report.station,
                kind=report.kind.value,
                issued_at=report.issued_at,
                text=text,
            )
        )
    return found


class Fetches:
    """Rounds of fetching in a thread of their own: a source that hangs holds up nobody."""

    def __init__(
        self,
        store: Engine,
        fetcher: Fetcher,
        *,
        came: Callable[[int], None],
        clock: Clock = utc_now,
        each_s: float = EACH_S,
    ) -> None:
        self._store, self._fetcher, self._came = store, fetcher, came
        self._clock, self._each_s = clock, each_s
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._rounds, name="fetches", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """No further round; one that is under way is not waited for."""
        self._ended.set()

    def round(self) -> int:
        """Fetch what is not fresh; how many reports are new. Raises: StoreUnavailable."""
        with reading(self._store) as connection:
            stations = places_under_watch(connection)
        new = 0
        for at in range(0, len(stations), STATIONS_AT_ONCE):
            new += self._of(stations[at : at + STATIONS_AT_ONCE])
        return new

    def _of(self, stations: Sequence[str]) -> int:
        lacks = [Lack(icao=each, kind=kind) for each in stations for kind in ReportClass]
        outcomes = self._fetcher.fetch(lacks).values()
        texts = [text for each in outcomes for text in each.reports]
        now = self._clock()
        reports = read_reports(texts, received_at=now)
        if not reports:
            return 0
        with writing(self._store) as connection:
            taken = take_reports(connection, reports, source=FETCHED, at=now)
        self._came(len(taken.new))
        return len(taken.new)

    def _rounds(self) -> None:
        while not self._ended.is_set():
            try:
                self.round()
            except StoreUnavailable as error:
                LOG.warning("store unavailable", extra={"fields": {"error": str(error)}})
            except Exception:
                LOG.exception("fetching for watches failed")
            self._ended.wait(self._each_s)
