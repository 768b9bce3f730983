"""A miss at the alternate as well: how long the fuel lasts, and where it would still reach.

Figures of robustness that decide nothing: they look at fuel and climb, not at weather or runways.
The miss there is flown as the one at the destination is, in the configuration that the approach
leaves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from msgspec.structs import replace

from decision.case import Approach, Leg
from decision.flight.approach import MISSED_POINT_HEIGHT_FT
from decision.flight.ledger import arrival_flow_kg_per_h, planned_reserve_kg, reserve_kg
from decision.flight.miss import go_around, missed_track_nm
from decision.flight.physics import approach_allowance, climb, fly_from_each
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, State, objective_of
from decision.flight.tracks import air_along, between_nm, en_route_deviation_degc
from decision.flight.ways import start_of_approach_ft
from decision.performance import Flown, Leaving, Outcome, Track
from decision.profile.operator_tables import OutOfTable
from decision.units import MIN_PER_H


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftAfterMiss:
    """What is left when the approach at the end of a diversion is missed as well.

    `endurance_min` is holding time to empty tanks; `next_aerodrome` the place reached with most
    above the final reserve, None with `margin_kg` when no place whose distance is known is. The
    missed approach climb there and what is published for it; None where either is not known.
    """

    endurance_min: float
    next_aerodrome: str | None
    margin_kg: float | None
    distance_unknown: tuple[str, ...]
    gradient_percent: float | None = None
    published_gradient_percent: float | None = None

    @property
    def climb_short(self) -> bool:
        """Whether the aircraft climbs less there than the missed approach asks for."""
        climbed, published = self.gradient_percent, self.published_gradient_percent
        return climbed is not None and published is not None and climbed < published


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """The approach that is missed as well: where, by which procedure, for which landing."""

    leg: Leg
    approach: Approach | None
    landing: State


@dataclass(frozen=True, slots=True, kw_only=True)
class MissedThere:
    """The state after the go-around there, and the aerodromes that it may go on to.

    `onward` with the miles, None where they are not known; `leaving` has the known ones.
    """

    there: There
    state: State
    onward: tuple[tuple[Leg, float | None], ...]
    leaving: Leaving


def missed_there(situation: Situation, there: There) -> MissedThere | None:
    """The miss itself. None where there is no climbing away."""
    level_ft = there.leg.aerodrome.elevation_ft + MISSED_POINT_HEIGHT_FT
    start = Flight(
        state=replace(there.landing, pressure_altitude_ft=level_ft),
        empty_kg=situation.case.aircraft.profile.masses.oew_kg,
    )
    away = go_around(situation, start, there.leg, there.approach)
    if away.stopped is not None or away.state.usable_kg < 0.0:
        return None
    onward = tuple((leg, _miles(situation, there, leg)) for leg in _others(situation, there))
    leaving = Leaving(
        mass_kg=away.state.mass_kg,
        pressure_altitude_ft=away.state.pressure_altitude_ft,
        tracks=tuple(
            _track(situation, there, leg, miles) for leg, miles in onward if miles is not None
        ),
        ordinary=False,
    )
    return MissedThere(there=there, state=away.state, onward=onward, leaving=leaving)


def left_after(
    situation: Situation, misses: Sequence[MissedThere]
) -> Iterator[LeftAfterMiss | None]:
    """What each of them leaves, flown on together.

    None where an operator's fuel table ends before it.
    """
    flights = fly_from_each(
        situation.case.aircraft.profile,
        configuration=situation.configurations.after_miss,
        leaving=[each.leaving for each in misses],
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
        objective=objective_of(situation),
    )
    for missed, flown in zip(misses, flights, strict=True):
        try:
            yield _left(situation, missed, flown)
        except OutOfTable:
            yield None


def _left(situation: Situation, missed: MissedThere, flown: Sequence[Outcome]) -> LeftAfterMiss:
    """Raises OutOfTable."""
    stuck, there, state = situation.configurations.after_miss, missed.there, missed.state
    flow_kg_per_h = arrival_flow_kg_per_h(situation, stuck, state.mass_kg, there.leg)
    known = [leg for leg, miles in missed.onward if miles is not None]
    best = max(_margins(situation, state, known, flown), default=(0.0, None))
    reached = best[1] is not None and best[0] >= 0.0
    return LeftAfterMiss(
        endurance_min=state.usable_kg / flow_kg_per_h * MIN_PER_H,
        next_aerodrome=best[1] if reached else None,
        margin_kg=best[0] if reached else None,
        distance_unknown=tuple(leg.aerodrome.icao for leg, miles in missed.onward if miles is None),
        gradient_percent=climb_there_percent(situation, there),
    )


def climb_there_percent(situation: Situation, there: There) -> float:
    """Missed approach climb gradient at the aerodrome, in still air at its elevation."""
    elevation_ft = there.leg.aerodrome.elevation_ft
    found = climb(
        situation.case.aircraft.profile,
        configuration=situation.configurations.go_around,
        mass_kg=there.landing.mass_kg,
        pressure_altitude_ft=elevation_ft,
        isa_deviation_degc=en_route_deviation_degc(situation.case, elevation_ft),
    )
    return found.gradient_percent


def _others(situation: Situation, there: There) -> Iterator[Leg]:
    """Every aerodrome of the case but the one that was missed last."""
    return (leg for leg in situation.legs if leg is not there.leg)


def _miles(situation: Situation, there: There, leg: Leg) -> float | None:
    direct_nm = between_nm(situation.case, there.leg, leg)
    return None if direct_nm is None else direct_nm + missed_track_nm(there.approach)


def _margins(
    situation: Situation, state: State, legs: Sequence[Leg], flights: Sequence[Outcome]
) -> Iterator[tuple[float, str]]:
    """Fuel above the final reserve at each place that can be flown to. Raises OutOfTable."""
    for leg, flown in zip(legs, flights, strict=True):
        if isinstance(flown, Flown) and flown.fuel_kg < state.usable_kg:
            yield _margin_kg(situation, leg, state, flown), leg.aerodrome.icao


def _track(situation: Situation, there: There, leg: Leg, miles: float) -> Track:
    """The way on; of what is known of the terrain around both places the higher level counts."""
    levels_ft = [
        each.minimum_level_ft for each in (there.leg, leg) if each.minimum_level_ft is not None
    ]
    return Track(
        distance_nm=miles,
        end_pressure_altitude_ft=start_of_approach_ft(leg),
        air=air_along(
            situation.case,
            start=there.leg.aerodrome.position,
            end=leg.aerodrome.position,
            more_headwind_kt=situation.what_if.headwind_kt,
        ),
        minimum_pressure_altitude_ft=max(levels_ft, default=None),
    )


def _margin_kg(situation: Situation, leg: Leg, state: State, flown: Flown) -> float:
    approach = approach_allowance(
        situation.case.aircraft.profile,
        configuration=situation.configurations.landing,
        mass_kg=flown.end_mass_kg,
        pressure_altitude_ft=start_of_approach_ft(leg),
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
    )
    landed_kg = flown.end_mass_kg - approach.fuel_kg
    stuck = situation.configurations.after_miss
    reserve = max(
        planned_reserve_kg(situation, landed_kg, leg), reserve_kg(situation, stuck, landed_kg, leg)
    )
    return state.usable_kg - flown.fuel_kg - approach.fuel_kg - reserve
