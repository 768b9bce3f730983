"""The parts of a flight that are flown configured: approach, go-around, approach allowance.

Each holds one calibrated airspeed, a multiple of the stall speed. Thrust on an approach is what the
path needs, `D - W sin(path) (1 + f)`, never below idle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.atmosphere import GRAVITY_MPS2
from decision.errors import require_range
from decision.performance.air import crosswind_kt, headwind_kt, isa_deviation_degc
from decision.performance.climb import (
    MINIMUM_RATE_FPM,
    climb_rate,
    go_around_speed_kt,
)
from decision.performance.configuration import (
    CALM_STANDARD,
    Air,
    CannotFly,
    Configuration,
    Flown,
    Outcome,
    Rating,
    Step,
    no_headway,
    uniform_air,
)
from decision.performance.drag import configured_polar, drag_n
from decision.performance.envelope import envelope, require_mass
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.landing import approach_speed_kt
from decision.performance.point import Point, point
from decision.performance.thrust import idle_thrust_n, thrust_n
from decision.profile import Profile
from decision.speeds import NoHeadway, ground_speed_kt
from decision.units import FT_PER_NM, MIN_PER_H

SLAB_NM: Final = 5.0  # keeps the fuel of a slab small against the mass
SLAB_FT: Final = 1000.0  # thrust and drag at one speed are nearly straight lines over this height
GLIDE_PATH_DEG: Final = 3.0  # [PANS-OPS-I] standard approach path
GLIDE_PATH_SINE: Final = math.sin(math.radians(GLIDE_PATH_DEG))
APPROACH: Final = "approach"
ALLOWANCE: Final = "approach and landing"
GO_AROUND: Final = "go-around"


LONGEST_APPROACH_NM: Final = 60.0  # [ASSUMED] beyond it a flight is a diversion
STEEPEST_FT_PER_NM: Final = 800.0  # [ASSUMED] 7.5 degrees, steeper than any approach path


class _Slab(Struct, frozen=True, kw_only=True, gc=False):
    """One slab of a segment; `short_by` names what forbids it."""

    fuel_kg: float
    hours: float
    distance_nm: float
    short_by: str | None


class _Segment(Struct, frozen=True, kw_only=True, gc=False):
    """A stretch flown in one configuration at one calibrated airspeed."""

    profile: Profile
    configuration: Configuration
    air: Air
    cas_kt: float
    leak_kg_per_h: float

    def at(self, height_ft: float) -> Point:
        """Condition at a height."""
        return point(
            pressure_altitude_ft=height_ft,
            cas_kt=self.cas_kt,
            isa_deviation_degc=isa_deviation_degc(self.air, pressure_altitude_ft=height_ft),
            mach_cap=envelope(self.profile, self.configuration).mach_cap,
        )

    def ground_kt(self, at: Point, *, sine: float) -> float:
        """Ground speed on a path. Raises OutOfRange if the wind leaves none."""
        height_ft = float(at.pressure_altitude_ft)
        return ground_speed_kt(
            tas_kt=float(at.tas_kt) * math.sqrt(1.0 - sine**2),
            headwind_kt=float(headwind_kt(self.air, pressure_altitude_ft=height_ft)),
            crosswind_kt=float(crosswind_kt(self.air, pressure_altitude_ft=height_ft)),
        )

    def flow_kg_per_h(self, at: Point, *, total_thrust_n: float) -> float:
        """What leaves the tanks per hour at a thrust."""
        burnt = fuel_flow_kg_per_h(self.profile, self.configuration, thrust_n=total_thrust_n, at=at)
        return float(burnt) + self.leak_kg_per_h

    def on_path(
        self, *, mass_kg: float, height_ft: float, drop_ft: float, distance_nm: float
    ) -> _Slab:
        """Down a path over the ground, or level, at the thrust that it needs."""
        at = self.at(height_ft)
        fall_ft = drop_ft / float(at.standard_to_true_height)
        slope = fall_ft / (distance_nm * FT_PER_NM)
        hours = distance_nm / self.ground_kt(at, sine=slope)
        sine = fall_ft / FT_PER_NM / hours / float(at.tas_kt)
        needed_n = self.path_thrust_n(at, mass_kg=mass_kg, sine=sine)
        rated_n = thrust_n(self.profile, self.configuration, rating=Rating.GO_AROUND, at=at)
        idle_n = idle_thrust_n(self.profile, self.configuration, at=at)
        flow = self.flow_kg_per_h(at, total_thrust_n=max(needed_n, float(idle_n)))
        short_n = needed_n - float(rated_n)
        short_by = f"thrust is {short_n:.0f} N short of the path at {height_ft:.0f} ft"
        return _Slab(
            fuel_kg=flow * hours,
            hours=hours,
            distance_nm=distance_nm,
            short_by=short_by if short_n > 0.0 else None,
        )

    def path_thrust_n(self, at: Point, *, mass_kg: float, sine: float) -> float:
        """Thrust that holds a descending path; less than nothing if the path is too steep."""
        polar = configured_polar(self.profile, self.configuration)
        drag = drag_n(self.profile, polar, mass_kg=mass_kg, at=at, thrust_n=None)
        weight_n = mass_kg * GRAVITY_MPS2
        return float(drag - weight_n * sine * (1.0 + at.acceleration_factor))

    def going_up(self, *, mass_kg: float, height_ft: float, rise_ft: float) -> _Slab:
        """Climb at go-around thrust."""
        at = self.at(height_ft)
        path = climb_rate(
            self.profile, self.configuration, mass_kg=mass_kg, at=at, rating=Rating.GO_AROUND
        )
        rate_fpm = float(path.rate_fpm)
        hours = rise_ft / max(rate_fpm, MINIMUM_RATE_FPM) / MIN_PER_H
        short_by = (
            f"go-around climb is {rate_fpm:.0f} ft/min at {height_ft:.0f} ft and"
            f" {mass_kg:.0f} kg; {MINIMUM_RATE_FPM:.0f} ft/min needed"
        )
        return _Slab(
            fuel_kg=self.flow_kg_per_h(at, total_thrust_n=float(path.thrust_n)) * hours,
            hours=hours,
            distance_nm=self.ground_kt(at, sine=float(path.sine)) * hours,
            short_by=short_by if rate_fpm < MINIMUM_RATE_FPM else None,
        )

    def flown(self, slabs: Sequence[_Slab], *, mass_kg: float, name: str, end_ft: float) -> Outcome:
        """The slabs as one step, or the first thing that forbids one."""
        for slab in slabs:
            if slab.short_by is not None:
                return CannotFly(limited_by=slab.short_by)
        return self.all_flown(slabs, mass_kg=mass_kg, name=name, end_ft=end_ft)

    def all_flown(
        self, slabs: Sequence[_Slab], *, mass_kg: float, name: str, end_ft: float
    ) -> Flown:
        """The slabs as one step, which nothing forbids."""
        fuel_kg = math.fsum(slab.fuel_kg for slab in slabs)
        step = Step(
            name=name,
            distance_nm=math.fsum(slab.distance_nm for slab in slabs),
            time_min=math.fsum(slab.hours for slab in slabs) * MIN_PER_H,
            fuel_kg=fuel_kg,
            pressure_altitude_ft=end_ft,
            cas_kt=self.cas_kt,
            configuration=self.configuration.label,
        )
        return one_step(step, start_mass_kg=mass_kg)


def one_step(step: Step, *, start_mass_kg: float) -> Flown:
    """A flight of a single step."""
    return Flown(
        fuel_kg=step.fuel_kg,
        time_min=step.time_min,
        distance_nm=step.distance_nm,
        pressure_altitude_ft=step.pressure_altitude_ft,
        cas_kt=step.cas_kt,
        end_mass_kg=start_mass_kg - step.fuel_kg,
        steps=(step,),
    )


def fly_configured(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    distance_nm: float,
    start_pressure_altitude_ft: float,
    end_pressure_altitude_ft: float,
    air: Air = CALM_STANDARD,
    leak_kg_per_h: float = 0.0,
) -> Outcome:
    """Fly an approach path, or a level stretch, at the configuration's approach speed.

    No flight if that speed is above a limit, thrust does not hold the path or the wind leaves no
    headway. Raises OutOfRange for an impossible mass or distance, and for a path that climbs or is
    steeper than any.
    """
    require_mass(profile, mass_kg=mass_kg)
    start_ft, end_ft = float(start_pressure_altitude_ft), float(end_pressure_altitude_ft)
    drop_ft = start_ft - end_ft
    require_range("distance_nm", distance_nm, low=0.0, high=LONGEST_APPROACH_NM)
    require_range("height to lose, ft", drop_ft, low=0.0, high=distance_nm * STEEPEST_FT_PER_NM)
    segment = _segment(profile, configuration, mass_kg, air, leak_kg_per_h)
    limits = envelope(profile, configuration)
    if segment.cas_kt > limits.fastest_kt.value:
        return CannotFly(
            limited_by=f"{segment.cas_kt:.0f} kt is above {limits.fastest_kt.words('kt')}"
        )
    slabs: list[_Slab] = []
    count = math.ceil(max(drop_ft / SLAB_FT, distance_nm / SLAB_NM))
    try:
        for i in range(count):
            slab = segment.on_path(
                mass_kg=mass_kg - sum(done.fuel_kg for done in slabs),
                height_ft=start_ft - (i + 0.5) * drop_ft / count,
                drop_ft=drop_ft / count,
                distance_nm=distance_nm / count,
            )
            slabs.append(slab)
    except NoHeadway as error:
        return no_headway(error)
    return segment.flown(slabs, mass_kg=mass_kg, name=APPROACH, end_ft=end_ft)


def fly_go_around(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    start_pressure_altitude_ft: float,
    end_pressure_altitude_ft: float,
    air: Air = CALM_STANDARD,
    leak_kg_per_h: float = 0.0,
) -> Outcome:
    """Climb at go-around thrust and speed; nothing is flown if the end is not above the start.

    No flight below 100 ft/min. Raises OutOfRange for an impossible mass, level or wind.
    """
    require_mass(profile, mass_kg=mass_kg)
    start_ft, end_ft = float(start_pressure_altitude_ft), float(end_pressure_altitude_ft)
    rise_ft = max(end_ft - start_ft, 0.0)
    segment = replace(
        _segment(profile, configuration, mass_kg, air, leak_kg_per_h),
        cas_kt=go_around_speed_kt(profile, configuration, mass_kg=mass_kg),
    )
    slabs: list[_Slab] = []
    count = math.ceil(rise_ft / SLAB_FT)
    for i in range(count):
        slab = segment.going_up(
            mass_kg=mass_kg - sum(done.fuel_kg for done in slabs),
            height_ft=start_ft + (i + 0.5) * rise_ft / count,
            rise_ft=rise_ft / count,
        )
        slabs.append(slab)
    return segment.flown(slabs, mass_kg=mass_kg, name=GO_AROUND, end_ft=max(start_ft, end_ft))


def approach_allowance(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    pressure_altitude_ft: float,
    isa_deviation_degc: float = 0.0,
    leak_kg_per_h: float = 0.0,
) -> Flown:
    """One approach and landing: the profile's minutes on a 3 degree path, configured.

    Still air. Raises OutOfRange for an impossible mass or level.
    """
    require_mass(profile, mass_kg=mass_kg)
    air = CALM_STANDARD
    if isa_deviation_degc != 0.0:
        air = uniform_air(isa_deviation_degc=isa_deviation_degc)
    segment = _segment(profile, configuration, mass_kg, air, leak_kg_per_h)
    at = segment.at(float(pressure_altitude_ft))
    needed_n = segment.path_thrust_n(at, mass_kg=mass_kg, sine=GLIDE_PATH_SINE)
    idle_n = float(idle_thrust_n(profile, configuration, at=at))
    hours = profile.approach.approach_allowance_min / MIN_PER_H
    slab = _Slab(
        fuel_kg=segment.flow_kg_per_h(at, total_thrust_n=max(needed_n, idle_n)) * hours,
        hours=hours,
        distance_nm=float(at.tas_kt) * hours,
        short_by=None,
    )
    return segment.all_flown(
        (slab,), mass_kg=mass_kg, name=ALLOWANCE, end_ft=float(pressure_altitude_ft)
    )


def _segment(
    profile: Profile, configuration: Configuration, mass_kg: float, air: Air, leak: float
) -> _Segment:
    """A segment at the approach speed of the configuration."""
    cas_kt = approach_speed_kt(
        profile, mass_kg=mass_kg, flap=configuration.flap, slats_out=configuration.slats_out
    )
    return _Segment(
        profile=profile,
        configuration=configuration,
        air=air,
        cas_kt=cas_kt,
        leak_kg_per_h=float(leak),
    )
