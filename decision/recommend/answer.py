"""The answer to a case, as values: what to do, why, and everything that was weighed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from decision.case import Assumption
from decision.decide.decision import (
    CleanPoint,
    Decided,
    Emergency,
    FuelState,
    Holding,
    LeaveBy,
)
from decision.decide.judge import JudgedCourse
from decision.flight.irreversible import Extension
from decision.flight.second_miss import AfterMissThere
from decision.rules.finding import Finding
from decision.systems import SystemCaution

DISCLAIMER = (
    "Advice only. The operator's approved manuals, the rules of the State and the licensed crew "
    "decide. Figures come from a model and from reports that may be wrong or out of date; check "
    "them before use. Demonstration data are invented and are not for flight."
)


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
class Recommendation(Decided):
    """The whole answer."""

    headline: str
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
