"""The log of decisions, with each call of it counted and timed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from service.metrics import Metrics
from service.store import (
    DecisionLog,
    Draft,
    Kept,
    Record,
    Replay,
    Reservation,
    StoredDecision,
)


class CountedLog:
    """A DecisionLog that hands everything on; what it raises is raised."""

    def __init__(self, log: DecisionLog, metrics: Metrics) -> None:
        self._log, self._metrics = log, metrics

    def reserve(
        self, *, key: str, request: bytes, decision_id: str, at: datetime
    ) -> Reservation | Replay:
        """See DecisionLog."""
        with self._metrics.store_call("reserve"):
            return self._log.reserve(key=key, request=request, decision_id=decision_id, at=at)

    def release(self, reservation: Reservation) -> None:
        """See DecisionLog."""
        with self._metrics.store_call("release"):
            self._log.release(reservation)

    def record(self, draft: Draft, reservation: Reservation | None = None) -> Record:
        """See DecisionLog."""
        with self._metrics.store_call("record"):
            return self._log.record(draft, reservation)

    def find(self, decision_id: str) -> Record | None:
        """See DecisionLog."""
        with self._metrics.store_call("find"):
            return self._log.find(decision_id)

    def told(self, decision_id: str) -> StoredDecision | None:
        """See DecisionLog."""
        with self._metrics.store_call("told"):
            return self._log.told(decision_id)

    def of_flight(self, flight_id: str, *, limit: int, before: str | None = None) -> list[Kept]:
        """See DecisionLog."""
        with self._metrics.store_call("of_flight"):
            return self._log.of_flight(flight_id, limit=limit, before=before)

    def latest(
        self, first: str, *, since: datetime, verdict: str | None, limit: int, most: int
    ) -> Mapping[str, Sequence[Kept]]:
        """See DecisionLog."""
        with self._metrics.store_call("latest"):
            return self._log.latest(first, since=since, verdict=verdict, limit=limit, most=most)

    def check(self) -> None:
        """See DecisionLog."""
        with self._metrics.store_call("check"):
            self._log.check()
