"""Diversions flown plainly: climb, cruise and descent in slabs of pressure altitude.

The obvious method, vectorised over cases and nothing else: mid-point evaluation in slabs of 500 ft,
the cruise in one step at its mid-point mass, the descent before the cruise because it decides the
cruise's length. It is exact for a fixed level and speed, the yardstick for the prepared tables,
and the engine of the uncertainty estimate. One speed law is flown throughout; accelerations at
level-off and the turns are left out.
A case that a limit forbids comes back infeasible with its margins; its other numbers are finite
but mean nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.elementwise import Numbers, Truths, choose, extent, greater, lesser, power
from decision.performance.air import crosswind_kt, headwind_kt, isa_deviation_degc
from decision.performance.climb import MINIMUM_RATE_FPM, PathRate, climb_rate, idle_descent
from decision.performance.configuration import CALM_STANDARD, Air, Configuration
from decision.performance.drag import configured_polar
from decision.performance.envelope import envelope
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.level import LevelFlow, level_flow
from decision.performance.point import Point, point
from decision.performance.thrust import en_route_rating
from decision.profile import Profile
from decision.units import MIN_PER_H, MPS_PER_KT

SLAB_FT: Final = 500.0  # error 0.01 % against 25 ft slabs, measured in the tests
MINIMUM_CRUISE_SHARE: Final = 1.0 / 3.0  # [ASSUMED] of the distance, or
MINIMUM_CRUISE_MIN: Final = 5.0  # [ASSUMED]: no plan that is nearly all climb and descent
CRUISE_PASSES: Final = 3  # each shrinks the error of the mid-point mass a hundredfold
SLOWEST_GROUND_SPEED_KT: Final = 30.0  # [ASSUMED] below it a leg counts as out of reach


@dataclass(frozen=True, slots=True, kw_only=True)
class Cases:
    """What to fly: floats or arrays that broadcast. `level_ft` must not be below `end_ft`."""

    mass_kg: Numbers
    distance_nm: Numbers
    start_ft: Numbers
    end_ft: Numbers
    level_ft: Numbers
    cas_kt: Numbers
    leak_kg_per_h: Numbers = 0.0
    headwind_error_kt: Numbers = 0.0
    gear_drag_scale: Numbers = 1.0
    fuel_flow_scale: Numbers = 1.0


class Stage(Struct, frozen=True, kw_only=True, gc=False):
    """One part of a flight; `slowest_fpm` is the least rate of climb or descent on the way."""

    fuel_kg: Numbers
    time_min: Numbers
    distance_nm: Numbers
    slowest_fpm: Numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class FlownCases:
    """The flights of the cases, stage by stage, with what makes each feasible.

    `level_rate_fpm` is the climb that would be left at the level; `flow_known` says where what
    governs the fuel of the cruise has a figure for its masses. A flight that only descends may need
    `extra_track_nm` to lose its height; one that climbs for nothing is infeasible instead.
    """

    to_level: Stage
    cruise: Stage
    descent: Stage
    cruise_cas_kt: Numbers
    ground_speed_kt: Numbers
    level_rate_fpm: Numbers
    minimum_cruise_nm: Numbers
    extra_track_nm: Numbers
    flow_known: Truths

    @property
    def fuel_kg(self) -> Numbers:
        """Fuel that leaves the tanks."""
        return self.to_level.fuel_kg + self.cruise.fuel_kg + self.descent.fuel_kg

    @property
    def time_min(self) -> Numbers:
        """Time from start to end."""
        return self.to_level.time_min + self.cruise.time_min + self.descent.time_min

    @property
    def worth_it(self) -> Truths:
        """Which cases have a cruise worth their climb."""
        return self.cruise.distance_nm >= self.minimum_cruise_nm

    @property
    def flyable(self) -> Truths:
        """Which cases nothing forbids."""
        return self.within_limits & self.flow_known

    @property
    def within_limits(self) -> Truths:
        """Which cases no limit of climb, wind or distance forbids."""
        return (
            (self.to_level.slowest_fpm >= MINIMUM_RATE_FPM)
            & (self.descent.slowest_fpm >= MINIMUM_RATE_FPM)
            & (self.level_rate_fpm >= MINIMUM_RATE_FPM)
            & (self.ground_speed_kt >= SLOWEST_GROUND_SPEED_KT)
            & (self.cruise.distance_nm >= 0.0)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Flight:
    """What stays the same through one flight, and the conditions at any height of it."""

    profile: Profile
    configuration: Configuration
    cases: Cases
    air: Air
    step_ft: float

    @property
    def extra_cd(self) -> Numbers:
        """Drag that a gear-drag scale adds to the configuration's own."""
        gear_cd = configured_polar(self.profile, self.configuration).gear_cd
        return (self.cases.gear_drag_scale - 1.0) * gear_cd

    def at(self, height_ft: Numbers) -> Point:
        """The speed law at a height."""
        return point(
            pressure_altitude_ft=height_ft,
            cas_kt=self.cases.cas_kt,
            isa_deviation_degc=isa_deviation_degc(self.air, pressure_altitude_ft=height_ft),
            mach_cap=envelope(self.profile, self.configuration).mach_cap,
        )

    def ground_speed_kt(self, at: Point, *, sine: Numbers) -> Numbers:
        """Speed along the track at a path angle."""
        height_ft = at.pressure_altitude_ft
        along_kt_square = (at.tas_mps / MPS_PER_KT) ** 2 * (1.0 - sine**2)
        across_kt = crosswind_kt(self.air, pressure_altitude_ft=height_ft)
        wind_kt = headwind_kt(self.air, pressure_altitude_ft=height_ft)
        left = power(greater(along_kt_square - across_kt**2, 0.0), 0.5)
        return left - wind_kt - self.cases.headwind_error_kt

    def path(self, at: Point, *, mass_kg: Numbers, up: bool) -> PathRate:
        """Climb at the en-route rating, or descent at idle."""
        if not up:
            return idle_descent(
                self.profile, self.configuration, mass_kg=mass_kg, at=at, extra_cd=self.extra_cd
            )
        return climb_rate(
            self.profile,
            self.configuration,
            mass_kg=mass_kg,
            at=at,
            rating=en_route_rating(self.profile, self.configuration),
            extra_cd=self.extra_cd,
        )

    def flow_kg_per_h(self, at: Point, *, thrust_n: Numbers) -> Numbers:
        """What leaves the tanks per hour at a thrust."""
        burnt = fuel_flow_kg_per_h(self.profile, self.configuration, thrust_n=thrust_n, at=at)
        return burnt * self.cases.fuel_flow_scale + self.cases.leak_kg_per_h

    def flow_known(self, at: Point, *masses_kg: Numbers) -> Truths:
        """Where the flow of level flight is known for masses."""
        if not self.profile.tables.concern_fuel:
            return True
        return self.level_flow(at, masses_kg[0]).known(*masses_kg)

    def level_flow(self, at: Point, mass_kg: Numbers) -> LevelFlow:
        """What leaves the tanks per hour in level flight, and for which masses that is known."""
        burnt = level_flow(
            self.profile, self.configuration, mass_kg=mass_kg, at=at, extra_cd=self.extra_cd
        )
        flow = burnt.kg_per_h * self.cases.fuel_flow_scale + self.cases.leak_kg_per_h
        return replace(burnt, kg_per_h=flow)


def fly_cases(
    profile: Profile,
    configuration: Configuration,
    cases: Cases,
    *,
    air: Air = CALM_STANDARD,
    step_ft: float = SLAB_FT,
) -> FlownCases:
    """Fly every case at its level and speed. Raises OutOfRange for impossible levels.

    Levels of one call lie all at or above, or all at or below, their start.
    """
    flight = _Flight(
        profile=profile, configuration=configuration, cases=cases, air=air, step_ft=step_ft
    )
    up = _rises(cases)
    to_level = _change_level(
        flight, mass_kg=cases.mass_kg, start_ft=cases.start_ft, end_ft=cases.level_ft, up=up
    )
    at = flight.at(cases.level_ft)
    ground_speed = flight.ground_speed_kt(at, sine=0.0)
    level_mass_kg = cases.mass_kg - to_level.fuel_kg
    left_nm = cases.distance_nm - to_level.distance_nm
    guess = _glance_at_descent(flight, mass_kg=level_mass_kg)
    floor_nm = -math.inf if up else 0.0
    glance_nm = greater(left_nm - guess.distance_nm, floor_nm)
    glance = _cruise(flight, at, mass_kg=level_mass_kg, distance_nm=glance_nm)
    descent = _descend(flight, mass_kg=level_mass_kg - glance.fuel_kg, step_ft=step_ft)
    straight_nm = left_nm - descent.distance_nm
    cruise_nm = greater(straight_nm, floor_nm)
    cruise = _cruise(flight, at, mass_kg=level_mass_kg, distance_nm=cruise_nm)
    worth_nm = lesser(
        MINIMUM_CRUISE_SHARE * cases.distance_nm, MINIMUM_CRUISE_MIN / MIN_PER_H * ground_speed
    )
    return FlownCases(
        to_level=to_level,
        cruise=cruise,
        descent=descent,
        cruise_cas_kt=at.cas_kt,
        ground_speed_kt=ground_speed,
        level_rate_fpm=flight.path(at, mass_kg=level_mass_kg, up=True).rate_fpm,
        minimum_cruise_nm=worth_nm if up else 0.0,
        extra_track_nm=cruise_nm - straight_nm,
        flow_known=flight.flow_known(at, level_mass_kg, level_mass_kg - cruise.fuel_kg),
    )


def _rises(cases: Cases) -> bool:
    lowest_ft, highest_ft = extent(cases.level_ft - cases.start_ft)
    if lowest_ft < 0.0 < highest_ft:
        raise ValueError("levels of one call must lie on one side of the start")
    if extent(cases.level_ft - cases.end_ft)[0] < 0.0:
        raise ValueError("a level must not lie below the end of the flight")
    return highest_ft > 0.0


def _glance_at_descent(flight: _Flight, *, mass_kg: Numbers) -> Stage:
    """The descent in one slab: close enough to know the mass at its top."""
    return _descend(flight, mass_kg=mass_kg, step_ft=math.inf)


def _descend(flight: _Flight, *, mass_kg: Numbers, step_ft: float) -> Stage:
    cases = flight.cases
    return _change_level(
        flight,
        mass_kg=mass_kg,
        start_ft=cases.level_ft,
        end_ft=cases.end_ft,
        up=False,
        step_ft=step_ft,
    )


def _change_level(
    flight: _Flight,
    *,
    mass_kg: Numbers,
    start_ft: Numbers,
    end_ft: Numbers,
    up: bool,
    step_ft: float | None = None,
) -> Stage:
    """Climb or descend slab by slab; the mass of a slab's middle uses the fuel of the one before.

    Where the rate is below the minimum the minimum is flown, to stay finite: `slowest_fpm` tells.
    """
    height_ft = end_ft - start_ft
    step_ft = flight.step_ft if step_ft is None else step_ft
    count = max(1, math.ceil(max(map(abs, extent(height_ft))) / step_ft))
    slab_ft = height_ft / count
    fuel_kg: Numbers = 0.0
    slab_fuel_kg: Numbers = 0.0
    time_min: Numbers = 0.0
    distance_nm: Numbers = 0.0
    slowest_fpm: Numbers = math.inf
    for i in range(count):
        at = flight.at(start_ft + (i + 0.5) * slab_ft)
        middle_kg = mass_kg - fuel_kg - slab_fuel_kg / 2.0
        path = flight.path(at, mass_kg=middle_kg, up=up)
        rate_fpm = path.rate_fpm if up else -path.rate_fpm
        slab_min = greater(slab_ft, -slab_ft) / greater(rate_fpm, MINIMUM_RATE_FPM)
        slab_fuel_kg = flight.flow_kg_per_h(at, thrust_n=path.thrust_n) * slab_min / MIN_PER_H
        along_kt = flight.ground_speed_kt(at, sine=path.sine)
        fuel_kg = fuel_kg + slab_fuel_kg
        time_min = time_min + slab_min
        distance_nm = distance_nm + along_kt * slab_min / MIN_PER_H
        slowest_fpm = lesser(slowest_fpm, choose(slab_ft == 0.0, math.inf, rate_fpm))
    return Stage(
        fuel_kg=fuel_kg, time_min=time_min, distance_nm=distance_nm, slowest_fpm=slowest_fpm
    )


def _cruise(flight: _Flight, at: Point, *, mass_kg: Numbers, distance_nm: Numbers) -> Stage:
    """Level flight in one step at the mass of its middle, found in two passes."""
    ground_kt = greater(flight.ground_speed_kt(at, sine=0.0), SLOWEST_GROUND_SPEED_KT)
    hours = distance_nm / ground_kt
    fuel_kg: Numbers = 0.0
    for _ in range(CRUISE_PASSES):
        fuel_kg = flight.level_flow(at, mass_kg - fuel_kg / 2.0).kg_per_h * hours
    return Stage(
        fuel_kg=fuel_kg,
        time_min=hours * MIN_PER_H,
        distance_nm=distance_nm,
        slowest_fpm=math.inf,
    )
