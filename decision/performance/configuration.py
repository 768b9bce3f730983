"""What the performance core is asked with and answers with.

`Configuration` is the whole aerodynamic and propulsive state of the aircraft; `Air` the wind and
temperature along one leg; `Outcome` the answer, either flown with its steps or not, with the
limit that forbids it. All are hashable values: prepared tables are kept per configuration.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from functools import lru_cache
from typing import Annotated, Final

from msgspec import Struct

from decision.fields import about
from decision.profile import Profile
from decision.speeds import NoHeadway


class Objective(StrEnum):
    """What a flight is planned for.

    With a leak, every kilogram that leaves the tanks counts and speeds up to the limits are tried;
    otherwise only those that are ordinary. Least time keeps within a bound of fuel, if any is set.
    """

    LEAST_FUEL = "least_fuel"
    LEAST_FUEL_AND_LEAK = "least_fuel_and_leak"
    LEAST_TIME = "least_time"

    @property
    def fast(self) -> bool:
        """Whether speeds beyond the ordinary ones are tried."""
        return self is not Objective.LEAST_FUEL


class Rating(StrEnum):
    """Thrust ratings."""

    GO_AROUND = "go_around"
    CLIMB = "climb"
    MAXIMUM_CONTINUOUS = "maximum_continuous"


class Configuration(Struct, frozen=True, kw_only=True, gc=False, cache_hash=True):
    """How the aircraft flies: what hangs out, what runs, and what limits it beyond its profile.

    `drag_increment` adds to CD0 (ice, damage), `thrust_ratio` is what the running engines together
    give of their ratings, `fuel_flow_scale` multiplies every flow (deterioration, observed flow
    above the model), `max_*` are limits that failures bring. Detent and engines are those of one
    aircraft, so they have no default: begin with `clean(profile)`.
    """

    flap: str
    engines_running: int
    gear_down: bool = False
    gear_doors_open: bool = False
    slats_out: bool = False
    thrust_ratio: float = 1.0
    pressurised: bool = True
    drag_increment: float = 0.0
    fuel_flow_scale: float = 1.0
    anti_ice: bool = False
    max_pressure_altitude_ft: float | None = None
    max_cas_kt: float | None = None

    @property
    def label(self) -> str:
        """Short words for steps and texts, such as 'gear down, flap 0, one engine'."""
        return _label(self)


@lru_cache(maxsize=512)
def _label(configuration: Configuration) -> str:
    words = ["gear down" if configuration.gear_down else "gear up"]
    if configuration.gear_doors_open:
        words.append("gear doors open")
    words.append(f"flap {configuration.flap}")
    if configuration.slats_out:
        words.append("slats out")
    if configuration.engines_running == 1:
        words.append("one engine")
    if configuration.thrust_ratio < 1.0:
        words.append("limited thrust")
    if not configuration.pressurised:
        words.append("unpressurised")
    return ", ".join(words)


@lru_cache(maxsize=64)
def clean(profile: Profile, *, engines_stopped: int = 0) -> Configuration:
    """Everything retracted and, unless told otherwise, every engine of the aircraft running."""
    running = profile.engine.count - engines_stopped
    return Configuration(flap=profile.flaps_up, engines_running=running)


@dataclass(frozen=True, slots=True, kw_only=True)
class AirAtLevel:
    """Wind along and across the track, and temperature against standard, at one level."""

    pressure_altitude_ft: float
    headwind_kt: float
    crosswind_kt: float
    isa_deviation_degc: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """The air along one leg: linear between levels, the nearest level beyond the ends.

    Levels must rise strictly; raises ValueError otherwise or when there is none. What they say
    together (temperatures, calm or not, hash) is worked out once: an air is asked often.
    """

    levels: tuple[AirAtLevel, ...]
    temperatures: tuple[tuple[float, float], ...] = field(init=False, repr=False, compare=False)
    calm: bool = field(init=False, repr=False, compare=False)
    strongest_headwind_kt: float = field(init=False, repr=False, compare=False)
    key: int = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        heights = [level.pressure_altitude_ft for level in self.levels]
        if not heights or heights != sorted(set(heights)):
            raise ValueError(f"air needs at least one level, strictly rising; got {heights}")
        pairs = [(a.pressure_altitude_ft, a.isa_deviation_degc) for a in self.levels]
        same = len({deviation for _, deviation in pairs}) == 1
        calm = all(a.headwind_kt == 0.0 and a.crosswind_kt == 0.0 for a in self.levels)
        strongest_kt = max(a.headwind_kt for a in self.levels)
        object.__setattr__(self, "temperatures", tuple(pairs[:1] if same else pairs))
        object.__setattr__(self, "calm", calm)
        object.__setattr__(self, "strongest_headwind_kt", strongest_kt)
        object.__setattr__(self, "key", hash(self.levels))

    def __hash__(self) -> int:
        return self.key


def uniform_air(
    *, headwind_kt: float = 0.0, crosswind_kt: float = 0.0, isa_deviation_degc: float = 0.0
) -> Air:
    """The same wind and deviation at every level."""
    level = AirAtLevel(
        pressure_altitude_ft=0.0,
        headwind_kt=headwind_kt,
        crosswind_kt=crosswind_kt,
        isa_deviation_degc=isa_deviation_degc,
    )
    return Air(levels=(level,))


CALM_STANDARD: Final = uniform_air()


class Step(Struct, frozen=True, kw_only=True, gc=False):
    """One stretch of a flight; the level is the one at its end."""

    name: Annotated[str, about("What is flown.")]
    distance_nm: Annotated[float, about("Distance over the ground.", unit="NM")]
    time_min: Annotated[float, about("Duration.", unit="min")]
    fuel_kg: Annotated[float, about("Fuel that leaves the tanks.", unit="kg")]
    pressure_altitude_ft: Annotated[float, about("Pressure altitude at its end.", unit="ft")]
    cas_kt: Annotated[float, about("Calibrated airspeed.", unit="kt")]
    configuration: Annotated[str, about("Gear and flaps.")]


@dataclass(frozen=True, slots=True, kw_only=True)
class OrdinaryWay:
    """What a flight takes at the ordinary level and speed, or as near to them as can be flown."""

    fuel_kg: Annotated[float, about("Fuel that leaves the tanks.", unit="kg")]
    time_min: Annotated[float, about("Duration.", unit="min")]
    pressure_altitude_ft: Annotated[float, about("Cruise level.", unit="ft")]
    cas_kt: Annotated[float, about("Calibrated airspeed of the cruise.", unit="kt")]


class Flown(Struct, frozen=True, kw_only=True, gc=False):
    """A flight that can be flown.

    `fuel_kg` is what leaves the tanks (burnt and leaked); `pressure_altitude_ft` and `cas_kt` are
    those of the cruise, or of the segment if it has none. `ordinary`: the same flight at the level
    and speed of every day, where the plan of least fuel was asked for.
    """

    fuel_kg: float
    time_min: float
    distance_nm: float
    pressure_altitude_ft: float
    cas_kt: float
    end_mass_kg: float
    steps: tuple[Step, ...]
    ordinary: OrdinaryWay | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CannotFly:
    """A limit forbids the flight, and which."""

    limited_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class NotKnown:
    """Nothing forbids the flight, but a figure that it needs is not known, and which."""

    what: str


Outcome = Flown | CannotFly | NotKnown
"""What comes of a flight that is asked for."""


def no_headway(error: NoHeadway) -> CannotFly:
    """The answer where the wind is stronger than the aircraft is fast."""
    wind = error.name.removesuffix("_kt")
    return CannotFly(
        limited_by=f"{wind} of {error.value:.0f} kt leaves no headway at {error.high:.0f} kt"
    )
