"""A way to a landing: how it begins, the flight to each aerodrome, and the fuel of it.

A way ends in one of three manners: landed, stopped at a limit that is named, or not known, and then
what. Nothing here looks at weather on the ground or at a rule.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from enum import StrEnum
from itertools import compress
from typing import Final

from msgspec import Struct
from msgspec.structs import replace

from decision.case import Leg
from decision.flight.approach import before_landing_min, lowest_ft, wait_for_checklists
from decision.flight.ledger import (
    HOLDING_HEIGHT_FT,
    Ledger,
    flow_of_reserve_kg_per_h,
    fuel_at_most,
    fuel_unknowns,
    planned_reserve_kg,
    reserve_kg,
)
from decision.flight.net_level import net_level_of
from decision.flight.onward import NOTHING_BEFORE, Arrived, Before, Onward, Outset, fly_onward
from decision.flight.physics import approach_allowance
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, descended, objective_of
from decision.flight.tracks import air_along
from decision.performance import Air, CannotFly, Configuration, Leaving, NotKnown, Spread, Track
from decision.profile.operator_tables import OutOfTable
from decision.windows import minutes_between

LegAndMiles = tuple[Leg, float | None]
"""Where to, and the track miles to it; None: not known."""


class Origin(StrEnum):
    """Where a diversion starts."""

    PRESENT = "present"
    LAST_CLEAN_POINT = "last_clean_point"
    MISSED_APPROACH = "missed_approach"


PRESENT: Final = Origin.PRESENT  # a name is found ten times as soon as a member
LAST_CLEAN_POINT: Final = Origin.LAST_CLEAN_POINT


class Way(Struct, frozen=True, kw_only=True, gc=False):
    """How a way begins: where from, by which flight, in what state.

    `at_missed_approach_kg` and `missed_at`: usable fuel and moment at the minimum, where an
    approach was flown before; fuel is then counted from there.
    """

    origin: Origin
    flight: Flight
    configuration: Configuration
    hold_min: float
    at_missed_approach_kg: float | None = None
    missed_at: datetime | None = None

    @property
    def counted_from_kg(self) -> float:
        """Usable fuel where the ledger begins: at the minimum, or where the diversion starts."""
        at_minimum_kg = self.at_missed_approach_kg
        return self.flight.state.usable_kg if at_minimum_kg is None else at_minimum_kg


Trip = tuple[Way, Sequence[LegAndMiles]]
"""A way, and where it may lead."""


class Landed(Struct, frozen=True, kw_only=True, gc=False):
    """A way flown to the touchdown, with its fuel.

    `ledger` is None where an operator's table ends before it; `unknown` then says so, and what is
    not known of the fuel itself. `onward` is None where the way ends where it was begun.
    """

    flight: Flight
    ledger: Ledger | None
    holding_flow_kg_per_h: float
    unknown: tuple[str, ...]
    onward: Arrived | None = None
    net_level_ft: float | None = None


Outcome = Landed | CannotFly | NotKnown


class Ending(Struct, frozen=True, kw_only=True, gc=False):
    """How a way to one place ends."""

    way: Way
    leg: Leg
    outcome: Outcome


def diversion_air(situation: Situation, leg: Leg, origin: Origin) -> Air:
    """The air on the way to an aerodrome, from the present position or from the destination."""
    case = situation.case
    start = case.aircraft if origin is PRESENT else case.destination.aerodrome
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


def divert(
    situation: Situation,
    way: Way,
    onward: Sequence[LegAndMiles],
    *,
    beside: Sequence[Leaving] = (),
) -> tuple[Ending, ...]:
    """Fly the way to each aerodrome and land there, and draw up the fuel.

    `beside`: from where else flights in its configuration will be asked for.
    """
    return _divert_each(situation, ((way, onward),), beside=beside)[0]


def _divert_each(
    situation: Situation, trips: Sequence[Trip], *, beside: Sequence[Leaving] = ()
) -> list[tuple[Ending, ...]]:
    """The same of each way, all of them in one configuration."""
    flying = [(way, onward) for way, onward in trips if way.flight.stopped is None]
    flown = iter(_onward(situation, flying, beside=beside))
    return [
        _endings(situation, way, onward, next(flown) if way.flight.stopped is None else ())
        for way, onward in trips
    ]


def _endings(
    situation: Situation, way: Way, onward: Sequence[LegAndMiles], flown: Sequence[Onward]
) -> tuple[Ending, ...]:
    flights = iter(flown)
    return tuple(
        Ending(
            way=way,
            leg=leg,
            outcome=distance_unknown(leg)
            if miles is None
            else way.flight.stopped or _flown(situation, leg, way, next(flights)),
        )
        for leg, miles in onward
    )


def distance_unknown(leg: Leg) -> NotKnown:
    """The outcome where nobody knows how far it is."""
    return NotKnown(what=f"distance to {leg.aerodrome.icao}")


def _onward(
    situation: Situation, trips: Sequence[Trip], *, beside: Sequence[Leaving]
) -> tuple[tuple[Onward, ...], ...]:
    """The flights of each way to all aerodromes of which the distance is known."""
    if not trips:
        return ()
    return fly_onward(
        situation.case.aircraft.profile,
        configuration=trips[0][0].configuration,
        landing=situation.configurations.landing,
        outsets=[_outset(situation, way, onward) for way, onward in trips],
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
        objective=objective_of(situation),
        beside=beside,
    )


def _outset(situation: Situation, way: Way, onward: Sequence[LegAndMiles]) -> Outset:
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
    return Outset(
        leaving=Leaving(
            mass_kg=state.mass_kg,
            pressure_altitude_ft=state.pressure_altitude_ft,
            tracks=tracks,
        ),
        before=_before(way),
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
) -> tuple[Ending, ...]:
    """Divert clean from a point before any approach: down to a level limit first, if above one.

    What must be done before a landing is waited for where the way is shorter than it takes.
    """
    parting = Parting(flight=flight, onward=onward, origin=origin, hold_min=hold_min)
    return leave_each(situation, (parting,))[0]


class Parting(Struct, frozen=True, kw_only=True, gc=False):
    """A point before any approach from which the aircraft may leave clean, and where to."""

    flight: Flight
    onward: Sequence[LegAndMiles]
    origin: Origin
    hold_min: float = 0.0


def leave_each(situation: Situation, partings: Sequence[Parting]) -> tuple[tuple[Ending, ...], ...]:
    """Leave from each of several points, as `leave` does."""
    trips = [
        (
            Way(
                origin=each.origin,
                flight=each.flight,
                configuration=situation.configurations.clean,
                hold_min=each.hold_min,
            ),
            each.onward,
        )
        for each in partings
    ]
    return tuple(
        tuple(
            _after_waiting(situation, way, ending, to)
            for ending, to in zip(endings, onward, strict=True)
        )
        for (way, onward), endings in zip(trips, _down_and_divert(situation, trips), strict=True)
    )


def _after_waiting(situation: Situation, way: Way, ending: Ending, to: LegAndMiles) -> Ending:
    """The way itself, or begun by as much later as its landing would come too early."""
    if not isinstance(ending.outcome, Landed):
        return ending
    landed_at = ending.outcome.flight.state.at
    wait_min = before_landing_min(situation) - minutes_between(situation.case.as_of, landed_at)
    if wait_min <= 0.0:
        return ending
    waited = replace(way, flight=wait_for_checklists(situation, way.flight, wait_min))
    return _down_and_divert(situation, ((waited, (to,)),))[0][0]


def _down_and_divert(situation: Situation, trips: Sequence[Trip]) -> list[tuple[Ending, ...]]:
    """All together from levels where the aircraft may stay; else each down in its own air."""
    lowered = [[_lowered(situation, way, to) for to in onward] for way, onward in trips]
    stays = [
        all(each is way for each, _ in low) for (way, _), low in zip(trips, lowered, strict=True)
    ]
    together = iter(_divert_each(situation, list(compress(trips, stays))))
    return [
        next(together) if staying else tuple(divert(situation, each, (to,))[0] for each, to in low)
        for staying, low in zip(stays, lowered, strict=True)
    ]


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


def _flown(situation: Situation, leg: Leg, way: Way, onward: Onward) -> Outcome:
    if not isinstance(onward, Arrived):
        return onward
    there = way.flight.then(onward.flown, pressure_altitude_ft=start_of_approach_ft(leg))
    try:
        return _landed_there(situation, leg, way, there.then(onward.approach), onward=onward)
    except OutOfTable as error:
        return NotKnown(what=str(error))


def _landed_there(
    situation: Situation, leg: Leg, way: Way, landed: Flight, *, onward: Arrived
) -> Landed:
    """Raises OutOfTable."""
    ordinary = onward.flown.ordinary
    ledger = _ledger(
        situation,
        leg,
        way,
        landed,
        spread=onward.spread,
        ordinary_more_kg=0.0 if ordinary is None else ordinary.fuel_kg - onward.flown.fuel_kg,
    )
    return Landed(
        flight=landed,
        ledger=ledger,
        holding_flow_kg_per_h=flow_of_reserve_kg_per_h(situation, ledger.configured_reserve_kg),
        unknown=fuel_unknowns(situation),
        onward=onward,
        net_level_ft=net_level_of(
            situation,
            way.configuration,
            onward.diversion,
            level_ft=onward.flown.pressure_altitude_ft,
        ),
    )


def land(situation: Situation, leg: Leg, way: Way) -> Ending:
    """The end of a way whose flight ends with the touchdown itself."""
    outcome = way.flight.stopped or _landed_here(situation, leg, way)
    return Ending(way=way, leg=leg, outcome=outcome)


def _landed_here(situation: Situation, leg: Leg, way: Way) -> Landed:
    try:
        ledger = _ledger(situation, leg, way, way.flight)
    except OutOfTable as error:
        return Landed(
            flight=way.flight, ledger=None, holding_flow_kg_per_h=0.0, unknown=(str(error),)
        )
    return Landed(
        flight=way.flight,
        ledger=ledger,
        holding_flow_kg_per_h=flow_of_reserve_kg_per_h(situation, ledger.configured_reserve_kg),
        unknown=fuel_unknowns(situation),
    )


def _ledger(
    situation: Situation,
    leg: Leg,
    way: Way,
    landed: Flight,
    *,
    spread: Spread | None = None,
    ordinary_more_kg: float = 0.0,
) -> Ledger:
    """The fuel of a way as planned. Raises OutOfTable."""
    state, counted_kg = landed.state, way.counted_from_kg
    return Ledger(
        at_missed_approach_kg=way.at_missed_approach_kg,
        counted_from_kg=counted_kg,
        flight_kg=counted_kg - state.usable_kg,
        planned_reserve_kg=planned_reserve_kg(situation, state.mass_kg, leg),
        configured_reserve_kg=reserve_kg(situation, way.configuration, state.mass_kg, leg),
        spread=spread,
        ordinary_more_kg=ordinary_more_kg,
        at_most=fuel_at_most(situation),
    )
