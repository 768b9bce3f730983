"""What the irreversible step costs: the same diversion from the same point, before and after it."""

from __future__ import annotations

from decision.case import Leg
from decision.course import Origin, Penalty
from decision.courses.approach import ApproachFlight
from decision.courses.distance import onward_nm
from decision.courses.divert import diversion_air, fly_to
from decision.courses.reserve import reserve_kg
from decision.courses.situation import Situation
from decision.performance import Configuration
from decision.profile.operator_tables import OutOfTable


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
    """Diversion and final reserve from the last clean point; None: cannot be flown or not known."""
    onward, state = onward_nm(situation.case, leg), flight.last_clean.state
    if onward is None or flight.last_clean.limited_by is not None:
        return None
    air = diversion_air(situation, leg, Origin.LAST_CLEAN_POINT)
    flown = fly_to(
        situation,
        leg,
        start=state,
        configuration=configuration,
        distance_nm=onward + flight.extension_nm,
        air=air,
    )
    if not flown.feasible:
        return None
    try:
        return flown.fuel_kg + reserve_kg(situation, configuration, flown.end_mass_kg, leg)
    except OutOfTable:
        return None
