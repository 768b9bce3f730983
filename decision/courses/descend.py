"""The first leg of a course that begins above a level limit: down to it, towards where it goes.

Every course flies it by itself, in the air of its own track, and its miles are credited as far as
the course has any: what is left over is extra track. Checklists run during it, as on the whole way.
A drift-down that would reach beyond the top of the last descent gives way to an ordinary descent,
and so it does where time counts.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from decision.courses.flight import Flight
from decision.courses.remembered import fly_level_limit, level_limit
from decision.courses.situation import Situation
from decision.performance import Air, Descent, Flown, LevelLimit, Objective

DESCENT_NM_PER_FT: Final = 3.0 / 1000.0  # [PRACTICE] three miles for a thousand feet


@dataclass(frozen=True, slots=True, kw_only=True)
class Descended:
    """A flight at a level where the aircraft may stay, and the miles of its way that are left."""

    flight: Flight
    left_nm: float


def objective_of(situation: Situation) -> Objective:
    """What the courses of a situation are flown for."""
    if situation.for_time:
        return Objective.LEAST_TIME
    leaks = situation.case.fuel.leak_kg_per_h > 0.0
    return Objective.LEAST_FUEL_AND_LEAK if leaks else Objective.LEAST_FUEL


def descended(
    situation: Situation,
    flight: Flight,
    air: Air,
    *,
    miles: float,
    lowest_ft: float,
) -> Descended:
    """Down to the level limit on a way of so many miles whose lowest level is given."""
    if flight.limited_by is not None:
        return Descended(flight=flight, left_nm=miles)
    state = flight.state
    limit = level_limit(
        situation.case.aircraft.profile,
        situation.configurations.clean,
        mass_kg=state.mass_kg,
        pressure_altitude_ft=state.pressure_altitude_ft,
        air=air,
        lowest_ft=lowest_ft,
    )
    if limit is None:
        return Descended(flight=flight, left_nm=miles)
    flown = _flown(situation, flight, air, limit)
    if limit.descent is Descent.DRIFT_DOWN and (
        situation.for_time or flown.distance_nm + _room_nm(limit, lowest_ft) > miles
    ):
        flown = _flown(situation, flight, air, replace(limit, descent=Descent.ORDINARY))
    return Descended(flight=flight.then(flown), left_nm=max(0.0, miles - flown.distance_nm))


def _room_nm(limit: LevelLimit, lowest_ft: float) -> float:
    """Miles that the last descent takes."""
    return max(0.0, limit.limit.value - lowest_ft) * DESCENT_NM_PER_FT


def _flown(situation: Situation, flight: Flight, air: Air, limit: LevelLimit) -> Flown:
    return fly_level_limit(
        situation.case.aircraft.profile,
        configuration=situation.configurations.clean,
        mass_kg=flight.state.mass_kg,
        pressure_altitude_ft=flight.state.pressure_altitude_ft,
        limit=limit,
        air=air,
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
        fast=situation.for_time,
    )
