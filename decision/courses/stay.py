"""Courses that end at the destination: another approach after a miss, and staying for good."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from decision.course import Attempt, Course, CourseKind, Ledger, Origin, Role
from decision.courses.approach import assigned_hold_min
from decision.courses.arrive import WEATHER_AT_MINIMUM_MIN, Approaching
from decision.courses.attempts import attempts
from decision.courses.divert import Way, stopped, unflown
from decision.courses.flight import Flight
from decision.courses.hold import held
from decision.courses.miss import go_around
from decision.courses.remembered import approach_allowance
from decision.courses.reserve import (
    arrival_flow_kg_per_h,
    fuel_at_most,
    fuel_unknowns,
    planned_reserve_kg,
    reserve_kg,
)
from decision.courses.situation import Situation
from decision.profile.operator_tables import OutOfTable
from decision.windows import around

SECOND_APPROACH_MIN: Final = 10.0  # repositioning between two approaches [PRACTICE]


def second_approach(situation: Situation, approaching: Approaching) -> Course:
    """Miss, reposition, and land at the destination from the next approach."""
    minimum = approaching.flight.minimum
    again = go_around(situation, minimum, approaching.attempt)
    plan = situation.configurations
    again = held(
        situation,
        again,
        SECOND_APPROACH_MIN,
        configuration=plan.after_miss,
        name="repositioning for a second approach",
    )
    if again.limited_by is None:
        again = again.then(
            approach_allowance(
                situation.case.aircraft.profile,
                configuration=plan.landing,
                mass_kg=again.state.mass_kg,
                pressure_altitude_ft=again.state.pressure_altitude_ft,
                leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
            )
        )
    return _landing_here(
        situation,
        approaching,
        again,
        kind=CourseKind.SECOND_APPROACH,
        role=Role.MISSED,
        missed=(approaching.attempt,),
    )


def commit(situation: Situation, approaching: Approaching) -> Course:
    """Land from this approach, with nowhere else to go."""
    return _landing_here(
        situation,
        approaching,
        approaching.flight.minimum,
        kind=CourseKind.COMMIT_TO_LAND,
        role=Role.COMMITTED,
        missed=(),
    )


def landing_of_unknown_way(situation: Situation, present: Flight) -> Course:
    """A landing at the destination of which the distance to run is not known."""
    leg = situation.case.destination
    way = Way(
        kind=CourseKind.COMMIT_TO_LAND,
        origin=Origin.PRESENT,
        flight=present,
        configuration=situation.configurations.clean,
        at_missed_approach_kg=None,
        missed=(),
        missed_at=None,
        hold_min=assigned_hold_min(situation),
    )
    return unflown(situation, leg, way, unknown=(f"distance to {leg.aerodrome.icao}",))


def _landing_here(
    situation: Situation,
    approaching: Approaching,
    landed: Flight,
    *,
    kind: CourseKind,
    role: Role,
    missed: tuple[Attempt, ...],
) -> Course:
    minimum, leg = approaching.flight.minimum, situation.case.destination
    way = Way(
        kind=kind,
        origin=Origin.MISSED_APPROACH,
        flight=landed,
        configuration=situation.configurations.after_miss,
        at_missed_approach_kg=minimum.state.usable_kg,
        missed=missed,
        missed_at=minimum.state.at,
        hold_min=assigned_hold_min(situation),
    )
    if landed.limited_by is not None:
        return stopped(situation, leg, way, landed)
    at = landed.state.at
    here = attempts(
        situation,
        leg=leg,
        role=role,
        at=at,
        window=around(at, before_min=0.0, after_min=WEATHER_AT_MINIMUM_MIN),
        mass_kg=landed.state.mass_kg,
        approach_id=None
        if approaching.attempt.approach is None
        else approaching.attempt.approach.id,
    )
    try:
        fuel = _fuel(situation, way, minimum, landed)
    except OutOfTable as error:
        fuel = _Fuel(ledger=None, flow_kg_per_h=0.0, unknown=(str(error),))
    return Course(
        kind=kind,
        origin=Origin.MISSED_APPROACH,
        leg=leg,
        hold_min=way.hold_min,
        attempts=(*missed, *here),
        steps=landed.steps,
        configuration=way.configuration,
        ledger=fuel.ledger,
        start_at=situation.case.as_of,
        missed_at=minimum.state.at,
        arrive_at=at,
        cruise_level_ft=None,
        cruise_cas_kt=None,
        limited_by=None,
        unknown=fuel.unknown,
        holding_flow_kg_per_h=fuel.flow_kg_per_h,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Fuel:
    """Fuel of a landing here; no ledger where an operator's table ends before it."""

    ledger: Ledger | None
    flow_kg_per_h: float
    unknown: tuple[str, ...]


def _fuel(situation: Situation, way: Way, minimum: Flight, landed: Flight) -> _Fuel:
    """Counted from the minimum. Raises OutOfTable."""
    leg, mass_kg = situation.case.destination, landed.state.mass_kg
    ledger = Ledger(
        at_missed_approach_kg=minimum.state.usable_kg,
        counted_from_kg=minimum.state.usable_kg,
        flight_kg=minimum.state.usable_kg - landed.state.usable_kg,
        planned_reserve_kg=planned_reserve_kg(situation, mass_kg, leg),
        configured_reserve_kg=reserve_kg(situation, way.configuration, mass_kg, leg),
        spread=None,
        at_most=fuel_at_most(situation),
    )
    return _Fuel(
        ledger=ledger,
        flow_kg_per_h=arrival_flow_kg_per_h(situation, way.configuration, mass_kg, leg),
        unknown=fuel_unknowns(situation),
    )
