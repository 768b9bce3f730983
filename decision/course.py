"""A course: one thing the crew could do, as it would be flown, before anybody judges it.

It has one or two attempts, the flight between, and a ledger of its fuel.
"""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum
from typing import Final

from msgspec import Struct

from decision.attempt.attempt import Attempt
from decision.case import Leg
from decision.flight.ledger import Diversion, Ledger
from decision.flight.ways import LAST_CLEAN_POINT, Origin
from decision.performance import (
    Configuration,
    OrdinaryWay,
    Step,
)
from decision.windows import minutes_between


class CourseKind(StrEnum):
    """The kinds of course."""

    APPROACH_THEN_DIVERT = "approach_then_divert"
    DIVERT_NOW = "divert_now"
    HOLD_THEN_APPROACH = "hold_then_approach"
    SECOND_APPROACH = "second_approach"
    COMMIT_TO_LAND = "commit_to_land"


APPROACH_THEN_DIVERT: Final = CourseKind.APPROACH_THEN_DIVERT  # each is asked for many times
DIVERT_NOW: Final = CourseKind.DIVERT_NOW
HOLD_THEN_APPROACH: Final = CourseKind.HOLD_THEN_APPROACH
COMMIT_TO_LAND: Final = CourseKind.COMMIT_TO_LAND


class Course(Struct, frozen=True, kw_only=True, gc=False):
    """One course as flown.

    `ledger` and `arrive_at` are None when the course cannot be flown (`limited_by` names the limit)
    or when something about the way is not known (`unknown`). `diversion` is None besides when the
    course ends at the destination; `ordinary` is that diversion at the ordinary level and speed.
    `again`: fuel after a miss and a second approach here, for courses that count on landing here.
    `rests_on`: the group of a report that a hold waits for.
    `net_level_ft`, with an engine out and flown: the highest level that the net path of the
    diversion holds.
    """

    kind: CourseKind
    origin: Origin
    leg: Leg
    hold_min: float
    attempts: tuple[Attempt, ...]
    steps: tuple[Step, ...]
    configuration: Configuration
    ledger: Ledger | None
    start_at: datetime
    missed_at: datetime | None
    arrive_at: datetime | None
    cruise_level_ft: float | None
    cruise_cas_kt: float | None
    limited_by: str | None
    unknown: tuple[str, ...]
    holding_flow_kg_per_h: float
    diversion: Diversion | None = None
    ordinary: OrdinaryWay | None = None
    again: Ledger | None = None
    rests_on: str = ""
    net_level_ft: float | None = None

    @property
    def icao(self) -> str:
        """Where it ends."""
        return self.leg.aerodrome.icao

    @property
    def time_min(self) -> float | None:
        """Minutes from the start to the landing; None when not flown."""
        if self.arrive_at is None:
            return None
        return minutes_between(self.start_at, self.arrive_at)

    @property
    def label(self) -> str:
        """A name that is unique in one answer."""
        start = ":from_last_clean_point" if self.origin is LAST_CLEAN_POINT else ""
        hold = f":hold_{self.hold_min:.1f}_min" if self.kind is HOLD_THEN_APPROACH else ""
        return f"{self.kind}:{self.icao}{start}{hold}"
