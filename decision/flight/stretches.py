"""A flight in the making: the state after each stretch, the steps so far, and two stretches of all.

Every flight may begin above a level limit and has to come down to it first, and may have minutes
to wait on its way.

A stretch that cannot be flown stops the flight with its named limit; nothing is flown after it. No
aircraft gets lighter than empty: there the flight stops for want of fuel. One with a load goes on
with less fuel than none, so that how much it lacks is a figure.
"""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.flight.physics import fly_hold, fly_level_limit, level_limit
from decision.flight.situation import Situation
from decision.flight.tracks import en_route_deviation_degc
from decision.performance import (
    Air,
    CannotFly,
    Configuration,
    Descent,
    Flown,
    LevelLimit,
    NotKnown,
    Objective,
    Outcome,
    Step,
)


class State(Struct, frozen=True, kw_only=True, gc=False):
    """Where the aircraft is in time, height and fuel."""

    at: datetime
    mass_kg: float
    usable_kg: float
    pressure_altitude_ft: float


def between(start: State, end: State, share: float) -> State:
    """The state at a share of a stretch along which everything changes evenly."""
    return State(
        at=start.at + (end.at - start.at) * share,
        mass_kg=start.mass_kg + (end.mass_kg - start.mass_kg) * share,
        usable_kg=start.usable_kg + (end.usable_kg - start.usable_kg) * share,
        pressure_altitude_ft=start.pressure_altitude_ft
        + (end.pressure_altitude_ft - start.pressure_altitude_ft) * share,
    )


class Flight(Struct, frozen=True, kw_only=True, gc=False):
    """The state now, how it was reached, and what stopped the flight, if anything did.

    `empty_kg`: operating empty mass.
    """

    state: State
    empty_kg: float
    steps: tuple[Step, ...] = ()
    stopped: CannotFly | NotKnown | None = None

    def then(
        self, flown: Outcome, *, pressure_altitude_ft: float | None = None, name: str | None = None
    ) -> Flight:
        """The flight after one more stretch, which ends at the given level or at its own.

        `name` says what the stretch is for, where the physics knows only what it is.
        """
        if self.stopped is not None:
            return self
        if not isinstance(flown, Flown):
            return replace(self, stopped=flown)
        if self.state.mass_kg - flown.fuel_kg < self.empty_kg:
            return replace(self, stopped=self._exhausted(flown))
        level_ft = flown.pressure_altitude_ft
        return replace(
            self,
            state=State(
                at=self.state.at + timedelta(minutes=flown.time_min),
                mass_kg=self.state.mass_kg - flown.fuel_kg,
                usable_kg=self.state.usable_kg - flown.fuel_kg,
                pressure_altitude_ft=level_ft
                if pressure_altitude_ft is None
                else pressure_altitude_ft,
            ),
            steps=self.steps + (flown.steps if name is None else _named(flown.steps, name)),
        )

    def _exhausted(self, flown: Flown) -> CannotFly:
        return CannotFly(
            limited_by=f"fuel exhausted on the way: {flown.fuel_kg:.0f} kg needed, "
            f"{max(0.0, self.state.usable_kg):.0f} kg usable"
        )


def _named(steps: tuple[Step, ...], name: str) -> tuple[Step, ...]:
    return tuple(replace(step, name=name) for step in steps)


def held(
    situation: Situation,
    flight: Flight,
    minutes: float,
    *,
    configuration: Configuration,
    name: str,
) -> Flight:
    """The flight after so many minutes at its level in that configuration."""
    if minutes == 0.0 or flight.stopped is not None:
        return flight
    case, level_ft = situation.case, flight.state.pressure_altitude_ft
    flown = fly_hold(
        case.aircraft.profile,
        configuration=configuration,
        mass_kg=flight.state.mass_kg,
        pressure_altitude_ft=level_ft,
        minutes=minutes,
        isa_deviation_degc=en_route_deviation_degc(case, level_ft),
        leak_kg_per_h=case.fuel.leak_kg_per_h,
    )
    return flight.then(flown, pressure_altitude_ft=level_ft, name=name)


DESCENT_NM_PER_FT: Final = 3.0 / 1000.0  # [PRACTICE] three miles for a thousand feet


class Descended(Struct, frozen=True, kw_only=True, gc=False):
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
    if flight.stopped is not None:
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
        situation.for_time or _miles(flown) + _room_nm(limit, lowest_ft) > miles
    ):
        flown = _flown(situation, flight, air, replace(limit, descent=Descent.ORDINARY))
    return Descended(flight=flight.then(flown), left_nm=max(0.0, miles - _miles(flown)))


def _room_nm(limit: LevelLimit, lowest_ft: float) -> float:
    """Miles that the last descent takes."""
    return max(0.0, limit.limit.value - lowest_ft) * DESCENT_NM_PER_FT


def _miles(flown: Outcome) -> float:
    """Miles of a descent; none where it cannot be flown."""
    return flown.distance_nm if isinstance(flown, Flown) else 0.0


def _flown(situation: Situation, flight: Flight, air: Air, limit: LevelLimit) -> Outcome:
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
