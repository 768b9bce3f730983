"""The first leg from above a level limit: emergency descent, drift-down, or an ordinary descent.

Without cabin pressure the aircraft goes down at idle with the speed brakes out at the profile's
speed, to the level at which people breathe (or the lowest that terrain allows). With thrust that
does not hold the level it drifts down at the speed of least drag and the en-route rating, to the
level where 300 ft/min of climb are left; where that rating would sink by less than controllers
expect, it is pulled back. Anything else is a descent at idle. Slabs of 500 ft, all at once: fuel of
a first pass gives the masses of the second. Left out: the seconds to start and to level off.
"""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

import numpy as np
from msgspec import Struct

from decision.atmosphere import GRAVITY_MPS2
from decision.elementwise import FloatArray, Numbers
from decision.performance.air import crosswind_kt, headwind_kt, isa_deviation_degc
from decision.performance.arrival import one_step
from decision.performance.climb import (
    FPM_PER_MPS,
    MINIMUM_RATE_FPM,
    PathRate,
    climb_rate,
    idle_descent,
    path_rate,
)
from decision.performance.configuration import (
    CALM_STANDARD,
    Air,
    CannotFly,
    Configuration,
    Outcome,
    Step,
)
from decision.performance.envelope import (
    LEVEL_STEP_FT,
    NamedLimit,
    envelope,
    require_mass,
    slowest_kt,
)
from decision.performance.fuel_flow import fuel_flow_kg_per_h
from decision.performance.holding import minimum_drag_speed_kt
from decision.performance.ordinary import ordinary_way
from decision.performance.point import Point, point
from decision.performance.slabs import SLAB_FT
from decision.performance.thrust import en_route_rating, idle_thrust_n
from decision.profile import Profile
from decision.units import MIN_PER_H, MPS_PER_KT

RATE_LEFT_FPM: Final = 300.0  # climb that is left where a drift-down ends; semantics 4 [ASSUMED]
LEAST_SINK_FPM: Final = 500.0  # [PRACTICE] controllers expect no less of a descent
THRUST_PASSES: Final = 3  # drag depends weakly on the thrust that holds the sink
CEILING_NAME: Final = "level with 300 ft/min of climb left"


class Descent(StrEnum):
    """Kinds of first leg from above a limit; the names of its step."""

    EMERGENCY = "emergency descent"
    DRIFT_DOWN = "drift-down"
    ORDINARY = "descent to the level limit"


class LevelLimit(Struct, frozen=True, kw_only=True, gc=False):
    """The highest level at which the aircraft may and can stay, and how it gets down to it."""

    limit: NamedLimit
    descent: Descent


def level_limit(
    profile: Profile,
    configuration: Configuration,
    *,
    mass_kg: float,
    pressure_altitude_ft: float,
    air: Air = CALM_STANDARD,
    lowest_ft: float = 0.0,
) -> LevelLimit | None:
    """What an aircraft at a level has to descend to; None where it may and can stay.

    `lowest_ft` is the lowest level of the way, which bounds a descent to where people breathe. An
    aircraft that holds no level at all has no such limit: what it cannot do, its course says.
    """
    highest = envelope(profile, configuration).highest_above_ft(lowest_ft)
    start_ft = float(pressure_altitude_ft)
    above = start_ft > highest.value
    kind = Descent.ORDINARY if configuration.pressurised else Descent.EMERGENCY
    from_ft = min(start_ft, highest.value)
    held_ft = _held_ft(profile, configuration, mass_kg=mass_kg, from_ft=from_ft, air=air)
    if held_ft is None or held_ft >= from_ft:
        return LevelLimit(limit=highest, descent=kind) if above else None
    if kind is Descent.ORDINARY or not above:
        kind = Descent.DRIFT_DOWN
    level_ft = math.floor(held_ft / LEVEL_STEP_FT) * LEVEL_STEP_FT
    return LevelLimit(limit=NamedLimit(value=level_ft, name=CEILING_NAME), descent=kind)


def fly_level_limit(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    pressure_altitude_ft: float,
    limit: LevelLimit,
    air: Air = CALM_STANDARD,
    leak_kg_per_h: float = 0.0,
    fast: bool = False,
) -> Outcome:
    """Descend to the limit; `fast`: an ordinary descent at the highest speed of a plan.

    No flight where idle thrust does not descend. Raises OutOfRange for an impossible mass.
    """
    require_mass(profile, mass_kg=mass_kg)
    start_ft, end_ft = float(pressure_altitude_ft), limit.limit.value
    count = math.ceil((start_ft - end_ft) / SLAB_FT)
    slab_ft = (start_ft - end_ft) / count
    middles_ft: FloatArray = start_ft - slab_ft * np.arange(0.5, count)
    at = point(
        pressure_altitude_ft=middles_ft,
        cas_kt=_speed_kt(profile, configuration, limit.descent, mass_kg=mass_kg, fast=fast),
        isa_deviation_degc=isa_deviation_degc(air, pressure_altitude_ft=middles_ft),
        mach_cap=envelope(profile, configuration).mach_cap,
    )
    masses_kg: FloatArray = np.full(count, float(mass_kg))
    for _ in range(2):
        path = _path(profile, configuration, limit.descent, mass_kg=masses_kg, at=at)
        sink_fpm = -np.asarray(path.rate_fpm)
        if sink_fpm.min() < MINIMUM_RATE_FPM:
            return CannotFly(
                limited_by=f"no descent from {start_ft:.0f} ft: idle holds the aircraft up"
            )
        hours = slab_ft / sink_fpm / MIN_PER_H
        flow = fuel_flow_kg_per_h(profile, configuration, thrust_n=path.thrust_n, at=at)
        fuel_kg = (np.asarray(flow) + leak_kg_per_h) * hours
        masses_kg = mass_kg - np.cumsum(fuel_kg) + fuel_kg / 2.0
    step = Step(
        name=limit.descent.value,
        distance_nm=float((_along_kt(at, path, air) * hours).sum()),
        time_min=float(hours.sum()) * MIN_PER_H,
        fuel_kg=float(fuel_kg.sum()),
        pressure_altitude_ft=end_ft,
        cas_kt=float(np.asarray(at.cas_kt)[-1]),
        configuration=configuration.label,
    )
    return one_step(step, start_mass_kg=mass_kg)


def _held_ft(
    profile: Profile, configuration: Configuration, *, mass_kg: float, from_ft: float, air: Air
) -> float | None:
    """The highest level up to one with 300 ft/min of climb left at the speed of least drag.

    Where none has so much, the highest with the least rate that counts as climbing; else None.
    """
    cas_kt = float(minimum_drag_speed_kt(profile, configuration=configuration, mass_kg=mass_kg))

    def rate_fpm(level_ft: Numbers) -> Numbers:
        at = point(
            pressure_altitude_ft=level_ft,
            cas_kt=cas_kt,
            isa_deviation_degc=isa_deviation_degc(air, pressure_altitude_ft=level_ft),
            mach_cap=envelope(profile, configuration).mach_cap,
        )
        rating = en_route_rating(profile, configuration)
        return climb_rate(profile, configuration, mass_kg=mass_kg, at=at, rating=rating).rate_fpm

    if rate_fpm(from_ft) >= RATE_LEFT_FPM:  # most often, and then no other level matters
        return from_ft
    count = max(1, math.ceil(from_ft / SLAB_FT))
    levels_ft: FloatArray = from_ft - from_ft / count * np.arange(0.0, count + 1.0)
    rates_fpm = np.asarray(rate_fpm(levels_ft))
    for wanted_fpm in (RATE_LEFT_FPM, MINIMUM_RATE_FPM):
        (held,) = np.nonzero(rates_fpm >= wanted_fpm)
        if held.size:
            return float(levels_ft[held[0]])
    return None


def _speed_kt(
    profile: Profile, configuration: Configuration, kind: Descent, *, mass_kg: float, fast: bool
) -> float:
    """Clear of the placards, and not slower than the aircraft is manoeuvred."""
    limits = envelope(profile, configuration)
    slowest = slowest_kt(profile, configuration, mass_kg=mass_kg)
    if kind is Descent.DRIFT_DOWN:
        wanted = float(minimum_drag_speed_kt(profile, configuration=configuration, mass_kg=mass_kg))
    elif kind is Descent.EMERGENCY:
        wanted = profile.emergency_descent.cas_kt
    else:
        wanted = limits.planned_kt if fast else ordinary_way(profile, configuration).cas_kt
    return max(min(wanted, limits.planned_kt), slowest)


def _path(
    profile: Profile, configuration: Configuration, kind: Descent, *, mass_kg: FloatArray, at: Point
) -> PathRate:
    """Idle, with the speed brakes out in an emergency; or the rating, pulled back to sink."""
    if kind is not Descent.DRIFT_DOWN:
        brakes_cd = profile.emergency_descent.speed_brake_cd if kind is Descent.EMERGENCY else 0.0
        return idle_descent(profile, configuration, mass_kg=mass_kg, at=at, extra_cd=brakes_cd)
    rating = en_route_rating(profile, configuration)
    path = climb_rate(profile, configuration, mass_kg=mass_kg, at=at, rating=rating)
    rated_n, least_n = (
        np.asarray(path.thrust_n),
        np.asarray(idle_thrust_n(profile, configuration, at=at)),
    )
    for _ in range(THRUST_PASSES):
        more_fpm = np.asarray(path.rate_fpm) + LEAST_SINK_FPM
        rise_fpm = np.asarray(at.tas_mps * at.standard_to_true_height) * FPM_PER_MPS
        excess_n = more_fpm / rise_fpm * (1.0 + at.acceleration_factor) * mass_kg * GRAVITY_MPS2
        thrust_n = np.clip(np.asarray(path.thrust_n) - excess_n, least_n, rated_n)
        path = path_rate(profile, configuration, mass_kg=mass_kg, at=at, total_thrust_n=thrust_n)
    return path


def _along_kt(at: Point, path: PathRate, air: Air) -> FloatArray:
    """Speed along the track; no miles backwards."""
    height_ft = at.pressure_altitude_ft
    along_square = (np.asarray(at.tas_mps) / MPS_PER_KT) ** 2 * (1.0 - np.asarray(path.sine) ** 2)
    across_kt = crosswind_kt(air, pressure_altitude_ft=height_ft)
    left_kt = np.sqrt(np.maximum(along_square - across_kt**2, 0.0))
    result: FloatArray = np.maximum(left_kt - headwind_kt(air, pressure_altitude_ft=height_ft), 0.0)
    return result
