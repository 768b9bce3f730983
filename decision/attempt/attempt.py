"""One approach at one aerodrome, to be missed or landed from, before anybody judges it.

Everything that a rule compares is worked out here as a value, or is None with a reason in
`unknown`; the rules only compare.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from msgspec import Struct

from decision.attempt.category import AeroplaneCategory
from decision.attempt.minima import OperatingMinima
from decision.attempt.noticed import Noticed
from decision.case import Aerodrome, Approach, Leg, Obstacle, Runway
from decision.performance import Climb, Landing
from decision.systems import Capability
from decision.weather.readings import WeatherMet
from decision.weather.runway import RunwayCondition
from decision.windows import Window


class Role(StrEnum):
    """What an attempt is for."""

    MISSED = "missed"  # judged by the approach ban, must be able to climb away
    ALTERNATE = "alternate"  # judged by the bar for alternates, must be able to land
    COMMITTED = "committed"  # landing here with no way out


class RunwayWind(Struct, frozen=True, kw_only=True, gc=False):
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


class CertifiedClimb(Struct, frozen=True, kw_only=True, gc=False):
    """The climbs through the air that limit a landing mass, of an aircraft with nothing failed.

    `approach_percent`: one engine out, gear up, flap of the go-around. `landing_percent`: all
    engines, gear down, flap of the landing. `at_least`: both are lower bounds, and enough, where a
    failure leaves no more to say of them.
    """

    approach_percent: float
    landing_percent: float
    at_least: bool = False


class Scene(Struct, frozen=True, kw_only=True, gc=False):
    """What attempts by one procedure in one weather have in common, however heavy and late.

    A rule that reads nothing else judges all of them at once. Members as told in `Attempt`.
    `noticed`: what notices do to the place in that time; None without any.
    """

    role: Role
    leg: Leg
    approach: Approach | None
    runway: Runway | None
    weather: WeatherMet
    is_night: bool | None
    minima: OperatingMinima | None
    runway_condition: RunwayCondition | None
    wind: RunwayWind | None
    capability: Capability
    surface_temperature_degc: float | None = None
    noticed: Noticed | None = None

    @property
    def minimum_height_ft(self) -> float | None:
        """The least height of the procedure as it counts here; None where that is not known."""
        return None if self.minima is None else self.minima.height_ft

    @property
    def icao(self) -> str:
        """Where."""
        return self.leg.aerodrome.icao

    @property
    def aerodrome(self) -> Aerodrome:
        """The place as the notices in force leave it."""
        return self.leg.aerodrome if self.noticed is None else self.noticed.aerodrome


class Attempt(Scene, frozen=True, kw_only=True, gc=False):
    """One approach at one aerodrome by one procedure, in the configuration it will be flown in.

    `weather` is what governs in `window`.
    `minima` are those of the procedure for this aircraft, at this time; None without a procedure.
    `landing` is None when something it needs is not known; `unknown` says what. `landing_at_best`
    is there when only the runway condition is not known: on the best that the runway may have.
    `landing_dry`, where planning is asked for, is on a dry runway without reverse thrust.
    `clearances` are those of the obstacles that the procedure names, where the climb is known;
    `certified_climb` is there where the air is.
    Heights are above the aerodrome, winds are already resolved on the runway, gusts apart. `winds`,
    at an alternate, are those on all its runways by name; None where no wind is known.
    """

    at: datetime
    window: Window
    mass_kg: float
    flap: str
    approach_speed_kt: float
    category: AeroplaneCategory | None
    landing: Landing | None
    landing_at_best: Landing | None
    climb: Climb | None
    engine_out_climb: Climb | None
    unknown: tuple[str, ...]
    clearances: tuple[Clearance, ...] = ()
    landing_dry: Landing | None = None
    certified_climb: CertifiedClimb | None = None
    winds: Mapping[str, RunwayWind | None] = {}

    @property
    def least_clearance(self) -> Clearance | None:
        """The obstacle that is cleared by least; None without any."""
        return min(self.clearances, key=lambda each: each.above_ft, default=None)
