"""Every course there is, flown: now, from the last clean point, after a miss, and staying.

One flight to the missed approach point is shared by all courses that begin with the approach. Each
course flies in the configuration that the aircraft will really have there; which one that is, the
configurations of the situation know, so no course treats the irreversible step as a special case.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from decision.courses.choose import best_attempt

from decision.case import Leg
from decision.course import Attempt, Course, CourseKind, Ledger, Origin, Role
from decision.courses.air import air_along
from decision.courses.approach import ApproachFlight, approach_flight, present_flight
from decision.courses.attempts import attempts
from decision.courses.distance import from_present_nm, onward_nm
from decision.courses.flight import Flight
from decision.courses.situation import Situation
from decision.performance import (
    Configuration,
    Spread,
    approach_allowance,
    final_reserve_kg,
    fly_diversion,
    fly_go_around,
    fly_hold,
    holding_flow_kg_per_h,
    need_spread,
)
from decision.systems import Drive
from decision.windows import Window, around

HOLDING_HEIGHT_FT: Final = 1500.0  # above the aerodrome: start of an approach [ICAO-ANNEX6]
MISSED_HEIGHT_FT: Final = 3000.0  # where no missed approach altitude is published [ASSUMED]
SECOND_APPROACH_MIN: Final = 10.0  # repositioning between two approaches [PRACTICE]
WEATHER_AT_MINIMUM_MIN: Final = 15.0  # an approach is judged on weather of a quarter of an hour


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Approaching:
    """The approach at the destination: its flight, and the attempt that is best there."""

    flight: ApproachFlight
    attempt: Attempt


def generate(situation: Situation, *, hold_min: float | None = None) -> tuple[Course, ...]:
    """Every course of a case; `hold_min` holds before the approach, absent: as planned."""
    present = present_flight(situation)
    held_min = situation.case.plan.hold_min if hold_min is None else hold_min
    waiting = held_min > situation.case.plan.hold_min
    approaching = approach_at_destination(situation, present, hold_min=held_min)
    courses = (
        [] if waiting else [_now(situation, present, leg) for leg in situation.case.alternates]
    )
    if approaching is None:
        return tuple(courses)
    courses += [
        _after_miss(situation, approaching, leg, hold_min=held_min, waiting=waiting)
        for leg in situation.case.alternates
    ]
    if not waiting and not approaching.flight.passed:
        courses += [
            _from_clean_point(situation, approaching, leg) for leg in situation.case.alternates
        ]
    if not waiting:
        courses += [_second(situation, approaching), _commit(situation, approaching)]
    return tuple(courses)


def approach_at_destination(
    situation: Situation, present: Flight, *, hold_min: float
) -> Approaching | None:
    """The approach flown to its minimum by the best procedure; None: distance not known."""
    flight = approach_flight(situation, present, hold_min=hold_min)
    if flight is None:
        return None
    minimum = flight.minimum.state
    candidates = attempts(
        situation,
        leg=situation.case.destination,
        role=Role.MISSED,
        at=minimum.at,
        window=around(minimum.at, before_min=0.0, after_min=WEATHER_AT_MINIMUM_MIN),
        mass_kg=minimum.mass_kg,
        approach_id=situation.case.plan.approach,
        runway_ident=situation.case.plan.runway,
    )
    return Approaching(flight=flight, attempt=best_attempt(situation, candidates))


def _now(situation: Situation, present: Flight, leg: Leg) -> Course:
    return _divert(
        situation,
        leg,
        Way(
            kind=CourseKind.DIVERT_NOW,
            origin=Origin.PRESENT,
            flight=present,
            configuration=situation.configurations.clean,
            distance_nm=from_present_nm(situation.case, leg),
            at_missed_approach_kg=None,
            missed=(),
            missed_at=None,
            hold_min=0.0,
        ),
    )


def _from_clean_point(situation: Situation, approaching: Approaching, leg: Leg) -> Course:
    """Leave where the gear would go down: the miles on to the threshold are flown back too."""
    onward = onward_nm(situation.case, leg)
    return _divert(
        situation,
        leg,
        Way(
            kind=CourseKind.DIVERT_NOW,
            origin=Origin.LAST_CLEAN_POINT,
            flight=approaching.flight.last_clean,
            configuration=situation.configurations.clean,
            distance_nm=None if onward is None else onward + approaching.flight.extension_nm,
            at_missed_approach_kg=None,
            missed=(),
            missed_at=None,
            hold_min=situation.case.plan.hold_min,
        ),
    )


def _after_miss(
    situation: Situation, approaching: Approaching, leg: Leg, *, hold_min: float, waiting: bool
) -> Course:
    minimum = approaching.flight.minimum
    onward = onward_nm(situation.case, leg)
    miles = _missed_track_nm(approaching.attempt)
    return _divert(
        situation,
        leg,
        Way(
            kind=CourseKind.HOLD_THEN_APPROACH if waiting else CourseKind.APPROACH_THEN_DIVERT,
            origin=Origin.MISSED_APPROACH,
            flight=go_around(situation, minimum, approaching.attempt),
            configuration=situation.configurations.after_miss,
            distance_nm=None if onward is None else onward + miles,
            at_missed_approach_kg=minimum.state.usable_kg,
            missed=(approaching.attempt,),
            missed_at=minimum.state.at,
            hold_min=hold_min,
        ),
    )


def _missed_track_nm(attempt: Attempt) -> float:
    return 0.0 if attempt.approach is None else attempt.approach.missed_track_nm


def _missed_altitude_ft(attempt: Attempt) -> float:
    published = None if attempt.approach is None else attempt.approach.missed_altitude_ft
    return attempt.leg.aerodrome.elevation_ft + MISSED_HEIGHT_FT if published is None else published


def go_around(situation: Situation, minimum: Flight, attempt: Attempt) -> Flight:
    """From the minimum to the missed approach altitude, flaps retracted as far as they will."""
    if minimum.limited_by is not None:
        return minimum
    case, plan = situation.case, situation.configurations
    top_ft = max(_missed_altitude_ft(attempt), minimum.state.pressure_altitude_ft)
    flight = minimum.then(
        fly_go_around(
            case.aircraft.profile,
            configuration=plan.go_around,
            mass_kg=minimum.state.mass_kg,
            start_pressure_altitude_ft=minimum.state.pressure_altitude_ft,
            end_pressure_altitude_ft=top_ft,
            air=air_along(case, start=None, end=None),
            leak_kg_per_h=case.fuel.leak_kg_per_h,
        ),
        pressure_altitude_ft=top_ft,
    )
    return _slow_retraction(situation, flight)


def _slow_retraction(situation: Situation, flight: Flight) -> Flight:
    """The minutes in which a slow drive keeps the flaps out; no miles are credited for them."""
    flaps = situation.capability.flap
    plan = situation.configurations
    if flight.limited_by is not None or flaps.drive is not Drive.SLOW:
        return flight
    profile = situation.case.aircraft.profile
    idents = [detent.id for detent in profile.detents]
    steps = abs(idents.index(plan.go_around.flap) - idents.index(plan.after_miss.flap))
    flown = fly_hold(
        profile,
        configuration=plan.go_around,
        mass_kg=flight.state.mass_kg,
        pressure_altitude_ft=flight.state.pressure_altitude_ft,
        minutes=steps * (flaps.min_per_detent or 0.0),
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
        name="flap retraction by the slow drive",
    )
    return flight.then(flown, pressure_altitude_ft=flight.state.pressure_altitude_ft)


def _divert(situation: Situation, leg: Leg, way: Way) -> Course:
    """Fly the way to an aerodrome and an approach there, and draw up the fuel."""
    case, profile = situation.case, situation.case.aircraft.profile
    if way.distance_nm is None:
        return _unflown(situation, leg, way, unknown=(f"distance to {leg.aerodrome.icao}",))
    start = way.flight
    if start.limited_by is not None:
        return _unflown(situation, leg, way, limited_by=start.limited_by)
    ahead_ft = leg.aerodrome.elevation_ft + HOLDING_HEIGHT_FT
    leaving_now = way.origin is Origin.PRESENT
    air = air_along(
        case,
        start=(case.aircraft if leaving_now else case.destination.aerodrome).position,
        end=leg.aerodrome.position,
    )
    flown = fly_diversion(
        profile,
        configuration=way.configuration,
        mass_kg=start.state.mass_kg,
        distance_nm=way.distance_nm,
        start_pressure_altitude_ft=start.state.pressure_altitude_ft,
        end_pressure_altitude_ft=ahead_ft,
        air=air,
        minimum_pressure_altitude_ft=leg.minimum_level_ft,
        leak_kg_per_h=case.fuel.leak_kg_per_h,
    )
    there = start.then(flown, pressure_altitude_ft=ahead_ft)
    if there.limited_by is not None:
        return _unflown(situation, leg, way, limited_by=there.limited_by)
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
    return _course(situation, leg, way, landed, spread, cruise_level_ft=flown.pressure_altitude_ft)


def _course(
    situation: Situation,
    leg: Leg,
    way: Way,
    landed: Flight,
    spread: Spread,
    *,
    cruise_level_ft: float,
) -> Course:
    counted_kg = _counted_from_kg(way)
    arrival = landed.state
    ledger = Ledger(
        at_missed_approach_kg=way.at_missed_approach_kg,
        counted_from_kg=counted_kg,
        flight_kg=counted_kg - arrival.usable_kg,
        planned_reserve_kg=planned_reserve_kg(situation, arrival.mass_kg, leg),
        configured_reserve_kg=_reserve_kg(situation, way.configuration, arrival.mass_kg, leg),
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
        cruise_level_ft=cruise_level_ft,
        limited_by=None,
        unknown=fuel_unknowns(situation),
        holding_flow_kg_per_h=_arrival_flow(situation, way.configuration, arrival.mass_kg, leg),
    )


def _counted_from_kg(way: Way) -> float:
    """Usable fuel where the ledger begins: at the minimum, or where the diversion starts."""
    if way.at_missed_approach_kg is not None:
        return way.at_missed_approach_kg
    return way.flight.state.usable_kg


def _alternate_window(situation: Situation, at: datetime, spread: Spread) -> Window:
    """The rulebook's window around the arrival, widened by how early or late it may be."""
    book = situation.rulebook
    bar = situation.case.policy.alternate_bar
    before_min = book.number(f"alternate_{bar}_before_min")
    after_min = book.number(f"alternate_{bar}_after_min")
    return around(
        at,
        before_min=before_min + spread.time_p50_min - spread.time_p5_min,
        after_min=after_min + spread.time_p95_min - spread.time_p50_min,
    )


def _unflown(
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
        limited_by=limited_by,
        unknown=unknown,
        holding_flow_kg_per_h=0.0,
    )


def _second(situation: Situation, approaching: Approaching) -> Course:
    """Miss, reposition, and land at the destination from the next approach."""
    minimum = approaching.flight.minimum
    again = go_around(situation, minimum, approaching.attempt)
    plan = situation.configurations
    if again.limited_by is None:
        again = again.then(
            fly_hold(
                situation.case.aircraft.profile,
                configuration=plan.after_miss,
                mass_kg=again.state.mass_kg,
                pressure_altitude_ft=again.state.pressure_altitude_ft,
                minutes=SECOND_APPROACH_MIN,
                leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
                name="repositioning for a second approach",
            ),
            pressure_altitude_ft=again.state.pressure_altitude_ft,
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
        situation, approaching, again, kind=CourseKind.SECOND_APPROACH, role=Role.MISSED
    )


def _commit(situation: Situation, approaching: Approaching) -> Course:
    """Land from this approach, with nowhere else to go."""
    return _landing_here(
        situation,
        approaching,
        approaching.flight.minimum,
        kind=CourseKind.COMMIT_TO_LAND,
        role=Role.COMMITTED,
    )


def _landing_here(
    situation: Situation,
    approaching: Approaching,
    landed: Flight,
    *,
    kind: CourseKind,
    role: Role,
) -> Course:
    minimum, leg = approaching.flight.minimum, situation.case.destination
    way = Way(
        kind=kind,
        origin=Origin.MISSED_APPROACH,
        flight=landed,
        configuration=situation.configurations.after_miss,
        distance_nm=0.0,
        at_missed_approach_kg=minimum.state.usable_kg,
        missed=(),
        missed_at=minimum.state.at,
        hold_min=situation.case.plan.hold_min,
    )
    if landed.limited_by is not None:
        return _unflown(situation, leg, way, limited_by=landed.limited_by)
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
    flight_kg = minimum.state.usable_kg - landed.state.usable_kg
    return Course(
        kind=kind,
        origin=Origin.MISSED_APPROACH,
        leg=leg,
        hold_min=way.hold_min,
        attempts=here,
        steps=landed.steps,
        configuration=way.configuration,
        ledger=Ledger(
            at_missed_approach_kg=minimum.state.usable_kg,
            counted_from_kg=minimum.state.usable_kg,
            flight_kg=flight_kg,
            planned_reserve_kg=planned_reserve_kg(situation, landed.state.mass_kg, leg),
            configured_reserve_kg=_reserve_kg(
                situation, way.configuration, landed.state.mass_kg, leg
            ),
            spread=None,
        ),
        start_at=situation.case.as_of,
        missed_at=minimum.state.at,
        arrive_at=at,
        cruise_level_ft=None,
        limited_by=None,
        unknown=fuel_unknowns(situation),
        holding_flow_kg_per_h=_arrival_flow(
            situation, way.configuration, landed.state.mass_kg, leg
        ),
    )


def planned_reserve_kg(situation: Situation, mass_kg: float, leg: Leg) -> float:
    """The final reserve of the flight plan, else half an hour clean at the arrival mass."""
    planned = situation.case.fuel.planned_final_reserve_kg
    if planned is not None:
        return planned
    return _reserve_kg(situation, Configuration(), mass_kg, leg)


def _reserve_kg(
    situation: Situation, configuration: Configuration, mass_kg: float, leg: Leg
) -> float:
    return final_reserve_kg(
        situation.case.aircraft.profile,
        configuration=configuration,
        mass_kg=mass_kg,
        elevation_ft=leg.aerodrome.elevation_ft,
    )


def _arrival_flow(
    situation: Situation, configuration: Configuration, mass_kg: float, leg: Leg
) -> float:
    return (
        holding_flow_kg_per_h(
            situation.case.aircraft.profile,
            configuration=configuration,
            mass_kg=mass_kg,
            pressure_altitude_ft=leg.aerodrome.elevation_ft + HOLDING_HEIGHT_FT,
        )
        + situation.case.fuel.leak_kg_per_h
    )


def fuel_unknowns(situation: Situation) -> tuple[str, ...]:
    """What is not known of the fuel itself."""
    left = situation.capability
    unknown = []
    if left.leak_rate_unknown:
        unknown.append("rate of the fuel leak")
    if left.unusable_fuel_unknown:
        unknown.append("quantity of fuel that cannot be used")
    return tuple(unknown)
