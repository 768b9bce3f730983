"""What the irreversible step costs: the same diversion from the same point, before and after it."""

from __future__ import annotations

from decision.case import Leg
from decision.course import Penalty
from decision.courses.air import air_along
from decision.courses.approach import ApproachFlight
from decision.courses.distance import onward_nm
from decision.courses.reserve import HOLDING_HEIGHT_FT
from decision.courses.situation import Situation
from decision.performance import Configuration, final_reserve_kg, fly_diversion


def penalties(situation: Situation, flight: ApproachFlight) -> tuple[Penalty, ...]:
    """One entry for each alternate whose distance is known and that can be reached clean."""
    found = []
    for leg in situation.case.alternates:
        clean_kg = _need_kg(situation, flight, leg, situation.configurations.clean)
        if clean_kg is not None:
            after_kg = _need_kg(situation, flight, leg, situation.configurations.after_miss)
            found.append(Penalty(icao=leg.aerodrome.icao, clean_kg=clean_kg, after_kg=after_kg))
    return tuple(found)


def _need_kg(
    situation: Situation, flight: ApproachFlight, leg: Leg, configuration: Configuration
) -> float | None:
    """Diversion and final reserve from the last clean point; None: cannot be flown."""
    onward, state = onward_nm(situation.case, leg), flight.last_clean.state
    if onward is None or flight.last_clean.limited_by is not None:
        return None
    profile = situation.case.aircraft.profile
    flown = fly_diversion(
        profile,
        configuration=configuration,
        mass_kg=state.mass_kg,
        distance_nm=onward + flight.extension_nm,
        start_pressure_altitude_ft=state.pressure_altitude_ft,
        end_pressure_altitude_ft=leg.aerodrome.elevation_ft + HOLDING_HEIGHT_FT,
        air=air_along(
            situation.case,
            start=situation.case.destination.aerodrome.position,
            end=leg.aerodrome.position,
            more_headwind_kt=situation.what_if.headwind_kt,
        ),
        minimum_pressure_altitude_ft=leg.minimum_level_ft,
        leak_kg_per_h=situation.case.fuel.leak_kg_per_h,
    )
    if not flown.feasible:
        return None
    return flown.fuel_kg + final_reserve_kg(
        profile,
        configuration=configuration,
        mass_kg=flown.end_mass_kg,
        elevation_ft=leg.aerodrome.elevation_ft,
    )
