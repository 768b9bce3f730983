"""The flight that every approach shares: from the present to the missed approach point.

It stops twice: at the last clean point, where the gear goes down, and at the minimum. Heights of
this flight are taken on elevation as pressure altitude; a QNH 30 hPa off standard moves its fuel
by less than the figures are printed to. Checklists run on the way: what must be over before the
landing is waited for where the way is shorter. Flown for time, the run-in is flown at the highest
speed of a plan up to some miles before gear and flaps go out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from decision.case import Case, Leg
from decision.flight.physics import fly_configured, fly_run_in
from decision.flight.situation import Situation
from decision.flight.stretches import Flight, State, descended, held, objective_of
from decision.flight.tracks import air_along, to_run_nm
from decision.performance import Air, Objective, approach_speed_kt
from decision.profile.systems_effects import Extension
from decision.quantities import GearPosition
from decision.systems.timeline import flaps_start_nm, wing_changes_for_good
from decision.units import FT_PER_NM
from decision.windows import minutes_between

GLIDE_PATH_DEG: Final = 3.0  # nominal approach path [PANS-OPS-I]
PATH_FT_PER_NM: Final = FT_PER_NM * math.tan(math.radians(GLIDE_PATH_DEG))
# The lowest decision height of category I: a higher minimum is reached with a little more fuel, so
# this one never flatters the fuel left at the missed approach [EU-AO].
MISSED_POINT_HEIGHT_FT: Final = 200.0


HOLDING: Final = "holding"
WAITING: Final = "waiting for checklists"
DECELERATION_NM: Final = 10.0  # [PRACTICE] from VMO to the speed of gear and flaps
SLOWING_FT_PER_NM: Final = 200.0  # [ASSUMED] flatter than the glide path, to slow down on it


@dataclass(frozen=True, slots=True, kw_only=True)
class ApproachFlight:
    """The approach as flown; `extension_nm` to go at `last_clean`, where gear and flaps go out.

    `passed`: they are out already, or should be, so that there is no clean point ahead. `waited`:
    where the run to the threshold begins, after any descent to a level limit and any hold, with
    `waited_nm` to go.
    """

    waited: Flight
    waited_nm: float
    last_clean: Flight
    minimum: Flight
    extension_nm: float
    passed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Departure:
    """What all courses begin with: the aircraft now, and the approach as planned.

    `approach` is None when the distance to run is not known.
    """

    present: Flight
    approach: ApproachFlight | None


def departure_of(situation: Situation) -> Departure:
    """The beginning of every course, flown once."""
    present, hold_min = present_flight(situation), assigned_hold_min(situation)
    return Departure(
        present=present, approach=approach_flight(situation, present, hold_min=hold_min)
    )


def present_flight(situation: Situation) -> Flight:
    """The aircraft now."""
    case = situation.case
    return Flight(
        state=State(
            at=case.as_of,
            mass_kg=case.aircraft.mass_kg,
            usable_kg=case.fuel.usable_kg - situation.capability.unusable_fuel_kg,
            pressure_altitude_ft=case.aircraft.pressure_altitude_ft,
        ),
        empty_kg=case.aircraft.profile.masses.oew_kg,
    )


def checklist_min(situation: Situation) -> float:
    """Minutes of checklists on the way, of the crew's plan or else of the failures."""
    planned = situation.case.plan.checklist_min
    return situation.capability.checklist_min if planned is None else planned


def before_landing_min(situation: Situation) -> float:
    """Minutes of them that must be over before a touchdown."""
    return min(situation.capability.before_landing_min, checklist_min(situation))


def assigned_hold_min(situation: Situation) -> float:
    """The hold that is assigned before an approach here; none where time presses."""
    return 0.0 if situation.for_time else situation.case.plan.hold_min


def wait_for_checklists(situation: Situation, flight: Flight, minutes: float) -> Flight:
    """The flight after waiting so long for what must be done before the landing."""
    return held(
        situation,
        flight,
        minutes,
        configuration=situation.configurations.present,
        name=WAITING,
    )


def approach_flight(
    situation: Situation, present: Flight, *, hold_min: float, gear_nm: float | None = None
) -> ApproachFlight | None:
    """The approach after a hold; None when the distance to run is not known.

    `gear_nm`: where the gear goes down instead of where it is planned.
    """
    flown = _approach(situation, present, hold_min=hold_min, wait_min=0.0, gear_nm=gear_nm)
    if flown is None or flown.minimum.stopped is not None:
        return flown
    minutes = minutes_between(situation.case.as_of, flown.minimum.state.at)
    wait_min = before_landing_min(situation) - minutes
    if wait_min <= 0.0:
        return flown
    return _approach(situation, present, hold_min=hold_min, wait_min=wait_min, gear_nm=gear_nm)


def _approach(
    situation: Situation,
    present: Flight,
    *,
    hold_min: float,
    wait_min: float,
    gear_nm: float | None,
) -> ApproachFlight | None:
    case = situation.case
    distance_nm = to_run_nm(case)
    if distance_nm is None:
        return None
    changed_nm = extension_nm(situation, gear_nm)
    gear_is_out = case.aircraft.gear is not GearPosition.UP
    nothing_ahead = gear_is_out and not wing_changes_for_good(situation.capability)
    final_nm = min(distance_nm, changed_nm)
    air = air_along(case, start=case.aircraft.position, end=case.destination.aerodrome.position)
    down = descended(
        situation,
        present,
        air,
        miles=distance_nm - final_nm,
        lowest_ft=lowest_ft(case.destination),
    )
    waited = held(
        situation,
        down.flight,
        hold_min,
        configuration=situation.configurations.present,
        name=HOLDING,
    )
    waited = wait_for_checklists(situation, waited, wait_min)
    last_clean = _run_in(situation, waited, air, run_nm=down.left_nm, final_nm=final_nm)
    return ApproachFlight(
        waited=waited,
        waited_nm=down.left_nm + final_nm,
        last_clean=last_clean,
        minimum=_final(situation, last_clean, air, final_nm),
        extension_nm=final_nm,
        passed=nothing_ahead or distance_nm <= changed_nm,
    )


def extension_nm(situation: Situation, gear_nm: float | None = None) -> float:
    """Distance to the threshold at which gear and flaps go out.

    Where the gear goes down, as planned or at `gear_nm`; or earlier, where flaps that do not come
    in again have to start.
    """
    left = situation.capability
    gear_nm = _gear_extension_nm(situation) if gear_nm is None else gear_nm
    if not wing_changes_for_good(left):
        return gear_nm
    aircraft, flown = situation.case.aircraft, situation.configurations.approach
    speed_kt = approach_speed_kt(
        aircraft.profile,
        mass_kg=aircraft.mass_kg,
        flap=flown.flap,
        slats_out=flown.slats_out,
    )
    return max(gear_nm, flaps_start_nm(aircraft.profile, left, groundspeed_kt=speed_kt))


def _gear_extension_nm(situation: Situation) -> float:
    """As planned, or of the profile."""
    planned = situation.case.plan.gear_extension_nm
    if planned is not None:
        return planned
    usual = situation.case.aircraft.profile.approach
    if situation.capability.gear.extension is Extension.ALTERNATE:
        return usual.gear_extension_alternate_nm
    return usual.gear_extension_normal_nm


def lowest_ft(leg: Leg) -> float:
    """The lowest level of the way to an aerodrome, as far as it is known."""
    return max(leg.aerodrome.elevation_ft, leg.minimum_level_ft or leg.aerodrome.elevation_ft)


def _path_level_ft(case: Case, to_go_nm: float) -> float:
    return case.destination.aerodrome.elevation_ft + PATH_FT_PER_NM * to_go_nm


def _run_in(
    situation: Situation, flight: Flight, air: Air, *, run_nm: float, final_nm: float
) -> Flight:
    """Clean, down to the path where the gear goes down, or level when already lower than it.

    Too high with too few miles left: the track that it takes to come down is flown all the same.
    """
    case, level_ft = situation.case, flight.state.pressure_altitude_ft
    end_ft = min(_path_level_ft(case, final_nm), level_ft)
    there = run_nm == 0.0 and end_ft == level_ft
    if there or flight.stopped is not None:
        return flight
    objective = objective_of(situation)
    slow_nm = min(run_nm, DECELERATION_NM) if situation.for_time else run_nm
    slow_ft = min(level_ft, end_ft + slow_nm * SLOWING_FT_PER_NM)
    if slow_nm < run_nm:
        flight = _level_and_down(
            situation, flight, air, run_nm=run_nm - slow_nm, end_ft=slow_ft, objective=objective
        )
    usual = Objective.LEAST_FUEL if situation.for_time else objective
    return _level_and_down(situation, flight, air, run_nm=slow_nm, end_ft=end_ft, objective=usual)


def _level_and_down(
    situation: Situation,
    flight: Flight,
    air: Air,
    *,
    run_nm: float,
    end_ft: float,
    objective: Objective,
) -> Flight:
    if flight.stopped is not None:
        return flight
    case = situation.case
    flown = fly_run_in(
        case.aircraft.profile,
        configuration=situation.configurations.clean,
        mass_kg=flight.state.mass_kg,
        distance_nm=run_nm,
        start_pressure_altitude_ft=flight.state.pressure_altitude_ft,
        end_pressure_altitude_ft=end_ft,
        air=air,
        minimum_pressure_altitude_ft=case.destination.minimum_level_ft,
        leak_kg_per_h=case.fuel.leak_kg_per_h,
        objective=objective,
    )
    return flight.then(flown, pressure_altitude_ft=end_ft)


def _final(situation: Situation, flight: Flight, air: Air, final_nm: float) -> Flight:
    """Gear down and approach flap to the minimum."""
    if flight.stopped is not None:
        return flight
    case = situation.case
    end_ft = case.destination.aerodrome.elevation_ft + MISSED_POINT_HEIGHT_FT
    flown = fly_configured(
        case.aircraft.profile,
        configuration=situation.configurations.approach,
        mass_kg=flight.state.mass_kg,
        distance_nm=final_nm,
        start_pressure_altitude_ft=max(flight.state.pressure_altitude_ft, end_ft),
        end_pressure_altitude_ft=end_ft,
        air=air,
        leak_kg_per_h=case.fuel.leak_kg_per_h,
    )
    return flight.then(flown, pressure_altitude_ft=end_ft)
