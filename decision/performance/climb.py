"""Climb and descent at a point, gradients, and the ceiling.

`sin(path) = (T - D) / W / (1 + f)` with the acceleration factor f of the speed law actually flown.
Gradients are tangents through the air; over the ground they carry the wind. Rates are of pressure
altitude. Accuracy: one-engine gradients +/- 0.6 point (thrust 3 %, induced drag 5 %, gear 20 %).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from decision.atmosphere import GRAVITY_MPS2
from decision.elementwise import Numbers
from decision.performance.configuration import Configuration, Rating
from decision.performance.drag import configured_polar, drag_n
from decision.performance.envelope import (
    SPEED_STEP_KT,
    envelope,
    require_mass,
    slowest_kt,
    stall_speed_kt,
)
from decision.performance.point import Point, point
from decision.performance.thrust import en_route_rating, idle_thrust_n, thrust_n
from decision.profile import Profile
from decision.speeds import ground_speed_kt
from decision.units import (
    FT_PER_NM,
    M_PER_FT,
    MIN_PER_H,
    MPS_PER_KT,
    PERCENT,
    S_PER_MIN,
)

MINIMUM_RATE_FPM: Final = 100.0  # [ASSUMED] below it a level counts as out of reach
RATE_PASSES: Final = 2  # thrust depends weakly on the rate it gives

CEILING_TOLERANCE_FT: Final = 10.0
FPM_PER_MPS: Final = S_PER_MIN / M_PER_FT


@dataclass(frozen=True, slots=True, kw_only=True)
class PathRate:
    """Sine of the path angle, rate of pressure altitude (both positive upwards) and thrust."""

    sine: Numbers
    rate_fpm: Numbers
    thrust_n: Numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class Climb:
    """A climb at one level; gradients are zero or negative if the aircraft cannot climb."""

    gradient_percent: float
    ground_gradient_percent: float
    ft_per_nm: float
    rate_fpm: float
    cas_kt: float


def path_rate(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: Numbers,
    at: Point,
    total_thrust_n: Numbers,
    extra_cd: Numbers = 0.0,
) -> PathRate:
    """Path of the aircraft at a given thrust along the speed law of the point."""
    polar = configured_polar(profile, configuration)
    drag = drag_n(
        profile, polar, mass_kg=mass_kg, at=at, thrust_n=total_thrust_n, extra_cd=extra_cd
    )
    excess = (total_thrust_n - drag) / (mass_kg * GRAVITY_MPS2)
    sine = excess / (1.0 + at.acceleration_factor)
    rate_fpm = sine * at.tas_mps * at.standard_to_true_height * FPM_PER_MPS
    return PathRate(sine=sine, rate_fpm=rate_fpm, thrust_n=total_thrust_n)


def climb_rate(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: Numbers,
    at: Point,
    rating: Rating,
    extra_cd: Numbers = 0.0,
) -> PathRate:
    """Climb at a rating; negative where thrust is below drag."""
    rate_fpm: Numbers = 0.0
    passes = 1 if rating is Rating.GO_AROUND else RATE_PASSES
    for _ in range(passes):
        thrust = thrust_n(profile, configuration, rating=rating, at=at, rate_fpm=rate_fpm)
        climbing = path_rate(
            profile,
            configuration,
            mass_kg=mass_kg,
            at=at,
            total_thrust_n=thrust,
            extra_cd=extra_cd,
        )
        rate_fpm = climbing.rate_fpm
    return climbing


def idle_descent(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: Numbers,
    at: Point,
    extra_cd: Numbers = 0.0,
) -> PathRate:
    """Descent with the running engines at idle; sine and rate are negative."""
    return path_rate(
        profile,
        configuration,
        mass_kg=mass_kg,
        at=at,
        total_thrust_n=idle_thrust_n(profile, configuration, at=at),
        extra_cd=extra_cd,
    )


def climb(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    pressure_altitude_ft: float,
    isa_deviation_degc: float,
    headwind_kt: float = 0.0,
    rating: Rating = Rating.GO_AROUND,
    cas_kt: float | None = None,
) -> Climb:
    """Climb gradient at the go-around speed (or `cas_kt`), through the air and over the ground.

    Raises OutOfRange for an impossible mass, level or headwind. Any credit for a headwind is the
    caller's. Certification gates and check values: [CFR-25] 25.119, 25.121.
    """
    require_mass(profile, mass_kg=mass_kg)
    if cas_kt is None:
        cas_kt = go_around_speed_kt(profile, configuration, mass_kg=mass_kg)
    at = point(
        pressure_altitude_ft=float(pressure_altitude_ft),
        cas_kt=float(cas_kt),
        isa_deviation_degc=float(isa_deviation_degc),
        mach_cap=envelope(profile, configuration).mach_cap,
    )
    path = climb_rate(profile, configuration, mass_kg=float(mass_kg), at=at, rating=rating)
    sine = float(path.sine)
    along_kt = float(at.tas_mps) / MPS_PER_KT * (1.0 - sine**2) ** 0.5
    ground_kt = ground_speed_kt(tas_kt=along_kt, headwind_kt=headwind_kt, crosswind_kt=0.0)
    rise_kt = float(at.tas_mps) / MPS_PER_KT * sine
    return Climb(
        gradient_percent=PERCENT * rise_kt / along_kt,
        ground_gradient_percent=PERCENT * rise_kt / ground_kt,
        ft_per_nm=FT_PER_NM * rise_kt / ground_kt,
        rate_fpm=rise_kt * FT_PER_NM / MIN_PER_H,
        cas_kt=float(at.cas_kt),
    )


def go_around_speed_kt(profile: Profile, configuration: Configuration, *, mass_kg: float) -> float:
    """Go-around speed of the configuration, a multiple of its stall speed."""
    stall_kt = float(stall_speed_kt(profile, configuration, mass_kg=mass_kg))
    return profile.speeds.go_around_ratio * stall_kt


def ceiling_ft(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    isa_deviation_degc: float = 0.0,
    cas_kt: float | None = None,
) -> float | None:
    """Highest level with 100 ft/min at the best speed (or `cas_kt`), within the altitude limits.

    Climb thrust, maximum continuous with an engine stopped. None if not even sea level is within
    reach, or if no speed is allowed. Raises OutOfRange for an impossible mass.
    """
    require_mass(profile, mass_kg=mass_kg)
    speeds = (cas_kt,) if cas_kt is not None else _ceiling_speeds(profile, configuration, mass_kg)
    heights = [
        _ceiling_at(profile, configuration, mass_kg, isa_deviation_degc, speed) for speed in speeds
    ]
    return max((height for height in heights if height is not None), default=None)


def _ceiling_speeds(
    profile: Profile, configuration: Configuration, mass_kg: float
) -> tuple[float, ...]:
    """Allowed speeds in steps from the slowest manoeuvring speed."""
    limits = envelope(profile, configuration)
    slowest = slowest_kt(profile, configuration, mass_kg=mass_kg)
    count = int((limits.fastest_kt.value - slowest) // SPEED_STEP_KT) + 1
    return tuple(slowest + SPEED_STEP_KT * i for i in range(max(count, 0)))


def _ceiling_at(
    profile: Profile,
    configuration: Configuration,
    mass_kg: float,
    isa_deviation_degc: float,
    cas_kt: float,
) -> float | None:
    """Highest level with the minimum rate at one speed, by bisection on a falling rate."""
    limits = envelope(profile, configuration)
    rating = en_route_rating(profile, configuration)

    def climbs(height_ft: float) -> bool:
        at = point(
            pressure_altitude_ft=height_ft,
            cas_kt=cas_kt,
            isa_deviation_degc=isa_deviation_degc,
            mach_cap=limits.mach_cap,
        )
        path = climb_rate(profile, configuration, mass_kg=mass_kg, at=at, rating=rating)
        return bool(path.rate_fpm >= MINIMUM_RATE_FPM)

    low_ft, high_ft = 0.0, limits.highest_ft.value
    if climbs(high_ft):
        return high_ft
    if not climbs(low_ft):
        return None
    while high_ft - low_ft > CEILING_TOLERANCE_FT:
        middle_ft = (low_ft + high_ft) / 2.0
        low_ft, high_ft = (middle_ft, high_ft) if climbs(middle_ft) else (low_ft, middle_ft)
    return low_ft
