"""What is decided of a case: what to do, by which course, on what basis, and until when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

from decision.decide.compose import Here
from decision.decide.concerns.concern import Concern
from decision.decide.judge import JudgedCourse
from decision.flight.approach import Departure
from decision.flight.irreversible import Penalty
from decision.flight.situation import Situation
from decision.rules.finding import Cause


class Verdict(StrEnum):
    """Go or no go; the best first."""

    GO = "GO"
    GO_WITH_CAUTION = "GO_WITH_CAUTION"
    INSUFFICIENT_DATA = "INSUFFICIENT_DATA"
    NO_GO = "NO_GO"


class Do(StrEnum):
    """What to do."""

    APPROACH = "APPROACH"
    DIVERT = "DIVERT"
    HOLD = "HOLD"
    COMMIT = "COMMIT"


class Basis(StrEnum):
    """The row of the truth table that decided."""

    ESCAPE_KEPT = "ESCAPE_KEPT"
    ONE_WAY_OUT = "ONE_WAY_OUT"
    ESCAPE_THIN = "ESCAPE_THIN"
    LEAVE_WHILE_CLEAN = "LEAVE_WHILE_CLEAN"
    CHOICE = "CHOICE"
    COMMIT_PERMITTED = "COMMIT_PERMITTED"
    COMMIT_ONLY_RUNWAY = "COMMIT_ONLY_RUNWAY"
    WAIT = "WAIT"
    APPROACH_BARRED = "APPROACH_BARRED"
    NO_LEGAL_COURSE = "NO_LEGAL_COURSE"
    TIME_CRITICAL = "TIME_CRITICAL"
    MISSING = "MISSING"
    NEAREST_SUITABLE = "NEAREST_SUITABLE"
    NO_ALTERNATE = "NO_ALTERNATE"
    NOT_FIT_HERE = "NOT_FIT_HERE"


CLOSED_HERE: Final = frozenset({Basis.WAIT, Basis.APPROACH_BARRED, Basis.NOT_FIT_HERE})
"""The place here is closed by what a newer report may lift."""


class FuelState(StrEnum):
    """The fuel states of [ICAO-ANNEX6] 4.3.7.2."""

    NORMAL = "NORMAL"
    MINIMUM_FUEL = "MINIMUM_FUEL"
    MAYDAY_FUEL = "MAYDAY_FUEL"


class Distress(StrEnum):
    """Whether to declare urgency or distress."""

    NONE = "NONE"
    URGENCY = "URGENCY"
    DISTRESS = "DISTRESS"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """One row of the truth table, applied: what to do by which course.

    `asks`: what is not known and would turn the answer, or the action at least.
    """

    verdict: Verdict
    do: Do
    basis: Basis
    row: int
    chosen: JudgedCourse
    asks: tuple[Cause, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """A situation, how it begins, the courses, best first, and what is decided of them.

    `here`: the approach at the destination; None where the way to it is not known.
    """

    situation: Situation
    departure: Departure
    here: Here | None
    courses: tuple[JudgedCourse, ...]
    concerns: tuple[Concern, ...]
    decision: Decision

    @property
    def verdict(self) -> Verdict:
        """Go or no go."""
        return self.decision.verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class CleanPoint:
    """The last point from which a clean diversion is legal, or why there is none ahead."""

    distance_to_go_nm: float | None
    at: datetime | None
    fuel_kg: float | None
    best: JudgedCourse | None
    penalties: tuple[Penalty, ...]
    reason: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Deadline:
    """A moment until which holding keeps something, and what ends it."""

    minutes: float
    until: datetime
    limited_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """The two deadlines of a hold; None where the thing kept is not there now.

    `available`: the one that counts for the approach ahead, or how long the chosen landing keeps
    its final reserve where no diversion is legal.
    """

    available: Deadline | None
    clean_diversion: Deadline | None
    approach_and_miss: Deadline | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Emergency:
    """Declaration advised, and why."""

    level: Distress
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LeaveBy:
    """The deadline of the action: by when, what ends then, and where the aircraft then is.

    `holding_until`: how long the same diversion stays open holding here, where that is longer.
    """

    at: datetime
    what: str
    aerodrome: str
    distance_to_go_nm: float | None
    fuel_kg: float | None
    holding_until: datetime | None
