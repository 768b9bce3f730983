"""Holding and the final reserve: level flight at the minimum-drag speed with floors.

The slowest speed is 1.30 VSR, the fastest that of the configuration and of the holding pattern.
The minimum-fuel speed is slower than minimum drag and speed-unstable, so it is not used. Flow is
that of straight flight; half the time in turns of 25 degrees costs some 3 % more.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np

from decision.atmosphere import GRAVITY_MPS2, SEA_LEVEL_PRESSURE_PA, pressure_ratio
from decision.elementwise import Numbers, greater, interpolated, lesser, power
from decision.errors import require_range
from decision.performance.climb import climb_rate
from decision.performance.configuration import (
    CannotFly,
    Configuration,
    Flown,
    NotKnown,
    Outcome,
    Step,
)
from decision.performance.drag import configured_polar
from decision.performance.envelope import envelope, require_mass
from decision.performance.level import known_level_flow_kg_per_h, level_flow
from decision.performance.point import Point, point
from decision.performance.prepared import LIGHTEST_RATIO
from decision.performance.thrust import en_route_rating
from decision.profile import Profile
from decision.profile.operator_tables import OutOfTable
from decision.speeds import DYNAMIC, cas_from_mach
from decision.units import MIN_PER_H

FINAL_RESERVE_MIN: Final = 30.0  # [ICAO-ANNEX6] 4.3.6.3: turbine, at holding speed
FINAL_RESERVE_HEIGHT_FT: Final = 1500.0  # [ICAO-ANNEX6] 4.3.6.3: above the aerodrome, standard
RESERVE_MASS_STEP_KG: Final = 100.0  # error of reading between masses below 0.1 kg, kinks too
HOLDING_PASSES: Final = 2

# [PANS-OPS-I] holding speed limits, categories C and D, normal conditions: up to a level, a speed
HOLDING_LIMITS_KT: Final = ((14_000.0, 230.0), (20_000.0, 240.0), (34_000.0, 265.0))
HOLDING_LIMIT_MACH: Final = 0.83  # [PANS-OPS-I] above the last of these levels


def holding_limit_kt(pressure_altitude_ft: float) -> float:
    """Greatest holding speed at a level, in calibrated airspeed. Source: [PANS-OPS-I].

    >>> holding_limit_kt(14_000.0), holding_limit_kt(14_001.0), holding_limit_kt(34_000.0)
    (230.0, 240.0, 265.0)
    """
    for top_ft, limit_kt in HOLDING_LIMITS_KT:
        if pressure_altitude_ft <= top_ft:
            return limit_kt
    return float(
        cas_from_mach(mach=HOLDING_LIMIT_MACH, pressure_ratio=pressure_ratio(pressure_altitude_ft))
    )


def holding_speed_kt(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: Numbers,
    pressure_altitude_ft: float,
) -> Numbers:
    """Minimum-drag speed, not below 1.30 VSR, clear of the limits unless 1.30 VSR is not.

    By hand, [ANDERSON]: CL = sqrt(0.0205 / 0.0415) = 0.703, so 588.4 kN on 125 m2 ask for 6697 Pa:
    104.6 m/s at sea level, 203.3 kt equivalent, and half a knot more as calibrated at 5000 ft.

    >>> from decision.performance.configuration import clean
    >>> from decision.profile import load_profile
    >>> twin = load_profile("xtj150")
    >>> speed_kt = holding_speed_kt(
    ...     twin, configuration=clean(twin), mass_kg=60_000.0, pressure_altitude_ft=5_000.0
    ... )
    >>> round(float(speed_kt), 1)
    203.7
    """
    limits = envelope(profile, configuration)
    delta = pressure_ratio(pressure_altitude_ft)
    mach = _minimum_drag_mach(profile, configuration, mass_kg=mass_kg, delta=delta)
    fastest = min(limits.planned_kt, holding_limit_kt(pressure_altitude_ft))
    slowest = limits.slowest_per_sqrt_kg * power(mass_kg, 0.5)
    minimum_drag_kt = cas_from_mach(mach=mach, pressure_ratio=delta)
    return greater(lesser(minimum_drag_kt, fastest), slowest)


def minimum_drag_speed_kt(
    profile: Profile, *, configuration: Configuration, mass_kg: float
) -> Numbers:
    """Minimum-drag speed, taken at sea level; clear of the limits of the configuration.

    At altitude the same calibrated speed is some 2 % slow of it by compressibility: less than 0.1 %
    of drag.
    """
    limits = envelope(profile, configuration)
    mach = _minimum_drag_mach(profile, configuration, mass_kg=mass_kg, delta=1.0)
    slowest = limits.slowest_per_sqrt_kg * power(mass_kg, 0.5)
    least_drag_kt = cas_from_mach(mach=mach, pressure_ratio=1.0)
    return greater(lesser(least_drag_kt, limits.planned_kt), slowest)


def _minimum_drag_mach(
    profile: Profile, configuration: Configuration, *, mass_kg: Numbers, delta: Numbers
) -> Numbers:
    polar = configured_polar(profile, configuration)
    lift_coefficient = power(polar.cd0 / polar.k, 0.5)
    pressure_pa = mass_kg * GRAVITY_MPS2 / (profile.wing.area_m2 * lift_coefficient)
    return power(pressure_pa / (DYNAMIC * SEA_LEVEL_PRESSURE_PA * delta), 0.5)


def holding_flow_kg_per_h(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    pressure_altitude_ft: float,
    isa_deviation_degc: float = 0.0,
) -> float:
    """Fuel flow while holding.

    Raises OutOfRange for an impossible mass or level, OutOfTable where an operator's table ends.

    By hand, [ANDERSON]: the least drag is 2 W sqrt(CD0 k) = 588.4 kN x 0.0583 = 34.3 kN, so this
    flow is 19.0 g/(kN s), low and slow.

    >>> from decision.performance.configuration import clean
    >>> from decision.profile import load_profile
    >>> twin = load_profile("xtj150")
    >>> flow_kg_per_h = holding_flow_kg_per_h(
    ...     twin, configuration=clean(twin), mass_kg=60_000.0, pressure_altitude_ft=5_000.0
    ... )
    >>> round(flow_kg_per_h, -1), round(flow_kg_per_h / 3.6 / 34.3, 1)
    (2350.0, 19.0)
    """
    require_mass(profile, mass_kg=mass_kg)
    at = _holding_point(
        profile, configuration, float(mass_kg), float(pressure_altitude_ft), isa_deviation_degc
    )
    return known_level_flow_kg_per_h(profile, configuration, mass_kg=float(mass_kg), at=at)


def fly_hold(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    pressure_altitude_ft: float,
    minutes: float,
    isa_deviation_degc: float = 0.0,
    leak_kg_per_h: float = 0.0,
) -> Outcome:
    """Hold for a time.

    No flight above an altitude limit, where level flight cannot be held, or where an operator's
    table ends.
    """
    require_mass(profile, mass_kg=mass_kg)
    require_range("minutes", minutes, low=0.0, high=24.0 * MIN_PER_H)
    height_ft = float(pressure_altitude_ft)
    at = _holding_point(profile, configuration, float(mass_kg), height_ft, isa_deviation_degc)
    forbidden = _forbidden(profile, configuration, mass_kg, at)
    if forbidden is not None:
        return CannotFly(limited_by=forbidden)
    hours = minutes / MIN_PER_H
    try:
        fuel_kg = _held_kg(
            profile,
            configuration,
            at,
            mass_kg=float(mass_kg),
            hours=hours,
            leak_kg_per_h=leak_kg_per_h,
        )
    except OutOfTable as error:
        return NotKnown(what=str(error))
    distance_nm = float(at.tas_kt) * hours
    step = Step(
        name="holding",
        distance_nm=distance_nm,
        time_min=minutes,
        fuel_kg=fuel_kg,
        pressure_altitude_ft=height_ft,
        cas_kt=float(at.cas_kt),
        configuration=configuration.label,
    )
    return Flown(
        fuel_kg=fuel_kg,
        time_min=minutes,
        distance_nm=distance_nm,
        pressure_altitude_ft=height_ft,
        cas_kt=float(at.cas_kt),
        end_mass_kg=mass_kg - fuel_kg,
        steps=(step,),
    )


def _held_kg(
    profile: Profile,
    configuration: Configuration,
    at: Point,
    *,
    mass_kg: float,
    hours: float,
    leak_kg_per_h: float,
) -> float:
    """What leaves the tanks, at the mass of the middle. Raises OutOfTable."""
    fuel_kg = 0.0
    for _ in range(HOLDING_PASSES):
        flow = known_level_flow_kg_per_h(
            profile, configuration, mass_kg=mass_kg - fuel_kg / 2.0, at=at
        )
        fuel_kg = (flow + leak_kg_per_h) * hours
    return fuel_kg


def final_reserve_kg(
    profile: Profile, *, configuration: Configuration, mass_kg: float, elevation_ft: float
) -> float:
    """30 minutes at holding speed, 1500 ft above an aerodrome, standard air, arrival mass.

    Read from a curve kept per configuration and elevation. Raises OutOfRange outside 0.9 times
    the empty mass to the maximum take-off mass, OutOfTable where an operator's table ends.
    Source: [ICAO-ANNEX6] 4.3.6.3.
    """
    low_kg, high_kg = LIGHTEST_RATIO * profile.masses.oew_kg, profile.masses.mtow_kg
    require_range("mass_kg", mass_kg, low=low_kg, high=high_kg, source=f"profile {profile.id}")
    if profile.tables.concern_fuel:
        height_ft = elevation_ft + FINAL_RESERVE_HEIGHT_FT
        at = _holding_point(profile, configuration, float(mass_kg), float(height_ft), 0.0)
        flow = known_level_flow_kg_per_h(profile, configuration, mass_kg=float(mass_kg), at=at)
        return flow * FINAL_RESERVE_MIN / MIN_PER_H
    masses_kg, reserves_kg = _reserves(profile, configuration, float(elevation_ft))
    return interpolated(mass_kg, masses_kg, reserves_kg)


@lru_cache(maxsize=1024)
def _reserves(
    profile: Profile, configuration: Configuration, elevation_ft: float
) -> tuple[list[float], list[float]]:
    low_kg, high_kg = LIGHTEST_RATIO * profile.masses.oew_kg, profile.masses.mtow_kg
    count = int((high_kg - low_kg) / RESERVE_MASS_STEP_KG) + 2
    masses_kg = np.linspace(low_kg, high_kg, count)
    height_ft = elevation_ft + FINAL_RESERVE_HEIGHT_FT
    at = _holding_point(profile, configuration, masses_kg, height_ft, 0.0)
    flow = np.asarray(level_flow(profile, configuration, mass_kg=masses_kg, at=at).kg_per_h)
    return masses_kg.tolist(), (flow * FINAL_RESERVE_MIN / MIN_PER_H).tolist()


def _holding_point(
    profile: Profile,
    configuration: Configuration,
    mass_kg: Numbers,
    pressure_altitude_ft: float,
    isa_deviation_degc: float,
) -> Point:
    return point(
        pressure_altitude_ft=pressure_altitude_ft,
        cas_kt=holding_speed_kt(
            profile,
            configuration=configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=pressure_altitude_ft,
        ),
        isa_deviation_degc=float(isa_deviation_degc),
        mach_cap=envelope(profile, configuration).mach_cap,
    )


def _forbidden(
    profile: Profile, configuration: Configuration, mass_kg: float, at: Point
) -> str | None:
    """What keeps the aircraft from holding here."""
    limits, height_ft = envelope(profile, configuration), float(at.pressure_altitude_ft)
    if height_ft > limits.highest_ft.value:
        return f"{height_ft:.0f} ft is above {limits.highest_ft.words('ft')}"
    if float(at.cas_kt) > limits.fastest_kt.value:
        return f"1.30 VSR {float(at.cas_kt):.0f} kt is above {limits.fastest_kt.words('kt')}"
    rating = en_route_rating(profile, configuration)
    rate = climb_rate(profile, configuration, mass_kg=mass_kg, at=at, rating=rating).rate_fpm
    if rate < 0.0:
        return f"{height_ft:.0f} ft cannot be held at {mass_kg:.0f} kg: {rate:.0f} ft/min"
    return None
