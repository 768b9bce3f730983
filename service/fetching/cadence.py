"""When a newer report can be expected, as data: a row for observations, a row for forecasts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from types import MappingProxyType
from typing import Final

from decision.case import ReportClass

EPOCH: Final = datetime(1970, 1, 1, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cadence:
    """Routine issues come `every` so long, counted from `first` after midnight, and reach the
    source within `grace`. Between them something special may be issued at any time: a report is
    looked for again after `looked_for_every`. When the source fails, one of up to `useful_for`
    since it came is still handed on, marked as stale; what it is worth, the decision judges.
    """

    every: timedelta
    first: timedelta
    grace: timedelta
    looked_for_every: timedelta
    useful_for: timedelta

    def fresh_until(self, came_at: datetime) -> datetime:
        """When a report that came at an instant has to be looked for again."""
        offset = EPOCH + self.first + self.grace
        passed = (came_at - offset) // self.every
        return min(offset + (passed + 1) * self.every, came_at + self.looked_for_every)


CADENCES: Final[Mapping[ReportClass, Cadence]] = MappingProxyType(
    {
        ReportClass.OBSERVATION: Cadence(
            every=timedelta(minutes=30),  # [ASSUMED] hourly or half-hourly by [ICAO-ANNEX3]
            first=timedelta(0),
            grace=timedelta(minutes=5),  # [ASSUMED] from observing to arriving
            looked_for_every=timedelta(minutes=5),  # [ASSUMED] a SPECI waits for no half hour
            useful_for=timedelta(hours=1),  # [ASSUMED]
        ),
        ReportClass.FORECAST: Cadence(
            every=timedelta(hours=6),  # [ASSUMED] as forecasts of 24 and 30 h by [ICAO-ANNEX3]
            first=timedelta(hours=5),  # [ASSUMED] an hour before the validity begins
            grace=timedelta(minutes=20),  # [ASSUMED]
            looked_for_every=timedelta(minutes=30),  # [ASSUMED] an amendment neither
            useful_for=timedelta(hours=6),  # [ASSUMED]
        ),
    }
)
