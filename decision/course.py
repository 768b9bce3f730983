"""A course: one thing the crew could do, as it would be flown, before anybody judges it.

An `Attempt` is one approach at one aerodrome, to be missed or landed from; a course has one or two
of them, the flight between, and a ledger of its fuel. Everything that a rule compares is worked out
here as a value, or is None with a reason in `unknown`; the rules only compare.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from decision.case import Approach, Leg, Obstacle, Runway
from decision.performance import (
    Climb,
    Configuration,
    Landing,
    OrdinaryWay,
    Spread,
    Step,
    Track,
)
from decision.systems import Capability
from decision.weather.readings import Conditions
from decision.weather.runway import RunwayCondition
from decision.windows import minutes_between


class CourseKind(StrEnum):
    """The kinds of course."""

    APPROACH_THEN_DIVERT = "approach_then_divert"
    DIVERT_NOW = "divert_now"
    HOLD_THEN_APPROACH = "hold_then_approach"
    SECOND_APPROACH = "second_approach"
    COMMIT_TO_LAND = "commit_to_land"


class Role(StrEnum):
    """What an attempt is for."""

    MISSED = "missed"  # judged by the approach ban, must be able to climb away
    ALTERNATE = "alternate"  # judged by the bar for alternates, must be able to land
    COMMITTED = "committed"  # landing here with no way out


class Origin(StrEnum):
    """Where a diversion starts."""

    PRESENT = "present"
    LAST_CLEAN_POINT = "last_clean_point"
    MISSED_APPROACH = "missed_approach"


@dataclass(frozen=True, slots=True, kw_only=True)
class RunwayWind:
    """The winds of a window resolved on a runway, each component at its worst.

    `headwind_kt` is the smallest (a tailwind is negative) and without gusts; cross- and tailwind
    include gusts where they count. `possibly_worse`: part of the wind could not be read.
    """

    headwind_kt: float
    crosswind_kt: float
    tailwind_kt: float
    possibly_worse: bool
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Altitude at which the climb after a miss passes an obstacle."""

    obstacle: Obstacle
    altitude_ft: float

    @property
    def above_ft(self) -> float:
        """How far above its top; negative below it."""
        return self.altitude_ft - self.obstacle.elevation_ft


@dataclass(frozen=True, slots=True, kw_only=True)
class CertifiedClimb:
    """The climbs through the air that limit a landing mass, of an aircraft with nothing failed.

    `approach_percent`: one engine out, gear up, flap of the go-around. `landing_percent`: all
    engines, gear down, flap of the landing.
    """

    approach_percent: float
    landing_percent: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """One approach at one aerodrome by one procedure, in the configuration it will be flown in.

    `landing` is None when something it needs is not known; `unknown` says what. `landing_at_best`
    is there when only the runway condition is not known: on the best that the runway may have.
    `landing_dry`, where planning is asked for, is on a dry runway without reverse thrust.
    `clearances` are those of the obstacles that the procedure names, where the climb is known.
    `clearances` are those of the obstacles that the procedure names, where the climb is known;
    `certified_climb` is there where the air is.
    Heights are above the aerodrome, winds are already resolved on the runway, gusts apart.
    """

    role: Role
    leg: Leg
    approach: Approach | None
    runway: Runway | None
    at: datetime
    weather: Conditions
    mass_kg: float
    flap: str
    approach_speed_kt: float
    category: str | None
    is_night: bool | None
    runway_condition: RunwayCondition | None
    wind: RunwayWind | None
    landing: Landing | None
    landing_at_best: Landing | None
    climb: Climb | None
    engine_out_climb: Climb | None
    capability: Capability
    unknown: tuple[str, ...]
    clearances: tuple[Clearance, ...] = ()
    landing_dry: Landing | None = None
    certified_climb: CertifiedClimb | None = None
    surface_temperature_degc: float | None = None

    @property
    def least_clearance(self) -> Clearance | None:
        """The obstacle that is cleared by least; None without any."""
        return min(self.clearances, key=lambda each: each.above_ft, default=None)

    @property
    def icao(self) -> str:
        """Where."""
        return self.leg.aerodrome.icao


@dataclass(frozen=True, slots=True, kw_only=True)
class Ledger:
    """Fuel of a course in kg, counted from one point: the missed approach, or where it starts.

    `planned_reserve_kg` is the legal final reserve, `configured_reserve_kg` the same half hour in
    the configuration at arrival; the greater governs. `spread` is that of `flight_kg`; None where
    nothing that matters is flown after the point it counts from. `ordinary_more_kg` is what the
    ordinary level and speed take above the plan. `at_most`: fuel is lost, or cannot be used, that
    nobody can count, so that every figure of what is left is an upper bound.
    """

    at_missed_approach_kg: float | None
    counted_from_kg: float
    flight_kg: float
    planned_reserve_kg: float
    configured_reserve_kg: float
    spread: Spread | None
    ordinary_more_kg: float = 0.0
    at_most: bool = False

    @property
    def final_reserve_kg(self) -> float:
        """The reserve that governs."""
        return max(self.planned_reserve_kg, self.configured_reserve_kg)

    @property
    def required_kg(self) -> float:
        """Fuel needed from where the ledger counts: flight, approach and final reserve."""
        return self.flight_kg + self.final_reserve_kg

    @property
    def landing_kg(self) -> float:
        """Usable fuel on landing."""
        return self.counted_from_kg - self.flight_kg

    @property
    def margin_kg(self) -> float:
        """Fuel above the final reserve on landing; positive is room."""
        return self.landing_kg - self.final_reserve_kg

    def margin_at_kg(self, percentile: float) -> float:
        """The margin when the flight needs as much fuel as at that percentile, in percent.

        Of the plan, or of the ordinary level and speed where these are dearer.
        """
        if self.spread is None:
            return self.margin_kg
        needed_kg = self.spread.fuel_percentile_kg(percentile) + max(0.0, self.ordinary_more_kg)
        return self.counted_from_kg - needed_kg - self.final_reserve_kg


@dataclass(frozen=True, slots=True, kw_only=True)
class Diversion:
    """What the diversion of a course was flown with: enough to fly it again, otherwise.

    `other_*` is used between where the ledger counts from and the landing, but not by the
    diversion: the go-around before it and the approach after it, leak included.
    """

    mass_kg: float
    start_pressure_altitude_ft: float
    track: Track
    leak_kg_per_h: float
    other_fuel_kg: float
    other_time_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
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
        start = ":from_last_clean_point" if self.origin is Origin.LAST_CLEAN_POINT else ""
        hold = (
            f":hold_{self.hold_min:.1f}_min" if self.kind is CourseKind.HOLD_THEN_APPROACH else ""
        )
        return f"{self.kind}:{self.icao}{start}{hold}"


@dataclass(frozen=True, slots=True, kw_only=True)
class AfterMissThere:
    """What is left when the approach at the end of a diversion is missed as well.

    `endurance_min` is holding time to empty tanks; `next_aerodrome` the place reached with most
    above the final reserve, None with `margin_kg` when no place whose distance is known is. The
    missed approach climb there and what is published for it; None where either is not known.
    """

    endurance_min: float
    next_aerodrome: str | None
    margin_kg: float | None
    distance_unknown: tuple[str, ...]
    gradient_percent: float | None = None
    published_gradient_percent: float | None = None

    @property
    def climb_short(self) -> bool:
        """Whether the aircraft climbs less there than the missed approach asks for."""
        climbed, published = self.gradient_percent, self.published_gradient_percent
        return climbed is not None and published is not None and climbed < published


@dataclass(frozen=True, slots=True, kw_only=True)
class Penalty:
    """What the irreversible step costs on the way to one alternate, from the same point."""

    icao: str
    clean_kg: float
    after_kg: float | None

    @property
    def fuel_kg(self) -> float | None:
        """Extra fuel; None when the way cannot be flown at all after the step."""
        return None if self.after_kg is None else self.after_kg - self.clean_kg
