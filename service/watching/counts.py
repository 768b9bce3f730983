"""What the watcher counts; told by `/metrics` with all else, from the shared folder of the counts.

How much there is to do is a figure of the whole store: with several instances each tells the same.
"""

from __future__ import annotations

from datetime import datetime
from typing import Final

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram

from service.store.leases import Backlog
from service.watching.crew import Looked

SECONDS: Final = (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0)


class WatchCounts:
    """The counts of one watcher."""

    def __init__(self, registry: CollectorRegistry | None = None) -> None:
        kept = CollectorRegistry() if registry is None else registry
        self._open = Gauge(
            "approach_watches_open",
            "Watches that have not ended.",
            registry=kept,
            multiprocess_mode="mostrecent",
        )
        self._due = Gauge(
            "approach_watches_due",
            "Open watches that are to be looked at now.",
            registry=kept,
            multiprocess_mode="mostrecent",
        )
        self._lag = Gauge(
            "approach_watches_lag_seconds",
            "For how long the watch has waited that is due for longest.",
            registry=kept,
            multiprocess_mode="mostrecent",
        )
        self._looks = Counter(
            "approach_watch_looks",
            "Looks at watches, by what came of them.",
            ("outcome",),
            registry=kept,
        )
        self._events = Counter(
            "approach_watch_events", "Events written, by their kind.", ("kind",), registry=kept
        )
        self._seconds = Histogram(
            "approach_watch_chunk_seconds",
            "Time from sharing out a few watches to having written what came of them.",
            buckets=SECONDS,
            registry=kept,
        )
        self._fetched = Counter(
            "approach_watch_reports_fetched",
            "Reports fetched for places under watch that were new.",
            registry=kept,
        )

    def saw(self, backlog: Backlog, *, at: datetime) -> None:
        """Tell how much there is to do."""
        first = backlog.first_due_at
        waited = 0.0 if first is None else (at - datetime.fromisoformat(first)).total_seconds()
        self._open.set(backlog.open)
        self._due.set(backlog.due)
        self._lag.set(max(0.0, waited))

    def looked(self, looked: Looked, *, seconds: float) -> None:
        """Count looks."""
        self._seconds.observe(seconds)
        for outcome, times in looked.outcomes.items():
            self._looks.labels(outcome=outcome).inc(times)
        for kind, times in looked.events.items():
            self._events.labels(kind=kind).inc(times)

    def fetched(self, reports: int) -> None:
        """Count reports that were fetched and are new."""
        self._fetched.inc(reports)
