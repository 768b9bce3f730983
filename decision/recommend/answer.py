"""The answer to a case, as values: what to do, why, and everything that was weighed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from decision.case import Assumption
from decision.course import AfterMissThere, Penalty
from decision.decide.judge import JudgedCourse
from decision.flight.irreversible import Extension
from decision.flight.situation import Situation
from decision.rules.finding import Cause, Finding
from decision.systems import SystemCaution

DISCLAIMER = (
    "Advice only. The operator's approved manuals, the rules of the State and the licensed crew "
    "decide. Figures come from a model and from reports that may be wrong or out of date; check "
    "them before use. Demonstration data are invented and are not for flight."
)


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Something to ask, of whom, and by when; None: at once."""

    what: str
    whom: str
    by_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Instead:
    """The second-best course, with what it costs beside the chosen one and what it breaks."""

    course: JudgedCourse
    costs: tuple[str, ...]
    breaks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherRunway:
    """The second-best runway at a place, and what it breaks or what is not known of it."""

    aerodrome: str
    runway: str
    approach: str | None
    lacks: tuple[str, ...]


class Whom(StrEnum):
    """Who is told."""

    AIR_TRAFFIC_CONTROL = "air_traffic_control"
    CABIN = "cabin"
    DISPATCH = "dispatch"


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """What one of them is told, in words to be said or sent."""

    to: Whom
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepAhead:
    """One thing to do on the way to the threshold.

    `late_nm`: how much further out it should have begun; more than zero: not ready in time.
    """

    step: str
    distance_to_go_nm: float
    at: datetime
    minutes: float
    cannot_be_undone: bool
    late_nm: float
    because: tuple[str, ...]


class RemedyKind(StrEnum):
    """What would be changed: the missed approach, the mass, or what air traffic control asks."""

    ANOTHER_MINIMUM = "another_minimum"
    ANOTHER_RUNWAY = "another_runway"
    LESS_MASS = "less_mass"
    BURN_OFF = "burn_off"
    OVERWEIGHT_LANDING = "overweight_landing"
    REFUSE_HOLD = "refuse_hold"
    SHORTEN_HOLD = "shorten_hold"


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """One way to meet a limit that is missed, or to a better answer.

    `mass_kg` at the missed approach point, for less mass and burning off; `minutes` of holding,
    for burning off and a shorter hold; `say`: words for air traffic control.
    """

    kind: RemedyKind
    approach: str | None
    runway: str | None
    mass_kg: float | None
    text: str
    minutes: float | None = None
    say: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """When to look again, and for what."""

    at: datetime
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """The whole answer."""

    situation: Situation
    decision: Decision
    headline: str
    courses: tuple[JudgedCourse, ...]
    reasons: tuple[tuple[Finding, JudgedCourse], ...]
    cautions: tuple[SystemCaution, ...]
    unknowns: tuple[str, ...]
    assumptions: tuple[Assumption, ...]
    fuel_state: FuelState
    emergency: Emergency
    phrase: str
    messages: tuple[Message, ...]
    clean_point: CleanPoint
    steps_ahead: tuple[StepAhead, ...]
    extensions: tuple[Extension, ...]
    remedies: tuple[Remedy, ...]
    second_misses: Mapping[str, AfterMissThere]
    holding: Holding
    leave_by: LeaveBy | None
    asks: tuple[Ask, ...]
    instead: Instead | None
    ways_out: int
    other_runways: tuple[OtherRunway, ...]
    until_then: tuple[str, ...]
    minimum_fuel_to_start_kg: float | None
    next_look: Look
    valid_until: Look
