"""What is counted of deliveries; a worker adds it to its own when it is asked."""

from __future__ import annotations

from collections.abc import Mapping

from prometheus_client import CollectorRegistry

from service.gauges import outbox_gauge, tries_counter
from service.store.events import Sending


class DeliveryCounts:
    """The counts of one process."""

    def __init__(self) -> None:
        registry = CollectorRegistry()
        self._outbox, self._tries = outbox_gauge(registry), tries_counter(registry)

    def saw(self, rows: Mapping[Sending, int]) -> None:
        """So many rows are in each state."""
        for state, number in rows.items():
            self._outbox.labels(state=state.value).set(number)

    def tried(self, *, is_taken: bool) -> None:
        """Something was sent, and taken or not."""
        self._tries.labels(taken="yes" if is_taken else "no").inc()
