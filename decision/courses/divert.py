"""A diversion: fly a way to an aerodrome and an approach there, and draw up the fuel."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from decision.case import Leg
from decision.course import Attempt, Course, CourseKind, Ledger, Origin, Role
from decision.courses.air import air_along
from decision.courses.attempts import attempts
from decision.courses.choose import best_attempt
from decision.courses.flight import Flight, State
from decision.courses.remembered import approach_allowance, fly_diversion, need_spread
from decision.courses.reserve import (
    HOLDING_HEIGHT_FT,
    arrival_flow_kg_per_h,
    fuel_unknowns,
    planned_reserve_kg,
    reserve_kg,
)
from decision.courses.situation import Situation
from decision.performance import Air, Configuration, Flown, Spread
from decision.profile.operator_tables import OutOfTable
from decision.windows import Window, around


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a diversion begins: kind of course, where from, by which flight, in what state."""

    kind: CourseKind
    origin: Origin
    flight: Flight
    configuration: Configuration
    distance_nm: float | None
    at_missed_approach_kg: float | None
    missed: tuple[Attempt, ...]
    missed_at: datetime | None
    hold_min: float


def diversion_air(situation: Situation, leg: Leg, origin: Origin) -> Air:
    """The air on the way to an aerodrome, from the present position or from the destination."""
    case = situation.case
    start = case.aircraft if origin is Origin.PRESENT else case.destination.aerodrome
    return air_along(
        case,
        start=start.position,
        end=leg.aerodrome.position,
        more_headwind_kt=situation.what_if.headwind_kt,
    )


def start_of_approach_ft(leg: Leg) -> float:
    """Where a diversion ends and the approach there begins."""
    return leg.aerodrome.elevation_ft + HOLDING_HEIGHT_FT


def fly_to(
    situation: Situation,
    leg: Leg,
    *,
    start: State,
    configuration: Configuration,
    distance_nm: float,
    air: Air,
) -> Flown:
    """The diversion itself at its best level and speed, to the start of the approach."""
    return fly_diversion(
        situation.case.aircraft.profile,
        configuration=configuration,
        mass_kg=start.mass_kg,
        distance_nm=distance_nm,
        start_pressure_altitude_ft=start.pressure_altitude_ft,
        end_pressure_altitude_ft=start_of_approach_ft(leg),
        air=air,
        minimum_pressure_altitude_ft=leg.minimum_level_ft,
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
    )


def divert(situation: Situation, leg: Leg, way: Way) -> Course:
    """Fly the way to an aerodrome and an approach there, and draw up the fuel."""
    case, profile = situation.case, situation.case.aircraft.profile
    if way.distance_nm is None:
        return unflown(situation, leg, way, unknown=(f"distance to {leg.aerodrome.icao}",))
    start = way.flight
    if start.limited_by is not None:
        return stopped(situation, leg, way, start)
    air = diversion_air(situation, leg, way.origin)
    flown = fly_to(
        situation,
        leg,
        start=start.state,
        configuration=way.configuration,
        distance_nm=way.distance_nm,
        air=air,
    )
    ahead_ft = start_of_approach_ft(leg)
    there = start.then(flown, pressure_altitude_ft=ahead_ft)
    if there.limited_by is not None:
        return stopped(situation, leg, way, there)
    landed = there.then(
        approach_allowance(
            profile,
            configuration=situation.configurations.landing,
            mass_kg=there.state.mass_kg,
            pressure_altitude_ft=ahead_ft,
            leak_kg_per_h=case.fuel.leak_kg_per_h,
        )
    )
    counted_kg = _counted_from_kg(way)
    spread = need_spread(
        profile,
        configuration=way.configuration,
        flown=flown,
        mass_kg=start.state.mass_kg,
        start_pressure_altitude_ft=start.state.pressure_altitude_ft,
        air=air,
        leak_kg_per_h=case.fuel.leak_kg_per_h,
        other_fuel_kg=counted_kg - landed.state.usable_kg - flown.fuel_kg,
    )
    try:
        return _course(situation, leg, way, landed, flown=flown, spread=spread)
    except OutOfTable as error:
        return unflown(situation, leg, way, unknown=(str(error),))


def _course(
    situation: Situation, leg: Leg, way: Way, landed: Flight, *, flown: Flown, spread: Spread
) -> Course:
    counted_kg = _counted_from_kg(way)
    arrival = landed.state
    ledger = Ledger(
        at_missed_approach_kg=way.at_missed_approach_kg,
        counted_from_kg=counted_kg,
        flight_kg=counted_kg - arrival.usable_kg,
        planned_reserve_kg=planned_reserve_kg(situation, arrival.mass_kg, leg),
        configured_reserve_kg=reserve_kg(situation, way.configuration, arrival.mass_kg, leg),
        spread=spread,
    )
    candidates = attempts(
        situation,
        leg=leg,
        role=Role.ALTERNATE,
        at=arrival.at,
        window=_alternate_window(situation, arrival.at, spread),
        mass_kg=arrival.mass_kg,
    )
    return Course(
        kind=way.kind,
        origin=way.origin,
        leg=leg,
        hold_min=way.hold_min,
        attempts=(*way.missed, best_attempt(situation, candidates)),
        steps=landed.steps,
        configuration=way.configuration,
        ledger=ledger,
        start_at=situation.case.as_of,
        missed_at=way.missed_at,
        arrive_at=arrival.at,
        cruise_level_ft=flown.pressure_altitude_ft,
        cruise_cas_kt=flown.cas_kt,
        limited_by=None,
        unknown=fuel_unknowns(situation),
        holding_flow_kg_per_h=arrival_flow_kg_per_h(
            situation, way.configuration, arrival.mass_kg, leg
        ),
    )


def _counted_from_kg(way: Way) -> float:
    """Usable fuel where the ledger begins: at the minimum, or where the diversion starts."""
    if way.at_missed_approach_kg is not None:
        return way.at_missed_approach_kg
    return way.flight.state.usable_kg


def _alternate_window(situation: Situation, at: datetime, spread: Spread) -> Window:
    """The rulebook's window around the arrival, widened by how early or late it may be.

    It never reaches into the past, of which no report in force speaks.
    """
    book = situation.rulebook
    bar = situation.case.policy.alternate_bar
    before_min = book.number(f"alternate_{bar}_before_min")
    after_min = book.number(f"alternate_{bar}_after_min")
    whole = around(
        at,
        before_min=before_min + spread.time_p50_min - spread.time_p5_min,
        after_min=after_min + spread.time_p95_min - spread.time_p50_min,
    )
    return Window(max(whole.start_at, situation.case.as_of), whole.end_at)


def stopped(situation: Situation, leg: Leg, way: Way, flight: Flight) -> Course:
    """A course whose flight stopped, at a limit or for a figure that is not known."""
    if flight.unknown and flight.limited_by is not None:
        return unflown(situation, leg, way, unknown=(flight.limited_by,))
    return unflown(situation, leg, way, limited_by=flight.limited_by)


def unflown(
    situation: Situation,
    leg: Leg,
    way: Way,
    *,
    limited_by: str | None = None,
    unknown: tuple[str, ...] = (),
) -> Course:
    """A course that cannot be flown, or of which the way is not known."""
    return Course(
        kind=way.kind,
        origin=way.origin,
        leg=leg,
        hold_min=way.hold_min,
        attempts=way.missed,
        steps=way.flight.steps,
        configuration=way.configuration,
        ledger=None,
        start_at=situation.case.as_of,
        missed_at=way.missed_at,
        arrive_at=None,
        cruise_level_ft=None,
        cruise_cas_kt=None,
        limited_by=limited_by,
        unknown=unknown,
        holding_flow_kg_per_h=0.0,
    )
