"""The arrival: level at the present height, then down at idle to the start of the approach.

Flown at the profile's arrival speed, or the nearest that the configuration allows; for time at the
highest of a plan; with a leak at whichever of these takes least. An aircraft that
may not or cannot stay at its height goes down to the highest level that it can hold. If the track
left is too short to lose the height, the extra track is flown and shown as a step of its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, assert_never

import numpy as np
from msgspec.structs import replace

from decision.elementwise import FloatArray
from decision.performance.air import crosswind_kt, headwind_kt, isa_deviation_degc
from decision.performance.climb import MINIMUM_RATE_FPM
from decision.performance.configuration import (
    CALM_STANDARD,
    Air,
    CannotFly,
    Configuration,
    Flown,
    NotKnown,
    Objective,
    Outcome,
    no_headway,
)
from decision.performance.diversion import (
    DiversionLeg,
    FlownStage,
    flown_stages,
    fly_diversion,
    forbidden_words,
)
from decision.performance.envelope import envelope
from decision.performance.level import known_level_flow_kg_per_h
from decision.performance.point import point
from decision.performance.prepared import (
    MILES,
    NearMass,
    Parabola,
    Prepared,
    near_mass,
    prepared,
)
from decision.performance.search import between, row_of, speeds_for, winds_of
from decision.performance.slabs import CRUISE_PASSES
from decision.profile import Profile
from decision.profile.operator_tables import OutOfTable
from decision.speeds import NoHeadway, ground_speed_kt
from decision.units import MIN_PER_H

SPEEDS_BETWEEN_KT: Final = (
    250.0,
    280.0,
    310.0,
)  # [ASSUMED] between the usual and the highest
DESCENT_PASSES: Final = 2  # the descent at the mass before the cruise, then at the one after it


def fly_run_in(
    profile: Profile,
    *,
    configuration: Configuration,
    mass_kg: float,
    distance_nm: float,
    start_pressure_altitude_ft: float,
    end_pressure_altitude_ft: float,
    air: Air = CALM_STANDARD,
    minimum_pressure_altitude_ft: float | None = None,
    leak_kg_per_h: float = 0.0,
    objective: Objective = Objective.LEAST_FUEL,
) -> Outcome:
    """Fly to the start of an approach. An end above the start is climbed to first.

    `minimum_pressure_altitude_ft`: the lowest level of the way, which matters where people breathe
    from masks above it.

    No flight if no level can be held, if the wind leaves no headway, or if an operator's table
    ends before it. Raises OutOfRange for an impossible mass, height, distance or leak, ValueError
    for a flap detent that does not exist.
    """
    start_ft, end_ft = float(start_pressure_altitude_ft), float(end_pressure_altitude_ft)
    if end_ft > start_ft:
        return fly_diversion(
            profile,
            configuration=configuration,
            mass_kg=mass_kg,
            distance_nm=distance_nm,
            start_pressure_altitude_ft=start_ft,
            end_pressure_altitude_ft=end_ft,
            air=air,
            pressure_altitude_ft=end_ft,
            leak_kg_per_h=leak_kg_per_h,
            objective=objective,
        )
    leg = DiversionLeg(
        profile=profile,
        configuration=configuration,
        mass_kg=float(mass_kg),
        distance_nm=float(distance_nm),
        start_ft=start_ft,
        end_ft=end_ft,
        minimum_ft=minimum_pressure_altitude_ft,
        air=air,
        leak_kg_per_h=float(leak_kg_per_h),
        objective=objective,
    )
    forbidden = forbidden_words(leg)
    if forbidden is not None:
        return CannotFly(limited_by=forbidden)
    try:
        cost = _time if leg.objective is Objective.LEAST_TIME else _fuel
        return min((_down(each) for each in _speeds(leg)), key=cost)
    except OutOfTable as error:
        return NotKnown(what=str(error))
    except NoHeadway as error:
        return no_headway(error)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Arrival:
    """A leg and the speed that it is flown at, where the limits allow it."""

    leg: DiversionLeg
    cas_kt: float


def _speeds(leg: DiversionLeg) -> tuple[_Arrival, ...]:
    """The arrival speed; for time, or with a leak, others up to the highest as well.

    One engine may hold a high level only slowly, and a lower one fast.
    """
    usual_kt = leg.profile.speeds.run_in_cas_kt
    match leg.objective:
        case Objective.LEAST_FUEL:
            speeds: tuple[float, ...] = (usual_kt,)
        case Objective.LEAST_TIME | Objective.LEAST_FUEL_AND_LEAK:
            speeds = (usual_kt, *SPEEDS_BETWEEN_KT, math.inf)
        case _:
            assert_never(leg.objective)
    return tuple(_Arrival(leg=leg, cas_kt=speed) for speed in speeds)


def _fuel(flown: Outcome) -> tuple[bool, float]:
    """What can be flown before what cannot, then by fuel."""
    return (False, flown.fuel_kg) if isinstance(flown, Flown) else (True, 0.0)


def _time(flown: Outcome) -> tuple[bool, float]:
    """What can be flown before what cannot, then by minutes."""
    return (False, flown.time_min) if isinstance(flown, Flown) else (True, 0.0)


def _down(arrival: _Arrival) -> Outcome:
    """Level, then down, at the one speed of the arrival."""
    leg = arrival.leg
    tables = prepared(
        leg.profile,
        leg.configuration,
        leg.air,
        mass_kg=leg.mass_kg,
        fast=leg.objective.fast,
    )
    near = near_mass(tables, leg.mass_kg)
    column, level_ft = _held(arrival, tables)
    if level_ft < leg.end_ft:
        return CannotFly(
            limited_by=f"no level can be held at {leg.mass_kg:.0f} kg from {leg.start_ft:.0f} ft"
        )
    descent = _descent(leg, tables, near, column)
    from_start, from_level, from_end = (
        between(descent, row_of(each_ft)) for each_ft in (leg.start_ft, level_ft, leg.end_ft)
    )
    to_level = _stage(leg, Parabola(terms=from_start - from_level), offset_kg=0.0)
    down = Parabola(terms=from_level - from_end)
    level = _level(leg, tables, near, column, level_ft)
    left_nm = leg.distance_nm - to_level.distance_nm
    cruise_kg = 0.0
    for _ in range(DESCENT_PASSES):
        final = _stage(leg, down, offset_kg=-to_level.fuel_kg - cruise_kg)
        straight_nm = left_nm - final.distance_nm
        cruise = level.flown(distance_nm=max(straight_nm, 0.0))
        cruise_kg = cruise.fuel_kg
    return flown_stages(
        leg,
        stages=(to_level, cruise, final),
        level_ft=level_ft,
        cas_kt=float(tables.speeds_kt[column]),
        extra_nm=max(-straight_nm, 0.0),
    )


def _held(arrival: _Arrival, tables: Prepared) -> tuple[int, float]:
    """The column of the speed that is flown, and the level that is held at it.

    The slowest speed allowed where that holds a higher level; not for time, where any will do.
    """
    leg, (wanted, slowest) = arrival.leg, _columns(arrival, tables)
    for_time = leg.objective is Objective.LEAST_TIME
    margin_fpm = MINIMUM_RATE_FPM if for_time else 0.0
    level_ft = _level_to_hold_ft(leg, tables, wanted, margin_fpm=margin_fpm)
    highest_ft = leg.end_ft if for_time else min(leg.start_ft, leg.highest.value)
    if level_ft >= highest_ft:
        return wanted, level_ft
    slow_ft = _level_to_hold_ft(leg, tables, slowest, margin_fpm=0.0)
    return (wanted, level_ft) if level_ft >= slow_ft else (slowest, slow_ft)


def _columns(arrival: _Arrival, tables: Prepared) -> tuple[int, int]:
    """The columns of the arrival speed, clear of the limits, and of the slowest allowed."""
    leg = arrival.leg
    allowed = speeds_for(leg.profile, leg.configuration, tables, mass_kg=leg.mass_kg)
    wanted = int(np.searchsorted(tables.speeds_kt, arrival.cas_kt))
    return max(min(wanted, allowed.stop - 1), allowed.start), allowed.start


def _level_to_hold_ft(
    leg: DiversionLeg, tables: Prepared, column: int, *, margin_fpm: float
) -> float:
    """The highest level, not above the start and the limits, at which the aircraft can stay.

    It could still climb there at margin_fpm: what is flown for time keeps the margin of a
    diversion, what drifts down has none. Minus infinity if no level is left down to the end.
    """
    highest_ft = min(leg.start_ft, leg.highest.value)
    rate = Parabola(terms=tables.climb_rate_fpm.terms[:, column])
    rate_fpm = rate.at(tables.off_middle_kg(leg.mass_kg))
    if np.interp(highest_ft, tables.slab_middles_ft, rate_fpm) >= margin_fpm:
        return highest_ft
    held = (tables.slab_middles_ft <= highest_ft) & (rate_fpm >= margin_fpm)
    held &= tables.slab_middles_ft >= leg.end_ft
    return float(tables.slab_middles_ft[held].max(initial=-math.inf))


def _descent(leg: DiversionLeg, tables: Prepared, near: NearMass, column: int) -> FloatArray:
    """The descent table of one speed, over the ground: [term, quantity, level]."""
    descent = near.descent[:, :, column]
    if leg.air.calm:
        return descent
    blown = descent.copy()
    drift_by_mass_nm = winds_of(tables, (leg.air,)).drift_by_mass_nm[:, 0, column]
    blown[:, MILES] -= tables.in_mass(drift_by_mass_nm, mass_kg=leg.mass_kg)
    return blown


def _stage(leg: DiversionLeg, descent: Parabola, *, offset_kg: float) -> FlownStage:
    """A descent as flown."""
    hours, fuel_kg, distance_nm = descent.at(offset_kg).tolist()
    return FlownStage(
        fuel_kg=fuel_kg * leg.configuration.fuel_flow_scale + hours * leg.leak_kg_per_h,
        time_min=hours * MIN_PER_H,
        distance_nm=distance_nm,
    )


def _level_flow(
    leg: DiversionLeg, tables: Prepared, near: NearMass, column: int, level_ft: float
) -> Callable[[float], float]:
    """Unscaled flow of level flight after so much fuel; it raises OutOfTable where a table ends."""
    if not leg.profile.tables.concern_fuel:
        flow = Parabola(terms=between(near.level_flow_kg_per_h[:, column], row_of(level_ft)))
        return lambda burnt_kg: float(flow.at(-burnt_kg))
    unscaled = replace(leg.configuration, fuel_flow_scale=1.0)
    at = point(
        pressure_altitude_ft=level_ft,
        cas_kt=float(tables.speeds_kt[column]),
        isa_deviation_degc=float(isa_deviation_degc(leg.air, pressure_altitude_ft=level_ft)),
        mach_cap=envelope(leg.profile, unscaled).mach_cap,
    )
    return lambda burnt_kg: known_level_flow_kg_per_h(
        leg.profile, unscaled, mass_kg=leg.mass_kg - burnt_kg, at=at
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Level:
    """Level flight of a leg; `burnt_kg_per_h` after so much fuel."""

    leg: DiversionLeg
    ground_kt: float
    burnt_kg_per_h: Callable[[float], float]

    def flown(self, *, distance_nm: float) -> FlownStage:
        """So far, at the mass of its middle. Raises OutOfTable."""
        hours, fuel_kg = distance_nm / self.ground_kt, 0.0
        for _ in range(CRUISE_PASSES if hours > 0.0 else 0):
            burnt = self.burnt_kg_per_h(fuel_kg / 2.0) * self.leg.configuration.fuel_flow_scale
            fuel_kg = (burnt + self.leg.leak_kg_per_h) * hours
        return FlownStage(fuel_kg=fuel_kg, time_min=hours * MIN_PER_H, distance_nm=distance_nm)


def _level(
    leg: DiversionLeg, tables: Prepared, near: NearMass, column: int, level_ft: float
) -> _Level:
    """At one of the levels. Raises NoHeadway."""
    tas_kt = between(tables.level_tas_kt[column], row_of(level_ft))
    return _Level(
        leg=leg,
        ground_kt=ground_speed_kt(
            tas_kt=float(tas_kt),
            headwind_kt=float(headwind_kt(leg.air, pressure_altitude_ft=level_ft)),
            crosswind_kt=float(crosswind_kt(leg.air, pressure_altitude_ft=level_ft)),
        ),
        burnt_kg_per_h=_level_flow(leg, tables, near, column, level_ft),
    )
