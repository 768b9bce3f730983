"""A diversion: fly a way to each aerodrome and an approach there, and draw up the fuel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from decision.case import Leg
from decision.course import Attempt, Course, CourseKind, Ledger, Origin, Role
from decision.courses.air import air_along
from decision.courses.approach import before_landing_min, lowest_ft, wait_for_checklists
from decision.courses.attempts import attempts
from decision.courses.choose import best_attempt
from decision.courses.descend import descended, objective_of
from decision.courses.flight import Flight
from decision.courses.net_level import net_level_of
from decision.courses.onward import NOTHING_BEFORE, Arrived, Before, Onward, fly_onward
from decision.courses.remembered import approach_allowance
from decision.courses.reserve import (
    HOLDING_HEIGHT_FT,
    arrival_flow_kg_per_h,
    fuel_at_most,
    fuel_unknowns,
    planned_reserve_kg,
    reserve_kg,
)
from decision.courses.situation import Situation
from decision.performance import Air, Configuration, Flown, Spread, Track
from decision.profile.operator_tables import OutOfTable
from decision.windows import Window, around, minutes_between

LegAndMiles = tuple[Leg, float | None]
"""Where to, and the track miles to it; None: not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """How a diversion begins: kind of course, where from, by which flight, in what state."""

    kind: CourseKind
    origin: Origin
    flight: Flight
    configuration: Configuration
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


def track_to(
    situation: Situation,
    leg: Leg,
    *,
    origin: Origin,
    distance_nm: float,
    most_fuel_kg: float = math.inf,
) -> Track:
    """The way from an origin to the start of the approach at an aerodrome."""
    return Track(
        most_fuel_kg=most_fuel_kg,
        distance_nm=distance_nm,
        end_pressure_altitude_ft=start_of_approach_ft(leg),
        air=diversion_air(situation, leg, origin),
        minimum_pressure_altitude_ft=leg.minimum_level_ft,
    )


def divert(situation: Situation, way: Way, onward: Sequence[LegAndMiles]) -> tuple[Course, ...]:
    """Fly the way to each aerodrome and an approach there, and draw up the fuel."""
    flights = iter(_onward(situation, way, onward) if way.flight.limited_by is None else ())
    courses = []
    for leg, distance_nm in onward:
        if distance_nm is None:
            where = f"distance to {leg.aerodrome.icao}"
            courses.append(unflown(situation, leg, way, unknown=(where,)))
        elif way.flight.limited_by is not None:
            courses.append(stopped(situation, leg, way, way.flight))
        else:
            courses.append(_flown(situation, leg, way, next(flights)))
    return tuple(courses)


def _onward(situation: Situation, way: Way, onward: Sequence[LegAndMiles]) -> tuple[Onward, ...]:
    """The flights to all aerodromes of which the distance is known."""
    state = way.flight.state
    tracks = tuple(
        track_to(
            situation,
            leg,
            origin=way.origin,
            distance_nm=distance_nm,
            most_fuel_kg=_most_fuel_kg(situation, leg, way),
        )
        for leg, distance_nm in onward
        if distance_nm is not None
    )
    return fly_onward(
        situation.case.aircraft.profile,
        configuration=way.configuration,
        landing=situation.configurations.landing,
        mass_kg=state.mass_kg,
        start_pressure_altitude_ft=state.pressure_altitude_ft,
        tracks=tracks,
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
        before=_before(way),
        objective=objective_of(situation),
    )


def _most_fuel_kg(situation: Situation, leg: Leg, way: Way) -> float:
    """What a diversion for time may take so that the final reserve is kept.

    Approach and reserve are those at the mass of the start: some kilograms more than at arrival.
    """
    if not situation.for_time:
        return math.inf
    state, leak = way.flight.state, situation.case.fuel.leak_kg_per_h
    approach = approach_allowance(
        situation.case.aircraft.profile,
        configuration=situation.configurations.landing,
        mass_kg=state.mass_kg,
        pressure_altitude_ft=start_of_approach_ft(leg),
        leak_kg_per_h=leak,
    )
    try:
        reserve = max(
            planned_reserve_kg(situation, state.mass_kg, leg),
            reserve_kg(situation, way.configuration, state.mass_kg, leg),
        )
    except OutOfTable:
        return math.inf  # the course will say which table ends
    return state.usable_kg - approach.fuel_kg - reserve


def leave(
    situation: Situation,
    flight: Flight,
    onward: Sequence[LegAndMiles],
    *,
    origin: Origin,
    hold_min: float = 0.0,
) -> tuple[Course, ...]:
    """Divert clean from a point before any approach: down to a level limit first, if above one.

    What must be done before a landing is waited for where the way is shorter than it takes.
    """
    way = Way(
        kind=CourseKind.DIVERT_NOW,
        origin=origin,
        flight=flight,
        configuration=situation.configurations.clean,
        at_missed_approach_kg=None,
        missed=(),
        missed_at=None,
        hold_min=hold_min,
    )
    courses = _down_and_divert(situation, way, onward)
    return tuple(
        _after_waiting(situation, way, course, to)
        for course, to in zip(courses, onward, strict=True)
    )


def _after_waiting(situation: Situation, way: Way, course: Course, to: LegAndMiles) -> Course:
    """The course itself, or begun by as much later as its landing would come too early."""
    if course.time_min is None:
        return course
    wait_min = before_landing_min(situation) - course.time_min
    if wait_min <= 0.0:
        return course
    waited = replace(way, flight=wait_for_checklists(situation, way.flight, wait_min))
    return _down_and_divert(situation, waited, (to,))[0]


def _down_and_divert(
    situation: Situation, way: Way, onward: Sequence[LegAndMiles]
) -> tuple[Course, ...]:
    """All together from a level where the aircraft may stay; else each down in its own air."""
    lowered = [_lowered(situation, way, to) for to in onward]
    if all(each is way for each, _ in lowered):
        return divert(situation, way, onward)
    return tuple(divert(situation, each, (to,))[0] for each, to in lowered)


def _lowered(situation: Situation, way: Way, to: LegAndMiles) -> tuple[Way, LegAndMiles]:
    """The way after the descent to a level limit, and what is left of the miles."""
    leg, miles = to
    if miles is None:
        return way, to
    down = descended(
        situation,
        way.flight,
        diversion_air(situation, leg, way.origin),
        miles=miles,
        lowest_ft=max(lowest_ft(leg), start_of_approach_ft(leg)),
    )
    if down.flight is way.flight:
        return way, to
    return replace(way, flight=down.flight), (leg, down.left_nm)


def _before(way: Way) -> Before:
    """The go-around, where fuel is counted from the minimum."""
    if way.at_missed_approach_kg is None or way.missed_at is None:
        return NOTHING_BEFORE
    state = way.flight.state
    return Before(
        fuel_kg=way.at_missed_approach_kg - state.usable_kg,
        time_min=minutes_between(way.missed_at, state.at),
    )


def _flown(situation: Situation, leg: Leg, way: Way, onward: Onward) -> Course:
    if isinstance(onward, Flown):
        return stopped(situation, leg, way, way.flight.then(onward))
    there = way.flight.then(onward.flown, pressure_altitude_ft=start_of_approach_ft(leg))
    try:
        return _course(situation, leg, way, there.then(onward.approach), onward=onward)
    except OutOfTable as error:
        return unflown(situation, leg, way, unknown=(str(error),))


def _course(situation: Situation, leg: Leg, way: Way, landed: Flight, *, onward: Arrived) -> Course:
    counted_kg = _counted_from_kg(way)
    arrival, ordinary = landed.state, onward.flown.ordinary
    ledger = Ledger(
        at_missed_approach_kg=way.at_missed_approach_kg,
        counted_from_kg=counted_kg,
        flight_kg=counted_kg - arrival.usable_kg,
        planned_reserve_kg=planned_reserve_kg(situation, arrival.mass_kg, leg),
        configured_reserve_kg=reserve_kg(situation, way.configuration, arrival.mass_kg, leg),
        spread=onward.spread,
        ordinary_more_kg=0.0 if ordinary is None else ordinary.fuel_kg - onward.flown.fuel_kg,
        at_most=fuel_at_most(situation),
    )
    candidates = attempts(
        situation,
        leg=leg,
        role=Role.ALTERNATE,
        at=arrival.at,
        window=_alternate_window(situation, arrival.at, onward.spread),
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
        cruise_level_ft=onward.flown.pressure_altitude_ft,
        cruise_cas_kt=onward.flown.cas_kt,
        limited_by=None,
        unknown=fuel_unknowns(situation),
        holding_flow_kg_per_h=arrival_flow_kg_per_h(
            situation, way.configuration, arrival.mass_kg, leg
        ),
        diversion=onward.diversion,
        ordinary=ordinary,
        net_level_ft=net_level_of(
            situation,
            way.configuration,
            onward.diversion,
            level_ft=onward.flown.pressure_altitude_ft,
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
