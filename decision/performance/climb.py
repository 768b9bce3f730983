"""Climb and descent at a point, gradients, and the ceiling.

`sin(path) = (T - D) / W / (1 + f)` with the acceleration factor f of the speed law actually flown.
Gradients are tangents through the air; over the ground they carry the wind. Rates are of pressure
altitude. Accuracy: one-engine gradients +/- 0.6 point (thrust 3 %, induced drag 5 %, gear 20 %).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Final

from msgspec import Struct

from decision.atmosphere import GRAVITY_MPS2
from decision.elementwise import Numbers
from decision.errors import require_range
from decision.fields import about
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
    S_PER_H,
    S_PER_MIN,
)

MINIMUM_RATE_FPM: Final = 100.0  # [ASSUMED] below it a level counts as out of reach
RATE_PASSES: Final = 2  # thrust depends weakly on the rate it gives

CEILING_TOLERANCE_FT: Final = 10.0
LONGEST_CLIMB_NM: Final = 60.0  # [ASSUMED] beyond it a climb is en route, and at another thrust
CLIMB_STEP_NM: Final = 1.0  # mid-point; 4 ft in 18,000 against steps of a tenth
FPM_PER_MPS: Final = S_PER_MIN / M_PER_FT


class PathRate(Struct, frozen=True, kw_only=True, gc=False):
    """Sine of the path angle, rate of pressure altitude (both positive upwards) and thrust."""

    sine: Numbers
    rate_fpm: Numbers
    thrust_n: Numbers


class Climb(Struct, frozen=True, kw_only=True, gc=False):
    """A climb at one level; gradients are zero or negative if the aircraft cannot climb."""

    gradient_percent: float
    ground_gradient_percent: float
    ft_per_nm: float
    rate_fpm: float
    cas_kt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reached:
    """Where a climb is at a distance over the ground: true height above its start, and level.

    `levelled_off`: it was at the height or altitude that ends it before.
    """

    height_gained_ft: Annotated[float, about("True height above the start.", unit="ft")]
    pressure_altitude_ft: Annotated[float, about("Pressure altitude.", unit="ft")]
    levelled_off: Annotated[bool, about("Whether the climb had ended before.")]


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

    By hand, [ANDERSON]: at 93.8 m/s and 1.155 kg/m3 the dynamic pressure on 125 m2 is 635 kN, CL is
    0.926 and CD 0.0205 + 0.0415 CL^2 + 0.004 (windmilling) = 0.060: 38 kN, and 1 kN for the yaw.
    One engine gives 80.4 kN; the excess over a weight of 588 kN is 0.070, and 4 % of it goes into
    the true airspeed that grows with height: 6.7 %.

    >>> from decision.performance.configuration import clean
    >>> from decision.profile import load_profile
    >>> twin = load_profile("xtj150")
    >>> climbed = climb(
    ...     twin,
    ...     configuration=clean(twin, engines_stopped=1),
    ...     mass_kg=60_000.0,
    ...     pressure_altitude_ft=2_000.0,
    ...     isa_deviation_degc=0.0,
    ... )
    >>> round(climbed.gradient_percent, 1), round(climbed.rate_fpm, -1)
    (6.7, 1240.0)
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


def altitude_at_distance(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    pressure_altitude_ft: float,
    isa_deviation_degc: float,
    distance_nm: float,
    headwind_kt: float = 0.0,
    level_first_s: float = 0.0,
    most_gained_ft: float = math.inf,
) -> Reached:
    """Height of a go-around at a distance from its start, at go-around thrust and speed.

    `level_first_s` are flown level first; `most_gained_ft` ends the climb, as does the altitude
    limit of the configuration. The mass stays that of the start, which errs on the low side, and
    the deviation from standard is taken the same all the way up. A climb that is none loses height.
    Raises OutOfRange for an impossible mass, level, headwind or distance.
    """
    require_range("distance_nm", distance_nm, low=0.0, high=LONGEST_CLIMB_NM)
    conditions = _Conditions(
        profile=profile,
        configuration=configuration,
        mass_kg=mass_kg,
        isa_deviation_degc=isa_deviation_degc,
        headwind_kt=headwind_kt,
    )
    first = conditions.at(pressure_altitude_ft)
    climbing_nm = max(0.0, distance_nm - first.ground_kt * level_first_s / S_PER_H)
    steps = math.ceil(climbing_nm / CLIMB_STEP_NM)
    highest_ft = envelope(profile, configuration).highest_ft.value
    level_ft, gained_ft = float(pressure_altitude_ft), 0.0
    for _ in range(steps):
        half_nm = climbing_nm / steps / 2.0
        here = conditions.at(level_ft)
        middle = conditions.at(level_ft + half_nm * here.level_ft_per_nm)
        gained_ft += 2.0 * half_nm * middle.ft_per_nm
        level_ft += 2.0 * half_nm * middle.level_ft_per_nm
        if gained_ft >= most_gained_ft or level_ft >= highest_ft:
            share = middle.level_ft_per_nm / middle.ft_per_nm
            over_ft = max(gained_ft - most_gained_ft, (level_ft - highest_ft) / share)
            return Reached(
                height_gained_ft=gained_ft - over_ft,
                pressure_altitude_ft=level_ft - over_ft * share,
                levelled_off=True,
            )
    return Reached(height_gained_ft=gained_ft, pressure_altitude_ft=level_ft, levelled_off=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tangent:
    """The path at one level: true height and pressure altitude per mile over the ground."""

    ft_per_nm: float
    level_ft_per_nm: float
    ground_kt: float


@dataclass(frozen=True, slots=True, kw_only=True)
class _Conditions:
    """What stays the same along a climb at go-around thrust."""

    profile: Profile
    configuration: Configuration
    mass_kg: float
    isa_deviation_degc: float
    headwind_kt: float

    def at(self, pressure_altitude_ft: float) -> _Tangent:
        """The path at a level."""
        climbed = climb(
            self.profile,
            configuration=self.configuration,
            mass_kg=self.mass_kg,
            pressure_altitude_ft=pressure_altitude_ft,
            isa_deviation_degc=self.isa_deviation_degc,
            headwind_kt=self.headwind_kt,
        )
        at = point(
            pressure_altitude_ft=float(pressure_altitude_ft),
            cas_kt=climbed.cas_kt,
            isa_deviation_degc=float(self.isa_deviation_degc),
            mach_cap=envelope(self.profile, self.configuration).mach_cap,
        )
        return _Tangent(
            ft_per_nm=climbed.ft_per_nm,
            level_ft_per_nm=climbed.ft_per_nm * float(at.standard_to_true_height),
            ground_kt=ground_speed_kt(
                tas_kt=float(at.tas_kt), headwind_kt=self.headwind_kt, crosswind_kt=0.0
            ),
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
